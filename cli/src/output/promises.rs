//! Promises against the earliest finish.

use lockring_proto::v1::{PromiseLine, PromisesReply, Sheet};

use crate::command_error::CommandError;
use crate::output::sheet::section;
use crate::output::{Out, Paint, times};

/// The promises as a section, for CSV.
pub(crate) fn as_sheet(reply: &PromisesReply) -> Sheet {
    let lines = reply.lines.iter().map(|line| {
        let told = line.told.as_ref();
        [
            line.job.to_string(),
            line.rider.clone(),
            line.stage.clone(),
            line.promise.clone(),
            line.promise_kind.clone(),
            line.slips.to_string(),
            line.earliest_finish.clone(),
            line.late_days.to_string(),
            line.at_risk.to_string(),
            told.map_or_else(String::new, |told| told.why.clone()),
            line.reasons.join("; "),
        ]
    });
    let columns = [
        "job",
        "rider",
        "stage",
        "promise",
        "promise_kind",
        "slips",
        "earliest_finish",
        "late_days",
        "at_risk",
        "told",
        "reasons",
    ];
    Sheet {
        from: reply.day.clone(),
        to: reply.day.clone(),
        sections: vec![section("promises", columns, lines.collect())],
        ..Sheet::default()
    }
}

/// Prints the promises.
pub(crate) fn print(out: &mut Out<'_>, told: &PromisesReply) -> Result<(), CommandError> {
    out.heading(&format!("Promises on {}", times::day(&told.day)))?;
    let promised = times::count_of(u64::from(told.promised), "open job", "open jobs");
    out.line(format_args!(
        "{promised} with a promised day, {} at risk.",
        told.at_risk
    ))?;
    for line in &told.lines {
        out.blank()?;
        print_line(out, line)?;
    }
    Ok(())
}

fn print_line(out: &mut Out<'_>, line: &PromiseLine) -> Result<(), CommandError> {
    let bike = match line.bike.as_str() {
        "" => String::new(),
        bike => format!(", {bike}"),
    };
    out.heading(&format!(
        "Job {}, {}{bike}, at {}",
        line.job, line.rider, line.stage
    ))?;
    let promise = match line.promise.as_str() {
        "" => "no day".to_owned(),
        day => times::day(day),
    };
    let kind = match line.promise_kind.as_str() {
        "hard" => ", HARD".to_owned(),
        "" => String::new(),
        kind => format!(", {kind}"),
    };
    let slips = match line.slips {
        0 => String::new(),
        slips => format!(", {}", times::count_of(u64::from(slips), "slip", "slips")),
    };
    let late = out.paint(Paint::Bad, &late_words(line));
    let finish = match line.earliest_finish.as_str() {
        "" => "earliest finish not known".to_owned(),
        day => format!("earliest finish {}", times::day(day)),
    };
    let late = if line.at_risk {
        format!(" {late}")
    } else {
        String::new()
    };
    out.wrapped(
        "  ",
        "      ",
        &format!("promised {promise}{kind}{slips}; {finish}{late}"),
    )?;
    for reason in &line.reasons {
        out.wrapped("    ", "      ", reason)?;
    }
    if line.days.len() > 1 {
        let days: Vec<String> = line.days.iter().map(day_words).collect();
        out.wrapped("    days: ", "      ", &days.join(" -> "))?;
    }
    match &line.told {
        Some(told) => out.wrapped(
            "    rider told: ",
            "      ",
            &format!("{} ({})", told.why, told.by),
        ),
        None if line.at_risk => out.line(format_args!(
            "    rider told: {} — lockring told {} WORDS",
            out.paint(Paint::Bad, "NO"),
            line.job
        )),
        None => Ok(()),
    }
}

fn late_words(line: &PromiseLine) -> String {
    match line.late_days {
        0 if line.earliest_finish.is_empty() => "! nobody can say".to_owned(),
        0 => "! past".to_owned(),
        days => format!(
            "x {} late",
            times::count_of(u64::from(days), "working day", "working days")
        ),
    }
}

fn day_words(day: &lockring_proto::v1::PromisedDay) -> String {
    let why = day.said.as_ref().map_or("", |said| said.why.as_str());
    if why.is_empty() {
        times::day(&day.day)
    } else {
        format!("{} ({why})", times::day(&day.day))
    }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{PromisedDay, Said};

    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    #[test]
    fn a_promise_at_risk_names_the_days_the_reasons_and_whether_the_rider_knows() {
        let day = |day: &str, why: &str| PromisedDay {
            day: day.into(),
            said: Some(Said {
                why: why.into(),
                ..Said::default()
            }),
        };
        let told = PromisesReply {
            day: "2026-03-25".into(),
            promised: 2,
            at_risk: 1,
            lines: vec![PromiseLine {
                job: 23,
                rider: "Dana K.".into(),
                bike: "hardtail".into(),
                stage: "parts".into(),
                promise: "2026-03-27".into(),
                promise_kind: "hard".into(),
                slips: 1,
                days: vec![day("2026-03-24", ""), day("2026-03-27", "pack late")],
                earliest_finish: "2026-04-10".into(),
                late_days: 10,
                at_risk: true,
                reasons: vec!["shift-sensor from S due 2026-04-07".into()],
                ..PromiseLine::default()
            }],
            ..PromisesReply::default()
        };
        let shown = text(80, |out| print(out, &told));
        for part in [
            "2 open jobs with a promised day, 1 at risk.\n",
            "Job 23, Dana K., hardtail, at parts\n",
            "  promised Fri 27 Mar 2026, HARD, 1 slip; earliest finish Fri 10 Apr 2026 x 10\n",
            "    shift-sensor from S due 2026-04-07\n",
            "    days: Tue 24 Mar 2026 -> Fri 27 Mar 2026 (pack late)\n",
            "    rider told: NO — lockring told 23 WORDS\n",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }
}
