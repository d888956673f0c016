//! Changes that would make the parts fit sideways, each with what it costs elsewhere.
//!
//! A spacer that frees the chainstay pushes the ring outboard; a ring with more dish comes
//! nearer to the stay; another number of teeth changes the hill. Every spacer in half
//! millimetres and every ring of the catalogue is tried, alone and, where that does not do,
//! together.

use jiff::Timestamp;

use super::trial::Bench;
use super::{page, say, typed};
use crate::check::{Report, Verdict};
use crate::command::{Desk, Typed};
use crate::job::Job;
use crate::part::{PartKind, Slot};

/// Checks that a ring or a spacer is changed for.
const SIDEWAYS: &[&str] = &[
    "stay.predicted_gap",
    "shell.stack",
    "clearance.motor_and_ring",
    "chainline.centre",
    "chainline.cog_angles",
];

/// Checks off the page that a ring may cost.
const PAID_BY_THE_RIDE: &[&str] = &["hill.climb_speed", "hill.restart", "speed.top"];

/// Thickest spacer tried, half millimetres: more than 6 mm leaves no thread (workshop judgement).
const SPACERS: u8 = 12;

/// Most changes shown.
const SHOWN: usize = 3;

/// How a check takes a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// It says better than before.
    Better,
    /// The same verdict with other figures.
    Moved,
    /// It says worse than before.
    Worse,
}

/// What a change does to one check.
#[derive(Debug, Clone)]
pub struct Effect {
    /// How the check takes it.
    pub turn: Turn,
    /// What it says now.
    pub before: Report,
    /// What it would say.
    pub after: Report,
}

/// A change that clears something sideways.
#[derive(Debug, Clone)]
pub struct Cure {
    /// The change as it is typed after `--what-if`.
    pub change: String,
    /// Every check that it moves, better ones first, then moved, then worse.
    pub effects: Vec<Effect>,
    /// What is left: sideways fails, sideways cautions, checks that turn worse, changes made.
    weight: [usize; 4],
}

/// The best few changes of ring and spacer for a job whose parts do not fit sideways; empty
/// when they do, or when nothing helps. Nothing is stored.
pub fn cures(job: &Job, now: Timestamp, desk: &Desk<'_>) -> Vec<Cure> {
    let before = reports(job, desk);
    let unfit = |report: &Report| rank(report).is_some_and(|rank| rank > 0);
    if !before.iter().any(|report| is_sideways(report) && unfit(report)) {
        return Vec::new();
    }
    let (spacers, rings) = (spacers(job, &before), rings(job, desk));
    let singles = spacers.iter().chain(&rings).map(|change| vec![change.clone()]);
    let mut found = tried(job, now, desk, &before, singles);
    if !found.iter().any(|cure| cure.fits()) {
        let pairs = rings
            .iter()
            .flat_map(|ring| spacers.iter().map(|spacer| vec![ring.clone(), spacer.clone()]));
        found.extend(tried(job, now, desk, &before, pairs));
    }
    // The sort is stable: of equals the one tried first, which changes less, stays first.
    found.sort_by_key(|cure| cure.weight);
    found.truncate(SHOWN);
    found
}

impl Cure {
    /// Whether nothing sideways is left to mend.
    fn fits(&self) -> bool {
        self.weight[..2] == [0, 0]
    }
}

fn tried(
    job: &Job,
    now: Timestamp,
    desk: &Desk<'_>,
    before: &[Report],
    changes: impl Iterator<Item = Vec<Typed>>,
) -> Vec<Cure> {
    changes
        .filter_map(|change| cure(job, now, desk, before, &change))
        .collect()
}

/// Tries one change; `None` when it clears nothing sideways, makes something fail there that
/// did not, or cannot be made.
fn cure(job: &Job, now: Timestamp, desk: &Desk<'_>, before: &[Report], change: &[Typed]) -> Option<Cure> {
    let mut bench = Bench::of(job, now);
    for typed in change {
        bench.apply(typed, desk).ok()?;
    }
    let after = reports(&bench.job, desk);
    let (fails, cautions) = (
        sideways(&after, Verdict::Fail),
        sideways(&after, Verdict::Caution),
    );
    if fails > sideways(before, Verdict::Fail) {
        return None;
    }
    let mut effects: Vec<Effect> = before
        .iter()
        .zip(after)
        .filter_map(|(before, after)| effect(before, after))
        .collect();
    effects.sort_by_key(|effect| effect.turn as u8);
    let worse = effects.iter().filter(|effect| effect.turn == Turn::Worse).count();
    let helps = |effect: &Effect| effect.turn == Turn::Better && is_sideways(&effect.after);
    effects.iter().any(helps).then(|| Cure {
        change: typed(change),
        effects,
        weight: [fails, cautions, worse, change.len()],
    })
}

