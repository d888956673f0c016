//! The line editor of the bench prompt: history, completion with Tab, `?`.

use std::os::unix::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use rustyline::completion::{Completer, Pair};
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::FileHistory;
use rustyline::validate::Validator;
use rustyline::{
    Cmd, CompletionType, ConditionalEventHandler, Config, Editor, Event, EventContext, EventHandler, Helper,
    KeyCode, KeyEvent, Modifiers, RepeatCount,
};

use crate::command_error::{CommandError, Exit};
use crate::output::wrap;
use crate::prompt::expect::{Next, Reading};
use crate::prompt::spell;
use crate::prompt::split::cut;
use crate::prompt::vocabulary::Vocabulary;

/// Lines kept.
const KEPT: usize = 2000;
/// Most words listed by Tab; the rest is a number.
const LISTED: usize = 60;

/// Columns of a listed word with what it means.
const LISTED_WIDTH: usize = 76;

/// What came from the keyboard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Keyed {
    /// A whole line.
    Line(String),
    /// `?` after this beginning, with what stands behind the cursor.
    Asked(String, String),
    /// Ctrl-C: the line is given up.
    Dropped,
    /// Enter on an empty line takes what was offered.
    Taken(String),
    /// Ctrl-D.
    Left,
}

/// What completion looks at; it changes between lines.
pub(crate) struct Sight {
    /// The commands and their options.
    pub(crate) grammar: clap::Command,
    /// The words of the shop.
    pub(crate) vocabulary: Vocabulary,
    /// The current job.
    pub(crate) job: Option<u32>,
    asked: Option<usize>,
    offer: Option<Offer>,
}

/// A line that was probably meant. It is shown behind the cursor and is no part of the line that is typed, so that it
/// never joins with what is typed next.
struct Offer {
    line: String,
    /// Somebody can see it: a terminal without an editor shows nothing.
    shown: bool,
}

impl Sight {
    /// A sight without the words of a shop.
    pub(crate) fn new(grammar: clap::Command) -> Self {
        Self {
            grammar,
            vocabulary: Vocabulary::default(),
            job: None,
            asked: None,
            offer: None,
        }
    }

    /// How lines are read.
    pub(crate) fn reading(&self) -> Reading<'_> {
        Reading {
            grammar: &self.grammar,
            vocabulary: &self.vocabulary,
            job: self.job,
        }
    }

    /// What may come next at the end of this beginning of a line.
    pub(crate) fn next(&self, begun: &str) -> Next {
        let cut = cut(begun);
        let (before, partial) = match cut.words.split_last() {
            Some((last, before)) if !cut.at_gap => (before, last.as_str()),
            _ => (cut.words.as_slice(), ""),
        };
        let reading = self.reading();
        // Beginnings of commands count while a line is typed, too.
        reading.next(&spell::begun(&reading, before), partial)
    }
}

/// What several places look at.
pub(crate) type Shared = Arc<Mutex<Sight>>;

/// Looks at what is shared; a panic elsewhere leaves it usable.
pub(crate) fn look<T>(shared: &Shared, at: impl FnOnce(&mut Sight) -> T) -> T {
    at(&mut shared.lock().unwrap_or_else(PoisonError::into_inner))
}

/// The line editor.
pub(crate) struct Keys {
    editor: Editor<Bench, FileHistory>,
    shared: Shared,
    history: Option<PathBuf>,
}

impl Keys {
    /// An editor with the lines kept in a file, if there is one.
    ///
    /// # Errors
    /// [`Exit::Unexpected`] when the terminal cannot be set up.
    pub(crate) fn new(shared: Shared, history: Option<PathBuf>) -> Result<Self, CommandError> {
        let config = Config::builder()
            .completion_type(CompletionType::List)
            .completion_show_all_if_ambiguous(true)
            .completion_prompt_limit(usize::MAX)
            .max_history_size(KEPT)
            .map_err(|error| trouble(&error))?
            .build();
        let mut editor = Editor::with_config(config).map_err(|error| trouble(&error))?;
        editor.set_helper(Some(Bench(shared.clone())));
        let ask = EventHandler::Conditional(Box::new(Question(shared.clone())));
        editor.bind_sequence(KeyEvent::from('?'), ask);
        editor.bind_sequence(Event::Any, EventHandler::Conditional(Box::new(Edit)));
        if let Some(path) = &history {
            // A history that cannot be read is a new one; it is never in the way of work.
            if editor.load_history(path).is_err() {
                editor.clear_history().map_err(|error| trouble(&error))?;
            }
        }
        Ok(Self {
            editor,
            shared,
            history,
        })
    }

