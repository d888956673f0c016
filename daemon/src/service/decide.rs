//! Changes of a job: asked, decided, stored with their answer, told to whoever watches.

use std::fmt::Debug;
use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::code;
use lockring_domain::command::{self, Command, Draft, Typed};
use lockring_domain::entry::{Entry, Event};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::shop::wip;
use lockring_domain::stage::Stage;
use lockring_proto::v1::JobReply;
use lockring_store::{self as store, Size, StorageError, Tx, WriteError};
use tonic::{Response, Status};

use super::ledger::{Ledger, at_desk};
use super::to_proto::Kept;
use super::{Daemon, status, to_proto};
use crate::standing::Standing;

/// What is asked of a job.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Ask {
    /// A new job.
    TakeIn {
        /// Rider's name.
        rider: String,
        /// Codes of brief and donor.
        values: Vec<Typed>,
        /// Slots and part ids.
        build: Vec<Typed>,
    },
    /// A command on a job.
    Change {
        /// The job.
        job: u32,
        /// The command.
        command: Command,
    },
    /// Retract an entry.
    Undo {
        /// The job.
        job: u32,
        /// The entry; `None` for the asker's own last one.
        seq: Option<u64>,
        /// Why; may be empty.
        why: String,
    },
}

/// A change as asked, read and checked as far as it can be without the job.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Asked {
    /// Chosen by the client; a retry carries the same.
    pub(super) request_id: String,
    /// Who, where, when.
    pub(super) origin: Origin,
    /// Refused when the job is at another revision.
    pub(super) expected_revision: Option<u64>,
    /// Decide and answer, store nothing.
    pub(super) validate_only: bool,
    /// What is asked.
    pub(super) ask: Ask,
    /// Name of the file that lines refer to, if values came from one.
    pub(super) file: Option<String>,
}

/// The code that says which frame it is.
const FRAME: &str = "frame-number";

impl Asked {
    /// How much there is to decide and to write: what people say at the bench all day is little.
    fn size(&self) -> Size {
        match &self.ask {
            // Every job is asked whether it had the frame.
            Ask::Change {
                command: Command::State { values, .. },
                ..
            } if values
                .iter()
                .any(|typed| code::find(&typed.field).is_some_and(|row| row.key() == FRAME)) =>
            {
                Size::Any
            }
            Ask::Change {
                command: Command::Record { .. } | Command::State { .. } | Command::Note { .. },
                ..
            } => Size::Little,
            _ => Size::Any,
        }
    }

    /// What tells this change from another under the same id. A retry may be read at another
    /// moment, which is the time it was made when the client gave none. (The text is never
    /// compared across versions: a client of another version is not let in.)
    fn request(&self) -> store::Request {
        request_for(
            &self.request_id,
            &self.origin,
            &(&self.ask, self.expected_revision),
        )
    }
}

/// A request id with what was asked under it: everything but the moment it was made.
pub(super) fn request_for(id: &str, origin: &Origin, asked: &impl Debug) -> store::Request {
    let Origin {
        by,
        terminal,
        made: _,
    } = origin;
    store::Request::new(id, &format!("{:?}", (asked, by, terminal)))
}

/// What was answered to this request before, if it was, said to be given again.
///
/// # Errors
/// [`WriteError::Refused`] when the request id stood for something else; [`WriteError`] when the answer cannot be read.
pub(super) fn given_before<M: Kept>(tx: &Tx<'_>, request: &store::Request) -> Result<Option<M>, WriteError> {
    let kept = tx.answer(request)?;
    let reply = kept.map(|kept| to_proto::recall::<M>(&kept)).transpose();
    Ok(reply.map_err(WriteError::Refused)?.map(Kept::repeated))
}

/// Decides what is asked, on the ledger as it stands.
pub(super) fn decide(
    ledger: &impl Ledger,
    at: &Standing,
    asked: Asked,
) -> Result<Result<Draft, Refusal>, StorageError> {
    let Asked {
        origin,
        expected_revision,
        ask,
        file,
        ..
    } = asked;
    let mut before = None;
    let decision = match ask {
        Ask::TakeIn { rider, values, build } => {
            let number = ledger.next_job_number()?;
            at_desk(ledger, at, |desk| {
                command::take_in(number, origin, &rider, &values, &build, desk)
            })?
        }
        Ask::Change { job, command } => match ledger.job(job)? {
            None => Err(no_such_job(ledger, job)?),
            Some(job) => at_desk(ledger, at, |desk| {
                before = Some(job.stage);
                command::change(
                    Arc::unwrap_or_clone(job),
                    expected_revision,
                    origin,
                    &command,
                    desk,
                )
            })?,
        },
        Ask::Undo { job, seq, why } => {
            let entries = ledger.entries(job)?;
            if entries.is_empty() {
                Err(no_such_job(ledger, job)?)
            } else {
                at_desk(ledger, at, |desk| {
                    command::undo(&entries, expected_revision, origin, seq, &why, desk)
                })?
            }
        }
    };
    let decision = match decision {
        Ok(draft) => Ok(warned(ledger, at, before, draft)?),
        refused => refused,
    };
    Ok(decision.map_err(|refusal| match file {
        Some(file) => refusal.with("file", file),
        None => refusal,
    }))
}

