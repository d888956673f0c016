//! A remedy that names a command with its figure is run as it stands and clears its finding,
//! over ranges of the values that cause it.

use super::testing::{Bench, hardtail, longtail, trekking};
use super::{ALL, properties};
use crate::check::{Finding, Report, Verdict};
use crate::code::{self, Worst};
use crate::command::ReceiptText;
use crate::field::Shape;

/// A command found in a remedy: its verb, with `--anew` where it says so, and what it records.
type Told = (String, Vec<(String, String)>);

/// The command of a remedy, when all its values are figures and not placeholders.
fn told(remedy: &str) -> Option<Told> {
    let (_, command) = remedy.split_once("lockring ")?;
    let command = command.split([';', ',']).next()?;
    let anew = command.contains(" --anew");
    let words: Vec<&str> = command
        .split_whitespace()
        .filter(|word| *word != "--anew")
        .collect();
    let (verb, _job, rest) = match words.as_slice() {
        [verb, job, rest @ ..] => (*verb, *job, rest),
        _ => return None,
    };
    let pair = |word: &&str| {
        word.split_once('=')
            .map(|(key, value)| (key.to_owned(), value.to_owned()))
    };
    let pairs: Vec<(String, String)> = match (verb, rest) {
        ("measure", [code, value]) if !code.contains('=') => vec![((*code).to_owned(), (*value).to_owned())],
        ("measure" | "brief" | "donor", rest) => rest.iter().map(pair).collect::<Option<_>>()?,
        _ => return None,
    };
    let figures = pairs
        .iter()
        .all(|(_, value)| value.starts_with(|first: char| first.is_ascii_digit()));
    let verb = if anew {
        format!("{verb} --anew")
    } else {
        verb.to_owned()
    };
    (figures && !pairs.is_empty()).then_some((verb, pairs))
}

fn run(bench: &Bench, (verb, pairs): &Told) -> Bench {
    let values: Vec<(&str, &str)> = pairs
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()))
        .collect();
    match verb.as_str() {
        "measure" => bench.clone().measure(&values),
        "measure --anew" => bench.clone().again(&values),
        _ => bench.clone().state(&values),
    }
}

/// Whether what a finding was about is in order in a later report.
fn cleared(finding: &Finding, after: &Report) -> bool {
    let name = |finding: &Finding| {
        let figure = finding.figures.first().map(|figure| figure.name.clone());
        figure.unwrap_or_else(|| finding.summary.chars().take(18).collect())
    };
    // An assumption keeps a caution of its own.
    let best = if after.assumed.is_empty() {
        Verdict::Pass
    } else {
        Verdict::Caution
    };
    after
        .findings
        .iter()
        .filter(|other| name(other) == name(finding))
        .all(|other| other.verdict <= best)
}

/// Applies every remedy with figures of a bicycle; how many there were.
fn apply_all(what: &str, bench: &Bench) -> usize {
    let mut applied = 0;
    for check in ALL {
        let before = bench.report(check);
        let troubled = |finding: &&Finding| matches!(finding.verdict, Verdict::Caution | Verdict::Fail);
        for finding in before.findings.iter().filter(troubled) {
            for remedy in &finding.remedies {
                let Some(command) = told(remedy) else { continue };
                let after = run(bench, &command).report(check);
                assert!(
                    cleared(finding, &after),
                    "{what}: {}: {} is not cleared by `{remedy}`: {:?}",
                    check.id,
                    finding.summary,
                    after.findings
                );
                applied += 1;
            }
        }
    }
    applied
}

fn found(bench: Bench, slot: &str, values: &[(&str, &str)]) -> Bench {
    bench.receive(slot, values, ReceiptText::default())
}

