//! Cautions: what is said, or stops the work, at each point of a conversion.
//!
//! The table is data (`data/cautions.csv`); each row has its source, or says that it is
//! workshop practice or from memory.

use std::sync::OnceLock;

use crate::ride_class::csv;
use crate::stage::Stage;

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
    /// How hard it presses.
    pub severity: Severity,
    /// When it applies, in words.
    pub applies_when: String,
    /// What is said.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// Whether any of it was written from memory.
    pub from_memory: bool,
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

fn read(content: &str) -> Result<Vec<Caution>, String> {
    let header = [
        "id",
        "gate",
        "severity",
        "applies_when",
        "text",
        "source",
        "read_or_memory",
    ];
    csv::records(header, content)?.into_iter().map(caution).collect()
}

fn caution([id, gate, severity, applies_when, text, source, read]: [String; 7]) -> Result<Caution, String> {
    let stage = match gate.as_str() {
        "intake" => Some(Stage::Intake),
        "parts" => Some(Stage::Parts),
        "fitting" | "electrical" => Some(Stage::Fitting),
        "test_ride" => Some(Stage::TestRide),
        "handover" => Some(Stage::Handover),
        "storage" | "transport" => None,
        other => return Err(format!("{id}: gate `{other}`")),
    };
    let severity = [Severity::Info, Severity::Warn, Severity::Stop]
        .into_iter()
        .find(|known| known.word() == severity)
        .ok_or_else(|| format!("{id}: severity `{severity}`"))?;
    let from_memory = read.contains("memory");
    Ok(Caution {
        id,
        gate,
        stage,
        severity,
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
        assert_eq!(all().len(), 77);
        let words: std::collections::BTreeSet<_> = all().iter().map(|caution| &caution.id).collect();
        assert_eq!(words.len(), 77);
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
        assert_eq!(kept + elsewhere.len(), 77);
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

    #[test]
    fn a_strange_gate_or_severity_is_refused() {
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
