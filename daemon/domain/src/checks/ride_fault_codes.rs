//! `ride.fault_codes`: fault codes left open at the end of the ride.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Outcome, Verdict};
use crate::prediction;
use crate::ride_class::deference::D2;
use crate::stage::Stage;

/// Open fault codes.
pub static CHECK: Check = Check {
    id: "ride.fault_codes",
    title: "no fault code left open",
    gates: &[Stage::TestRide],
    family: Family::Safe,
    version: 2,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: none open at the end of the ride",
    run,
};

/// What people write where no code is open.
const NONE: [&str; 3] = ["none", "no", "0"];

fn run(case: &Case<'_>) -> Outcome {
    let open = case.word("codes-open")?.trim();
    let finding = if NONE.iter().any(|none| open.eq_ignore_ascii_case(none)) {
        Finding::new(Verdict::Pass, "no fault code left open")
    } else {
        Finding::new(Verdict::Fail, format!("fault code left open: {open}"))
            .with_remedy("find the cause by the maker's code card, cure it and ride again")
            .with_remedy(format!(
                "then say which are open now, or none: lockring ride {} codes open=…",
                case.job().number
            ))
    };
    Ok(vec![
        finding
            .with_arithmetic(format!("codes left open: {open}; none asked"))
            .with_arithmetic(prediction::caution("el-fail-off"))
            .with_arithmetic(D2),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;

    #[test]
    fn none_passes_and_a_code_fails_until_it_is_cleared() {
        let fault = trekking().ride("codes", &[("open", "E21 speed sensor")]);
        let report = fault.expect(&CHECK, Verdict::Fail);
        assert!(report.summary().contains("E21"), "{}", report.summary());
        for none in ["None", "no", "0"] {
            let cleared = fault.clone().ride("codes", &[("open", none)]);
            cleared.expect(&CHECK, Verdict::Pass);
        }
        fault
            .ride("codes", &[("open", "10")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn open_until_it_is_looked_at() {
        trekking().expect(&CHECK, Verdict::Open);
        assert_eq!(CHECK.concede, Concede::Never);
    }

    #[test]
    fn none_recorded_as_the_remedy_says_clears_it() {
        trekking().ride("codes", &[("open", "E21 speed sensor")]).cured(
            &CHECK,
            "lockring ride 20 codes open=…",
            |job| job.ride("codes", &[("open", "none")]),
        );
    }
}
