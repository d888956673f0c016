//! Commands: what people ask of a job, decided purely.
//!
//! A command takes the job as it stands and gives a [`Draft`]: the entries to append and
//! the job they lead to, or a [`Refusal`] and nothing at all. The store appends the entries
//! and keeps the projection in the same transaction.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::account::PayKind;
use crate::block::{Block, Family, Whose};
use crate::check::{self, Glance, Missing, Report};
use crate::code;
use crate::entry::{Entry, Event};
use crate::fact::Value;
use crate::field::FieldError;
use crate::gate::{self, Memory};
use crate::job::Job;
use crate::labour::Running;
use crate::length;
use crate::origin::Origin;
use crate::part::{Part, Slot};
use crate::photo::Picture;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal, Violation};
use crate::rules::RuleSheet;
use crate::shop::Shop;
use crate::shop::setting::Units;
use crate::stage::Stage;
use crate::supply::piece::Holder;
use crate::uses::Word;

mod apart;
mod beside;
mod blocks;
mod facts;
mod gates;
mod logs;
mod mended;
mod money;
mod parts;
mod photos;
mod promises;
mod recatalogued;
mod rider;
mod supply;
mod sweep;
mod take_in;
mod undo;

pub use gates::find_check;
pub use logs::{RideFile, study_of};
pub use money::{MoneyEntry, QuoteAdd, labour_cost, labour_rate};
pub use parts::deposit_due;
pub(crate) use parts::{find_part, find_part_of, read_price, read_receipt, refuse_withdrawn};
pub use recatalogued::{Revised, recatalogue};
pub use rider::{Against, Person, RemoveRider, against, person, remove_rider, remove_words};
pub use supply::SupplyCommand;
pub use sweep::{late_lines, sweep};
pub use take_in::{same_frame, take_in};
pub use undo::undo;

/// What a decision may look at besides the job.
pub struct Desk<'a> {
    /// Thresholds, the shop's own among them.
    pub rules: &'a RuleSheet,
    /// The shop as it stands.
    pub shop: &'a Shop,
    /// The shop's time zone.
    pub zone: &'a TimeZone,
    /// Where pieces with a serial number are now, by the key of the number.
    pub holders: &'a dyn Fn(&str) -> Vec<Holder>,
    /// All entries of a job, in order: read where something is entered that was done before what stands.
    pub history: &'a dyn Fn(u32) -> Vec<Entry>,
    /// The clocks that run for somebody, over all jobs.
    pub clocks: &'a dyn Fn(&str) -> Vec<Running>,
    /// Finds a part of the catalogue by id.
    pub part: &'a dyn Fn(&str) -> Option<Part>,
    /// Ids of all parts of the catalogue, for near misses.
    pub part_ids: &'a dyn Fn() -> Vec<String>,
    /// What checks found lately by the same thresholds; nothing when nobody remembers.
    pub memory: Option<&'a Memory>,
}

impl Desk<'_> {
    /// What every check of a gate finds of a job, without its words.
    pub(crate) fn glance(&self, gate: Stage, job: &Job) -> Vec<Arc<Glance>> {
        match self.memory {
            Some(memory) => memory.glance(gate, job, self.rules),
            None => gate::glance(gate, job, self.rules),
        }
    }

    /// A moment by the shop's clock, to the minute.
    pub(crate) fn moment(&self, at: Timestamp) -> String {
        let at = at.to_zoned_datetime(self.zone.clone());
        at.strftime("%Y-%m-%d %H:%M").to_string()
    }

    /// The day an entry is made on, by the shop's clock.
    pub(crate) fn day_of(&self, origin: &Origin) -> Date {
        origin.made.to_zoned_datetime(self.zone.clone()).date()
    }
}

/// A value as typed: field word and text, with the line when it came from a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Typed {
    /// Code, alias, attribute, slot or run field; empty for the next field of a run.
    pub field: String,
    /// The text.
    pub text: String,
    /// Line of the file, from 1.
    pub line: Option<u32>,
}

impl Typed {
    /// A value typed on the command line.
    pub fn new(field: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            field: field.into(),
            text: text.into(),
            line: None,
        }
    }
}

/// What was done at the bench.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// A measurement by code.
    Measure,
    /// A torque by bolt.
    Torque,
    /// A test run by its word.
    Ride(String),
}

