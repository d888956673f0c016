//! Tests of judgement: each side of a limit with and without doubt, worked by the guard bands of JCGM
//! 106:2012, 8.3.2 and 8.3.3, k = 2; and what is shown of it.

use super::*;
use crate::fact::Provenance;

fn judged(mm: f64, u_mm: f64) -> Judged<'static> {
    let known = Known {
        value: 1e-3 * mm,
        u: 1e-3 * u_mm,
        provenance: Provenance::Measured,
    };
    Judged::new("gap", known, Kind::Length, "mm")
}

const fn at_most(mm: f64) -> Limit {
    Limit::AtMost(1e-3 * mm)
}

#[test]
fn a_number_without_doubt_is_inside_on_the_limit_and_outside_beyond() {
    for (mm, verdict, remark) in [
        (4.999, Verdict::Pass, "within stored limit"),
        (5.0, Verdict::Pass, "within stored limit"),
        (5.001, Verdict::Fail, "over stored limit"),
    ] {
        let finding = judged(mm, 0.0).against(at_most(5.0));
        assert_eq!(finding.verdict, verdict, "{mm}");
        assert!(finding.summary.contains(remark), "{}", finding.summary);
        assert!(!finding.summary.contains('±'), "{}", finding.summary);
        assert_eq!(finding.figures[0].uncertainty, None);
    }
}

/// u = 0.5 mm: a millimetre to either side of the limit is doubt.
#[test]
fn between_pass_and_fail_lies_twice_the_expanded_doubt() {
    for (mm, verdict) in [
        (3.9, Verdict::Pass),
        (4.1, Verdict::Caution),
        (5.9, Verdict::Caution),
        (6.1, Verdict::Fail),
    ] {
        let finding = judged(mm, 0.5).against(at_most(5.0));
        assert_eq!(finding.verdict, verdict, "{mm}: {}", finding.summary);
        let in_doubt = finding.summary.contains("inside the measurement's doubt");
        assert_eq!(in_doubt, verdict == Verdict::Caution, "{}", finding.summary);
        let figure = &finding.figures[0];
        assert!((figure.margin.unwrap() - (5.0 - mm)).abs() < 1e-9);
        assert!((figure.uncertainty.unwrap() - 1.0).abs() < 1e-9);
        assert!(finding.summary.contains("± 1 mm"), "{}", finding.summary);
    }
}

#[test]
fn a_wider_limit_is_short_of_good_until_it_is_missed_too() {
    let (good, most) = (at_most(5.0), at_most(8.0));
    for (mm, verdict, remark) in [
        (4.0, Verdict::Pass, "within stored limit"),
        (6.0, Verdict::Caution, "short of good, tolerable"),
        (8.0, Verdict::Caution, "short of good, tolerable"),
        (8.1, Verdict::Fail, "over stored limit"),
    ] {
        let finding = judged(mm, 0.0).between(good, most);
        assert_eq!(finding.verdict, verdict, "{mm}");
        assert!(finding.summary.contains(remark), "{mm}: {}", finding.summary);
        assert!(
            finding
                .summary
                .contains("at most 5 mm; with a concession at most 8 mm"),
            "{}",
            finding.summary
        );
    }
    // With a doubt of 1 mm: clear of good and of the wider limit, or not.
    for (mm, remark) in [
        (5.5, "inside the measurement's doubt"),
        (6.5, "short of good, tolerable"),
        (
            7.5,
            "short of good, and the measurement's doubt reaches past what is tolerable",
        ),
    ] {
        let finding = judged(mm, 0.5).between(good, most);
        assert_eq!(finding.verdict, Verdict::Caution, "{mm}");
        assert!(finding.summary.contains(remark), "{mm}: {}", finding.summary);
    }
    assert_eq!(judged(9.5, 0.5).between(good, most).verdict, Verdict::Fail);
}

