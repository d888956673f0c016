//! Tests of the quote: what each build costs, and what a rider is told of it.

use lockring_proto::v1::{Assignment, BuildLine, JobLine, RangeCase, TripView};

use super::*;

fn text_of(document: &Document) -> String {
    format!("{:?}", document.blocks)
}

fn told(
    view: &JobView,
    reply: &ProposeReply,
    account: &AccountView,
    range: Option<&RangeReply>,
    units: Units,
) -> Document {
    let choices: Vec<Choice<'_>> = picked(reply, view, &[])
        .into_iter()
        .map(|(number, build)| Choice {
            number,
            build,
            forecast: None,
            range,
        })
        .collect();
    quote(Quote {
        view,
        reply,
        choices: &choices,
        names: &HashMap::from([("rotor-203".to_owned(), "Rotor 203 mm".to_owned())]),
        account,
        companions: &CompanionsReply::default(),
        currency: "EUR",
        until: jiff::civil::date(2026, 5, 4),
        units,
    })
}

fn one_build() -> ProposeReply {
    let part = |field: &str, value: &str| Assignment {
        field: field.to_owned(),
        value: value.to_owned(),
    };
    let short = |check: &str, verdict: &str| GearingShort {
        check: check.to_owned(),
        verdict: verdict.to_owned(),
        summary: "10.4 mm, advice only: from memory: measure chainline-rear".to_owned(),
    };
    ProposeReply {
        proposals: vec![Proposal {
            parts: vec![part("pedal-sensor", "pas")],
            price_minor: Some(146_200),
            tax_minor: Some(23_343),
            planned_minutes: 260,
            planned_labour: 25_100,
            planned_labour_tax: 4_008,
            mass_kg: 39.2,
            range_km: 40.0,
            why: vec!["best price".to_owned(), "lightest".to_owned()],
            ..Proposal::default()
        }],
        bought: vec![part("rotor-front", "rotor-203")],
        everywhere: vec![short("chainline.centre", "open"), short("mass.margin", "caution")],
        ..ProposeReply::default()
    }
}

