//! Tests of ride classes. Readings and verdicts are workshop examples computed by hand from
//! the rules named beside them.

use lockring_calc::doubt::{self, Graded};

use super::*;

fn kmh(value: f64) -> f64 {
    value / 3.6
}

fn class(id: &str) -> &'static RideClass {
    find(id).unwrap_or_else(|| panic!("{id}"))
}

#[test]
fn every_row_is_read_once() {
    assert_eq!(all().len(), 34);
    let words: std::collections::BTreeSet<_> = all().iter().map(|class| &class.id).collect();
    assert_eq!(words.len(), 34);
    for class in all() {
        assert!(
            !class.name.is_empty() && !class.region.is_empty() && !class.source.is_empty(),
            "{class:?}"
        );
        assert!(
            !class.source.contains("www") && !class.source.contains(".com"),
            "{class:?}"
        );
    }
    assert!(find("eu-epac-50").is_none());
}

#[test]
fn a_broken_table_is_refused() {
    let broken = |from: &str, to: &str| read(&TABLE.replacen(from, to, 1)).unwrap_err();
    assert!(broken(",walk,", ",sometimes,").contains("throttle `sometimes`"));
    assert!(broken("nominal_lt", "by-feel").contains("power basis `by-feel`"));
    assert!(broken(",750,", ",,").contains("basis without power"));
    assert!(broken(",750,", ",-750,").contains("power `-750`"));
}

#[test]
fn rules_in_miles_are_kept_in_miles() {
    // 36 CFR 1.4 (20, 28 mph); SI 2015/24 reg. 2 (15.5 mph); NY VTL 102-c (25 mph).
    for (id, mph) in [
        ("us-class1", 20.0),
        ("us-class3", 28.0),
        ("gb-eapc", 15.5),
        ("us-ny-class3", 25.0),
    ] {
        let limit = class(id).max_assist_speed.unwrap();
        assert_eq!((limit.value, limit.unit), (mph, SpeedUnit::Mph), "{id}");
        // 1 mile is 1609.344 m exactly.
        assert!(
            (limit.metres_per_second() - mph * 1609.344 / 3600.0).abs() < 1e-12,
            "{id}"
        );
    }
    assert_eq!(class("gb-eapc").max_assist_speed.unwrap().show(), "15.5 mph");
    assert_eq!(class("eu-epac").max_assist_speed.unwrap().show(), "25 km/h");
    assert_eq!(class("us-fed-lseb").max_assist_speed, None);
    assert_eq!(
        class("nz-pac").judge_assist_speed(kmh(60.0), 0.02),
        SpeedVerdict::NoLimit
    );
}

/// The table's rounded km/h and the exact miles are the same rule.
#[test]
fn exact_limits_agree_with_the_table_to_its_last_digit() {
    let rows = csv::records(HEADER, TABLE).unwrap();
    let mut compared = 0;
    for row in rows.iter().filter(|row| !row[3].is_empty()) {
        let table: f64 = row[3].parse().unwrap();
        let exact = class(&row[0]).max_assist_speed.unwrap().metres_per_second() * 3.6;
        assert!(
            (exact - table).abs() <= 0.0051,
            "{}: {exact} against {table}",
            row[0]
        );
        compared += 1;
    }
    assert_eq!(compared, 30);
}

#[test]
fn a_measured_assist_speed_is_within_over_or_uncertain() {
    use SpeedVerdict::{Over, Uncertain, Within};
    // 15.5 mph is 24.945 km/h: 24.892 to 25.908 straddles it, and a limit of law has no allowance.
    assert_eq!(class("gb-eapc").judge_assist_speed(kmh(25.4), 0.02), Uncertain);
    // 27.621 is over 27.5, the limit and 10 % (EN 15194).
    assert_eq!(class("eu-epac").judge_assist_speed(kmh(27.9), 0.01), Over);
    // 24.786 is under 25.
    assert_eq!(class("eu-epac").judge_assist_speed(kmh(24.3), 0.02), Within);
    // Inside the allowance: neither.
    assert_eq!(class("eu-epac").judge_assist_speed(kmh(26.5), 0.01), Uncertain);
    assert_eq!(class("gb-eapc").judge_assist_speed(kmh(26.5), 0.01), Over);
    // At the limit without doubt: a strict comparator does not take it, the other does.
    assert_eq!(class("eu-epac").judge_assist_speed(kmh(25.0), 0.0), Uncertain);
    assert_eq!(class("ie-ebike").judge_assist_speed(kmh(25.0), 0.0), Within);
    // A larger error never makes a reading better known.
    assert_eq!(class("eu-epac").judge_assist_speed(kmh(24.3), -0.02), Within);
    assert_eq!(class("eu-epac").judge_assist_speed(kmh(24.3), 0.10), Uncertain);
}

