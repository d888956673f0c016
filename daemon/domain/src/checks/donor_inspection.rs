//! `donor.inspection`: the rest of the inspection of the bicycle as it came in, item by item,
//! and what each finding costs the job.

use lockring_calc::doubt::Limit;
use lockring_calc::inspection::{self, Criterion, WearItem, Worn};

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::checks::donor_wear::costed;
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Inspection of what has no check of its own.
pub static CHECK: Check = Check {
    id: "donor.inspection",
    title: "alignment, bearings, cables, bolts, handlebar and seat post in order",
    gates: &[Stage::Intake],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "TBIS 4210-2:2018 and TBIS 15194:2019; 16 CFR 1512 for the levers; seat post ISO 4210-2, from memory; alignment: \
             common practice; bearings by hand: workshop judgement",
    run,
};

/// How a code answers a stored item.
enum Reads {
    /// The fault was seen.
    Fault,
    /// The thing asked for was seen.
    Wanted,
    /// A word; `ok` is without fault.
    Word,
    /// A length of the table's unit, millimetres.
    Millimetres,
    /// A plain number of the table's unit.
    Plain,
}

/// One item: the code that answers it, the stored criterion, what it is, and its cure.
struct Item {
    code: &'static str,
    stored: &'static str,
    what: &'static str,
    reads: Reads,
    cure: &'static str,
}

#[rustfmt::skip]
const fn item(code: &'static str, stored: &'static str, what: &'static str, reads: Reads, cure: &'static str) -> Item {
    Item { code, stored, what, reads, cure }
}

#[rustfmt::skip]
const ITEMS: &[Item] = &[
    item("frame-twist", "frame-twist", "frame or wheels out of line", Reads::Fault,
        "true the wheels and centre the rim brakes; what cannot be centred then speaks of a twisted frame"),
    item("fork-replaced", "fork-replaced", "a replaced fork", Reads::Fault,
        "look for a crash behind the head tube, then accept it"),
    item("bottom-bracket", "bottom-bracket", "bottom bracket", Reads::Word, "quote line: adjust or renew the bottom bracket"),
    item("hubs", "hubs", "hub bearings", Reads::Word, "quote line: adjust or renew the hub bearings"),
    item("cable-caps", "cable-cap", "cable ends capped or sealed", Reads::Wanted, "quote line: cap or seal the cable ends"),
    item("cable-strands", "cable-strand-severed", "severed strands of a cable", Reads::Fault, "quote line: new cable"),
    item("bolt-beyond", "bolt-beyond-nut", "bolt beyond its nut, in thread diameters", Reads::Plain,
        "quote line: shorter bolt or a domed nut"),
    item("insertion-mark", "insertion-mark-exposed", "insertion mark of stem or seat post in sight", Reads::Fault,
        "quote line: push it in past its mark, or a longer one"),
    item("seatpost-depth", "seatpost-insertion", "seat post inside its tube", Reads::Millimetres,
        "push the post in, or a longer one on the quote"),
    item("bar-width", "handlebar-width", "handlebar, end to end", Reads::Millimetres, "quote line: another handlebar"),
    item("grip-rise", "grips-above-saddle", "grips above the saddle", Reads::Millimetres,
        "saddle up, or stem and handlebar down"),
    item("lever-span", "lever-span", "span from bar to brake lever", Reads::Millimetres, "set the lever's reach nearer"),
];

/// A length held to a rule of the sheet: code, rule, what it is, cure.
#[rustfmt::skip]
const MEASURED: [(&str, &str, &str, &str); 4] = [
    ("hanger-deviation", "frame.hanger-deviation", "derailleur hanger off the wheel's plane", "quote line: align the hanger"),
    ("dropout-parallel", "frame.dropout-parallel", "rear dropouts out of parallel", "quote line: align the dropouts"),
    ("rotor-runout", "brake.rotor-run-out", "run-out of the rotor", "quote line: true the rotor, or a new one"),
    ("bearing-play", "wheel.bearing-play", "play at the rim from the bearings", "quote line: adjust or renew the bearings"),
];

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    for item in ITEMS {
        // A motor in the shell takes the bottom bracket's place.
        if item.code == "bottom-bracket" && prediction::is_mid(case)? {
            continue;
        }
        findings.extend(one(case, item)?);
    }
    findings.extend(MEASURED.iter().filter_map(|item| measured(case, item)));
    findings.extend(lever_gap(case));
    if findings.is_empty() {
        return Halt::not_applicable("nothing of the inspection list was looked at");
    }
    Ok(findings)
}