#[test]
fn electrical_remedies_clear_what_they_name() {
    let mut applied = 0;
    for number in [6.3, 8.9, 11.1, 12.7, 15.9] {
        let (ampere_hours, amperes) = (format!("{number} Ah"), format!("{} A", 2.0 * number));
        for bench in [
            found(hardtail(), "pack", &[("capacity", &ampere_hours)]),
            found(hardtail(), "pack", &[("continuous-current", &amperes)]),
            hardtail().measure(&[
                ("fuse", &amperes),
                ("fuse-volts", "60 V"),
                ("current-limit", "13 A"),
            ]),
            longtail().measure(&[("wire-gauge", "16"), ("wire-length", "0.5"), ("fuse", &amperes)]),
        ] {
            applied += apply_all(&amperes, &bench);
        }
    }
    for series in [7, 10, 11, 14, 16, 20] {
        let series = series.to_string();
        let iron = [("series", series.as_str()), ("chemistry", "iron-phosphate")];
        applied += apply_all(&series, &found(hardtail(), "pack", &iron[..1]));
        applied += apply_all(&series, &found(hardtail(), "pack", &iron));
    }
    assert!(applied >= 20, "{applied}");
}

#[test]
fn remedies_of_fit_clear_what_they_name() {
    let mut applied = 0;
    for step in 0..7 {
        let step = f64::from(step);
        let mm = |from: f64, by: f64| format!("{:.2} mm", from + by * step);
        let links = (108.0 + 2.0 * step).to_string();
        let teeth = (12.0 + 4.0 * step).to_string();
        for bench in [
            longtail().measure(&[("stay-gap", &mm(-1.0, 0.61))]),
            longtail().measure(&[("shell-width", &mm(67.1, 0.17))]),
            longtail().measure(&[("shell-width", &mm(72.1, 0.9)), ("spacer", "5 mm")]),
            longtail().measure(&[("chain-links", &links)]),
            longtail().state(&[("derailleur-cog", &teeth), ("derailleur-capacity", &teeth)]),
            trekking().measure(&[("slot-width", &mm(9.6, 0.13))]),
            trekking().measure(&[("dropout-rear", &mm(129.0, 1.1))]),
            trekking().measure(&[
                ("circumference", "2170.4"),
                ("circumference-setting", &mm(2100.0, 23.0)),
            ]),
            found(
                trekking().measure(&[("bar-diameter", &mm(22.0, 1.7)), ("bar-free", &mm(25.0, 4.0))]),
                "display",
                &[("clamp-diameter", "31.8 mm"), ("clamp-width", "30 mm")],
            ),
        ] {
            applied += apply_all(&format!("step {step}"), &bench);
        }
    }
    assert!(applied >= 30, "{applied}");
}

#[test]
fn remedies_of_mass_speed_and_range_clear_what_they_name() {
    let mut applied = 0;
    for step in 0..5 {
        let step = f64::from(step);
        let kg = format!("{:.2} kg", 49.9 + 0.37 * step);
        let bar = format!("{:.1} bar", 1.5 + 1.1 * step);
        let kmh = format!("{:.1} km/h", 24.6 + 5.7 * step);
        let km = format!("{:.0} km", 34.0 + 6.0 * step);
        let loop_ridden = [
            ("distance", "12.4 km"),
            ("charge", "2.31 Ah"),
            ("volts", "37.1 V"),
        ];
        let mut benches = vec![
            longtail().measure(&[("mass-after", &kg)]),
            trekking()
                .state(&[("tyre-max", "8 bar"), ("tyre-size", "37-622")])
                .measure(&[("tyre-pressure", &bar), ("tyre-pressure-front", &bar)]),
            trekking()
                .measure(&[("mass-after", "22 kg")])
                .state(&[("range", &km)])
                .ride("conditions", &[("mass", "78 kg")])
                .ride("energy", &loop_ridden),
        ];
        for class in ["eu-epac", "gb-eapc", "us-class2", "us-fed-lseb", "ca-on"] {
            let fast = hardtail().state(&[("ride-class", class), ("throttle", "full")]);
            benches.push(fast.measure(&[("assist-limit", &kmh)]));
        }
        for bench in &benches {
            applied += apply_all(&format!("{kg}, {bar}, {kmh}, {km}"), bench);
        }
    }
    assert!(applied >= 20, "{applied}");
}

#[test]
fn remedies_of_measured_values_clear_what_they_name() {
    let mut applied = 0;
    for (row, bench) in properties::rows() {
        for share in [0.5, 1.0] {
            applied += apply_all(row.code, &row.measured(bench, share));
        }
    }
    assert!(applied >= 10, "{applied}");
}

