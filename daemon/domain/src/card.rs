//! The card at the stand: what the rider needs in a few lines, and the boxes of fitting in bench
//! order with what is allowed beside each.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use crate::check::Report;
use crate::code::{self, Code, Group};
use crate::fact::Value;
use crate::field::Shape;
use crate::filled::{self, FigureOf};
use crate::job::Job;
use crate::ride_class::{self, RideClass};
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// Lines of the brief: a name, and the codes whose values stand in it with the words around each. Short enough that
/// a line stands in type that is read at arm's length.
const BRIEF: [(&str, &[(&str, &str)]); 6] = [
    ("bicycle", &[("bike", "{}"), ("ride-class", "{}")]),
    (
        "on board",
        &[("rider-mass", "rider {}"), ("load-mass", "load {}")],
    ),
    (
        "between charges",
        &[("range", "{}"), ("climb", "{} uphill"), ("coldest", "down to {}")],
    ),
    (
        "worst hill",
        &[
            ("hill-grade", "{}"),
            ("hill-length", "for {}"),
            ("hill-source", "{}"),
            ("hill-grade-ridden", "ridden at {}"),
            ("hill-restart", "starts on it"),
        ],
    ),
    (
        "speeds",
        &[
            ("cruise-speed", "{}"),
            ("top-speed", "up to {}"),
            ("hill-speed", "hill {}"),
        ],
    ),
    ("promised", &[("promise", "{}"), ("promise-kind", "{}")]),
];

/// A limit of a check that looks at more of the bench than this is not one box's own (judgement).
const OWN: usize = 2;

/// The card.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Name and values; a line of which nothing is known is left out.
    pub brief: Vec<(&'static str, String)>,
    /// Boxes by where they are filled in.
    pub groups: Vec<CardGroup>,
}

/// Boxes that are filled in at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct CardGroup {
    /// Where.
    pub title: &'static str,
    /// In bench order.
    pub boxes: Vec<CardBox>,
}

/// A box.
#[derive(Debug, Clone, PartialEq)]
pub struct CardBox {
    /// What belongs in it.
    pub code: &'static Code,
    /// What is allowed, in words; several checks may have a say.
    pub allowed: Vec<String>,
    /// What was recorded; empty before.
    pub recorded: String,
}

/// The card of a job with all that is known.
pub fn card(job: &Job, now: Timestamp, rules: &RuleSheet) -> Card {
    let at_bench: Vec<&Code> = code::all()
        .filter(|code| matches!(code.group, Group::Fitting | Group::Torque))
        .collect();
    let (mut keys, reports) = filled::asked(job, now, rules, Stage::Fitting, &at_bench);
    // What was recorded already is shown if a check looks at it.
    keys.extend(at_bench.iter().map(|code| code.field.key).filter(|key| {
        let known = job.facts.get(*key).is_some_and(|fact| fact.stale.is_none());
        known && reports.iter().any(|report| report.uses.contains(*key))
    }));
    let own = filled::own_figures(job, now, rules, Stage::Fitting, &keys);
    let group = |title, group| CardGroup {
        title,
        boxes: at_bench
            .iter()
            .filter(|code| code.group == group && keys.contains(code.field.key))
            .map(|code| to_fill(job, code, &keys, &reports, &own))
            .collect(),
    };
    Card {
        brief: BRIEF
            .iter()
            .filter_map(|(name, codes)| Some((*name, told(job, codes)?)))
            .collect(),
        groups: vec![
            group("at the stand", Group::Fitting),
            group("bolts", Group::Torque),
        ],
    }
}

/// The values of these codes that are known, in one line of plain words.
fn told(job: &Job, codes: &[(&str, &str)]) -> Option<String> {
    let values: Vec<String> = codes
        .iter()
        .filter_map(|(code, words)| {
            let row = code::find(code)?;
            let fact = job.facts.get(*code)?;
            let shown = match (*code, &fact.value) {
                (_, Value::Flag(false)) => return None,
                ("ride-class", _) => job
                    .text(code)
                    .and_then(ride_class::find)
                    .map_or_else(|| row.field.show(&fact.value), in_words),
                _ => row.field.show(&fact.value),
            };
            Some(words.replace("{}", &shown))
        })
        .collect();
    (!values.is_empty()).then(|| values.join(", "))
}

