//! `class.assist_speed`: the speed at which assistance is set to end, against the class.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::prediction;
use crate::ride_class::deference::D2;
use crate::stage::Stage;
use crate::unit::Kind;

/// Assist limit within the class.
pub static CHECK: Check = Check {
    id: "class.assist_speed",
    title: "assist limit within the ride class",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Law,
    version: 1,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the stored row of the ride class: assist speed and source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let Some(limit) = class.max_assist_speed else {
        return Halt::not_applicable(format!(
            "{} stores no limit for assistance while pedalling",
            class.id
        ));
    };
    let unit = limit.unit.symbol();
    let most = limit.metres_per_second();
    // A setting is a number typed into the display: it has no doubt of its own, and 25 keeps a class that ends
    // help before 25 km/h (`SpeedLimit::takes_setting`). What the wheel really does is measured on the test ride.
    let set = case.optional_number("assist-limit");
    let value = set.map_or(most, |set| set.value);
    let (what, provenance) = match set {
        Some(set) => ("assist limit set", set.provenance),
        None => ("assist limit planned, the class's own", Provenance::Stated),
    };
    let known = Known {
        value,
        u: 0.0,
        provenance,
    };
    let judged = Judged::new(what, known, Kind::Speed, unit);
    let mut finding = judged
        .against(Limit::AtMost(most))
        .with_arithmetic(format!(
            "{}: assistance {} {}; a setting is where it has ended",
            class.id,
            limit.comparator.words(),
            limit.show()
        ))
        .with_arithmetic(class.deference())
        .with_arithmetic(D2);
    if finding.verdict == Verdict::Fail {
        let number = case.job().number;
        finding = finding
            .with_remedy(format!(
                "set the class's limit and record it: lockring measure {number} assist-limit {}",
                limit_word(most, unit)
            ))
            .with_remedy(format!(
                "another ride class, where the place allows it: lockring brief {number} ride-class=CLASS"
            ));
    }
    Ok(vec![finding])
}

/// The highest setting of one decimal that does not pass the limit, as typed.
fn limit_word(most: f64, unit: &'static str) -> String {
    let shown = crate::unit::from_si(Kind::Speed, unit, most);
    // The small amount keeps a limit that is a whole tenth from losing one to rounding.
    format!("{:.1}{unit}", ((shown + 1e-6) * 10.0).floor() / 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn an_unset_limit_plans_with_the_class_s_own() {
        for bench in [trekking(), longtail(), hardtail()] {
            bench.expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn twenty_five_is_within_the_european_class_and_more_is_over_whatever_the_margin() {
        // Regulation (EU) 168/2013, Art. 2(2)(h): cut off before 25 km/h; EN 15194: 25 km/h or lower by design (as
        // adopted in TBIS 15194:2019, 4.2.11).
        let set = |kmh| trekking().measure(&[("assist-limit", kmh)]);
        let report = set("25 km/h").expect(&CHECK, Verdict::Pass);
        assert_eq!(
            report.findings[0].arithmetic[0],
            "eu-epac: assistance below 25 km/h; a setting is where it has ended"
        );
        let over = set("25.1 km/h");
        let report = over.expect(&CHECK, Verdict::Fail);
        assert_eq!(
            report.findings[0].remedies[0],
            "set the class's limit and record it: lockring measure 20 assist-limit 25.0km/h"
        );
        over.measure(&[("assist-limit", "25.0km/h")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn an_american_class_is_shown_in_miles() {
        // 36 CFR 1.4: class 3 assists up to 28 mph.
        let report = hardtail()
            .measure(&[("assist-limit", "28 mph")])
            .expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings[0].figures[0].unit, "mph");
        assert!((report.findings[0].figures[0].value - 28.0).abs() < 0.05);
        let over = hardtail().measure(&[("assist-limit", "28.5 mph")]);
        let report = over.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].ends_with("assist-limit 28.0mph"),
            "{:?}",
            report.findings
        );
        over.measure(&[("assist-limit", "28.0mph")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_british_limit_lies_under_twenty_five_kilometres_an_hour() {
        // SI 1983/1168, reg. 4: 15.5 mph = 24.945 km/h.
        let british = trekking()
            .state(&[("ride-class", "gb-eapc")])
            .measure(&[("assist-limit", "25 km/h")]);
        british.expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_class_without_a_limit_is_not_concerned_and_no_class_is_open() {
        hardtail()
            .state(&[("ride-class", "us-fed-lseb")])
            .expect(&CHECK, Verdict::NotApplicable);
        trekking().forget("ride-class").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_limit_the_remedy_names_clears_it() {
        trekking().measure(&[("assist-limit", "25.1 km/h")]).cured(
            &CHECK,
            "lockring measure 20 assist-limit 25.0km/h",
            |job| job.measure(&[("assist-limit", "25.0km/h")]),
        );
    }
}