/// A change to one job.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// State values of brief or donor.
    State {
        /// `brief`, `donor`, or any.
        group: Option<code::Group>,
        /// Values.
        values: Vec<Typed>,
        /// Taken for want of anything better.
        assumed: bool,
    },
    /// Choose parts, by slot and id; `none` empties a slot.
    Build {
        /// Slot and part id.
        parts: Vec<Typed>,
    },
    /// Order the parts of slots.
    Order {
        /// Slots; none for every slot without an order.
        slots: Vec<String>,
        /// Supplier.
        supplier: String,
        /// Promised day.
        due: Option<Date>,
        /// Price of each as typed; empty when nobody said.
        price: String,
    },
    /// What becomes of orders and pieces.
    Supply(SupplyCommand),
    /// Receive the part of a slot.
    Receive {
        /// Slot.
        slot: String,
        /// Attributes as read off the part.
        found: Vec<Typed>,
        /// Serial, lot, volts, spread, papers, damage as typed; empty when not given.
        details: ReceiptText,
    },
    /// Record readings.
    Record {
        /// What was done.
        act: Act,
        /// Readings.
        values: Vec<Typed>,
        /// Take values outside their window.
        force: bool,
        /// Begin a new series.
        anew: bool,
    },
    /// Add words.
    Note {
        /// The words.
        text: String,
        /// They are about the rider, and go with them.
        private: bool,
    },
    /// Keep a ride's log.
    ImportLog {
        /// The file, read.
        file: Box<RideFile>,
    },
    /// Keep a photo.
    AddPhoto {
        /// What it shows.
        caption: String,
        /// The picture, looked at.
        picture: Picture,
        /// The check it is evidence for; empty for none.
        check: String,
    },
    /// Try the present gate.
    Advance,
    /// Try the present gate unless it is the last: the line may have waited, and nobody stands at the
    /// bicycle that would be handed over.
    AdvanceUnseen,
    /// Accept a check that does not hold.
    Concede {
        /// Check.
        check: String,
        /// Why.
        why: String,
    },
    /// Go back to an earlier stage.
    SendBack {
        /// Stage.
        stage: String,
        /// Why.
        why: String,
    },
    /// Open a block by hand.
    OpenBlock {
        /// Family.
        family: String,
        /// What is wrong.
        about: String,
        /// Whose move; empty for the family's usual one.
        whose: String,
        /// Chase date.
        chase: Option<Date>,
        /// What clears it.
        clears_when: String,
    },
    /// Clear a block.
    ClearBlock {
        /// Number.
        number: u32,
        /// Why.
        why: String,
    },
    /// Somebody asked about a block.
    Chase {
        /// Number.
        number: u32,
        /// When to ask again; `None` for not at all.
        chase: Option<Date>,
        /// Whose move it is now; empty as before.
        whose: String,
        /// What was said.
        said: String,
    },
    /// Promise a day.
    Promise {
        /// The day.
        day: Date,
        /// Whether nothing but that day will do; `None` as before.
        hard: Option<bool>,
        /// Why.
        why: String,
    },
    /// The rider was told.
    Tell {
        /// What.
        words: String,
    },
    /// Begin a planned wait.
    Hold {
        /// Why.
        why: String,
        /// Until when.
        until: Option<Date>,
    },
    /// End the planned wait.
    Release,
    /// Enter something about money, labour or what comes after handover.
    Money(MoneyEntry),
    /// End the job without a handover.
    Close {
        /// `returned` or `cancelled`.
        end: String,
        /// Why.
        why: String,
    },
}

impl Command {
    /// Whether it may be asked of a job that is over.
    fn outlives(&self, job: &Job) -> bool {
        match self {
            Self::Note { .. } | Self::AddPhoto { .. } | Self::Money(_) => true,
            Self::Supply(command) => command.outlives(job),
            _ => false,
        }
    }
}

/// The details of a receipt as typed; empty when not given.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReceiptText {
    /// Serial number.
    pub serial: String,
    /// Lot mark.
    pub lot: String,
    /// Pack volts at rest.
    pub volts: String,
    /// Spread between cell groups.
    pub group_spread: String,
    /// Papers on file.
    pub papers: String,
    /// Damage seen.
    pub damage: String,
}

/// A decision: entries to append, the job they lead to, and what to answer.
#[derive(Debug, Clone)]
pub struct Draft {
    /// The job after the entries.
    pub job: Job,
    /// Who, where, when.
    pub origin: Origin,
    /// The entries, in order.
    pub events: Vec<Event>,
    /// What was understood, a line each.
    pub said: Vec<String>,
    /// Checks of the present gate that the change touched.
    pub checks: Vec<Report>,
    /// Blocks opened.
    pub opened: Vec<Block>,
    /// Blocks cleared.
    pub cleared: Vec<Block>,
    /// What to record next.
    pub next: Vec<Missing>,
    /// Whether a gate was passed.
    pub passed: bool,
    /// Which unit system stands first in the answer.
    units: Units,
    /// After a substitute: checks that say something else than before, before and after.
    pub differs: Vec<(Report, Report)>,
}

