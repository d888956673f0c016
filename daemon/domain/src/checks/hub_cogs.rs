//! `hub.cogs`: whether the cogs go on the hub of a motor in the rear wheel.

use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;

/// Cogs and the motor's hub.
pub static CHECK: Check = Check {
    id: "hub.cogs",
    title: "cogs that go on the motor's hub",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "a cassette slides on splines, a freewheel screws on, and neither goes on the other's hub, nor several cogs on a \
             hub for one: geometry; one cog beside a hub of another name is looked at: workshop judgement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if prediction::driven_hub(case)? != Some(Wheel::Rear) {
        return Halt::not_applicable("the motor leaves the rear hub in");
    }
    let motor = case.part(Slot::Motor)?;
    let chosen = case.optional_part(Slot::Cassette);
    let own = match &chosen {
        Some(cassette) => cassette.optional_word("mount"),
        None => case.optional_word("cog-mount"),
    };
    if own.is_none() && motor.optional_word("cog-mount").is_none() {
        return Halt::not_applicable(
            "not judged: neither the motor's data (cog-mount) nor those of the cogs say whether they slide on or screw on; look \
             at both before the motor is ordered",
        );
    }
    let hub = motor.word("cog-mount")?;
    let own = match &chosen {
        Some(cassette) => cassette.word("mount")?,
        None => case.word("cog-mount")?,
    };
    let number = case.job().number;
    let line = format!("cogs for a {own} hub on a {hub} hub");
    let other = format!("or a motor whose hub takes them: lockring build {number} motor=PART");
    let own_kind = format!("cogs of the hub's kind: lockring build {number} cassette=PART");
    let mut findings = vec![if hub == own {
        Finding::new(Verdict::Pass, line)
    } else if ![hub, own].contains(&"single") || (hub == "single" && sprockets::cogs(case)?.len() > 1) {
        Finding::new(Verdict::Fail, format!("{line}: they do not go on"))
            .with_remedy(own_kind)
            .with_remedy(&other)
            .never_conceded()
    } else {
        // One cog is made with a thread and with splines, and `single` says neither.
        Finding::new(
            Verdict::Caution,
            format!("{line}: look at thread or splines of both before the motor is ordered"),
        )
        .with_remedy(own_kind)
        .with_remedy(&other)
    }];
    if let Some(most) = motor.optional_number("cogs-most") {
        let cogs = sprockets::cogs(case)?.len();
        // A count inside the window of its attribute.
        let most = most.round() as usize;
        let line = format!("{cogs} cogs on a hub for {most} at most");
        findings.push(if cogs <= most {
            Finding::new(Verdict::Pass, line)
        } else {
            Finding::new(Verdict::Fail, format!("{line}: the last of them hang over"))
                .with_remedy(format!(
                    "a set of {most} cogs, with its shifter: lockring build {number} cassette=PART"
                ))
                .with_remedy(other)
                .never_conceded()
        });
    }
    Ok(findings)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;

    /// A rear hub motor with cogs that are held in some way, and a hub that holds some.
    fn on(hub: &str, cogs: &str) -> Bench {
        trekking().state(&[("cog-mount", cogs)]).receive(
            "motor",
            &[("cog-mount", hub)],
            ReceiptText::default(),
        )
    }

    #[test]
    fn cogs_go_on_a_hub_of_their_own_kind_alone() {
        // Geometry: splines against a thread.
        on("cassette", "cassette").expect(&CHECK, Verdict::Pass);
        for (hub, cogs) in [
            ("freewheel", "cassette"),
            ("cassette", "freewheel"),
            ("single", "cassette"),
        ] {
            let report = on(hub, cogs).expect(&CHECK, Verdict::Fail);
            assert!(report.findings[0].never, "{report:?}");
        }
        on("freewheel", "cassette").cured(&CHECK, "lockring build 20 motor=PART", |job| {
            job.receive("motor", &[("cog-mount", "cassette")], ReceiptText::default())
        });
        on("cassette", "freewheel").cured(&CHECK, "lockring build 20 cassette=PART", |job| {
            job.build(&[("cassette", "cassette-9-11-34")]).receive(
                "cassette",
                &[("mount", "cassette")],
                ReceiptText::default(),
            )
        });
    }

    /// Common practice: one cog with a thread goes where a freewheel screws on, one with splines on a cassette's hub with
    /// spacers.
    #[test]
    fn one_cog_beside_a_hub_of_another_name_is_looked_at() {
        for (hub, cogs) in [
            ("freewheel", "single"),
            ("cassette", "single"),
            ("single", "freewheel"),
            ("single", "cassette"),
        ] {
            let one = on(hub, cogs).state(&[("cogs", "18")]);
            let report = one.expect(&CHECK, Verdict::Caution);
            assert!(report.summary().contains("thread or splines"), "{report:?}");
            one.cured(&CHECK, "lockring build 20 motor=PART", |job| {
                job.receive("motor", &[("cog-mount", cogs)], ReceiptText::default())
            });
        }
        on("single", "single").expect(&CHECK, Verdict::Pass);
        on("cassette", "freewheel")
            .state(&[("cogs", "18")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn more_cogs_than_the_hub_takes_do_not_go_on() {
        let most = |most: &str| {
            on("cassette", "cassette").receive(
                "motor",
                &[("cog-mount", "cassette"), ("cogs-most", most)],
                ReceiptText::default(),
            )
        };
        // The trekking bicycle has eight.
        most("8").expect(&CHECK, Verdict::Pass);
        most("7").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn what_one_side_says_is_asked_of_the_other() {
        let cogs = trekking().state(&[("cog-mount", "cassette")]);
        let report = cogs.expect(&CHECK, Verdict::Open);
        assert!(report.missing[0].how.contains("lockring"), "{:?}", report.missing);
        let hub = trekking().receive("motor", &[("cog-mount", "freewheel")], ReceiptText::default());
        let report = hub.expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("cog-mount"),
            "{:?}",
            report.missing
        );
        hub.build(&[("cassette", "cassette-9-11-34")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn nothing_is_judged_where_nobody_said_and_a_crank_is_not_concerned() {
        let report = trekking().expect(&CHECK, Verdict::NotApplicable);
        assert!(report.summary().contains("not judged"), "{}", report.summary());
        longtail().expect(&CHECK, Verdict::NotApplicable);
    }
}
