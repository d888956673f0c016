//! A bench for the tests of checks: jobs made from the demo's invented sheets, changed
//! through the same commands that people use.

use std::sync::OnceLock;

use jiff::{SignedDuration, Timestamp};

use crate::catalogue;
use crate::check::{self, Check, Finding, Report, Verdict};
use crate::command::{self, Act, Command, Desk, ReceiptText, Typed};
use crate::job::Job;
use crate::origin::Origin;
use crate::part::Part;
use crate::rules::RuleSheet;
use crate::sheet;
use crate::stage::Stage;

const CATALOGUE: &str = include_str!("../../../../cli/demo/catalogue.toml");
const TREKKING: &str = include_str!("../../../../cli/demo/trekking.toml");
const LONGTAIL: &str = include_str!("../../../../cli/demo/longtail.toml");
const HARDTAIL: &str = include_str!("../../../../cli/demo/hardtail.toml");

/// A job on the bench.
#[derive(Clone)]
pub(crate) struct Bench {
    /// The job.
    pub job: Job,
    now: Timestamp,
}

/// Trekking bicycle with a rear hub motor.
pub(crate) fn trekking() -> Bench {
    Bench::from_sheet(20, TREKKING)
}

/// Longtail cargo bicycle with a mid motor.
pub(crate) fn longtail() -> Bench {
    Bench::from_sheet(21, LONGTAIL)
}

/// Hardtail with a strong mid motor, in pounds and miles.
pub(crate) fn hardtail() -> Bench {
    Bench::from_sheet(23, HARDTAIL)
}

impl Bench {
    fn from_sheet(number: u32, content: &str) -> Self {
        let (mut rider, mut values, mut build) = (String::new(), Vec::new(), Vec::new());
        for table in sheet::tables("sheet", content).unwrap() {
            match table.name.as_str() {
                "" => rider.clone_from(&table.values[0].text),
                "build" => build = table.values,
                _ => values.extend(table.values),
            }
        }
        let now: Timestamp = "2026-03-02T08:00:00Z".parse().unwrap();
        let draft =
            with_desk(|desk| command::take_in(number, origin(now), &rider, &values, &build, desk)).unwrap();
        Self { job: draft.job, now }
    }

    /// States values of brief or donor.
    pub(crate) fn state(self, values: &[(&str, &str)]) -> Self {
        self.change(&Command::State {
            group: None,
            values: typed(values),
            assumed: false,
        })
    }

    /// Measures values by code; each call is a new series.
    pub(crate) fn measure(self, values: &[(&str, &str)]) -> Self {
        self.change(&Command::Record {
            act: Act::Measure,
            values: typed(values),
            force: true,
            anew: false,
        })
    }

    /// Measures again within the hour after a cure, as a remedy says that ends in `--anew`.
    pub(crate) fn again(self, values: &[(&str, &str)]) -> Self {
        self.soon().change(&Command::Record {
            act: Act::Measure,
            values: typed(values),
            force: true,
            anew: true,
        })
    }

    /// Records torques by bolt.
    pub(crate) fn torque(self, values: &[(&str, &str)]) -> Self {
        self.change(&Command::Record {
            act: Act::Torque,
            values: typed(values),
            force: false,
            anew: false,
        })
    }

    /// Records a test run.
    pub(crate) fn ride(self, run: &str, values: &[(&str, &str)]) -> Self {
        self.change(&Command::Record {
            act: Act::Ride(run.into()),
            values: typed(values),
            force: false,
            anew: false,
        })
    }

    /// Chooses parts; `none` empties a slot.
    pub(crate) fn build(self, parts: &[(&str, &str)]) -> Self {
        self.change(&Command::Build { parts: typed(parts) })
    }

    /// Receives a part with attributes as found.
    pub(crate) fn receive(self, slot: &str, found: &[(&str, &str)], details: ReceiptText) -> Self {
        self.change(&Command::Receive {
            slot: slot.into(),
            found: typed(found),
            details,
        })
    }

    /// Receives every part as ordered, serials, lots, volts and papers included.
    pub(crate) fn receive_all(mut self) -> Self {
        let slots: Vec<&'static str> = self.job.build.keys().map(|slot| slot.word()).collect();
        for slot in slots {
            let volts = if slot == "pack" { "36.9 V" } else { "" };
            let spread = if slot == "pack" { "12 mV" } else { "" };
            let details = ReceiptText {
                serial: format!("S-{slot}"),
                lot: "L-1".into(),
                volts: volts.into(),
                group_spread: spread.into(),
                papers: "transport summary and EN 50604-1 report".into(),
                damage: if slot == "pack" {
                    "none".into()
                } else {
                    String::new()
                },
            };
            self = self.receive(slot, &[], details);
        }
        self
    }

