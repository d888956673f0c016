//! Logs of rides: a line each, or one with its stretches, fits and course.

use lockring_proto::v1::{ListRideLogsReply, RideLog, RideLogPoint, RideLogStretch, ShowRideLogReply};

use crate::command_error::CommandError;
use crate::output::Out;
use crate::output::plot::{self, Curve, Plot};
use crate::output::table::{Cell, Table};

/// Prints the list.
pub(crate) fn print_list(out: &mut Out<'_>, reply: &ListRideLogsReply) -> Result<(), CommandError> {
    out.heading(&format!("Job {}, {}: logs of rides", reply.job, reply.rider))?;
    if reply.logs.is_empty() {
        return out.line(format_args!(
            "none; read one with `lockring ride {} import FILE`",
            reply.job
        ));
    }
    let mut table = Table::new(["log", "file", "kind", "min", "km", "m up", "mended"]);
    for log in &reply.logs {
        table.row([
            Cell::from(log.number.to_string()),
            Cell::from(log.file.clone()),
            Cell::from(log.format.clone()),
            Cell::from(format!("{:.0}", log.minutes)),
            Cell::from(format!("{:.2}", log.distance_km)),
            Cell::from(log.ascent_m.map_or_else(String::new, |up| format!("{up:.0}"))),
            Cell::from(log.mended.len().to_string()),
        ]);
    }
    table.print(out)
}

/// Prints one log.
pub(crate) fn print(out: &mut Out<'_>, reply: &ShowRideLogReply) -> Result<(), CommandError> {
    let log = reply.log.clone().unwrap_or_default();
    out.heading(&format!(
        "Job {}, {}: log {}, {}",
        reply.job, reply.rider, log.number, log.file
    ))?;
    for (label, text) in sums(&log) {
        out.labelled(label, &text)?;
    }
    for line in &log.mended {
        out.wrapped("mended or lost: ", "    ", line)?;
    }
    if !log.stretches.is_empty() {
        out.blank()?;
        out.heading("Usable stretches")?;
        stretches(&log.stretches).print(out)?;
    }
    if !log.fits.is_empty() || !log.said.is_empty() {
        out.blank()?;
        out.heading("Drag and rolling resistance, ± two standard uncertainties")?;
    }
    for fit in &log.fits {
        out.wrapped("- ", "  ", &fit.line)?;
    }
    for line in &log.said {
        out.wrapped("- ", "  ", line)?;
    }
    course(out, &reply.course)?;
    if !reply.hill_command.is_empty() {
        out.blank()?;
        out.words_and_command(
            "",
            "the steepest climb, as a run of the test ride",
            &reply.hill_command,
        )?;
    }
    Ok(())
}

fn sums(log: &RideLog) -> Vec<(&'static str, String)> {
    let mut lines = vec![
        (
            "read",
            format!("{}, {} samples, {}", log.format, log.samples, log.has.join(", ")),
        ),
        (
            "ride",
            format!(
                "{:.2} km {}, {:.1} min, {:.1} min of them moving{}",
                log.distance_km,
                log.distance_by,
                log.minutes,
                log.moving_minutes,
                log.top_kmh
                    .map_or_else(String::new, |top| format!(", fastest {top:.1} km/h"))
            ),
        ),
    ];
    if let (Some(up), Some(down)) = (log.ascent_m, log.descent_m) {
        lines.push(("climbing", format!("{up:.0} m up, {down:.0} m down")));
    }
    if let Some(work) = log.work_wh {
        let motor = log
            .motor_work_wh
            .map_or_else(String::new, |motor| format!(", motor {motor:.1} Wh"));
        lines.push(("work", format!("power meter ({}) {work:.1} Wh{motor}", log.meter)));
    }
    if let (Some(from), Some(to)) = (log.charge_from_percent, log.charge_to_percent) {
        lines.push(("battery", format!("{from:.0} to {to:.0} %")));
    }
    lines.push(("file", format!("SHA-256 {}", log.sha256)));
    lines
}

fn stretches(list: &[RideLogStretch]) -> Table<'static> {
    let mut table = Table::new(["kind", "at min", "s", "m", "m up", "grade %", "km/h", "W"]);
    for stretch in list {
        table.row([
            Cell::from(stretch.kind.clone()),
            Cell::from(format!("{:.1}", stretch.from_minutes)),
            Cell::from(format!("{:.0}", stretch.seconds)),
            Cell::from(format!("{:.0}", stretch.distance_m)),
            Cell::from(format!("{:.1}", stretch.climb_m)),
            Cell::from(format!("{:.1}", stretch.grade_percent)),
            Cell::from(format!("{:.1}", stretch.speed_kmh)),
            Cell::from(
                stretch
                    .power_w
                    .map_or_else(String::new, |power| format!("{power:.0}")),
            ),
        ]);
    }
    table
}

/// A way to see one figure of a point.
type Figure = fn(&RideLogPoint) -> Option<f64>;
/// A curve's sign, name and figure.
type Drawn<'a> = (char, &'a str, Figure);

/// Draws speed with height, and power, each where the log tells it.
fn course(out: &mut Out<'_>, points: &[RideLogPoint]) -> Result<(), CommandError> {
    let drawings: [(&str, &[Drawn<'_>]); 3] = [
        ("km/h", &[('*', "speed", |p| p.speed_kmh)]),
        (
            "W",
            &[('m', "motor", |p| p.motor_w), ('*', "power meter", |p| p.power_w)],
        ),
        ("m", &[('*', "height", |p| p.height_m)]),
    ];
    for (unit, figures) in drawings {
        let curves: Vec<Curve> = figures
            .iter()
            .map(|(sign, name, figure)| Curve {
                sign: *sign,
                name: (*name).to_owned(),
                points: points
                    .iter()
                    .filter_map(|point| Some((point.minutes, figure(point)?)))
                    .collect(),
            })
            .filter(|curve| curve.points.len() > 1)
            .collect();
        if !curves.is_empty() {
            out.blank()?;
            let axes = ("min".to_owned(), unit.to_owned());
            plot::print(
                out,
                &Plot {
                    axes,
                    curves,
                    across: None,
                },
            )?;
        }
    }
    Ok(())
}