/// What the checks of the walk assistance and of the speed by the motor alone judge by.
#[test]
fn the_motor_alone_has_its_own_limit() {
    let judged = |id: &str, speed: f64, u: f64| {
        let limit = class(id).motor_only.limit()?;
        Some(doubt::grade(speed, u * speed, limit, None))
    };
    let doubtful = Some(Graded::Caution { in_doubt: true });
    // EN 15194 start-up assistance: 6 km/h.
    assert_eq!(judged("eu-epac", kmh(5.6), 0.02), Some(Graded::Pass));
    assert_eq!(judged("eu-epac", kmh(8.0), 0.02), Some(Graded::Fail));
    // 16 CFR 1512.2(a)(2): strictly below 20 mph, 32.187 km/h.
    assert_eq!(judged("us-fed-lseb", kmh(31.0), 0.02), Some(Graded::Pass));
    assert_eq!(judged("us-fed-lseb", kmh(32.187), 0.01), doubtful);
    assert_eq!(
        judged("us-fed-lseb", 20.0 * 1609.344 / 3600.0, 0.0),
        Some(Graded::Fail)
    );
    // 36 CFR 1.4: class 1 only while pedalling; class 2 to 20 mph.
    assert_eq!(judged("us-class1", kmh(3.0), 0.02), Some(Graded::Fail));
    assert_eq!(judged("us-class1", 0.0, 0.02), Some(Graded::Pass));
    assert_eq!(judged("us-class2", kmh(31.0), 0.02), Some(Graded::Pass));
    assert_eq!(
        judged("us-class2", 20.0 * 1609.344 / 3600.0, 0.0),
        Some(Graded::Pass)
    );
    // Calif. Veh. Code 312.5 since 2025: 3.7 mph (5.95 km/h).
    assert_eq!(judged("us-ca-class3", kmh(5.9), 0.0), Some(Graded::Pass));
    assert_eq!(judged("us-ca-class3", kmh(6.0), 0.0), Some(Graded::Fail));
    // Swiss VTS Art. 18: 20 and 30 km/h.
    assert_eq!(judged("ch-slow", kmh(24.0), 0.02), Some(Graded::Fail));
    assert_eq!(judged("ch-fast", kmh(24.0), 0.02), Some(Graded::Pass));
    assert_eq!(judged("ca-on", kmh(31.0), 0.02), Some(Graded::Pass));
    assert_eq!(judged("nz-pac", kmh(50.0), 0.02), None);
}

/// EN 15194: 25 km/h or lower by design (as adopted in TBIS 15194:2019, 4.2.11); SI 2015/24: 15.5 mph, 24.945 km/h.
#[test]
fn a_setting_at_the_limit_keeps_it() {
    let takes = |id: &str, speed: f64| class(id).max_assist_speed.unwrap().takes_setting(kmh(speed));
    assert!(takes("eu-epac", 25.0) && !takes("eu-epac", 25.1));
    assert!(takes("gb-eapc", 24.9) && !takes("gb-eapc", 25.0));
}

#[test]
fn power_is_compared_like_with_like() {
    use PowerVerdict::{NoLimit, NotComparable, Over, Within};
    // California Vehicle Code 312.5 since 2025: does not exceed 750 W. Model text: less than 750 W.
    assert_eq!(
        class("us-ca-class1").judge_power(750.0, PowerBasis::Nominal),
        Within
    );
    assert_eq!(class("us-class1").judge_power(750.0, PowerBasis::Nominal), Over);
    assert_eq!(class("us-class1").judge_power(749.0, PowerBasis::Nominal), Within);
    // Regulation (EU) 168/2013: continuous rated power; a peak figure says nothing about it.
    assert_eq!(
        class("eu-epac").judge_power(250.0, PowerBasis::ContinuousRated),
        Within
    );
    assert_eq!(
        class("eu-epac").judge_power(350.0, PowerBasis::ContinuousRated),
        Over
    );
    assert_eq!(
        class("eu-epac").judge_power(600.0, PowerBasis::MaxOutput),
        NotComparable
    );
    assert_eq!(
        class("ch-slow").judge_power(250.0, PowerBasis::ContinuousRated),
        NotComparable
    );
    // A limit of greatest output: what a motor is rated at it gives at least.
    for stated in [PowerBasis::Nominal, PowerBasis::ContinuousRated] {
        assert_eq!(class("nz-pac").judge_power(350.0, stated), Over);
        assert_eq!(class("nz-pac").judge_power(300.0, stated), NotComparable);
    }
    assert_eq!(
        class("jp-assist").judge_power(250.0, PowerBasis::ContinuousRated),
        NoLimit
    );
    assert_eq!(
        PowerBasis::from_word("continuous"),
        Some(PowerBasis::ContinuousRated)
    );
    assert_eq!(PowerBasis::from_word("loud"), None);
    assert_eq!(class("eu-epac").max_power.unwrap().show(), "at most 250 W");
    assert_eq!(class("us-class1").max_power.unwrap().show(), "below 750 W");
    // New Zealand Gazette notice of 2013: maximum output of 300 W.
    let (limit, basis) = (class("nz-pac").max_power.unwrap(), class("nz-pac").power_basis);
    assert_eq!((limit.watts, basis), (300.0, PowerBasis::MaxOutput));
}