#[test]
fn a_build_has_one_total_with_its_own_tax_and_all_parts_that_are_bought() {
    // 1462.00 of parts and 251.00 of work: 1713.00. At 19 % there are 233.43 of tax in the parts, 1462 x 19 / 119 =
    // 233.428.., and 40.08 in the work, 251 x 19 / 119 = 40.075..: 273.51 in all, as lines of a quote add up.
    let account = AccountView {
        planned_labour: 38_860,
        tax_percent: Some("19".to_owned()),
        total: 120_200,
        to_pay: 120_200,
        ..AccountView::default()
    };
    let document = told(&JobView::default(), &one_build(), &account, None, Units::Metric);
    let text = text_of(&document);
    for part in [
        "1713.00",
        "273.51",
        "Rotor 203 mm",
        "rotor front",
        "pedal sensor",
        "build 1, in all",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    for part in [
        "1202.00",
        "any of them",
        "best price",
        "measure chainline",
        "pedal-sensor",
    ] {
        assert!(!text.contains(part), "{part}: {text}");
    }
    assert!(text.contains("still to be measured or asked before the work begins: chainline centre"));
}

#[test]
fn grades_differ_only_where_the_hill_was_told() {
    let said = |source: &str| {
        let view = JobView {
            facts: vec![FactView {
                code: "hill-source".to_owned(),
                value: source.to_owned(),
                ..FactView::default()
            }],
            ..JobView::default()
        };
        let account = AccountView::default();
        text_of(&told(&view, &one_build(), &account, None, Units::Metric)).contains("Grades differ")
    };
    assert!(said("told") && !said("measured") && !said("map"));
}

/// 1083.00 with 8.7 h at 58 are 1587.60; a hub of the same price with 6.7 h 1471.60 (by hand).
#[test]
fn each_build_has_the_work_of_its_own_kind() {
    let build = |motor: &str, minutes: u32, labour| Proposal {
        parts: vec![Assignment {
            field: "motor".to_owned(),
            value: motor.to_owned(),
        }],
        price_minor: Some(108_300),
        planned_minutes: minutes,
        planned_labour: labour,
        ..Proposal::default()
    };
    let reply = ProposeReply {
        proposals: vec![build("hub", 402, 38_860), build("mid", 522, 50_460)],
        ..ProposeReply::default()
    };
    let account = AccountView {
        planned_labour: 38_860,
        ..AccountView::default()
    };
    let text = text_of(&told(&JobView::default(), &reply, &account, None, Units::Metric));
    for part in [
        "388.60",
        "504.60",
        "1471.60",
        "1587.60",
        "build 1 6.7 h, build 2 8.7 h",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

#[test]
fn the_chosen_build_stands_first_and_alone_once_it_is_settled() {
    let mut reply = one_build();
    let other = Proposal {
        parts: Vec::new(),
        ..reply.proposals[0].clone()
    };
    reply.present = Some(reply.proposals[0].clone());
    reply.proposals.push(other);
    let at = |stage: &str| JobView {
        line: Some(JobLine {
            stage: stage.to_owned(),
            ..JobLine::default()
        }),
        ..JobView::default()
    };
    let numbers = |stage: &str, picks: &[usize]| -> Vec<usize> {
        let shown = picked(&reply, &at(stage), picks).into_iter();
        shown.map(|(number, _)| number).collect()
    };
    // The first of the proposal is the very build.
    assert_eq!(numbers("intake", &[]), [0, 2]);
    assert_eq!(numbers("fitting", &[]), [0]);
    assert_eq!(numbers("fitting", &[1, 2]), [1, 2]);
    assert_eq!(numbers("intake", &[0]), [0]);
    // Settled at less than the catalogue's 1462.00.
    let account = AccountView {
        total: 140_000,
        to_pay: 140_000,
        ..AccountView::default()
    };
    let text = text_of(&told(&at("parts"), &reply, &account, None, Units::Metric));
    assert!(
        text.contains("chosen build, in all") && text.contains("1400.00") && !text.contains("1713.00"),
        "{text}"
    );
    assert!(!text.contains("uild 1"), "{text}");
}

#[test]
fn the_build_of_the_job_costs_what_is_quoted_for_it_and_no_part_twice() {
    // One line of 1713.00 stands for parts of 1462.00 and work.
    let line = |slot: &str, part: &str| BuildLine {
        slot: slot.to_owned(),
        part: part.to_owned(),
        ..BuildLine::default()
    };
    let view = JobView {
        build: vec![line("pedal-sensor", "pas"), line("rotor-front", "rotor-203")],
        ..JobView::default()
    };
    let account = AccountView {
        lines: vec![QuoteLineView {
            kind: "other".to_owned(),
            words: "conversion".to_owned(),
            price: 171_300,
            ..QuoteLineView::default()
        }],
        total: 171_300,
        to_pay: 171_300,
        ..AccountView::default()
    };
    let mut reply = one_build();
    reply.proposals[0].planned_labour = 0;
    let of = |view| text_of(&told(view, &reply, &account, None, Units::Metric));
    let own = of(&view);
    assert!(own.contains("1713.00") && !own.contains("3175.00"), "{own}");
    // For another build it is named and added.
    let other = of(&JobView::default());
    assert!(
        other.contains("also quoted: conversion") && other.contains("3175.00"),
        "{other}"
    );
}

/// Parts at 549.00 that stay, a pack and a charger at 269.00 that left for 378.00, and work at 504.60: 549 + 378 + 504.60 =
/// 1431.60 (by hand), before and after the old lines are struck and the new ones quoted.
#[test]
fn a_line_whose_part_left_the_build_is_in_no_total() {
    let line = |slot: &str| BuildLine {
        slot: slot.to_owned(),
        part: slot.to_owned(),
        name: slot.to_owned(),
        ..BuildLine::default()
    };
    let view = JobView {
        build: vec![line("motor"), line("pack"), line("charger")],
        ..JobView::default()
    };
    let quoted = |kind: &str, slot: &str, price, left_build| QuoteLineView {
        kind: kind.to_owned(),
        words: format!("the {kind}"),
        slot: slot.to_owned(),
        price,
        left_build,
        ..QuoteLineView::default()
    };
    let account_of = |lines: Vec<QuoteLineView>| {
        let total = lines.iter().map(|line| line.price).sum();
        AccountView {
            lines,
            total,
            to_pay: total,
            ..AccountView::default()
        }
    };
    let part = |slot: &str| Assignment {
        field: slot.to_owned(),
        value: slot.to_owned(),
    };
    let reply = ProposeReply {
        present: Some(Proposal {
            parts: vec![part("motor"), part("pack"), part("charger")],
            price_minor: Some(92_700),
            planned_labour: 50_460,
            ..Proposal::default()
        }),
        ..ProposeReply::default()
    };
    let of = |lines| text_of(&told(&view, &reply, &account_of(lines), None, Units::Metric));
    let work = quoted("labour", "", 50_460, false);
    let old = [
        quoted("part", "pack", 24_000, true),
        quoted("part", "charger", 2_900, true),
    ];
    let motor = quoted("part", "motor", 54_900, false);
    let now = [
        quoted("part", "pack", 33_000, false),
        quoted("part", "charger", 4_800, false),
    ];
    let stale = [&[work.clone(), motor.clone()][..], &old].concat();
    let both = [&stale[..], &now].concat();
    let struck = [&[work, motor.clone()][..], &now].concat();
    // Without a line for work the parts alone are quoted, and the work is what is planned.
    let bare = [&[motor][..], &now].concat();
    for lines in [stale, both, struck, bare] {
        let text = of(lines);
        assert!(
            text.contains("1431.60") && text.contains("504.60") && text.contains("927.00"),
            "{text}"
        );
        assert!(
            !text.contains("also quoted") && !text.contains("1700.60"),
            "{text}"
        );
    }
}

/// A pack at 927.00 and work planned at 504.60 are 1431.60, at one hundredth more for the pack 1431.61, with 20.00 for the
/// way 1451.61; one line of 927.01 for all of it is that alone (by hand).
#[test]
fn parts_by_name_hold_no_work_at_any_price() {
    let view = JobView {
        build: vec![BuildLine {
            slot: "pack".to_owned(),
            part: "pack".to_owned(),
            name: "pack".to_owned(),
            ..BuildLine::default()
        }],
        ..JobView::default()
    };
    let reply = ProposeReply {
        present: Some(Proposal {
            parts: vec![Assignment {
                field: "pack".to_owned(),
                value: "pack".to_owned(),
            }],
            price_minor: Some(92_700),
            planned_labour: 50_460,
            planned_labour_tax: 8_057,
            ..Proposal::default()
        }),
        ..ProposeReply::default()
    };
    let line = |kind: &str, slot: &str, price, tax| QuoteLineView {
        kind: kind.to_owned(),
        words: "so called".to_owned(),
        slot: slot.to_owned(),
        price,
        tax,
        ..QuoteLineView::default()
    };
    let of = |lines: &[QuoteLineView]| {
        let total = lines.iter().map(|line| line.price).sum();
        let account = AccountView {
            lines: lines.to_vec(),
            total,
            to_pay: total,
            total_tax: lines.iter().map(|line| line.tax).sum(),
            tax_percent: Some("19".to_owned()),
            ..AccountView::default()
        };
        text_of(&told(&view, &reply, &account, None, Units::Metric))
    };
    // At 19 % there are 148.01 in 927.00 or 927.01, 3.19 in 20.00 and 80.57 in 504.60.
    let (exact, above) = (
        line("part", "pack", 92_700, 14_801),
        line("part", "pack", 92_701, 14_801),
    );
    let way = line("other", "", 2_000, 319);
    for (lines, total, tax) in [
        (vec![exact], "1431.60", "228.58"),
        (vec![above.clone()], "1431.61", "228.58"),
        (vec![above, way], "1451.61", "231.77"),
    ] {
        let text = of(&lines);
        for part in [total, tax, "504.60", "Work is not quoted line by line yet"] {
            assert!(text.contains(part), "{part}: {text}");
        }
        assert!(!text.contains("in what is quoted"), "{text}");
    }
    let text = of(&[line("other", "", 92_701, 14_801)]);
    assert!(
        text.contains("in what is quoted") && text.contains("148.01") && !text.contains("504.60"),
        "{text}"
    );
    // One for all parts together at just what they cost is no part twice.
    let text = of(&[line("other", "", 92_700, 14_801)]);
    assert!(text.contains("1431.60") && !text.contains("2358.60"), "{text}");
}

#[test]
fn an_agreed_total_below_the_work_shows_no_price_of_parts_below_naught() {
    // 1462.00 of parts and 500.00 of work, agreed at 400.00 in all: the parts would be -100.00.
    let line = |slot: &str, part: &str| BuildLine {
        slot: slot.to_owned(),
        part: part.to_owned(),
        name: part.to_owned(),
        ..BuildLine::default()
    };
    let view = JobView {
        build: vec![line("pedal-sensor", "pas"), line("rotor-front", "rotor-203")],
        ..JobView::default()
    };
    let quoted = |kind: &str, words: &str, price| QuoteLineView {
        kind: kind.to_owned(),
        words: words.to_owned(),
        price,
        ..QuoteLineView::default()
    };
    let account = AccountView {
        lines: vec![quoted("part", "pas", 146_200), quoted("labour", "work", 50_000)],
        total: 40_000,
        to_pay: 40_000,
        ..AccountView::default()
    };
    let text = text_of(&told(&view, &one_build(), &account, None, Units::Metric));
    assert!(
        text.contains("in what is quoted") && !text.contains("-100.00"),
        "{text}"
    );
}

#[test]
fn a_road_that_the_motor_does_not_bear_is_told_before_it_is_signed() {
    let mut range = RangeReply {
        trip: Some(TripView {
            winding_limit_c: Some(110.0),
            over_limit_at_km: Some(6.4),
            ..TripView::default()
        }),
        ..RangeReply::default()
    };
    let of = |range: &RangeReply| {
        let account = AccountView::default();
        text_of(&told(
            &JobView::default(),
            &one_build(),
            &account,
            Some(range),
            Units::Metric,
        ))
    };
    assert!(
        of(&range).contains("stored limit of 110 C after 6.4 km"),
        "{}",
        of(&range)
    );
    range.trip.as_mut().unwrap().over_limit_at_km = None;
    assert!(!of(&range).contains("does not bear"));
    // Borne once, but not as long as the charge lasts.
    range.cases = vec![RangeCase {
        over_limit_km: Some(31.0),
        ..RangeCase::default()
    }];
    assert!(of(&range).contains("after 31.0 km"));
}

#[test]
fn a_shop_that_reads_imperial_units_quotes_in_them_and_no_value_has_more_digits_than_it_carries() {
    let fact = |name: &str, code: &str, value: &str| FactView {
        name: name.to_owned(),
        code: code.to_owned(),
        value: value.to_owned(),
        ..FactView::default()
    };
    let view = JobView {
        facts: vec![
            fact("climb", "climb", "643.7 m"),
            fact("rider", "rider-mass", "92.99 kg"),
            fact("load", "load-mass", "6.804 kg"),
        ],
        ..JobView::default()
    };
    let of = |units| text_of(&told(&view, &one_build(), &AccountView::default(), None, units));
    let metric = of(Units::Metric);
    for part in ["\"644 m\"", "\"93 kg\"", "\"6.8 kg\"", "\"40 km\"", "\"39.2 kg\""] {
        assert!(metric.contains(part), "{part}: {metric}");
    }
    // 40 km are 24.9 mi, 39.2 kg 86.4 lb.
    let feet = of(Units::Imperial);
    for part in [" lb (93 kg)\"", " ft (644 m)\"", " mi (40 km)\""] {
        assert!(feet.contains(part), "{part}: {feet}");
    }
}
