//! Hills: a row for each grade with a bar for its speed, and the reach of each gear.

use lockring_proto::v1::{GearReach, HillHold, HillRide, HillRow, HillsReply, HubGear};

use crate::command_error::CommandError;
use crate::output::Out;
use crate::output::table::Table;

/// Longest bar.
const LONGEST: usize = 18;
/// A bar's sign stands for so many km/h, or mph.
const SPEED_PER_SIGN: f64 = 2.5;

/// Prints the table and the gears.
pub(crate) fn print(out: &mut Out<'_>, reply: &HillsReply) -> Result<(), CommandError> {
    let least = smaller_ring(reply);
    let rings = least.map_or_else(
        || format!("ring of {}", reply.ring_teeth),
        |least| format!("rings of {} and {least}", reply.ring_teeth),
    );
    out.heading(&format!(
        "Job {}: {rings} teeth, {:.0} kg in all, rider {:.0} W",
        reply.job, reply.gross_kg, reply.rider_w
    ))?;
    let gears = Gears::of(reply);
    out.wrapped("assist ", "  ", &reply.assist)?;
    if let Some(inside) = inside(reply) {
        out.wrapped("hub ", "  ", &inside)?;
    }
    if out.look.plain {
        print_labelled(out, &reply.rows, gears)?;
    } else {
        let speed = out.value(0.0, "km/h").1;
        let (cog, wide) = (gears.head(), gears.width());
        out.line(format_args!(
            "grade  {:<more$}  {:<more$}  start  {}",
            "full charge",
            "a fifth left",
            match wide {
                0..=3 => "speed, a fifth left",
                4 | 5 => "speed then",
                _ => "speed",
            },
            more = 18 + wide
        ))?;
        out.line(format_args!(
            "    %  {speed:<4} {cog:>wide$}  rpm held by  {speed:<4} {cog:>wide$}  rpm held by   m/s2  {}",
            if wide > 5 {
                "each 2.5".to_owned()
            } else {
                format!("each = 2.5 {speed}")
            }
        ))?;
        for row in &reply.rows {
            let shown = line(out, row, gears);
            out.line(shown)?;
        }
    }
    if let Some(hold) = &reply.hold {
        out.wrapped("", "  ", &held(hold))?;
    }
    out.blank()?;
    out.heading("Steepest grade of each gear with a fifth of the charge left")?;
    if out.look.plain {
        let mut table = Table::new([gears.head(), "at 5 km/h", "to start"]);
        for gear in &reply.gears {
            table.row([
                gears.said(gear.ring_teeth, gear.cog_teeth, gear.hub_gear).into(),
                format!("{:.1} %", gear.grade_percent).into(),
                format!("{:.1} %", gear.start_percent).into(),
            ]);
        }
        table.print(out)?;
    } else {
        let wide = gears.width();
        out.line(format_args!(
            "{:<wide$}  at 5 km/h  to start  each = 1 % held",
            gears.head()
        ))?;
        for gear in &reply.gears {
            out.line(reach(gear, gears))?;
        }
    }
    out.wrapped(
        "",
        "    ",
        "Predicted: road, rider and wind decide. Measure before you rely on it.",
    )
}

/// Teeth of the smaller ring, where any gear is on one.
fn smaller_ring(reply: &HillsReply) -> Option<u32> {
    let rings = reply.gears.iter().map(|gear| gear.ring_teeth);
    rings.filter(|ring| (1..reply.ring_teeth).contains(ring)).min()
}

/// The gears inside the hub, numbered, with their ratios.
fn inside(reply: &HillsReply) -> Option<String> {
    let mut inside: Vec<HubGear> = reply.gears.iter().filter_map(|gear| gear.hub_gear).collect();
    inside.sort_by_key(|gear| gear.number);
    inside.dedup_by_key(|gear| gear.number);
    let named = inside
        .iter()
        .map(|gear| format!("{} x {:.2}", gear.number, gear.ratio));
    let of = inside.first()?.of;
    Some(format!(
        "{of} gears, turns of the wheel for one of the cog: {}",
        named.collect::<Vec<_>>().join(", ")
    ))
}

/// How gears are named: by the cog alone, where there are several rings by ring and cog, where the hub has gears by
/// their number, which alone is enough where there is one ring and one cog.
#[derive(Clone, Copy)]
struct Gears {
    rings: bool,
    cogs: bool,
    hub: bool,
}

impl Gears {
    fn of(reply: &HillsReply) -> Self {
        let hub = reply.gears.iter().any(|gear| gear.hub_gear.is_some());
        let first = reply.gears.first().map(|gear| gear.cog_teeth);
        Self {
            rings: smaller_ring(reply).is_some(),
            cogs: !hub || reply.gears.iter().any(|gear| Some(gear.cog_teeth) != first),
            hub,
        }
    }

