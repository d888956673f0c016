//! Requests of the contract, read into the domain's words. Nothing else reads them.

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use lockring_domain::code::{self, Group};
use lockring_domain::command::{self, Act, Command, ReceiptText, Typed};
use lockring_domain::origin::Origin;
use lockring_domain::part::Part;
use lockring_domain::photo::Picture;
use lockring_domain::refusal::{Reason, Refusal, Violation};
use lockring_domain::{catalogue, sheet};
use lockring_proto::v1;

use super::decide::{Ask, Asked};

mod access;
mod desk;

pub(super) use access::{PairAsked, pair, revoke_pair};
pub(super) use desk::{
    ShopAsk, ShopAsked, chase, choose_units, days, join, leave, promise, reopen, rule, set, shut, tell,
    undo_shop, withdraw,
};
mod looks;
mod money;
mod riders;
pub(super) mod supply;

pub(super) use looks::{evening, forecast, gate, grade, job_page, kind, part_page, range, ride, show};
pub(super) use money::enter;
pub(super) use riders::{Pick, RiderAsked, Who, note_privately, picks_fit, remove_rider, seal_history, who};

/// The longest request id and name, in characters.
const LONGEST: usize = 64;
/// How far the clock of a bench may be ahead of the daemon's.
pub(super) const AHEAD: SignedDuration = SignedDuration::from_mins(5);
/// Nothing was done before this: 2000-01-01T00:00Z, in seconds since 1970 (10 957 days).
const EARLIEST: i64 = 10_957 * 86_400;
/// What a client says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Client {
    /// Program version.
    pub(super) version: String,
    /// Protocol number.
    pub(super) protocol: u32,
    /// Canonical data folder it means.
    pub(super) folder: String,
    /// Who is typing; empty when nobody said.
    pub(super) by: String,
}

/// Who asks, and how the request is known.
struct Asker {
    request_id: String,
    origin: Origin,
    expected_revision: Option<u64>,
    validate_only: bool,
}

impl Asker {
    fn asks(self, ask: Ask) -> Asked {
        let Self {
            request_id,
            origin,
            expected_revision,
            validate_only,
        } = self;
        Asked {
            request_id,
            origin,
            expected_revision,
            validate_only,
            ask,
            file: None,
        }
    }
}

fn asker(origin: Option<v1::Origin>, now: Timestamp) -> Result<Asker, Refusal> {
    let origin = origin.ok_or_else(|| bad("origin", "missing; expected who asks and a request id"))?;
    let request_id = short("origin.request_id", &origin.request_id)?;
    let by = short("origin.by", origin.by.trim())?;
    if origin.terminal.chars().count() > LONGEST {
        return Err(bad(
            "origin.terminal",
            &format!("longer than {LONGEST} characters"),
        ));
    }
    let made = match origin.made_at_us {
        None => now,
        Some(given) => made_at("origin.made_at_us", given, now)?,
    };
    Ok(Asker {
        request_id,
        origin: Origin {
            by,
            terminal: origin.terminal,
            made: lockring_store::whole_microseconds(made),
        },
        expected_revision: origin.expected_revision,
        validate_only: origin.validate_only,
    })
}

fn short(field: &str, text: &str) -> Result<String, Refusal> {
    let length = text.chars().count();
    if (1..=LONGEST).contains(&length) && !text.chars().any(char::is_control) {
        return Ok(text.to_owned());
    }
    Err(bad(
        field,
        &format!("{length} characters; expected 1 to {LONGEST} on one line"),
    )
    .with("length", length))
}

/// The moment at which something was done, which is over.
fn made_at(field: &str, given: i64, now: Timestamp) -> Result<Timestamp, Refusal> {
    let outside = |shown: String| {
        let problem = format!("{shown} is no time of work: expected one from 2000-01-01 to now");
        let violation = Violation {
            field: field.to_owned(),
            line: None,
            problem: problem.clone(),
        };
        Refusal::new(Reason::BadInput, problem)
            .with("field", field)
            .with("given", given)
            .violations(vec![violation])
            .hint("give the time at which it was done")
    };
    let made = Timestamp::from_microsecond(given).map_err(|_| outside(format!("{given} us")))?;
    if made.as_second() < EARLIEST || made.duration_since(now) > AHEAD {
        return Err(outside(made.strftime("%Y-%m-%d %H:%M UTC").to_string()));
    }
    Ok(made)
}

