//! `lockring export`: the whole shop as open files.

use std::path::PathBuf;

use crate::client::moving;
use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;

/// Write the whole shop out as open files
///
/// The journal goes into journal.jsonl, a line an entry, with a page that says how to read it
/// without this program. Work at the benches goes on meanwhile. Riders' names and contacts are in
/// it: keep it as the shop itself is kept.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring export --to ~/shop-2026\n  \
    lockring export --to /media/stick/shop --json")]
pub(crate) struct Export {
    /// The folder to make; new or empty
    #[arg(long, value_name = "DIR", value_parser = args::path())]
    to: PathBuf,
}

impl Export {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        desk.at_home()?;
        desk.cannot_be_tried("writing a shop out")?;
        let moved = moving::run(&desk.folder, vec!["export".into()], &self.to)?;
        moving::print(&mut desk.out, &moved, "written out")?;
        Ok(Exit::Ok)
    }
}
