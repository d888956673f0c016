//! What of a rider lies in the data folder beside the data file, and clearing it.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use lockring_proto::v1;
use lockring_store::{BACKUPS, PHOTOS, StorageError};
use tonic::Status;

use crate::service::{Daemon, status};
use crate::tasks::evening::{REPORTS, write_anew};

/// Says that what follows a removal is not done yet.
const UNFINISHED: &str = "removal-to-finish";
/// Lines typed at a prompt, one command each.
const TYPED: &str = "prompt-history";
/// Larger files are not looked into: nothing that holds names is.
const MOST_BYTES: u64 = 16 * 1024 * 1024;
/// Folders inside the data folder that are looked into.
const DEPTH: usize = 3;

/// Files of the data folder that hold one of some texts: the data file, its log, pictures and
/// backups left out.
pub(super) fn files_holding(folder: &Path, texts: &[String]) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    if !texts.is_empty() {
        look(folder, DEPTH, texts, &mut found)?;
    }
    found.sort();
    Ok(found)
}

fn look(folder: &Path, depth: usize, texts: &[String], found: &mut Vec<String>) -> io::Result<()> {
    for item in fs::read_dir(folder)? {
        let item = item?;
        let (kind, path, name) = (item.file_type()?, item.path(), item.file_name());
        if kind.is_dir() && depth > 1 && name != BACKUPS && name != PHOTOS {
            look(&path, depth - 1, texts, found)?;
        }
        let is_data = name.to_string_lossy().starts_with("lockring.db");
        if kind.is_file()
            && !is_data
            && item.metadata()?.len() <= MOST_BYTES
            && holds(&fs::read(&path)?, texts)
        {
            found.push(path.display().to_string());
        }
    }
    Ok(())
}

fn holds(bytes: &[u8], texts: &[String]) -> bool {
    let has = |text: &String| bytes.windows(text.len()).any(|window| window == text.as_bytes());
    texts.iter().filter(|text| !text.is_empty()).any(has)
}

/// A file that lies in the data folder from before a removal is stored until what follows it is done.
/// Which texts went is known to nobody once they are gone, so it says nothing but that.
#[derive(Debug)]
pub(super) struct Mark {
    path: PathBuf,
    is_new: bool,
}

impl Mark {
    /// Lays it, through to the disk.
    pub(super) fn lay(folder: &Path) -> io::Result<Self> {
        let path = folder.join(UNFINISHED);
        let is_new = !path.try_exists()?;
        if is_new {
            File::create(&path)?;
            File::open(folder)?.sync_all()?;
        }
        Ok(Self { path, is_new })
    }

    /// Takes it away, unless it lies there for the sake of an earlier removal.
    pub(super) fn take_away_if_new(self) {
        if self.is_new
            && let Err(error) = fs::remove_file(&self.path)
        {
            tracing::warn!(%error, "every report is written again, although nothing was left to do");
        }
    }
}

/// Does what a removal left to do that was cut off: every report is written again, and every line typed
/// at a prompt goes, because nobody knows any more which of them tell of the rider.
///
/// # Errors
/// What the store or a file says; it is to be tried again then.
pub(super) fn finish(daemon: &Daemon) -> Result<(), StorageError> {
    let mark = daemon.folder.join(UNFINISHED);
    if !mark.try_exists()? {
        return Ok(());
    }
    let reports = daemon.folder.join(REPORTS);
    if reports.try_exists()? {
        let files = fs::read_dir(&reports)?.map(|item| Ok(item?.path()));
        let files: Vec<PathBuf> = files.collect::<io::Result<_>>()?;
        write_anew_days(daemon, days_of(&files))?;
    }
    match fs::remove_file(daemon.folder.join(TYPED)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error.into()),
        _ => {}
    }
    fs::remove_file(&mark)?;
    tracing::info!("what a removal left to do is done: all reports are written again");
    Ok(())
}

