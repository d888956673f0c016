//! Labour: who worked on a job, at which stage, how long, and whether it was done again.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::money::Money;
use crate::stage::Stage;

/// The longest a clock may run before somebody must say when the work ended (judgement: longer
/// than any day at a bench).
pub const LONGEST_HOURS: i64 = 12;

/// Why something had to be done again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// The brief was wrong.
    Brief,
    /// It did not fit.
    Fit,
    /// A part was at fault.
    Part,
    /// The shop's own work.
    OurWork,
    /// The supplier sent the wrong thing.
    Supplier,
    /// The rider changed their mind.
    Rider,
    /// Wear, as is to be expected.
    Wear,
}

impl Cause {
    /// All, in the order people are told them.
    pub const ALL: [Self; 7] = [
        Self::Brief,
        Self::Fit,
        Self::Part,
        Self::OurWork,
        Self::Supplier,
        Self::Rider,
        Self::Wear,
    ];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Brief => "brief",
            Self::Fit => "fit",
            Self::Part => "part",
            Self::OurWork => "our-work",
            Self::Supplier => "supplier",
            Self::Rider => "rider",
            Self::Wear => "wear",
        }
    }
}

/// An entry about labour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum LabourEvent {
    /// Somebody began.
    ClockedOn {
        /// Number within the job.
        number: u32,
        /// Who.
        who: String,
        /// At which stage.
        stage: Stage,
        /// Why it is done again; `None` for work done for the first time.
        rework: Option<Cause>,
    },
    /// Somebody ended.
    ClockedOff {
        /// Number within the job.
        number: u32,
    },
    /// A clock was put right.
    ClockFixed {
        /// Number within the job.
        number: u32,
        /// When the work really began.
        from: Timestamp,
        /// When it really ended.
        to: Timestamp,
        /// Why the clock was wrong.
        why: String,
    },
}

impl LabourEvent {
    /// The word of the entry's kind, as stored and shown.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::ClockedOn { .. } => "clocked-on",
            Self::ClockedOff { .. } => "clocked-off",
            Self::ClockFixed { .. } => "clock-fixed",
        }
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        match self {
            Self::ClockedOn {
                number,
                who,
                stage,
                rework,
            } => {
                let again = rework.map_or_else(String::new, |cause| {
                    format!(", again because of {}", cause.word())
                });
                format!("clock {number}: {who} on at {}{again}", stage.word())
            }
            Self::ClockedOff { number } => format!("clock {number} off"),
            Self::ClockFixed {
                number,
                from,
                to,
                why,
            } => {
                format!("clock {number} put right, {from} to {to}: {why}")
            }
        }
    }
}

/// One piece of work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stint {
    /// Number within the job.
    pub number: u32,
    /// Who.
    pub who: String,
    /// At which stage.
    pub stage: Stage,
    /// Why it is done again.
    pub rework: Option<Cause>,
    /// Begun.
    pub from: Timestamp,
    /// Ended; `None` while the clock runs.
    pub to: Option<Timestamp>,
    /// Why the clock was put right; `None` when it never was.
    pub fixed: Option<String>,
}

impl Stint {
    /// Whole minutes, rounded half up; 0 while the clock runs, because nobody knows yet.
    pub fn minutes(&self) -> i64 {
        let seconds = self.to.map_or(0, |to| to.as_second() - self.from.as_second());
        (seconds + 30) / 60
    }
}

/// A clock that runs, as somebody's other jobs have it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Running {
    /// The job.
    pub job: u32,
    /// At which stage.
    pub stage: Stage,
}

/// The labour of a job.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Labour {
    /// Every stint, oldest first.
    pub stints: Vec<Stint>,
}

impl Labour {
    /// Whether nothing was ever entered.
    pub const fn is_empty(&self) -> bool {
        self.stints.is_empty()
    }

    /// The stint somebody's clock runs for.
    pub fn running(&self, who: &str) -> Option<&Stint> {
        self.stints
            .iter()
            .find(|stint| stint.to.is_none() && stint.who == who)
    }