#[test]
fn each_limit_is_said_with_its_side() {
    let says = |limit: Limit, mm: f64| judged(mm, 0.0).against(limit).summary;
    for (limit, mm, words, missed) in [
        (at_most(5.0), 9.0, "at most 5 mm", "over stored limit"),
        (Limit::Below(5e-3), 5.0, "less than 5 mm", "over stored limit"),
        (
            Limit::AtLeast(5e-3),
            4.0,
            "at least 5 mm",
            "short of stored limit",
        ),
        (
            Limit::Within(1e-3, 5e-3),
            6.0,
            "1 mm to 5 mm",
            "outside stored limit",
        ),
    ] {
        let said = says(limit, mm);
        assert!(said.contains(words) && said.contains(missed), "{said}");
    }
}

/// Two digits say all that is known of a doubt (JCGM 100:2008, 7.2.6), and the number is no finer.
#[test]
fn a_number_is_shown_no_finer_than_its_doubt() {
    for (mm, u, shown, doubt) in [
        (51.534, 0.25, "51.53 mm", "± 0.5 mm"),
        (51.534, 0.5, "51.5 mm", "± 1 mm"),
        (51.534, 0.0623, "51.53 mm", "± 0.12 mm"),
        (51.534, 6.2, "52 mm", "± 12 mm"),
        (51.534, 0.0, "51.53 mm", ""),
    ] {
        let judged = judged(mm, u);
        assert_eq!(judged.shown(), shown, "{u}");
        let summary = judged.against(at_most(100.0)).summary;
        assert!(
            summary.contains(&format!("gap {shown}")) && summary.contains(doubt),
            "{summary}"
        );
    }
}

/// A doubt of 1 K is one of 1 °C: the offset of 273.15 cancels.
#[test]
fn a_difference_of_temperatures_has_no_offset() {
    let known = Known {
        value: 273.15 + 60.0,
        u: 0.5,
        provenance: Provenance::Measured,
    };
    let finding = Judged::new("case", known, Kind::Temperature, "C").against(Limit::AtMost(273.15 + 70.0));
    let figure = &finding.figures[0];
    assert!((figure.value - 60.0).abs() < 1e-9);
    assert!((figure.margin.unwrap() - 10.0).abs() < 1e-9);
    assert!((figure.uncertainty.unwrap() - 1.0).abs() < 1e-9);
    let plain = super::figure("case", Kind::Temperature, "C", 293.15);
    assert!((plain.value - 20.0).abs() < 1e-9 && plain.limit.is_empty() && plain.margin.is_none());
}

/// Nobody measures again what was counted, or read off a sheet.
#[test]
fn what_settles_a_doubt_goes_by_where_the_figure_is_from() {
    let near = judged(5.1, 0.5);
    let stated = Judged {
        known: Known {
            provenance: Provenance::Stated,
            ..near.known
        },
        ..near
    };
    let said = |judged: Judged<'_>| judged.against(at_most(5.0)).summary;
    assert!(
        said(near).ends_with("measure again or with a better instrument"),
        "{}",
        said(near)
    );
    assert!(
        said(stated).ends_with("measure them, or ask their maker"),
        "{}",
        said(stated)
    );
    let counted = near.settled_by("one pair of links more");
    assert!(
        said(counted).ends_with(": one pair of links more"),
        "{}",
        said(counted)
    );
}

/// JCGM 106:2012, 8.3: what counts is the doubt on the side on which the limit is. 10 mm may be 4 mm less and 1 mm more.
#[test]
fn an_uneven_doubt_counts_on_the_side_of_the_limit() {
    let of = |least: f64| {
        judged(10.0, 2.0)
            .uneven(0.004, 0.001)
            .settled_by("look again")
            .against(Limit::AtLeast(1e-3 * least))
    };
    for (least, verdict) in [
        (5.9, Verdict::Pass),
        (6.1, Verdict::Caution),
        (9.9, Verdict::Caution),
        (10.9, Verdict::Caution),
        (11.1, Verdict::Fail),
    ] {
        assert_eq!(of(least).verdict, verdict, "{least}");
    }
    let said = of(7.0).summary;
    assert!(
        said.contains("10 mm (from 6 mm to 11 mm)") && said.ends_with("look again"),
        "{said}"
    );
}
