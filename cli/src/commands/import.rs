//! `lockring import`: a data folder made of open files.

use std::path::PathBuf;

use crate::client::moving;
use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;

/// Make a new data folder of a shop that was written out
///
/// Every line is checked against its hash, everything else is made from the entries, and the
/// new folder ends with the same entry as the old one: `verify` shows the same hash. Only a rider
/// whom the shop in use has removed since is removed from the new folder by one entry more. Nothing
/// is ever written over.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring import ~/shop-2026 --to ~/shop-new\n  \
    lockring import /media/stick/shop --to ~/shop-new --json")]
pub(crate) struct Import {
    /// The folder that `lockring export` made
    #[arg(value_name = "FOLDER", value_parser = args::path())]
    from: PathBuf,
    /// The data folder to make; new or empty
    #[arg(long, value_name = "DIR", value_parser = args::path())]
    to: PathBuf,
}

impl Import {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        desk.at_home()?;
        desk.cannot_be_tried("making a folder of open files")?;
        let words = vec!["import".into(), self.from.into_os_string()];
        let moved = moving::run(&desk.folder, words, &self.to)?;
        moving::print(&mut desk.out, &moved, "made")?;
        if !desk.out.look.json {
            let to = self.to.display();
            desk.out.line(format_args!("serve it with: lockring --dir {to} daemon start"))?;
        }
        Ok(Exit::Ok)
    }
}
