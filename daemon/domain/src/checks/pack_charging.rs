//! `pack.charging`: charging as the rider lives: time, current for the cells and the plug, and
//! how cold and warm it gets there.

use lockring_calc::connector::{self, Place};
use lockring_calc::doubt::Limit;
use lockring_calc::electrics;
use lockring_calc::quantity::{Charge, Current, Duration};

use crate::block::Family;
use crate::case::{Case, Known, PartView};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Charger against the rider's day. Volts, chemistry and the pack's own greatest charging
/// current are the business of `pack.charger_match`.
pub static CHECK: Check = Check {
    id: "pack.charging",
    title: "charging in the time and the place there is",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "capacity over current: arithmetic; 1.5 times with the taper: common practice, no source; 0.5 A for each \
             Ah: workshop judgement; plugs: from memory; 0 to 40 °C: fire services' charging advice",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let Some(charger) = case.optional_part(Slot::Charger) else {
        return Halt::not_applicable("no charger is chosen: pack.charger_match asks for one");
    };
    let pack = case.part(Slot::Pack)?;
    let charge = Charge::coulombs(pack.number("capacity")?);
    let current = Current::amperes(charger.number("output-current")?);
    let mut findings = vec![rate(case, charge, current)?];
    if let Some(hours) = case.optional_number("charge-hours") {
        findings.push(time(case, &pack, charge, current, hours)?);
    }
    findings.extend(plug(case, &pack, current));
    findings.extend(temperatures(case));
    Ok(findings)
}

/// Charging current for each ampere hour of the cells.
fn rate(case: &Case<'_>, charge: Charge, current: Current) -> Result<Finding, Halt> {
    let rate =
        electrics::c_rate(current, charge).map_err(|error| prediction::unusable(case, "charger", &error))?;
    let most = case.rule("pack.charge-rate-most");
    let finding = Judged::new(
        "charging current per ampere hour",
        Known::stated(rate),
        Kind::Count,
        "A/Ah",
    )
    .against(Limit::AtMost(most))
    .with_arithmetic(format!(
        "{:.1} A / {:.1} Ah = {rate:.2} per hour",
        current.as_amperes(),
        charge.as_ampere_hours()
    ))
    .with_remedy(format!(
        "a charger of at most {:.1} A: lockring build {} charger=PART",
        // Rounded to the side that clears it.
        (most * charge.as_ampere_hours() * 10.0 + 1e-9).floor() / 10.0,
        case.job().number
    ));
    Ok(prediction::advise_only(
        finding,
        "the pack's own greatest charging current decides",
    ))
}

/// Time of a full charge against the time there is: what capacity and current alone take may
/// fail, the taper on top of it only cautions.
fn time(
    case: &Case<'_>,
    pack: &PartView<'_, '_>,
    charge: Charge,
    current: Current,
    there: Known,
) -> Result<Finding, Halt> {
    let full = |factor: f64| {
        electrics::charge_time(charge, 0.0, 1.0, current, factor)
            .map_err(|error| prediction::unusable(case, "charger", &error))
    };
    let hours = |time: Duration| time.as_hours();
    let (usual, slow) = (
        case.rule("pack.charge-taper"),
        case.rule("pack.charge-taper-slow"),
    );
    let bare = full(1.0)?;
    // Rounded to the side that clears it.
    let needed = slow * charge.as_ampere_hours() / (there.value / 3600.0);
    let needed = (needed * 10.0 - 1e-9).ceil() / 10.0;
    let job = case.job().number;
    let takes = pack.optional_number("charge-current");
    let cure = match takes {
        Some(takes) if needed > takes => format!(
            "no charger within the pack's {takes:.1} A fills it in that time: agree on {0:.1} h: lockring brief {job} \
             charge-hours={0:.1}h",
            (hours(full(slow)?) * 10.0).ceil() / 10.0
        ),
        _ => format!("a charger of {needed:.1} A or more: lockring build {job} charger=PART"),
    };
    Ok(Judged::new(
        "capacity over charging current",
        Known::stated(bare.as_seconds()),
        Kind::Time,
        "h",
    )
    .between(Limit::AtMost(there.value / slow), Limit::AtMost(there.value))
    .with_arithmetic(format!(
        "{:.1} Ah / {:.1} A = {:.2} h; with the taper at the end {usual:.1} to {slow:.1} times that: {:.1} to {:.1} h, \
         of {:.1} h there are",
        charge.as_ampere_hours(),
        current.as_amperes(),
        hours(bare),
        hours(full(usual)?),
        hours(full(slow)?),
        there.value / 3600.0
    ))
    .with_remedy(cure))
}

/// The charging socket, where its kind is known.
fn plug(case: &Case<'_>, pack: &PartView<'_, '_>, current: Current) -> Option<Finding> {
    let row = connector::connector(pack.optional_word("plug-kind")?)
        .expect("attributes take only names of the stored table");
    let allowed = row.allowed(Place::Open).as_amperes();
    let finding = Judged::new(
        &format!("charging current through {}", row.id),
        Known::stated(current.as_amperes()),
        Kind::Current,
        "A",
    )
    .against(Limit::AtMost(allowed))
    .with_remedy(format!(
        "a charger of at most {allowed:.1} A: lockring build {} charger=PART",
        case.job().number
    ));
    Some(prediction::advise_only(
        finding,
        "the plug's figure is a typical one from memory",
    ))
}

