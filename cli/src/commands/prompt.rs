//! `lockring prompt`: stays open at the bench.

use std::ffi::OsString;
use std::io::BufRead as _;
use std::sync::{Arc, Mutex};

use crate::args::When;
use crate::client::Client;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::line;
use crate::output::{Out, Paint};
use crate::prompt::editor::{Keyed, Keys, Shared, Sight, is_text, look};
use crate::prompt::expect::{Next, is_job};
use crate::prompt::spell;
use crate::prompt::split::{join, split};
use crate::prompt::vocabulary::SHORT;

/// Most words that `?` lists.
const LISTED: usize = 40;
/// Words that end the prompt.
const LEAVE: [&str; 3] = ["exit", "quit", "leave"];

/// Stay open for one line after another, without `lockring` and the job's number
///
/// A number alone makes that job the current one: lines that name no job are about it. Any
/// beginning of a command, code, bolt or check will do that no other shares. Tab completes from
/// the running daemon, `?` says what may come next, the arrow keys bring earlier lines back.
/// Ctrl-C gives a line up, Ctrl-D leaves. Lines from a pipe are read one by one.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring prompt\n  \
    lockring prompt 21 --plain")]
pub(crate) struct Prompt {
    /// Number of the current job to begin with
    job: Option<u32>,
}

impl Prompt {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let shared: Shared = Arc::new(Mutex::new(Sight::new(line::grammar())));
        let mut bench = Bench {
            shared,
            words: of_every_line(desk),
            begun: (String::new(), String::new()),
            offer: None,
            end: Exit::Ok,
        };
        bench.look_around(desk).await;
        if let Some(job) = self.job {
            bench.stand_at(desk, job)?;
        }
        if desk.place.can_ask {
            bench.at_keys(desk).await
        } else {
            bench.at_pipe(desk).await
        }
    }
}

/// The options that each line inherits from the prompt's own.
pub(super) fn of_every_line(desk: &Desk<'_>) -> Vec<OsString> {
    let global = &desk.global;
    let mut words: Vec<OsString> = vec!["lockring".into()];
    words.extend(desk.folder.words());
    for (option, value) in [("--by", &global.by), ("--terminal", &global.terminal), ("--at", &global.at)] {
        if let Some(value) = value {
            words.extend([option, value].map(OsString::from));
        }
    }
    let colour = match global.color {
        When::Auto => None,
        When::Always => Some("--color=always"),
        When::Never => Some("--color=never"),
    };
    let flags = [
        (global.start, "--start"),
        (global.dry_run, "--dry-run"),
        (global.json, "--json"),
        (global.plain, "--plain"),
        (global.queue, "--queue"),
    ];
    words.extend(colour.into_iter().chain(flags.iter().filter(|(set, _)| *set).map(|(_, flag)| *flag)).map(OsString::from));
    words
}

/// The prompt at work.
struct Bench {
    shared: Shared,
    words: Vec<OsString>,
    /// What of the next line was typed already, before and behind the cursor.
    begun: (String, String),
    /// What was probably meant by the last one.
    offer: Option<String>,
    /// How the last line that failed ended.
    end: Exit,
}

impl Bench {
    async fn at_keys(&mut self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let history = desk.folder.canonical()?.map(|folder| folder.join("prompt-history"));
        let mut keys = Keys::new(self.shared.clone(), history)?;
        desk.out.wrapped("", "", "? says what may come next, Tab completes, a job's number stands at that job.")?;
        loop {
            desk.out.flush()?;
            let (before, behind) = std::mem::take(&mut self.begun);
            let keyed = keys.read(&self.sign(desk), (&before, &behind), self.offer.take())?;
            desk.look_at_width();
            match keyed {
                Keyed::Left => return Ok(Exit::Ok),
                Keyed::Dropped => {}
                Keyed::Asked(before, behind) => {
                    self.say_next(desk, &before)?;
                    self.begun = (before, behind);
                }
                Keyed::Taken(line) => {
                    // What stood behind the cursor is gone from the screen.
                    desk.out.line(&line)?;
                    keys.keep(&line);
                    if self.line(desk, &line).await? {
                        return Ok(Exit::Ok);
                    }
                }
                Keyed::Line(typed) => {
                    keys.keep(typed.trim());
                    if self.line(desk, typed.trim()).await? {
                        return Ok(Exit::Ok);
                    }
                }
            }
        }
    }

