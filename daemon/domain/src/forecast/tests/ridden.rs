//! Two real rides forecast from power and height alone, with nothing fitted, and with the doubts that a
//! forecast of this program draws from.

use lockring_calc::air;
use lockring_calc::doubt::{COVERAGE, standard_from_half_width};
use lockring_calc::quantity::{Area, Density, Duration, Grade, Inertia, Length, Mass, Speed, Temperature};
use lockring_calc::road::RoadLoad;
use lockring_calc::sampling::{Draws, Outcomes, Shape};
use lockring_calc::solve::root;

use super::super::machine::{self, Input};
use crate::case::Case;
use crate::checks::testing::trekking;
use crate::rules::RuleSheet;
use crate::stage::Stage;

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

fn mps(v: f64) -> Speed {
    Speed::from_si(v)
}

/// Rows of a table as text, by column name.
fn rows(table: &'static str) -> Vec<impl Fn(&str) -> &'static str> {
    let mut lines = table.lines();
    let names: Vec<&str> = lines.next().unwrap().split(',').collect();
    lines
        .map(|line| {
            let (names, cells) = (names.clone(), line.split(',').collect::<Vec<_>>());
            move |name: &str| cells[names.iter().position(|n| *n == name).unwrap()]
        })
        .collect()
}

fn number(row: &impl Fn(&str) -> &'static str, name: &str) -> f64 {
    row(name).parse().unwrap()
}

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
        let tyre_radius = Length::metres(0.34);
        RoadLoad {
            mass: Mass::kilograms(self.mass),
            cda: Area::square_metres(self.cda),
            spoke_drag_area: Area::ZERO,
            crr: self.crr,
            bearing: false,
            wheel_inertia: Inertia::from_si(0.01 * self.mass * tyre_radius.si().powi(2)),
            tyre_radius,
            gravity: RoadLoad::STANDARD_GRAVITY,
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

/// What may be off, as a forecast of this program has it: drag, rolling and wind by the rule sheet, mass as
/// uncertain as the demo's trekking bicycle with its rider told. The power was measured: ±2 % for its
/// meter (common practice, no source).
fn doubts() -> Vec<(Input, Shape)> {
    let (bench, rules) = (trekking(), RuleSheet::shipped());
    let case = Case::new(&bench.job, &rules, Stage::TestRide);
    let drawn = machine::doubts(&case).unwrap();
    let mut doubts: Vec<(Input, Shape)> = drawn
        .iter()
        .filter(|doubt| matches!(doubt.input, Input::Drag | Input::Rolling | Input::Wind))
        .map(|doubt| (doubt.input, doubt.shape))
        .collect();
    assert_eq!(doubts.len(), 3);
    for doubt in drawn {
        if let Shape::Normal { u, .. } = doubt.shape
            && doubt.input == Input::Mass
        {
            let mean = STORED.mass;
            doubts.push((Input::Mass, Shape::Normal { mean, u }));
        }
    }
    let u = standard_from_half_width(0.02);
    doubts.push((Input::RiderPower, Shape::Normal { mean: 1.0, u }));
    doubts
}

fn shaken(doubts: &[(Input, Shape)], draw: &[f64]) -> Inputs {
    let mut inputs = STORED;
    for ((input, _), value) in doubts.iter().zip(draw) {
        match input {
            Input::Mass => inputs.mass = *value,
            Input::Drag => inputs.cda *= value,
            Input::Rolling => inputs.crr *= value,
            Input::Wind => inputs.headwind = *value,
            _ => inputs.efficiency *= value,
        }
    }
    inputs
}

fn stretches() -> Vec<Stretch> {
    let mut all = Vec::new();
    for (ride, points, cuts) in RIDES {
        let points = rows(points);
        for cut in rows(cuts) {
            let name = format!("{ride} {}", cut("segment"));
            let mine = &points[number(&cut, "row_from") as usize..number(&cut, "row_to") as usize];
            let column = |name: &str| mine.iter().map(|point| number(point, name)).collect::<Vec<_>>();
            assert_eq!(mine.len() as f64, number(&cut, "seconds"), "{name}");
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

    /// The forecast as a forecast of this program is made: everything drawn, percentiles kept.
    fn sampled(&self, doubts: &[(Input, Shape)]) -> Outcomes {
        let shapes: Vec<Shape> = doubts.iter().map(|(_, shape)| *shape).collect();
        let (mut draws, mut outcomes) = (Draws::new(&shapes, 1).unwrap(), Outcomes::default());
        for _ in 0..DRAWS {
            let draw = draws.draw();
            outcomes.keep(&draw, Some(self.forecast(shaken(doubts, &draw))));
        }
        outcomes
    }
}

/// Draws for a stretch.
const DRAWS: usize = 150;

/// Counts the stretches whose measured speed lies inside what was forecast: from P10 to P90, and within
/// two standard uncertainties of the mean.
fn inside(doubts: &[(Input, Shape)]) -> [usize; 2] {
    let mut counts = [0; 2];
    for stretch in stretches() {
        let (measured, forecast) = (stretch.measured(), stretch.sampled(doubts));
        let [low, high] = forecast.quantiles([0.1, 0.9]).map(Option::unwrap);
        let off = measured - forecast.mean().unwrap();
        counts[0] += usize::from((low..=high).contains(&measured));
        counts[1] += usize::from(off.abs() <= COVERAGE * forecast.standard().unwrap());
    }
    counts
}

#[test]
fn a_speed_forecast_with_nothing_fitted_lands_within_the_spread_that_is_printed() {
    // 29 stretches of 1 to 7.5 minutes, measured. Nine in ten must lie between the P10 and the P90
    // that are printed, which promise eight in ten, and within two standard uncertainties (about 95 %).
    let all = doubts();
    let [between, double] = inside(&all);
    assert!(double as f64 >= 0.9 * 29.0, "{double} of 29");
    assert!(between as f64 >= 0.9 * 29.0, "{between} of 29");
    // Regression values, so that no spread is changed unseen: the printed band is rather wide than narrow.
    assert_eq!([between, double], [29, 29]);
    // A spread that takes the air for still is too narrow for a real road.
    let still: Vec<_> = all
        .into_iter()
        .filter(|(input, _)| *input != Input::Wind)
        .collect();
    assert_eq!(inside(&still), [13, 18]);
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
        assert!(
            (asked / measured / ratio - 1.0).abs() < 2e-3,
            "{ride}: {}",
            asked / measured
        );
    }
}

#[test]
fn the_stretches_are_what_their_table_says() {
    let table = RIDES.iter().flat_map(|(_, _, cuts)| rows(cuts));
    let ridden = stretches();
    assert_eq!(ridden.len(), 29);
    for (row, stretch) in table.zip(ridden) {
        let mean = |column: &[f64]| column.iter().sum::<f64>() / column.len() as f64;
        assert!((mean(&stretch.speed) - number(&row, "mean_speed_mps")).abs() < 6e-5);
        assert!((mean(&stretch.power) - number(&row, "mean_power_W")).abs() < 6e-3);
    }
}
