//! `lockring backup`: a checked copy of the data file.

use std::path::PathBuf;

use lockring_proto::v1::BackupRequest;

use crate::client::LONG;
use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_shop;
use crate::desk::Desk;
use crate::output::photo;

/// Write a checked copy of the data file
///
/// The copy is complete and checked before it gets its name; work at the benches goes on.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring backup\n  \
    lockring backup --to /media/stick")]
pub(crate) struct Backup {
    /// Folder for the copy [default: backups in the data folder]
    #[arg(long, value_name = "FOLDER", value_parser = args::path())]
    to: Option<PathBuf>,
}

impl Backup {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        desk.cannot_be_tried("a backup")?;
        let request = BackupRequest { to_folder: self.to.map(absolute).transpose()?.unwrap_or_default() };
        let answer = desk.client().await?.call(LONG, request, of_shop!(backup)).await?;
        if desk.out.look.json {
            desk.out.json(&answer)?;
        } else {
            desk.out.line(format_args!("backup: {}", answer.path))?;
            desk.out.line(format_args!("{} entries, {} bytes, checked", answer.entries, answer.bytes))?;
            photo::print_brought(&mut desk.out, answer.photos, &answer.problems)?;
        }
        Ok(Exit::Ok)
    }
}

/// The folder as seen from anywhere: the daemon stands elsewhere.
fn absolute(folder: PathBuf) -> Result<String, CommandError> {
    let unfit = |why: &str| CommandError::new(Exit::BadInput, format!("the folder {} {why}", folder.display()));
    let path = std::path::absolute(&folder).map_err(|error| unfit("cannot be found").caused_by(&error))?;
    path.to_str().map(str::to_owned).ok_or_else(|| unfit("has a name that is no UTF-8 text"))
}
