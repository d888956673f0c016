//! The motor's warmth along a tour, brought up to date every few seconds of riding, and the current it has left
//! once the winding is at its limit.

use super::books::Hottest;
use super::{TourError, Tourer, within};
use crate::motor::Motor;
use crate::quantity::{Duration, Energy, Length, Power, Temperature};
use crate::thermal::{Heating, HotMotor, Temperatures};

/// Pieces of the winding's time constant after which the temperatures are brought up to date.
const WARMINGS: f64 = 40.0;

pub(super) struct Warm {
    hot: HotMotor,
    now: Temperatures,
    air: Temperature,
    /// Time since the last update, and heat made in it.
    waited: f64,
    winding: f64,
    case: f64,
    update_after: f64,
    hottest: Hottest,
}

impl Warm {
    pub(super) fn new(tourer: &Tourer<'_>) -> Result<Option<Self>, TourError> {
        let (Some(heat), Some(motor)) = (tourer.heat, tourer.system.motor) else {
            return Ok(None);
        };
        let hot = HotMotor {
            motor,
            nodes: heat.nodes,
            magnet: heat.magnet,
            limit: heat.limit,
        };
        hot.check()?;
        let (low, high) = (200.0, 500.0);
        within(&[
            ("air", heat.air.si(), low, high),
            ("start_winding", heat.start.winding.si(), low, high),
            ("start_case", heat.start.case.si(), low, high),
        ])?;
        Ok(Some(Self {
            hot,
            now: heat.start,
            air: heat.air,
            waited: 0.0,
            winding: 0.0,
            case: 0.0,
            update_after: heat.nodes.winding_to_case.si() * heat.nodes.winding.si() / WARMINGS,
            hottest: Hottest {
                winding: heat.start.winding,
                winding_at: Length::ZERO,
                case: heat.start.case,
                over_limit: None,
            },
        }))
    }

    /// The motor as warm as it is; at its limit with no more current than holds the winding there.
    pub(super) fn motor(&self) -> Motor {
        let warm = self.hot.at(self.now);
        if self.now.winding < self.hot.limit {
            return warm;
        }
        Motor {
            phase_limit: warm.phase_limit.min(self.hot.holding(self.now)),
            ..warm
        }
    }

    pub(super) fn winding(&self) -> Temperature {
        self.now.winding
    }

    pub(super) fn hottest(&self) -> Hottest {
        self.hottest
    }

    pub(super) fn heat(&mut self, winding: Energy, case: Energy) {
        self.winding += winding.si();
        self.case += case.si();
    }

    /// Time goes on; true when an update is due.
    pub(super) fn wait(&mut self, time: f64) -> bool {
        self.waited += time;
        self.waited >= self.update_after
    }

    pub(super) fn update(&mut self, at: Length) {
        if self.waited <= 0.0 {
            return;
        }
        let mean = |heat: f64| Power::from_si(heat.max(0.0) / self.waited);
        let heating = Heating::fixed(mean(self.winding), mean(self.case));
        let time = Duration::from_si(self.waited);
        self.now = self.hot.nodes.after(self.now, &heating, self.air, time);
        (self.waited, self.winding, self.case) = (0.0, 0.0, 0.0);
        let hottest = &mut self.hottest;
        if self.now.winding > hottest.winding {
            (hottest.winding, hottest.winding_at) = (self.now.winding, at);
        }
        if self.now.case > hottest.case {
            hottest.case = self.now.case;
        }
        if self.now.winding > self.hot.limit && hottest.over_limit.is_none() {
            hottest.over_limit = Some(at);
        }
    }
}
