//! `shell.fit`: whether the motor goes through the bottom-bracket shell and can be clamped.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;
use lockring_calc::shell::{self, MotorFit, MotorKit, Shell, ShellFinding, ShellStandard, Trap};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::code;
use crate::judge::Judged;
use crate::nearest::nearest;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Motor and shell.
pub static CHECK: Check = Check {
    id: "shell.fit",
    title: "motor through the bottom-bracket shell",
    gates: &[Stage::Intake],
    family: Family::Fit,
    version: 4,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "geometry of the kit and the shell as measured, a kit's band being named after the shells it takes (judgement); thread to spare: common practice, no source; 0.1 mm of \
             play in the bore: workshop judgement, it only cautions",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable("a hub motor leaves the bottom bracket alone");
    }
    let standard = standard(case)?;
    let (bore, width) = (case.number("shell-bore")?, case.number("shell-width")?);
    let spacer = case.optional_number("spacer").map_or(0.0, |spacer| spacer.value);
    let kit = prediction::motor_kit(case, 0.0)?;
    let measured = Shell {
        bore: Length::metres(bore.value),
        width: Length::metres(width.value),
        // Burrs, beads and cable guides show only with the bracket out, at the fitting.
        through: true,
        drive_thread: standard.thread.map(|thread| thread.drive),
    };
    let fit = shell::fit_motor(&kit, &measured, Length::metres(spacer))
        .map_err(|error| prediction::unusable(case, "motor and shell", &error))?;

    let number = case.job().number;
    let other = format!("a kit of another band, or a hub: lockring build {number} motor=PART");
    let spared = prediction::motor_kit(case, case.rule("frame.thread-spare"))?;
    let spacers = spacer_remedy(&spared, width, number);
    let mut findings = vec![
        kind(standard, bore, width, &fit),
        body(case, &kit, bore, &fit, &other),
    ];
    let arithmetic = format!(
        "{:.1} mm shell + {:.1} mm spacers = {:.1} mm",
        mm(measured.width),
        spacer * 1e3,
        mm(fit.stack)
    );
    let stack = Known {
        value: fit.stack.si(),
        ..width
    };
    let band = prediction::judge_band("shell and spacers", &kit, stack)
        .with_arithmetic(arithmetic)
        .with_remedy(&spacers)
        .with_remedy(&other);
    findings.push(band);
    if let (Some(left), Some(thread)) = (fit.engagement, kit.thread) {
        let least = thread.engagement_min.si();
        let good = least + case.rule("frame.thread-spare");
        findings.push(
            Judged::new(
                "thread left for the lock rings",
                Known {
                    value: left.si(),
                    ..width
                },
                Kind::Length,
                "mm",
            )
            .between(Limit::AtLeast(good), Limit::AtLeast(least))
            .with_arithmetic(format!(
                "{:.1} mm tube - {:.1} mm = {:.1} mm",
                mm(thread.tube),
                mm(fit.stack),
                mm(left)
            ))
            .with_remedy(&spacers)
            .with_remedy(&other)
            // Rings that end beside their thread hold nothing.
            .not_into_metal(left.si(), width.expanded()),
        );
    }
    findings.extend(parts::adapter(case, &kit, bore)?);
    findings.extend(parts::cup(case, standard)?);
    Ok(findings)
}