fn one(case: &Case<'_>, item: &Item) -> Result<Option<Finding>, Halt> {
    if !case.knows(item.code) {
        return Ok(None);
    }
    let stored = inspection::wear_item(item.stored).expect("the list names stored items");
    let finding = match item.reads {
        Reads::Fault => seen(item, stored, case.flag(item.code)?),
        Reads::Wanted => {
            let there = case.flag(item.code)?;
            // The table asks for a pull of so many newtons; a cap in place answers for it.
            let worn = stored.judge_number(if there { f64::INFINITY } else { 0.0 });
            by_eye(item, there, worn)
        }
        Reads::Word => {
            let word = case.word(item.code)?;
            let line = format!("{} {word}", item.what);
            let verdict = Finding::new(Verdict::Pass, line);
            stored
                .judge_seen(word == "ok")
                .map_or(verdict.clone(), |worn| costed(verdict, &worn))
        }
        Reads::Millimetres => number(case, item, stored, Kind::Length, "mm")?,
        Reads::Plain => number(case, item, stored, Kind::Count, "")?,
    };
    Ok(Some(
        finding
            .with_arithmetic(format!("{}: {}", stored.source, asked(&stored.criterion)))
            .with_remedy(format!(
                "{}; then: {}",
                item.cure,
                prediction::read_again(case, item.code, "VALUE")
            )),
    ))
}

fn seen(item: &Item, stored: &WearItem, fault: bool) -> Finding {
    by_eye(item, !fault, stored.judge_seen(fault))
}

fn by_eye(item: &Item, good: bool, worn: Option<Worn>) -> Finding {
    let there = matches!(item.reads, Reads::Fault) != good;
    let line = format!("{}: {}", item.what, if there { "yes" } else { "no" });
    let finding = Finding::new(Verdict::Pass, line);
    match worn {
        Some(worn) => costed(finding, &worn),
        None => finding,
    }
}

/// A number against its row, with its doubt between.
fn number(
    case: &Case<'_>,
    item: &Item,
    stored: &WearItem,
    kind: Kind,
    unit: &'static str,
) -> Result<Finding, Halt> {
    let known = case.number(item.code)?;
    let si = |value| unit::to_si(kind, unit, value).expect("the table's units are stored");
    let limit = match stored.criterion {
        Criterion::AtLeast(least, _) | Criterion::Above(least, _) => Limit::AtLeast(si(least)),
        Criterion::AtMost(most, _) | Criterion::Below(most, _) => Limit::AtMost(si(most)),
        Criterion::Within(least, most, _) => Limit::Within(si(least), si(most)),
        Criterion::NoneSeen | Criterion::Seen | Criterion::ByHand => {
            return Err(case.open(item.code));
        }
    };
    let mut finding = Judged::new(item.what, known, kind, unit).against(limit);
    if !stored.basis.may_stop() {
        finding = prediction::advise_only(finding, "the limit is from memory");
    }
    let worn = stored.judge_number(unit::from_si(kind, unit, known.value));
    Ok(match worn {
        Some(worn) => costed(finding, &worn),
        None => finding,
    })
}

/// A length against the workshop's rule: a habit of the trade, which advises.
fn measured(case: &Case<'_>, item: &(&str, &str, &str, &str)) -> Option<Finding> {
    let (code, rule, what, cure) = *item;
    let known = case.optional_number(code)?;
    let finding = Judged::new(what, known, Kind::Length, "mm").against(Limit::AtMost(case.rule(rule)));
    let finding = prediction::advise_only(finding, "common practice, no source");
    Some(finding.with_remedy(format!(
        "{cure}; then: {}",
        prediction::read_again(case, code, "VALUE")
    )))
}

/// A lever pulled hard that comes near to the bar.
fn lever_gap(case: &Case<'_>) -> Option<Finding> {
    let gap = case.optional_number("lever-gap")?;
    let least = Limit::AtLeast(case.rule("brake.lever-bar-gap"));
    let finding = Judged::new("brake lever to the bar, pulled hard", gap, Kind::Length, "mm").against(least);
    let mut finding = prediction::advise_only(finding, "common practice, no source");
    // A lever on the bar pulls no further, whatever the brake still has to give.
    if gap.value <= 0.0 {
        finding.verdict = Verdict::Fail;
        finding.summary = format!("{}; the lever reaches the bar", finding.summary);
    }
    let finding = finding.with_remedy(format!(
        "bleed or take up the brake, or new pads; then: {}",
        prediction::read_again(case, "lever-gap", "VALUE")
    ));
    Some(finding)
}

