//! A ride held against its expectation: the figures, what explains them, what settles it.

use lockring_proto::v1::{CompareRideReply, ComparedFigure, RideExplanation};

use crate::command_error::CommandError;
use crate::output::Out;
use crate::output::table::Table;

/// Prints the comparison.
pub(crate) fn print(out: &mut Out<'_>, reply: &CompareRideReply) -> Result<(), CommandError> {
    out.heading(&format!(
        "Job {}, {}: ridden against expected",
        reply.job, reply.rider
    ))?;
    for line in &reply.conditions {
        out.wrapped("at: ", "    ", line)?;
    }
    out.blank()?;
    let mut table = Table::new(["figure", "expected", "measured", "spreads", "verdict"]);
    for figure in &reply.figures {
        table.row([
            figure.name.clone().into(),
            with_doubt(figure, figure.expected, figure.expected_uncertainty).into(),
            with_doubt(figure, figure.measured, figure.measured_uncertainty).into(),
            format!("{:+.1}", figure.spreads).into(),
            figure.verdict.clone().into(),
        ]);
    }
    table.print(out)?;
    out.line("A spread is one standard uncertainty of the difference, both sides together.")?;
    for line in &reply.first {
        out.blank()?;
        out.wrapped("", "  ", line)?;
    }
    explanations(out, &reply.explanations)?;
    if let Some(settle) = &reply.settle {
        out.blank()?;
        out.heading("What would settle it")?;
        out.wrapped("", "  ", &settle.what)?;
        for (cause, expected) in [
            (&settle.first, &settle.if_first),
            (&settle.second, &settle.if_second),
        ] {
            out.wrapped("  ", "    ", &format!("{expected} if {cause}"))?;
        }
        out.line(format_args!("  {}", settle.command))?;
    }
    for remark in &reply.remarks {
        out.wrapped("note: ", "    ", remark)?;
    }
    Ok(())
}

fn explanations(out: &mut Out<'_>, explanations: &[RideExplanation]) -> Result<(), CommandError> {
    if explanations.is_empty() {
        return Ok(());
    }
    out.blank()?;
    out.heading("What the differences point to, all of them together")?;
    for explanation in explanations {
        let lead = format!("{:>4} ", percent(explanation.share));
        out.wrapped(&lead, "     ", &explanation.said)?;
        if !explanation.look.is_empty() {
            out.wrapped("     look: ", "       ", &explanation.look)?;
        }
    }
    Ok(())
}

fn percent(share: f64) -> String {
    // Nothing found by odds is certain.
    match (100.0 * share).round() {
        full if full >= 100.0 => ">99%".to_owned(),
        share => format!("{share:.0}%"),
    }
}

/// A number no finer than its doubt, with its doubt and unit.
fn with_doubt(figure: &ComparedFigure, number: f64, doubt: f64) -> String {
    let digits = match doubt {
        fine if fine > 0.0 && fine < 0.1 => 2,
        usual if usual < 10.0 => 1,
        _ => 0,
    };
    format!("{number:.digits$} ± {doubt:.digits$} {}", figure.unit)
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::SettlingMeasurement;

    use super::*;
    use crate::output::samples::text;

    #[test]
    fn figures_explanations_and_what_settles_it_fit_eighty_columns() {
        let reply = CompareRideReply {
            job: 21,
            rider: "Somebody".into(),
            conditions: vec!["hill 8 %, by the brief (told)".into()],
            figures: vec![ComparedFigure {
                name: "speed up the hill".into(),
                unit: "km/h".into(),
                expected: 13.2,
                expected_uncertainty: 1.9,
                measured: 6.0,
                measured_uncertainty: 0.3,
                spreads: -7.4,
                verdict: "differs".into(),
                ..ComparedFigure::default()
            }],
            explanations: vec![RideExplanation {
                cause: "hill-grade".into(),
                said: "the hill is steeper than the brief has it: 10.8 ± 0.6 % instead of 8.0 %".into(),
                look: "measure the grade at five points".into(),
                share: 0.998,
                ..RideExplanation::default()
            }],
            settle: Some(SettlingMeasurement {
                what: "measure the hill's grade at five points with an inclinometer".into(),
                if_first: "10.8 %".into(),
                if_second: "8 %".into(),
                command: "lockring ride 21 hill grade=PERCENT".into(),
                first: "the hill is steeper than the brief has it".into(),
                second: "a brake drags at the driven wheel".into(),
                ..SettlingMeasurement::default()
            }),
            remarks: vec!["what was on board was not weighed".into()],
            first: vec!["the brakes first: stopped in 9 m, over the 7 m that count as a failed brake".into()],
        };
        let shown = text(80, |out| print(out, &reply));
        for words in [
            "13.2 ± 1.9 km/h",
            "6.0 ± 0.3 km/h",
            "-7.4",
            ">99% the hill is steeper",
            "10.8 % if the hill is steeper",
            "8 % if a brake drags at the driven wheel",
            "note: what was on board",
        ] {
            assert!(shown.contains(words), "{words}: {shown}");
        }
        let (before, _) = shown.split_once(">99% the hill").unwrap();
        assert!(before.contains("\nthe brakes first: stopped in 9 m"), "{shown}");
        assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
    }
}
