//! Chainring, cog and the gears inside a hub: ratio, development, cadence, torque at the wheel, chain tension.

use std::f64::consts::{PI, TAU};

use crate::quantity::{Angle, AngularSpeed, Force, Length, Speed, Torque};

/// Chain pitch, m (12.7 mm; ISO 9633).
const PITCH: f64 = 0.012_7;

/// Why a gearing figure could not be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GearError {
    /// A sprocket has fewer teeth than a bicycle chain can run on.
    TooFewTeeth {
        /// Number of teeth as given.
        teeth: u32,
    },
    /// No hub's gear turns the wheel so often for each turn of its cog.
    HubRatio {
        /// Ratio as given.
        ratio: f64,
    },
    /// The sprockets overlap: the centre distance is less than the sum of their pitch radii.
    SprocketsOverlap {
        /// Centre distance as given.
        centres: Length,
        /// Smallest centre distance for these sprockets.
        least: Length,
    },
}

/// Fewest teeth accepted on a sprocket.
pub const FEWEST_TEETH: u32 = 7;

/// Least and greatest ratio accepted of a gear inside a hub, wheel turns for each turn of the cog (workshop judgement: wider at
/// both ends than hubs of two to eighteen gears, with their direct drive anywhere among them).
pub const HUB_RATIOS: (f64, f64) = (0.2, 4.0);

/// One chainring driving one cog, which turns the wheel by itself or through a gear inside the hub.
///
/// What the road sees (ratio, development, gain, cadence, speed, torque at the wheel) is of the whole; the chain knows
/// ring and cog alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gear {
    ring: u32,
    cog: u32,
    hub: f64,
}

impl Gear {
    /// A gear from tooth counts, each at least 7.
    ///
    /// Error: [`GearError::TooFewTeeth`].
    pub fn new(ring: u32, cog: u32) -> Result<Self, GearError> {
        match [ring, cog].into_iter().find(|teeth| *teeth < FEWEST_TEETH) {
            Some(teeth) => Err(GearError::TooFewTeeth { teeth }),
            None => Ok(Self { ring, cog, hub: 1.0 }),
        }
    }

    /// The same through a gear inside the hub: wheel turns for each turn of the cog, 0.2 to 4.
    ///
    /// Error: [`GearError::HubRatio`].
    pub fn through_hub(self, ratio: f64) -> Result<Self, GearError> {
        let (least, most) = HUB_RATIOS;
        if (least..=most).contains(&ratio) {
            Ok(Self { hub: ratio, ..self })
        } else {
            Err(GearError::HubRatio { ratio })
        }
    }

    /// Teeth of the chainring.
    pub fn ring(self) -> u32 {
        self.ring
    }

    /// Teeth of the cog.
    pub fn cog(self) -> u32 {
        self.cog
    }

    /// Wheel turns for each turn of the cog; 1 without gears inside the hub.
    pub fn hub(self) -> f64 {
        self.hub
    }

    /// Wheel turns per crank turn, `ring/cog·hub`.
    pub fn ratio(self) -> f64 {
        f64::from(self.ring) / f64::from(self.cog) * self.hub
    }

    /// Distance rolled in one crank turn, `circumference·ratio`.
    pub fn development(self, circumference: Length) -> Length {
        circumference * self.ratio()
    }

    /// Road distance over pedal distance, `wheel radius/crank length·ratio`.
    pub fn gain(self, wheel_radius: Length, crank_length: Length) -> f64 {
        wheel_radius / crank_length * self.ratio()
    }

    /// Crank speed at a road speed, `v/circumference/ratio` turns per second.
    pub fn cadence(self, speed: Speed, circumference: Length) -> AngularSpeed {
        AngularSpeed::from_si(TAU * speed.si() / self.development(circumference).si())
    }

    /// Road speed at a crank speed.
    pub fn speed(self, cadence: AngularSpeed, circumference: Length) -> Speed {
        Speed::from_si(cadence.si() / TAU * self.development(circumference).si())
    }

    /// Torque at the wheel, `T·eta/ratio`, with `eta` the efficiency of chain and hub gear together (0.85 to 0.985).
    pub fn wheel_torque(self, crank_torque: Torque, efficiency: f64) -> Torque {
        crank_torque * (efficiency / self.ratio())
    }
}

/// Pitch radius of a sprocket, `p/(2·sin(180°/N))`.
///
/// Range: 7 teeth and more. Error: [`GearError::TooFewTeeth`].
/// Source: chain drive geometry (ISO 606, from memory).
pub fn pitch_radius(teeth: u32) -> Result<Length, GearError> {
    if teeth < FEWEST_TEETH {
        return Err(GearError::TooFewTeeth { teeth });
    }
    Ok(Length::from_si(PITCH / (2.0 * (PI / f64::from(teeth)).sin())))
}