    /// Reads one line, beginning with what was typed of it. While nothing is, the line that is offered stands there: an
    /// empty Enter takes it, an arrow or editing key makes it the line, and whatever is typed takes its place.
    ///
    /// # Errors
    /// [`Exit::Unexpected`] when the terminal fails.
    pub(crate) fn read(
        &mut self,
        prompt: &str,
        begun: (&str, &str),
        offer: Option<String>,
    ) -> Result<Keyed, CommandError> {
        look(&self.shared, |sight| {
            sight.asked = None;
            sight.offer = offer.map(|line| Offer { line, shown: false });
        });
        let line = match self.editor.readline_with_initial(prompt, begun) {
            Ok(line) => line,
            Err(ReadlineError::Interrupted) => return Ok(Keyed::Dropped),
            Err(ReadlineError::Eof) => return Ok(Keyed::Left),
            Err(error) => return Err(trouble(&error)),
        };
        if let Some(at) = look(&self.shared, |sight| sight.asked.take()) {
            let at = at.min(line.len());
            return Ok(Keyed::Asked(line[..at].to_owned(), line[at..].to_owned()));
        }
        let offer = look(&self.shared, |sight| sight.offer.take());
        match offer {
            Some(offer) if offer.shown && line.is_empty() => Ok(Keyed::Taken(offer.line)),
            _ => Ok(Keyed::Line(line)),
        }
    }

    /// Keeps a line, on disk too.
    pub(crate) fn keep(&mut self, line: &str) {
        let added = self.editor.add_history_entry(line).unwrap_or(false);
        if let Some(path) = self.history.as_deref().filter(|_| added) {
            // The history is a comfort: a full disk must not end the work at the bench.
            if private(path).is_err() || self.editor.append_history(path).is_err() {
                self.history = None;
            }
        }
    }
}

/// Makes the history private before anything is written to it.
fn private(path: &Path) -> std::io::Result<()> {
    std::fs::OpenOptions::new()
        .create(true)
        .append(true)
        .mode(0o600)
        .open(path)
        .map(drop)
}

fn trouble(error: &ReadlineError) -> CommandError {
    CommandError::new(Exit::Unexpected, "the terminal cannot be read").caused_by(error)
}

struct Bench(Shared);

impl Helper for Bench {}
impl Highlighter for Bench {}
impl Validator for Bench {}
impl Hinter for Bench {
    type Hint = String;

    fn hint(&self, line: &str, _: usize, _: &rustyline::Context<'_>) -> Option<String> {
        look(&self.0, |sight| {
            let offer = sight.offer.as_mut().filter(|_| line.is_empty())?;
            offer.shown = true;
            Some(offer.line.clone())
        })
    }
}

impl Completer for Bench {
    type Candidate = Pair;

    fn complete(
        &self,
        line: &str,
        pos: usize,
        _: &rustyline::Context<'_>,
    ) -> rustyline::Result<(usize, Vec<Pair>)> {
        let begun = &line[..pos];
        Ok((
            cut(begun).last_begins,
            look(&self.0, |sight| pairs(&sight.next(begun))),
        ))
    }
}

/// Candidates as the editor shows and types them.
fn pairs(next: &Next) -> Vec<Pair> {
    let width = next
        .candidates
        .iter()
        .map(|one| wrap::columns(&one.word))
        .max()
        .unwrap_or_default();
    let several = next.candidates.len() > 1;
    let pair = |one: &crate::prompt::expect::Candidate| Pair {
        display: if one.about.is_empty() {
            one.word.clone()
        } else {
            let pad = " ".repeat(width - wrap::columns(&one.word));
            let room = LISTED_WIDTH.saturating_sub(width + 2);
            let about = wrap::words(&one.about.replace('\n', " "), room);
            format!("{}{pad}  {}", one.word, about.first().map_or("", String::as_str))
        },
        replacement: if one.word.ends_with('=') || several {
            one.word.clone()
        } else {
            format!("{} ", one.word)
        },
    };
    next.candidates.iter().take(LISTED).map(pair).collect()
}

struct Question(Shared);

impl ConditionalEventHandler for Question {
    fn handle(&self, _: &Event, _: RepeatCount, _: bool, context: &EventContext<'_>) -> Option<Cmd> {
        let begun = &context.line()[..context.pos()];
        look(&self.0, |sight| {
            if is_text(sight, begun) {
                return None;
            }
            sight.asked = Some(context.pos());
            Some(Cmd::AcceptLine)
        })
    }
}

/// Makes the offered line the one that is typed when it is to be edited.
struct Edit;

impl ConditionalEventHandler for Edit {
    fn handle(&self, event: &Event, _: RepeatCount, _: bool, context: &EventContext<'_>) -> Option<Cmd> {
        (context.line().is_empty() && context.has_hint() && edits(event)).then_some(Cmd::CompleteHint)
    }
}

/// Whether a key moves in a line, or takes of it.
fn edits(event: &Event) -> bool {
    let Some(KeyEvent(code, held)) = event.get(0) else {
        return false;
    };
    let by_name = matches!(
        code,
        KeyCode::Left
            | KeyCode::Right
            | KeyCode::Home
            | KeyCode::End
            | KeyCode::Backspace
            | KeyCode::Delete
            | KeyCode::Tab
    );
    by_name
        || (*held == Modifiers::CTRL
            && matches!(code, KeyCode::Char('A' | 'B' | 'E' | 'F' | 'H' | 'I' | 'W')))
}

/// Whether a question mark here belongs to what is being written.
pub(crate) fn is_text(sight: &Sight, begun: &str) -> bool {
    let cut = cut(begun);
    let next = sight.next(begun);
    cut.quoted || (!cut.at_gap && next.free && next.candidates.is_empty())
}
