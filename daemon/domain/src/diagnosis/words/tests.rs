//! Tests of the wording: figures and sides of each cause, and the command of each reading.

use super::*;
use crate::case::Case;
use crate::checks::testing::longtail;
use crate::diagnosis::{cause, quantity};
use crate::rules::RuleSheet;
use crate::stage::Stage;

fn base() -> Ridden {
    let (job, rules) = (longtail().job, RuleSheet::shipped());
    Ridden::of(&Case::new(&job, &rules, Stage::TestRide)).unwrap()
}

/// Figures worked by hand from size and doubt: shares of the hill of 8 %, of the controller's 15 A, of
/// the limit of 25 km/h, of the rider's 90 W and 110 W.
#[test]
fn a_cause_is_said_with_its_size_its_doubt_and_its_side() {
    let base = base();
    for (cause, size, u, parts) in [
        (Cause::WheelSetting, 0.06, 0.01, ["6 % ± 2 %", "small", "higher"]),
        (Cause::WheelSetting, -0.06, 0.01, ["6 % ± 2 %", "large", "lower"]),
        (Cause::BrakeDrag, 30.4, 2.6, ["30 ± 5 N", "", ""]),
        (Cause::TyrePressure, 0.65, 0.1, ["65 % ± 20 %", "", ""]),
        (
            Cause::HillGrade,
            0.35,
            0.03,
            ["steeper", "10.8 ± 0.5 %", "of 8.0 %"],
        ),
        (
            Cause::HillGrade,
            -0.25,
            0.03,
            ["flatter", "6.0 ± 0.5 %", "of 8.0 %"],
        ),
        (Cause::PackResistance, 2.5, 0.25, ["3.5 ± 0.5 times", "", ""]),
        (Cause::CurrentLimit, 0.4, 0.1, ["9.0 ± 3.0 A", "of 15.0 A", ""]),
        (Cause::AssistLevel, 0.6, 0.05, ["40 ± 10 %", "", ""]),
        (Cause::Winding, 0.35, 0.05, ["35 % ± 10 %", "faster", "more"]),
        (Cause::Winding, -0.25, 0.05, ["25 % ± 10 %", "slower", "less"]),
        (Cause::Wind, 5.0, 0.5, ["5.0 ± 1.0 m/s", "against", ""]),
        (Cause::Wind, -5.0, 0.5, ["5.0 ± 1.0 m/s", "behind", ""]),
        (Cause::Mass, 25.0, 4.0, ["25 ± 8 kg", "more", ""]),
        (Cause::Mass, -25.0, 4.0, ["25 ± 8 kg", "less", ""]),
        (
            Cause::RiderPower,
            1.0,
            0.1,
            ["100 % ± 20 % more", "180 W", "220 W"],
        ),
        (Cause::RiderPower, -0.6, 0.1, ["60 % ± 20 % less", "36 W", "44 W"]),
        (Cause::AssistLimit, 0.1, 0.01, ["high", "27.5 km/h", "25 km/h"]),
        (Cause::AssistLimit, -0.1, 0.01, ["low", "22.5 km/h", "25 km/h"]),
    ] {
        let said = said(Some(cause), size, u, &base);
        for part in parts {
            assert!(said.contains(part), "{part}: {said}");
        }
        assert!(look(Some(cause)).len() > 20, "{cause:?}");
    }
    assert!(said(None, 0.0, 0.0, &base).starts_with("nothing stands out"));
    assert_eq!(look(None), "");
    let looks: std::collections::BTreeSet<_> = cause::ALL.map(|cause| look(Some(cause))).into();
    assert_eq!(looks.len(), cause::ALL.len());
}

/// Regression values: each command is one that `ride` takes.
#[test]
fn each_reading_has_its_name_and_the_command_that_records_it() {
    let commands = quantity::ALL.map(|quantity| command(21, quantity));
    assert_eq!(
        commands.map(|command| command.replace("lockring ride 21 ", "")),
        [
            "stand free=…km/h",
            "stand amps=…A",
            "cutoff out=…km/h",
            "cutoff back=…km/h",
            "speed out=…km/h",
            "speed back=…km/h",
            "speed volts=…V",
            "speed amps=…A",
            "speed amps-out=…A",
            "speed amps-back=…A",
            "coast out=…s",
            "coast back=…s",
            "legs out=…km/h",
            "legs back=…km/h",
            "hill speed=…km/h",
            "hill volts=…V",
            "hill amps=…A",
            "hill amps-most=…A",
            "hill volts=…V",
            "restart starts=…/3",
            "energy charge=…Ah",
        ]
    );
    for quantity in quantity::ALL {
        let named = code::find(quantity.code()).unwrap().field.name;
        let expected = match quantity {
            Quantity::Energy => "energy drawn on the energy run",
            Quantity::Starts => "starts that came off on the hill",
            _ => named,
        };
        assert_eq!(name(quantity), expected);
        let told = to_read(quantity);
        assert_eq!(told, format!("{expected} (run `{}`)", quantity.run()));
    }
}

#[test]
fn a_hill_that_won_is_held_against_what_the_model_holds() {
    let held = hill_won(0.1004, 0.08);
    assert!(
        held.contains("the hill of 8 %") && held.contains("although") && held.contains("10 %"),
        "{held}"
    );
    assert!(
        hill_won(0.08, 0.08).contains("as expected"),
        "just as steep is no surprise"
    );
    let short = hill_won(0.0626, 0.08);
    assert!(
        short.contains("as expected") && short.contains("6.3 %"),
        "{short}"
    );
}

/// Mean and standard deviation of a chi-squared variable of n are n and the root of 2 n (standard
/// result): for 8 readings the bound is 8 + 3 * 4 = 20, for 2 it is 2 + 3 * 2 = 8.
#[test]
fn what_no_single_cause_explains_is_said_beyond_three_standard_deviations() {
    for (readings, bound) in [(8, 20.0), (2, 8.0)] {
        assert!(fit(bound + 0.01, readings).is_some());
        assert!(fit(bound, readings).is_none());
        assert!(fit(bound - 0.01, readings).is_none());
    }
}
