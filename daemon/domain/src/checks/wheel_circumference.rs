//! `wheel.circumference`: the circumference set against the wheel as rolled out.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::{Length, Speed};
use lockring_calc::wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::ride_class;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Setting over roll-out.
pub static CHECK: Check = Check {
    id: "wheel.circumference",
    title: "circumference set as rolled out, so that the speed limit is true",
    gates: &[Stage::Fitting],
    family: Family::Law,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: setting within 0.5 % of the roll-out with the rider on",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["circumference", "circumference-setting"])?;
    let (rolled, set) = (
        case.number("circumference")?,
        case.number("circumference-setting")?,
    );
    let (actual, setting) = (Length::from_si(rolled.value), Length::from_si(set.value));
    let error =
        wheel::setting_error(setting, actual).map_err(|error| prediction::unusable(case, "wheel", &error))?;
    let band = case.rule("wheel.circumference");
    let u = (1.0 + error) * rolled.u / rolled.value;
    let mut finding = Judged::new(
        "circumference set, over the roll-out,",
        Known {
            value: error,
            u,
            ..rolled
        },
        Kind::Ratio,
        "%",
    )
    .against(Limit::Within(-band, band))
    .with_arithmetic(format!(
        "{:.0} mm set / {:.0} mm rolled out - 1 = {:+.2} %",
        setting.as_millimetres(),
        actual.as_millimetres(),
        100.0 * error
    ))
    .with_arithmetic(ride_class::D2);
    if prediction::wheels_differ(case) {
        finding = finding.with_arithmetic(
            "tyres of two sizes: roll out the wheel whose turns the speed is read from, a hub motor's own; the rear one with a \
             motor at the crank",
        );
    }
    finding = finding.with_remedy(format!(
        "set {:.0} mm and record it: lockring measure {} circumference-setting {:.0}",
        actual.as_millimetres(),
        case.job().number,
        actual.as_millimetres()
    ));
    if finding.verdict != Verdict::Pass
        && let Some(line) = true_limit(case, setting, actual)?
    {
        finding.summary = format!("{}; {line}", finding.summary);
    }
    Ok(vec![finding])
}

/// The true speed while the display shows the class's limit; `None` without class or limit.
fn true_limit(case: &Case<'_>, setting: Length, actual: Length) -> Result<Option<String>, Halt> {
    let class = case.optional_word("ride-class").and_then(ride_class::find);
    let Some(limit) = class.and_then(|class| class.max_assist_speed) else {
        return Ok(None);
    };
    let shown = Speed::from_si(limit.metres_per_second());
    let truly = wheel::true_speed(shown, setting, actual)
        .map_err(|error| prediction::unusable(case, "wheel", &error))?;
    let symbol = limit.unit.symbol();
    let number = unit::from_si(Kind::Speed, symbol, truly.si());
    Ok(Some(format!(
        "truly {number:.2} {symbol} when the display shows {} {symbol}",
        unit::plain(limit.value)
    )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, trekking};

    fn set(setting: &str) -> crate::checks::testing::Bench {
        trekking().measure(&[("circumference", "2170"), ("circumference-setting", setting)])
    }

    #[test]
    fn the_trekking_bicycle_was_set_too_small_and_the_remedy_clears_it() {
        // Worked example of the trade (common practice, no source): 2155 set, 2170 rolled out,
        // 0.7 % off; truly 25.17 km/h at 25.
        let report = set("2155").expect(&CHECK, Verdict::Fail);
        assert!((report.findings[0].figures[0].value + 0.69).abs() < 0.005);
        assert!(
            report
                .summary()
                .contains("25.17 km/h when the display shows 25 km/h"),
            "{}",
            report.summary()
        );
        assert!(report.findings[0].remedies[0].ends_with("circumference-setting 2170"));
        set("2170").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_limit_is_crossed_through_a_band_of_doubt_on_both_sides() {
        // Tape 1 mm: doubt 2/2170 = 0.09 %; the limit lies 10.85 mm either side of 2170.
        for (setting, verdict) in [
            ("2162", Verdict::Pass),
            ("2160", Verdict::Caution),
            ("2156", Verdict::Fail),
            ("2178", Verdict::Pass),
            ("2180", Verdict::Caution),
            ("2184", Verdict::Fail),
        ] {
            set(setting).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn a_class_in_miles_is_answered_in_miles() {
        let wrong = hardtail().measure(&[("circumference", "2270"), ("circumference-setting", "2200")]);
        // 28 x 2270/2200 = 28.89 by hand.
        assert!(
            wrong
                .expect(&CHECK, Verdict::Fail)
                .summary()
                .contains("28.89 mph when the display shows 28 mph")
        );
    }

    #[test]
    fn a_table_does_not_stand_for_a_roll_out() {
        let report = trekking().expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    }

    #[test]
    fn the_setting_the_remedy_names_clears_it() {
        set("2155").cured(&CHECK, "lockring measure 20 circumference-setting 2170", |job| {
            job.measure(&[("circumference-setting", "2170")])
        });
    }
}
