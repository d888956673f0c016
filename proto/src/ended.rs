//! Why `lockringd` ends by itself, as its exit code says: what the program that started it is
//! told without reading a log.

use std::process::ExitCode;

/// The exit codes of `lockringd`; 0 means that it was asked to end and did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Anything not named below.
    Other = 1,
    /// The command line cannot be read.
    Usage = 2,
    /// Another lockringd has the data folder.
    InUse = 4,
    /// A folder is not this user's alone.
    NotPrivate = 5,
    /// The disk is full or read-only.
    NoRoom = 6,
    /// The data file was written by a newer version.
    Newer = 7,
    /// The data file is not ours, or damaged.
    Damaged = 8,
}

impl Ended {
    /// All of them, by number.
    pub const ALL: [Self; 7] = [
        Self::Other,
        Self::Usage,
        Self::InUse,
        Self::NotPrivate,
        Self::NoRoom,
        Self::Newer,
        Self::Damaged,
    ];

    /// The number a program sees.
    pub const fn number(self) -> u8 {
        self as u8
    }

    /// The reason behind an exit code; `None` for one that is not in the table.
    pub fn of(code: i32) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|ended| i32::from(ended.number()) == code)
    }
}

impl From<Ended> for ExitCode {
    fn from(ended: Ended) -> Self {
        Self::from(ended.number())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_leads_back_to_its_reason() {
        for ended in Ended::ALL {
            assert_eq!(Ended::of(i32::from(ended.number())), Some(ended));
        }
        assert_eq!((Ended::of(0), Ended::of(3), Ended::of(101)), (None, None, None));
    }
}