    async fn at_pipe(&mut self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let unread = |error: std::io::Error| {
            CommandError::new(Exit::BadInput, "the line cannot be read").caused_by(&error)
        };
        loop {
            let mut typed = String::new();
            if std::io::stdin().lock().read_line(&mut typed).map_err(unread)? == 0 {
                return Ok(self.end);
            }
            let typed = typed.trim();
            if self.line(desk, typed).await? {
                return Ok(self.end);
            }
            if let Some(line) = self.offer.take() {
                desk.out.line(format_args!("Offer: {line}"))?;
            }
            desk.out.flush()?;
        }
    }

    /// Does what a line says; true when it ends the prompt.
    async fn line(&mut self, desk: &mut Desk<'_>, typed: &str) -> Result<bool, CommandError> {
        if let Some(begun) = typed.strip_suffix('?')
            && !look(&self.shared, |sight| is_text(sight, begun))
        {
            self.say_next(desk, begun)?;
            return Ok(false);
        }
        let mut words = split(typed);
        // A command copied from a hint begins with the program's name.
        if words.len() > 1 && words.first().is_some_and(|word| word == "lockring") {
            words.remove(0);
        }
        match words.as_slice() {
            [] => return Ok(false),
            [word] if LEAVE.contains(&word.as_str()) => return Ok(true),
            [word] if is_job(word) => {
                self.look_around(desk).await;
                self.stand_at(desk, word.parse().unwrap_or_default())?;
                return Ok(false);
            }
            _ => {}
        }
        let spelt = look(&self.shared, |sight| spell::spelt(&sight.reading(), &words));
        match spelt {
            Ok(words) if words.first().is_some_and(|word| word == "prompt") => {
                desk.out.line("this is the prompt; `exit` or Ctrl-D leaves it")?;
            }
            Ok(words) => self.perform(desk, &words).await?,
            Err(misspelt) => {
                let error = CommandError::new(Exit::Usage, misspelt.message);
                self.refused(desk, error, &misspelt.offers)?;
            }
        }
        Ok(false)
    }

    /// Performs a whole line and shows its answer.
    async fn perform(&mut self, desk: &mut Desk<'_>, words: &[String]) -> Result<(), CommandError> {
        let line: Vec<OsString> = self.words.iter().cloned().chain(words.iter().map(OsString::from)).collect();
        let mut answer = Vec::new();
        let place = desk.place.clone();
        let streams = matches!(words.first().map(String::as_str), Some("watch" | "take-in" | "demo" | "fill"));
        let done = if streams {
            line::perform(&place, desk.out.writer(), line).await
        } else {
            tokio::select! {
                done = line::perform(&place, &mut answer, line) => done,
                pressed = tokio::signal::ctrl_c() => Err(broken_off(pressed)),
            }
        };
        desk.out.passed(&answer)?;
        match done {
            Ok(exit) if exit != Exit::Ok => self.end = exit,
            Ok(_) => {}
            Err(error) if error.is_closed_pipe() => return Err(error),
            Err(error) => {
                let offers = match error.offer.as_deref() {
                    Some((given, meant)) => replaced(words, given, meant).into_iter().collect(),
                    None if matches!(error.kind, Exit::Usage | Exit::UnknownWord) => {
                        look(&self.shared, |sight| spell::offers(&sight.reading(), words))
                    }
                    None => Vec::new(),
                };
                self.refused(desk, error, &offers)?;
            }
        }
        if words.first().is_some_and(|word| word == "catalogue") {
            look(&self.shared, |sight| sight.vocabulary.forget_parts());
        }
        self.look_around(desk).await;
        Ok(())
    }

    /// Shows an error; what was probably meant stands on the next line until something else is typed.
    fn refused(&mut self, desk: &mut Desk<'_>, error: CommandError, offers: &[String]) -> Result<(), CommandError> {
        self.end = error.kind;
        desk.tell(&error)?;
        match offers {
            [] => {}
            [one] => {
                self.offer = Some(one.clone());
                if desk.place.can_ask {
                    desk.out.line("Enter takes the line below, an arrow key edits it; what is typed takes its place.")?;
                }
            }
            several => {
                desk.out.line("Did you mean:")?;
                several.iter().try_for_each(|line| desk.out.line(format_args!("  {line}")))?;
            }
        }
        Ok(())
    }

