//! `pack.current_margin`: a quarter more in the pack than the controller may ask.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics;
use lockring_calc::quantity::Current;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// The margin keeps the protection from tripping when cold or aged; below the controller's
/// limit itself `pack.current` speaks.
pub static CHECK: Check = Check {
    id: "pack.current_margin",
    title: "margin of the pack's current over the controller's limit",
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
    source: "common practice, no source: 1.25 times the controller's limit",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let gives = case.part(Slot::Pack)?.number("continuous-current")?;
    let asked = prediction::current_limit(case)?;
    let ratio = electrics::current_ratio(Current::amperes(gives), Current::amperes(asked))
        .map_err(|error| prediction::unusable(case, "pack", &error))?;
    let (good, least) = (
        case.rule("pack.bms-ratio-good"),
        case.rule("pack.bms-ratio-least"),
    );
    if ratio < least {
        let why = format!("the pack gives {gives:.1} A for {asked:.1} A: see pack.current");
        return Ok(vec![Finding::new(Verdict::NotApplicable, why)]);
    }
    let known = Known {
        value: gives,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let job = case.job().number;
    let set = (gives / good).floor();
    let finding = Judged::new("continuous current of the pack", known, Kind::Current, "A")
        .between(Limit::AtLeast(good * asked), Limit::AtLeast(least * asked))
        .with_arithmetic(format!("{good:.2} x {asked:.1} A = {:.2} A; {gives:.1} A / {asked:.1} A = {ratio:.2}", good * asked))
        .with_remedy(format!(
            "a current limit of {set:.0} A, at less power on the hill: lockring measure {job} current-limit {set:.0}A"
        ))
        .with_remedy(format!("a pack that gives {:.0} A: lockring build {job} pack=PART", (good * asked).ceil()));
    Ok(vec![finding])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn a_quarter_more_passes() {
        // Worked example of the trade (common practice, no source): 20 >= 1.25 x 14 = 17.5,
        // 25 >= 18.75, 35 >= 31.25.
        for (bench, least) in [
            (trekking(), "17.50"),
            (longtail(), "18.75"),
            (hardtail(), "31.25"),
        ] {
            let report = bench.expect(&CHECK, Verdict::Pass);
            assert!(
                report.findings[0].arithmetic[0].contains(least),
                "{:?}",
                report.findings[0].arithmetic
            );
        }
    }

    #[test]
    fn less_than_a_quarter_is_a_caution_and_the_remedy_clears_it() {
        let short = hardtail().receive("pack", &[("continuous-current", "30 A")], ReceiptText::default());
        let report = short.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[0].remedies[0].ends_with("current-limit 24A"),
            "{:?}",
            report.findings[0].remedies
        );
        short
            .measure(&[("current-limit", "24A")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_verdict_turns_at_a_quarter_more() {
        let pack =
            |amperes| hardtail().receive("pack", &[("continuous-current", amperes)], ReceiptText::default());
        pack("31.25 A").expect(&CHECK, Verdict::Pass);
        pack("31.2 A").expect(&CHECK, Verdict::Caution);
        pack("25 A").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn below_the_controller_the_other_check_speaks() {
        hardtail()
            .receive("pack", &[("continuous-current", "20 A")], ReceiptText::default())
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn without_a_pack_it_is_open() {
        trekking()
            .build(&[("pack", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_current_limit_the_remedy_names_clears_it() {
        hardtail()
            .receive("pack", &[("continuous-current", "30 A")], ReceiptText::default())
            .cured(&CHECK, "lockring measure 23 current-limit 24A", |job| {
                job.measure(&[("current-limit", "24A")])
            });
    }
}
