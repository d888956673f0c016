//! Tests of the reader and writer of values: each shape, its edges, and what it is shown as.

use super::*;

const LENGTH: Field = Field::new(
    "stay-length",
    "chainstay length",
    Shape::Quantity {
        kind: Kind::Length,
        unit: "mm",
        window: (300.0, 700.0),
    },
);

const fn of(shape: Shape) -> Field {
    Field::new("x", "something", shape)
}

#[track_caller]
fn read(field: Field, text: &str) -> Option<Value> {
    field.read(text, false).ok()
}

/// As it is written in much of Europe; with slashes nobody knows which is the month.
#[test]
fn a_day_is_read_as_it_is_written_out() {
    let day = Some(Value::Day(Date::constant(2026, 3, 24)));
    for text in ["2026-03-24", "24.3.2026", "24.03.2026"] {
        assert_eq!(read(of(Shape::Day), text), day, "{text}");
    }
    for text in ["24.3.", "24.3.26", "31.2.2026", "+4.3.2026", "3/4/2026", "friday"] {
        assert_eq!(read(of(Shape::Day), text), None, "{text}");
    }
}

#[test]
fn a_quantity_is_taken_up_to_the_ends_of_its_window() {
    for (text, taken) in [
        ("300", true),
        ("299.9", false),
        ("700 mm", true),
        ("700.1 mm", false),
        ("0.45 m", true),
        ("45 cm", true),
        ("17.7 in", true),
        ("450 kg", false),
    ] {
        assert_eq!(read(LENGTH, text).is_some(), taken, "{text}");
    }
    assert_eq!(read(LENGTH, "450"), Some(Value::Number(0.45)));
    assert!(LENGTH.read("70", true).is_ok() && LENGTH.read("long", true).is_err());
}

/// No word lets through what cannot be; what may lie below zero says so by its window or its kind.
#[test]
fn what_is_less_than_nothing_is_refused_whatever_is_insisted_on() {
    let of = |kind, unit, window| of(Shape::Quantity { kind, unit, window });
    let reads = |field: Field, text: &str| field.read(text, true).is_ok();
    for field in [
        of(Kind::Length, "mm", (300.0, 700.0)),
        of(Kind::Mass, "kg", (0.0, 60.0)),
        of(Kind::Torque, "N m", (5.0, 60.0)),
        of(Kind::Count, "", (0.0, 60.0)),
    ] {
        let refused = field.read("-3", true).unwrap_err();
        assert!(matches!(&refused, FieldError::Unreadable { .. }), "{refused}");
        assert!(refused.to_string().contains("less than nothing"), "{refused}");
        assert!(reads(field, "0") && reads(field, "900"), "{field:?}");
    }
    assert!(reads(of(Kind::Length, "mm", (-10.0, 10.0)), "-30"));
    assert!(reads(of(Kind::Grade, "%", (0.5, 30.0)), "-3"));
    let outside = of(Kind::Temperature, "C", (-20.0, 50.0));
    assert!(reads(outside, "-40") && !reads(outside, "-300"));
}

/// A value that was meant ten or a hundred times larger or smaller is offered.
#[test]
fn a_slip_of_the_decimal_mark_is_offered_as_meant() {
    let meant = |text: &str| match LENGTH.read(text, false) {
        Err(FieldError::OutsideWindow { meant, low, high, .. }) => {
            assert_eq!((low.as_str(), high.as_str()), ("300 mm", "700 mm"));
            meant
        }
        other => panic!("{other:?}"),
    };
    assert_eq!(meant("45").as_deref(), Some("450 mm"));
    assert_eq!(meant("4500").as_deref(), Some("450 mm"));
    assert_eq!(meant("4.5").as_deref(), Some("450 mm"));
    assert_eq!(meant("45000").as_deref(), Some("450 mm"));
    // Metres without their unit.
    assert_eq!(meant("0.45").as_deref(), Some("450 mm"));
    assert_eq!(meant("100"), None);
}

/// A figure with the wrong unit is offered with the right one, milliampere hours without theirs as what they are.
#[test]
fn a_slip_of_the_unit_is_offered_as_meant() {
    let meant = |field: Field, text: &str| match field.read(text, false) {
        Err(FieldError::OutsideWindow { meant, .. }) => meant,
        other => panic!("{other:?}"),
    };
    let of = |kind, unit, window| of(Shape::Quantity { kind, unit, window });
    let mass = of(Kind::Mass, "kg", (10.0, 120.0));
    assert_eq!(meant(mass, "17.1lb").as_deref(), Some("17.1 kg"));
    assert_eq!(meant(mass, "171").as_deref(), Some("17.1 kg"));
    let charge = of(Kind::Charge, "Ah", (0.05, 60.0));
    assert_eq!(meant(charge, "950").as_deref(), Some("0.95 Ah"));
    assert_eq!(meant(charge, "95").as_deref(), Some("9.5 Ah"));
    // A ratio without its sign is what it is; with it a slip of the mark.
    let grade = of(Kind::Grade, "%", (0.5, 30.0));
    assert_eq!(meant(grade, "0.06").as_deref(), Some("6 %"));
    assert_eq!(meant(grade, "45").as_deref(), Some("4.5 %"));
    // Of what was counted a figure that was left out may be any: 16 links may be 116 or 160.
    let count = of(Kind::Count, "", (60.0, 300.0));
    assert_eq!(meant(count, "16"), None);
    assert_eq!(meant(count, "1160").as_deref(), Some("116"));
}

