//! What holds of every check that judges a measured value: the unit it is typed in does not
//! matter, and its verdict turns once, the right way round, with a band of doubt between.

use std::sync::OnceLock;

use proptest::prelude::*;

use super::testing::{Bench, longtail, trekking};
use super::{
    chainline_centre, clearance_motor_and_ring, donor_wear, donor_wheels, dropout_fit, handover_full_charge,
    mass_gross, ride_brake_failed, ride_case_temperature, ride_run_on, ride_stopping, ride_walk_assist,
    shell_fit, shell_stack, stay_predicted_gap, wheel_clearances,
};
use crate::check::{Check, Verdict};
use crate::code;
use crate::unit;

/// A value that a check judges, on a bicycle that is otherwise in order.
pub(super) struct Measured {
    check: &'static Check,
    pub(super) code: &'static str,
    /// The bicycle without the value.
    bench: fn() -> Bench,
    /// From a value that passes to one that fails.
    from: f64,
    to: f64,
    /// The unit of both, and another with how one reads in the other.
    unit: &'static str,
    other: (&'static str, fn(f64) -> f64),
}

/// Exact by definition: the inch, foot, pound and mile (international yard and pound agreement
/// of 1959, as in NIST Special Publication 811, 2008, appendix B).
const MM: (&str, fn(f64) -> f64) = ("in", |mm| mm / 25.4);
const M: (&str, fn(f64) -> f64) = ("ft", |m| m / 0.3048);
const KG: (&str, fn(f64) -> f64) = ("lb", |kg| kg / 0.453_592_37);
const KMH: (&str, fn(f64) -> f64) = ("mph", |kmh| kmh / 1.609_344);
const CELSIUS: (&str, fn(f64) -> f64) = ("F", |celsius| 1.8 * celsius + 32.0);
const VOLTS: (&str, fn(f64) -> f64) = ("mV", |volts| 1e3 * volts);

#[rustfmt::skip]
const TABLE: &[Measured] = &[
    Measured { check: &chainline_centre::CHECK, code: "chainline-front", from: 46.0, to: 60.0, unit: "mm", other: MM,
        bench: || longtail().measure(&[("chainline-rear", "45.0")]) },
    Measured { check: &stay_predicted_gap::CHECK, code: "stay-gap", from: 4.0, to: -1.0, unit: "mm", other: MM,
        bench: || longtail().forget("stay-gap") },
    Measured { check: &donor_wear::CHECK, code: "rim-wall", from: 1.7, to: 0.6, unit: "mm", other: MM,
        bench: || trekking().forget("rim-wall") },
    Measured { check: &donor_wheels::CHECK, code: "rim-runout", from: 0.2, to: 2.6, unit: "mm", other: MM,
        bench: trekking },
    Measured { check: &donor_wheels::CHECK, code: "tyre-clearance", from: 9.0, to: 4.0, unit: "mm", other: MM,
        bench: trekking },
    Measured { check: &dropout_fit::CHECK, code: "dropout-rear", from: 134.9, to: 130.0, unit: "mm", other: MM,
        bench: || trekking().forget("dropout-rear").state(&[("frame-material", "aluminium")]) },
    Measured { check: &shell_fit::CHECK, code: "shell-bore", from: 33.8, to: 33.0, unit: "mm", other: MM,
        bench: || longtail().forget("shell-bore") },
    Measured { check: &shell_stack::CHECK, code: "stack", from: 74.0, to: 79.0, unit: "mm", other: MM,
        bench: longtail },
    Measured { check: &clearance_motor_and_ring::CHECK, code: "motor-gap", from: 2.5, to: 0.3, unit: "mm", other: MM,
        bench: || longtail().measure(&[("ring-gap", "6")]) },
    Measured { check: &clearance_motor_and_ring::CHECK, code: "ring-gap", from: 5.0, to: 2.0, unit: "mm", other: MM,
        bench: || longtail().measure(&[("motor-gap", "3")]) },
    Measured { check: &wheel_clearances::CHECK, code: "tyre-gap", from: 8.0, to: 2.5, unit: "mm", other: MM,
        bench: || trekking().measure(&[("steering-free", "yes")]) },
    Measured { check: &mass_gross::CHECK, code: "mass-after", from: 45.0, to: 52.0, unit: "kg", other: KG,
        bench: longtail },
    Measured { check: &handover_full_charge::CHECK, code: "full-charge", from: 42.0, to: 42.8, unit: "V", other: VOLTS,
        bench: || trekking().receive_all().measure(&[("charger-used", "S-charger")]) },
    Measured { check: &ride_stopping::CHECK, code: "stop-distance", from: 4.0, to: 8.5, unit: "m", other: M,
        bench: || stopped("stop-rear", "9.1 m").ride("conditions", &[("mass", "78 kg")]) },
    Measured { check: &ride_brake_failed::CHECK, code: "stop-rear", from: 9.0, to: 17.0, unit: "m", other: M,
        bench: || stopped("stop-distance", "5 m") },
    Measured { check: &ride_run_on::CHECK, code: "run-on", from: 0.5, to: 4.0, unit: "m", other: M,
        bench: trekking },
    Measured { check: &ride_walk_assist::CHECK, code: "walk-speed", from: 4.0, to: 8.0, unit: "km/h", other: KMH,
        bench: trekking },
    Measured { check: &ride_case_temperature::CHECK, code: "case-temperature", from: 40.0, to: 85.0, unit: "C", other: CELSIUS,
        bench: trekking },
];

/// Each row of the table with its bicycle, made once.
pub(super) fn rows() -> impl Iterator<Item = (&'static Measured, &'static Bench)> {
    static BENCHES: OnceLock<Vec<Bench>> = OnceLock::new();
    let benches = BENCHES.get_or_init(|| TABLE.iter().map(|row| (row.bench)()).collect());
    TABLE.iter().zip(benches)
}

/// Stops from the nominal speed, one of the two distances missing.
fn stopped(code: &str, distance: &str) -> Bench {
    trekking().measure(&[("stop-speed", "25 km/h"), (code, distance)])
}

impl Measured {
    /// The value at a share of the way from good to bad, in `unit`.
    fn at(&self, share: f64) -> f64 {
        self.from + share * (self.to - self.from)
    }