impl Draft {
    fn new(job: Job, origin: Origin) -> Self {
        Self {
            job,
            origin,
            events: Vec::new(),
            said: Vec::new(),
            checks: Vec::new(),
            opened: Vec::new(),
            cleared: Vec::new(),
            next: Vec::new(),
            passed: false,
            units: Units::default(),
            differs: Vec::new(),
        }
    }

    /// Whether the job begins with this decision.
    pub fn begins(&self) -> bool {
        matches!(self.events.first(), Some(Event::TakenIn { .. }))
    }

    fn push(&mut self, event: Event) {
        self.job.revision += 1;
        self.job.touched = self.origin.made;
        // Another part settles what the catalogue said of the one before, without an entry of its own.
        if let Event::Chosen { slot, .. } | Event::Corrected { slot, .. } | Event::Dropped { slot } = &event {
            let settled = self.job.blocks.iter().filter(|block| block.part == Some(*slot));
            self.cleared.extend(settled.cloned());
        }
        self.job.take(self.job.revision, &self.origin, &event);
        self.events.push(event);
    }

    fn say(&mut self, line: impl Into<String>) {
        self.said.push(line.into());
    }
}

/// The job as it would be with these parts chosen as `build` chooses them; nothing is stored.
///
/// # Errors
/// A refusal naming the slot or the part that is not known.
pub fn with_parts(job: Job, parts: &[Typed], desk: &Desk<'_>) -> Result<Job, Refusal> {
    let origin = Origin {
        by: String::new(),
        terminal: String::new(),
        made: job.touched,
    };
    let mut draft = Draft::new(job, origin);
    if !parts.is_empty() {
        parts::build(&mut draft, parts, desk)?;
    }
    Ok(draft.job)
}

/// The refusal of what a job that is over does not take.
fn over(job: &Job, command: &Command) -> Refusal {
    let (number, stage) = (job.number, job.stage.word());
    let message = format!(
        "job {number} is over ({stage}): it takes notes, photos, money and what comes after handover"
    );
    let hint = match command {
        // A part that comes now comes in the place of another.
        Command::Receive { slot, .. } if job.stage == Stage::HandedOver => {
            let slot = find_slot(slot.trim()).map_or("SLOT", Slot::word);
            format!(
                "if it goes on now: `lockring swap {number} {slot} --in SERIAL --lot LOT --payer WHO --why TEXT`"
            )
        }
        _ => format!("add a note with `lockring note {number} TEXT`"),
    };
    Refusal::new(Reason::JobOver, message)
        .with("job", number)
        .with("stage", stage)
        .hint(hint)
}

