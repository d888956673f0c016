//! What goes into the shell beside the motor: reducing rings, and a part that screws in.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;
use lockring_calc::shell::{self, Adapter, MotorKit, ShellStandard, ThreadFit};

use super::mm;
use crate::case::{Case, Known};
use crate::check::{Finding, Halt, Missing, Verdict};
use crate::code;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::unit::Kind;

/// A reducing pair: it fills the bore, and the motor's body goes through it.
pub(super) fn adapter(case: &Case<'_>, kit: &MotorKit, bore: Known) -> Result<Vec<Finding>, Halt> {
    if !case.knows("adapter-outer") && !case.knows("adapter-inner") {
        return Ok(Vec::new());
    }
    prediction::need(case, &["adapter-outer", "adapter-inner"])?;
    let ring = Adapter {
        outer: Length::metres(case.number("adapter-outer")?.value),
        inner: Length::metres(case.number("adapter-inner")?.value),
    };
    let fit = shell::fit_adapter(Length::metres(bore.value), kit.body, ring)
        .map_err(|error| prediction::unusable(case, "adapter pair", &error))?;
    let play = case.rule("shell.adapter-play");
    let number = case.job().number;
    let remedy = format!(
        "a pair from {outer:.2} mm to {inner:.2} mm: lockring measure {number} adapter-outer {outer:.2}mm adapter-inner \
         {inner:.2}mm",
        outer = bore.value * 1e3,
        inner = mm(kit.body) + shell::BODY_CLEARANCE_MM
    );
    let of = |value: Length, u| Known {
        value: value.si(),
        u,
        ..bore
    };
    let outside = Judged::new(
        "play of the adapter in the bore",
        of(fit.in_bore, bore.u),
        Kind::Length,
        "mm",
    )
    .against(Limit::Within(-play, play))
    .with_arithmetic(format!(
        "{:.2} mm bore - {:.2} mm ring = {:+.2} mm; less than nothing is a press fit",
        bore.value * 1e3,
        mm(ring.outer),
        mm(fit.in_bore)
    ))
    .with_remedy(&remedy);
    let inside = Judged::new(
        "play of the motor's body in the adapter",
        of(fit.round_body, 0.0),
        Kind::Length,
        "mm",
    )
    .against(Limit::AtLeast(0.0))
    .with_arithmetic(format!(
        "{:.2} mm ring - {:.2} mm body = {:+.2} mm; wall {:.2} mm",
        mm(ring.inner),
        mm(kit.body),
        mm(fit.round_body),
        mm(fit.wall)
    ))
    .with_remedy(remedy);
    Ok(vec![
        prediction::advise_only(outside, "how close a ring must sit is judgement"),
        inside.never_conceded(),
    ])
}

/// A part that screws into the shell: threads that nearly pass for each other ruin it.
pub(super) fn cup(case: &Case<'_>, frame: &ShellStandard) -> Result<Option<Finding>, Halt> {
    let Some(word) = case.part(Slot::Motor)?.optional_word("cup-thread") else {
        return Ok(None);
    };
    let number = case.job().number;
    let stored = code::shell_called(word).and_then(|row| row.thread);
    let Some(thread) = stored else {
        return Err(Halt::Open(vec![Missing {
            what: format!("a thread that is stored for the part screwed into the shell: `{word}` is not"),
            how: format!("lockring receive {number} motor cup-thread=english"),
        }]));
    };
    let line = format!("part with {word} thread in a shell {}", frame.id);
    let Some(in_frame) = frame.thread else {
        return Ok(Some(
            Finding::new(Verdict::Fail, format!("{line}: the shell has no thread"))
                .with_remedy(format!(
                    "a part that is pressed or clamped: lockring build {number} motor=PART"
                ))
                .never_conceded(),
        ));
    };
    let other = format!(
        "a part with the shell's own thread: lockring receive {number} motor cup-thread={}",
        frame.id
    );
    let finding = match thread.into_shell(&in_frame) {
        ThreadFit::Screws if in_frame.drive == shell::Hand::Right => Finding::new(
            Verdict::Caution,
            format!("{line}: right-hand on the drive side, pedalling can unscrew it"),
        )
        .with_remedy("thread lock, the lock ring to its torque and a second look after the first 50 km, and a concession"),
        ThreadFit::Screws => Finding::new(Verdict::Pass, format!("{line}: it screws in")),
        ThreadFit::RuinsShell => Finding::new(
            Verdict::Fail,
            format!("{line}: nearly the same size with another pitch or diameter, forcing it ruins the shell"),
        ),
        ThreadFit::WrongHand => Finding::new(
            Verdict::Fail,
            format!("{line}: the other hand on the drive side"),
        ),
        ThreadFit::OtherSize => Finding::new(Verdict::Fail, format!("{line}: another size")),
    };
    let finding = if frame.basis.may_stop() {
        finding
    } else {
        prediction::advise_only(finding, "the shell's thread is from memory")
    };
    Ok(Some(
        finding
            .with_arithmetic(format!(
                "{:.2} x {:.3} mm into {:.2} x {:.3} mm",
                thread.diameter_mm, thread.pitch_mm, in_frame.diameter_mm, in_frame.pitch_mm
            ))
            .with_remedy(other)
            .never_conceded(),
    ))
}