    /// The bicycle with the value at a share of the way from good to bad.
    pub(super) fn measured(&self, bench: &Bench, share: f64) -> Bench {
        self.reads(bench, &format!("{:.9} {}", self.at(share), self.unit))
    }

    /// The bicycle with this value; a stop with the speed it was begun at, three times over.
    fn reads(&self, bench: &Bench, text: &str) -> Bench {
        if self.code == "stop-distance" {
            return bench.clone().stop_three_times(text, "25 km/h");
        }
        bench.clone().measure(&[(self.code, text)])
    }

    fn verdict(&self, bench: &Bench, value: f64, unit: &str) -> Verdict {
        let text = format!("{value:.9} {unit}");
        self.reads(bench, &text).report(self.check).verdict
    }

    /// The share of the way at which the verdict is first worse than `best`, to a ten-thousandth.
    fn turns(&self, bench: &Bench, best: Verdict) -> f64 {
        let (mut good, mut bad) = (0.0, 1.0);
        while bad - good > 1e-4 {
            let middle = f64::midpoint(good, bad);
            if self.verdict(bench, self.at(middle), self.unit) <= best {
                good = middle;
            } else {
                bad = middle;
            }
        }
        bad
    }

    fn name(&self) -> String {
        format!("{} by {}", self.check.id, self.code)
    }
}

/// Few cases each: every one measures all values of the table. Found failures are shown, not
/// written to a file.
fn few() -> ProptestConfig {
    ProptestConfig {
        cases: 10,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(few())]

    #[test]
    fn the_unit_a_value_is_typed_in_does_not_change_the_verdict(share in 0.0..1.0_f64) {
        for (row, bench) in rows() {
            let value = row.at(share);
            let (other, read) = row.other;
            prop_assert_eq!(
                row.verdict(bench, value, row.unit),
                row.verdict(bench, read(value), other),
                "{}: {} {} or {} {}", row.name(), value, row.unit, read(value), other
            );
        }
    }

    #[test]
    fn a_worse_value_never_has_a_better_verdict(one in 0.0..1.0_f64, two in 0.0..1.0_f64) {
        let (better, worse) = (one.min(two), one.max(two));
        for (row, bench) in rows() {
            let first = row.verdict(bench, row.at(better), row.unit);
            let then = row.verdict(bench, row.at(worse), row.unit);
            prop_assert!(first <= then, "{}: {:?} before {:?}", row.name(), first, then);
        }
    }
}

#[test]
fn between_pass_and_fail_lies_a_caution_as_wide_as_the_instrument_doubts() {
    for (row, bench) in rows() {
        let name = row.name();
        assert_eq!(row.verdict(bench, row.from, row.unit), Verdict::Pass, "{name}");
        assert_eq!(row.verdict(bench, row.to, row.unit), Verdict::Fail, "{name}");
        let (caution, fail) = (
            row.turns(bench, Verdict::Pass),
            row.turns(bench, Verdict::Caution),
        );
        // The bisection leaves a hundredth of the band undecided.
        let known = code::find(row.code).unwrap();
        let kind = unit::kind_of(row.unit).unwrap();
        let si = |share| unit::to_si(kind, row.unit, row.at(share)).unwrap();
        // Guarded on both sides of the limit (JCGM 106:2012, 8.3.2 and 8.3.3) with k = 2.
        let band = (si(fail) - si(caution)).abs();
        let least = 4.0 * known.uncertainty_si();
        assert!(least > 0.0, "{name}");
        assert!(band >= least * 0.98, "{name}: {band} of {least}");
    }
}
