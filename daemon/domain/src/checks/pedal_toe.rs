//! `pedal.toe`: room for the foot behind the front wheel.

use lockring_calc::clearance;
use lockring_calc::doubt::{COVERAGE, Limit};
use lockring_calc::quantity::Length;
use lockring_calc::wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::code;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Pedal to front wheel.
pub static CHECK: Check = Check {
    id: "pedal.toe",
    title: "toes clear of the front wheel",
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
    source: "16 CFR 1512.17(d): 89 mm from the pedal's middle to the arc of tyre or mudguard, without toe clips",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("toe-clearance") && !case.knows("front-centre") {
        return Halt::not_applicable("neither the toes' room nor the front centre was measured");
    }
    let clips = case.knows("toe-clips") && case.flag("toe-clips")?;
    let Some(limit) = clearance::toe_limit(clips) else {
        return Halt::not_applicable("toe clips hold the foot, where the rule does not ask");
    };
    let limit = match limit {
        Limit::AtLeast(mm) => Limit::AtLeast(Length::millimetres(mm).si()),
        other => other,
    };
    let job = case.job().number;
    if let Some(measured) = case.optional_number("toe-clearance") {
        let finding = Judged::new("pedal to front wheel, as measured", measured, Kind::Length, "mm");
        return Ok(vec![cured(case, finding.against(limit))?]);
    }
    let (room, line) = computed(case)?;
    let mut finding = Judged::new("pedal to front wheel, computed", room, Kind::Length, "mm")
        .against(limit)
        .with_arithmetic(line);
    if finding.verdict == Verdict::Fail {
        // The wheel is taken straight and the crank as pointing at the axle: nothing comes nearer.
        finding = cured(case, finding)?;
    } else {
        finding = finding.with_arithmetic(
            "wheel straight, crank at the axle; a wheel steered far can come nearer beside the crank: measure a near pass",
        );
    }
    Ok(vec![finding.with_remedy(format!(
        "measure it with the bar turned to where it comes nearest: lockring measure {job} toe-clearance VALUE"
    ))])
}

/// Distance by front centre, crank and the wheel's outside.
fn computed(case: &Case<'_>) -> Result<(Known, String), Halt> {
    prediction::need(case, &["front-centre", "crank-length"])?;
    let (centre, crank) = (case.number("front-centre")?, case.number("crank-length")?);
    let radius = match case.optional_number("front-radius") {
        Some(measured) => measured,
        None => by_mark(case)?,
    };
    let length = |known: Known| Length::from_si(known.value);
    let room = clearance::toe_clearance(length(centre), length(crank), length(radius))
        .map_err(|error| prediction::unusable(case, "front wheel and crank", &error))?;
    let line = format!(
        "{:.0} mm front centre - {:.1} mm crank - {:.0} mm wheel = {:.0} mm",
        1e3 * centre.value,
        1e3 * crank.value,
        1e3 * radius.value,
        room.as_millimetres()
    );
    Ok((
        Known {
            value: room.si(),
            u: centre.u.hypot(crank.u).hypot(radius.u),
            ..centre
        },
        line,
    ))
}

/// The tyre's outside by its mark; a mudguard reaches further and wants measuring.
fn by_mark(case: &Case<'_>) -> Result<Known, Halt> {
    let mark = prediction::tyre_mark(case, Slot::TyreFront)?;
    let tyre = wheel::parse_tyre(mark).ok().and_then(|mark| mark.known());
    let tyre = tyre.ok_or_else(|| case.open("front-radius"))?;
    case.assume("no mudguard on the front wheel");
    let radius = tyre.bead_seat / 2.0 + tyre.width;
    // As for circumferences: the largest deviation of a mark, as a rectangle's half width.
    let tolerance = wheel::circumference_tolerance(tyre.bead_seat).unwrap_or(0.04);
    Ok(Known {
        value: radius.si(),
        u: radius.si() * tolerance / 3f64.sqrt(),
        provenance: crate::fact::Provenance::Stated,
    })
}

