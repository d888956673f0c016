//! Where a job stands, in a few words: whose move it is and what it waits for.

use jiff::civil::Date;
use lockring_domain::block::{Block, Whose};
use lockring_domain::job::Job;
use lockring_domain::part::Slot;
use lockring_domain::stage::Stage;

use super::days::short;

/// The word for whose move it is when nobody has to act.
pub(crate) const NOBODY: &str = "nobody";

/// Where a job stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Standing {
    /// Whose move it is: a word of [`Whose`], or [`NOBODY`].
    pub(crate) whose: &'static str,
    /// What the job waits for.
    pub(crate) waits_for: String,
}

impl Standing {
    fn new(whose: Whose, waits_for: impl Into<String>) -> Self {
        Self {
            whose: whose.word(),
            waits_for: waits_for.into(),
        }
    }
}

/// Whose move it is: nobody's on hold or when over; that of the oldest block of the stage it stands at or an earlier one;
/// then the owner's, where a recall holds it (`recalled`, in words); else that of the stage (common practice, no source).
pub(crate) fn of(job: &Job, today: Date, recalled: Option<&str>) -> Standing {
    if let Some(hold) = &job.hold {
        let until = hold
            .until
            .map_or_else(String::new, |until| format!(" until {}", short(until, today)));
        return Standing {
            whose: NOBODY,
            waits_for: format!("on hold{until}: {}", hold.why),
        };
    }
    let is_of_now = |block: &&Block| block.gate <= job.stage;
    if let Some(block) = job
        .blocks
        .iter()
        .filter(is_of_now)
        .min_by_key(|block| block.opened)
    {
        let more = match job.blocks.len() {
            1 => String::new(),
            several => format!(" (and {} more)", several - 1),
        };
        return Standing::new(block.whose, format!("{}{more}", block.about));
    }
    // What only blocks a later gate is not what it waits for now.
    let later = job.blocks.iter().map(|block| block.gate).min();
    let later = later.map_or_else(String::new, |gate| format!(" (then what blocks {})", gate.word()));
    if let Some(recalled) = recalled {
        return Standing::new(Whose::Owner, format!("{recalled}{later}"));
    }
    let mut standing = of_stage(job, today);
    standing.waits_for.push_str(&later);
    standing
}

fn of_stage(job: &Job, today: Date) -> Standing {
    match job.stage {
        Stage::Intake => Standing::new(Whose::Owner, "brief, donor and build to be settled"),
        Stage::Parts => at_parts(job, today),
        Stage::Fitting => Standing::new(Whose::Mechanic, "fitting and its measurements"),
        Stage::TestRide => Standing::new(Whose::Mechanic, "test ride"),
        Stage::Handover => Standing::new(Whose::Owner, "handover"),
        Stage::HandedOver | Stage::Returned | Stage::Cancelled => Standing {
            whose: NOBODY,
            waits_for: String::new(),
        },
    }
}

fn at_parts(job: &Job, today: Date) -> Standing {
    let to_order = words(job, |slot| job.is_to_order(slot));
    if !to_order.is_empty() {
        return Standing::new(Whose::Owner, format!("to be ordered: {}", to_order.join(", ")));
    }
    let on_the_way = words(job, |slot| is_on_the_way(job, slot));
    if on_the_way.is_empty() {
        return Standing::new(Whose::Mechanic, "parts to be checked in");
    }
    let due = latest_due(job).map_or_else(String::new, |(due, _)| format!(", due {}", short(due, today)));
    Standing::new(Whose::Supplier, format!("{}{due}", on_the_way.join(", ")))
}

fn words(job: &Job, wanted: impl Fn(Slot) -> bool) -> Vec<&'static str> {
    let slots = job.build.keys().copied().filter(|slot| wanted(*slot));
    slots.map(Slot::word).collect()
}

/// Ordered and not yet here.
pub(crate) fn is_on_the_way(job: &Job, slot: Slot) -> bool {
    let is_absent = job.build.get(&slot).is_some_and(|line| line.receipt.is_none());
    is_absent && job.order_of(slot).is_some()
}

