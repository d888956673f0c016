//! `pack.current`: what the pack may give all day against what the controller may ask.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics;
use lockring_calc::quantity::Current;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// A pack whose protection trips below the controller's limit cuts out on a hill.
pub static CHECK: Check = Check {
    id: "pack.current",
    title: "pack's continuous current against the controller's limit",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: the protection of the pack never below the controller",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let gives = case.part(Slot::Pack)?.number("continuous-current")?;
    let asked = prediction::current_limit(case)?;
    let ratio = electrics::current_ratio(Current::amperes(gives), Current::amperes(asked))
        .map_err(|error| prediction::unusable(case, "pack", &error))?;
    let known = Known {
        value: gives,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let least = case.rule("pack.bms-ratio-least") * asked;
    let job = case.job().number;
    let set = (gives / case.rule("pack.bms-ratio-good")).floor();
    let finding = Judged::new("continuous current of the pack", known, Kind::Current, "A")
        .against(Limit::AtLeast(least))
        .with_arithmetic(format!("{gives:.1} A / {asked:.1} A = {ratio:.2}"))
        .with_remedy(format!("a pack that gives {asked:.0} A or more: lockring build {job} pack=PART"))
        .with_remedy(format!(
            "a current limit of {set:.0} A, at less power on the hill: lockring measure {job} current-limit {set:.0}A"
        ));
    Ok(vec![finding])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn the_builds_as_ordered_pass() {
        // Worked example of the trade (common practice, no source): 20 A for 14 A, 25 for 15,
        // 35 for 25.
        for bench in [trekking(), longtail(), hardtail()] {
            bench.expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn a_pack_below_the_controller_fails_and_a_lower_limit_clears_it() {
        // Worked example of the trade (common practice, no source): 20 / 25 = 0.80; the
        // controller to 16 A (20 / 1.25).
        let weak = hardtail().receive("pack", &[("continuous-current", "20 A")], ReceiptText::default());
        let report = weak.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[0].arithmetic, ["20.0 A / 25.0 A = 0.80"]);
        assert!(report.findings[0].remedies[1].ends_with("lockring measure 23 current-limit 16A"));
        weak.measure(&[("current-limit", "16A")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn as_much_as_the_controller_is_within_and_a_tenth_of_an_ampere_less_is_not() {
        let pack =
            |amperes| hardtail().receive("pack", &[("continuous-current", amperes)], ReceiptText::default());
        pack("25 A").expect(&CHECK, Verdict::Pass);
        pack("24.9 A").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn without_a_controller_it_is_open() {
        trekking()
            .build(&[("controller", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_current_limit_the_remedy_names_clears_it() {
        hardtail()
            .receive("pack", &[("continuous-current", "20 A")], ReceiptText::default())
            .cured(&CHECK, "lockring measure 23 current-limit 16A", |job| {
                job.measure(&[("current-limit", "16A")])
            });
    }
}
