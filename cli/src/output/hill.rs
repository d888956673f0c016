//! Hills: a row for each grade with a bar for its speed, and the reach of each gear.

use lockring_proto::v1::{GearReach, HillHold, HillRide, HillRow, HillsReply};

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
    let gears = Gears(least.is_some());
    out.wrapped("assist ", "  ", &reply.assist)?;
    if out.look.plain {
        print_labelled(out, &reply.rows, gears)?;
    } else {
        let speed = out.value(0.0, "km/h").1;
        let (cog, wide) = (gears.head(), gears.width());
        out.line(format_args!(
            "grade  {:<more$}  {:<more$}  start  {}",
            "full charge",
            "a fifth left",
            if gears.0 {
                "speed then"
            } else {
                "speed, a fifth left"
            },
            more = 18 + wide
        ))?;
        out.line(format_args!(
            "    %  {speed:<4} {cog:>wide$}  rpm held by  {speed:<4} {cog:>wide$}  rpm held by   m/s2  each = 2.5 {speed}"
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
                gears.name(gear.ring_teeth, gear.cog_teeth).into(),
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

/// How gears are named: by the cog alone, or where there are several rings (true) by ring and cog.
#[derive(Clone, Copy)]
struct Gears(bool);

impl Gears {
    const fn head(self) -> &'static str {
        if self.0 { "gear" } else { "cog" }
    }

    const fn width(self) -> usize {
        if self.0 { 5 } else { 3 }
    }

    fn name(self, ring: u32, cog: u32) -> String {
        if self.0 {
            format!("{ring}/{cog}")
        } else {
            cog.to_string()
        }
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
            gears.name(ride.ring_teeth, ride.cog_teeth),
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
    let longest = if gears.0 { LONGEST - 2 } else { LONGEST };
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
        gears.name(ride.ring_teeth, ride.cog_teeth),
        ride.cadence_rpm
    )
}

fn reach(gear: &GearReach, gears: Gears) -> String {
    let wide = gears.width();
    let signs = (gear.grade_percent.round() as usize).min(40);
    format!(
        "{:>wide$}   {:>5.1} %   {:>5.1} %  {}",
        gears.name(gear.ring_teeth, gear.cog_teeth),
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
}
