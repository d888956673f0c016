//! Roads and bicycles at random: books balance, nothing stands still for ever, nothing is not a number.

use super::*;

/// A small generator of its own (Marsaglia's xorshift, 2003, from memory): the same road every time.
struct Dice(u64);

impl Dice {
    /// Evenly between two ends.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        low + (high - low) * (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn one_in(&mut self, n: f64) -> bool {
        self.between(0.0, n) < 1.0
    }
}

fn road(dice: &mut Dice) -> Vec<Step> {
    let count = dice.between(1.0, 120.0) as usize;
    (0..count)
        .map(|_| {
            let metres = 10.0_f64.powf(dice.between(-2.0, 3.0));
            let mut step = Step::new(Length::metres(metres), Grade::ratio(dice.between(-0.3, 0.3)));
            if dice.one_in(2.0) {
                step.grade = Grade::ratio(step.grade.as_ratio() / 8.0);
            }
            step.rolling = dice.between(0.0, 4.0);
            step.headwind = Speed::metres_per_second(dice.between(-12.0, 12.0));
            step.stop = dice
                .one_in(10.0)
                .then(|| Duration::seconds(dice.between(0.0, 60.0)));
            step
        })
        .collect()
}

fn bicycle(dice: &mut Dice) -> Rig {
    let mut rig = if dice.one_in(2.0) { hub() } else { mid() };
    rig.road.mass = Mass::kilograms(dice.between(60.0, 300.0));
    rig.road.cda = Area::square_metres(dice.between(0.0, 1.0));
    rig.battery.state_of_charge = dice.between(0.0, 1.0);
    let power = Power::watts(dice.between(0.0, 600.0));
    rig.assist.policy = match dice.between(0.0, 5.0) as u32 {
        0 => Policy::Off,
        1 => Policy::Full,
        2 => Policy::CadenceSensor { power },
        3 => Policy::Throttle {
            power,
            up_to: dice.one_in(2.0).then(|| Speed::from_si(dice.between(0.5, 15.0))),
        },
        _ => Policy::TorqueSensor {
            ratio: dice.between(0.0, 5.0),
            most: power,
        },
    };
    rig.assist.taper = dice.one_in(3.0).then(|| {
        let cut_off = dice.between(1.0, 15.0);
        let band = dice.between(0.01, cut_off);
        Taper::new(Speed::from_si(cut_off), Speed::from_si(band)).unwrap()
    });
    if dice.one_in(4.0) {
        rig.rider = None;
    }
    if dice.one_in(4.0) {
        rig.system.motor = None;
    }
    rig.habits.cruise = dice
        .one_in(3.0)
        .then(|| Speed::kilometres_per_hour(dice.between(8.0, 50.0)));
    rig.system.assist_cutoff = dice
        .one_in(2.0)
        .then(|| Speed::kilometres_per_hour(dice.between(5.0, 50.0)));
    rig
}

#[test]
fn every_ride_ends_and_balances() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let (mut walked, mut drawn, mut braked) = (0, 0, 0);
    for round in 0..500 {
        let (steps, rig) = (road(&mut dice), bicycle(&mut dice));
        let track = Track::new(&steps).unwrap();
        let outcome = ride(&track, &rig.tourer()).unwrap();
        let ledger = outcome.ledger;
        assert!(ledger.electric_gap().abs() < 1e-9, "{round}: {ledger:?}");
        assert!(ledger.road_gap().abs() < 1e-9, "{round}: {ledger:?}");
        close(outcome.distance.si(), track.length().si(), 1e-9);
        // Never slower than a tenth of walking pace on the whole, never faster than the brakes allow.
        let moving = outcome.time.si() - outcome.standing.si();
        assert!(
            moving > 0.0 && outcome.distance.si() / moving > 0.05,
            "{round}: {moving} s"
        );
        assert!(
            outcome.fastest.si() <= rig.habits.fastest.si() * (1.0 + 1e-12),
            "{round}"
        );
        assert!(outcome.state_of_charge <= rig.battery.state_of_charge);
        assert!(outcome.lowest_voltage.si() > 0.0);
        for part in [
            ledger.cells,
            ledger.pack,
            ledger.controller,
            ledger.copper,
            ledger.rider_work,
            ledger.brakes,
        ] {
            assert!(part.si() >= -1e-9, "{round}: {ledger:?}");
        }
        walked += usize::from(!outcome.walked.is_empty());
        drawn += usize::from(outcome.energy().si() > 0.0);
        braked += usize::from(ledger.brakes.si() > 0.0);
    }
    assert!(
        walked > 125 && drawn > 125 && braked > 125,
        "{walked} {drawn} {braked}"
    );
}