/// A field of a request that cannot be taken.
fn bad(field: &str, problem: &str) -> Refusal {
    let violation = Violation {
        field: field.to_owned(),
        line: None,
        problem: problem.to_owned(),
    };
    Refusal::new(Reason::BadInput, format!("{field}: {problem}"))
        .with("field", field)
        .violations(vec![violation])
}

/// A day as typed; `None` when nothing was.
pub(super) fn day(field: &str, text: &str) -> Result<Option<Date>, Refusal> {
    match text.trim() {
        "" => Ok(None),
        text => lockring_proto::day::read(text, None)
            .map(Some)
            .map_err(|problem| bad(field, &problem).with("given", text)),
    }
}

/// Values as typed.
pub(super) fn typed(values: Vec<v1::Assignment>) -> Vec<Typed> {
    values
        .into_iter()
        .map(|assignment| Typed::new(assignment.field.trim(), assignment.value))
        .collect()
}

/// A new job; values of the request stand before those of the sheet.
pub(super) fn take_in(request: v1::TakeInRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let asker = asker(request.origin, now)?;
    let (given, chosen) = (typed(request.values), typed(request.build));
    let Some(file) = request.sheet else {
        return Ok(asker.asks(Ask::TakeIn {
            rider: request.rider,
            values: given,
            build: chosen,
        }));
    };
    let name = file_name(&file.name);
    let read = read_sheet(&name, &file.content)?;
    let rider = if request.rider.trim().is_empty() {
        read.rider
    } else {
        request.rider
    };
    let key = |typed: &Typed| {
        code::find(&typed.field).map_or_else(|| typed.field.clone(), |row| row.key().to_owned())
    };
    let values = overridden(read.values, given, key);
    let build = overridden(read.build, chosen, |typed: &Typed| typed.field.to_lowercase());
    Ok(Asked {
        file: Some(name),
        ..asker.asks(Ask::TakeIn { rider, values, build })
    })
}

/// What a take-in sheet says.
#[derive(Default)]
struct TakeInSheet {
    rider: String,
    values: Vec<Typed>,
    build: Vec<Typed>,
}

fn read_sheet(file: &str, content: &str) -> Result<TakeInSheet, Refusal> {
    let mut read = TakeInSheet::default();
    for table in sheet::tables(file, content)? {
        match table.name.as_str() {
            "brief" | "donor" => read.values.extend(table.values),
            "build" => read.build.extend(table.values),
            "" => {
                for typed in table.values {
                    if typed.field != "rider" {
                        let problem = "stands outside any table; expected only `rider` there".to_owned();
                        return Err(sheet::complain(
                            file,
                            typed.line.unwrap_or(1),
                            &typed.field,
                            problem,
                        ));
                    }
                    read.rider = typed.text;
                }
            }
            other => {
                let problem =
                    "is no table of a take-in sheet; expected [brief], [donor] or [build]".to_owned();
                return Err(sheet::complain(file, table.line, other, problem));
            }
        }
    }
    Ok(read)
}

fn overridden(mut sheet: Vec<Typed>, given: Vec<Typed>, key: impl Fn(&Typed) -> String) -> Vec<Typed> {
    let keys: Vec<String> = given.iter().map(&key).collect();
    sheet.retain(|typed| !keys.contains(&key(typed)));
    sheet.extend(given);
    sheet
}

fn file_name(name: &str) -> String {
    if name.trim().is_empty() {
        "sheet".to_owned()
    } else {
        name.trim().to_owned()
    }
}