    /// Forgets a value, as if nobody had stated or measured it.
    pub(crate) fn forget(mut self, code: &str) -> Self {
        assert!(self.job.facts.remove(code).is_some(), "{code} was not known");
        self
    }

    /// Any other command.
    pub(crate) fn change(mut self, command: &Command) -> Self {
        self.now += SignedDuration::from_hours(2);
        let job = self.job.clone();
        let draft = with_desk(|desk| command::change(job, None, origin(self.now), command, desk)).unwrap();
        self.job = draft.job;
        self
    }

    /// What is done next is done a few minutes later, so that readings are repeats.
    pub(crate) fn soon(mut self) -> Self {
        self.now -= SignedDuration::from_mins(110);
        self
    }

    /// Stops three times with both brakes, one soon after the other.
    pub(crate) fn stop_three_times(self, distance: &str, speed: &str) -> Self {
        let stop = [("distance", distance), ("speed", speed)];
        (0..3).fold(self, |bench, turn| {
            let bench = if turn > 0 { bench.soon() } else { bench };
            bench.ride("stop", &stop)
        })
    }

    /// Runs a check.
    pub(crate) fn report(&self, check: &'static Check) -> Report {
        self.report_by(check, rules())
    }

    /// Runs a check by another rule sheet than the shipped one.
    pub(crate) fn report_by(&self, check: &'static Check, rules: &RuleSheet) -> Report {
        check::run(check, &self.job, rules, last_gate(check))
    }

    /// The verdict of a check, with its line shown when the test fails.
    #[track_caller]
    pub(crate) fn expect(&self, check: &'static Check, verdict: Verdict) -> Report {
        let report = self.report(check);
        assert_eq!(report.verdict, verdict, "{}: {:?}", check.id, report.findings);
        report
    }

    /// Applies a remedy: the check does not hold, one of its findings names the cure in these
    /// words, and with the cure it holds.
    #[track_caller]
    pub(crate) fn cured(self, check: &'static Check, words: &str, cure: impl FnOnce(Self) -> Self) -> Self {
        let before = self.report(check);
        assert!(
            before.verdict > Verdict::Pass,
            "{} holds already: {}",
            check.id,
            before.summary()
        );
        let named = |finding: &Finding| finding.remedies.iter().any(|remedy| remedy.contains(words));
        assert!(
            before.findings.iter().any(named),
            "{}: no remedy says `{words}`: {:?}",
            check.id,
            before.findings
        );
        let after = cure(self);
        let report = after.report(check);
        assert!(
            report.holds(),
            "{}: not cleared by `{words}`: {:?}",
            check.id,
            report.findings
        );
        after
    }
}

/// The gate that looks at most of what a check may look at; at least the one that sees parts
/// as they arrived, because attributes found on arrival are how these tests vary a part.
fn last_gate(check: &Check) -> Stage {
    check.gates.iter().copied().max().unwrap().max(Stage::Parts)
}

pub(crate) fn origin(made: Timestamp) -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made,
    }
}

fn typed(values: &[(&str, &str)]) -> Vec<Typed> {
    values
        .iter()
        .map(|(field, text)| Typed::new(*field, *text))
        .collect()
}

pub(crate) fn with_desk<T>(work: impl FnOnce(&Desk<'_>) -> T) -> T {
    let part = |id: &str| parts().iter().find(|part| part.id == id).cloned();
    let part_ids = || parts().iter().map(|part| part.id.clone()).collect();
    work(&Desk {
        rules: rules(),
        shop: &crate::shop::Shop::default(),
        zone: &jiff::tz::TimeZone::UTC,
        holders: &|_| Vec::new(),
        history: &|_| Vec::new(),
        clocks: &|_| Vec::new(),
        part: &part,
        part_ids: &part_ids,
        memory: None,
    })
}

fn parts() -> &'static [Part] {
    static PARTS: OnceLock<Vec<Part>> = OnceLock::new();
    PARTS.get_or_init(|| catalogue::read("catalogue.toml", CATALOGUE).unwrap())
}

fn rules() -> &'static RuleSheet {
    static RULES: OnceLock<RuleSheet> = OnceLock::new();
    RULES.get_or_init(RuleSheet::shipped)
}
