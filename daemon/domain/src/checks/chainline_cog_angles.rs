//! `chainline.cog_angles`: the angle of the chain at every cog, and turns back-pedalled in
//! the lowest gear.

use lockring_calc::chainline;
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::checks::chainline_centre::Line;
use crate::judge::Judged;
use crate::prediction::sprockets::{self, Sprockets};
use crate::prediction::{self, FrontLine};
use crate::stage::Stage;
use crate::unit::Kind;

/// Chain angle per cog.
pub static CHECK: Check = Check {
    id: "chainline.cog_angles",
    title: "chain angle at the cogs",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 5,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "geometry; limits common practice, no source: 3.0 degrees good and 3.5 at most on the largest cog",
    run,
};

/// A cog, and the angle at it.
pub(super) struct At {
    teeth: u32,
    angle: f64,
    u: f64,
}

fn run(case: &Case<'_>) -> Outcome {
    if !sprockets::drivetrain_changed(case)? {
        return Halt::not_applicable("ring and cogs are the bicycle's own and stay where they were");
    }
    let rear = sprockets::sprockets(case)?;
    if rear.cogs.len() == 1 {
        return Halt::not_applicable("a single cog is judged by its offset, chainline.centre");
    }
    let read = prediction::read_front_line(case)?;
    let by = if read.is_some() {
        Line::Measured
    } else {
        Line::Predicted
    };
    let Some(front) = read.or(expected(case)?) else {
        prediction::need(case, &["chainline-front", "stay-length", "back-pedal"])?;
        return Err(case.open("chainline-front"));
    };
    prediction::need(case, &["stay-length"])?;
    let angles = angles(case, &front, &rear)?;
    let lack = (by == Line::Predicted).then(|| case.lack_all(prediction::missing_front_line(case)));
    let turns = back_pedal(case);
    let mut first = of_largest(case, &angles, &front, &rear, by)?;
    first = match by {
        Line::Measured => settle(case, first, angles.last().expect("more than one cog"), &turns),
        // What was worked out beforehand stops nothing at the stand.
        Line::Predicted => prediction::advise_only(first, "nobody has measured it yet"),
    };
    let mut findings = vec![first];
    if let Some(mut lack) = lack {
        lack.summary = format!("{}; {}", lack.summary, findings[0].summary);
        findings.push(lack);
    }
    let (_, others) = angles.split_last().expect("more than one cog");
    findings.extend(others.iter().filter_map(|other| advised(case, other, by)));
    findings.push(turns);
    Ok(findings)
}

/// What the parts let expect of the front line while nobody has read it.
fn expected(case: &Case<'_>) -> Result<Option<FrontLine>, Halt> {
    Ok(match prediction::is_mid(case)? {
        true => prediction::predicted_front_line(case).ok().flatten(),
        false => None,
    })
}

/// The angle at every cog, smallest cog first.
pub(super) fn angles(case: &Case<'_>, front: &FrontLine, rear: &Sprockets) -> Result<Vec<At>, Halt> {
    let stay = case.number("stay-length")?;
    let cogs = rear.cogs.iter().zip(&rear.lines);
    let known = |line: f64| Known {
        value: line,
        ..rear.centre
    };
    cogs.map(|(teeth, line)| at(case, *teeth, front.line, known(*line), stay))
        .collect()
}

/// The angle at the largest cog against its limits.
pub(super) fn of_largest(
    case: &Case<'_>,
    angles: &[At],
    front: &FrontLine,
    rear: &Sprockets,
    by: Line,
) -> Result<Finding, Halt> {
    let stay = case.number("stay-length")?.value;
    let largest = angles.last().expect("more than one cog");
    let line = rear.lines.last().copied().unwrap_or(rear.centre.value);
    let mut finding = judged(case, largest, by)
        .with_arithmetic(format!(
            "atan(({:.1} - {:.1})/{:.0}) = {:+.2} degrees; front line {}; rear line {}",
            1e3 * front.line.value,
            1e3 * line,
            1e3 * stay,
            largest.angle.to_degrees(),
            front.how,
            rear.how
        ))
        .with_arithmetic(format!("all cogs: {}", listed(angles)));
    for remedy in remedies(case, largest, stay) {
        finding = finding.with_remedy(remedy);
    }
    Ok(if rear.from_memory {
        prediction::advise_only(
            finding,
            "the cogs' spacing or the hub's recess is from memory: measure chainline-rear",
        )
    } else {
        finding
    })
}