/// What a check makes of a change; `None` where it says what it said. Checks off to the side
/// that only move are left out.
fn effect(before: &Report, after: Report) -> Option<Effect> {
    if before.fingerprint == after.fingerprint {
        return None;
    }
    let turn = match (rank(before), rank(&after)) {
        (Some(before), Some(after)) if after < before => Turn::Better,
        (Some(before), Some(after)) if after > before => Turn::Worse,
        _ => Turn::Moved,
    };
    let shown = turn != Turn::Moved || (is_sideways(&after) && rank(&after).is_some());
    shown.then(|| Effect {
        turn,
        before: before.clone(),
        after,
    })
}

fn reports(job: &Job, desk: &Desk<'_>) -> Vec<Report> {
    let of_page = page(job, desk).into_iter().flat_map(|topic| topic.reports);
    let of_ride = PAID_BY_THE_RIDE.iter().map(|id| say(id, job, desk));
    of_page.chain(of_ride).collect()
}

fn sideways(reports: &[Report], verdict: Verdict) -> usize {
    reports
        .iter()
        .filter(|report| is_sideways(report) && report.said() == Some(verdict))
        .count()
}

fn is_sideways(report: &Report) -> bool {
    SIDEWAYS.contains(&report.check.id)
}

/// 0 where nothing is to be done, 1 where something is short, 2 where it fails; `None` where
/// nothing is known, which a trial neither betters nor worsens. What can only be read on the
/// changed bicycle, such as turns back-pedalled, is left out of account.
fn rank(report: &Report) -> Option<u8> {
    match report.said()? {
        Verdict::Pass | Verdict::NotApplicable => Some(0),
        Verdict::Caution => Some(1),
        Verdict::Fail => Some(2),
        Verdict::Open => None,
    }
}

/// Other spacers than the present one, nearest first, for a motor that takes any.
fn spacers(job: &Job, before: &[Report]) -> Vec<Typed> {
    let stack = before.iter().find(|report| report.check.id == "shell.stack");
    if stack.is_none_or(|report| report.verdict == Verdict::NotApplicable) {
        return Vec::new();
    }
    let present = Bench::of(job, job.touched).number("spacer").unwrap_or(0.0) * 1e3;
    let mut sizes: Vec<f64> = (0..=SPACERS)
        .map(|halves| f64::from(halves) / 2.0)
        .filter(|size| (size - present).abs() > 0.01)
        .collect();
    sizes.sort_by(|a, b| (a - present).abs().total_cmp(&(b - present).abs()));
    sizes
        .into_iter()
        .map(|size| Typed::new("spacer", format!("{size}mm")))
        .collect()
}