    const fn head(self) -> &'static str {
        if self.rings || self.hub { "gear" } else { "cog" }
    }

    const fn width(self) -> usize {
        match (self.rings, self.cogs, self.hub) {
            (false, true, false) => 3,
            (false, false, _) => 4,
            (false, true, true) => 6,
            (true, _, false) => 5,
            (true, _, true) => 9,
        }
    }

    /// In as few signs as a column has: `44/19 h3` is gear 3 of the hub on ring and cog.
    fn name(self, ring: u32, cog: u32, hub: Option<HubGear>) -> String {
        let number = hub.map(|hub| hub.number);
        match (self.rings, self.cogs, number) {
            (true, _, None) => format!("{ring}/{cog}"),
            (false, _, None) => cog.to_string(),
            (true, _, Some(number)) => format!("{ring}/{cog} h{number}"),
            (false, true, Some(number)) => format!("{cog} h{number}"),
            (false, false, Some(number)) => number.to_string(),
        }
    }

    /// The same in words.
    fn said(self, ring: u32, cog: u32, hub: Option<HubGear>) -> String {
        let Some(hub) = hub else {
            return self.name(ring, cog, None);
        };
        format!(
            "{ring}/{cog} in hub gear {} of {} (x {:.2})",
            hub.number, hub.of, hub.ratio
        )
    }
}

/// How long the motor holds it, and what that rests on.
fn held(hold: &HillHold) -> String {
    let time = hold.minutes.map_or_else(
        || "for ever".to_owned(),
        |minutes| format!("for {minutes:.0} min"),
    );
    let rests = if hold.from_sheet {
        ""
    } else {
        "; heat paths guessed: the motor's sheet gives none"
    };
    format!(
        "full pack: the motor holds it {time} from cold at {:.0} C, to {:.0} C in its winding{rests}",
        hold.air_c, hold.limit_c
    )
}

/// A grade after the other, each fact labelled.
fn print_labelled(out: &mut Out<'_>, rows: &[HillRow], gears: Gears) -> Result<(), CommandError> {
    let said = |ride: &Option<HillRide>| match ride {
        Some(ride) if ride.speed_kmh > 0.0 => format!(
            "{:.1} km/h on {} {}, {:.0} rpm, held by {}",
            ride.speed_kmh,
            gears.head(),
            gears.said(ride.ring_teeth, ride.cog_teeth, ride.hub_gear),
            ride.cadence_rpm,
            ride.held_by
        ),
        _ => "stalls".to_owned(),
    };
    let mut table = Table::new(["grade", "full charge", "a fifth left", "start"]);
    for row in rows {
        table.row([
            format!("{:.1} %", row.grade_percent).into(),
            said(&row.full).into(),
            said(&row.low).into(),
            format!("{:+.2} m/s2", row.start_mps2).into(),
        ]);
    }
    table.print(out)
}

fn line(out: &Out<'_>, row: &HillRow, gears: Gears) -> String {
    let low = row.low.clone().unwrap_or_default();
    let full = row.full.clone().unwrap_or_default();
    let speed = out.value(low.speed_kmh, "km/h").0;
    // Two wider columns leave less room.
    let longest = LONGEST.min(26 - 2 * gears.width());
    let signs = ((speed / SPEED_PER_SIGN).round() as usize).min(longest);
    format!(
        "{:>5.1}  {}  {}  {:>+5.2}  {}",
        row.grade_percent,
        ride(out, &full, gears),
        ride(out, &low, gears),
        row.start_mps2,
        "=".repeat(signs)
    )
    .trim_end()
    .to_owned()
}

fn ride(out: &Out<'_>, ride: &HillRide, gears: Gears) -> String {
    let wide = gears.width();
    if ride.speed_kmh <= 0.0 {
        return format!("{:<more$}", "stalls", more = 18 + wide);
    }
    // Its first word says it: the column is narrow.
    let held = ride
        .held_by
        .trim_start_matches("the ")
        .split(' ')
        .next()
        .unwrap_or_default();
    format!(
        "{:>4.1} {:>wide$} {:>4.0} {held:<7}",
        out.value(ride.speed_kmh, "km/h").0,
        gears.name(ride.ring_teeth, ride.cog_teeth, ride.hub_gear),
        ride.cadence_rpm
    )
}

