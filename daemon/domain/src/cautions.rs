//! Cautions: what is said, or stops the work, at each point of a conversion.
//!
//! The table is data (`data/cautions.csv`); each row says whom it speaks to and has its source, or says
//! that it is workshop practice or from memory.

use std::sync::OnceLock;

use crate::job::Job;
use crate::ride_class::csv;
use crate::stage::Stage;

mod concern;

pub use concern::Concern;

const TABLE: &str = include_str!("../data/cautions.csv");

/// How hard a caution presses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Good to know.
    Info,
    /// To be said and thought about.
    Warn,
    /// The work stops until it is settled.
    Stop,
}

impl Severity {
    /// The word of the table.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Info => "info",
            Self::Warn => "warn",
            Self::Stop => "stop",
        }
    }
}

/// Whom a caution speaks to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Audience {
    /// An order to the workshop.
    Shop,
    /// Advice to the customer.
    Rider,
    /// Both: whoever has the bicycle or its pack in hand.
    Both,
}

impl Audience {
    /// All.
    pub const ALL: [Self; 3] = [Self::Shop, Self::Rider, Self::Both];

    /// The word of the table.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Shop => "shop",
            Self::Rider => "rider",
            Self::Both => "both",
        }
    }
}

/// One caution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Its word, such as `ft-torque-arm`.
    pub id: String,
    /// When it is said, in the table's word: a stage, or `electrical`, `storage`, `transport`.
    pub gate: String,
    /// The stage it belongs to: electrical work is part of fitting; storage and transport
    /// belong to none.
    pub stage: Option<Stage>,
    /// Whom it speaks to.
    pub audience: Audience,
    /// How hard it presses.
    pub severity: Severity,
    /// Which jobs it may concern; what a job does not rule out may.
    pub concern: Concern,
    /// When it applies, in words.
    pub applies_when: String,
    /// What is said.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// Whether any of it was written from memory.
    pub from_memory: bool,
}

/// What the table says in words where a concern says the same.
const SAID_BY_CONCERN: [&str; 16] = [
    "EPAC-type class",
    "US bicycle rules apply",
    "any road class",
    "battery above 100 Wh",
    "battery above 160 Wh",
    "class is generic-private",
    "hub motor axle",
    "mid-drive",
    "no ride class chosen",
    "rider younger than class minimum",
    "region EU or GB",
    "sale in California",
    "use or sale in New York City",
    "nominal voltage above 48 V and class is EPAC-type",
    "front hub motor and alloy, magnesium or suspension fork",
    "front hub motor and steel fork",
];

impl Caution {
    /// Whether a job's own data say that it applies, so that no condition is left to whoever reads it.
    pub fn is_settled(&self, job: &Job) -> bool {
        self.applies_when == "always"
            || (SAID_BY_CONCERN.contains(&self.applies_when.as_str()) && self.concern.is(job))
    }
}

/// All cautions, in the table's order.
pub fn all() -> &'static [Caution] {
    static CAUTIONS: OnceLock<Vec<Caution>> = OnceLock::new();
    CAUTIONS.get_or_init(|| read(TABLE).expect("the shipped table of cautions is whole; a test reads it"))
}

/// The caution with this word.
pub fn find(id: &str) -> Option<&'static Caution> {
    all().iter().find(|caution| caution.id == id)
}

/// The cautions of a stage, in the table's order.
pub fn for_stage(stage: Stage) -> impl Iterator<Item = &'static Caution> {
    all().iter().filter(move |caution| caution.stage == Some(stage))
}

/// The cautions that may concern a job, in the table's order: those it rules out are left out.
pub fn for_job(job: &Job) -> impl Iterator<Item = &'static Caution> {
    all().iter().filter(move |caution| caution.concern.may_be(job))
}

fn read(content: &str) -> Result<Vec<Caution>, String> {
    let header = [
        "id",
        "gate",
        "audience",
        "severity",
        "needs",
        "applies_when",
        "text",
        "source",
        "read_or_memory",
    ];
    csv::records(header, content)?.into_iter().map(caution).collect()
}