#[test]
fn so_many_out_of_so_many_is_never_more_than_was_tried() {
    for (text, tally) in [
        ("3/3", Some((3, 3))),
        ("0/3", Some((0, 3))),
        (" 2 / 3 ", Some((2, 3))),
        ("10 of 10", Some((10, 10))),
        ("9 out of 10", Some((9, 10))),
        ("4/3", None),
        ("0/0", None),
        ("1/0", None),
        ("3", None),
        ("1/2/3", None),
        ("-1/3", None),
    ] {
        let expected = tally.map(|(good, tried)| Value::Tally { good, tried });
        assert_eq!(read(of(Shape::Tally), text), expected, "{text}");
    }
}

/// The fewest and most teeth taken are 9 and 70.
#[test]
fn cogs_rise_and_have_as_many_teeth_as_cogs_have() {
    for (text, taken) in [
        ("11-13-15", true),
        ("9", true),
        ("70", true),
        ("8-9", false),
        ("9-71", false),
        ("13-11", false),
        ("11-11", false),
        ("", false),
        ("a-b", false),
    ] {
        assert_eq!(read(of(Shape::Teeth), text).is_some(), taken, "{text}");
    }
}

/// Ratios from 0.2 to 4, put in order, each once; the mark between them is whatever a sheet or a hand writes.
#[test]
fn ratios_of_a_hub_are_read_with_any_mark_between_and_kept_in_order() {
    let field = of(Shape::Ratios { window: (0.2, 4.0) });
    let three = Some(Value::Ratios(vec![0.75, 1.0, 1.33]));
    for text in [
        "0.75-1-1.33",
        "0.75,1,1.33",
        "0.75, 1, 1.33",
        "0,75 1 1,33",
        "0,75; 1; 1,33",
        "0.75/1/1.33",
        "1.33-1-0.75",
        " 0.75 - 1 - 1.33 ",
    ] {
        assert_eq!(read(field, text), three, "{text}");
    }
    for (text, why) in [
        ("0.1-1", "0.1 is no ratio"),
        ("1-4.1", "4.1 is no ratio"),
        ("75-100-133", "75 is no ratio"),
        ("0,75,1,1,33", "0 is no ratio"),
        ("1", "two or more"),
        ("1-1-1.3", "1 is there twice"),
        ("low-high", "not numbers"),
        ("", "two or more"),
    ] {
        let said = field.read(text, false).unwrap_err().to_string();
        assert!(
            said.contains(why) && said.contains("for example `0.75-1-1.33`"),
            "{said}"
        );
        assert!(said.contains("0.2 to 4 turns of the wheel"), "{said}");
    }
}

#[test]
fn each_shape_reads_what_it_shows_and_its_own_example() {
    let words: Shape = Shape::Word(&["told", "measured"]);
    for (shape, text, value, shown) in [
        (Shape::Money, "98,50", Value::Money(9_850), "98.50"),
        (words, "Told", Value::Word("told".into()), "told"),
        (Shape::Flag, "yes", Value::Flag(true), "yes"),
        (Shape::Flag, "no", Value::Flag(false), "no"),
        (
            Shape::Text,
            " some words ",
            Value::Text("some words".into()),
            "some words",
        ),
        (
            Shape::Day,
            "2026-03-24",
            Value::Day("2026-03-24".parse().unwrap()),
            "2026-03-24",
        ),
        (Shape::Teeth, "11-13", Value::Teeth(vec![11, 13]), "11-13"),
        (
            Shape::Ratios { window: (0.2, 4.0) },
            "0.75-1-1.33",
            Value::Ratios(vec![0.75, 1.0, 1.33]),
            "0.75-1-1.33",
        ),
        (Shape::Tally, "2/3", Value::Tally { good: 2, tried: 3 }, "2/3"),
        (Shape::Tally, "2 of 3", Value::Tally { good: 2, tried: 3 }, "2/3"),
    ] {
        let field = of(shape);
        assert_eq!(read(field, text).as_ref(), Some(&value), "{text}");
        assert_eq!(field.show(&value), shown);
        let example = field.example();
        assert!(read(field, &example).is_some(), "{example}");
    }
    for (shape, text) in [
        (Shape::Money, "-1"),
        (words, "guessed"),
        (Shape::Flag, "perhaps"),
        (Shape::Text, "  "),
        (Shape::Day, "2026-02-30"),
    ] {
        let error = of(shape).read(text, false).unwrap_err();
        assert!(matches!(error, FieldError::Unreadable { .. }), "{text}: {error}");
    }
    let long = of(Shape::Text)
        .read(&"ü".repeat(4001), false)
        .unwrap_err()
        .to_string();
    assert!(
        long.contains("it has 4001 characters, more than 4000") && long.len() < 400,
        "{long}"
    );
    assert!(read(of(Shape::Text), &"ü".repeat(4000)).is_some());
    // Every row of every table is an example of itself.
    for row in crate::code::all() {
        assert!(
            row.read(&row.example(), false).is_ok(),
            "{}: {}",
            row.key(),
            row.example()
        );
        assert!(!row.field.blank().is_empty(), "{}", row.key());
    }
}