/// The latest day on which a part still on the way is due, and its slot.
pub(crate) fn latest_due(job: &Job) -> Option<(Date, Slot)> {
    let on_the_way = job.build.keys().filter(|slot| is_on_the_way(job, **slot));
    on_the_way
        .filter_map(|slot| Some((job.order_of(*slot)?.due?, *slot)))
        .max()
}

/// What the rider still owes, in minor units, by the job's account. `None` without a quote;
/// negative when more was paid.
pub(crate) fn owed(job: &Job) -> Option<i64> {
    job.owed().map(|owed| owed.0)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use lockring_domain::block::Family;
    use lockring_domain::fact::Value;

    use super::*;
    use crate::report::testing::{Bench, on};

    const TODAY: Date = date(2026, 3, 9);

    #[test]
    fn without_blocks_it_is_the_stages_move() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        for (stage, whose) in [
            (Stage::Intake, "owner"),
            (Stage::Fitting, "mechanic"),
            (Stage::TestRide, "mechanic"),
            (Stage::Handover, "owner"),
            (Stage::HandedOver, NOBODY),
            (Stage::Cancelled, NOBODY),
        ] {
            bench.job.stage = stage;
            assert_eq!(of(&bench.job, TODAY, None).whose, whose, "{stage:?}");
        }
    }

    #[test]
    fn at_parts_it_is_the_owner_who_orders_the_supplier_who_sends_and_the_mechanic_who_checks() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        bench.job.stage = Stage::Parts;
        bench.choose(Slot::Motor).choose(Slot::Pack);
        bench.order(Slot::Pack, "S", Some(date(2026, 4, 7)));
        assert_eq!(
            of(&bench.job, TODAY, None),
            Standing::new(Whose::Owner, "to be ordered: motor")
        );
        bench.order(Slot::Motor, "S", Some(date(2026, 4, 1)));
        assert_eq!(
            of(&bench.job, TODAY, None),
            Standing::new(Whose::Supplier, "motor, pack, due 7 Apr")
        );
        bench.receive(Slot::Motor).receive(Slot::Pack);
        assert_eq!(of(&bench.job, TODAY, None).whose, "mechanic");
    }

    #[test]
    fn the_oldest_block_says_whose_move_it_is_and_a_hold_stands_before_all() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        bench.block(Family::Rider, "deposit", None, on("2026-03-05"));
        bench.block(Family::Parts, "motor late", None, on("2026-03-04"));
        assert_eq!(
            of(&bench.job, TODAY, None),
            Standing::new(Whose::Supplier, "motor late (and 1 more)")
        );
        // A block of a later gate is not what it waits for, and what a recall holds back is.
        bench.job.stage = Stage::Fitting;
        for block in bench.job.blocks.iter_mut() {
            block.gate = Stage::TestRide;
        }
        let later = of(&bench.job, TODAY, None);
        assert_eq!(
            later,
            Standing::new(
                Whose::Mechanic,
                "fitting and its measurements (then what blocks test-ride)"
            )
        );
        let held = of(&bench.job, TODAY, Some("recall 1 means the pack"));
        assert_eq!(held.whose, "owner");
        assert!(held.waits_for.starts_with("recall 1 means the pack"), "{held:?}");
        bench.hold("rider on holiday", Some(date(2026, 3, 20)));
        let standing = of(&bench.job, TODAY, None);
        assert_eq!(standing.whose, NOBODY);
        assert_eq!(standing.waits_for, "on hold until 20 Mar: rider on holiday");
    }

    #[test]
    fn what_is_owed_is_the_quote_less_what_is_paid() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        assert_eq!(owed(&bench.job), None);
        bench.state("quote", Value::Money(181_400));
        assert_eq!(owed(&bench.job), Some(181_400));
        bench.state("paid", Value::Money(50_000));
        assert_eq!(owed(&bench.job), Some(131_400));
    }
}
