//! Acts on a whole shop, done without serving it: a data folder made from a backup or from
//! open files, and a shop written out as open files.

use std::io::Write as _;
use std::path::PathBuf;

use lockring_store::{MoveError, Moved};

use crate::lifecycle::exit::{Exit, Fatal, not_closed, not_opened};
use crate::lifecycle::folder;
use crate::service::moved_json;

/// What to do instead of serving.
#[derive(Debug, clap::Subcommand)]
pub(crate) enum Act {
    /// Make a new data folder from a backup, proved as it is made
    Restore {
        /// A backup, or a folder of backups: then its newest [default: those of the data folder]
        from: Option<PathBuf>,
        /// The data folder to make; new or empty
        #[arg(long, value_name = "DIR")]
        to: PathBuf,
    },
    /// Write the shop of the data folder out as open files
    Export {
        /// The folder to make; new or empty
        #[arg(long, value_name = "DIR")]
        to: PathBuf,
    },
    /// Make a new data folder of a shop that was written out
    Import {
        /// The folder of open files
        from: PathBuf,
        /// The data folder to make; new or empty
        #[arg(long, value_name = "DIR")]
        to: PathBuf,
    },
}

impl Act {
    /// Does it and says on standard output what came of it, as one line of JSON.
    ///
    /// # Errors
    /// What was found, what is expected and the cure.
    pub(crate) fn run(self, dir: Option<PathBuf>) -> Result<(), Fatal> {
        // The shop in use knows which riders were removed from it; what comes from elsewhere may be
        // older than that.
        let in_use = folder::named(dir).map(|folder| (folder.join(lockring_store::BACKUPS), folder));
        let heeded = |moved| match &in_use {
            Ok((backups, _)) => lockring_store::heed(moved, backups),
            Err(_) => Ok(moved),
        };
        let done = match self {
            Self::Restore { from: Some(from), to } => lockring_store::restore(&from, &to).and_then(heeded),
            Self::Restore { from: None, to } => lockring_store::restore(&in_use?.0, &to),
            Self::Export { to } => lockring_store::export(&in_use?.1, &to),
            Self::Import { from, to } => lockring_store::import(&from, &to).and_then(heeded),
        };
        tell(&done.map_err(not_moved)?)
    }
}

fn tell(moved: &Moved) -> Result<(), Fatal> {
    let failed = |error: &std::io::Error| Fatal::io("the answer cannot be written", error);
    let mut out = std::io::stdout().lock();
    writeln!(out, "{}", moved_json(moved)).map_err(|error| failed(&error))?;
    out.flush().map_err(|error| failed(&error))
}

/// Why a folder was not made, with its exit code.
fn not_moved(error: MoveError) -> Fatal {
    match error {
        MoveError::Open(error) => not_opened(error),
        MoveError::Storage(error) => not_closed(&error),
        MoveError::Unsound { cure, .. } => Fatal::new(Exit::Damaged, error.to_string()).hint(cure),
        MoveError::Unfit { problem, cure } => Fatal::new(Exit::Other, problem).hint(cure),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_there_is_named_with_its_cure() {
        let folder = tempfile::tempdir().unwrap();
        let to = folder.path().join("new");
        let from = Some(folder.path().join("no-such.db"));
        let fatal = Act::Restore { from, to: to.clone() }.run(None).unwrap_err();
        assert_eq!(fatal.exit, Exit::Other);
        assert!(fatal.message.contains("no-such.db"), "{}", fatal.message);
        assert!(fatal.hint.contains("name a backup"), "{}", fatal.hint);
        assert!(!to.exists(), "a folder was made for nothing");
    }
}