/// A ride class by what it means at the stand: where, and up to what speed the motor helps.
fn in_words(class: &RideClass) -> String {
    match class.max_assist_speed {
        Some(limit) => format!("{}, helps to {}", class.region, limit.show()),
        None => class.region.clone(),
    }
}

/// The box of a code, with what the checks allow in it.
fn to_fill(
    job: &Job,
    code: &'static Code,
    keys: &BTreeSet<&str>,
    reports: &[Report],
    own: &BTreeMap<FigureOf, &'static str>,
) -> CardBox {
    let key = code.field.key;
    let mut allowed: Vec<String> = Vec::new();
    for report in reports.iter().filter(|report| report.uses.contains(key)) {
        let its_own = report
            .uses
            .iter()
            .filter(|used| keys.contains(used.as_str()))
            .count()
            <= OWN;
        for (name, limit, unit) in filled::limits_with_units(report) {
            // A check of many boxes says which of them a figure is, and no figure of another unit is
            // written into a box, but for a share of what is.
            let fits =
                matches!(code.field.shape, Shape::Quantity { unit: own, .. } if own == unit || unit == "%");
            let of = own.get(&(report.check.id, name.clone()));
            let is_the_box = of == Some(&key) || name == code.field.name;
            if !is_the_box && (of.is_some() || !(its_own && fits)) {
                continue;
            }
            // What the owner may still concede is for the owner to look up.
            let good = limit.split(';').next().unwrap_or_default();
            let line = if is_the_box {
                good.to_owned()
            } else {
                format!("{name} {good}")
            };
            if !allowed.contains(&line) {
                allowed.push(line);
            }
        }
    }
    let recorded = job.facts.get(key).filter(|fact| fact.stale.is_none());
    CardBox {
        code,
        allowed,
        recorded: recorded.map_or_else(String::new, |fact| code.field.show(&fact.value)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, trekking};

    fn of(job: &Job) -> Card {
        card(job, job.touched, &RuleSheet::shipped())
    }

    fn keys(card: &Card) -> Vec<&'static str> {
        card.groups
            .iter()
            .flat_map(|group| &group.boxes)
            .map(|one| one.code.field.key)
            .collect()
    }

    #[test]
    fn a_box_shows_what_is_allowed_before_it_is_filled_in() {
        let card = of(&longtail().job);
        let front = card.groups[0]
            .boxes
            .iter()
            .find(|one| one.code.field.key == "chainline-front")
            .unwrap();
        assert!(
            front.allowed.iter().any(|limit| limit.contains("mm")),
            "{front:?}"
        );
        // Turns of the crank are counted; how far a chain slants is nobody's to write there.
        let mut boxes = card.groups.iter().flat_map(|group| &group.boxes);
        let turns = boxes.find(|one| one.code.alias == "drops").unwrap();
        assert!(
            turns.allowed.iter().all(|limit| !limit.contains("deg")),
            "{turns:?}"
        );
        assert!(
            card.groups[1]
                .boxes
                .iter()
                .any(|one| one.allowed.iter().any(|limit| limit.contains("N m")))
        );
    }

    /// What a check holds a box itself against stands beside it, whatever the check calls it and whether it was
    /// filled in already. The figures are the thresholds of the rule sheet and of the bicycle's own parts.
    #[test]
    fn every_box_that_a_check_holds_against_a_limit_shows_it() {
        let allowed = |job: &Job, key: &str| {
            let card = of(job);
            let mut boxes = card.groups.into_iter().flat_map(|group| group.boxes);
            let found = boxes.find(|one| one.code.key() == key);
            found.map(|one| one.allowed).unwrap_or_default()
        };
        let rules = RuleSheet::shipped();
        let at_least = |rule: &str| format!("at least {:.0} mm", 1e3 * rules.number(rule).unwrap());
        let empty = longtail();
        let filled = longtail().measure(&[
            ("motor-gap", "2.6 mm"),
            ("ring-gap", "4 mm"),
            ("magnet-gap", "1.8 mm"),
            ("tyre-gap", "8 mm"),
        ]);
        for job in [&empty.job, &filled.job] {
            assert_eq!(allowed(job, "ring-gap")[0], at_least("stay.ring"));
            assert_eq!(allowed(job, "motor-gap")[0], "at least 1.5 mm");
            assert_eq!(allowed(job, "magnet-gap")[0], "at most 2 mm");
            for key in ["fuse", "fuse-volts", "fuse-breaks", "fuse-distance"] {
                assert!(!allowed(job, key).is_empty(), "{key}");
            }
        }
        assert_eq!(allowed(&filled.job, "tyre-gap"), ["at least 6 mm"]);
        // A limit stands in its own box alone.
        assert!(
            !allowed(&empty.job, "fuse")
                .iter()
                .any(|limit| limit.contains('V'))
        );
        let ordered = empty.measure(&[("chain-links", "116")]);
        assert_eq!(allowed(&ordered.job, "chain-links"), ["at least 116"]);
    }

    #[test]
    fn a_hill_that_was_ridden_is_told_beside_what_the_rider_said() {
        let card = of(&longtail().measure(&[("hill-grade-ridden", "10.8 %")]).job);
        let hill = card.brief.iter().find(|(name, _)| *name == "worst hill");
        assert!(hill.unwrap().1.contains("told, ridden at 10.8 %"), "{hill:?}");
    }

    #[test]
    fn the_boxes_are_those_of_this_bicycle() {
        let (mid, hub) = (keys(&of(&longtail().job)), keys(&of(&trekking().job)));
        // A card that fits two sides of A5.
        assert!(
            (15..=45).contains(&mid.len()) && (10..=45).contains(&hub.len()),
            "{mid:?} {hub:?}"
        );
        assert!(
            mid.contains(&"motor-gap") && !hub.contains(&"motor-gap"),
            "{hub:?}"
        );
        assert!(
            hub.contains(&"torque-axle") && !mid.contains(&"torque-axle"),
            "{mid:?}"
        );
    }

    #[test]
    fn what_was_recorded_stands_in_its_box_and_the_brief_is_short() {
        let bench = longtail().measure(&[("spacer", "2.5 mm")]);
        let card = of(&bench.job);
        let spacer = card.groups[0]
            .boxes
            .iter()
            .find(|one| one.code.field.key == "spacer")
            .unwrap();
        assert_eq!(spacer.recorded, "2.5 mm");
        assert!((3..=6).contains(&card.brief.len()), "{:?}", card.brief);
        // In plain words: no code stands in it.
        for (_, text) in &card.brief {
            let words = text.split([' ', ',']);
            for word in words.filter(|word| word.contains('-')) {
                assert!(
                    code::find(word).is_none() && ride_class::find(word).is_none(),
                    "{text}"
                );
            }
        }
        let hill = &card
            .brief
            .iter()
            .find(|(name, _)| *name == "worst hill")
            .unwrap()
            .1;
        assert!(hill.starts_with("8 %, for 700 m, told"), "{hill}");
    }

    #[test]
    fn what_is_not_so_is_not_told() {
        let told_of = |value: &str| {
            let job = longtail().state(&[("hill-restart", value)]).job;
            told(
                &job,
                &[("hill-grade", "hill of {}"), ("hill-restart", "starts on it")],
            )
        };
        assert_eq!(told_of("yes").as_deref(), Some("hill of 8 %, starts on it"));
        assert_eq!(told_of("no").as_deref(), Some("hill of 8 %"));
        let nothing = longtail().state(&[("hill-restart", "no")]).job;
        assert_eq!(told(&nothing, &[("hill-restart", "starts on it")]), None);
    }
}
