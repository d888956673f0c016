//! Two real rides forecast from power and height alone, with nothing fitted.

use super::*;
use crate::air::{self, wind};
use crate::doubt::{COVERAGE, Doubted, combined, standard_from_half_width};
use crate::quantity::Temperature;
use crate::solve::root;

/// A stretch of a ride without a pause, one point a second.
struct Stretch {
    name: String,
    speed: Vec<f64>,
    power: Vec<f64>,
    height: Vec<f64>,
    temperature: f64,
}

/// What the forecast takes as known.
#[derive(Clone, Copy)]
struct Inputs {
    mass: f64,
    cda: f64,
    crr: f64,
    /// Power at the wheel over power shown.
    efficiency: f64,
    headwind: f64,
}

impl Inputs {
    /// Wheels count 1 % of the mass on top, as the stored inputs have it.
    fn road(self) -> RoadLoad {
        let bare = plain(self.mass, self.cda, self.crr);
        let inertia = 0.01 * self.mass * bare.tyre_radius.si().powi(2);
        RoadLoad {
            wheel_inertia: Inertia::kilogram_m2(inertia),
            ..bare
        }
    }
}

/// The inputs stored beside the rides before anything was fitted: 80 kg, 0.35 m², 0.006, a chain of 0.976.
const STORED: Inputs = Inputs {
    mass: 80.0,
    cda: 0.35,
    crr: 0.006,
    efficiency: 0.976,
    headwind: 0.0,
};

/// Standard uncertainties: the workshop's rule sheet takes posture for ±20 % and tyres for ±25 % of half-width
/// (judgement); ±5 kg for a mass that nobody weighed and ±2 % for a power meter (common practice, no source).
/// Nothing is known of the wind: 3.5 m/s ten metres up is a usual mean inland (from memory), brought down to
/// the rider by the logarithmic law, and from any side alike, which leaves `1/√2` of it along the way.
fn doubts() -> [(&'static str, Inputs); 5] {
    let wind = wind::at_height_by_log(
        mps(3.5),
        wind::FORECAST_HEIGHT,
        wind::RIDER_HEIGHT,
        wind::OPEN_ROUGHNESS,
    )
    .unwrap()
    .si();
    let moved = |part: f64| 1.0 + standard_from_half_width(part);
    [
        (
            "posture",
            Inputs {
                cda: STORED.cda * moved(0.20),
                ..STORED
            },
        ),
        (
            "tyres",
            Inputs {
                crr: STORED.crr * moved(0.25),
                ..STORED
            },
        ),
        (
            "mass",
            Inputs {
                mass: STORED.mass + standard_from_half_width(5.0),
                ..STORED
            },
        ),
        (
            "power",
            Inputs {
                efficiency: STORED.efficiency * moved(0.02),
                ..STORED
            },
        ),
        (
            "wind",
            Inputs {
                headwind: wind / 2.0_f64.sqrt(),
                ..STORED
            },
        ),
    ]
}

/// Each ride with the stretches another program cut from it; `row_to` is the row after the last.
const RIDES: [(&str, &str, &str); 2] = [
    (
        "rolling",
        include_str!("../../../../../tests/reference/ride_power/rolling.csv"),
        include_str!("../../../../../tests/reference/ride_power/rolling_segments.csv"),
    ),
    (
        "short",
        include_str!("../../../../../tests/reference/ride_power/short.csv"),
        include_str!("../../../../../tests/reference/ride_power/short_segments.csv"),
    ),
];

fn stretches() -> Vec<Stretch> {
    let mut all = Vec::new();
    for (ride, points, cuts) in RIDES {
        let points = rows(points);
        for cut in rows(cuts) {
            let name = format!("{ride} {}", cut.text("segment"));
            let mine = &points[cut.number("row_from") as usize..cut.number("row_to") as usize];
            let column = |name: &str| mine.iter().map(|point| point.number(name)).collect::<Vec<_>>();
            assert_eq!(mine.len() as f64, cut.number("seconds"), "{name}");
            all.push(Stretch {
                name,
                speed: column("speed_mps"),
                power: column("power_W"),
                height: column("alt_m"),
                temperature: column("temp_C").iter().sum::<f64>() / mine.len() as f64,
            });
        }
    }
    all
}

impl Stretch {
    /// Lengths between the points: the mean of two speeds for a second.
    fn lengths(&self) -> impl Iterator<Item = f64> + '_ {
        self.speed.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]))
    }

    fn measured(&self) -> f64 {
        self.lengths().sum::<f64>() / (self.speed.len() - 1) as f64
    }

    /// Air of the stretch: standard pressure of its height, at the temperature shown.
    fn air(&self) -> Density {
        let height = self.height.iter().sum::<f64>() / self.height.len() as f64;
        air::density(
            Length::metres(height),
            Temperature::celsius(self.temperature),
            None,
        )
        .unwrap()
    }

    /// Power between two points.
    fn power_after(&self, index: usize) -> f64 {
        0.5 * (self.power[index] + self.power[index + 1])
    }

    /// Mean speed forecast from the speed at the first point, the height of every point and the power
    /// shown there: from point to point `m·(v1² − v0²)/2 = h·(eta·P/v − F(v))` with `v` their mean.
    fn forecast(&self, inputs: Inputs) -> f64 {
        let (road, air) = (inputs.road(), self.air());
        let (mut v0, mut time, mut way) = (self.speed[0], 0.0, 0.0);
        for (index, length) in self.lengths().enumerate() {
            let power = self.power_after(index);
            let grade = Grade::ratio((self.height[index + 1] - self.height[index]) / length);
            let missing = |v1: f64| {
                let v = 0.5 * (v0 + v1);
                let force = road.resistance(mps(v), grade, mps(inputs.headwind), air).si();
                let push = inputs.efficiency * power / v - force;
                0.5 * road.equivalent_mass().si() * (v1 * v1 - v0 * v0) - length * push
            };
            // Nobody in the rides is slower than a metre a second; nor is the forecast let.
            let v1 = if missing(1.0) >= 0.0 {
                1.0
            } else {
                root(missing, 1.0, 60.0, 1e-10).unwrap()
            };
            time += 2.0 * length / (v0 + v1);
            way += length;
            v0 = v1;
        }
        way / time
    }

    /// Work that the model asks at the wheel at the measured speeds, and work measured at the wheel, J.
    fn work(&self) -> [f64; 2] {
        let (road, air) = (STORED.road(), self.air());
        let (mut asked, mut measured) = (0.0, 0.0);
        for (index, length) in self.lengths().enumerate() {
            let level = road.resistance(mps(length), Grade::LEVEL, Speed::ZERO, air).si() * length;
            let climb = road.weight().si() * (self.height[index + 1] - self.height[index]);
            let (from, to) = (mps(self.speed[index]), mps(self.speed[index + 1]));
            asked += level + climb + road.kinetic_power(from, to, Duration::seconds(1.0)).si();
            measured += STORED.efficiency * self.power_after(index);
        }
        [asked, measured]
    }

    /// The forecast with its doubt by first-order propagation (JCGM 100:2008, 5.1.2; sensitivities
    /// times uncertainties by 5.1.3, note 2).
    fn doubted(&self, doubts: &[(&str, Inputs)]) -> Doubted {
        let best = self.forecast(STORED);
        let parts: Vec<f64> = doubts
            .iter()
            .map(|(_, moved)| self.forecast(*moved) - best)
            .collect();
        Doubted::new(best, combined(&parts))
    }
}