    /// Minutes of work done for the first time, and of work done again.
    pub fn minutes(&self) -> (i64, i64) {
        let sum = |again: bool| {
            let these = self.stints.iter().filter(|stint| stint.rework.is_some() == again);
            these.map(Stint::minutes).sum()
        };
        (sum(false), sum(true))
    }

    /// Minutes at a stage, all work counted.
    pub fn minutes_at(&self, stage: Stage) -> i64 {
        let these = self.stints.iter().filter(|stint| stint.stage == stage);
        these.map(Stint::minutes).sum()
    }

    /// Minutes at a stage of work done for the first time.
    pub fn first_minutes_at(&self, stage: Stage) -> i64 {
        let these = self
            .stints
            .iter()
            .filter(|stint| stint.stage == stage && stint.rework.is_none());
        these.map(Stint::minutes).sum()
    }

    /// Takes what an entry says, made at a moment.
    pub fn take(&mut self, at: Timestamp, event: &LabourEvent) {
        match event {
            LabourEvent::ClockedOn {
                number,
                who,
                stage,
                rework,
            } => self.stints.push(Stint {
                number: *number,
                who: who.clone(),
                stage: *stage,
                rework: *rework,
                from: at,
                to: None,
                fixed: None,
            }),
            LabourEvent::ClockedOff { number } => {
                for stint in self.stints.iter_mut().filter(|stint| stint.number == *number) {
                    stint.to = Some(at);
                }
            }
            LabourEvent::ClockFixed {
                number,
                from,
                to,
                why,
            } => {
                for stint in self.stints.iter_mut().filter(|stint| stint.number == *number) {
                    stint.from = *from;
                    stint.to = Some(*to);
                    stint.fixed = Some(why.clone());
                }
            }
        }
    }
}

/// What so many minutes cost at a rate an hour.
pub fn at_rate(rate: Money, minutes: i64) -> Money {
    rate.share(minutes, 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(time: &str) -> Timestamp {
        format!("2026-03-10T{time}Z").parse().unwrap()
    }

    fn on(number: u32, who: &str, rework: Option<Cause>) -> LabourEvent {
        LabourEvent::ClockedOn {
            number,
            who: who.to_owned(),
            stage: Stage::Fitting,
            rework,
        }
    }

    #[test]
    fn two_people_on_one_job_and_work_done_again() {
        let mut labour = Labour::default();
        labour.take(at("09:00"), &on(1, "K", None));
        labour.take(at("09:30"), &on(2, "L", Some(Cause::Fit)));
        assert_eq!(labour.running("K").map(|stint| stint.number), Some(1));
        labour.take(at("11:00"), &LabourEvent::ClockedOff { number: 1 });
        assert_eq!(labour.minutes(), (120, 0), "a running clock counts nothing");
        labour.take(at("11:15"), &LabourEvent::ClockedOff { number: 2 });
        assert_eq!(labour.minutes(), (120, 105));
        assert_eq!(labour.minutes_at(Stage::Fitting), 225);
        assert_eq!(labour.minutes_at(Stage::Intake), 0);
    }

    #[test]
    fn a_clock_put_right_keeps_why() {
        let mut labour = Labour::default();
        labour.take(at("09:00"), &on(1, "K", None));
        let fixed = LabourEvent::ClockFixed {
            number: 1,
            from: at("09:00"),
            to: at("12:30:29"),
            why: "forgot it".to_owned(),
        };
        labour.take(at("18:00"), &fixed);
        assert_eq!((labour.minutes().0, labour.running("K")), (210, None));
        assert_eq!(labour.stints[0].fixed.as_deref(), Some("forgot it"));
    }

    /// A worked example of the trade (common practice, no source): 6.7 h at 24 cost 160.80.
    #[test]
    fn minutes_cost_what_the_rate_says() {
        assert_eq!(at_rate(Money(2_400), 402), Money(16_080));
        assert_eq!(
            at_rate(Money(2_501), 30),
            Money(1_251),
            "half a hundredth is rounded up"
        );
    }
}
