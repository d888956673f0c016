//! Checks: one line each, a gate that stays shut, and one check in full.

use lockring_proto::v1::{CheckReply, CheckReport, Figure, Finding, FitDifference};

use crate::command_error::CommandError;
use crate::output::{Out, mark, times};

/// Checks that say something else, before and after, under a heading each: what no longer holds first.
pub(crate) fn by_turn(
    differs: &[FitDifference],
) -> impl Iterator<Item = (&'static str, Vec<(&CheckReport, &CheckReport)>)> {
    let turn = |before: &CheckReport, after: &CheckReport| match (before.holds, after.holds) {
        (true, false) => "No longer holds",
        (false, true) => "Holds now",
        _ => "Says something else",
    };
    ["No longer holds", "Holds now", "Says something else"]
        .into_iter()
        .map(move |heading| {
            let pairs = differs.iter().filter_map(|difference| {
                let (before, after) = (difference.before.as_ref()?, difference.after.as_ref()?);
                (turn(before, after) == heading).then_some((before, after))
            });
            (heading, pairs.collect::<Vec<_>>())
        })
        .filter(|(_, members)| !members.is_empty())
}

/// Prints a check in one line: verdict, id, summary.
pub(crate) fn print_line(out: &mut Out<'_>, report: &CheckReport) -> Result<(), CommandError> {
    let label = mark::label(report, out);
    let summary = match (report.summary.as_str(), report.missing.as_slice()) {
        ("", []) => report.title.clone(),
        ("", missing) => {
            format!(
                "missing: {}",
                missing
                    .iter()
                    .map(|one| one.what.as_str())
                    .collect::<Vec<_>>()
                    .join(", ")
            )
        }
        (summary, _) => summary.to_owned(),
    };
    let photos: Vec<String> = report.evidence.iter().map(|one| one.photo.to_string()).collect();
    let summary = match photos.as_slice() {
        [] => summary,
        [one] => format!("{summary} (photo {one})"),
        _ => format!("{summary} (photos {})", photos.join(", ")),
    };
    if out.look.plain {
        return out.wrapped("", "", &format!("{}: {label}: {summary}", report.check));
    }
    out.wrapped(
        &format!("{label}  "),
        "    ",
        &format!("{}: {summary}", report.check),
    )
}

/// Prints the checks of a gate and how many there are of each verdict. Those that do not
/// concern the job are left out unless asked for.
pub(crate) fn print_gate(out: &mut Out<'_>, reply: &CheckReply, all: bool) -> Result<(), CommandError> {
    out.heading(&format!(
        "Job {}, {}, at {}: gate {}",
        reply.job, reply.rider, reply.stage, reply.gate
    ))?;
    let shown = |report: &&CheckReport| all || !is_beside_the_point(report);
    for report in reply.checks.iter().filter(shown) {
        print_line(out, report)?;
    }
    let counts = ["pass", "caution", "fail", "open"].map(|verdict| {
        let count = reply
            .checks
            .iter()
            .filter(|report| report.verdict == verdict)
            .count();
        format!("{count} {verdict}")
    });
    let beside = reply
        .checks
        .iter()
        .filter(|report| is_beside_the_point(report))
        .count();
    let held = reply.checks.iter().filter(|report| !report.holds).count();
    out.wrapped(
        "",
        "",
        &format!("{}, {beside} not applicable.", counts.join(", ")),
    )?;
    if !reply.held.is_empty() {
        out.wrapped("x ", "    ", &reply.held)?;
    }
    match held {
        0 if !reply.held.is_empty() => out.wrapped("", "", "All hold, but the recall keeps the gate shut."),
        // A gate that is not the present one is not to be tried.
        0 if reply.gate != reply.stage => out.wrapped("", "", "All hold."),
        0 => out.words_and_command(
            "",
            "All hold: the gate can be tried",
            &format!("lockring advance {}", reply.job),
        ),
        1 => out.wrapped("", "", &format!("1 of {} does not hold.", reply.checks.len())),
        held => out.wrapped("", "", &format!("{held} of {} do not hold.", reply.checks.len())),
    }
}