fn at(case: &Case<'_>, teeth: u32, front: Known, rear: Known, stay: Known) -> Result<At, Halt> {
    let angle = chainline::chain_angle(
        Length::from_si(front.value),
        Length::from_si(rear.value),
        Length::from_si(stay.value),
    )
    .map_err(|error| prediction::unusable(case, "chainline", &error))?
    .as_radians();
    // d atan(x/L): cos² θ times the relative errors of offset and length.
    let across = front.u.hypot(rear.u).hypot(angle.tan() * stay.u) / stay.value;
    Ok(At {
        teeth,
        angle,
        u: across * angle.cos().powi(2),
    })
}

fn judged(case: &Case<'_>, at: &At, by: Line) -> Finding {
    let side = if at.angle < 0.0 {
        "ring inboard"
    } else {
        "ring outboard"
    };
    let what = format!("{}chain angle at the {}-tooth cog, {side},", by.said(), at.teeth);
    let known = Known {
        value: at.angle.abs(),
        u: at.u,
        provenance: crate::fact::Provenance::Measured,
    };
    by.asks(Judged::new(&what, known, Kind::Angle, "deg")).between(
        Limit::AtMost(case.rule("chainline.angle-good")),
        Limit::AtMost(case.rule("chainline.angle-most")),
    )
}

/// The angle stands for a chain that drops. Where only the measurement's doubt is in the
/// way, turns back-pedalled in that very gear without a drop are the better instrument.
fn settle(case: &Case<'_>, mut finding: Finding, at: &At, turns: &Finding) -> Finding {
    let inside = at.angle.abs() <= case.rule("chainline.angle-good");
    if finding.verdict == Verdict::Caution && inside && turns.verdict == Verdict::Pass {
        finding.verdict = Verdict::Pass;
        finding.summary = format!(
            "chain angle at the {}-tooth cog {:.2} degrees: within stored limit; what the measurement leaves in doubt \
             is settled by back-pedalling in this gear without a drop",
            at.teeth,
            at.angle.abs().to_degrees()
        );
    }
    finding
}

/// A cog other than the largest: reported from the angle where the gear is better left
/// alone; advice, because that level is judgement (it never stops the job).
fn advised(case: &Case<'_>, at: &At, by: Line) -> Option<Finding> {
    if at.angle.abs() <= case.rule("chainline.angle-advise") {
        return None;
    }
    let mut finding = prediction::advise_only(judged(case, at, by), "this is not the largest cog");
    finding.summary = format!("{}; avoid this gear under motor power", finding.summary);
    Some(finding.with_remedy(format!(
        "tell the rider to leave the {}-tooth cog alone under motor power",
        at.teeth
    )))
}

/// The angles stand without the turns: a gear that is only planned cannot be turned yet.
fn back_pedal(case: &Case<'_>) -> Finding {
    let Ok((good, tried)) = case.tally("back-pedal") else {
        return case.lack("back-pedal");
    };
    let (drops, turns) = (tried - good, case.rule("chainline.back-pedal-turns"));
    let line = format!("back-pedalled {tried} turns in the lowest gear, {drops} drops");
    let finding = if f64::from(drops) > case.rule("chainline.back-pedal-drops") {
        Finding::new(
            Verdict::Fail,
            format!("{line}: the chain falls off the ring or cog"),
        )
    } else if f64::from(tried) < turns {
        Finding::new(
            Verdict::Caution,
            format!("{line}: fewer than {turns:.0} turns tried"),
        )
    } else {
        Finding::new(Verdict::Pass, format!("{line}: within stored limit"))
    };
    finding
        .with_remedy("a narrow-wide ring, a ring with more dish, or a guide above the ring")
        .with_remedy(format!(
            "lockring measure {} back-pedal {turns:.0}/{turns:.0}{}",
            case.job().number,
            prediction::anew(good, tried)
        ))
}

fn remedies(case: &Case<'_>, at: &At, stay: f64) -> Vec<String> {
    let good = case.rule("chainline.angle-good");
    let over = sprockets::enough_mm(stay * ((at.angle.abs() + 2.0 * at.u).tan() - good.tan()));
    let (way, price) = if at.angle < 0.0 {
        ("less", "gains as much gap to the chainstay")
    } else {
        ("more", "costs as much gap to the chainstay")
    };
    vec![
        format!(
            "a ring with {over:.1} mm {way} dish, which {price}: lockring build {} chainring=PART",
            case.job().number
        ),
        format!(
            "a smaller largest cog, or the {}-tooth cog locked out at the derailleur's stop screw",
            at.teeth
        ),
    ]
}

fn listed(angles: &[At]) -> String {
    let each: Vec<String> = angles
        .iter()
        .map(|at| format!("{} {:+.2}", at.teeth, at.angle.to_degrees()))
        .collect();
    each.join(", ")
}

#[cfg(test)]
mod tests;
