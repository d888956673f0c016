//! What a command works at: its options, its data folder, its output, its way to the daemon.

use std::io::{IsTerminal as _, Stdout};
use std::rc::Rc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_proto::v1::Origin;

use crate::args::{Global, When};
use crate::client::{Client, origin, start};
use crate::command_error::{CommandError, Exit};
use crate::folder::Folder;
use crate::output::charset::Charset;
use crate::output::times::Clock;
use crate::output::{Look, Out, USUAL_WIDTH};

/// Narrower terminals are written to as if they were this wide.
const NARROWEST: usize = 40;

/// What the process has around it.
#[derive(Debug, Clone)]
pub(crate) struct Place {
    /// Somebody can be asked: standard input and output are terminals.
    pub(crate) can_ask: bool,
    /// The line waited in the queue.
    pub(crate) from_queue: bool,
    /// The output is a terminal that shows colour, and NO_COLOR is not set.
    pub(crate) colour: bool,
    /// Columns.
    pub(crate) width: usize,
    /// The clock of this machine.
    pub(crate) zone: TimeZone,
    /// The letters the terminal has; all where the output is none.
    pub(crate) charset: Charset,
}

impl Place {
    /// What this process has around it.
    pub(crate) fn of_process() -> Self {
        let stdout = std::io::stdout();
        let terminal = stdout.is_terminal();
        Self {
            can_ask: terminal && std::io::stdin().is_terminal(),
            from_queue: false,
            colour: anstream::AutoStream::choice(&stdout) != anstream::ColorChoice::Never,
            width: width_of(&stdout),
            zone: lockring_proto::zone::of_machine().unwrap_or(TimeZone::UTC),
            charset: if terminal {
                Charset::of_environment()
            } else {
                Charset::Utf8
            },
        }
    }

    /// How the output stream treats colour codes: it passes what `--color` decided on, and
    /// never adds any.
    pub(crate) const fn stripping(&self) -> anstream::ColorChoice {
        anstream::ColorChoice::AlwaysAnsi
    }

    /// How output looks here with a line's options.
    pub(crate) fn look(&self, global: &Global) -> Look {
        let colour = match global.color {
            // Who has lines read out wants no codes between them.
            When::Auto => self.colour && !global.plain,
            When::Always => true,
            When::Never => false,
        };
        Look {
            width: self.width,
            colour,
            plain: global.plain,
            json: global.json,
            zone: Clock::of(self.zone.clone()),
            units: Rc::default(),
            charset: self.charset,
        }
    }
}

/// The columns of a terminal now; the usual ones for anything else.
fn width_of(stdout: &Stdout) -> usize {
    let size = stdout
        .is_terminal()
        .then(|| rustix::termios::tcgetwinsize(stdout).ok());
    let columns = size.flatten().map(|size| usize::from(size.ws_col));
    columns
        .filter(|columns| *columns > 0)
        .map_or(USUAL_WIDTH, |columns| columns.max(NARROWEST))
}

/// What a command works at.
pub(crate) struct Desk<'w> {
    /// The options of every command.
    pub(crate) global: Global,
    /// The data folder.
    pub(crate) folder: Folder,
    /// The output.
    pub(crate) out: Out<'w>,
    /// What the process has around it.
    pub(crate) place: Place,
    /// The words of the line, without the options of every command; `None` when they are no
    /// UTF-8 text.
    pub(crate) line: Option<Vec<String>>,
    /// Whether this line may wait for a daemon.
    pub(crate) waits: Waits,
    request_id: String,
}

/// Whether a line may be kept with `--queue` when no daemon is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Waits {
    /// It changes nothing.
    ForNothing,
    /// It is a change that is made later from its words alone.
    Kept,
    /// It is a change that is not, for this reason.
    Not(&'static str),
}

impl<'w> Desk<'w> {
    /// A desk for one command.
    ///
    /// # Errors
    /// [`Exit::Usage`] when no data folder can be found.
    pub(crate) fn new(
        global: Global,
        place: &Place,
        out: Out<'w>,
        line: Option<Vec<String>>,
    ) -> Result<Self, CommandError> {
        let mut folder = Folder::find(global.dir.as_deref())?;
        if let Some(file) = &global.via {
            folder = folder.via(file)?;
        }
        let made = || uuid::Uuid::new_v4().to_string();
        let request_id = global.request_id.clone().unwrap_or_else(made);
        Ok(Self {
            global,
            folder,
            out,
            place: place.clone(),
            line,
            waits: Waits::ForNothing,
            request_id,
        })
    }

    /// Who types, where and when; the same for all requests of this command.
    ///
    /// # Errors
    /// [`Exit::Usage`] when nobody says who is typing, or `--at` is no time.
    pub(crate) fn origin(&self) -> Result<Origin, CommandError> {
        origin::origin(&self.global, &self.folder, &self.request_id, &self.out.look.zone)
    }

    /// Says of a change why it is not kept with `--queue`: what it asks for does not follow from its
    /// words alone, or is wanted now or never.
    pub(crate) fn waits_not(&mut self, why: &'static str) {
        self.waits = Waits::Not(why);
    }

    /// Says of a change of the shop itself that it is not kept for a shop on another computer, which takes none from
    /// here.
    pub(crate) fn waits_at_home_only(&mut self) {
        if self.folder.pass().is_some() {
            self.waits_not("this is done at the computer that keeps the shop, which takes it from no other");
        }
    }

