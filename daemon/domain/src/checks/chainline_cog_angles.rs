//! `chainline.cog_angles`: the angle of the chain at every cog, and turns back-pedalled in
//! the lowest gear.

use lockring_calc::chainline;
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;
use crate::unit::Kind;

/// Chain angle per cog.
pub static CHECK: Check = Check {
    id: "chainline.cog_angles",
    title: "chain angle at the cogs",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 2,
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
struct At {
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
    let Some(read) = prediction::read_front_line(case)? else {
        prediction::need(case, &["chainline-front", "stay-length", "back-pedal"])?;
        return Err(case.open("chainline-front"));
    };
    prediction::need(case, &["stay-length"])?;
    let (front, stay) = (read.line, case.number("stay-length")?);
    let angles: Vec<At> = rear
        .cogs
        .iter()
        .zip(&rear.lines)
        .map(|(teeth, line)| {
            at(
                case,
                *teeth,
                front,
                Known {
                    value: *line,
                    ..rear.centre
                },
                stay,
            )
        })
        .collect::<Result<_, _>>()?;
    let (largest, others) = angles.split_last().expect("more than one cog");
    let turns = back_pedal(case);
    let line = rear.lines.last().copied().unwrap_or(rear.centre.value);
    let mut first = settle(case, judged(case, largest), largest, &turns)
        .with_arithmetic(format!(
            "atan(({:.1} - {:.1})/{:.0}) = {:+.2} degrees; front line {}; rear line {}",
            1e3 * front.value,
            1e3 * line,
            1e3 * stay.value,
            largest.angle.to_degrees(),
            read.how,
            rear.how
        ))
        .with_arithmetic(format!("all cogs: {}", listed(&angles)));
    for remedy in remedies(case, largest, stay.value) {
        first = first.with_remedy(remedy);
    }
    if rear.from_memory {
        first = prediction::advise_only(
            first,
            "the cogs' spacing or the hub's recess is from memory: measure chainline-rear",
        );
    }
    let mut findings = vec![first];
    findings.extend(others.iter().filter_map(|other| advised(case, other)));
    findings.push(turns);
    Ok(findings)
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

fn judged(case: &Case<'_>, at: &At) -> Finding {
    let side = if at.angle < 0.0 {
        "ring inboard"
    } else {
        "ring outboard"
    };
    let what = format!("chain angle at the {}-tooth cog, {side},", at.teeth);
    let known = Known {
        value: at.angle.abs(),
        u: at.u,
        provenance: crate::fact::Provenance::Measured,
    };
    Judged::new(&what, known, Kind::Angle, "deg").between(
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
fn advised(case: &Case<'_>, at: &At) -> Option<Finding> {
    if at.angle.abs() <= case.rule("chainline.angle-advise") {
        return None;
    }
    let mut finding = prediction::advise_only(judged(case, at), "this is not the largest cog");
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
