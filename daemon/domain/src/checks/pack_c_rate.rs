//! `pack.c_rate`: the current asked of the pack for each ampere hour it holds.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics;
use lockring_calc::quantity::{Charge, Current};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Controller current over pack capacity.
pub static CHECK: Check = Check {
    id: "pack.c_rate",
    title: "current asked of the pack for its size",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: 1.5 per hour for touring cells, 2 at most",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let capacity = case.part(Slot::Pack)?.number("capacity")?;
    let asked = prediction::current_limit(case)?;
    let rate = electrics::c_rate(Current::amperes(asked), Charge::coulombs(capacity))
        .map_err(|error| prediction::unusable(case, "pack", &error))?;
    let ampere_hours = Charge::coulombs(capacity).as_ampere_hours();
    let known = Known {
        value: rate,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let good = Limit::AtMost(case.rule("pack.c-rate-good"));
    let tolerable = Limit::AtMost(case.rule("pack.c-rate-most"));
    let finding = Judged::new("current per ampere hour", known, Kind::Count, "A/Ah")
        .between(good, tolerable)
        .with_arithmetic(format!(
            "{asked:.1} A / {ampere_hours:.1} Ah = {rate:.2} per hour"
        ))
        .with_remedy("a pack of more ampere hours")
        .with_remedy(format!(
            "a current limit of {:.0} A or less: lockring measure {} current-limit {:.0}A",
            (good_current(case, ampere_hours)).floor(),
            case.job().number,
            (good_current(case, ampere_hours)).floor()
        ));
    Ok(vec![finding])
}

fn good_current(case: &Case<'_>, ampere_hours: f64) -> f64 {
    case.rule("pack.c-rate-good") * ampere_hours
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn fourteen_amperes_of_ten_point_four_ampere_hours_pass() {
        // Worked example of the trade (common practice, no source): 14 / 10.4 = 1.35.
        let report = trekking().expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 1.35).abs() < 0.005);
    }

    #[test]
    fn a_smaller_pack_than_ordered_is_a_caution_and_the_remedy_clears_it() {
        // Worked example of the trade (common practice, no source): 25 / 14 = 1.79.
        let small = hardtail().receive("pack", &[("capacity", "14 Ah")], ReceiptText::default());
        let report = small.expect(&CHECK, Verdict::Caution);
        assert!((report.findings[0].figures[0].value - 1.79).abs() < 0.005);
        small
            .measure(&[("current-limit", "21 A")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn more_than_two_per_hour_fails() {
        hardtail()
            .receive("pack", &[("capacity", "12 Ah")], ReceiptText::default())
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn without_a_pack_it_is_open() {
        let report = trekking()
            .build(&[("pack", "none")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing[0].how, "lockring build 20 pack=PART");
    }

    #[test]
    fn the_current_limit_the_remedy_names_clears_it() {
        hardtail()
            .receive("pack", &[("capacity", "14 Ah")], ReceiptText::default())
            .cured(&CHECK, "lockring measure 23 current-limit 21A", |job| {
                job.measure(&[("current-limit", "21A")])
            });
    }
}
