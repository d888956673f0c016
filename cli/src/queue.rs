//! Commands that could not reach the daemon: kept on disk with the time they were made, and sent in
//! order later, each once (`commands/send.rs`).
//!
//! One file a command, in `queue/` of the data folder, numbered in order. A file is written
//! beside its place, synced and renamed, so that it is there whole or not at all. It is removed
//! only after the daemon answered; the request id makes a second sending harmless. A command that
//! the daemon refuses is set aside with the reason, for somebody to look at.

use std::ffi::{OsStr, OsString};
use std::fs::File;
use std::io::Write as _;
use std::os::unix::fs::DirBuilderExt as _;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use lockring_proto::paths::PRIVATE_MODE;
use lockring_proto::v1::Origin;
use serde::{Deserialize, Serialize};

use crate::command_error::{CommandError, Exit};
use crate::desk::{Desk, Waits};
use crate::folder::Folder;
use crate::output::{Out, times};
use crate::prompt::split::join;

/// A command that waits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Waiting {
    /// Its place in the order, from 1.
    pub(crate) number: u64,
    /// The id under which it is sent, however often.
    pub(crate) request_id: String,
    /// Who typed it.
    pub(crate) by: String,
    /// Where.
    pub(crate) terminal: String,
    /// When it was made, microseconds since 1970-01-01T00:00Z.
    pub(crate) made_at_us: i64,
    /// The revision it expects, if it named one.
    pub(crate) expected_revision: Option<u64>,
    /// The words of the line, without the options of every command.
    pub(crate) line: Vec<String>,
    /// The pair by which it goes to a shop on another computer: the file, as a path from the root. Two people may have
    /// theirs here, and each types under their own name alone.
    #[serde(default)]
    pub(crate) via: Option<String>,
    /// Why the daemon refused it; it is not sent again.
    pub(crate) refused: Option<String>,
}

impl Waiting {
    /// The command in one line: number, when, who, what.
    pub(crate) fn shown(&self, out: &Out<'_>) -> String {
        let when = times::moment(self.made_at_us, &out.look.zone);
        let refused = self
            .refused
            .as_ref()
            .map_or_else(String::new, |why| format!(" — refused: {why}"));
        format!(
            "{} {when} {}: {}{refused}",
            self.number,
            self.by,
            join(&self.line)
        )
    }

    /// As [`Waiting::shown`], with the pair's file it needs, where it needs one.
    pub(crate) fn listed(&self, out: &Out<'_>) -> String {
        let shown = self.shown(out);
        match &self.via {
            Some(file) => format!("{shown} (by the pair in {file})"),
            None => shown,
        }
    }

    fn words(&self, folder: &Folder) -> Vec<OsString> {
        let at = Timestamp::from_microsecond(self.made_at_us)
            .map(|at| at.to_string())
            .unwrap_or_default();
        let mut words: Vec<OsString> = vec!["lockring".into()];
        words.extend(folder.words_by(self.via.as_deref().map(OsStr::new)));
        let named = [
            ("--by", &self.by),
            ("--terminal", &self.terminal),
            ("--at", &at),
            ("--request-id", &self.request_id),
        ];
        for (option, value) in named {
            // Glued, so that a name beginning with a hyphen stays a value.
            words.push(format!("{option}={value}").into());
        }
        words.extend(
            self.expected_revision
                .map(|revision| format!("--expect={revision}").into()),
        );
        words.extend(self.line.iter().map(OsString::from));
        words
    }
}

/// The queue of a data folder.
pub(crate) struct Queue {
    folder: Folder,
    place: PathBuf,
}

impl Queue {
    /// The queue of a folder; nothing is made.
    ///
    /// # Errors
    /// [`Exit::Permission`] when the data folder cannot be looked at.
    pub(crate) fn of(folder: &Folder) -> Result<Self, CommandError> {
        let data = folder
            .canonical()?
            .unwrap_or_else(|| folder.named().to_path_buf());
        Ok(Self {
            folder: folder.clone(),
            place: data.join("queue"),
        })
    }