#[test]
fn stopping_distances_masses_and_dates_are_kept() {
    // British Columbia light e-bike: 25 km/h in 7.5 m.
    let light = class("ca-bc-light").stop.unwrap();
    assert!((light.from().as_kilometres_per_hour() - 25.0).abs() < 1e-9);
    assert_eq!(doubt::grade(7.6, 0.0, light.limit(), None), Graded::Fail);
    assert_eq!(doubt::grade(7.5, 0.0, light.limit(), None), Graded::Pass);
    assert_eq!(class("eu-epac").stop, None);
    // Implied decelerations in m/s², v²/(2s): 3.22, 4.39, 3.86, 4.86.
    for (id, deceleration) in [
        ("ca-bc-light", 3.22),
        ("ca-bc-standard", 4.39),
        ("ca-on", 3.86),
        ("us-fed-lseb", 4.86),
    ] {
        let stop = class(id).stop.unwrap();
        let implied = kmh(stop.from_kmh).powi(2) / (2.0 * stop.within_m);
        assert!((implied - deceleration).abs() < 0.006, "{id}: {implied}");
    }
    assert_eq!(class("ca-on").max_mass.unwrap().kilograms, 120.0);
    assert_eq!(class("au-nsw-500").valid_until, Some(date(2029, 3, 1)));
    let approved: Vec<_> = all()
        .iter()
        .filter(|class| class.approval_required)
        .map(|class| class.id.as_str())
        .collect();
    assert_eq!(
        approved,
        ["eu-l1e-a", "eu-l1e-b", "gb-eapc-tag", "cn-ebike", "sg-pab"]
    );
    let allowed: Vec<_> = all()
        .iter()
        .filter(|class| class.test_allowance > 0.0)
        .map(|class| class.id.as_str())
        .collect();
    assert_eq!(
        allowed,
        ["eu-epac", "no-elsykkel", "au-epac", "au-nsw-500", "sg-pab"]
    );
}

#[test]
fn memory_is_marked_and_texts_never_judge() {
    assert!(class("no-elsykkel").from_memory && class("us-class3").from_memory);
    assert!(!class("us-class1").from_memory);
    assert!(class("no-elsykkel").limits_from_memory && class("eu-l1e-b").limits_from_memory);
    assert!(!class("us-class3").limits_from_memory);
    let text = class("eu-epac").deference();
    assert!(
        text.contains("EPAC") && text.contains("2026-10-01") && text.contains("168/2013"),
        "{text}"
    );
    assert!(!text.contains('{'), "{text}");
    for text in [D1, D2, D3, D4, D5, D6, D7, D8, D9] {
        for word in ["compliant", "certified", "approved", "road-legal", "is legal"] {
            assert!(!text.contains(word), "{text}");
        }
    }
}