/// The decision with a word on limits that a job coming to another stage passes, and on a bicycle that was here before.
fn warned(
    ledger: &impl Ledger,
    at: &Standing,
    before: Option<Stage>,
    mut draft: Draft,
) -> Result<Draft, StorageError> {
    let after = draft.job.stage;
    let comes = before.map_or_else(|| draft.begins(), |before| before != after);
    if comes && !after.is_end() {
        let mut open = ledger.open_by_stage()?;
        if let Some(left) = before.and_then(|before| open.get_mut(&before)) {
            *left = left.saturating_sub(1);
        }
        *open.entry(after).or_default() += 1;
        draft.said.extend(wip::warnings(&at.shop, &open, after));
    }
    let names = |event: &Event| matches!(event, Event::Stated { values, .. } if values.contains_key(FRAME));
    if draft.events.iter().any(names)
        && let Some(frame) = draft.job.text(FRAME).map(str::to_owned)
    {
        let mut others = ledger.jobs_of_frame(&frame)?;
        others.retain(|other| other.number != draft.job.number);
        let lines = others
            .iter()
            .map(|other| command::same_frame(&frame, other, &at.zone));
        draft.said.extend(lines);
    }
    Ok(draft)
}

/// A job that must be there.
pub(super) fn existing_job(
    ledger: &impl Ledger,
    number: u32,
) -> Result<Result<Arc<Job>, Refusal>, StorageError> {
    match ledger.job(number)? {
        Some(job) => Ok(Ok(job)),
        None => Ok(Err(no_such_job(ledger, number)?)),
    }
}

/// The refusal for a job that is not there, naming the numbers that are.
pub(super) fn no_such_job(ledger: &impl Ledger, number: u32) -> Result<Refusal, StorageError> {
    let last = ledger.next_job_number()? - 1;
    let refusal = Refusal::new(Reason::NoSuchJob, format!("there is no job {number}")).with("job", number);
    Ok(match last {
        0 => refusal.hint("there are no jobs yet; begin one with `lockring take-in`"),
        1 => refusal.hint("the only job is 1; `lockring jobs --all` lists it"),
        last => refusal.with("last", last).hint(format!(
            "jobs are numbered 1 to {last}; `lockring jobs --all` lists them"
        )),
    })
}

impl Daemon {
    /// Does what is asked: at most once for each request id, whatever becomes of the client.
    pub(super) async fn change(
        self: &Arc<Self>,
        asked: Result<Asked, Refusal>,
    ) -> Result<Response<JobReply>, Status> {
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        if asked.validate_only {
            return self
                .read(move |daemon, reader| daemon.preview(reader, asked))
                .await
                .map(Response::new);
        }
        self.write_and_tell(asked.size(), move |daemon, tx| daemon.write_change(tx, asked))
            .await
    }

    /// The answer a change would get, decided on a snapshot; nothing is stored.
    fn preview(&self, ledger: &impl Ledger, asked: Asked) -> Result<Result<JobReply, Refusal>, StorageError> {
        let at = self.standing(ledger)?;
        let decision = decide(ledger, &at, asked)?;
        Ok(decision.map(|draft| to_proto::job_reply(&draft, &at.days(Timestamp::now()))))
    }

    /// Decides, appends and remembers the answer in one transaction.
    fn write_change(&self, tx: &mut Tx<'_>, asked: Asked) -> Result<(JobReply, Vec<Entry>), WriteError> {
        let request = asked.request();
        if let Some(reply) = given_before(tx, &request)? {
            return Ok((reply, Vec::new()));
        }
        let at = self.standing(tx)?;
        let draft = decide(tx, &at, asked)?.map_err(WriteError::Refused)?;
        let now = Timestamp::now();
        // What is as it was before is answered like anything else, and stores nothing.
        let entries = if draft.events.is_empty() {
            Vec::new()
        } else {
            tx.append(draft.job.number, &draft.origin, now, &draft.events, &draft.job)?
        };
        let reply = to_proto::job_reply(&draft, &at.days(now));
        tx.remember(&request, &to_proto::keep(&reply))?;
        Ok((reply, entries))
    }
}
