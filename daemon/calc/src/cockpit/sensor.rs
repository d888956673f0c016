//! Which brake sensor goes with which lever.

use crate::doubt::Basis;

/// A brake as fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Lever {
    /// Lever that pulls a cable, without a switch.
    Cable,
    /// Lever that pulls a cable, with its own switch.
    CableSwitch,
    /// Hydraulic lever without a switch.
    Hydraulic,
    /// Hydraulic lever with its own switch.
    HydraulicSwitch,
    /// Back-pedal brake: no lever.
    BackPedal,
}

/// A way to tell the controller that a brake is pulled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sensor {
    /// Switch in a lever that pulls a cable.
    CableLeverSwitch,
    /// Switch in a hydraulic lever.
    HydraulicLeverSwitch,
    /// Magnet on the lever's blade, sensor on its body.
    MagnetKit,
    /// Switch in line with the brake's cable.
    InLineCable,
}

/// Every sensor.
pub const SENSORS: [Sensor; 4] = [
    Sensor::CableLeverSwitch,
    Sensor::HydraulicLeverSwitch,
    Sensor::MagnetKit,
    Sensor::InLineCable,
];

/// How a sensor goes with a lever.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SensorFit {
    /// The lever has it already.
    BuiltIn,
    /// Goes on the lever that is there.
    Fits,
    /// Comes with another lever, which takes the place of this one.
    NewLever,
    /// Comes with another hydraulic lever: hose moved and bled.
    NewLeverAndBleed,
    /// Does not go with this brake.
    Unsuited,
}

impl SensorFit {
    /// Whether the lever that is there can stay.
    pub const fn keeps_lever(self) -> bool {
        matches!(self, Self::BuiltIn | Self::Fits)
    }
}

/// How the table of levers and sensors is known: common practice, no source.
pub const LEVER_SENSOR_BASIS: Basis = Basis::Judgement;

/// How a sensor goes with a lever; common practice, no source.
pub const fn sensor_fit(lever: Lever, sensor: Sensor) -> SensorFit {
    match (lever, sensor) {
        (Lever::CableSwitch, Sensor::CableLeverSwitch)
        | (Lever::HydraulicSwitch, Sensor::HydraulicLeverSwitch) => SensorFit::BuiltIn,
        (Lever::Cable, Sensor::CableLeverSwitch) => SensorFit::NewLever,
        (Lever::Hydraulic, Sensor::HydraulicLeverSwitch) => SensorFit::NewLeverAndBleed,
        (Lever::Cable | Lever::CableSwitch, Sensor::MagnetKit | Sensor::InLineCable)
        | (Lever::Hydraulic | Lever::HydraulicSwitch, Sensor::MagnetKit) => SensorFit::Fits,
        // A cable lever moves no fluid, a hydraulic one no cable, a back-pedal brake has none.
        (Lever::Cable | Lever::CableSwitch, Sensor::HydraulicLeverSwitch)
        | (Lever::Hydraulic | Lever::HydraulicSwitch, Sensor::CableLeverSwitch | Sensor::InLineCable)
        | (Lever::BackPedal, _) => SensorFit::Unsuited,
    }
}

/// Sensors that go with a lever, those that keep it first.
pub fn sensors_for(lever: Lever) -> Vec<(Sensor, SensorFit)> {
    let mut suited: Vec<_> = SENSORS
        .into_iter()
        .map(|sensor| (sensor, sensor_fit(lever, sensor)))
        .filter(|(_, fit)| *fit != SensorFit::Unsuited)
        .collect();
    suited.sort_by_key(|(_, fit)| !fit.keeps_lever());
    suited
}