/// Codes whose worst reading stands: a remedy that has one read after a cure begins it anew.
#[test]
fn a_remedy_that_reads_what_stands_at_its_worst_begins_it_anew() {
    let mut begun = 0;
    for row in code::all().filter(|row| row.worst.is_some()) {
        let Shape::Quantity { unit, .. } = row.field.shape else {
            continue;
        };
        let bad = match row.worst {
            Some(Worst::Least) => format!("0.5{unit}"),
            _ => format!("5{unit}"),
        };
        for bench in [trekking(), longtail()] {
            let bench = bench
                .state(&[("brake-rear", "hydraulic-disc")])
                .measure(&[(row.key(), &bad)]);
            for check in ALL {
                for remedy in bench
                    .report(check)
                    .findings
                    .iter()
                    .flat_map(|finding| &finding.remedies)
                {
                    let reads = format!(" {} ", row.key());
                    if remedy.contains(&reads) && remedy.contains("lockring measure") {
                        assert!(remedy.ends_with(" --anew"), "{}: {remedy}", check.id);
                        begun += 1;
                    }
                    assert!(
                        !remedy.contains(&format!(" {}=", row.key())),
                        "{}: {remedy}",
                        check.id
                    );
                }
            }
        }
    }
    assert!(begun >= 12, "{begun}");
}

/// A run that is ridden again after a change is no repeat of the one before: in a mean with it nothing would be cured.
#[test]
fn a_remedy_that_has_a_run_ridden_again_begins_it_anew() {
    let energy = [
        ("distance", "5 km"),
        ("charge", "3 Ah"),
        ("volts", "37 V"),
        ("stops", "0"),
    ];
    let trekking = trekking()
        .state(&[("top-speed", "40 km/h")])
        .ride("hill", &[("speed", "9 km/h"), ("grade", "2 %")])
        .ride("energy", &energy);
    let strong = hardtail().state(&[
        ("ride-class", "us-class2"),
        ("throttle", "full"),
        ("top-speed", "40 km/h"),
    ]);
    let mut ridden = Vec::new();
    for bench in [trekking, strong] {
        for (out, back) in [("32", "32"), ("24", "33"), ("24.9", "25")] {
            let pair = [("out", out), ("back", back)];
            ridden.push(bench.clone().ride("cutoff", &pair).ride("speed", &pair));
            ridden.push(bench.clone().ride("throttle", &pair));
        }
    }
    let mut begun = std::collections::BTreeMap::new();
    for bench in &ridden {
        for check in ALL {
            for remedy in bench
                .report(check)
                .findings
                .iter()
                .flat_map(|finding| &finding.remedies)
            {
                for run in ["cutoff", "throttle", "speed", "energy", "hill"] {
                    let Some((_, command)) = remedy.split_once(&format!(" {run} ")) else {
                        continue;
                    };
                    // A value that was left out is added to its run.
                    if !remedy.contains("lockring ride") || command == "grade=GRADE" {
                        continue;
                    }
                    assert!(command.ends_with(" --anew"), "{}: {remedy}", check.id);
                    *begun.entry(run).or_insert(0) += 1;
                }
            }
        }
    }
    assert_eq!(begun.len(), 5, "{begun:?}");
}

#[test]
fn commands_are_read_as_people_would_type_them() {
    let figures = |remedy| told(remedy).map(|(verb, pairs)| (verb, pairs.len()));
    assert_eq!(
        figures("x: lockring measure 20 spacer 1.5mm; and so on"),
        Some(("measure".into(), 1))
    );
    assert_eq!(
        figures("lockring measure 20 cut-left=3/3 cut-right=3/3"),
        Some(("measure".into(), 2))
    );
    assert_eq!(
        figures("lockring donor 20 derailleur-cog=36"),
        Some(("donor".into(), 1))
    );
    assert_eq!(figures("lockring measure 20 spacer MM"), None);
    assert_eq!(figures("lockring build 20 motor=PART"), None);
    assert_eq!(figures("another kit"), None);
}
