//! `handover.signature`: who signed for the bicycle.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Outcome, Verdict};
use crate::stage::Stage;

/// Signature.
pub static CHECK: Check = Check {
    id: "handover.signature",
    title: "signed for",
    gates: &[Stage::Handover],
    family: Family::Rider,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: figures seen, cautions explained, concessions accepted",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let who = case.word("signed-by")?.trim();
    // A dash or a `no` says that nobody has signed.
    let nobody = matches!(who.to_lowercase().as_str(), "" | "-" | "no" | "none" | "nobody");
    let finding = if nobody {
        Finding::new(Verdict::Fail, "nobody has signed for the bicycle")
    } else {
        // The name stays where it was entered: findings are kept for as long as the job is.
        Finding::new(Verdict::Pass, "signed for")
    };
    Ok(vec![
        finding
            .with_arithmetic(
                "signed: figures seen, cautions explained, concessions accepted, class understood",
            )
            .with_remedy(format!(
                "walk the rider round and record who signed: lockring measure {} signed-by NAME",
                case.job().number
            )),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;

    #[test]
    fn a_name_passes_and_nobody_fails() {
        let unsigned = trekking().measure(&[("signed-by", "nobody")]);
        unsigned.expect(&CHECK, Verdict::Fail);
        unsigned
            .measure(&[("signed-by", "Ines H.")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn open_until_it_is_signed() {
        trekking().expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_name_as_the_remedy_says_clears_it() {
        trekking().measure(&[("signed-by", "-")]).cured(
            &CHECK,
            "lockring measure 20 signed-by NAME",
            |job| job.measure(&[("signed-by", "Ines H.")]),
        );
    }
}