fn standard(case: &Case<'_>) -> Result<&'static ShellStandard, Halt> {
    let word = case.word("shell-standard")?.to_lowercase();
    // Journals hold names that were taken before unknown ones were refused.
    code::shell_called(&word).ok_or_else(|| {
        let near = nearest(&word, shell::SHELLS.iter().map(|row| row.id));
        let near = if near.is_empty() {
            "english, italian, press-41x92 and others".to_owned()
        } else {
            near.join(", ")
        };
        Halt::Open(vec![Missing {
            what: format!("a shell standard that is stored: `{word}` is not; near it are {near}"),
            how: format!("lockring donor {} shell-standard=english", case.job().number),
        }])
    })
}

/// Whether what was measured is the standard that was named.
fn kind(standard: &ShellStandard, bore: Known, width: Known, fit: &MotorFit) -> Finding {
    let clear_of = |known: Known, least: f64, most: f64| {
        let (value, doubt) = (known.value * 1e3, known.expanded() * 1e3);
        value + doubt < least || value - doubt > most
    };
    // A shell is faced by up to a millimetre in its life (judgement).
    let wide = standard
        .widths_mm
        .iter()
        .all(|stored| clear_of(width, stored - 1.0, stored + 1.0));
    let bored = standard
        .bore_mm
        .is_some_and(|[least, most]| clear_of(bore, least, most));
    let seen = format!(
        "bore {:.2} mm, width {:.1} mm",
        bore.value * 1e3,
        width.value * 1e3
    );
    let finding = match (bored, wide) {
        (false, false) => Finding::new(Verdict::Pass, format!("{seen}: as stored for {}", standard.id)),
        _ => Finding::new(
            Verdict::Caution,
            format!("{seen}: not as stored for {}", standard.id),
        )
        .with_remedy("measure again, and look whether the shell is another standard or was reamed"),
    };
    let finding = finding.with_arithmetic(format!("source of the stored shell: {}", standard.source));
    let finding = match standard.trap {
        Some(trap) => finding.with_arithmetic(caught_by(trap)),
        None => finding,
    };
    if fit.findings.contains(&ShellFinding::RightHandDriveSide) {
        return finding.with_arithmetic(
            "right-hand thread on the drive side: a part threaded into it can unscrew itself; a motor clamped through the bore is not \
             concerned",
        );
    }
    finding
}

const fn caught_by(trap: Trap) -> &'static str {
    match trap {
        Trap::UnequalHalves => {
            "unequal halves, the left face further from the frame's middle: measure both from the seat tube's middle, the kit's \
             ring plane is counted for equal halves"
        }
        Trap::LeftHandNut => "the crank's lock nut and cone have left-hand threads: they loosen clockwise",
    }
}

/// The motor's body in the bore, and what fills a gap round it.
fn body(case: &Case<'_>, kit: &MotorKit, bore: Known, fit: &MotorFit, other: &str) -> Finding {
    let mut finding = Judged::new(
        "play of the motor's body in the bore",
        Known {
            value: fit.play.si(),
            ..bore
        },
        Kind::Length,
        "mm",
    )
    // A body wider than its bore does not go in, that is geometry; how much play is wanted
    // beyond is judgement and may only caution.
    .between(
        Limit::AtLeast(Length::millimetres(shell::BODY_CLEARANCE_MM).si()),
        Limit::AtLeast(0.0),
    )
    .with_arithmetic(format!(
        "{:.2} mm bore - {:.2} mm body = {:.2} mm",
        bore.value * 1e3,
        mm(kit.body),
        mm(fit.play)
    ))
    .never_conceded();
    // Metal taken off makes room for a body that is tight, and nothing for one that is loose.
    if fit.play.si() - bore.expanded() < Length::millimetres(shell::BODY_CLEARANCE_MM).si() {
        finding =
            finding.with_remedy("dress burrs, weld beads and cable guides, then measure the bore again");
    }
    finding = finding.with_remedy(other);
    // With a pair in the build the gap is the adapter's, judged beside this.
    if case.knows("adapter-outer") && case.knows("adapter-inner") {
        return finding;
    }
    for found in &fit.findings {
        if let ShellFinding::AdapterNeeded(ring) = found {
            finding.verdict = finding.verdict.max(Verdict::Caution);
            finding.summary = format!(
                "{}; wants an adapter ring of {:.2} mm a side",
                finding.summary,
                mm(*ring)
            );
            finding.remedies.insert(
                0,
                format!(
                    "an adapter pair from {outer:.2} mm to {inner:.2} mm, as a line on the quote: lockring measure {} \
                     adapter-outer {outer:.2}mm adapter-inner {inner:.2}mm",
                    case.job().number,
                    outer = bore.value * 1e3,
                    inner = mm(kit.body) + shell::BODY_CLEARANCE_MM,
                ),
            );
        }
    }
    finding
}

/// Spacers that make the width fit a kit with its spare thread.
fn spacer_remedy(kit: &MotorKit, width: Known, number: u32) -> String {
    match prediction::spacers_that_fit(kit, width) {
        Some((least, most)) => format!(
            "spacers of {least:.1} to {most:.1} mm together: lockring measure {number} spacer {least:.1}mm; each millimetre moves \
             the chainline and the right pedal out by one",
        ),
        None => "no spacers make this width fit the kit and leave thread to spare".to_owned(),
    }
}

fn mm(length: Length) -> f64 {
    length.as_millimetres()
}

mod parts;

#[cfg(test)]
mod tests;