    /// All commands kept, in order, refused ones among them.
    ///
    /// # Errors
    /// [`Exit::Storage`] when one cannot be read: nothing is sent past it.
    pub(crate) fn kept(&self) -> Result<Vec<Waiting>, CommandError> {
        let entries = match std::fs::read_dir(&self.place) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(self.trouble("cannot be listed", &error)),
        };
        let mut kept = Vec::new();
        for entry in entries {
            let path = entry
                .map_err(|error| self.trouble("cannot be listed", &error))?
                .path();
            if path.extension().is_some_and(|ending| ending == "json") {
                kept.push(read(&path)?);
            }
        }
        kept.sort_by_key(|waiting| waiting.number);
        Ok(kept)
    }

    /// Whether a command waits to be sent.
    ///
    /// # Errors
    /// As [`Queue::kept`].
    pub(crate) fn any_waits(&self) -> Result<bool, CommandError> {
        Ok(self.kept()?.iter().any(|waiting| waiting.refused.is_none()))
    }

    /// Keeps a line that could not reach the daemon.
    ///
    /// # Errors
    /// [`Exit::Storage`] or [`Exit::Permission`] when it cannot be written: then it is lost, and
    /// says so.
    pub(crate) fn keep(&self, line: Vec<String>, origin: Origin) -> Result<Waiting, CommandError> {
        self.folder.make()?;
        std::fs::DirBuilder::new()
            .recursive(true)
            .mode(PRIVATE_MODE)
            .create(&self.place)
            .map_err(|error| self.trouble("cannot be made", &error))?;
        let made_at_us = origin
            .made_at_us
            .unwrap_or_else(|| Timestamp::now().as_microsecond());
        let mut waiting = Waiting {
            number: self.kept()?.last().map_or(0, |last| last.number) + 1,
            request_id: origin.request_id,
            by: origin.by,
            terminal: origin.terminal,
            made_at_us,
            expected_revision: origin.expected_revision,
            line,
            via: self.folder.pass_file(),
            refused: None,
        };
        // Two terminals may keep one at the same time: the second takes the next number.
        loop {
            match self.write(&waiting, false) {
                Ok(()) => return Ok(waiting),
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => waiting.number += 1,
                Err(error) => return Err(self.trouble("cannot be written; the command is not kept", &error)),
            }
        }
    }

    /// Takes a command out.
    ///
    /// # Errors
    /// [`Exit::NotFound`] when there is none of this number; [`Exit::Storage`].
    pub(crate) fn remove(&self, number: u64) -> Result<(), CommandError> {
        match std::fs::remove_file(self.path(number)) {
            Ok(()) => self
                .sync()
                .map_err(|error| self.trouble("cannot be synced", &error)),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Err(CommandError::new(
                Exit::NotFound,
                format!("no command {number} waits"),
            )
            .hint("`lockring send --list` shows what waits")),
            Err(error) => Err(self.trouble("cannot be changed", &error)),
        }
    }

    /// The command by the pair that is used now, where that is another one of the same person.
    pub(crate) fn by_present_pair(&self, waiting: &Waiting) -> Option<Waiting> {
        let person = &self.folder.pass()?.person;
        let via = self
            .folder
            .pass_file()
            .filter(|file| waiting.via.as_ref() != Some(file))?;
        person.eq_ignore_ascii_case(&waiting.by).then(|| Waiting {
            via: Some(via),
            ..waiting.clone()
        })
    }

    /// Whether a command goes by the pair that is used now.
    pub(crate) fn is_by_present_pair(&self, waiting: &Waiting) -> bool {
        waiting.via.is_none() || waiting.via == self.folder.pass_file()
    }

    /// The line of a command that waits, as it is to be performed.
    pub(crate) fn words_of(&self, waiting: &Waiting) -> Vec<OsString> {
        waiting.words(&self.folder)
    }

    /// Sets a command aside that was refused, with the reason.
    ///
    /// # Errors
    /// [`Exit::Storage`] when that cannot be written.
    pub(crate) fn set_aside(&self, waiting: Waiting, why: &str) -> Result<(), CommandError> {
        let aside = Waiting {
            refused: Some(why.to_owned()),
            ..waiting
        };
        self.write(&aside, true)
            .map_err(|error| self.trouble("cannot be written", &error))
    }

    /// The right to send, for one at a time; `None` while another has it.
    ///
    /// # Errors
    /// [`Exit::Storage`] when the queue cannot be locked.
    pub(crate) fn turn(&self) -> Result<Option<File>, CommandError> {
        let lock = std::fs::OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(self.place.join("sending"))
            .map_err(|error| self.trouble("cannot be locked", &error))?;
        match lock.try_lock() {
            Ok(()) => Ok(Some(lock)),
            Err(std::fs::TryLockError::WouldBlock) => Ok(None),
            Err(std::fs::TryLockError::Error(error)) => Err(self.trouble("cannot be locked", &error)),
        }
    }

    fn write(&self, waiting: &Waiting, over: bool) -> std::io::Result<()> {
        let mut file = tempfile::Builder::new().prefix(".new").tempfile_in(&self.place)?;
        let text = serde_json::to_string(waiting).map_err(std::io::Error::other)?;
        writeln!(file, "{text}")?;
        file.as_file().sync_all()?;
        let path = self.path(waiting.number);
        let done = if over {
            file.persist(path)
        } else {
            file.persist_noclobber(path)
        };
        done.map_err(|failed| failed.error)?;
        self.sync()
    }

    fn sync(&self) -> std::io::Result<()> {
        File::open(&self.place)?.sync_all()
    }

    fn path(&self, number: u64) -> PathBuf {
        self.place.join(format!("{number:08}.json"))
    }

    fn trouble(&self, what: &str, error: &std::io::Error) -> CommandError {
        let message = format!("the queue {} {what}", self.place.display());
        CommandError::new(Exit::of_io(error, Exit::Storage), message).caused_by(error)
    }
}