fn cured(case: &Case<'_>, finding: Finding) -> Result<Finding, Halt> {
    let job = case.job().number;
    let mut finding = finding;
    if let (Some(centre), Some(radius)) = (
        case.optional_number("front-centre"),
        case.optional_number("front-radius"),
    ) {
        let longest = clearance::longest_crank(Length::from_si(centre.value), Length::from_si(radius.value))
            .map_err(|error| prediction::unusable(case, "front wheel", &error))?;
        // The doubt of what is computed kept off and down to the millimetre, so that the cure cures.
        let crank = code::find("crank-length").map_or(0.0, code::Code::uncertainty_si);
        let doubt = 1e3 * COVERAGE * centre.u.hypot(radius.u).hypot(crank);
        if let Some(longest) = longest {
            finding = finding.with_remedy(format!(
                "cranks of at most {:.0} mm, then measure again: lockring donor {job} crank-length VALUE",
                (longest.as_millimetres() - doubt + 1e-6).floor()
            ));
        }
    }
    Ok(finding.with_remedy(format!(
        "a narrower front tyre or a closer mudguard, then: {}",
        prediction::read_again(case, "toe-clearance", "VALUE")
    )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail};

    fn bicycle(centre: &str) -> Bench {
        longtail().state(&[
            ("front-centre", centre),
            ("crank-length", "170 mm"),
            ("front-radius", "340 mm"),
        ])
    }

    #[test]
    fn eighty_nine_millimetres_are_asked() {
        // 16 CFR 1512.17(d): 89 mm; 599 - 170 - 340 = 89 by hand. Rules of 1 mm, crank 0.5:
        // doubt 2 x 1.5 = 3 mm.
        for (centre, verdict) in [
            ("602.5 mm", Verdict::Pass),
            ("600 mm", Verdict::Caution),
            ("598 mm", Verdict::Caution),
            ("595 mm", Verdict::Fail),
        ] {
            bicycle(centre).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn what_was_measured_stands_before_what_is_computed() {
        let near = bicycle("595 mm").measure(&[("toe-clearance", "95 mm")]);
        near.expect(&CHECK, Verdict::Pass);
        near.measure(&[("toe-clearance", "80 mm")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn shorter_cranks_clear_it() {
        let near = bicycle("595 mm");
        let report = near.expect(&CHECK, Verdict::Fail);
        // 595 - 340 - 89 - 3 of doubt = 163 mm by hand.
        assert!(
            report.findings[0].remedies[0].starts_with("cranks of at most 163 mm"),
            "{:?}",
            report.findings[0].remedies
        );
        near.cured(&CHECK, "cranks of at most 163 mm", |job| {
            job.state(&[("crank-length", "163 mm")])
        });
    }

    #[test]
    fn a_wheel_by_its_mark_alone_rests_on_an_assumption() {
        // 54-559: 279.5 + 54 = 333.5 mm by hand; 640 - 170 - 333.5 = 136.5 mm.
        let marked = longtail().state(&[("front-centre", "640 mm"), ("crank-length", "170 mm")]);
        let report = marked.expect(&CHECK, Verdict::Caution);
        assert!((report.findings[0].figures[0].value - 136.5).abs() < 1e-6);
        assert!(report.summary().contains("no mudguard"), "{}", report.summary());
    }

    #[test]
    fn toe_clips_and_nothing_measured_are_not_concerned() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        bicycle("595 mm")
            .state(&[("toe-clips", "yes")])
            .expect(&CHECK, Verdict::NotApplicable);
        bicycle("595 mm")
            .state(&[("toe-clips", "no")])
            .expect(&CHECK, Verdict::Fail);
        longtail()
            .state(&[("front-centre", "600 mm")])
            .expect(&CHECK, Verdict::Open);
    }
}