/// Tension in the upper run of the chain, crank torque over the chainring's pitch radius.
///
/// Error: [`GearError::TooFewTeeth`].
pub fn chain_tension(crank_torque: Torque, ring: u32) -> Result<Force, GearError> {
    Ok(crank_torque.over_radius(pitch_radius(ring)?))
}

/// Breaking load that a bicycle chain is asked to bear, N (ISO 9633, from memory).
pub const CHAIN_STRENGTH_N: f64 = 8000.0;

/// How far the chain wraps round the smaller sprocket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wrap {
    /// Wrap angle, `π − 2·asin((R − r)/c)`.
    pub angle: Angle,
    /// Teeth in engagement, `N·angle/2π`.
    pub teeth: f64,
}

/// Chain wrap on the smaller of two sprockets at a centre distance `c` (no derailleur).
///
/// Errors: [`GearError`] for too few teeth or overlapping sprockets.
/// Source: open belt and chain geometry; at least 120° is the usual rule of roller-chain
/// handbooks (from memory).
pub fn wrap(gear: Gear, centres: Length) -> Result<Wrap, GearError> {
    let (ring, cog) = (pitch_radius(gear.ring)?, pitch_radius(gear.cog)?);
    let least = ring + cog;
    if centres <= least || !centres.si().is_finite() {
        return Err(GearError::SprocketsOverlap { centres, least });
    }
    let angle = PI - 2.0 * ((ring - cog).abs() / centres).asin();
    let teeth = f64::from(gear.ring.min(gear.cog)) * angle / TAU;
    Ok(Wrap {
        angle: Angle::from_si(angle),
        teeth,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::table::{close, near};

    #[test]
    fn printed_gear_of_a_27_inch_wheel() {
        // A county bicycle class's gear page: 39/26 on a 27 in wheel is 40.5 gear inches, 127.23 in per
        // turn, 7.22 mph at 60 rpm (printed cut off, exactly 7.229; so 0.01 mph).
        let gear = Gear::new(39, 26).unwrap();
        let wheel = Length::inches(27.0);
        close(wheel.as_inches() * gear.ratio(), 40.5, 1e-12);
        near(gear.development(wheel * PI).as_inches(), 127.23, 0.01);
        near(
            gear.speed(AngularSpeed::rpm(60.0), wheel * PI)
                .as_miles_per_hour(),
            7.22,
            0.01,
        );
    }

    #[test]
    fn printed_roll_out_of_a_28_622_tyre() {
        // A repair handbook: 28-622 is 678 mm across and rolls 2130 mm; the diameter is bead seat + 2 widths.
        near((622.0 + 2.0 * 28.0) * PI, 2_130.0, 0.5);
        near(
            Gear::new(42, 42)
                .unwrap()
                .development(Length::millimetres(2_130.0))
                .as_metres(),
            2.130,
            1e-12,
        );
    }

    #[test]
    fn cadence_and_speed_undo_each_other() {
        let gear = Gear::new(42, 16).unwrap();
        let c = Length::metres(2.18);
        let speed = Speed::kilometres_per_hour(25.0);
        // Arithmetic of v = C·i·n: 73 rpm at 25 km/h, 2.18 m, 42/16.
        near(gear.cadence(speed, c).as_rpm(), 72.8, 0.1);
        close(gear.speed(gear.cadence(speed, c), c).si(), speed.si(), 1e-14);
    }

    #[test]
    fn power_through_the_chain_is_the_efficiency_times_the_power_in() {
        let gear = Gear::new(42, 34).unwrap();
        let torque = gear.wheel_torque(Torque::newton_metres(70.0), 0.95);
        close(torque.si() * gear.ratio(), 70.0 * 0.95, 1e-14);
        // Workshop arithmetic, no source: 70 N·m, 34/42, 0.95, radius 0.3358 m gives 160.3 N.
        near(torque.over_radius(Length::metres(0.3358)).si(), 160.3, 0.05);
    }

    #[test]
    fn tension_and_wrap() {
        // Arithmetic with the polygon radius 84.97 mm of a 42-tooth ring (84.9 by N·p/2π): 942 N at 80 N·m.
        near(
            chain_tension(Torque::newton_metres(80.0), 42).unwrap().si(),
            942.0,
            1.5,
        );
        // 42/16 at 435 mm: 166.1° and 7.4 teeth by the same geometry.
        let wrap = wrap(Gear::new(42, 16).unwrap(), Length::millimetres(435.0)).unwrap();
        near(wrap.angle.as_degrees(), 166.1, 0.1);
        near(wrap.teeth, 7.4, 0.05);
        // Equal sprockets wrap half a turn, whatever the distance.
        let even = super::wrap(Gear::new(20, 20).unwrap(), Length::metres(0.4)).unwrap();
        close(even.angle.as_degrees(), 180.0, 1e-14);
        close(even.teeth, 10.0, 1e-14);
    }

    #[test]
    fn gain_ratio() {
        // 340 mm wheel radius, 170 mm crank, 1:1: the road moves twice as far as the pedal.
        close(
            Gear::new(22, 22)
                .unwrap()
                .gain(Length::metres(0.34), Length::metres(0.17)),
            2.0,
            1e-14,
        );
    }

    /// The ratios of a three-speed hub whose planets run between a sun that stands still and an annulus, lowest first. The
    /// fundamental equation of a planetary train (Willis), `(w_sun − w_arm)/(w_annulus − w_arm) = −N_annulus/N_sun`
    /// (Shigley, Mechanical Engineering Design, planetary gear trains), with the sun at rest: the arm turns
    /// N_annulus/(N_annulus + N_sun) times with the annulus driven, the annulus the inverse with the arm driven.
    fn three_speed(sun: f64, annulus: f64) -> [f64; 3] {
        let arm = annulus / (annulus + sun);
        // The equation itself holds for what was taken from it, with the annulus turning once.
        close((0.0 - arm) / (1.0 - arm), -annulus / sun, 1e-12);
        [arm, 1.0, 1.0 / arm]
    }

    #[test]
    fn gears_inside_a_hub_are_those_of_the_planetary_train() {
        // Sun of 20, annulus of 60 teeth: 60/80 = 0.75 and 80/60 = 1 + 20/60. A ring of 44 on a cog of 22 turns it twice for
        // each turn of the cranks, a wheel of 2.1 m: by hand 3.15, 4.2 and 5.6 m each turn.
        let [low, direct, high] = three_speed(20.0, 60.0).map(|ratio| {
            let gear = Gear::new(44, 22).unwrap();
            gear.through_hub(ratio).unwrap()
        });
        close(low.ratio(), 1.5, 1e-12);
        close(high.ratio(), 2.0 * (1.0 + 20.0 / 60.0), 1e-12);
        let c = Length::metres(2.1);
        for (gear, metres) in [(low, 3.15), (direct, 4.2), (high, 5.6)] {
            close(gear.development(c).as_metres(), metres, 1e-12);
            // 340 mm of wheel over 170 mm of crank is 2; at 60 rpm one development a second.
            let gain = gear.gain(Length::metres(0.34), Length::metres(0.17));
            close(gain, metres / 2.1 * 2.0, 1e-12);
            let at_60 = gear.speed(AngularSpeed::rpm(60.0), c);
            close(at_60.si(), metres, 1e-12);
            close(gear.cadence(at_60, c).as_rpm(), 60.0, 1e-12);
        }
        // Power in is power out: what turns half as fast again pulls two thirds.
        let pull = |gear: Gear| gear.wheel_torque(Torque::newton_metres(60.0), 0.92).si();
        close(pull(low), 60.0 * 0.92 / 1.5, 1e-12);
        close(pull(direct) / pull(high), 4.0 / 3.0, 1e-12);
        assert_eq!(Gear::new(44, 22).unwrap(), direct);
    }

    #[test]
    fn the_chain_does_not_feel_the_gears_inside_a_hub() {
        let plain = Gear::new(42, 16).unwrap();
        let low = plain.through_hub(0.5).unwrap();
        let at = Length::millimetres(435.0);
        assert_eq!(wrap(low, at), wrap(plain, at));
        assert_eq!((low.ring(), low.cog(), low.hub()), (42, 16, 0.5));
    }

    #[test]
    fn impossible_gears_are_refused() {
        let hub = |ratio| Gear::new(42, 16).unwrap().through_hub(ratio);
        for ratio in [0.19, 4.01, 0.0, -1.0, f64::INFINITY] {
            assert_eq!(hub(ratio), Err(GearError::HubRatio { ratio }));
        }
        assert!(hub(f64::NAN).is_err() && hub(0.2).is_ok() && hub(4.0).is_ok());
        assert_eq!(Gear::new(42, 0), Err(GearError::TooFewTeeth { teeth: 0 }));
        assert_eq!(
            chain_tension(Torque::newton_metres(1.0), 3),
            Err(GearError::TooFewTeeth { teeth: 3 })
        );
        let near = wrap(Gear::new(42, 16).unwrap(), Length::millimetres(100.0));
        assert!(matches!(near, Err(GearError::SprocketsOverlap { .. })));
    }
}
