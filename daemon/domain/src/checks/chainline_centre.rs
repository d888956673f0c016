//! `chainline.centre`: the ring against the middle of the cassette.

use lockring_calc::chainline;
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction::sprockets::{self, Sprockets};
use crate::prediction::{self, FrontLine, Room};
use crate::stage::Stage;
use crate::unit::Kind;

/// Front chainline minus rear chainline.
pub static CHECK: Check = Check {
    id: "chainline.centre",
    title: "ring in line with the middle of the cassette",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 4,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: 5 mm good, 8 mm at most; single cog 2 mm good, 5 mm at most",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let read = prediction::read_front_line(case)?;
    let behind = ["chainline-rear", "single-cog-gap"];
    let measured = read.is_some() && behind.iter().any(|key| case.knows(key));
    if !sprockets::drivetrain_changed(case)? && !measured {
        return Halt::not_applicable("ring and cogs are the bicycle's own and stay where they were");
    }
    let Some(read) = read else {
        return unread(case);
    };
    let rear = sprockets::sprockets(case)?;
    Ok(vec![judged(case, &read, &rear, Line::Measured)])
}

/// While nobody has read the front line it is asked for, beside what the parts let expect of it.
fn unread(case: &Case<'_>) -> Outcome {
    let expected = match prediction::is_mid(case)? {
        true => prediction::predicted_front_line(case).ok().flatten(),
        false => None,
    };
    let rear = sprockets::sprockets(case);
    let (Some(front), Ok(rear)) = (expected, rear) else {
        return Err(prediction::open_front_line(case));
    };
    // At the stand it is measured: what was worked out beforehand says where to look and stops nothing.
    let expected = prediction::advise_only(
        judged(case, &front, &rear, Line::Predicted),
        "nobody has measured it yet",
    );
    let mut lack = case.lack_all(prediction::missing_front_line(case));
    lack.summary = format!("{}; {}", lack.summary, expected.summary);
    Ok(vec![expected, lack])
}

/// How the front line is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Line {
    /// By calliper, with the motor in.
    Measured,
    /// From the parts, before they are bought or while nobody has measured.
    Predicted,
}

impl Line {
    /// What is to be done about a figure inside its doubt.
    pub(super) const fn asks(self, judged: Judged<'_>) -> Judged<'_> {
        match self {
            Self::Measured => judged,
            Self::Predicted => judged.settled_by("inside the doubt of what it is computed from"),
        }
    }

    /// What is said of a figure that comes from it.
    pub(super) const fn said(self) -> &'static str {
        match self {
            Self::Measured => "",
            Self::Predicted => "as predicted, ",
        }
    }
}

/// The ring against the middle of the cassette, or against the single cog.
pub(super) fn judged(case: &Case<'_>, read: &FrontLine, rear: &Sprockets, by: Line) -> Finding {
    let front = read.line;
    let single = rear.cogs.len() == 1;
    let (good, most) = if single {
        (
            case.rule("chainline.single-good"),
            case.rule("chainline.single-most"),
        )
    } else {
        (
            case.rule("chainline.centre-good"),
            case.rule("chainline.centre-most"),
        )
    };
    let offset = chainline::offset(Length::from_si(front.value), Length::from_si(rear.centre.value)).si();
    let known = Known {
        value: offset,
        u: front.u.hypot(rear.centre.u),
        provenance: front.provenance,
    };
    let side = if offset < 0.0 { "inboard of" } else { "outboard of" };
    let behind = if single {
        "the cog"
    } else {
        "the cassette's centre"
    };
    let what = format!("{}ring {side} {behind} (outboard is positive), by", by.said());
    let finding = by
        .asks(Judged::new(&what, known, Kind::Length, "mm"))
        .between(Limit::Within(-good, good), Limit::Within(-most, most))
        .with_arithmetic(format!(
            "{:.1} mm front - {:.1} mm rear = {:+.1} mm",
            1e3 * front.value,
            1e3 * rear.centre.value,
            1e3 * offset
        ))
        .with_arithmetic(format!("front line {}; rear line {}", read.how, rear.how));
    let finding = remedies(case, known, good, by)
        .into_iter()
        .fold(finding, Finding::with_remedy);
    if rear.from_memory {
        prediction::advise_only(
            finding,
            "the cogs' spacing or the hub's recess is from memory: measure chainline-rear",
        )
    } else {
        finding
    }
}

