//! What the rider is told to look after, and how often.
//!
//! Common practice of the trade, no source; a maker's own schedule comes first.

/// A line of the schedule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Care {
    /// How often, or when.
    pub every: &'static str,
    /// What is looked at.
    pub what: &'static str,
}

const fn care(every: &'static str, what: &'static str) -> Care {
    Care { every, what }
}

/// The schedule, the most frequent first.
pub const SCHEDULE: [Care; 5] = [
    care(
        "before each ride",
        "air in the tyres; both brakes; chain; axle nuts, torque arm or motor mounting by eye",
    ),
    care("weekly, or each 200 km", "chain cleaned and oiled"),
    care(
        "once, after 100 to 150 km or 30 days",
        "first check at the workshop: axle, spokes, brakes, mounts tried again",
    ),
    care("each 1,000 km", "chain by gauge, brake pads, spokes"),
    care("each year", "capacity of the pack, connectors, bearings"),
];