fn caution(
    [
        id,
        gate,
        audience,
        severity,
        needs,
        applies_when,
        text,
        source,
        read,
    ]: [String; 9],
) -> Result<Caution, String> {
    let stage = match gate.as_str() {
        "intake" => Some(Stage::Intake),
        "parts" => Some(Stage::Parts),
        "fitting" | "electrical" => Some(Stage::Fitting),
        "test_ride" => Some(Stage::TestRide),
        "handover" => Some(Stage::Handover),
        "storage" | "transport" => None,
        other => return Err(format!("{id}: gate `{other}`")),
    };
    let audience = Audience::ALL
        .into_iter()
        .find(|known| known.word() == audience)
        .ok_or_else(|| format!("{id}: audience `{audience}`"))?;
    let concern = Concern::from_word(&needs).ok_or_else(|| format!("{id}: needs `{needs}`"))?;
    let severity = [Severity::Info, Severity::Warn, Severity::Stop]
        .into_iter()
        .find(|known| known.word() == severity)
        .ok_or_else(|| format!("{id}: severity `{severity}`"))?;
    let from_memory = read.contains("memory");
    Ok(Caution {
        id,
        gate,
        stage,
        audience,
        severity,
        concern,
        applies_when,
        text,
        source,
        from_memory,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_and_says_something() {
        assert_eq!(all().len(), 81);
        let words: std::collections::BTreeSet<_> = all().iter().map(|caution| &caution.id).collect();
        assert_eq!(words.len(), 81);
        for caution in all() {
            for text in [&caution.applies_when, &caution.text, &caution.source] {
                assert!(!text.trim().is_empty(), "{caution:?}");
                assert!(!text.contains("www.") && !text.contains(".com"), "{caution:?}");
            }
        }
    }

    #[test]
    fn stages_take_their_own_and_electrical_work_is_fitting() {
        let count = |stage| for_stage(stage).count();
        let kept: usize = Stage::GATED.into_iter().map(count).sum();
        let elsewhere: Vec<_> = all().iter().filter(|caution| caution.stage.is_none()).collect();
        assert_eq!(kept + elsewhere.len(), 81);
        assert!(
            elsewhere
                .iter()
                .all(|caution| ["storage", "transport"].contains(&caution.gate.as_str()))
        );
        assert!(for_stage(Stage::Fitting).any(|caution| caution.id == "el-bms"));
        assert!(for_stage(Stage::Fitting).any(|caution| caution.id == "ft-torque-arm"));
        assert_eq!(count(Stage::Cancelled), 0);
    }

    #[test]
    fn the_stops_of_the_workshop_are_stops() {
        for id in [
            "in-cracks",
            "pt-charger",
            "ft-torque-arm",
            "el-charger-match",
            "tr-over-limit",
            "ho-charge",
            "sh-damaged",
        ] {
            assert_eq!(find(id).unwrap().severity, Severity::Stop, "{id}");
        }
        assert!(Severity::Info < Severity::Warn && Severity::Warn < Severity::Stop);
        assert!(find("in-nothing").is_none());
    }

    /// What orders the workshop about never goes to the customer, and the customer is told of charging, of a pack
    /// that fails and of the rules of the place.
    #[test]
    fn each_caution_speaks_to_somebody() {
        let of = |audience| all().iter().filter(move |caution| caution.audience == audience);
        assert!(of(Audience::Rider).count() >= 9 && of(Audience::Both).count() >= 9);
        for id in [
            "ho-manual",
            "ho-local-law",
            "ho-declaration",
            "ho-charge",
            "ho-label",
            "el-bms",
        ] {
            assert_eq!(find(id).unwrap().audience, Audience::Shop, "{id}");
        }
        for id in ["rd-charge", "rd-local-law", "ho-no-mod", "ho-air"] {
            assert_eq!(find(id).unwrap().audience, Audience::Rider, "{id}");
        }
        for id in ["ho-signs", "ho-fire", "sh-damaged"] {
            assert_eq!(find(id).unwrap().audience, Audience::Both, "{id}");
        }
        // Words of a sentence that tells a workshop what to do.
        for caution in of(Audience::Rider).chain(of(Audience::Both)) {
            for order in [
                "Hand over",
                "Say in writing",
                "Show and write",
                "the customer",
                "Give a ",
            ] {
                assert!(!caution.text.contains(order), "{caution:?}");
            }
        }
    }

    #[test]
    fn a_strange_gate_severity_audience_or_need_is_refused() {
        assert!(
            read(&TABLE.replacen(",shop,", ",yard,", 1))
                .unwrap_err()
                .contains("audience `yard`")
        );
        assert!(
            read(&TABLE.replacen(",mid,", ",tricycle,", 1))
                .unwrap_err()
                .contains("needs `tricycle`")
        );
        assert!(
            read(&TABLE.replacen(",intake,", ",yard,", 1))
                .unwrap_err()
                .contains("gate `yard`")
        );
        assert!(
            read(&TABLE.replacen(",stop,", ",shout,", 1))
                .unwrap_err()
                .contains("severity `shout`")
        );
    }
}
