//! Which of the unbeaten builds go on a screen, and why each.

use crate::propose::SCREENFUL;
use crate::propose::candidates::{UNDATED, UNPRICED};
use crate::propose::merits::Key;
use crate::propose::search::Build;

/// What the best of each merit is called.
const BEST: [&str; 5] = [
    "best price",
    "lightest",
    "longest range",
    "most in hand on the hill",
    "soonest here",
];

/// At most a screenful, cheapest first, each with why it was kept: the best of each merit, then
/// those whose worst step behind the best is the smallest.
pub(super) fn choose(builds: &[Build]) -> Vec<(usize, Vec<String>)> {
    let mut chosen: Vec<(usize, Vec<String>)> = Vec::new();
    for (merit, name) in BEST.iter().enumerate() {
        if let Some(best) = best(builds, merit) {
            match chosen.iter_mut().find(|(index, _)| *index == best) {
                Some((_, why)) => why.push((*name).to_owned()),
                None => chosen.push((best, vec![(*name).to_owned()])),
            }
        }
    }
    let spans = spans(builds);
    let mut rest: Vec<(f64, usize)> = (0..builds.len())
        .filter(|index| !chosen.iter().any(|(taken, _)| taken == index))
        .map(|index| (furthest(&builds[index].key, &spans), index))
        .collect();
    // The builds are in the order of their keys: of equals the cheaper one stays first.
    rest.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    rest.truncate(SCREENFUL.saturating_sub(chosen.len()));
    chosen.extend(rest.into_iter().map(|(behind, index)| {
        let share = format!(
            "balanced: nowhere more than {:.0} % of the way to the worst shown by any",
            100.0 * behind
        );
        (index, vec![share])
    }));
    chosen.sort_by_key(|(index, _)| *index);
    chosen
}

/// The best build of a merit, the cheapest of equals; `None` where all are as good or nobody
/// knows.
fn best(builds: &[Build], merit: usize) -> Option<usize> {
    let known = |key: &Key| is_known(key, merit);
    let least = builds.iter().map(|build| build.key[merit]).min()?;
    let differ = builds.len() == 1 || builds.iter().any(|build| build.key[merit] != least);
    let index = builds.iter().position(|build| build.key[merit] == least)?;
    (differ && known(&builds[index].key)).then_some(index)
}

const fn is_known(key: &Key, merit: usize) -> bool {
    match merit {
        0 => key[0] < UNPRICED,
        4 => key[4] < UNDATED,
        _ => true,
    }
}

/// Best and worst of each merit, among those that know it.
fn spans(builds: &[Build]) -> [(i64, i64); 5] {
    std::array::from_fn(|merit| {
        let known = builds.iter().map(|build| &build.key);
        let values = known.filter(|key| is_known(key, merit)).map(|key| key[merit]);
        values.fold((i64::MAX, i64::MIN), |(least, most), value| {
            (least.min(value), most.max(value))
        })
    })
}

/// The furthest that a build is behind the best, as a share of the way to the worst.
fn furthest(key: &Key, spans: &[(i64, i64); 5]) -> f64 {
    let behind = |merit: usize| {
        let (least, most) = spans[merit];
        match most.checked_sub(least) {
            Some(span) if span > 0 && is_known(key, merit) => (key[merit] - least) as f64 / span as f64,
            Some(_) if is_known(key, merit) => 0.0,
            // Not known where another is: the worst. Not known anywhere: no difference.
            _ => f64::from(u8::from(most >= least)),
        }
    };
    (0..5).map(behind).fold(0.0, f64::max)
}
