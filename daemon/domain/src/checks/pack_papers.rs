//! `pack.papers`: papers of the pack on file, and the pack whole.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;

/// Words by which the papers on file name the transport test summary.
const TRANSPORT: &[&str] = &["38.3", "transport"];
/// Words by which they name the report on the pack itself.
const REPORT: &[&str] = &["report", "certificate", "50604", "62133", "2271", "2849"];

/// Words that say a paper is not there.
const LACKING: &[&str] = &[
    "no", "not", "none", "without", "missing", "lacking", "awaited", "pending",
];

/// No pack is connected without papers, and none that is damaged.
pub static CHECK: Check = Check {
    id: "pack.papers",
    title: "transport summary and pack report on file, pack undamaged",
    gates: &[Stage::Parts],
    family: Family::Law,
    version: 1,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "UN Manual of Tests and Criteria, 38.3.5 (test summary), from memory; pack report: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    case.part(Slot::Pack)?;
    let Some(receipt) = prediction::receipt(case, Slot::Pack) else {
        return Err(Halt::Open(vec![Missing {
            what: "papers of the pack".into(),
            how: how(case),
        }]));
    };
    let papers = receipt.papers.as_deref().unwrap_or_default();
    Ok(vec![
        on_file(case, papers, "transport test summary (UN 38.3)", TRANSPORT),
        on_file(case, papers, "report on the pack", REPORT),
        whole(case, receipt.damage.as_deref()),
    ])
}

fn on_file(case: &Case<'_>, papers: &str, paper: &str, words: &[&str]) -> Finding {
    if names(papers, words) {
        return Finding::new(Verdict::Pass, format!("{paper} on file: {papers}"));
    }
    let on_file = if papers.is_empty() {
        "no papers on file"
    } else {
        papers
    };
    Finding::new(
        Verdict::Fail,
        format!("no {paper} among the pack's papers: {on_file}"),
    )
    .with_remedy(format!("ask the supplier for it and file it: {}", how(case)))
    .with_remedy("a pack without it goes back; it is not connected meanwhile")
}

/// Whether the papers name one of the words in a clause that does not say it is lacking.
fn names(papers: &str, words: &[&str]) -> bool {
    papers.to_lowercase().split([',', ';', '\n']).any(|clause| {
        let lacking = clause
            .split(|letter: char| !letter.is_alphabetic())
            .any(|word| LACKING.contains(&word));
        !lacking && words.iter().any(|word| clause.contains(word))
    })
}

fn whole(case: &Case<'_>, damage: Option<&str>) -> Finding {
    match damage {
        None => Finding::new(Verdict::Pass, "no damage seen on the pack"),
        Some(damage) => Finding::new(Verdict::Fail, format!("the pack is damaged: {damage}"))
            .with_remedy("put it outdoors, away from anything that burns, and neither charge nor ship it")
            .with_remedy(format!(
                "another pack: lockring order {} pack --from SUPPLIER --due DAY",
                case.job().number
            )),
    }
}

fn how(case: &Case<'_>) -> String {
    format!(
        "lockring receive {} pack --papers \"UN 38.3 summary, pack report\"",
        case.job().number
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::ReceiptText;

    fn arrived(papers: &str, damage: &str) -> Bench {
        let details = ReceiptText {
            papers: papers.into(),
            damage: damage.into(),
            ..ReceiptText::default()
        };
        trekking().receive("pack", &[], details)
    }

    #[test]
    fn both_papers_and_no_damage_pass() {
        trekking().receive_all().expect(&CHECK, Verdict::Pass);
        arrived("UN 38.3 summary, EN 50604 report", "").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn each_paper_that_lacks_fails_and_filing_it_clears_it() {
        let none = arrived("", "").expect(&CHECK, Verdict::Fail);
        assert_eq!(
            none.findings
                .iter()
                .filter(|finding| finding.verdict == Verdict::Fail)
                .count(),
            2
        );
        let half = arrived("UN 38.3 summary", "").expect(&CHECK, Verdict::Fail);
        assert_eq!(
            half.summary(),
            "no report on the pack among the pack's papers: UN 38.3 summary"
        );
        arrived("UN 38.3 summary, pack report", "").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_paper_that_is_said_to_be_missing_is_not_on_file() {
        let report = arrived("UN 38.3 summary, no report yet", "").expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[0].verdict, Verdict::Pass);
        arrived("without transport papers", "").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_damaged_pack_fails_with_all_its_papers() {
        let report = arrived("UN 38.3 summary, pack report", "dented corner").expect(&CHECK, Verdict::Fail);
        assert_eq!(report.summary(), "the pack is damaged: dented corner");
    }

    #[test]
    fn before_it_arrives_it_is_open() {
        let report = trekking().expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0]
                .how
                .starts_with("lockring receive 20 pack --papers")
        );
        trekking()
            .build(&[("pack", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_papers_filed_in_the_remedy_s_own_words_clear_it() {
        arrived("UN 38.3 summary", "").cured(
            &CHECK,
            "lockring receive 20 pack --papers \"UN 38.3 summary, pack report\"",
            |job| {
                let papers = ReceiptText {
                    papers: "UN 38.3 summary, pack report".into(),
                    ..ReceiptText::default()
                };
                job.receive("pack", &[], papers)
            },
        );
    }

    #[test]
    fn papers_filed_later_leave_the_damage_and_what_was_read_off_the_pack() {
        let dented = ReceiptText {
            serial: "40117".into(),
            damage: "dented corner".into(),
            ..ReceiptText::default()
        };
        let papers = ReceiptText {
            papers: "UN 38.3 summary, pack report".into(),
            ..ReceiptText::default()
        };
        let filed =
            trekking()
                .receive("pack", &[("series", "14")], dented)
                .receive("pack", &[], papers.clone());
        let report = filed.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.summary(), "the pack is damaged: dented corner");
        let receipt = filed.job.build[&Slot::Pack].receipt.as_ref().unwrap();
        assert_eq!(receipt.serial.as_deref(), Some("40117"));
        assert!(receipt.found.contains_key("series"), "{receipt:?}");
        // Another serial is another pack.
        let other = ReceiptText {
            serial: "40118".into(),
            ..papers
        };
        let replaced = filed.receive("pack", &[], other);
        replaced.expect(&CHECK, Verdict::Pass);
        let receipt = replaced.job.build[&Slot::Pack].receipt.as_ref().unwrap();
        assert!(receipt.found.is_empty(), "{receipt:?}");
    }
}
