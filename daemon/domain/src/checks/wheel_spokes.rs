//! `wheel.spokes`: spokes of a wheel rebuilt around a motor: length, angles, crossings.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;
use lockring_calc::wheel::spoke::{self, Laced, Lacing};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::judge::{self, Judged};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Spokes of both sides.
pub static CHECK: Check = Check {
    id: "wheel.spokes",
    title: "spokes of the motor wheel long enough and straight into the rim",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "length and angles: geometry; entry angle 8 degrees, length 0.5 mm short to 1 mm long: common practice, no \
             source; 12 degrees: workshop judgement",
    run,
};

/// A side: its word, and the codes and the motor's attribute that describe it.
struct Side {
    word: &'static str,
    diameter: &'static str,
    distance: &'static str,
    attribute: &'static str,
    length: &'static str,
}

const SIDES: [Side; 2] = [
    Side {
        word: "left",
        diameter: "flange-left-diameter",
        distance: "flange-left-distance",
        attribute: "flange-left",
        length: "spoke-length-left",
    },
    Side {
        word: "right",
        diameter: "flange-right-diameter",
        distance: "flange-right-distance",
        attribute: "flange-right",
        length: "spoke-length-right",
    },
];

/// What a lacing is computed from, in SI, in the order of the doubts.
struct Inputs {
    distance: Known,
    circle: Known,
    rim: Known,
    hole: Known,
    per_side: u32,
    crossings: u32,
}

impl Inputs {
    fn lacing(&self) -> Lacing {
        Lacing {
            flange_distance: Length::from_si(self.distance.value),
            hole_circle: Length::from_si(self.circle.value),
            rim: Length::from_si(self.rim.value),
            hole: Length::from_si(self.hole.value),
            per_side: self.per_side,
            crossings: self.crossings,
        }
    }
}

fn run(case: &Case<'_>) -> Outcome {
    if prediction::driven_hub(case)?.is_none() {
        return Halt::not_applicable("the motor is at the crank: no wheel is rebuilt");
    }
    if !case.knows("erd") {
        return Halt::not_applicable("the rim was not measured for spokes: the wheel came built");
    }
    prediction::need(case, &["spoke-count", "spoke-crossings"])?;
    let count = whole(case, "spoke-count")?;
    let crossings = whole(case, "spoke-crossings")?;
    let job = case.job().number;
    if count % 2 != 0 {
        let line = format!("{count} spokes do not share out over two flanges");
        return Ok(vec![Finding::new(Verdict::Fail, line).with_remedy(format!(
            "count again: lockring measure {job} spoke-count 36"
        ))]);
    }
    let most = spoke::most_crossings(count / 2);
    if crossings > most {
        let line =
            format!("{crossings} crossings, at most {most} with {count} spokes: past the flange's tangent");
        return Ok(vec![
            Finding::new(Verdict::Fail, line)
                .with_arithmetic(format!("{} spokes a side / 4 = {most}, rounded down", count / 2))
                .with_remedy(format!("fewer: lockring measure {job} spoke-crossings {most}")),
        ]);
    }
    let hole = match motor(case, "spoke-hole")? {
        Some(hole) if !case.knows("spoke-hole") => hole,
        _ => case.number_or("spoke-hole", case.rule("wheel.spoke-hole")),
    };
    let mut findings = Vec::new();
    for side in &SIDES {
        let inputs = Inputs {
            distance: flange(case, side.distance, side.attribute)?,
            circle: flange(case, side.diameter, "flange-diameter")?,
            rim: case.number("erd")?,
            hole,
            per_side: count / 2,
            crossings,
        };
        let laced = lace(case, &inputs.lacing())?;
        findings.push(entry(case, side, &inputs, laced)?);
        findings.push(length(case, side, &inputs, laced)?);
    }
    Ok(findings)
}

/// A count inside the window of its row.
fn whole(case: &Case<'_>, code: &str) -> Result<u32, Halt> {
    Ok(case.number(code)?.value.round() as u32)
}

/// A figure of the motor's own sheet.
fn motor(case: &Case<'_>, attribute: &str) -> Result<Option<Known>, Halt> {
    let value = case.part(Slot::Motor)?.optional_number(attribute);
    Ok(value.map(|value| Known {
        value,
        u: 0.0,
        provenance: crate::fact::Provenance::Stated,
    }))
}

/// As measured, else as the motor's sheet has it.
fn flange(case: &Case<'_>, code: &str, attribute: &str) -> Result<Known, Halt> {
    match case.optional_number(code) {
        Some(measured) => Ok(measured),
        None => motor(case, attribute)?.ok_or_else(|| case.open(code)),
    }
}

fn lace(case: &Case<'_>, lacing: &Lacing) -> Result<Laced, Halt> {
    spoke::lace(lacing).map_err(|error| {
        Halt::Open(vec![Missing {
            what: format!("a rim and a flange that make a wheel: {error}"),
            how: format!("lockring measure {} erd …mm", case.job().number),
        }])
    })
}

