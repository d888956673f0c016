//! `wiring.connector`: the connector between pack and controller, by kind, wire and contact heat.

use lockring_calc::connector::{self, Connector, Place, Use, WireFit};
use lockring_calc::doubt::Limit;
use lockring_calc::electrics::Gauge;
use lockring_calc::quantity::{Current, Resistance};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Connector against the controller's limit.
pub static CHECK: Check = Check {
    id: "wiring.connector",
    title: "connector between pack and controller",
    gates: &[Stage::Intake, Stage::Parts, Stage::Fitting],
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
    source: "typical currents and wires of each kind, half of it sealed in a frame: from memory; heat I²R: arithmetic, \
             its limit workshop judgement",
    run,
};

const ADVICE: &str = "the figure is a typical one from memory, the maker's own decides";
/// Contacts that carry the current: plus and minus.
const CONTACTS: u32 = 2;

fn run(case: &Case<'_>) -> Outcome {
    let named = |slot| {
        case.optional_part(slot)
            .and_then(|part| part.optional_word("connector"))
    };
    let (of_pack, of_controller) = (named(Slot::Pack), named(Slot::Controller));
    let contact = case.optional_number("contact-resistance");
    let Some(kind) = of_pack.or(of_controller) else {
        let Some(contact) = contact else {
            return Halt::not_applicable("the connector is the kit's own: its kind was not recorded");
        };
        return Ok(vec![heat(case, contact)?]);
    };
    let mut findings = Vec::new();
    if let (Some(pack), Some(controller)) = (of_pack, of_controller) {
        findings.push(mates(case, pack, controller));
    }
    let row = connector::connector(kind).expect("attributes take only names of the stored table");
    findings.push(carries(case, row)?);
    findings.extend(wire(case, row)?);
    if let Some(contact) = contact {
        findings.push(heat(case, contact)?);
    }
    Ok(findings)
}

fn mates(case: &Case<'_>, pack: &str, controller: &str) -> Finding {
    if pack == controller {
        return Finding::new(Verdict::Pass, format!("{pack} on pack and controller"));
    }
    Finding::new(
        Verdict::Fail,
        format!("{pack} at the pack does not mate with {controller} at the controller"),
    )
    .with_remedy(format!(
        "fit {pack} to the controller, polarity metered before it is mated: lockring receive {} controller \
         connector={pack}",
        case.job().number
    ))
}

fn carries(case: &Case<'_>, row: &Connector) -> Result<Finding, Halt> {
    let current = Current::amperes(prediction::current_limit(case)?);
    let (place, said) = place(case);
    let allowed = row.allowed(place);
    let finding = Judged::new(
        &format!("controller's limit through {}", row.id),
        Known::stated(current.as_amperes()),
        Kind::Current,
        "A",
    )
    .against(Limit::AtMost(allowed.as_amperes()))
    .with_arithmetic(format!(
        "{}: {:.0} to {:.0} A in free air; {:.1} A {said}",
        row.id,
        row.continuous_a[0],
        row.continuous_a[1],
        allowed.as_amperes()
    ));
    let mut finding = prediction::advise_only(finding, ADVICE);
    if row.used_for != Use::Power && finding.verdict == Verdict::Pass {
        finding.verdict = Verdict::Caution;
        finding.summary = format!("{} is not made for a motor's current; {ADVICE}", row.id);
    }
    let job = case.job().number;
    let chosen = connector::choose(Use::Power, current, gauge(case)?, place)
        .map_err(|error| prediction::unusable(case, "connector", &error))?;
    let finding = match chosen {
        Some(chosen) => {
            let id = chosen.connector.id;
            finding.with_remedy(format!(
                "{id} ({:.1} A {said}) on both sides: lockring receive {job} pack connector={id}; lockring receive \
                 {job} controller connector={id}",
                chosen.allowed.as_amperes()
            ))
        }
        None => finding.with_remedy(format!(
            "no stored kind carries {:.1} A {said}: less current, or joints soldered and no connector there",
            current.as_amperes()
        )),
    };
    let open = row.allowed(Place::Open);
    Ok(if place == Place::Sealed && open >= current {
        finding.with_remedy(format!(
            "or outside the frame, where air reaches it ({:.1} A): lockring measure {job} connector-place open",
            open.as_amperes()
        ))
    } else {
        finding
    })
}

