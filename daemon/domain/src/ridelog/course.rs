//! A log's course for a drawing: means over equal steps of time.

use super::Log;
use super::way::Way;

/// A step of the course; what no sample in it tells is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// Middle of the step, after the first sample.
    pub time_s: f64,
    /// Mean speed.
    pub speed_mps: Option<f64>,
    /// Mean power of the meter.
    pub power_w: Option<f64>,
    /// Mean power of the motor.
    pub motor_w: Option<f64>,
    /// Mean height.
    pub height_m: Option<f64>,
}

/// The course in so many steps; those without a sample are left out.
pub fn course(log: &Log, steps: usize) -> Vec<Point> {
    let way = Way::of(log);
    let last = log.samples.last().map_or(0.0, |sample| sample.time.si());
    let width = (last / steps.max(1) as f64).max(f64::MIN_POSITIVE);
    let mut points = Vec::new();
    let mut from = 0;
    for step in 0..steps {
        let end = if step + 1 == steps {
            log.samples.len()
        } else {
            let end = width * (step + 1) as f64;
            from + log.samples[from..].partition_point(|sample| sample.time.si() < end)
        };
        let mean = |figure: &dyn Fn(usize) -> Option<f64>| {
            let told: Vec<f64> = (from..end).filter_map(figure).collect();
            (!told.is_empty()).then(|| told.iter().sum::<f64>() / told.len() as f64)
        };
        if end > from {
            points.push(Point {
                time_s: width * (step as f64 + 0.5),
                speed_mps: mean(&|i| way.speed[i].map(|speed| speed.si())),
                power_w: mean(&|i| log.samples[i].power.map(|power| power.si())),
                motor_w: mean(&|i| log.samples[i].motor_power.map(|power| power.si())),
                height_m: mean(&|i| log.samples[i].altitude.map(|height| height.si())),
            });
        }
        from = end;
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ridelog::read;

    #[test]
    fn steps_are_means_and_pauses_are_left_out() {
        // Worked by hand: four steps of 10 s over 40 s, nothing told from 11 to 29 s.
        let log =
            read(b"time_s,speed,power,height\n0,2,100,10\n5,4,,12\n10,6,50,14\n30,1,10,20\n40,3,30,22\n")
                .unwrap();
        let points = course(&log, 4);
        let told: Vec<_> = points
            .iter()
            .map(|p| (p.time_s, p.speed_mps, p.power_w, p.height_m))
            .collect();
        assert_eq!(
            told,
            [
                (5.0, Some(3.0), Some(100.0), Some(11.0)),
                (15.0, Some(6.0), Some(50.0), Some(14.0)),
                (35.0, Some(2.0), Some(20.0), Some(21.0)),
            ]
        );
        assert_eq!(points[0].motor_w, None);
        assert_eq!(course(&read(b"time_s,speed\n0,2\n").unwrap(), 3).len(), 1);
        assert_eq!(course(&log, 0), []);
    }
}
