//! Which of the unbeaten builds go on a screen, and why each.

use crate::propose::SCREENFUL;
use crate::propose::aside::Build;
use crate::propose::candidates::{UNDATED, UNPRICED};
use crate::propose::merits::Key;

/// What the best of each merit is called.
const BEST: [&str; 5] = [
    "best price",
    "lightest",
    "longest range",
    "most in hand on the hill",
    "soonest here",
];

/// What merits are called beside a build that is near the best of them.
const NAMES: [&str; 5] = ["price", "mass", "range", "hill", "days"];
/// How far behind the best is near, as a share of the way to the worst (workshop judgement).
const NEAR: f64 = 0.25;

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
    let between = |index: usize| vec![between(&builds[index].key, &spans)];
    chosen.extend(rest.into_iter().map(|(_, index)| (index, between(index))));
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
    (0..5).map(|merit| behind(key, spans, merit)).fold(0.0, f64::max)
}

/// How far a build is behind the best of a merit, as a share of the way to the worst.
fn behind(key: &Key, spans: &[(i64, i64); 5], merit: usize) -> f64 {
    let (least, most) = spans[merit];
    if !is_known(key, merit) {
        // Not known where another is: the worst. Not known anywhere: no difference.
        return f64::from(u8::from(most >= least));
    }
    if most > least {
        (key[merit] - least) as f64 / (most - least) as f64
    } else {
        0.0
    }
}

/// Why a build is shown that is the best of nothing.
fn between(key: &Key, spans: &[(i64, i64); 5]) -> String {
    let near = (0..5).filter(|merit| spans[*merit].0 < spans[*merit].1 && behind(key, spans, *merit) <= NEAR);
    let names: Vec<&str> = near.map(|merit| NAMES[merit]).collect();
    if names.is_empty() {
        "a middle way".to_owned()
    } else {
        format!("near the best in {}", names.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::propose::candidates::NOTHING;
    use crate::propose::merits::Merits;

    fn build(key: Key) -> Build {
        Build {
            pick: NOTHING,
            key,
            merits: Merits {
                price: None,
                mass: 0.0,
                range: 0.0,
                rider_alone: false,
                range_margin: 0.0,
                hill_speed: 0.0,
                hill_margin: 0.0,
                days: None,
            },
        }
    }

    fn of(keys: &[Key]) -> Vec<(usize, String)> {
        let builds: Vec<Build> = keys.iter().copied().map(build).collect();
        let chosen = choose(&builds).into_iter();
        chosen.map(|(index, why)| (index, why.join(", "))).collect()
    }

    #[test]
    fn each_merit_shows_its_best_and_the_rest_come_by_their_worst_step() {
        let shown = of(&[
            [100, 200, -5, -10, UNDATED],
            [150, 210, -9, -20, 9],
            [180, 205, -20, -30, 5],
            [200, 220, -20, -40, 3],
        ]);
        let expected = [
            (0, "best price, lightest"),
            (1, "a middle way"),
            (2, "longest range"),
            (3, "most in hand on the hill, soonest here"),
        ];
        assert_eq!(shown, expected.map(|(index, why)| (index, why.to_owned())));
        let near = of(&[
            [100, 200, -5, -10, 3],
            [120, 200, -10, -30, 3],
            [200, 200, -5, -40, 3],
            [200, 200, -20, -10, 3],
        ]);
        assert_eq!(near[1].1, "near the best in price");
    }

    #[test]
    fn what_all_share_or_nobody_knows_is_no_reason() {
        let shown = of(&[
            [UNPRICED, 200, -5, -10, UNDATED],
            [UNPRICED + 1, 199, -5, -9, UNDATED],
        ]);
        assert_eq!(
            shown,
            [
                (0, "most in hand on the hill".to_owned()),
                (1, "lightest".to_owned())
            ]
        );
        assert!(of(&[]).is_empty());
        assert_eq!(of(&[[1, 1, 1, 1, 1]])[0].0, 0);
    }

    #[test]
    fn no_more_than_a_screenful_is_shown_those_nowhere_far_behind_first() {
        let keys: Vec<Key> = (0..20).map(|step| [step, 20 - step, 0, 0, 0]).collect();
        let shown = of(&keys);
        let indices: Vec<usize> = shown.iter().map(|(index, _)| *index).collect();
        // The two ends, and the six nearest to the middle.
        assert_eq!(indices, [0, 7, 8, 9, 10, 11, 12, 19]);
    }
}