fn remedies(case: &Case<'_>, offset: Known, good: f64, by: Line) -> Vec<String> {
    let job = case.job().number;
    let over = sprockets::enough_mm(offset.value.abs() + offset.expanded() - good);
    // Before there is a motor to measure beside, the same change is tried on the page of fit.
    let again = match by {
        Line::Measured => format!("lockring measure {job} chainline-front MM"),
        Line::Predicted => format!("lockring fit {job}"),
    };
    let ring = |way: &str, price: &str| {
        format!(
            "a ring with {over:.1} mm {way} dish{price}: lockring build {job} chainring=PART, then {again}"
        )
    };
    // Spacers move only as far as shell, thread and chainstay let them.
    let spacer = |room: fn(Room) -> f64, way: &str, price: &str| {
        let most = prediction::whole_tenths_mm(prediction::spacer_room(case).map_or(0.0, room));
        let moved = over.min(most);
        let short = if moved < over {
            format!(", no further, and {:.1} mm of dish with it", over - moved)
        } else {
            String::new()
        };
        (moved > 0.0).then(|| format!("{moved:.1} mm {way} of spacer{short}; {price}: then {again}"))
    };
    let (ring, spacer) = if offset.value < 0.0 {
        let price = "it costs as much thread and moves the right pedal out";
        (ring("less", ""), spacer(|room| room.more, "more", price))
    } else {
        let price = "it costs as much of the gap at the motor case";
        (
            ring("more", ", which comes as much nearer to the chainstay"),
            spacer(|room| room.less, "less", price),
        )
    };
    std::iter::once(ring).chain(spacer).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};

    fn lines(bench: Bench, front: &str, rear: &str) -> Bench {
        bench.measure(&[("chainline-front", front), ("chainline-rear", rear)])
    }

    #[test]
    fn the_longtail_goes_from_look_to_stop_and_back_as_its_ring_changes() {
        // Worked example of the trade (common practice, no source): 51.5 - 45.0 = +6.5 look;
        // flat ring 55.5, +10.5 stop; dished ring 52.5, +7.5 look.
        for (front, verdict) in [
            ("51.5", Verdict::Caution),
            ("55.5", Verdict::Fail),
            ("52.5", Verdict::Caution),
        ] {
            lines(longtail(), front, "45.0").expect(&CHECK, verdict);
        }
        let report = lines(longtail(), "51.5", "45.0").report(&CHECK);
        assert!((report.findings[0].figures[0].value - 6.5).abs() < 1e-9);
        assert!(
            report.findings[0].remedies[0].contains("2.3 mm more dish"),
            "{:?}",
            report.findings[0].remedies
        );
    }

    #[test]
    fn the_remedy_clears_it() {
        // 6.5 - 5 + 0.71 of doubt asks for 2.3 mm more dish: 51.5 - 2.3 = 49.2 by hand.
        lines(longtail(), "49.2", "45.0").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_spacer_is_taken_out_only_as_far_as_shell_and_chainstay_let_it() {
        let out = |more: &[(&str, &str)]| {
            let bench = lines(longtail(), "52.5", "45.0").measure(&[("spacer", "4 mm")]);
            let bench = lines(bench.measure(more), "52.5", "45.0");
            bench.report(&CHECK).findings[0].remedies[1..].join("; ")
        };
        // 7.5 - 5 + 0.71 of doubt: 3.3 mm. Stack 71.0 - 0.2 of doubt - 68 = 2.8 mm.
        assert!(out(&[("stack", "77")]).starts_with("3.3 mm less of spacer; "));
        let narrow = out(&[("stack", "71")]);
        assert!(
            narrow.starts_with("2.8 mm less of spacer, no further, and 0.5 mm of dish with it"),
            "{narrow}"
        );
        // A gap of 2.6 mm less the feeler's 0.1 mm leaves 1.0 mm to the 1.5 mm that are good.
        let near = out(&[("stack", "77"), ("motor-gap", "2.6")]);
        assert!(near.starts_with("1.0 mm less of spacer, no further"), "{near}");
        assert_eq!(out(&[("stack", "77"), ("motor-gap", "1.6")]), "");
    }

    #[test]
    fn the_limit_is_crossed_through_a_band_of_doubt() {
        // Two rules of 0.25 mm each: doubt 2 * hypot(0.25, 0.25) = 0.71 mm (JCGM 106:2012, 8.3).
        for (front, verdict) in [
            ("49.2", Verdict::Pass),
            ("49.5", Verdict::Caution),
            ("50.5", Verdict::Caution),
            ("53.5", Verdict::Caution),
            ("53.8", Verdict::Fail),
            ("36.2", Verdict::Fail),
            ("41.0", Verdict::Pass),
        ] {
            lines(longtail(), front, "45.0").expect(&CHECK, verdict);
        }
    }

    #[test]
    fn a_rear_line_that_was_not_measured_is_computed_and_said_so() {
        // 135/2 - 4.2 - 1.78/2 - 8 x 4.34/2 = 45.05 by hand; +8.95 is beyond 8 mm, but the
        // 9-speed spacing is from memory and only advises.
        let bench = longtail().measure(&[("chainline-front", "54.0")]);
        let report = bench.expect(&CHECK, Verdict::Caution);
        assert!((report.findings[0].figures[0].value - 8.95).abs() < 1e-6);
        assert!(
            report.findings[0].arithmetic[1].contains("computed"),
            "{:?}",
            report.findings[0].arithmetic
        );
        assert!(report.summary().contains("from memory"), "{}", report.summary());
        // The ten-speed spacing was read from its source and may stop.
        hardtail()
            .measure(&[("chainline-front", "58.0")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_hub_gear_has_narrower_limits() {
        let single = trekking().state(&[("cogs", "19")]);
        lines(single.clone(), "46.0", "45.0").expect(&CHECK, Verdict::Pass);
        lines(single.clone(), "48.5", "45.0").expect(&CHECK, Verdict::Caution);
        lines(single, "51.0", "45.0").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_single_speed_is_judged_by_what_the_calliper_gives_on_both_sides() {
        // Worked example of the trade (forum, read; common practice, no source): tube 30 mm, 27.5
        // mm to the tooth's centre, front 42.5; hub of 120 mm, 17.5 mm from the locknut to the
        // tooth's centre, rear 42.5: no offset. Ring and cog of 3 mm, so 26 mm and 16 mm to the
        // faces. The drivetrain is the bicycle's own and judged because it was measured.
        let read = trekking()
            .state(&[
                ("cogs", "16"),
                ("dropout-rear", "120"),
                ("single-cog-gap", "16.0"),
                ("cog-thickness", "3.0"),
            ])
            .measure(&[("line-tube", "30"), ("line-gap", "26.0"), ("line-ring", "3.0")]);
        let report = read.expect(&CHECK, Verdict::Pass);
        assert!(report.findings[0].figures[0].value.abs() < 1e-9);
        assert!(
            report.findings[0].arithmetic[1].contains("120.0/2 - 16.0 - 3.0/2 = 42.5 mm")
                && report.findings[0].arithmetic[1].contains("30.0/2 + 26.0 + 3.0/2 = 42.5 mm"),
            "{:?}",
            report.findings[0].arithmetic
        );
        // Three millimetres further out is past the good 2 mm of a single cog, six past the 5.
        let out = |gap: &str| read.clone().measure(&[("line-gap", gap)]);
        out("29.0").expect(&CHECK, Verdict::Caution);
        out("32.0").expect(&CHECK, Verdict::Fail);
        let half = read.forget("cog-thickness").expect(&CHECK, Verdict::Open);
        assert!(
            half.missing[0].how.contains("cog-thickness"),
            "{:?}",
            half.missing
        );
    }

    #[test]
    fn a_recess_known_from_memory_only_advises() {
        // 157 mm hubs sit 3.5 mm in on each side from memory of drawings: 150/2 - 4.2 - 1.6/2 -
        // 9 x 3.95/2 = 52.2 by hand, +9.8 mm beyond the 8 mm; the ten-speed spacing itself was read.
        let wide = hardtail()
            .state(&[("dropout-rear", "157"), ("first-cog-gap", "4.2")])
            .measure(&[("chainline-front", "62.0")]);
        let report = wide.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("from memory"), "{}", report.summary());
    }

    #[test]
    fn the_limits_go_with_their_value_and_basis_and_only_those_that_were_read() {
        let report = lines(longtail(), "51.5", "45.0").report(&CHECK);
        let standing: Vec<String> = report.limits.iter().map(|rule| rule.standing()).collect();
        assert_eq!(
            standing,
            [
                "chainline.centre-good 5 mm (common practice, no source)",
                "chainline.centre-most 8 mm (common practice, no source)",
            ]
        );
        let single = lines(trekking().state(&[("cogs", "19")]), "46.0", "45.0").report(&CHECK);
        assert_eq!(single.limits.len(), 2, "{:?}", single.limits);
        assert!(
            single.limits[0]
                .standing()
                .starts_with("chainline.single-good 2 mm (common practice"),
            "{:?}",
            single.limits
        );
    }

    #[test]
    fn a_ring_that_stays_is_judged_only_when_it_was_measured() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        // Worked example of the trade (common practice, no source): 47.5 - 45.0 = +2.5 go.
        lines(trekking(), "47.5", "45.0").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn what_was_read_on_the_bicycle_s_own_cogs_does_not_count_for_others() {
        let own = lines(trekking(), "47.5", "45.0");
        own.expect(&CHECK, Verdict::Pass);
        let other = own.build(&[("cassette", "cassette-9-11-34")]);
        let report = other.expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].what.contains("before the cassette was changed"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn without_a_front_line_it_is_open() {
        let report = longtail().expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0]
                .how
                .starts_with("lockring measure 21 chainline-front"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn the_dish_the_remedy_names_clears_it() {
        lines(longtail(), "51.5", "45.0").cured(&CHECK, "a ring with 2.3 mm more dish", |job| {
            lines(job, "49.2", "45.0")
        });
    }

    #[test]
    fn a_ring_right_before_the_centre_is_called_outboard_like_one_beyond_it() {
        for (front, side) in [
            ("45.0", "outboard of"),
            ("45.1", "outboard of"),
            ("44.9", "inboard of"),
        ] {
            let report = lines(longtail(), front, "45.0").report(&CHECK);
            assert!(report.summary().contains(side), "{front}: {}", report.summary());
        }
    }
}
