//! `lockring restore`: a data folder made from a backup.

use std::path::PathBuf;

use crate::client::moving;
use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;

/// Make a new data folder from a backup
///
/// The backup is copied, brought up to date, worked out again and compared before the new folder's data
/// file gets its name; nothing is ever written over, and the shop in use is not touched. Riders who
/// were removed since, as the list beside the backups or the shop in use knows, are removed from the
/// copy, too. Serve the new folder with `lockring --dir DIR daemon start`, or move it to where the old one was.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring restore --to ~/shop-restored\n  \
    lockring restore /media/stick/backups --to ~/shop-restored")]
pub(crate) struct Restore {
    /// A backup, or a folder of backups: then its newest [default: the data folder's backups]
    #[arg(value_name = "BACKUP", value_parser = args::path())]
    from: Option<PathBuf>,
    /// The data folder to make; new or empty
    #[arg(long, value_name = "DIR", value_parser = args::path())]
    to: PathBuf,
}

impl Restore {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        desk.at_home()?;
        desk.cannot_be_tried("making a folder of a backup")?;
        let mut words = vec!["restore".into()];
        words.extend(self.from.map(PathBuf::into_os_string));
        let moved = moving::run(&desk.folder, words, &self.to)?;
        moving::print(&mut desk.out, &moved, "restored")?;
        if !desk.out.look.json {
            let to = self.to.display();
            desk.out.line(format_args!("serve it with: lockring --dir {to} daemon start"))?;
        }
        Ok(Exit::Ok)
    }
}
