//! Refusals: why a request is not done, in a form that programs and people can use.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The reason code of a refusal; stable, part of the contract.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "SCREAMING_SNAKE_CASE")]
pub enum Reason {
    /// A value, word or file cannot be read; nothing was stored.
    BadInput,
    /// A value lies outside its plausible window; nothing was stored.
    OutsideWindow,
    /// A word that is not in the table (code, slot, check, class, stage …).
    UnknownWord,
    /// The job does not exist.
    NoSuchJob,
    /// The part is not in the catalogue.
    NoSuchPart,
    /// The block does not exist or is cleared already.
    NoSuchBlock,
    /// The job is over.
    JobOver,
    /// The job is on hold.
    OnHold,
    /// The gate does not pass.
    GateClosed,
    /// The check may never be conceded.
    NeverConceded,
    /// The check holds: there is nothing to concede.
    NothingToConcede,
    /// The stage is not one the job can go back to.
    NotEarlier,
    /// What stands was read or told later, or what it hangs on was changed since.
    LaterStands,
    /// There is nothing of one's own to undo.
    NothingToUndo,
    /// The slot has no part, or no order.
    SlotEmpty,
    /// The job was changed since it was read.
    RevisionChanged,
    /// There is nothing to release.
    NotOnHold,
    /// The request's id was used before for another change.
    RequestIdReused,
    /// The initials are nobody's of this shop.
    UnknownPerson,
    /// Only the owner may do this.
    OwnerOnly,
    /// The setting, the list of people or the end of a job would be left in a state that cannot stand.
    CannotStand,
    /// The piece is somewhere else already.
    ElsewhereAlready,
    /// No order of that slot or shelf line is awaited, or nothing of it came.
    NoSuchLine,
    /// The shelf does not hold it.
    NotOnShelf,
    /// It is kept for another job.
    Reserved,
    /// There is no pair of that number.
    NoSuchPair,
    /// The certificate is none of this shop's pairs.
    CertificateUnknown,
    /// The certificate was revoked.
    CertificateRevoked,
    /// The certificate has expired.
    CertificateExpired,
    /// The person of the certificate no longer works here.
    PersonLeft,
    /// The certificate is somebody else's than who the call names.
    AnotherPerson,
    /// It is done at the shop's own computer only, over its socket.
    SocketOnly,
    /// Something speaks against removing the rider.
    RiderStays,
    /// A recall means it.
    Recalled,
}

impl Reason {
    /// The reason code as it stands in the contract.
    pub const fn code(self) -> &'static str {
        match self {
            Self::BadInput => "BAD_INPUT",
            Self::OutsideWindow => "OUTSIDE_WINDOW",
            Self::UnknownWord => "UNKNOWN_WORD",
            Self::NoSuchJob => "NO_SUCH_JOB",
            Self::NoSuchPart => "NO_SUCH_PART",
            Self::NoSuchBlock => "NO_SUCH_BLOCK",
            Self::JobOver => "JOB_OVER",
            Self::OnHold => "ON_HOLD",
            Self::GateClosed => "GATE_CLOSED",
            Self::NeverConceded => "NEVER_CONCEDED",
            Self::NothingToConcede => "NOTHING_TO_CONCEDE",
            Self::NotEarlier => "NOT_EARLIER",
            Self::LaterStands => "LATER_STANDS",
            Self::NothingToUndo => "NOTHING_TO_UNDO",
            Self::SlotEmpty => "SLOT_EMPTY",
            Self::RevisionChanged => "REVISION_CHANGED",
            Self::NotOnHold => "NOT_ON_HOLD",
            Self::RequestIdReused => "REQUEST_ID_REUSED",
            Self::UnknownPerson => "UNKNOWN_PERSON",
            Self::OwnerOnly => "OWNER_ONLY",
            Self::CannotStand => "CANNOT_STAND",
            Self::ElsewhereAlready => "ELSEWHERE_ALREADY",
            Self::NoSuchLine => "NO_SUCH_LINE",
            Self::NotOnShelf => "NOT_ON_SHELF",
            Self::Reserved => "RESERVED",
            Self::NoSuchPair => "NO_SUCH_PAIR",
            Self::CertificateUnknown => "CERTIFICATE_UNKNOWN",
            Self::CertificateRevoked => "CERTIFICATE_REVOKED",
            Self::CertificateExpired => "CERTIFICATE_EXPIRED",
            Self::PersonLeft => "PERSON_LEFT",
            Self::AnotherPerson => "ANOTHER_PERSON",
            Self::SocketOnly => "SOCKET_ONLY",
            Self::RiderStays => "RIDER_STAYS",
            Self::Recalled => "RECALLED",
        }
    }
}

/// One field of a request or file that cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Violation {
    /// The field, such as `brief.hill-grade` or `motor[2].peak-torque`.
    pub field: String,
    /// Line of the file, from 1; `None` when it did not come from a file.
    pub line: Option<u32>,
    /// What was given and what is expected, with an example.
    pub problem: String,
}

/// Why a request is not done. Nothing was stored.
#[derive(Debug, Clone, PartialEq, thiserror::Error, Serialize, Deserialize)]
#[error("{message}")]
#[serde(deny_unknown_fields)]
pub struct Refusal {
    /// Reason code.
    pub reason: Reason,
    /// What is wrong, with the value given.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
    /// Every variable of the message, by name.
    pub metadata: BTreeMap<String, String>,
    /// Fields that cannot be taken.
    pub violations: Vec<Violation>,
}

impl Refusal {
    /// A refusal with its message.
    pub fn new(reason: Reason, message: impl Into<String>) -> Self {
        Self {
            reason,
            message: message.into(),
            hint: None,
            metadata: BTreeMap::new(),
            violations: Vec::new(),
        }
    }

    /// Adds what to do about it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Repeats a variable of the message by name.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl ToString) -> Self {
        self.metadata.insert(name.to_owned(), value.to_string());
        self
    }

    /// Adds fields that cannot be taken.
    #[must_use]
    pub fn violations(mut self, violations: Vec<Violation>) -> Self {
        self.violations = violations;
        self
    }

    /// A word that is not in a table, with the nearest ones.
    pub fn unknown(what: &str, word: &str, near: &[&str], all: &str) -> Self {
        let refusal = Self::new(Reason::UnknownWord, format!("`{word}` is no {what}"))
            .with("given", word)
            .with("nearest", near.join(" "));
        match near {
            [] => refusal.hint(all.to_owned()),
            [one] => refusal.hint(format!("did you mean `{one}`? {all}")),
            several => refusal.hint(format!("did you mean one of {}? {all}", several.join(", "))),
        }
    }
}