fn reach(gear: &GearReach, gears: Gears) -> String {
    let wide = gears.width();
    let signs = (gear.grade_percent.round() as usize).min(40);
    format!(
        "{:>wide$}   {:>5.1} %   {:>5.1} %  {}",
        gears.name(gear.ring_teeth, gear.cog_teeth, gear.hub_gear),
        gear.grade_percent,
        gear.start_percent,
        "=".repeat(signs)
    )
    .trim_end()
    .to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::text;

    #[test]
    fn a_stall_is_said_in_words_and_every_line_fits() {
        let low = HillRide {
            speed_kmh: 9.0,
            cog_teeth: 34,
            cadence_rpm: 60.0,
            held_by: "torque".into(),
            ..HillRide::default()
        };
        let row = HillRow {
            grade_percent: 10.8,
            full: Some(HillRide::default()),
            low: Some(low),
            start_mps2: -0.05,
        };
        let reply = HillsReply {
            job: 21,
            gross_kg: 190.0,
            ring_teeth: 42,
            rider_w: 110.0,
            rows: vec![
                row.clone(),
                HillRow {
                    low: Some(HillRide {
                        speed_kmh: 60.0,
                        held_by: "the assist limit".into(),
                        ..HillRide::default()
                    }),
                    full: row.low.clone(),
                    ..row
                },
            ],
            gears: vec![GearReach {
                cog_teeth: 34,
                grade_percent: 10.9,
                start_percent: 8.2,
                ring_teeth: 42,
                hub_gear: None,
            }],
            assist: "full: all that the drive gives".into(),
            hold: Some(HillHold {
                air_c: 25.0,
                limit_c: 110.0,
                minutes: Some(5.6),
                from_sheet: false,
            }),
        };
        let shown = text(80, |out| print(out, &reply));
        assert!(
            shown.contains("stalls") && shown.contains("-0.05  ====\n"),
            "{shown}"
        );
        assert!(
            shown.contains(" 34    10.9 %     8.2 %  ===========\n"),
            "{shown}"
        );
        assert!(
            shown.contains("\nassist full: all that the drive gives\n"),
            "{shown}"
        );
        assert!(
            shown.contains("the motor holds it for 6 min from cold at 25 C, to 110 C"),
            "{shown}"
        );
        assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
        // On the smaller of two rings the gear is told by both.
        let mut double = reply;
        double.gears.push(GearReach {
            cog_teeth: 34,
            ring_teeth: 28,
            ..GearReach::default()
        });
        for low in double.rows.iter_mut().filter_map(|row| row.low.as_mut()) {
            low.ring_teeth = 28;
        }
        let shown = text(80, |out| print(out, &double));
        assert!(shown.contains("rings of 42 and 28 teeth"), "{shown}");
        assert!(shown.contains(" 9.0 28/34   60 torque "), "{shown}");
        assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
    }

    /// One ring of 44, the cogs named, and behind them a hub of fourteen gears.
    fn through_hub(cogs: &[u32]) -> HillsReply {
        let hub = |number: u32| HubGear {
            number,
            of: 14,
            ratio: 0.3 + 0.085 * f64::from(number),
        };
        let reach = |cog_teeth, number| GearReach {
            cog_teeth,
            grade_percent: 40.0,
            start_percent: 40.0,
            ring_teeth: 44,
            hub_gear: Some(hub(number)),
        };
        let ride = Some(HillRide {
            speed_kmh: 60.0,
            cog_teeth: cogs[0],
            ring_teeth: 44,
            cadence_rpm: 110.0,
            held_by: "the assist limit".into(),
            hub_gear: Some(hub(14)),
            ..HillRide::default()
        });
        HillsReply {
            job: 21,
            gross_kg: 190.0,
            ring_teeth: 44,
            rows: vec![HillRow {
                grade_percent: 25.0,
                full: ride.clone(),
                low: ride,
                start_mps2: 1.25,
            }],
            gears: cogs
                .iter()
                .flat_map(|cog| (1..15).rev().map(|number| reach(*cog, number)))
                .collect(),
            assist: "full".into(),
            ..HillsReply::default()
        }
    }

    #[test]
    fn gears_inside_the_hub_are_numbered_and_every_line_fits() {
        let mut several = through_hub(&[19, 21]);
        let one = text(80, |out| print(out, &through_hub(&[19])));
        let both = text(80, |out| print(out, &several));
        several.gears.push(GearReach {
            cog_teeth: 21,
            ring_teeth: 30,
            hub_gear: Some(HubGear {
                number: 1,
                of: 14,
                ratio: 0.385,
            }),
            ..GearReach::default()
        });
        let all = text(80, |out| print(out, &several));
        for shown in [&one, &both, &all] {
            assert!(
                shown.contains("14 gears, turns of the wheel for one of the cog: 1 x 0.39, 2"),
                "{shown}"
            );
            assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
        }
        assert!(one.contains("60.0   14  110 assist"), "{one}");
        assert!(both.contains("60.0 19 h14  110 assist"), "{both}");
        assert!(all.contains("60.0 44/19 h14  110 assist"), "{all}");
        let read = crate::output::samples::plain_text(|out| print(out, &several));
        assert!(
            read.contains("on gear 44/19 in hub gear 14 of 14 (x 1.49)"),
            "{read}"
        );
    }
}