/// Limits beyond the columns of the table, by the sources named in `limits.rs`.
#[test]
fn limits_few_classes_have_are_theirs_alone() {
    let mass = |class: &RideClass| class.max_mass.map(MassLimit::show);
    for (id, said) in [
        ("cn-ebike", "at most 55 kg"),
        ("ca-on", "at most 120 kg"),
        ("sg-pab", "at most 20 kg"),
        ("kr-pas", "below 30 kg"),
        ("eu-l1e-b", "at most 35 kg without its pack"),
        ("in-ev", "at most 60 kg without its pack"),
    ] {
        assert_eq!(mass(class(id)).as_deref(), Some(said), "{id}");
    }
    assert_eq!(all().iter().filter(|class| class.max_mass.is_some()).count(), 6);
    // EN 15194, scope, and GB 17761-2024.
    let by_volts: Vec<_> = all()
        .iter()
        .filter(|class| class.max_nominal_volts == Some(48.0))
        .map(|class| class.id.as_str())
        .collect();
    assert_eq!(
        by_volts,
        [
            "eu-epac",
            "no-elsykkel",
            "au-epac",
            "au-nsw-500",
            "cn-ebike",
            "sg-pab"
        ]
    );
    for (id, from_kmh, within_m) in [
        ("us-fed-lseb", 24.0, 4.57),
        ("us-class1", 24.0, 4.57),
        ("us-class2", 24.0, 4.57),
        ("us-class3", 24.0, 4.57),
        ("us-ca-class1", 24.0, 4.57),
        ("us-ca-class2", 24.0, 4.57),
        ("us-ca-class3", 24.0, 4.57),
        ("us-ny-class3", 24.0, 4.57),
        ("ca-on", 30.0, 9.0),
        ("ca-bc-standard", 32.0, 9.0),
        ("ca-bc-light", 25.0, 7.5),
    ] {
        let stop = class(id).stop.unwrap();
        assert_eq!((stop.from_kmh, stop.within_m), (from_kmh, within_m), "{id}");
        // 150 lb.
        assert_eq!(stop.rider_kg, id.starts_with("us-").then_some(68.1), "{id}");
    }
    assert_eq!(all().iter().filter(|class| class.stop.is_some()).count(), 11);
    // 36 in.
    assert_eq!(class("us-ny-class3").max_width_mm, Some(914.4));
    let wheels = class("ca-on").wheels.unwrap();
    assert_eq!((wheels.width_mm, wheels.diameter_mm), (35.0, 350.0));
    let ratio = class("jp-assist").assist_ratio.unwrap();
    for (kmh, most) in [(5.0, 2.0), (10.0, 2.0), (17.0, 1.0), (24.0, 0.0), (30.0, 0.0)] {
        assert!((ratio.at(kmh) - most).abs() < 1e-12, "{kmh}");
    }
    assert_eq!(class("au-nsw-500").built_until, Some(date(2026, 2, 28)));
    for (id, until) in [("ca-fed-2001", "2021-02-28"), ("au-nsw-500", "2029-03-01")] {
        assert_eq!(class(id).valid_until, Some(until.parse().unwrap()), "{id}");
    }
    assert_eq!(
        all().iter().filter(|class| class.valid_until.is_some()).count(),
        2
    );
    let ids = |has: fn(&RideClass) -> bool| -> Vec<&str> {
        all()
            .iter()
            .filter(|class| has(class))
            .map(|class| class.id.as_str())
            .collect()
    };
    assert_eq!(
        ids(|class| class.approval_required),
        ["eu-l1e-a", "eu-l1e-b", "gb-eapc-tag", "cn-ebike", "sg-pab"]
    );
    assert_eq!(
        ids(|class| class.test_allowance > 0.0),
        ["eu-epac", "no-elsykkel", "au-epac", "au-nsw-500", "sg-pab"]
    );
}

/// What the motor may do alone, by the sources named in `limits.rs`.
#[test]
fn the_motor_alone_is_held_to_what_the_class_says_of_it() {
    let alone = |id: &str| class(id).motor_only;
    let up_to = |id: &str| match alone(id) {
        MotorOnly::UpTo(limit) => (limit.value, limit.unit, limit.comparator),
        other => panic!("{id}: {other:?}"),
    };
    use Comparator::{Le, Lt};
    use SpeedUnit::{Kmh, Mph};
    for (id, value, unit, comparator) in [
        ("us-fed-lseb", 20.0, Mph, Lt),
        ("us-ca-class1", 3.7, Mph, Le),
        ("us-ca-class3", 3.7, Mph, Le),
        ("ch-slow", 20.0, Kmh, Le),
        ("ch-fast", 30.0, Kmh, Le),
        ("eu-epac", 6.0, Kmh, Le),
        ("us-class2", 20.0, Mph, Le),
    ] {
        assert_eq!(up_to(id), (value, unit, comparator), "{id}");
    }
    assert_eq!(alone("us-class1"), MotorOnly::Never);
    assert_eq!(alone("generic-private"), MotorOnly::Unlimited);
}