/// Sees a removal through: reports that told of the rider are written again, lines typed at a
/// prompt go, and the reply says what is left. What fails is said, tried again by [`finish`], and undoes
/// nothing. Of one that was answered before the texts are not known any more.
pub(super) fn follow(
    daemon: &Daemon,
    mark: Mark,
    mut reply: v1::RemoveRiderReply,
    texts: &[String],
) -> Result<v1::RemoveRiderReply, Status> {
    let reports = write_reports_anew(daemon, texts)
        .inspect_err(|error| tracing::error!(%error, "a report still tells of a rider who was removed"));
    let typed = forget_typed(&daemon.folder, texts).inspect_err(
        |error| tracing::error!(%error, "lines typed at a prompt still tell of a rider who was removed"),
    );
    if reports.is_ok() && typed.is_ok() {
        mark.take_away_if_new();
    }
    if reply.repeated {
        finish(daemon).map_err(|error| status::stored(&error))?;
        reply.said.push(
            "which other files of the data folder hold the rider was told with the first answer, and is not known any more"
                .to_owned(),
        );
    } else {
        reply.files = files_holding(&daemon.folder, texts).map_err(|error| status::stored(&error.into()))?;
    }
    let jobs = reply.jobs.clone();
    let left = daemon.store.read(|reader| {
        let mut backups = BTreeSet::new();
        for number in jobs {
            if let Some(job) = reader.job(number)? {
                backups.extend(daemon.store.backups_with_rider(&job)?);
            }
        }
        Ok((backups, !reader.is_uncleaned()?))
    });
    let (backups, cleaned) = left.map_err(|error| status::stored(&error))?;
    reply.backups = backups.iter().map(|path| path.display().to_string()).collect();
    reply.cleaned = cleaned;
    Ok(reply)
}

/// A report tells the shop as it was known, without whoever was removed since: written again, it
/// says to the letter what `report day` prints now.
fn write_reports_anew(daemon: &Daemon, texts: &[String]) -> Result<(), StorageError> {
    let folder = daemon.folder.join(REPORTS);
    if !folder.try_exists()? {
        return Ok(());
    }
    write_anew_days(daemon, days_of(&files_holding(&folder, texts)?))
}

/// The days of reports, by the names of their files.
fn days_of(files: &[impl AsRef<Path>]) -> BTreeSet<Date> {
    let names = files
        .iter()
        .filter_map(|path| path.as_ref().file_stem()?.to_str());
    names.filter_map(|name| name.parse().ok()).collect()
}

fn write_anew_days(daemon: &Daemon, days: BTreeSet<Date>) -> Result<(), StorageError> {
    daemon.store.read(|reader| {
        days.iter()
            .try_for_each(|day| write_anew(reader, &daemon.zone, &daemon.folder, *day))
    })
}

fn forget_typed(folder: &Path, texts: &[String]) -> io::Result<()> {
    let path = folder.join(TYPED);
    let typed = match fs::read(&path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        typed => typed?,
    };
    if !holds(&typed, texts) {
        return Ok(());
    }
    let lines: Vec<&[u8]> = typed
        .split_inclusive(|byte| *byte == b'\n')
        .filter(|line| !holds(line, texts))
        .collect();
    fs::write(&path, lines.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_that_hold_a_text_are_listed_and_typed_lines_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let put = |name: &str, text: &str| {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        };
        put(TYPED, "jobs\nnote 2 Ines rang\nshow 2\n");
        put("reports/2026-03-02.txt", "job 2 Ines H.");
        put("lockring.db", "Ines");
        put("backups/a.db", "Ines");
        put("photos/a", "Ines");
        let texts = ["Ines".to_owned(), String::new()];
        let found = files_holding(folder.path(), &texts).unwrap();
        let names: Vec<_> = found
            .iter()
            .map(|path| Path::new(path).file_name().unwrap())
            .collect();
        assert_eq!(names, [TYPED, "2026-03-02.txt"]);
        assert_eq!(files_holding(folder.path(), &[]).unwrap(), [""; 0]);
        forget_typed(folder.path(), &texts).unwrap();
        let left = fs::read_to_string(folder.path().join(TYPED)).unwrap();
        assert_eq!(left, "jobs\nshow 2\n");
    }
}