fn read(path: &Path) -> Result<Waiting, CommandError> {
    let broken = |error: &dyn std::error::Error| {
        CommandError::new(
            Exit::Storage,
            format!("{} is no command that waits", path.display()),
        )
        .caused_by(error)
        .hint("look into the file; when it is not needed, remove it")
    };
    let text = std::fs::read_to_string(path).map_err(|error| broken(&error))?;
    serde_json::from_str(&text).map_err(|error| broken(&error))
}

/// Keeps the line of this desk because the daemon was not reached.
///
/// # Errors
/// As [`Queue::keep`]; the error itself when the line is not one that waits.
pub(crate) fn keep(desk: &mut Desk<'_>, error: CommandError) -> Result<Exit, CommandError> {
    match desk.waits {
        Waits::Kept => {}
        Waits::ForNothing => return Err(error),
        Waits::Not(why) => return Err(error.hint(format!("not kept: {why}"))),
    }
    let Some(line) = desk.line.clone() else {
        return Err(error.hint("a line that is no UTF-8 text is not kept"));
    };
    if desk.global.dry_run {
        return Err(error.hint("a dry run is not kept"));
    }
    let waiting = Queue::of(&desk.folder)?.keep(line, desk.origin()?)?;
    let pair_of = desk.folder.pass().map(|pass| pass.person.clone());
    if desk.out.look.json {
        desk.out.json(&waiting)?;
    } else {
        let shown = waiting.shown(&desk.out);
        desk.out
            .wrapped("", "    ", &format!("{}; kept, not stored yet", error.message))?;
        desk.out.wrapped("waits: ", "    ", &shown)?;
        if let Some(person) = pair_of.filter(|person| !person.eq_ignore_ascii_case(&waiting.by)) {
            let by = &waiting.by;
            let words = format!(
                "it is typed by {by} and goes by the pair of {person}: only an owner's pair takes it, so leave \
                 `--by` out or send it by such a pair"
            );
            desk.out.wrapped("! ", "    ", &words)?;
        }
        desk.out
            .line("next: it is sent before the next change, or with `lockring send`")?;
    }
    Ok(Exit::Queued)
}

/// Whether a change that ended so did not reach a daemon that decides.
pub(crate) const fn was_not_reached(kind: Exit) -> bool {
    matches!(kind, Exit::NoDaemon | Exit::Timeout)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::look;

    fn origin(id: &str) -> Origin {
        Origin {
            request_id: id.to_owned(),
            by: "K".to_owned(),
            terminal: "bench".to_owned(),
            made_at_us: Some(1_773_392_400_000_000),
            ..Origin::default()
        }
    }

    fn line(text: &str) -> Vec<String> {
        text.split(' ').map(str::to_owned).collect()
    }

    #[test]
    fn commands_are_kept_in_order_and_come_back_as_they_were() {
        let data = tempfile::tempdir().unwrap();
        let queue = Queue::of(&Folder::find(Some(data.path())).unwrap()).unwrap();
        assert!(queue.kept().unwrap().is_empty());
        for number in 1..=12 {
            let kept = queue
                .keep(line(&format!("note 2 n{number}")), origin("id"))
                .unwrap();
            assert_eq!(kept.number, number);
        }
        let kept = queue.kept().unwrap();
        assert_eq!(
            kept.iter().map(|one| one.number).collect::<Vec<_>>(),
            (1..=12).collect::<Vec<_>>()
        );
        assert_eq!(kept[11].line, ["note", "2", "n12"]);
        let words: Vec<String> = kept[0]
            .words(&queue.folder)
            .iter()
            .map(|word| word.to_str().unwrap().to_owned())
            .collect();
        assert!(
            words.contains(&"--at=2026-03-13T09:00:00Z".to_owned()),
            "{words:?}"
        );
        queue.remove(1).unwrap();
        assert_eq!(queue.remove(1).unwrap_err().kind, Exit::NotFound);
        assert_eq!(queue.kept().unwrap().len(), 11);
    }

    /// A file that was being written when the power went stands beside its place, under another name.
    #[test]
    fn what_is_half_written_is_no_command_and_what_is_broken_is_not_passed_over() {
        let data = tempfile::tempdir().unwrap();
        let queue = Queue::of(&Folder::find(Some(data.path())).unwrap()).unwrap();
        queue.keep(line("note 2 a"), origin("id")).unwrap();
        std::fs::write(queue.place.join(".newabc"), "{\"number\":").unwrap();
        assert_eq!(queue.kept().unwrap().len(), 1);
        std::fs::write(queue.path(2), "{").unwrap();
        let error = queue.kept().unwrap_err();
        assert_eq!(error.kind, Exit::Storage);
        assert!(error.message.contains("00000002.json"), "{}", error.message);
    }

    #[test]
    fn a_waiting_command_says_when_who_and_what() {
        let data = tempfile::tempdir().unwrap();
        let queue = Queue::of(&Folder::find(Some(data.path())).unwrap()).unwrap();
        let kept = queue.keep(line("measure 2 clf 51,5"), origin("id")).unwrap();
        let mut bytes = Vec::new();
        let out = Out::new(&mut bytes, look(80));
        assert_eq!(kept.shown(&out), "1 Fri 13 Mar 2026 09:00 K: measure 2 clf 51,5");
    }
}