/// Values of brief or donor.
pub(super) fn state(request: v1::StateRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let group = match request.group.as_str() {
        "" => None,
        "brief" => Some(Group::Brief),
        "donor" => Some(Group::Donor),
        other => {
            return Err(bad(
                "group",
                &format!("`{other}` is no group; expected brief, donor, or none"),
            ));
        }
    };
    let command = Command::State {
        group,
        values: typed(request.values),
        assumed: request.assumed,
    };
    change(request.origin, request.job, command, now)
}

/// Parts chosen.
pub(super) fn build(request: v1::BuildRequest, now: Timestamp) -> Result<Asked, Refusal> {
    change(
        request.origin,
        request.job,
        Command::Build {
            parts: typed(request.parts),
        },
        now,
    )
}

/// Parts ordered.
pub(super) fn order(request: v1::OrderRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let due = day("due", &request.due)?;
    let command = Command::Order {
        slots: request.slots,
        supplier: request.supplier,
        due,
        price: request.price,
    };
    change(request.origin, request.job, command, now)
}

/// A part received.
pub(super) fn receive(request: v1::ReceiveRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let details = ReceiptText {
        serial: request.serial,
        lot: request.lot,
        volts: request.volts,
        group_spread: request.group_spread,
        papers: request.papers,
        damage: request.damage,
    };
    let command = Command::Receive {
        slot: request.slot,
        found: typed(request.found),
        details,
    };
    change(request.origin, request.job, command, now)
}

/// Readings.
pub(super) fn record(request: v1::RecordRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let act = match request.act.as_str() {
        "measure" => Act::Measure,
        "torque" => Act::Torque,
        "ride" => Act::Ride(request.run),
        other => {
            return Err(bad(
                "act",
                &format!("`{other}` is no act; expected measure, torque or ride"),
            ));
        }
    };
    let (force, anew) = (request.force, request.anew);
    let command = Command::Record {
        act,
        values: typed(request.values),
        force,
        anew,
    };
    change(request.origin, request.job, command, now)
}

/// Words.
pub(super) fn note(request: v1::NoteRequest, now: Timestamp) -> Result<Asked, Refusal> {
    change(
        request.origin,
        request.job,
        Command::Note {
            text: request.text,
            private: false,
        },
        now,
    )
}

/// A ride's log read.
pub(super) fn import_ride_log(request: v1::ImportRideLogRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let file = command::RideFile::read(&request.file, &request.content, &request.columns, &request.meter)?;
    let file = Box::new(file);
    change(request.origin, request.job, Command::ImportLog { file }, now)
}

/// A photo: what it is said to be, and the picture itself.
pub(super) fn add_photo(
    head: v1::PhotoHead,
    content: &[u8],
    now: Timestamp,
) -> Result<(Asked, Picture), Refusal> {
    let picture = Picture::of(&head.file, content)?;
    let command = Command::AddPhoto {
        caption: head.caption,
        picture: picture.clone(),
        check: head.check,
    };
    Ok((change(head.origin, head.job, command, now)?, picture))
}

/// An entry retracted.
pub(super) fn undo(request: v1::UndoRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let seq = (request.seq != 0).then_some(request.seq);
    Ok(asker(request.origin, now)?.asks(Ask::Undo {
        job: request.job,
        seq,
        why: request.why,
    }))
}

/// The present gate tried.
pub(super) fn advance(request: v1::AdvanceRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let command = if request.not_the_last {
        Command::AdvanceUnseen
    } else {
        Command::Advance
    };
    change(request.origin, request.job, command, now)
}

/// A check conceded.
pub(super) fn concede(request: v1::ConcedeRequest, now: Timestamp) -> Result<Asked, Refusal> {
    change(
        request.origin,
        request.job,
        Command::Concede {
            check: request.check,
            why: request.why,
        },
        now,
    )
}

/// Back to an earlier stage.
pub(super) fn send_back(request: v1::SendBackRequest, now: Timestamp) -> Result<Asked, Refusal> {
    change(
        request.origin,
        request.job,
        Command::SendBack {
            stage: request.stage,
            why: request.why,
        },
        now,
    )
}

