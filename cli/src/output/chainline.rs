//! The chainline drawn in text: a bar of signs for the chain's angle at each cog.
//!
//! The sign of the bar says the side (`+` ring outboard of the cog, `-` inboard), its length
//! the angle, so it reads without colour.

use lockring_proto::v1::{ChainlineReply, CogLine};

use crate::command_error::CommandError;
use crate::output::Out;
use crate::output::table::Table;

/// Signs for each degree.
const SIGNS_PER_DEGREE: f64 = 5.0;
/// Longest bar on either side.
const LONGEST: usize = 22;

/// Prints the chainline with a bar for each cog.
pub(crate) fn print(out: &mut Out<'_>, reply: &ChainlineReply) -> Result<(), CommandError> {
    out.heading(&format!("Job {}: ring of {} teeth", reply.job, reply.ring_teeth))?;
    out.labelled(
        "front line",
        &format!("{:.1} mm, {}", reply.front_mm, reply.front_how),
    )?;
    out.labelled(
        "rear line",
        &format!("{:.1} mm, {}", reply.rear_mm, reply.rear_how),
    )?;
    out.labelled(
        if reply.cogs.len() == 1 {
            "ring beside the cog"
        } else {
            "ring beside cassette centre"
        },
        &format!("{:+.1} mm", reply.front_mm - reply.rear_mm),
    )?;
    out.labelled("chainstay", &format!("{:.0} mm", reply.stay_mm))?;
    let off = if reply.nearest_off_mm > 0.05 {
        format!("{:.1} mm outside its range", reply.nearest_off_mm)
    } else {
        "inside its range".to_owned()
    };
    out.labelled(
        "nearest stored front line",
        &format!("{}, {off}", reply.nearest_standard),
    )?;
    out.blank()?;
    if out.look.plain {
        return print_labelled(out, &reply.cogs);
    }
    let unit = out.value(0.0, "mm").1;
    out.line(format_args!(
        "cog   line {unit}  offset {unit}  angle deg  - ring inboard | ring outboard +"
    ))?;
    for cog in &reply.cogs {
        let told = CogLine {
            line_mm: out.value(cog.line_mm, "mm").0,
            offset_mm: out.value(cog.offset_mm, "mm").0,
            ..*cog
        };
        let digits = if unit == "mm" { 1 } else { 2 };
        out.line(row(&told, digits))?;
    }
    Ok(())
}

/// A cog after the other, each fact labelled.
fn print_labelled(out: &mut Out<'_>, cogs: &[CogLine]) -> Result<(), CommandError> {
    let mut table = Table::new(["cog", "line", "ring outboard of it by", "angle"]);
    for cog in cogs {
        table.row([
            cog.teeth.to_string().into(),
            format!("{:.1} mm", cog.line_mm).into(),
            format!("{:+.1} mm", cog.offset_mm).into(),
            format!("{:+.2} deg", cog.angle_deg).into(),
        ]);
    }
    table.print(out)
}

fn row(cog: &CogLine, digits: usize) -> String {
    let signs = ((cog.angle_deg.abs() * SIGNS_PER_DEGREE).round() as usize).min(LONGEST);
    let (inboard, outboard) = if cog.angle_deg < 0.0 {
        (signs, 0)
    } else {
        (0, signs)
    };
    let bar = format!("{:>LONGEST$}|{}", "-".repeat(inboard), "+".repeat(outboard));
    format!(
        "{:>3}  {:>8.digits$}  {:>+9.digits$}  {:>+9.2}  {bar}",
        cog.teeth, cog.line_mm, cog.offset_mm, cog.angle_deg
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_lies_on_the_side_of_the_ring_and_is_as_long_as_the_angle() {
        let cog = |angle_deg| CogLine {
            teeth: 34,
            line_mm: 27.6,
            offset_mm: 23.9,
            angle_deg,
        };
        // 2.85 degrees at five signs a degree: fourteen signs.
        assert!(row(&cog(2.85), 1).ends_with(&format!("{}|{}", " ".repeat(LONGEST), "+".repeat(14))));
        assert!(row(&cog(-2.85), 1).ends_with(&format!("{}|", "-".repeat(14))));
        assert!(row(&cog(0.0), 1).ends_with('|'));
        assert!(row(&cog(40.0), 1).ends_with(&"+".repeat(LONGEST)));
        assert!(row(&cog(2.85), 1).len() <= 80);
    }
}