/// Decides a command on a job.
///
/// # Errors
/// A [`Refusal`] that says what was given, what is expected and how to go on; nothing is
/// to be stored then. Nobody unknown to the shop changes anything, and concessions and ends
/// without a handover are the owner's.
pub fn change(
    job: Job,
    expected_revision: Option<u64>,
    origin: Origin,
    command: &Command,
    desk: &Desk<'_>,
) -> Result<Draft, Refusal> {
    let origin = admit(origin, command, desk.shop)?;
    expect_revision(&job, expected_revision)?;
    if job.stage.is_end() && !command.outlives(&job) {
        return Err(over(&job, command));
    }
    let compares = matches!(
        command,
        Command::Record { .. } | Command::Receive { .. } | Command::Supply(_)
    );
    let before = compares.then(|| job.clone());
    let on_it: Vec<usize> = (0..)
        .zip(&job.pieces)
        .filter_map(|(place, piece)| piece.left.is_none().then_some(place))
        .collect();
    let mut draft = Draft::new(job, origin);
    draft.units = desk.shop.units_of(&draft.origin.by);
    match command {
        Command::State {
            group,
            values,
            assumed,
        } => facts::state(&mut draft, *group, values, *assumed, desk)?,
        Command::Build { parts } => parts::build(&mut draft, parts, desk)?,
        Command::Order {
            slots,
            supplier,
            due,
            price,
        } => parts::order(&mut draft, slots, supplier, *due, price, desk)?,
        Command::Supply(command) => supply::decide(&mut draft, command, desk)?,
        Command::Receive { slot, found, details } => parts::receive(&mut draft, slot, found, details, desk)?,
        Command::Record {
            act,
            values,
            force,
            anew,
        } => facts::record(&mut draft, act, values, *force, *anew, desk)?,
        Command::Note { text, private } => blocks::note(&mut draft, text, *private)?,
        Command::ImportLog { file } => logs::import(&mut draft, file, desk.rules)?,
        Command::AddPhoto {
            caption,
            picture,
            check,
        } => photos::keep(&mut draft, caption, picture, check)?,
        Command::Advance => return gates::advance(draft, desk),
        Command::AdvanceUnseen => return gates::advance_unseen(draft, desk),
        Command::Concede { check, why } => gates::concede(&mut draft, check, why, desk)?,
        Command::SendBack { stage, why } => gates::send_back(&mut draft, stage, why)?,
        Command::OpenBlock {
            family,
            about,
            whose,
            chase,
            clears_when,
        } => {
            blocks::open(&mut draft, family, about, whose, *chase, clears_when)?;
        }
        Command::ClearBlock { number, why } => blocks::clear(&mut draft, *number, why, desk.rules)?,
        Command::Chase {
            number,
            chase,
            whose,
            said,
        } => blocks::chase(&mut draft, *number, *chase, whose, said)?,
        Command::Promise { day, hard, why } => promises::promise(&mut draft, *day, *hard, why)?,
        Command::Tell { words } => promises::tell(&mut draft, words)?,
        Command::Hold { why, until } => blocks::hold(&mut draft, why, *until)?,
        Command::Release => blocks::release(&mut draft)?,
        Command::Money(entry) => money::enter(&mut draft, entry, desk)?,
        Command::Close { end, why } => blocks::close(&mut draft, end, why)?,
    }
    beside::ask_where_it_goes(&mut draft, &on_it);
    beside::say_what_is_past(&mut draft, desk);
    settle(&mut draft, desk);
    if let Some(before) = before {
        if matches!(command, Command::Record { .. }) {
            beside::say_what_it_touched(&mut draft, &before, desk);
        }
        beside::say_what_arrival_fails(&mut draft, &before, desk);
    }
    Ok(draft)
}

/// Who asks, as the list of people has them; some commands are the owner's.
fn admit(origin: Origin, command: &Command, shop: &Shop) -> Result<Origin, Refusal> {
    let by = match command {
        Command::Concede { .. } => shop.owner(&origin.by, "a concession")?,
        Command::Close { .. } => shop.owner(&origin.by, "ending a job without a handover")?,
        Command::Money(MoneyEntry::Pay { kind, .. }) => match kind_of_pay(kind) {
            Some(PayKind::WriteOff) => shop.owner(&origin.by, "writing money off")?,
            Some(PayKind::Credit) => shop.owner(&origin.by, "a credit to the rider")?,
            _ => shop.person(&origin.by)?,
        },
        _ => shop.person(&origin.by)?,
    };
    Ok(Origin { by, ..origin })
}

/// The kind of payment as it was typed; `None` for what is none.
fn kind_of_pay(typed: &str) -> Option<PayKind> {
    let mut kinds = PayKind::ALL.into_iter();
    kinds.find(|kind| typed.trim().eq_ignore_ascii_case(kind.word()))
}

/// Draws the consequences of what was just entered: checks of passed gates that it touched
/// and that no longer hold send the job back to the earliest of them; blocks that opened by
/// themselves clear when their check holds.
fn settle(draft: &mut Draft, desk: &Desk<'_>) {
    let touched = touched_codes(&draft.events);
    settle_after(draft, touched, desk);
}

/// As [`settle`], after a change of these codes and slots.
fn settle_after(draft: &mut Draft, touched: Vec<String>, desk: &Desk<'_>) {
    if !draft.job.stage.is_end() {
        gates::reopen(draft, desk);
        gates::clear_what_holds(draft, desk);
        sweep::clear_lines(draft);
        let gate = draft.job.stage;
        let glances = desk.glance(gate, &draft.job);
        draft.next = gates::next_steps(glances.iter().flat_map(|glance| &glance.missing));
        // Only what was touched is shown, and only what is shown needs its words.
        let touched = Word::known(touched.iter().map(String::as_str));
        draft.checks = glances
            .iter()
            .filter(|glance| glance.uses.any(&touched))
            .map(|glance| check::run(glance.check, &draft.job, desk.rules, gate))
            .collect();
    }
}