/// A block opened by hand.
pub(super) fn open_block(request: v1::OpenBlockRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let command = Command::OpenBlock {
        family: request.family,
        about: request.about,
        whose: request.whose_move,
        chase: day("chase", &request.chase)?,
        clears_when: request.clears_when,
    };
    change(request.origin, request.job, command, now)
}

/// A block cleared.
pub(super) fn clear_block(request: v1::ClearBlockRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let command = Command::ClearBlock {
        number: request.number,
        why: request.why,
    };
    change(request.origin, request.job, command, now)
}

/// A planned wait begun.
pub(super) fn hold(request: v1::HoldRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let until = day("until", &request.until)?;
    change(
        request.origin,
        request.job,
        Command::Hold {
            why: request.why,
            until,
        },
        now,
    )
}

/// A planned wait ended.
pub(super) fn release(request: v1::ReleaseRequest, now: Timestamp) -> Result<Asked, Refusal> {
    change(request.origin, request.job, Command::Release, now)
}

/// A job ended without a handover.
pub(super) fn close(request: v1::CloseRequest, now: Timestamp) -> Result<Asked, Refusal> {
    change(
        request.origin,
        request.job,
        Command::Close {
            end: request.end,
            why: request.why,
        },
        now,
    )
}

fn change(origin: Option<v1::Origin>, job: u32, command: Command, now: Timestamp) -> Result<Asked, Refusal> {
    Ok(asker(origin, now)?.asks(Ask::Change { job, command }))
}

/// An import as asked, with the parts of its file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ImportAsked {
    /// Chosen by the client.
    pub(super) request_id: String,
    /// Who, where, when.
    pub(super) origin: Origin,
    /// Count and answer, store nothing.
    pub(super) validate_only: bool,
    /// What of it.
    pub(super) ask: CatalogueAsk,
}

/// What is asked of the catalogue.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum CatalogueAsk {
    /// The parts of a file.
    Import(Vec<Part>),
    /// Some attributes of one part.
    Amend {
        /// Its id.
        part: String,
        /// Attributes as typed.
        values: Vec<Typed>,
    },
}

/// Parts to put into the catalogue of a shop that counts in `home`.
pub(super) fn import(request: v1::ImportRequest, now: Timestamp, home: &str) -> Result<ImportAsked, Refusal> {
    let Asker {
        request_id,
        origin,
        validate_only,
        ..
    } = asker(request.origin, now)?;
    let file = request
        .file
        .ok_or_else(|| bad("file", "missing; expected a catalogue file"))?;
    let parts = catalogue::read_in(&file_name(&file.name), &file.content, home)?;
    Ok(ImportAsked {
        request_id,
        origin,
        validate_only,
        ask: CatalogueAsk::Import(parts),
    })
}

/// Some attributes of one part.
pub(super) fn amend(request: v1::AmendRequest, now: Timestamp) -> Result<ImportAsked, Refusal> {
    let Asker {
        request_id,
        origin,
        validate_only,
        ..
    } = asker(request.origin, now)?;
    if request.values.is_empty() {
        return Err(bad(
            "values",
            "no attribute is given; expected some, for example `mass=3.1kg`",
        ));
    }
    Ok(ImportAsked {
        request_id,
        origin,
        validate_only,
        ask: CatalogueAsk::Amend {
            part: request.part.trim().to_owned(),
            values: typed(request.values),
        },
    })
}

/// What a client says of itself.
pub(super) fn hello(request: v1::HelloRequest) -> Client {
    Client {
        version: request.program_version,
        protocol: request.protocol,
        folder: request.data_folder,
        by: request.by,
    }
}

/// Where a backup goes. A relative path would mean another folder to the client than here.
pub(super) fn backup_folder(request: v1::BackupRequest, data_folder: &Path) -> Result<PathBuf, Refusal> {
    match request.to_folder.as_str() {
        "" => Ok(data_folder.join(lockring_store::BACKUPS)),
        given if Path::new(given).is_absolute() => Ok(PathBuf::from(given)),
        given => Err(bad(
            "to_folder",
            &format!("`{given}` is relative; expected a path from the root"),
        )),
    }
}

#[cfg(test)]
mod tests;