/// Coldest and warmest where it is charged, where they were told.
fn temperatures(case: &Case<'_>) -> Vec<Finding> {
    let within = Limit::Within(
        case.rule("pack.charge-temperature-least"),
        case.rule("pack.charge-temperature-most"),
    );
    let ends = [
        ("charge-coldest", "coldest where the pack is charged", "5C"),
        ("charge-warmest", "warmest where the pack is charged", "35C"),
    ];
    ends.into_iter()
        .filter_map(|(code, what, aim)| {
            let finding = Judged::new(what, case.optional_number(code)?, Kind::Temperature, "C")
                .against(within)
                .with_remedy(format!(
                    "a pack taken out and charged indoors, after it has come to the room's temperature: lockring brief \
                     {} {code}={aim}",
                    case.job().number
                ));
            Some(prediction::advise_only(finding, "tell the rider at handover"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::ReceiptText;

    fn of(bench: Bench, slot: &str, found: &[(&str, &str)]) -> Bench {
        bench.receive(slot, found, ReceiptText::default())
    }

    #[test]
    fn without_a_charger_another_check_asks_and_without_a_pack_it_is_open() {
        trekking()
            .build(&[("charger", "none")])
            .expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .build(&[("pack", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_current_too_strong_for_the_cells_is_advised_against_and_a_weaker_charger_clears_it() {
        // By hand: half of 10.4 Ah is 5.2 A.
        for (amperes, verdict) in [
            ("2 A", Verdict::Pass),
            ("5.2 A", Verdict::Pass),
            ("5.3 A", Verdict::Caution),
        ] {
            of(trekking(), "charger", &[("output-current", amperes)]).expect(&CHECK, verdict);
        }
        let strong = of(trekking(), "charger", &[("output-current", "8 A")]);
        let report = strong.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[0].remedies[0].starts_with("a charger of at most 5.2 A"),
            "{:?}",
            report.findings
        );
        strong.cured(&CHECK, "a charger of at most 5.2 A", |job| {
            of(job, "charger", &[("output-current", "5.2 A")])
        });
    }

    #[test]
    fn the_time_passes_with_the_taper_cautions_with_a_part_of_it_and_fails_without() {
        // By hand: 10.4 Ah / 2 A = 5.2 h, 7.8 h at 1.5 times.
        for (hours, verdict) in [
            ("8 h", Verdict::Pass),
            ("7.8 h", Verdict::Pass),
            ("7.7 h", Verdict::Caution),
            ("5.3 h", Verdict::Caution),
            ("5.1 h", Verdict::Fail),
        ] {
            trekking()
                .state(&[("charge-hours", hours)])
                .expect(&CHECK, verdict);
        }
    }

    #[test]
    fn the_stronger_charger_that_is_named_fills_it_in_time() {
        // By hand: 1.5 x 10.4 Ah / 4.1 h = 3.805 A.
        let slow = trekking().state(&[("charge-hours", "4.1 h")]);
        let report = slow.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[1].remedies[0].starts_with("a charger of 3.9 A or more"),
            "{:?}",
            report.findings
        );
        of(slow, "charger", &[("output-current", "3.9 A")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn where_the_pack_takes_no_more_the_time_is_agreed_on() {
        // By hand: 1.5 x 10.4 / 2 h = 7.8 A over the pack's 5 A; 7.8 h at 2 A.
        let short = trekking().state(&[("charge-hours", "2 h")]);
        let report = short.expect(&CHECK, Verdict::Fail);
        let cure = &report.findings[1].remedies[0];
        assert!(cure.ends_with("charge-hours=7.8h"), "{cure}");
        short
            .state(&[("charge-hours", "7.8h")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_published_pack_line_lies_within_the_taper() {
        // A pack sheet (read, no publication): 10 to 12 Ah at 3 A in about 300 min.
        let sheet = of(
            of(trekking(), "charger", &[("output-current", "3 A")]),
            "pack",
            &[("capacity", "12 Ah")],
        );
        let report = sheet.state(&[("charge-hours", "5 h")]).report(&CHECK);
        assert_eq!(report.verdict, Verdict::Caution);
        assert!(
            report.findings[1].arithmetic[0].contains("4.8 to 6.0 h, of 5.0 h"),
            "{:?}",
            report.findings
        );
    }

    #[test]
    fn a_small_plug_gets_no_more_than_it_carries() {
        // From memory: 3 A through a 5.5 mm barrel.
        let barrel = |amperes: &str| {
            of(
                of(trekking(), "pack", &[("plug-kind", "barrel-5.5")]),
                "charger",
                &[("output-current", amperes)],
            )
        };
        barrel("3 A").expect(&CHECK, Verdict::Pass);
        let report = barrel("3.1 A").expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[1].remedies[0].starts_with("a charger of at most 3.0 A"),
            "{:?}",
            report.findings
        );
    }

    #[test]
    fn frost_and_heat_are_cautioned_and_charging_indoors_clears_them() {
        // Fire services' advice: 0 to 40 °C.
        for (code, temperature, verdict) in [
            ("charge-coldest", "0 C", Verdict::Pass),
            ("charge-coldest", "-1 C", Verdict::Caution),
            ("charge-warmest", "40 C", Verdict::Pass),
            ("charge-warmest", "41 C", Verdict::Caution),
        ] {
            let there = trekking().state(&[(code, temperature)]);
            let report = there.expect(&CHECK, verdict);
            if let Some(cure) = report.findings[1].remedies.first() {
                let aim = cure.rsplit_once('=').unwrap().1;
                there.state(&[(code, aim)]).expect(&CHECK, Verdict::Pass);
            }
        }
    }
}