/// How many forecasts lie within `k` standard uncertainties of what was ridden.
fn within(k: f64, ridden: &[(f64, Doubted)]) -> usize {
    let inside =
        |(measured, forecast): &&(f64, Doubted)| (measured - forecast.value).abs() <= k * forecast.standard;
    ridden.iter().filter(inside).count()
}

#[test]
fn a_speed_forecast_with_nothing_fitted_lands_within_its_spread() {
    // 29 stretches from 1 up to 7.5 min, measured. The spread printed is ± two standard
    // uncertainties (about 95 %) of posture, tyres, mass, power and an unknown wind: it holds every
    // stretch. The wind is most of it: 9 % of the speed as standard uncertainty.
    let all = doubts();
    let of = |doubts: &[(&str, Inputs)]| -> Vec<(f64, Doubted)> {
        stretches()
            .iter()
            .map(|s| (s.measured(), s.doubted(doubts)))
            .collect()
    };
    let ridden = of(&all);
    let count = ridden.len();
    assert_eq!(count, 29);
    assert!(within(COVERAGE, &ridden) as f64 >= 0.9 * count as f64);

    // Regression values from here on, so that no spread is widened unseen. The band from P10 to P90
    // (± 1.2816 standard uncertainties of a normal distribution), which should hold 80 %, holds 26 of 29;
    // one standard uncertainty holds 25.
    assert_eq!(within(COVERAGE, &ridden), 29);
    assert_eq!(within(1.281_6, &ridden), 26);
    assert_eq!(within(1.0, &ridden), 25);
    let mean = |of: &dyn Fn(&(f64, Doubted)) -> f64| ridden.iter().map(of).sum::<f64>() / count as f64;
    near(mean(&|(_, forecast)| forecast.standard), 0.736, 2e-3);
    // The forecast is a little slow: the stored inputs drag more than this rider does.
    near(
        mean(&|(measured, forecast)| measured - forecast.value),
        0.285,
        2e-3,
    );

    // A spread that takes the air for still is too narrow for a real road: 18 of 29.
    let (wind, still) = all.split_last().unwrap();
    assert_eq!(wind.0, "wind");
    assert_eq!(within(COVERAGE, &of(still)), 18);
}

#[test]
fn work_of_the_rides_as_another_program_sums_it() {
    // The same stored inputs worked out apart beside the rides: the model asks 1.1441 (first ride) and 1.0978
    // (second) of the work measured; 2e-3, as air density is not stated there.
    for (ride, ratio) in [("rolling", 1.144_1), ("short", 1.097_8)] {
        let (mut asked, mut measured) = (0.0, 0.0);
        for stretch in stretches().iter().filter(|s| s.name.starts_with(ride)) {
            let [a, m] = stretch.work();
            (asked, measured) = (asked + a, measured + m);
        }
        close(asked / measured, ratio, 2e-3);
    }
}

#[test]
fn the_stretches_are_what_their_table_says() {
    let tables = RIDES.iter().flat_map(|(_, _, cuts)| rows(cuts));
    for (row, stretch) in tables.zip(stretches()) {
        let mean = stretch.speed.iter().sum::<f64>() / stretch.speed.len() as f64;
        near(mean, row.number("mean_speed_mps"), 6e-5);
        let power = stretch.power.iter().sum::<f64>() / stretch.power.len() as f64;
        near(power, row.number("mean_power_W"), 6e-3);
    }
}