    /// Looks at the terminal again: one that stays open for many lines may be drawn wider meanwhile.
    pub(crate) fn look_at_width(&mut self) {
        self.place.width = width_of(&std::io::stdout());
        self.out.look.width = self.place.width;
    }

    /// The terminal this is typed at.
    pub(crate) fn terminal(&self) -> String {
        origin::terminal(&self.global, &self.folder)
    }

    /// Which session at that terminal this is; empty where the terminal has a name that stays.
    pub(crate) fn session(&self) -> String {
        origin::session(&self.global, &self.folder)
    }

    /// Shows an error where the answer would be, and goes on.
    ///
    /// # Errors
    /// [`Exit::Unexpected`] when it cannot be written.
    pub(crate) fn tell(&mut self, error: &CommandError) -> Result<(), CommandError> {
        let colour = self.out.look.colour;
        let at_people = self.place.can_ask && !self.out.look.plain;
        let text = if at_people {
            error.fitted(colour, self.out.look.width)
        } else {
            error.text(colour)
        };
        self.out.raw(&text)
    }

    /// Hears which clock the shop looks at, so that a time or day as typed is read by it. Where nobody
    /// answers it stays this machine's; what is asked next says that nobody did.
    pub(crate) async fn hear_the_clock(&self) {
        if let Ok(client) = self.client().await {
            client.agreed().await.ok();
        }
    }

    /// The moment named with `--at`.
    ///
    /// # Errors
    /// [`Exit::Usage`] when it is no time.
    pub(crate) fn at_us(&self) -> Result<Option<i64>, CommandError> {
        let at = self.global.at.as_deref();
        at.map(|text| origin::time(text, &self.out.look.zone)).transpose()
    }

    /// As [`Desk::origin`], under a request id of its own, to try something without storing it.
    ///
    /// # Errors
    /// As [`Desk::origin`].
    pub(crate) fn trial(&self) -> Result<Origin, CommandError> {
        let request_id = uuid::Uuid::new_v4().to_string();
        Ok(Origin {
            request_id,
            validate_only: true,
            ..self.origin()?
        })
    }

    /// A day as typed, as the contract has it; empty stays empty. A day of the week or `tomorrow` is
    /// counted from when this was done, so that a line that waits means the same day later.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when it is none, or may be two.
    pub(crate) async fn day(&self, field: &str, text: &str) -> Result<String, CommandError> {
        if text.trim().is_empty() {
            return Ok(String::new());
        }
        if text.trim().parse::<Date>().is_err() {
            self.hear_the_clock().await;
        }
        let made = match self.at_us()? {
            Some(us) => Timestamp::from_microsecond(us).unwrap_or_else(|_| Timestamp::now()),
            None => Timestamp::now(),
        };
        let today = made
            .to_zoned_datetime(TimeZone::clone(&self.out.look.zone))
            .date();
        lockring_proto::day::read(text, Some(today))
            .map(|day| day.to_string())
            .map_err(|problem| CommandError::new(Exit::BadInput, format!("{field}: {problem}")))
    }

    /// An amount of money as typed; empty stays empty. What cannot be one is refused here, so that it does
    /// not wait for a daemon; reading it is the daemon's.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when it cannot be one.
    pub(crate) fn amount(&self, field: &str, text: String) -> Result<String, CommandError> {
        if text.trim().is_empty() || lockring_proto::amount::may_be(&text) {
            return Ok(text);
        }
        let message = format!(
            "{field}: `{text}` is no amount of money; expected one such as 1450, 98.50, 98,50 or 1 250.00"
        );
        Err(CommandError::new(Exit::BadInput, message))
    }

    /// Refuses `--dry-run` for what cannot be tried: it is done, or it is not.
    ///
    /// # Errors
    /// [`Exit::Usage`] when `--dry-run` was given.
    pub(crate) fn cannot_be_tried(&self, what: &str) -> Result<(), CommandError> {
        if !self.global.dry_run {
            return Ok(());
        }
        let message = format!("--dry-run: {what} cannot be tried without doing it; nothing was done");
        Err(CommandError::new(Exit::Usage, message).hint("leave --dry-run out to do it"))
    }

    /// Whether this is the computer that keeps the shop, as some commands need.
    ///
    /// # Errors
    /// [`Exit::Usage`] when `--via` leads to another.
    pub(crate) fn at_home(&self) -> Result<(), CommandError> {
        if self.folder.pass().is_none() {
            return Ok(());
        }
        Err(CommandError::new(
            Exit::Usage,
            "this is done at the computer that keeps the shop, not over the network",
        )
        .hint("type it there, without --via or LOCKRING_VIA"))
    }

    /// A connection to the daemon, which `--start` starts when none serves; it is checked with the
    /// first call.
    ///
    /// # Errors
    /// As [`Client::approach`] and [`start::start`].
    pub(crate) async fn client(&self) -> Result<Client, CommandError> {
        let by = origin::by(&self.global, &self.folder).unwrap_or_default();
        let look = &self.out.look;
        let approach = async || {
            let client = Client::approach(&self.folder, &by, look.units.clone(), look.zone.clone()).await?;
            if self.global.start {
                // A daemon that ends just now is found here, and another started.
                client.agreed().await?;
            }
            Ok::<_, CommandError>(client)
        };
        match approach().await {
            Err(error)
                if error.kind == Exit::NoDaemon && self.global.start && self.folder.pass().is_none() =>
            {
                start::start(&self.folder).await?;
                approach().await
            }
            client => client,
        }
    }
}
