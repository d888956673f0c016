//! `pack.headroom`: room between the full pack and the most each device takes.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics::{self, InputWindow};
use lockring_calc::quantity::Voltage;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Two hundredths of a device's maximum are kept free; above the maximum itself
/// `pack.full_volts` speaks.
pub static CHECK: Check = Check {
    id: "pack.headroom",
    title: "headroom between full-charge volts and every device's maximum",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "common practice, no source: 2 % below a device's maximum",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let full = prediction::full_volts(case)?;
    prediction::fed_from_pack(case)?
        .into_iter()
        .map(|(slot, most)| room(case, full, slot, most))
        .collect()
}

fn room(case: &Case<'_>, full: Voltage, slot: Slot, most: Voltage) -> Result<Finding, Halt> {
    if full > most {
        let why = format!("{}: over its maximum, see pack.full_volts", slot.word());
        return Ok(Finding::new(Verdict::NotApplicable, why));
    }
    let share = case.rule("volts.headroom");
    let window = InputWindow { min: None, max: most };
    let margin = electrics::window_margin(full, full, &window)
        .map_err(|error| prediction::unusable(case, slot.word(), &error))?;
    let known = Known {
        value: full.si(),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let what = format!("full-charge volts at the {}", slot.word());
    let needed = prediction::roomy_maximum(case, full).ceil();
    Ok(Judged::new(&what, known, Kind::Voltage, "V")
        .between(Limit::AtMost(share * most.si()), Limit::AtMost(most.si()))
        .with_arithmetic(format!(
            "{:.1} V / {:.1} V = {:.3} of the maximum, {:.1} V of headroom",
            full.as_volts(),
            most.as_volts(),
            margin.fraction_of_max,
            (most - full).as_volts()
        ))
        .with_remedy(format!(
            "a {0} that takes {needed:.0} V or more: lockring build {1} {0}=PART",
            slot.word(),
            case.job().number
        ))
        .with_remedy(format!(
            "accept the little room: lockring concede {} {} --why \"…\"",
            case.job().number,
            CHECK.id
        )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn builds_with_room_pass() {
        // Worked example of the trade (common practice, no source): 42.0 / 0.98 = 42.9 and
        // 54.6 <= 0.98 x 60 = 58.8.
        trekking().expect(&CHECK, Verdict::Pass);
        longtail().expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_display_with_less_than_two_hundredths_is_a_caution_that_may_be_conceded() {
        // Worked example of the trade (common practice, no source): 54.6 V is above
        // 0.98 x 55 = 53.9 and below 55, 0.4 V of headroom.
        let tight = hardtail();
        let report = tight.expect(&CHECK, Verdict::Caution);
        let cautions: Vec<&Finding> = report
            .findings
            .iter()
            .filter(|finding| finding.verdict == Verdict::Caution)
            .collect();
        assert_eq!(cautions.len(), 1);
        assert!(
            cautions[0].arithmetic[0].ends_with("0.4 V of headroom"),
            "{:?}",
            cautions[0].arithmetic
        );
        assert_eq!(CHECK.concede, Concede::Owner);
        tight
            .build(&[("display", "display-60")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn ninety_eight_hundredths_exactly_is_within_and_over_the_maximum_is_not_judged_here() {
        // Worked example of the trade (common practice, no source): 58.8 <= 0.98 x 60 = 58.8,
        // by nothing; the display of 55 V is the other check's.
        let report = hardtail()
            .receive("pack", &[("series", "14")], ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
        let silent: Vec<&Finding> = report
            .findings
            .iter()
            .filter(|finding| finding.verdict == Verdict::NotApplicable)
            .collect();
        assert_eq!(silent.len(), 1);
        assert!(silent[0].summary.starts_with("display"), "{}", silent[0].summary);
    }

    #[test]
    fn without_a_pack_it_is_open() {
        trekking()
            .build(&[("pack", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_display_the_remedy_names_clears_it() {
        // 54.6 / 0.98 = 55.7 V by hand.
        hardtail().cured(
            &CHECK,
            "a display that takes 56 V or more: lockring build 23 display=PART",
            |job| job.receive("display", &[("max-volts", "56 V")], ReceiptText::default()),
        );
    }

    #[test]
    fn over_every_maximum_only_the_other_check_speaks() {
        let mut over = trekking();
        for slot in ["motor", "controller", "display"] {
            over = over.receive(slot, &[("max-volts", "41 V")], ReceiptText::default());
        }
        over.expect(&CHECK, Verdict::NotApplicable);
    }
}