/// Doubt of what a lacing gives: each input moved by its own (JCGM 100:2008, 5.1.3, note 2).
fn doubt(case: &Case<'_>, inputs: &Inputs, of: fn(&Laced) -> f64) -> Result<f64, Halt> {
    let base = inputs.lacing();
    let here = of(&lace(case, &base)?);
    let more = |length: Length, known: Known| Length::from_si(length.si() + known.u);
    let moved = [
        Lacing {
            flange_distance: more(base.flange_distance, inputs.distance),
            ..base
        },
        Lacing {
            hole_circle: more(base.hole_circle, inputs.circle),
            ..base
        },
        Lacing {
            rim: more(base.rim, inputs.rim),
            ..base
        },
        Lacing {
            hole: more(base.hole, inputs.hole),
            ..base
        },
    ];
    let mut u = 0.0_f64;
    for lacing in &moved {
        u = u.hypot(of(&lace(case, lacing)?) - here);
    }
    Ok(u)
}

fn entry(case: &Case<'_>, side: &Side, inputs: &Inputs, laced: Laced) -> Result<Finding, Halt> {
    let (good, most) = (
        case.rule("wheel.entry-angle-good"),
        case.rule("wheel.entry-angle-most"),
    );
    let known = Known {
        value: laced.entry.si(),
        u: doubt(case, inputs, |laced| laced.entry.si())?,
        ..inputs.rim
    };
    let what = format!("entry angle at the rim, {}", side.word);
    let finding = Judged::new(&what, known, Kind::Angle, "deg")
        .between(Limit::AtMost(good), Limit::AtMost(most))
        .with_figure(judge::figure("bracing angle", Kind::Angle, "deg", laced.bracing.si()))
        .with_arithmetic(format!(
            "{} crossings of {} spokes a side, hole circle {:.1} mm, rim {:.1} mm: {:.1} degrees; bracing {:.1} degrees",
            inputs.crossings,
            inputs.per_side,
            1000.0 * inputs.circle.value,
            1000.0 * inputs.rim.value,
            laced.entry.as_degrees(),
            laced.bracing.as_degrees()
        ))
        .with_remedy(straighter(case, inputs, good)?);
    let why = "drilled rims and swivelling nipples take more";
    Ok(prediction::advise_only(finding, why))
}

/// The most crossings that keep within the angle, with the length it asks for instead.
fn straighter(case: &Case<'_>, inputs: &Inputs, good: f64) -> Result<String, Halt> {
    let job = case.job().number;
    for crossings in (0..inputs.crossings).rev() {
        let lacing = Lacing {
            crossings,
            ..inputs.lacing()
        };
        let laced = lace(case, &lacing)?;
        if laced.entry.si() < good {
            let last = if crossings == 0 {
                "; radial spokes carry no torque but by their twist: a last resort"
            } else {
                ""
            };
            return Ok(format!(
                "{crossings} crossings, {:.1} degrees, other spokes of {:.1} mm{last}: lockring measure {job} \
                 spoke-crossings {crossings}",
                laced.entry.as_degrees(),
                laced.length.as_millimetres()
            ));
        }
    }
    Ok("a rim drilled toward the flanges".to_owned())
}

fn length(case: &Case<'_>, side: &Side, inputs: &Inputs, laced: Laced) -> Result<Finding, Halt> {
    let computed = laced.length.as_millimetres();
    let sum = format!(
        "sqrt({d:.1}^2 + {r1:.1}^2 + {r2:.1}^2 - 2 x {r1:.1} x {r2:.1} x cos(360 x {} / {})) - {r3:.2} = {computed:.1} mm",
        inputs.crossings,
        inputs.per_side,
        d = 1000.0 * inputs.distance.value,
        r1 = 500.0 * inputs.circle.value,
        r2 = 500.0 * inputs.rim.value,
        r3 = 500.0 * inputs.hole.value,
    );
    let order = format!("order {computed:.0} mm");
    let Some(measured) = case.optional_number(side.length) else {
        let line = format!("{} spokes {computed:.1} mm as computed: {order}", side.word);
        let figure = judge::figure("computed length", Kind::Length, "mm", laced.length.si());
        return Ok(Finding::new(Verdict::Pass, line)
            .with_figure(figure)
            .with_arithmetic(sum));
    };
    let over = Known {
        value: measured.value - laced.length.si(),
        u: measured.u.hypot(doubt(case, inputs, |laced| laced.length.si())?),
        ..measured
    };
    let (short, long) = (case.rule("wheel.spoke-short"), case.rule("wheel.spoke-long"));
    let what = format!("{} spokes over the computed {computed:.1} mm", side.word);
    let finding = Judged::new(&what, over, Kind::Length, "mm")
        .against(Limit::Within(-short, long))
        .with_arithmetic(sum)
        .with_arithmetic(format!(
            "{:.1} mm measured - {computed:.1} mm = {:+.1} mm",
            1000.0 * measured.value,
            1000.0 * over.value
        ))
        .with_remedy(format!(
            "{order}, then: {}",
            prediction::read_again(case, side.length, "…mm")
        ));
    let why = "the nipple's own length decides; thread must fill it and not pass the rim";
    Ok(prediction::advise_only(finding, why))
}

#[cfg(test)]
mod tests;
