//! `cockpit.clamp`: the display's clamp round the handlebar, and its width on it.

use lockring_calc::cockpit::{self, ClampFit};
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known, PartView};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Display and handlebar.
pub static CHECK: Check = Check {
    id: "cockpit.clamp",
    title: "display's clamp on the handlebar",
    gates: &[Stage::Intake],
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
    source: "diameters and widths: arithmetic; the play a clamp closes and the width left: workshop judgement, which \
             only cautions; bars 0.6 mm apart are two sizes: common practice",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let Some(display) = case.optional_part(Slot::Display) else {
        return Halt::not_applicable("no display is part of the build");
    };
    let sides = [("bar-diameter", "clamp-diameter"), ("bar-free", "clamp-width")];
    let concerned: Vec<_> = sides
        .into_iter()
        .filter(|(bar, clamp)| case.knows(bar) || display.optional_number(clamp).is_some())
        .collect();
    if concerned.is_empty() {
        return Halt::not_applicable("neither the handlebar nor the display's clamp was measured");
    }
    let mut findings = Vec::new();
    let mut missing = Vec::new();
    for (bar, clamp) in concerned {
        let judged = case.number(bar).and_then(|known| {
            let size = display.number(clamp)?;
            if bar == "bar-diameter" {
                round(case, &display, known, size)
            } else {
                beside(case, known, size)
            }
        });
        match judged {
            Ok(finding) => findings.push(finding),
            Err(Halt::Open(more)) => missing.extend(more),
            Err(other) => return Err(other),
        }
    }
    // What does not go on is told even while the rest is not measured yet.
    if findings.iter().any(|finding| finding.verdict == Verdict::Fail) {
        findings.extend(missing.into_iter().map(unmeasured));
        return Ok(findings);
    }
    if missing.is_empty() {
        Ok(findings)
    } else {
        Err(Halt::Open(missing))
    }
}

/// The clamp round the bar, or round the sleeve on it.
fn round(case: &Case<'_>, display: &PartView<'_, '_>, bar: Known, clamp: f64) -> Result<Finding, Halt> {
    let wall = case
        .optional_number("clamp-shim")
        .map_or(0.0, |known| known.value);
    let sleeved = bar.value + 2.0 * wall;
    let takes_up = case.rule("cockpit.clamp-takes-up");
    let other_size = case.rule("cockpit.clamp-other-size").max(takes_up);
    let fit = cockpit::clamp_fit(
        Length::metres(clamp),
        Length::metres(sleeved),
        Length::metres(takes_up),
    )
    .map_err(|error| prediction::unusable(case, "handlebar and clamp", &error))?;
    let play = Known {
        value: clamp - sleeved,
        ..bar
    };
    let mut finding = Judged::new("display's clamp less the bar", play, Kind::Length, "mm")
        .between(
            Limit::Within(-takes_up, takes_up),
            Limit::Within(-other_size, other_size),
        )
        .with_arithmetic(format!(
            "{:.1} mm clamp - {:.1} mm bar - 2 x {:.1} mm sleeve = {:+.1} mm",
            clamp * 1e3,
            bar.value * 1e3,
            wall * 1e3,
            play.value * 1e3
        ));
    // A sleeve takes up what is loose; nothing makes a bore wider.
    if play.value > 0.0 {
        finding.verdict = finding.verdict.min(Verdict::Caution);
    }
    let job = case.job().number;
    let other = format!(
        "another display than {}, for {:.1} mm: lockring build {job} display=PART",
        display.name(),
        bar.value * 1e3
    );
    Ok(match fit {
        ClampFit::Shim(more) => finding
            .with_remedy(format!(
                "a sleeve of {0:.1} mm wall: lockring measure {job} clamp-shim {0:.1}mm",
                wall * 1e3 + more.as_millimetres()
            ))
            .with_remedy(other),
        ClampFit::TooWide(more) => finding.with_remedy(other).with_remedy(format!(
            "a sleeve of {:.1} mm wall is more than a clamp grips through ({:.1} mm, judgement)",
            more.as_millimetres(),
            cockpit::SHIM_MOST_MM
        )),
        ClampFit::TooNarrow(_) if wall > 0.0 => finding
            .with_remedy(format!("a thinner sleeve: lockring measure {job} clamp-shim …mm"))
            .with_remedy(other),
        ClampFit::Direct | ClampFit::TooNarrow(_) => finding
            .with_remedy(other)
            .with_remedy("or a place on the bar where it is thinner, measured again"),
    })
}

/// The display's width against what is free.
fn beside(case: &Case<'_>, free: Known, width: f64) -> Result<Finding, Halt> {
    let budget = cockpit::width_budget(Length::metres(free.value), &[Length::metres(width)])
        .map_err(|error| prediction::unusable(case, "handlebar and display", &error))?;
    let left = Known {
        value: budget.free.as_metres(),
        ..free
    };
    let good = case.rule("cockpit.free-good");
    let job = case.job().number;
    Ok(
        Judged::new("width left on the handlebar", left, Kind::Length, "mm")
            .between(Limit::AtLeast(good), Limit::AtLeast(0.0))
            .with_arithmetic(format!(
                "{:.0} mm free - {:.0} mm display = {:+.0} mm",
                free.value * 1e3,
                width * 1e3,
                left.value * 1e3
            ))
            .with_remedy(format!(
                "move bell, levers or lights until {0:.0} mm are free and measure again (the levers' reach \
                 changes): {1}",
                ((width + good) * 1e3).ceil() + 2.0,
                prediction::read_again(
                    case,
                    "bar-free",
                    &format!("{:.0}mm", ((width + good) * 1e3).ceil() + 2.0)
                )
            ))
            .with_remedy(format!(
                "or a narrower display: lockring build {job} display=PART"
            )),
    )
}

fn unmeasured(missing: Missing) -> Finding {
    Finding::new(Verdict::Open, format!("missing: {}", missing.what)).with_remedy(missing.how)
}

#[cfg(test)]
mod tests;