/// Where the connector sits: in the frame, the worse of the two, until told otherwise.
fn place(case: &Case<'_>) -> (Place, &'static str) {
    match case.optional_word("connector-place") {
        Some("open") => (Place::Open, "in free air"),
        _ => (Place::Sealed, "sealed in the frame"),
    }
}

fn gauge(case: &Case<'_>) -> Result<Option<Gauge>, Halt> {
    let Some(number) = case.optional_number("wire-gauge") else {
        return Ok(None);
    };
    // The window of the code keeps the gauge between 0 and 40.
    Gauge::new(number.value.round() as u8)
        .map(Some)
        .map_err(|error| prediction::unusable(case, "leads", &error))
}

/// The wire in the connector, where both are known.
fn wire(case: &Case<'_>, row: &Connector) -> Result<Option<Finding>, Halt> {
    let (Some(gauge), Some([thin, thick])) = (gauge(case)?, row.gauges) else {
        return Ok(None);
    };
    let line = format!(
        "AWG {} in {}, which is made for AWG {thin} to {thick}",
        gauge.number(),
        row.id
    );
    Ok(Some(match row.takes(gauge) {
        WireFit::Takes | WireFit::Unknown => Finding::new(Verdict::Pass, line),
        WireFit::Refuses => Finding::new(Verdict::Caution, format!("{line}; advice only: {ADVICE}"))
            .with_remedy(format!(
                "leads of AWG {thick}: lockring measure {} wire-gauge {thick}",
                case.job().number
            )),
    }))
}