/// Prints the checks that keep a gate shut: what is missing, what fails, what may be conceded,
/// each with the command that would help.
pub(crate) fn print_shut(out: &mut Out<'_>, job: u32, reports: &[CheckReport]) -> Result<(), CommandError> {
    let groups = [
        ("open", "Missing"),
        ("fail", "Failing"),
        ("caution", "To be cured or conceded"),
    ];
    for (verdict, heading) in groups {
        let mut group = reports
            .iter()
            .filter(|report| !report.holds && report.verdict == verdict)
            .peekable();
        if group.peek().is_none() {
            continue;
        }
        out.blank()?;
        out.heading(heading)?;
        for report in group {
            print_line(out, report)?;
            print_help(out, job, report)?;
        }
    }
    Ok(())
}

/// What is missing and what would cure a check that does not pass.
pub(crate) fn print_cures(out: &mut Out<'_>, report: &CheckReport) -> Result<(), CommandError> {
    for missing in &report.missing {
        out.words_and_command("    ", &missing.what, &missing.how)?;
    }
    let remedies = report
        .findings
        .iter()
        .filter(|finding| finding.verdict == report.verdict);
    for remedy in remedies.flat_map(|finding| &finding.remedies).take(2) {
        out.wrapped("    ", "      ", remedy)?;
    }
    Ok(())
}

/// What helps with a check that does not hold.
fn print_help(out: &mut Out<'_>, job: u32, report: &CheckReport) -> Result<(), CommandError> {
    print_cures(out, report)?;
    match report.verdict.as_str() {
        "open" => Ok(()),
        _ if report.concedable => out.line(format_args!(
            "    the owner may concede it — lockring concede {job} {} --why …",
            report.check
        )),
        _ => out.line(format_args!(
            "    never conceded — lockring explain {job} {}",
            report.check
        )),
    }
}

/// Prints one check in full: arithmetic, limits, source, remedies, values used, concession.
pub(crate) fn print_full(out: &mut Out<'_>, job: u32, report: &CheckReport) -> Result<(), CommandError> {
    out.heading(&format!("{}: {}", report.check, report.title))?;
    let standing = match (report.holds, report.concession.is_some()) {
        (true, true) => "the job may move on: conceded",
        (true, false) => "the job may move on",
        (false, _) => "it keeps the job where it is",
    };
    let label = mark::label(report, out);
    out.line(format_args!("{label}: {standing}"))?;
    out.labelled(
        "belongs to",
        &format!("gate {}, family {}", report.gate, report.family),
    )?;
    for finding in &report.findings {
        print_finding(out, finding)?;
    }
    if !report.missing.is_empty() {
        out.blank()?;
        out.heading("Missing")?;
        for missing in &report.missing {
            out.words_and_command("  ", &missing.what, &missing.how)?;
        }
    }
    out.blank()?;
    out.labelled(
        "source",
        &format!("{} (rule version {})", report.source, report.version),
    )?;
    for limit in &report.limits {
        out.labelled("limit", limit)?;
    }
    for photo in &report.evidence {
        let when = times::moment(photo.at_us, &out.look.zone);
        let said = format!("photo {}: {} ({}, {when})", photo.photo, photo.caption, photo.by);
        out.wrapped_as_it_is("evidence: ", "    ", &said)?;
    }
    if !report.uses.is_empty() {
        out.labelled("looks at", &report.uses.join(", "))?;
    }
    if !report.assumed.is_empty() {
        out.labelled("rests on what is assumed", &report.assumed.join(", "))?;
    }
    match &report.concession {
        Some(given) => {
            let when = times::moment(given.at_us, &out.look.zone);
            out.labelled(
                "conceded",
                &format!("{} by {}, {when}: {}", given.finding, given.by, given.why),
            )
        }
        None if report.holds => Ok(()),
        None if report.concedable => out.words_and_command(
            "",
            "the owner may concede it",
            &format!("lockring concede {job} {} --why …", report.check),
        ),
        None => out.line("never conceded: it has to be cured"),
    }
}

fn print_finding(out: &mut Out<'_>, finding: &Finding) -> Result<(), CommandError> {
    let (symbol, paint) = mark::of_verdict(&finding.verdict);
    out.blank()?;
    let symbol = out.paint(paint, &symbol.to_string());
    out.wrapped(&format!("{symbol} "), "    ", &finding.summary)?;
    for line in &finding.arithmetic {
        out.wrapped_as_it_is("    = ", "      ", line)?;
    }
    for figure in &finding.figures {
        out.wrapped("    ", "      ", &figure_words(figure))?;
    }
    for remedy in &finding.remedies {
        out.wrapped("    remedy: ", "      ", remedy)?;
    }
    Ok(())
}