/// Rings of the catalogue other than the present one.
fn rings(job: &Job, desk: &Desk<'_>) -> Vec<Typed> {
    let present = job.build.get(&Slot::Chainring).map(|line| line.part.id.as_str());
    (desk.part_ids)()
        .into_iter()
        .filter(|id| Some(id.as_str()) != present && desk.shop.offers(id))
        .filter(|id| (desk.part)(id).is_some_and(|part| part.kind == PartKind::Chainring))
        .map(|id| Typed::new(Slot::Chainring.word(), id))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, trekking, with_desk};

    fn of(job: &Job) -> Vec<Cure> {
        with_desk(|desk| cures(job, job.touched, desk))
    }

    fn turn(cure: &Cure, id: &str) -> Option<Turn> {
        let found = cure.effects.iter().find(|effect| effect.after.check.id == id);
        found.map(|effect| effect.turn)
    }

    #[test]
    fn what_fits_needs_no_cure() {
        let fits = longtail().state(&[("stay-gap", "4")]).measure(&[
            ("gapm", "2.5"),
            ("gapc", "6"),
            ("clf", "46.0"),
            ("clr", "45.0"),
        ]);
        assert!(of(&fits.job).is_empty());
        assert!(of(&trekking().job).is_empty());
    }

    #[test]
    fn a_spacer_that_frees_the_stay_is_shown_with_the_chainline_it_costs() {
        // Worked example of the trade (common practice, no source): gap 0 mm with the front line
        // at 49.0; 2.5 mm of spacer free the stay and take the line to 51.5.
        let job = longtail()
            .measure(&[("gapm", "0"), ("gapc", "4"), ("clf", "49.0"), ("clr", "45.0")])
            .job;
        let before = job.clone();
        let found = of(&job);
        let spacer = found
            .iter()
            .find(|cure| cure.change.starts_with("spacer="))
            .unwrap();
        assert_eq!(turn(spacer, "clearance.motor_and_ring"), Some(Turn::Better));
        assert!(
            turn(spacer, "chainline.centre").is_some_and(|turn| turn != Turn::Better),
            "{spacer:?}"
        );
        assert_eq!(job, before);
        // Typed as it is shown, the trial says the same.
        let typed: Vec<Typed> = spacer
            .change
            .split(',')
            .map(|pair| {
                pair.split_once('=')
                    .map(|(key, text)| Typed::new(key, text))
                    .unwrap()
            })
            .collect();
        let trial = with_desk(|desk| super::super::what_if(&job, &typed, job.touched, desk)).unwrap();
        let gap = spacer
            .effects
            .iter()
            .find(|effect| effect.after.check.id == "clearance.motor_and_ring")
            .unwrap();
        assert!(
            trial
                .differs
                .iter()
                .any(|(_, after)| after.fingerprint == gap.after.fingerprint)
        );
    }

    #[test]
    fn a_caution_is_not_cured_by_a_fail_elsewhere() {
        // 7.5 mm off the centre with a gap of 0.9 mm that any thinner spacer closes.
        let job = longtail()
            .state(&[("stay-gap", "4")])
            .measure(&[
                ("spacer", "2.5"),
                ("gapm", "1.7"),
                ("gapc", "4"),
                ("clf", "52.5"),
                ("clr", "45.0"),
            ])
            .job;
        for cure in of(&job) {
            assert!(
                !cure
                    .effects
                    .iter()
                    .any(|effect| is_sideways(&effect.after) && effect.after.verdict == Verdict::Fail),
                "{}",
                cure.change
            );
        }
    }

    #[test]
    fn the_changes_come_best_first_and_few() {
        let job = longtail()
            .measure(&[("gapm", "0"), ("gapc", "4"), ("clf", "49.0"), ("clr", "45.0")])
            .job;
        let found = of(&job);
        assert!(!found.is_empty() && found.len() <= SHOWN);
        assert!(found.windows(2).all(|pair| pair[0].weight <= pair[1].weight));
    }

    #[test]
    fn spacers_are_tried_from_the_nearest_on_and_not_the_one_that_is_there() {
        let sizes = |bench: &crate::checks::testing::Bench| -> Vec<String> {
            let before = with_desk(|desk| reports(&bench.job, desk));
            spacers(&bench.job, &before)
                .into_iter()
                .map(|typed| typed.text)
                .collect()
        };
        let found = sizes(&longtail().measure(&[("spacer", "1.0")]));
        assert_eq!(found.len(), usize::from(SPACERS), "one of 13 is there");
        assert_eq!(found[..4], ["0.5mm", "1.5mm", "0mm", "2mm"]);
        assert_eq!(found.last().unwrap(), "6mm");
        assert!(!found.contains(&"1mm".to_owned()));
        // Without one every size is another.
        assert_eq!(sizes(&longtail())[..3], ["0.5mm", "1mm", "1.5mm"]);
        assert!(sizes(&trekking()).is_empty(), "a hub motor has none");
    }

    #[test]
    fn a_check_that_says_something_else_turns_better_worse_or_only_moves() {
        let bench = |front: &str| {
            let lines = [("gapm", "3"), ("gapc", "5"), ("clf", front), ("clr", "45.0")];
            with_desk(|desk| say("chainline.centre", &longtail().measure(&lines).job, desk))
        };
        // Good, two cautions, a fail, by how far the ring stands outboard.
        let reports = ["45.5", "51.0", "51.5", "57.0"].map(bench);
        let ranks: Vec<Option<u8>> = reports.iter().map(rank).collect();
        assert_eq!(ranks, [Some(0), Some(1), Some(1), Some(2)]);
        let turn = |before: usize, after: usize| {
            effect(&reports[before], reports[after].clone()).map(|effect| effect.turn)
        };
        assert_eq!(turn(1, 1), None, "it says what it said");
        assert_eq!((turn(0, 1), turn(1, 3)), (Some(Turn::Worse), Some(Turn::Worse)));
        assert_eq!((turn(3, 2), turn(2, 0)), (Some(Turn::Better), Some(Turn::Better)));
        assert_eq!((turn(1, 2), turn(2, 1)), (Some(Turn::Moved), Some(Turn::Moved)));
    }
}