/// Heat of both contacts at the controller's limit.
fn heat(case: &Case<'_>, contact: Known) -> Result<Finding, Halt> {
    let current = Current::amperes(prediction::current_limit(case)?);
    let watts = |ohms: f64| {
        connector::connector_heat(current, Resistance::ohms(ohms), CONTACTS)
            .map(lockring_calc::quantity::Power::as_watts)
            .map_err(|error| prediction::unusable(case, "connector", &error))
    };
    let known = Known {
        value: watts(contact.value)?,
        // The heat is proportional to the resistance.
        u: watts(contact.u)?,
        ..contact
    };
    let most = case.rule("wiring.contact-heat");
    let least = most / watts(1.0)?;
    let finding = Judged::new("heat of the connector's contacts", known, Kind::Power, "W")
        .against(Limit::AtMost(most))
        .with_arithmetic(format!(
            "{CONTACTS} x ({:.1} A)² x {:.2} mohm = {:.2} W",
            current.as_amperes(),
            contact.value * 1e3,
            known.value
        ))
        .with_remedy(format!(
            "clean or renew the contacts until one has less than {:.2} mohm: {}",
            least * 1e3,
            prediction::read_again(case, "contact-resistance", &format!("{:.2}mohm", least * 0.5e3))
        ));
    Ok(prediction::advise_only(
        finding,
        "1 W is the workshop's own limit",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};
    use crate::command::ReceiptText;

    fn with(bench: Bench, kind: &str) -> Bench {
        ["pack", "controller"].into_iter().fold(bench, |bench, slot| {
            bench.receive(slot, &[("connector", kind)], ReceiptText::default())
        })
    }

    #[test]
    fn the_kit_s_own_connector_is_not_concerned_and_without_a_controller_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = with(trekking(), "moulded-30")
            .build(&[("controller", "none")])
            .expect(&CHECK, Verdict::Open);
        assert!(report.missing[0].how.contains("controller=PART"));
    }

    #[test]
    fn the_verdict_turns_at_half_the_free_air_current_and_both_remedies_clear_it() {
        // Typical currents from memory, halved when sealed: 14 A under 15 A of moulded-30, over
        // the 12.5 A of bullet-3.5; 25 A asks for moulded-60 (30 A).
        with(trekking(), "moulded-30").expect(&CHECK, Verdict::Pass);
        let hot = with(trekking(), "bullet-3.5");
        let report = hot.expect(&CHECK, Verdict::Caution);
        let finding = &report.findings[1];
        assert!(finding.summary.contains("advice only"), "{finding:?}");
        assert!(
            finding.remedies[0].starts_with("moulded-30 (15.0 A"),
            "{finding:?}"
        );
        with(hot.clone(), "moulded-30").expect(&CHECK, Verdict::Pass);
        hot.measure(&[("connector-place", "open")])
            .expect(&CHECK, Verdict::Pass);
        let report = with(hardtail(), "moulded-30").expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[1].remedies[0].starts_with("moulded-60"),
            "{:?}",
            report.findings
        );
        with(hardtail(), "moulded-60").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn what_is_exactly_carried_passes_and_a_tenth_more_does_not() {
        let set = |amperes: &str| with(trekking(), "moulded-30").measure(&[("current-limit", amperes)]);
        set("15 A").expect(&CHECK, Verdict::Pass);
        set("15.1 A").expect(&CHECK, Verdict::Caution);
        let beyond = set("80 A").expect(&CHECK, Verdict::Caution);
        assert!(
            beyond.findings[1].remedies[0].starts_with("no stored kind carries 80.0 A"),
            "{:?}",
            beyond.findings
        );
        assert_eq!(beyond.findings[1].remedies.len(), 1);
    }

    #[test]
    fn a_charging_plug_is_not_for_the_motor_even_where_it_carries_the_current() {
        let plug = with(trekking(), "microphone-3-pin").measure(&[("current-limit", "3 A")]);
        let report = plug.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("not made for"), "{}", report.summary());
    }

    #[test]
    fn two_kinds_do_not_mate_and_one_kind_on_both_sides_clears_it() {
        let bench = with(trekking(), "moulded-30").receive(
            "controller",
            &[("connector", "bullet-4")],
            ReceiptText::default(),
        );
        let report = bench.expect(&CHECK, Verdict::Fail);
        assert!(report.findings[0].remedies[0].ends_with("connector=moulded-30"));
        bench.cured(&CHECK, "connector=moulded-30", |job| with(job, "moulded-30"));
    }

    #[test]
    fn the_wire_must_go_into_it() {
        // From memory: moulded-60 takes 12 to 10 AWG.
        for (gauge, verdict) in [
            ("13", Verdict::Caution),
            ("12", Verdict::Pass),
            ("10", Verdict::Pass),
            ("9", Verdict::Caution),
        ] {
            let report = with(trekking(), "moulded-60")
                .measure(&[("wire-gauge", gauge)])
                .expect(&CHECK, verdict);
            assert_eq!(report.findings[2].verdict, verdict, "{:?}", report.findings);
            assert_eq!(report.findings[2].remedies.is_empty(), verdict == Verdict::Pass);
        }
        let unknown = with(trekking(), "bullet-5.5").measure(&[("wire-gauge", "20")]);
        assert_eq!(unknown.report(&CHECK).findings.len(), 2);
    }

    #[test]
    fn hot_contacts_are_told_with_the_resistance_that_would_do() {
        // By hand: 2 x 25² x 0.5 mohm = 0.625 W; 1 W at 0.8 mohm.
        let mated = |ohms: &str| hardtail().measure(&[("contact-resistance", ohms)]);
        let report = mated("0.5 mohm").expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 0.625).abs() < 1e-9);
        // The meter's doubt is 0.04 mohm (k = 2).
        mated("0.74 mohm").expect(&CHECK, Verdict::Pass);
        for ohms in ["0.78 mohm", "0.82 mohm"] {
            let report = mated(ohms).expect(&CHECK, Verdict::Caution);
            assert!(report.summary().contains("measure again"), "{}", report.summary());
        }
        let hot = mated("0.9 mohm");
        let report = hot.expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().contains("workshop's own"),
            "{}",
            report.summary()
        );
        assert!(
            report.findings[0].remedies[0].ends_with("contact-resistance 0.40mohm --anew"),
            "{:?}",
            report.findings
        );
        hot.again(&[("contact-resistance", "0.40mohm")])
            .expect(&CHECK, Verdict::Pass);
    }
}