/// A figure in words: value, unit, limit, margin, doubt.
fn figure_words(figure: &Figure) -> String {
    let unit = if figure.unit.is_empty() {
        String::new()
    } else {
        format!(" {}", figure.unit)
    };
    let mut words = format!(
        "{}: {}{unit}",
        figure.name.trim_end_matches(','),
        number(figure.value)
    );
    if !figure.limit.is_empty() {
        words.push_str(&format!(", limit {}", figure.limit));
    }
    if let Some(margin) = figure.margin {
        words.push_str(&format!(", margin {}{unit}", number(margin)));
    }
    if let Some(doubt) = figure.uncertainty {
        words.push_str(&format!(", doubt ±{}{unit} (k = 2)", number(doubt)));
    }
    words
}

/// Three decimals at most, and no zeros behind.
fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

fn is_beside_the_point(report: &CheckReport) -> bool {
    matches!(report.verdict.as_str(), "not applicable" | "not-applicable")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::{self, text};

    #[test]
    fn numbers_carry_no_idle_digits() {
        assert_eq!(
            [2.0, 2.9, 51.523_4, -0.000_1, 0.0, 1200.0].map(number),
            ["2", "2.9", "51.523", "0", "0", "1200"]
        );
    }

    #[test]
    fn a_check_is_one_line_broken_under_itself() {
        let shown = text(60, |out| print_line(out, &samples::failing()));
        let expected = "x fail  chainline.cog_angles: chain angle on the largest cog\n    \
                        3.4°, at most 3.0°: over stored limit\n";
        assert_eq!(shown, expected);
    }

    #[test]
    fn a_shut_gate_groups_what_is_missing_and_what_fails() {
        let shown = text(80, |out| {
            print_shut(
                out,
                21,
                &[samples::failing(), samples::open(), samples::passing()],
            )
        });
        let missing = shown.find("Missing\n").unwrap();
        let failing = shown.find("Failing\n").unwrap();
        assert!(missing < failing, "{shown}");
        assert!(
            !shown.contains("shell.width"),
            "what passes does not keep a gate shut: {shown}"
        );
        assert!(
            shown.contains("rear chainline — lockring measure 21 chainline-rear 45.0"),
            "{shown}"
        );
        assert!(
            shown.contains("lockring concede 21 chainline.cog_angles --why …"),
            "{shown}"
        );
        assert!(shown.contains("    a chainring 2 mm further in\n"), "{shown}");
    }

    #[test]
    fn explaining_shows_arithmetic_limits_source_and_remedies() {
        let shown = text(80, |out| print_full(out, 21, &samples::failing()));
        for part in [
            "chainline.cog_angles: Chain angle on the largest cog",
            "x fail: it keeps the job where it is",
            "    = atan((51.5 - 25.0) / 445)",
            "chain angle: 3.4 °, limit at most 3.0 °, margin -0.4 °, doubt ±0.1 ° (k = 2)",
            "    remedy: a chainring 2 mm further in",
            "source: common practice, no source (rule version 1)",
            "limit: chainline.angle-good 3 deg (common practice, no source)",
            "looks at: chainline-front, chainline-rear",
            "the owner may concede it",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert!(
            shown.lines().all(|line| crate::output::wrap::columns(line) <= 80),
            "{shown}"
        );
    }

    #[test]
    fn a_gate_counts_its_verdicts_and_hides_what_does_not_apply() {
        let reply = CheckReply {
            held: String::new(),
            job: 21,
            rider: "Ines H.".to_owned(),
            stage: "fitting".to_owned(),
            gate: "fitting".to_owned(),
            checks: vec![samples::passing(), samples::open(), samples::beside()],
            ..CheckReply::default()
        };
        let shown = text(80, |out| print_gate(out, &reply, false));
        assert!(
            shown.contains("1 pass, 0 caution, 0 fail, 1 open, 1 not applicable."),
            "{shown}"
        );
        assert!(shown.contains("1 of 3 does not hold."), "{shown}");
        assert!(!shown.contains("spoke.spread"), "{shown}");
        let shown = text(80, |out| print_gate(out, &reply, true));
        assert!(shown.contains("- not applicable  spoke.spread"), "{shown}");
    }
}
