//! `mass.carrier`: a pack on the carrier and what else rides there, against the carrier's mark.

use lockring_calc::doubt::Limit;
use lockring_calc::mass::NEARLY;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::stage::Stage;
use crate::unit::Kind;

/// Load on the carrier.
pub static CHECK: Check = Check {
    id: "mass.carrier",
    title: "pack and load within the carrier's mark",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the carrier's own mark; under a twentieth left is remarked on: workshop judgement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let on_rack = match case.optional_part(Slot::Pack) {
        Some(pack) if pack.optional_word("place") == Some("rack") => Some(pack.number("mass")?),
        _ => None,
    };
    if on_rack.is_none() && !case.knows("carrier-load") {
        if !case.knows("carrier-limit") {
            return Halt::not_applicable("no pack and no stated load on the carrier");
        }
        // With no pack there nobody said that the carrier carries anything: only what it would not bear is asked about.
        let good = case.number("carrier-limit")?.value * (1.0 - NEARLY);
        if case.number("load-mass")?.value > good {
            return Err(case.open("carrier-load"));
        }
    }
    let mark = case.number("carrier-limit")?.value;
    let good = mark * (1.0 - NEARLY);
    let pack = on_rack.unwrap_or(0.0);
    let load = match case.optional_number("carrier-load") {
        Some(stated) => stated.value,
        None => {
            // All the rider carries, where nobody said what of it rides here: an assumption only where that is too much.
            let all = case.number("load-mass")?.value;
            if pack + all > good {
                case.assume_until(
                    format!("all {all:.1} kg of load on the carrier"),
                    Some(format!(
                        "what of it rides there: lockring brief {} carrier-load=…kg",
                        case.job().number
                    )),
                );
            }
            all
        }
    };
    let known = Known {
        value: pack + load,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let job = case.job().number;
    let finding = Judged::new("load on the carrier", known, Kind::Mass, "kg")
        .between(Limit::AtMost(good), Limit::AtMost(mark))
        .with_arithmetic(format!(
            "{pack:.1} kg pack + {load:.1} kg load = {:.1} kg on a carrier marked {mark:.1} kg",
            pack + load
        ));
    Ok(vec![cured(finding, job)])
}

fn cured(finding: Finding, job: u32) -> Finding {
    if finding.verdict == Verdict::Pass {
        return finding;
    }
    finding
        .with_remedy(format!(
            "less on the carrier, agreed with the rider: lockring brief {job} carrier-load VALUE"
        ))
        .with_remedy(format!(
            "a stronger carrier, as a line on the quote: lockring donor {job} carrier-limit VALUE"
        ))
        .with_remedy("or a pack in the frame")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::ReceiptText;

    fn rack(mass: &str, mark: &str, load: &str) -> Bench {
        trekking()
            .receive(
                "pack",
                &[("place", "rack"), ("mass", mass)],
                ReceiptText::default(),
            )
            .state(&[("carrier-limit", mark), ("carrier-load", load)])
    }

    #[test]
    fn the_mark_bears_pack_and_load_together() {
        // Arithmetic: 3 + 20 kg of 25 is within 23.75; 3 + 21 in the last twentieth; 3 + 23 over.
        for (load, verdict) in [
            ("20 kg", Verdict::Pass),
            ("20.7 kg", Verdict::Pass),
            ("20.8 kg", Verdict::Caution),
            ("22 kg", Verdict::Caution),
            ("22.1 kg", Verdict::Fail),
        ] {
            rack("3 kg", "25 kg", load).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn each_remedy_clears_it() {
        let over = rack("3 kg", "25 kg", "30 kg");
        let report = over.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[0].remedies.len(), 3);
        over.clone()
            .state(&[("carrier-load", "15 kg")])
            .expect(&CHECK, Verdict::Pass);
        let words = report.findings[0].remedies[1].clone();
        over.cured(&CHECK, &words, |job| job.state(&[("carrier-limit", "40 kg")]));
    }

    #[test]
    fn without_a_stated_share_all_the_load_is_taken() {
        // 6 kg of load of the demo's brief and 3 kg of pack.
        let taken = trekking()
            .receive(
                "pack",
                &[("place", "rack"), ("mass", "3 kg")],
                ReceiptText::default(),
            )
            .state(&[("carrier-limit", "25 kg")]);
        // All of it is within the mark: where the load really goes changes nothing.
        let report = taken.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 9.0).abs() < 1e-9);
        assert!(report.assumed.is_empty(), "{:?}", report.assumed);
        for (mark, verdict) in [("9.2 kg", Verdict::Caution), ("8 kg", Verdict::Fail)] {
            let tight = taken.clone().state(&[("carrier-limit", mark)]);
            assert_eq!(tight.expect(&CHECK, verdict).assumed.len(), 1);
            tight.cured(&CHECK, "lockring brief 20 carrier-load=…kg", |job| {
                job.state(&[("carrier-load", "4 kg")])
            });
        }
    }

    #[test]
    fn a_load_that_the_carrier_would_not_bear_asks_what_of_it_rides_there() {
        // 60 kg of load on a mark of 25 kg, the pack in the frame: 23.75 kg is the last that is nobody's question.
        let marked = |load| trekking().state(&[("load-mass", load), ("carrier-limit", "25 kg")]);
        let heavy = marked("60 kg");
        let report = heavy.expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("carrier-load"),
            "{:?}",
            report.missing
        );
        heavy
            .clone()
            .state(&[("carrier-load", "20 kg")])
            .expect(&CHECK, Verdict::Pass);
        heavy
            .state(&[("carrier-load", "60 kg")])
            .expect(&CHECK, Verdict::Fail);
        marked("23.7 kg").expect(&CHECK, Verdict::Pass);
        marked("23.8 kg").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_pack_in_the_frame_is_not_concerned_and_an_unmarked_carrier_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .receive("pack", &[("place", "rack")], ReceiptText::default())
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("carrier-limit"),
            "{:?}",
            report.missing
        );
        trekking()
            .state(&[("carrier-load", "10 kg"), ("carrier-limit", "25 kg")])
            .expect(&CHECK, Verdict::Pass);
    }
}