fn asked(criterion: &Criterion) -> String {
    match criterion {
        Criterion::NoneSeen => "none to be seen".to_owned(),
        Criterion::Seen => "to be seen".to_owned(),
        Criterion::ByHand => "by hand, without play or notch".to_owned(),
        Criterion::AtLeast(least, unit) | Criterion::Above(least, unit) => format!("at least {least} {unit}"),
        Criterion::AtMost(most, unit) | Criterion::Below(most, unit) => format!("at most {most} {unit}"),
        Criterion::Within(least, most, unit) => format!("{least} to {most} {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, trekking};
    use crate::code;

    #[test]
    fn nothing_looked_at_nothing_said() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        longtail().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn every_item_turns_and_its_remedy_clears_it() {
        // TBIS 4210-2:2018 and TBIS 15194:2019 as stored with the items; alignment, fork and
        // bearings: common practice and judgement, which caution.
        for (code, bad, good, verdict) in [
            ("frame-twist", "yes", "no", Verdict::Caution),
            ("fork-replaced", "yes", "no", Verdict::Caution),
            ("bottom-bracket", "loose", "ok", Verdict::Caution),
            ("hubs", "notchy", "ok", Verdict::Caution),
            ("cable-caps", "no", "yes", Verdict::Caution),
            ("cable-strands", "yes", "no", Verdict::Fail),
            ("bolt-beyond", "1.5", "1", Verdict::Fail),
            ("insertion-mark", "yes", "no", Verdict::Caution),
            ("seatpost-depth", "60 mm", "70 mm", Verdict::Caution),
            ("bar-width", "340 mm", "360 mm", Verdict::Fail),
            ("bar-width", "1010 mm", "990 mm", Verdict::Fail),
            ("grip-rise", "410 mm", "390 mm", Verdict::Fail),
            ("lever-span", "92 mm", "86 mm", Verdict::Fail),
            ("hanger-deviation", "6 mm", "2 mm", Verdict::Caution),
            ("dropout-parallel", "1.6 mm", "0.5 mm", Verdict::Caution),
            ("rotor-runout", "0.3 mm", "0.1 mm", Verdict::Caution),
            ("bearing-play", "0.5 mm", "0.1 mm", Verdict::Caution),
            ("lever-gap", "20 mm", "30 mm", Verdict::Caution),
            ("lever-gap", "0.1 mm", "30 mm", Verdict::Caution),
            ("lever-gap", "0 mm", "30 mm", Verdict::Fail),
        ] {
            let found = trekking().state(&[(code, bad)]);
            let report = found.expect(&CHECK, verdict);
            assert_eq!(report.findings.len(), 1, "{code}");
            assert!(
                report.findings[0].remedies[0].contains(code),
                "{:?}",
                report.findings[0]
            );
            found.cured(&CHECK, code, |job| job.state(&[(code, good)]));
            // What was read with an instrument is read again, and not told.
            if code::find(code).is_some_and(|row| !row.instrument.is_empty()) {
                let found = trekking().measure(&[(code, bad)]);
                let again = format!("lockring measure 20 {code} VALUE --anew");
                found.cured(&CHECK, &again, |job| job.again(&[(code, good)]));
            }
        }
    }

    #[test]
    fn a_limit_is_crossed_through_the_rule_s_doubt() {
        // TBIS 4210-2:2018: handlebar 350 to 1000 mm. Rule 1 mm: doubt 2 mm.
        for (width, verdict) in [
            ("352.5 mm", Verdict::Pass),
            ("351 mm", Verdict::Caution),
            ("349 mm", Verdict::Fail),
            ("350 mm", Verdict::Caution),
            ("997.5 mm", Verdict::Pass),
            ("1003 mm", Verdict::Fail),
        ] {
            trekking().state(&[("bar-width", width)]).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn a_bottom_bracket_that_a_motor_replaces_is_not_asked() {
        longtail()
            .state(&[("bottom-bracket", "loose")])
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn without_a_motor_nobody_knows_what_it_replaces() {
        let report = trekking()
            .build(&[("motor", "none")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("motor=PART"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn what_a_finding_costs_is_said() {
        let report = trekking().state(&[("cable-strands", "yes")]).report(&CHECK);
        assert!(
            report.findings[0].arithmetic[0].contains("a line in the quote"),
            "{:?}",
            report.findings[0]
        );
        let twist = trekking().state(&[("frame-twist", "yes")]).report(&CHECK);
        assert!(
            twist.findings[0].arithmetic[0].contains("a word to the rider"),
            "{:?}",
            twist.findings[0]
        );
    }

    #[test]
    fn each_item_names_a_code_and_a_stored_row() {
        for item in ITEMS {
            assert!(code::find(item.code).is_some(), "{}", item.code);
            assert!(inspection::wear_item(item.stored).is_some(), "{}", item.stored);
        }
    }
}
