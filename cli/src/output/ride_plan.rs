//! The sheet for the test ride: a numbered run, its boxes, its limits, its command.

use lockring_proto::v1::{RidePlanBox, RidePlanLine, RidePlanReply};

use crate::command_error::CommandError;
use crate::output::Out;

/// Prints the sheet.
pub(crate) fn print(out: &mut Out<'_>, reply: &RidePlanReply) -> Result<(), CommandError> {
    out.heading(&format!("Job {}, {}: test ride", reply.job, reply.rider))?;
    for line in &reply.before {
        out.wrapped("before: ", "    ", line)?;
    }
    for (index, line) in reply.lines.iter().enumerate() {
        out.blank()?;
        print_line(out, index + 1, line)?;
    }
    Ok(())
}

fn print_line(out: &mut Out<'_>, number: usize, line: &RidePlanLine) -> Result<(), CommandError> {
    out.wrapped(
        &format!("{number:>2} "),
        "   ",
        &format!("{}{}: {}", line.run, unasked(line), line.how),
    )?;
    for field in &line.boxes {
        out.wrapped("   ", "     ", &said(field))?;
    }
    for limit in &line.limits {
        let text = match limit.limit.as_str() {
            "" => limit.name.clone(),
            held => format!("{}: {held}", limit.name),
        };
        out.wrapped("   allowed: ", "     ", &text)?;
    }
    out.line(format_args!("   {}", line.command))
}

/// What is not ridden for the gate is told apart.
const fn unasked(line: &RidePlanLine) -> &'static str {
    if line.is_asked {
        ""
    } else {
        " (not asked by the gate)"
    }
}

fn said(field: &RidePlanBox) -> String {
    let mark = if field.recorded.is_empty() {
        "[____]".to_owned()
    } else {
        format!("[{}]", field.recorded)
    };
    match field.expected.as_str() {
        "" => format!("{mark} {}", field.name),
        expected => format!("{mark} {}, expected {expected}", field.name),
    }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::RidePlanLimit;

    use super::*;
    use crate::output::samples::text;

    #[test]
    fn a_box_shows_what_is_expected_and_then_what_was_recorded() {
        let field = |recorded: &str| RidePlanBox {
            field: "speed".into(),
            name: "speed up the hill".into(),
            expected: "6.3 km/h".into(),
            recorded: recorded.into(),
            unit: "km/h".into(),
        };
        let line = |recorded: &str| RidePlanLine {
            run: "hill".into(),
            how: "steady and seated".into(),
            boxes: vec![field(recorded)],
            limits: vec![
                RidePlanLimit {
                    name: "hill speed".into(),
                    limit: "at least 9 km/h".into(),
                },
                RidePlanLimit {
                    name: "no code left open".into(),
                    limit: String::new(),
                },
            ],
            command: "lockring ride 21 hill speed=…km/h".into(),
            is_asked: true,
            ..RidePlanLine::default()
        };
        let reply = |recorded: &str| RidePlanReply {
            job: 21,
            rider: "Tomas V.".into(),
            before: vec!["brakes bedded in".into()],
            lines: vec![line(recorded)],
        };
        let empty = text(80, |out| print(out, &reply("")));
        for part in [
            "before: brakes bedded in\n",
            " 1 hill: steady and seated\n",
            "   [____] speed up the hill, expected 6.3 km/h\n",
            "   allowed: hill speed: at least 9 km/h\n",
            "   allowed: no code left open\n",
            "   lockring ride 21 hill speed=…km/h\n",
        ] {
            assert!(empty.contains(part), "{part}: {empty}");
        }
        let mut free = reply("");
        free.lines[0].is_asked = false;
        let free = text(80, |out| print(out, &free));
        assert!(free.contains(" 1 hill (not asked by the gate): steady"), "{free}");
        assert!(text(80, |out| print(out, &reply("6.2 km/h"))).contains("[6.2 km/h] speed up the hill"));
    }
}
