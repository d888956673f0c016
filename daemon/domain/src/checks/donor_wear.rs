//! `donor.wear`: wear of what the bicycle keeps, found before the quote rather than after.

use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;
use lockring_calc::inspection::{self, ChainRule, Cost, Need, RimWall, Worn};
use lockring_calc::quantity::Length;

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
    version: 4,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "inspection limits: common practice, tables of the trade read; rim pads from memory; a damaged \
             belt is replaced, common practice, no source; 0.5 % of stretch under a motor: \
             workshop judgement",
    run,
};

const WHEELS: [(Wheel, Slot); 2] = [(Wheel::Front, Slot::RotorFront), (Wheel::Rear, Slot::RotorRear)];

fn run(case: &Case<'_>) -> Outcome {
    let brakes = [
        prediction::brake(case, Wheel::Front)?,
        prediction::brake(case, Wheel::Rear)?,
    ];
    let kept = |kind: fn(Brake) -> bool| brakes.iter().any(|brake| !brake.new && kind(*brake));
    // A rim is worn by whatever grips it, an old brake or a new one.
    let rims = brakes.iter().any(|brake| brake.is_rim());
    let pads = kept(|brake| brake.is_rim() || brake.is_disc());
    let mut rotors = false;
    for (brake, (wheel, slot)) in brakes.iter().zip(WHEELS) {
        let is_kept = brake.is_disc() && case.optional_part(slot).is_none();
        // A bicycle that came with other brakes has no rotor to keep.
        rotors |= is_kept && !prediction::is_first_disc(case, wheel)?;
    }
    let has = |slot| case.optional_part(slot).is_some();
    let belt = prediction::is_belt(case);
    let (chain, cogs) = (!has(Slot::Chain), !has(Slot::Cassette));
    let stretched = (chain || cogs) && !came_with_belt(case);
    let tyres = !(has(Slot::TyreFront) && has(Slot::TyreRear));

    let wanted = [
        ("chain-wear", stretched),
        ("belt-state", belt),
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
    if stretched {
        findings.push(chain_wear(case, chain)?);
    }
    if belt {
        findings.push(belt_state(case)?);
    }
    if rims {
        findings.push(rim_wall(case)?);
    }
    if pads {
        // One figure for all pads: beside a disc brake the rule that may stop the job.
        findings.push(pad(case, !kept(|brake| brake.is_disc()))?);
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

/// What a part needs, by the stored limits, and what that costs the job. A worn part that
/// its limit condemns fails at its reading: no doubt of an instrument makes it whole.
pub(super) fn costed(mut finding: Finding, worn: &Worn) -> Finding {
    let verdict = match worn.need {
        Need::Nothing => Verdict::Pass,
        Need::Watch | Need::Adjust => Verdict::Caution,
        Need::Replace | Need::ReplaceWithMates | Need::Reject if worn.basis.may_stop() => Verdict::Fail,
        Need::Replace | Need::ReplaceWithMates | Need::Reject => Verdict::Caution,
    };
    finding.verdict = finding.verdict.max(verdict);
    with_cost(finding, worn)
}

/// What a finding costs the job, said and no more.
pub(super) fn with_cost(finding: Finding, worn: &Worn) -> Finding {
    if worn.need == Need::Nothing {
        return finding;
    }
    finding.with_arithmetic(match worn.cost() {
        Cost::Refusal => "costs the job: not converted as it stands",
        Cost::RepairLine => "costs the job: a line in the quote",
        Cost::Caution => "costs the job: a word to the rider and a second look",
        Cost::None => "costs the job nothing",
    })
}

/// A number with its doubt against the limits of an inspection, then the part at its reading.
fn judged(judged: Judged<'_>, good: Limit, tolerable: Limit, worn: &Worn) -> Finding {
    costed(judged.between(good, tolerable), worn)
}

/// Stretch: the chain goes first; a cassette that ran with a longer one goes with it, by the shop's choice
/// from 0.75 % on, without doubt from an eighth of an inch in a foot.
fn chain_wear(case: &Case<'_>, kept: bool) -> Result<Finding, Halt> {
    let wear = case.number("chain-wear")?;
    let rule = ChainRule::Motor;
    let unusable = |error| prediction::unusable(case, "chain", &error);
    let (replace, _) = inspection::chain_limit(rule).map_err(unusable)?;
    let worn = inspection::chain(wear.value, rule).map_err(unusable)?;
    let mates = Limit::Below(inspection::RULER_MATES);
    let stretch = Judged::new("chain stretch", wear, Kind::Ratio, "%");
    let number = case.job().number;
    let finding = if kept {
        judged(stretch, Limit::AtMost(replace), mates, &worn).with_remedy(format!(
            "quote line: new chain: lockring build {number} chain=PART"
        ))
    } else {
        let finding = stretch.between(Limit::AtMost(inspection::MOTOR_MATES), mates);
        let finding = if worn.need == Need::ReplaceWithMates {
            costed(finding, &worn)
        } else {
            finding
        };
        finding.with_remedy(format!(
            "quote line: new cassette for the new chain: lockring build {number} cassette=PART"
        ))
    };
    // The chain is judged over twelve full links, one foot when new.
    let finding = finding.with_arithmetic(format!(
        "{:.2} % of 304.8 mm = {:.2} mm over twelve links",
        wear.value * 100.0,
        wear.value * 304.8
    ));
    if kept && worn.need == Need::ReplaceWithMates {
        return Ok(finding.with_remedy(format!(
            "with the chain goes the cassette it ran on: lockring build {number} cassette=PART"
        )));
    }
    Ok(finding)
}

/// Whether the bicycle came with a toothed belt, which has no stretch and leaves none in its pulleys.
fn came_with_belt(case: &Case<'_>) -> bool {
    case.optional_word("drive-kind") == Some("belt")
}

/// A toothed belt by its looks: how far one may wear no limit is stored.
fn belt_state(case: &Case<'_>) -> Result<Finding, Halt> {
    let state = case.word("belt-state")?;
    if state == "ok" {
        return Ok(Finding::new(
            Verdict::Pass,
            "toothed belt without cracks, missing teeth or bare cords; its wear is judged by no stored limit, its maker's \
             gauge says more",
        ));
    }
    Ok(
        Finding::new(Verdict::Fail, format!("toothed belt {state}")).with_remedy(format!(
            "quote line: new belt, with its pulleys where its maker asks for them; then: {}",
            prediction::to_record(case, "belt-state")
        )),
    )
}

/// The wall a brake has worn, and its mark and shape where somebody looked.
fn rim_wall(case: &Case<'_>) -> Result<Finding, Halt> {
    let wall = case.number("rim-wall")?;
    let seen = RimWall {
        thinnest: Some(Length::from_si(wall.value)),
        mark_gone: case.optional_word("rim-mark") == Some("gone"),
        out_of_shape: case
            .optional_word("rim-shape")
            .is_some_and(|shape| shape != "flat"),
    };
    let worn = inspection::rim_wall(&seen).map_err(|error| prediction::unusable(case, "rim", &error))?;
    let limit = |mm| Limit::AtLeast(Length::millimetres(mm).si());
    let rim = Judged::new("rim wall at its thinnest", wall, Kind::Length, "mm");
    let mut finding = rim.between(
        limit(inspection::RIM_WALL_WATCH_MM),
        limit(inspection::RIM_WALL_LEAST_MM),
    );
    if let Some(worn) = worn {
        finding = costed(finding, &worn);
    }
    for (found, line) in [
        (seen.mark_gone, "its wear mark is gone"),
        (seen.out_of_shape, "its wall is hollow or bulges"),
    ] {
        if found {
            finding.summary = format!("{}; {line}", finding.summary);
        }
    }
    Ok(finding.with_remedy(format!(
        "quote line: new rim or wheel; then measure the new one: {}",
        prediction::read_again(case, "rim-wall", "VALUE rim-mark seen rim-shape flat")
    )))
}

/// What is left of a pad: lining on a disc pad, rubber above the holder of a rim pad.
fn pad(case: &Case<'_>, on_rim: bool) -> Result<Finding, Halt> {
    let left = case.number("pad-lining")?;
    let length = Length::from_si(left.value);
    let unusable = |error| prediction::unusable(case, "pad", &error);
    let (what, least, worn) = if on_rim {
        let worn = inspection::rim_pad(length, false).map_err(unusable)?;
        ("rim pad above its holder", inspection::RIM_PAD_MM, worn)
    } else {
        let worn = inspection::disc_pad(length, None).map_err(unusable)?;
        ("lining of the disc pad", inspection::DISC_PAD_MM, worn)
    };
    let good = case.rule("brake.pad-good");
    let mut finding = Judged::new(what, left, Kind::Length, "mm").between(
        Limit::AtLeast(good),
        Limit::AtLeast(Length::millimetres(least).si()),
    );
    if on_rim {
        finding = prediction::advise_only(finding, "least rubber of a rim pad is from memory");
    }
    Ok(costed(finding, &worn).with_remedy(format!(
        "quote line: new pads; then measure them: {}",
        prediction::read_again(case, "pad-lining", "VALUE")
    )))
}

/// The mark on the rotor goes first; without one the least that makers mark, and the most that
/// may be worn off.
fn rotor(case: &Case<'_>) -> Result<Finding, Halt> {
    let thin = case.number("rotor-wear")?;
    let length = |key| {
        case.optional_number(key)
            .map(|known: crate::case::Known| Length::from_si(known.value))
    };
    let (mark, new) = (length("rotor-limit"), length("rotor-new"));
    let worn = inspection::rotor(Length::from_si(thin.value), mark, new)
        .map_err(|error| prediction::unusable(case, "rotor", &error))?;
    let [least, usual] = inspection::ROTOR_LEAST_MM;
    let limit = |mm| Limit::AtLeast(Length::millimetres(mm).si());
    let rotor = Judged::new("rotor at its thinnest", thin, Kind::Length, "mm");
    let finding = match mark {
        Some(mark) => rotor.against(Limit::AtLeast(mark.si())),
        None => rotor.between(limit(usual), limit(least)),
    };
    let number = case.job().number;
    let finding = costed(finding, &worn).with_remedy(format!(
        "quote line: new rotor: lockring build {number} rotor-front=PART rotor-rear=PART"
    ));
    if mark.is_some() {
        return Ok(finding);
    }
    let note = match new {
        Some(new) => format!(
            "no mark: makers ask 1.5 to 1.55 mm, and at most {:.1} mm off {:.2} mm",
            inspection::ROTOR_WEAR_MM,
            new.as_millimetres()
        ),
        None => "no mark: makers ask 1.5 to 1.55 mm".to_owned(),
    };
    Ok(finding.with_arithmetic(note).with_remedy(format!(
        "read the mark off the rotor: lockring donor {number} rotor-limit=VALUE"
    )))
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
            "{line}; then: {}",
            prediction::to_record(case, "headset")
        )),
    )
}

fn tyre_state(case: &Case<'_>) -> Result<Finding, Halt> {
    let state = case.word("tyre-state")?;
    if state == "ok" {
        return Ok(Finding::new(
            Verdict::Pass,
            "tyres without cuts, bulges, bare casing or perished rubber",
        ));
    }
    let number = case.job().number;
    Ok(Finding::new(Verdict::Fail, format!("tyre {state}"))
        .with_remedy(format!(
            "quote line: new tyres: lockring build {number} tyre-front=PART tyre-rear=PART"
        ))
        .with_remedy(format!(
            "or, changed already: {}",
            prediction::to_record(case, "tyre-state")
        )))
}

#[cfg(test)]
mod tests;
