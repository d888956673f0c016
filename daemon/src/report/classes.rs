//! Which ride classes were handed over.

use std::collections::BTreeMap;

use super::history::{Span, handed_over};
use super::known::Known;
use super::quantile::share;
use super::sheet::{Section, Sheet};

/// What was handed over from the first day on up to the last of `span`, by ride class.
pub(crate) fn report(known: &Known, span: &Span<'_>) -> Sheet {
    let mut counts: BTreeMap<String, (usize, String)> = BTreeMap::new();
    for history in &known.histories {
        let Some(at) = handed_over(history).filter(|at| span.holds(*at)) else {
            continue;
        };
        let class = history.job.text("ride-class").unwrap_or("not said").to_owned();
        let entry = counts.entry(class).or_default();
        entry.0 += 1;
        entry.1 = entry.1.clone().max(span.day_of(at).to_string());
    }
    let all: usize = counts.values().map(|(count, _)| count).sum();
    let mut section = Section::new(
        "classes",
        "Handed over by ride class",
        &[
            ("class", "class", ""),
            ("handed_over", "handed over", ""),
            ("share", "share", "%"),
            ("last", "last on", ""),
        ],
    );
    for (class, (count, last)) in counts {
        section.row([class, count.to_string(), share(count, all), last]);
    }
    Sheet {
        title: "Ride classes handed over".to_owned(),
        from: span.from,
        to: span.to,
        sections: vec![section.or("nothing was handed over")],
    }
}
