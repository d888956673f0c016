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
    out.heading(&format!(
        "Job {}: ring of {} teeth, {:.0} kg in all, rider {:.0} W",
        reply.job, reply.ring_teeth, reply.gross_kg, reply.rider_w
    ))?;
    out.wrapped("assist ", "  ", &reply.assist)?;
    if out.look.plain {
        print_labelled(out, &reply.rows)?;
    } else {
        let speed = out.value(0.0, "km/h").1;
        out.line("grade  full charge            a fifth left           start  speed, a fifth left")?;
        out.line(format_args!(
            "    %  {speed:<4} cog  rpm held by  {speed:<4} cog  rpm held by   m/s2  each = 2.5 {speed}"
        ))?;
        for row in &reply.rows {
            let shown = line(out, row);
            out.line(shown)?;
        }
    }
    if let Some(hold) = &reply.hold {
        out.wrapped("", "  ", &held(hold))?;
    }
    out.blank()?;
    out.heading("Steepest grade of each gear with a fifth of the charge left")?;
    if out.look.plain {
        let mut table = Table::new(["cog", "at 5 km/h", "to start"]);
        for gear in &reply.gears {
            table.row([
                gear.cog_teeth.to_string().into(),
                format!("{:.1} %", gear.grade_percent).into(),
                format!("{:.1} %", gear.start_percent).into(),
            ]);
        }
        table.print(out)?;
    } else {
        out.line("cog  at 5 km/h  to start  each = 1 % held")?;
        for gear in &reply.gears {
            out.line(reach(gear))?;
        }
    }
    out.line("Predicted: road, rider and wind decide. Measure before you rely on it.")
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
fn print_labelled(out: &mut Out<'_>, rows: &[HillRow]) -> Result<(), CommandError> {
    let said = |ride: &Option<HillRide>| match ride {
        Some(ride) if ride.speed_kmh > 0.0 => format!(
            "{:.1} km/h on cog {}, {:.0} rpm, held by {}",
            ride.speed_kmh, ride.cog_teeth, ride.cadence_rpm, ride.held_by
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

fn line(out: &Out<'_>, row: &HillRow) -> String {
    let low = row.low.clone().unwrap_or_default();
    let full = row.full.clone().unwrap_or_default();
    let speed = out.value(low.speed_kmh, "km/h").0;
    let signs = ((speed / SPEED_PER_SIGN).round() as usize).min(LONGEST);
    format!(
        "{:>5.1}  {}  {}  {:>+5.2}  {}",
        row.grade_percent,
        ride(out, &full),
        ride(out, &low),
        row.start_mps2,
        "=".repeat(signs)
    )
    .trim_end()
    .to_owned()
}

fn ride(out: &Out<'_>, ride: &HillRide) -> String {
    if ride.speed_kmh <= 0.0 {
        return format!("{:<21}", "stalls");
    }
    // Its first word says it: the column is narrow.
    let held = ride
        .held_by
        .trim_start_matches("the ")
        .split(' ')
        .next()
        .unwrap_or_default();
    format!(
        "{:>4.1} {:>3} {:>4.0} {held:<7}",
        out.value(ride.speed_kmh, "km/h").0,
        ride.cog_teeth,
        ride.cadence_rpm
    )
}

fn reach(gear: &GearReach) -> String {
    let signs = (gear.grade_percent.round() as usize).min(40);
    format!(
        "{:>3}   {:>5.1} %   {:>5.1} %  {}",
        gear.cog_teeth,
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
    }
}
