//! What becomes of a job that holds a part which the catalogue has otherwise by now: the build keeps it as it was chosen,
//! and a block says so where a check would mind.

use crate::block::Block;
use crate::check::{self, Report, Verdict};
use crate::command::Draft;
use crate::entry::Event;
use crate::gate;
use crate::job::Job;
use crate::origin::Origin;
use crate::part::{Part, Slot};
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::shop::effect::{self, Effect};
use crate::stage::Stage;

/// A slot whose part is another by now in the catalogue.
#[derive(Debug, Clone, PartialEq)]
pub struct Revised {
    /// The slot.
    pub slot: Slot,
    /// The part's id.
    pub part: String,
    /// Whether the catalogue has it again as it was chosen.
    pub is_as_chosen: bool,
    /// Checks that would say something else of the part as it is now.
    pub effects: Vec<Effect>,
}

/// Tells an open job which of its parts are others in the catalogue by now, a slot each; `None` when it knows already, or
/// holds none of them.
pub fn recatalogue(
    job: Job,
    parts: &[Part],
    origin: Origin,
    rules: &RuleSheet,
) -> Option<(Draft, Vec<Revised>)> {
    if job.stage.is_end() {
        return None;
    }
    let told: Vec<(Slot, &Part)> = job
        .build
        .iter()
        .filter_map(|(slot, line)| {
            let part = parts.iter().find(|part| part.id == line.part.id)?;
            let newer = (*part != line.part).then_some(part);
            (newer != line.newer.as_ref()).then_some((*slot, part))
        })
        .collect();
    let mut draft = Draft::new(job, origin);
    let mut revised = Vec::new();
    for (slot, part) in told {
        clear(&mut draft, slot, "the catalogue changed again");
        let held = draft.job.build.get(&slot)?.part.clone();
        let is_as_chosen = held == *part;
        let effects = if is_as_chosen {
            Vec::new()
        } else {
            effect::effects_of_part(&draft.job, slot, part, rules)
        };
        let worse: Vec<&Effect> = effects
            .iter()
            .filter(|effect| effect.after > effect.before)
            .collect();
        let about = if is_as_chosen {
            format!("{} is as it was chosen again", part.id)
        } else {
            about(&held, part, &worse)
        };
        let block = (!worse.is_empty()).then_some(draft.job.last_block + 1);
        draft.push(Event::Recatalogued {
            slot,
            part: part.clone(),
            block,
            about,
        });
        if block.is_some() {
            draft.opened.extend(draft.job.blocks.last().cloned());
        }
        revised.push(Revised {
            slot,
            part: part.id.clone(),
            is_as_chosen,
            effects,
        });
    }
    (!draft.events.is_empty()).then_some((draft, revised))
}

/// What differs, and which checks would say something worse of it.
fn about(held: &Part, newer: &Part, worse: &[&Effect]) -> String {
    let changes = held.changes(newer).join(", ");
    let said: Vec<String> = worse
        .iter()
        .map(|effect| format!("{} {}: {}", effect.after.word(), effect.check, effect.summary))
        .collect();
    match said.as_slice() {
        [] => format!("{}: {changes}", newer.id),
        said => format!("{}: {changes}; with it {}", newer.id, said.join("; ")),
    }
}

fn clear(draft: &mut Draft, slot: Slot, why: &str) {
    let blocks = draft.job.blocks.iter();
    let of_slot: Vec<Block> = blocks.filter(|block| block.part == Some(slot)).cloned().collect();
    for block in of_slot {
        draft.push(Event::Cleared {
            number: block.number,
            why: why.to_owned(),
        });
        draft.cleared.push(block);
    }
}