/// Codes and slots that a list of events says something about.
fn touched_codes<'e>(events: impl IntoIterator<Item = &'e Event>) -> Vec<String> {
    let mut touched = Vec::new();
    for event in events {
        match event {
            Event::Stated { values, .. } => touched.extend(values.keys().cloned()),
            Event::Recorded { readings, .. } => touched.extend(readings.keys().cloned()),
            Event::Chosen { slot, .. }
            | Event::Corrected { slot, .. }
            | Event::Dropped { slot }
            | Event::Ordered { slot, .. }
            | Event::Received(Receipt { slot, .. }) => touched.push(slot.word().to_owned()),
            Event::Supply(event) => touched.push(event.slot().word().to_owned()),
            _ => {}
        }
    }
    touched
}

fn expect_revision(job: &Job, expected: Option<u64>) -> Result<(), Refusal> {
    match expected {
        Some(expected) if expected != job.revision => Err(Refusal::new(
            Reason::RevisionChanged,
            format!(
                "job {} is at revision {}, not {expected}: somebody else changed it",
                job.number, job.revision
            ),
        )
        .with("job", job.number)
        .with("revision", job.revision)
        .with("expected", expected)
        .hint(format!(
            "look at it with `lockring show {}` and try again",
            job.number
        ))),
        _ => Ok(()),
    }
}

/// Turns a field error into a refusal that names the field; `retry` is the line to be forced, empty where nothing can be.
fn refuse_field(key: &str, error: &FieldError, retry: &str) -> Refusal {
    let (reason, hint) = match error {
        FieldError::OutsideWindow { meant, .. } => {
            let hint = match (meant, retry) {
                (Some(meant), "") => format!("did you mean {meant}?"),
                (None, "") => String::new(),
                (Some(meant), retry) => format!("did you mean {meant}? If it is really so: {retry} --force"),
                (None, retry) => format!("if it is really so: {retry} --force"),
            };
            (Reason::OutsideWindow, hint)
        }
        FieldError::Unreadable { .. } => (Reason::BadInput, String::new()),
    };
    let mut refusal = Refusal::new(reason, error.to_string()).with("field", key);
    if let FieldError::OutsideWindow {
        meant: Some(meant), ..
    } = error
    {
        refusal = refusal.with("meant", meant);
    }
    let violation = Violation {
        field: key.to_owned(),
        line: None,
        problem: error.to_string(),
    };
    let refusal = refusal.violations(vec![violation]);
    if hint.is_empty() {
        refusal
    } else {
        refusal.hint(hint)
    }
}

/// A text that must not be empty.
fn require_text(name: &str, text: &str, example: &str) -> Result<String, Refusal> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("{name} is empty; expected some words, for example `{example}`"),
        )
        .with("field", name));
    }
    length::words(name, text)
}

/// A slot by its word.
///
/// # Errors
/// [`Reason::UnknownWord`] with the nearest ones.
pub fn find_slot(word: &str) -> Result<Slot, Refusal> {
    Slot::from_word(&word.to_lowercase()).ok_or_else(|| {
        let all: Vec<&str> = Slot::ALL.iter().map(|slot| slot.word()).collect();
        let near = crate::nearest::nearest(&word.to_lowercase(), all.iter().copied());
        Refusal::unknown(
            "slot of a build",
            word,
            &near,
            &format!("the slots are {}", all.join(", ")),
        )
    })
}

fn find_family(word: &str) -> Result<Family, Refusal> {
    Family::from_word(&word.to_lowercase()).ok_or_else(|| {
        let all: Vec<&str> = Family::ALL.iter().map(|family| family.word()).collect();
        let near = crate::nearest::nearest(&word.to_lowercase(), all.iter().copied());
        Refusal::unknown(
            "family of block",
            word,
            &near,
            &format!("the families are {}", all.join(", ")),
        )
    })
}

fn find_whose(word: &str) -> Result<Whose, Refusal> {
    Whose::from_word(&word.to_lowercase()).ok_or_else(|| {
        let all: Vec<&str> = Whose::ALL.iter().map(|whose| whose.word()).collect();
        let near = crate::nearest::nearest(&word.to_lowercase(), all.iter().copied());
        Refusal::unknown(
            "side whose move it can be",
            word,
            &near,
            &format!("it can be {}", all.join(", ")),
        )
    })
}

/// The gates a job can go back to, in words.
fn earlier_gates(stage: Stage) -> Vec<&'static str> {
    Stage::GATED
        .into_iter()
        .filter(|gate| *gate < stage)
        .map(Stage::word)
        .collect()
}

type Values = BTreeMap<String, Value>;

#[cfg(test)]
mod tests;
