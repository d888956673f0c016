//! `donor.wear`: wear of what the bicycle keeps, found before the quote rather than after.

use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction::{self, Brake};
use crate::stage::Stage;
use crate::unit::Kind;

/// Wear of the bicycle as it came in.
pub static CHECK: Check = Check {
    id: "donor.wear",
    title: "wear of what the bicycle keeps",
    gates: &[Stage::Intake],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source; rotor without a mark: usual makers' marking, from memory",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let brakes = [
        (prediction::brake(case, Wheel::Front)?, Slot::RotorFront),
        (prediction::brake(case, Wheel::Rear)?, Slot::RotorRear),
    ];
    let kept = |kind: fn(Brake) -> bool| brakes.iter().any(|(brake, _)| !brake.new && kind(*brake));
    // A rim is worn by whatever grips it, an old brake or a new one.
    let rims = brakes.iter().any(|(brake, _)| brake.is_rim());
    let pads = kept(|brake| brake.is_rim() || brake.is_disc());
    let rotors = brakes
        .iter()
        .any(|(brake, slot)| brake.is_disc() && case.optional_part(*slot).is_none());
    let has = |slot| case.optional_part(slot).is_some();
    let (chain, cogs) = (!has(Slot::Chain), !has(Slot::Cassette));
    let tyres = !(has(Slot::TyreFront) && has(Slot::TyreRear));

    let wanted = [
        ("chain-wear", chain || cogs),
        ("rim-wall", rims),
        ("pad-lining", pads),
        ("rotor-wear", rotors),
        ("headset", true),
    ];
    let mut keys: Vec<&str> = wanted
        .iter()
        .filter(|(_, concerns)| *concerns)
        .map(|(key, _)| *key)
        .collect();
    keys.extend(tyres.then_some("tyre-state"));
    prediction::need(case, &keys)?;

    let mut findings = Vec::new();
    if chain || cogs {
        findings.push(chain_wear(case, chain)?);
    }
    if rims {
        let line = "quote line: new rim or wheel";
        findings.push(thickness(
            case,
            "rim-wall",
            "rim wall at its thinnest",
            ("rim.wall-good", "rim.wall-least"),
            line,
        )?);
    }
    if pads {
        let line = "quote line: new pads";
        findings.push(thickness(
            case,
            "pad-lining",
            "pad lining",
            ("brake.pad-good", "brake.pad-least"),
            line,
        )?);
    }
    if rotors {
        findings.push(rotor(case)?);
    }
    findings.push(headset(case)?);
    if tyres {
        findings.push(tyre_state(case)?);
    }
    Ok(findings)
}

/// Stretch: the chain goes first; a cassette that ran with a longer one goes with it.
fn chain_wear(case: &Case<'_>, kept: bool) -> Result<Finding, Halt> {
    let wear = case.number("chain-wear")?;
    let (replace, cassette) = (case.rule("chain.wear-replace"), case.rule("chain.wear-cassette"));
    let judged = Judged::new("chain stretch", wear, Kind::Ratio, "%");
    let number = case.job().number;
    let both = "with the chain goes the cassette it ran on";
    let (finding, line) = if kept {
        let finding = judged.between(Limit::AtMost(replace), Limit::AtMost(cassette));
        (
            finding,
            format!("quote line: new chain: lockring build {number} chain=PART"),
        )
    } else {
        let finding = judged.against(Limit::AtMost(cassette));
        (
            finding,
            format!("quote line: new cassette for the new chain: lockring build {number} cassette=PART"),
        )
    };
    // The chain is judged over twelve full links, one foot when new.
    let finding = finding
        .with_arithmetic(format!(
            "{:.2} % of 304.8 mm = {:.2} mm over twelve links",
            wear.value * 100.0,
            wear.value * 304.8
        ))
        .with_remedy(line);
    if kept && wear.value > cassette {
        return Ok(finding.with_remedy(format!("{both}: lockring build {number} cassette=PART")));
    }
    Ok(finding)
}

fn thickness(
    case: &Case<'_>,
    code: &'static str,
    what: &str,
    keys: (&str, &str),
    line: &str,
) -> Result<Finding, Halt> {
    let (good, least) = (case.rule(keys.0), case.rule(keys.1));
    Ok(Judged::new(what, case.number(code)?, Kind::Length, "mm")
        .between(Limit::AtLeast(good), Limit::AtLeast(least))
        .with_remedy(format!(
            "{line}; then measure the new one: lockring measure {} {code} VALUE",
            case.job().number
        )))
}

/// The mark on the rotor goes first; without one the usual marking is known from memory alone.
fn rotor(case: &Case<'_>) -> Result<Finding, Halt> {
    let marked = case.optional_number("rotor-limit").is_some();
    let least = case.number_or("rotor-limit", case.rule("brake.rotor-least"));
    let number = case.job().number;
    let finding = Judged::new(
        "rotor at its thinnest",
        case.number("rotor-wear")?,
        Kind::Length,
        "mm",
    )
    .against(Limit::AtLeast(least.value))
    .with_remedy(format!(
        "quote line: new rotor: lockring build {number} rotor-front=PART rotor-rear=PART"
    ));
    Ok(if marked {
        finding
    } else {
        prediction::advise_only(finding, "least thickness from memory, not read off the rotor").with_remedy(
            format!("read the mark off the rotor: lockring donor {number} rotor-limit=VALUE"),
        )
    })
}

fn headset(case: &Case<'_>) -> Result<Finding, Halt> {
    let state = case.word("headset")?;
    let (verdict, line) = match state {
        "ok" => return Ok(Finding::new(Verdict::Pass, "headset without play or notch")),
        "loose" => (Verdict::Caution, "quote line: adjust the headset"),
        _ => (Verdict::Fail, "quote line: new headset"),
    };
    Ok(
        Finding::new(verdict, format!("headset {state}")).with_remedy(format!(
            "{line}; then: lockring donor {} headset=ok",
            case.job().number
        )),
    )
}

fn tyre_state(case: &Case<'_>) -> Result<Finding, Halt> {
    let state = case.word("tyre-state")?;
    if state == "ok" {
        return Ok(Finding::new(
            Verdict::Pass,
            "tyres without cuts or perished rubber",
        ));
    }
    let number = case.job().number;
    Ok(Finding::new(Verdict::Fail, format!("tyre {state}"))
        .with_remedy(format!(
            "quote line: new tyres: lockring build {number} tyre-front=PART tyre-rear=PART"
        ))
        .with_remedy(format!(
            "or, changed already: lockring donor {number} tyre-state=ok"
        )))
}

#[cfg(test)]
mod tests;