/// Refuses to wave a part through of which the catalogue says by now what nobody may concede.
///
/// # Errors
/// [`Reason::NeverConceded`] naming the check and the ways out.
pub(super) fn refuse_to_clear(job: &Job, number: u32, slot: Slot, rules: &RuleSheet) -> Result<(), Refusal> {
    let Some(part) = job.build.get(&slot).and_then(|line| line.newer.as_ref()) else {
        return Ok(());
    };
    let changed = effect::with_part(job, slot, part);
    let bars = |report: &Report| report.verdict == Verdict::Fail && !report.is_concedable();
    let barred = Stage::GATED.into_iter().find_map(|gate| {
        let mut reports = gate::run(gate, &changed, rules).into_iter();
        // What fails as it is already is no word of the catalogue.
        reports.find(|report| bars(report) && !bars(&check::run(report.check, job, rules, gate)))
    });
    let Some(report) = barred else { return Ok(()) };
    let (id, slot) = (&part.id, slot.word());
    Err(Refusal::new(
        Reason::NeverConceded,
        format!(
            "block {number}: by the catalogue of now {} fails, which is never conceded: {}",
            report.check.id,
            report.summary()
        ),
    )
    .with("check", report.check.id)
    .hint(format!(
        "choose another part with `lockring build {} {slot}=PART`, or take `{id}` as it is now; if the piece in hand is of \
         another make than the catalogue's, give it an id of its own with `lockring catalogue import FILE`",
        job.number
    )))
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use jiff::tz::TimeZone;

    use super::*;
    use crate::checks::{pack_full_volts, testing};
    use crate::command::{Command, Desk, Typed, change};
    use crate::fact::Value;
    use crate::shop::Shop;

    const VOLTS: &str = "max-volts";

    /// The hardtail's controller as it is, and as it is when found to bear 40 V, with a pack of 54.6 V.
    fn controllers() -> (Job, Part, Part) {
        let job = testing::hardtail().receive_all().job;
        let part = job.build[&Slot::Controller].part.clone();
        let mut weak = part.clone();
        weak.attributes.insert(VOLTS.into(), Value::Number(40.0));
        (job, part, weak)
    }

    fn told(job: Job, part: &Part) -> Option<(Draft, Vec<Revised>)> {
        let origin = testing::origin(Timestamp::UNIX_EPOCH);
        recatalogue(job, std::slice::from_ref(part), origin, &RuleSheet::shipped())
    }

    #[test]
    fn a_part_corrected_to_unsafe_blocks_the_jobs_that_hold_it_and_is_never_waved_through() {
        let (job, part, weak) = controllers();
        assert_eq!(
            told(job.clone(), &part).map(|_| ()),
            None,
            "it is as it was chosen"
        );
        let (draft, revised) = told(job.clone(), &weak).unwrap();
        let id = pack_full_volts::CHECK.id;
        assert!(revised[0].effects.iter().any(|effect| effect.check == id));
        let block = draft.job.blocks.last().unwrap();
        assert!(
            block.about.contains("max-volts") && block.about.contains(id),
            "{}",
            block.about
        );
        assert!(block.clears_when.contains(&format!("controller={}", part.id)));
        assert_eq!(
            draft.job.build[&Slot::Controller].part,
            part,
            "the build keeps what was chosen"
        );
        assert!(told(draft.job.clone(), &weak).is_none(), "it is told once");
        let rules = RuleSheet::shipped();
        let refusal = refuse_to_clear(&draft.job, block.number, Slot::Controller, &rules).unwrap_err();
        assert_eq!(refusal.reason, Reason::NeverConceded);
        // The catalogue put right again clears it.
        let (again, revised) = told(draft.job, &part).unwrap();
        assert!(revised[0].is_as_chosen && again.job.blocks.iter().all(|block| block.part.is_none()));
        assert_eq!(again.job.build[&Slot::Controller].newer, None);
    }

    #[test]
    fn built_again_the_part_is_as_the_catalogue_has_it_and_what_came_stays() {
        let (job, part, weak) = controllers();
        let (draft, _) = told(job, &weak).unwrap();
        let before = draft.job.build[&Slot::Controller].clone();
        let build = Command::Build {
            parts: vec![Typed::new("controller", &part.id)],
        };
        let origin = testing::origin(Timestamp::UNIX_EPOCH);
        let desk = Desk {
            rules: &RuleSheet::shipped(),
            shop: &Shop::default(),
            zone: &TimeZone::UTC,
            holders: &|_| Vec::new(),
            clocks: &|_| Vec::new(),
            part: &|_| Some(weak.clone()),
            part_ids: &|| vec![weak.id.clone()],
            memory: None,
            history: &|_| Vec::new(),
        };
        let built = change(draft.job.clone(), None, origin, &build, &desk).unwrap();
        let line = &built.job.build[&Slot::Controller];
        assert_eq!((&line.part, &line.receipt), (&weak, &before.receipt));
        assert!(line.receipt.is_some() && line.newer.is_none());
        assert!(built.job.blocks.iter().all(|block| block.part.is_none()));
        assert_eq!(built.cleared.len(), 1, "it is told");
        let rules = RuleSheet::shipped();
        let report = check::run(&pack_full_volts::CHECK, &built.job, &rules, Stage::Intake);
        assert_eq!(report.verdict, Verdict::Fail);
    }

    /// Undone, another part leaves the block that its choice settled.
    #[test]
    fn another_part_settles_the_block_for_as_long_as_it_is_chosen() {
        let (job, part, weak) = controllers();
        let (draft, _) = told(job, &weak).unwrap();
        let of_slot = |job: &Job| job.blocks.iter().filter(|block| block.part.is_some()).count();
        assert_eq!(of_slot(&draft.job), 1);
        let take = |event: Event| {
            let mut job = draft.job.clone();
            job.take(job.revision + 1, &testing::origin(Timestamp::UNIX_EPOCH), &event);
            job
        };
        let slot = Slot::Controller;
        let other = Part {
            id: "other".into(),
            ..part
        };
        // The settling is the choice's own: without it the fold has the block again.
        for event in [
            Event::Chosen {
                slot,
                part: other.clone(),
            },
            Event::Dropped { slot },
            Event::Corrected {
                slot,
                part: weak.clone(),
            },
        ] {
            assert_eq!(of_slot(&take(event.clone())), 0, "{event:?}");
        }
        // A word of the catalogue about a part that is not there any more is no word about this one.
        let of_other = take(Event::Recatalogued {
            slot,
            part: other,
            block: Some(9),
            about: String::new(),
        });
        assert_eq!(of_other, {
            let mut same = draft.job.clone();
            (same.revision, same.touched) = (of_other.revision, of_other.touched);
            same
        });
    }

    #[test]
    fn a_change_that_no_check_minds_opens_no_block() {
        let (job, part, _) = controllers();
        let mut named = part.clone();
        named
            .attributes
            .insert("name".into(), Value::Text("another name".into()));
        let (draft, revised) = told(job, &named).unwrap();
        assert_eq!((draft.opened.len(), revised[0].effects.len()), (0, 0));
        assert_eq!(draft.job.build[&Slot::Controller].newer, Some(named));
    }
}