    /// Makes a job the current one and says which it is.
    fn stand_at(&mut self, desk: &mut Desk<'_>, number: u32) -> Result<(), CommandError> {
        let job = look(&self.shared, |sight| sight.vocabulary.job(number).cloned());
        let Some(job) = job else {
            let known = look(&self.shared, |sight| {
                let numbers: Vec<String> = sight.vocabulary.jobs.iter().map(|job| job.job.to_string()).collect();
                numbers.join(", ")
            });
            let error = CommandError::new(Exit::NotFound, format!("no job {number} is under way"));
            let under_way = if known.is_empty() { String::new() } else { format!("under way: {known}; ") };
            let error = error.hint(format!(
                "{under_way}of a job that is over the number stands in each line, as in `lockring show {number}`"
            ));
            return self.refused(desk, error, &[]);
        };
        look(&self.shared, |sight| sight.job = Some(number));
        let waits = if job.waits_for.is_empty() { String::new() } else { format!("; waits for: {}", job.waits_for) };
        let line = format!("job {number}, {}, {}, at {}{waits}", job.rider, job.bike, job.stage);
        desk.out.wrapped("", "    ", &line)
    }

    /// Asks the daemon for its words, for a short time; starts none.
    async fn look_around(&self, desk: &Desk<'_>) {
        let Ok(Ok(client)) = tokio::time::timeout(SHORT, Client::connect(&desk.folder)).await else {
            return;
        };
        let mut vocabulary = look(&self.shared, |sight| sight.vocabulary.clone());
        vocabulary.renew(&client).await;
        look(&self.shared, |sight| sight.vocabulary = vocabulary);
    }

    /// Who types, at which job.
    fn sign(&self, desk: &Desk<'_>) -> String {
        let who = desk.origin().map(|origin| origin.by).unwrap_or_default();
        look(&self.shared, |sight| match sight.job {
            None => format!("{who}> "),
            Some(job) => {
                let line = sight.vocabulary.job(job);
                let at = line.map(|line| format!(" {} ({})", line.rider, line.stage)).unwrap_or_default();
                format!("{who} {job}{at}> ")
            }
        })
    }

    fn say_next(&self, desk: &mut Desk<'_>, begun: &str) -> Result<(), CommandError> {
        let next = look(&self.shared, |sight| sight.next(begun));
        // A beginning that nothing has is said to be one, with all that may stand in its place.
        let partial = begun.rsplit(char::is_whitespace).next().unwrap_or_default();
        if next.candidates.is_empty() && !partial.is_empty() {
            let whole = begun.strip_suffix(partial).unwrap_or_default();
            let instead = look(&self.shared, |sight| sight.next(whole));
            if !instead.candidates.is_empty() {
                desk.out.line(format_args!("nothing here begins with `{partial}`"))?;
                return print_next(&mut desk.out, &instead);
            }
        }
        print_next(&mut desk.out, &next)
    }
}

/// Says what may come next.
fn print_next(out: &mut Out<'_>, next: &Next) -> Result<(), CommandError> {
    if next.says.is_empty() && next.candidates.is_empty() {
        return out.line("nothing is known to come next here");
    }
    if !next.says.is_empty() {
        out.wrapped("next: ", "    ", &next.says)?;
    }
    let width = next.candidates.iter().map(|one| one.word.chars().count()).max().unwrap_or_default();
    for one in next.candidates.iter().take(LISTED) {
        let pad = " ".repeat(width - one.word.chars().count());
        let word = out.paint(Paint::Strong, &one.word);
        if one.about.is_empty() {
            out.line(format_args!("  {word}"))?;
        } else {
            out.wrapped(&format!("  {word}{pad}  "), &" ".repeat(width.min(24) + 4), &one.about)?;
        }
    }
    match next.candidates.len().checked_sub(LISTED) {
        Some(more) if more > 0 => out.line(format_args!("  and {more} more: type a letter and ask again")),
        _ => Ok(()),
    }
}

/// The line with what was given put right, when it stands there once.
fn replaced(words: &[String], given: &str, meant: &str) -> Option<String> {
    let glued = meant.replace(' ', "");
    let is_value = |word: &str| word.split_once('=').is_some_and(|(_, value)| value == given);
    let is_key = |word: &str| word.split_once('=').is_some_and(|(key, _)| key == given);
    let mut made = words.to_vec();
    for word in &mut made {
        if word == given {
            word.clone_from(&glued);
        } else if is_value(word) {
            *word = format!("{}={glued}", word.split('=').next().unwrap_or_default());
        } else if is_key(word) {
            *word = format!("{glued}={}", word.split_once('=').map_or("", |(_, value)| value));
        }
    }
    let changed = made.iter().zip(words).filter(|(one, other)| one != other).count();
    (changed == 1).then(|| join(&made))
}

fn broken_off(pressed: std::io::Result<()>) -> CommandError {
    match pressed {
        Ok(()) => CommandError::new(Exit::Interrupted, "broken off")
            .hint("`history` shows whether it was stored; a line is stored whole or not at all"),
        Err(error) => CommandError::new(Exit::Unexpected, "Ctrl-C cannot be waited for").caused_by(&error),
    }
}
