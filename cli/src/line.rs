//! One line from its words to its answer.

use std::ffi::OsString;
use std::future::Future;
use std::io::Write;
use std::pin::Pin;
use std::sync::LazyLock;

use clap::error::ErrorKind;
use clap::{Args as _, CommandFactory as _, FromArgMatches as _, Parser};

use crate::args::{self, Global};
use crate::command_error::{CommandError, Exit};
use crate::commands::{self, Command};
use crate::desk::{Desk, Place};
use crate::output::{Out, USUAL_WIDTH, wrap};
use crate::placeholder;
use crate::queue;

/// Everything a line may hold.
#[derive(Debug, Parser)]
#[command(
    name = "lockring",
    version,
    about = "Conversion jobs of a workshop that turns ordinary bicycles into electric ones",
    disable_help_subcommand = true,
    override_usage = "lockring [OPTIONS] COMMAND ...",
    after_help = "`lockring help COMMAND` shows a command with examples; `lockring help words` and\n\
                  `lockring help exit-codes` explain the vocabulary and the exit codes."
)]
struct Line {
    #[command(flatten)]
    global: Global,
    #[command(subcommand)]
    command: Command,
}

/// The whole command line as clap knows it, the commands grouped by use in its help.
pub(crate) fn grammar() -> clap::Command {
    let command = Line::command();
    let mut groups = String::new();
    for (heading, names) in commands::GROUPS {
        groups.push_str(&format!("{heading}:\n"));
        for name in *names {
            let name = commands::typed(name);
            let about = command.find_subcommand(&name).and_then(clap::Command::get_about);
            let about = about.map(ToString::to_string).unwrap_or_default();
            let (mut lead, indent) = (format!("  {name:<10} "), " ".repeat(13));
            for line in wrap::hanging(
                &about,
                USUAL_WIDTH - wrap::columns(&lead),
                USUAL_WIDTH - indent.len(),
            ) {
                groups.push_str(&format!("{lead}{line}\n"));
                lead.clone_from(&indent);
            }
        }
        groups.push('\n');
    }
    // Lines are easier to read narrow, however wide the terminal is.
    command.max_term_width(USUAL_WIDTH).help_template(format!(
        "{{about-with-newline}}\nUsage: {{usage}}\n\n{groups}Options of every command:\n{{options}}{{after-help}}\n"
    ))
}

/// Does what a line says and gives its end. Nothing is printed of an error: that is for the
/// caller, who knows where errors go.
///
/// # Errors
/// [`CommandError`] with exit code, message, causes and hints.
pub(crate) fn perform<'a>(
    place: &'a Place,
    writer: &'a mut dyn Write,
    words: impl IntoIterator<Item = OsString>,
) -> Pin<Box<dyn Future<Output = Result<Exit, CommandError>> + 'a>> {
    let words: Vec<OsString> = words.into_iter().collect();
    let own = own_words(&words);
    let line = parse(words);
    // Boxed because a command may itself perform lines.
    Box::pin(async move {
        let line = match line {
            Ok(line) => line,
            Err(error) if error.kind == Exit::Ok => {
                writer
                    .write_all(&place.charset.bytes(&error.text(false), false))
                    .map_err(|error| CommandError::writing(&error))?;
                return Ok(Exit::Ok);
            }
            Err(error) => return Err(error),
        };
        let look = place.look(&line.global);
        let mut desk = Desk::new(line.global, place, Out::new(writer, look), own)?;
        // A time without an offset is one of the shop's clock.
        if desk
            .global
            .at
            .as_deref()
            .is_some_and(|at| at.parse::<jiff::Timestamp>().is_err())
        {
            desk.hear_the_clock().await;
        }
        let is_afar = desk.folder.pass().is_some();
        let told = |error: CommandError| if is_afar { error.told_from_afar() } else { error };
        let exit = match line.command.run(&mut desk).await.map_err(told) {
            Err(error) if desk.global.queue && queue::was_not_reached(error.kind) => {
                queue::keep(&mut desk, error)?
            }
            done => done?,
        };
        desk.out.flush()?;
        Ok(exit)
    })
}

/// The words of a line without the program's name and the options of every command; `None` when
/// they are no UTF-8 text.
fn own_words(words: &[OsString]) -> Option<Vec<String>> {
    let own = own_places(words)?.into_iter();
    own.map(|place| words[place].to_str().map(str::to_owned))
        .collect()
}

/// Where those words are.
fn own_places(words: &[OsString]) -> Option<Vec<usize>> {
    static OPTIONS: LazyLock<clap::Command> =
        LazyLock::new(|| Global::augment_args(clap::Command::new("lockring")));
    let of_every_command = |name: &str| OPTIONS.get_arguments().find(|arg| arg.get_long() == Some(name));
    let mut own = Vec::new();
    let mut places = 1..words.len();
    while let Some(place) = places.next() {
        let word = words[place].to_str()?;
        if word == "--" {
            own.push(place);
            own.extend(places);
            break;
        }
        let (name, glued) = word
            .split_once('=')
            .map_or((word, false), |(name, _)| (name, true));
        match name.strip_prefix("--").and_then(of_every_command) {
            None => own.push(place),
            Some(option) if option.get_action().takes_values() && !glued => {
                places.next();
            }
            Some(_) => {}
        }
    }
    Some(own)
}

/// Performs a line in this process and prints its answer or its error to one writer, as
/// somebody at a terminal would see them. The first word is the program's name. For commands
/// that show others at work; they must run on the runtime that is there already.
pub(crate) fn run_line<'a>(
    place: &'a Place,
    writer: &'a mut dyn Write,
    words: Vec<OsString>,
) -> Pin<Box<dyn Future<Output = Exit> + 'a>> {
    Box::pin(async move {
        match perform(place, &mut *writer, words).await {
            Ok(exit) => exit,
            Err(error) => {
                if writer
                    .write_all(&place.charset.bytes(&error.text(place.colour), place.colour))
                    .is_err()
                {
                    return Exit::Unexpected;
                }
                error.kind
            }
        }
    })
}

/// The help of a command by its words; of the whole program without any.
///
/// # Errors
/// [`Exit::Usage`] when there is no such command.
pub(crate) fn help(path: &[&str]) -> Result<String, CommandError> {
    let words = ["lockring"]
        .iter()
        .chain(path)
        .chain(&["--help"])
        .map(OsString::from);
    match parse(words) {
        Err(error) if error.kind == Exit::Ok => Ok(error.text(false)),
        Err(error) => Err(error),
        Ok(_) => Err(CommandError::usage(
            format!("`{}` has no help", path.join(" ")),
            "lockring help measure",
        )),
    }
}

/// Reads the words of a line. Help and version come back as an error that ends well.
fn parse(words: impl IntoIterator<Item = OsString>) -> Result<Line, CommandError> {
    let laid_out = |error: clap::Error| {
        let kind = match error.kind() {
            ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => Exit::Ok,
            _ => Exit::Usage,
        };
        // One word for an error, whoever finds it.
        let text = without_global(args::unguarded(&error.render().to_string()));
        let text = in_our_words(&text);
        let text = text
            .strip_prefix("error:")
            .map_or(text.clone(), |rest| format!("Error:{rest}"));
        CommandError::laid_out(kind, text)
    };
    let words: Vec<OsString> = words.into_iter().collect();
    if placeholder::may_be_among(&words) {
        let grammar = grammar();
        placeholder::refuse(&grammar, &args::guard(&grammar, words.clone()))?;
    }
    if args::is_plain(&words)
        && let Some(line) = by_its_command(&words)
    {
        return Ok(line);
    }
    // The version is told without the whole grammar.
    let grammar = match &words[..] {
        [_, word] if word == "--version" => clap::Command::new("lockring").version(env!("CARGO_PKG_VERSION")),
        _ => grammar(),
    };
    let words = args::guard(&grammar, words);
    let matches = grammar.try_get_matches_from(words).map_err(laid_out)?;
    Line::from_arg_matches(&matches).map_err(laid_out)
}

/// A complaint about a number without the words of the language this is written in; where the job's
/// number belongs, it says so.
fn in_our_words(text: &str) -> String {
    let job = "no number of a job; it comes right after the command, as in `lockring show 21`";
    let number = "no whole number";
    [
        "invalid digit found in string",
        "number too large to fit in target type",
    ]
    .iter()
    .fold(text.to_owned(), |text, theirs| {
        text.replace(&format!("'<JOB>': {theirs}"), &format!("'<JOB>': {job}"))
            .replace(theirs, number)
    })
}

/// A complaint whose usage line leaves out the options of every command: clap names those that the
/// environment gives as if they had to be typed.
fn without_global(text: String) -> String {
    let mut options = Global::augment_args(clap::Command::new("lockring"));
    options.build();
    let clean = |line: &str| {
        if !line.starts_with("Usage: ") {
            return line.to_owned();
        }
        let strip = |line: String, option: &clap::Arg| line.replace(&format!(" {option}"), "");
        options.get_arguments().fold(line.to_owned(), strip)
    };
    text.split('\n').map(clean).collect::<Vec<_>>().join("\n")
}

/// Reads a line with the grammar of its command alone: the whole one takes longer to build than
/// most answers take to come. `None` when that does not do, whatever the reason: then the whole
/// grammar has the last word, and the only one that is heard.
fn by_its_command(words: &[OsString]) -> Option<Line> {
    let name = *own_places(words)?.first()?;
    let command = commands::alone(words[name].to_str()?)?;
    let program = Global::augment_args(clap::Command::new("lockring")).disable_help_subcommand(true);
    let (before, after) = (&words[..name], &words[name + 1..]);
    let matches = (command.grammar)(program)
        .try_get_matches_from(before.iter().chain(after))
        .ok()?;
    Some(Line {
        global: Global::from_arg_matches(&matches).ok()?,
        command: (command.read)(&matches).ok()?,
    })
}

#[cfg(test)]
pub(crate) fn parsed(words: &[&str]) -> Result<(Global, Command), CommandError> {
    parse(words.iter().map(OsString::from)).map(|line| (line.global, line.command))
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;
    use crate::client::fake;

    /// Splits a line as a shell would: blanks part words, double quotes hold them together.
    fn shell_words(line: &str) -> Vec<OsString> {
        let mut words = Vec::new();
        let (mut word, mut quoted, mut begun) = (String::new(), false, false);
        for letter in line.chars() {
            match letter {
                '"' => (quoted, begun) = (!quoted, true),
                ' ' if !quoted => {
                    if begun {
                        words.push(OsString::from(std::mem::take(&mut word)));
                    }
                    begun = false;
                }
                letter => {
                    word.push(letter);
                    begun = true;
                }
            }
        }
        if begun {
            words.push(OsString::from(word));
        }
        assert!(!quoted, "a quote is left open in {line}");
        words
    }

    /// Every command below, groups of them too.
    fn all(command: &clap::Command, path: &str, found: &mut Vec<(String, clap::Command)>) {
        for sub in command.get_subcommands() {
            let path = format!("{path} {}", sub.get_name());
            all(sub, &path, found);
            found.push((path, sub.clone()));
        }
    }

    /// The verbs that the tool was promised to have.
    const VERBS: &str = "take-in brief donor build propose quote order receive measure torque ride check explain \
        concede block clear hold release photo note advance back undo clock jobs show history watch report regear \
        range lot handover visit verify backup status daemon prompt demo";

    #[test]
    fn every_promised_verb_is_a_command() {
        let grammar = grammar();
        for verb in VERBS.split_whitespace() {
            assert!(grammar.find_subcommand(verb).is_some(), "{verb} is no command");
        }
    }

    #[test]
    fn the_grammar_is_sound() {
        grammar().debug_assert();
    }

    #[test]
    fn every_command_has_a_description_and_two_examples_that_parse() {
        let mut commands = Vec::new();
        all(&grammar(), "lockring", &mut commands);
        assert!(commands.len() > 80, "{}", commands.len());
        for (path, command) in commands {
            assert!(command.get_about().is_some(), "{path} has no description");
            let help = command
                .get_after_help()
                .map(ToString::to_string)
                .unwrap_or_default();
            let examples: Vec<&str> = help
                .lines()
                .map(str::trim)
                .filter(|line| line.starts_with("lockring"))
                .collect();
            assert!(examples.len() >= 2, "{path} has {} examples", examples.len());
            for example in examples {
                assert!(wrap::columns(example) <= 78, "{example} is wider than a terminal");
                assert!(
                    example.contains(path.rsplit(' ').next().unwrap()),
                    "{example} is no example of {path}"
                );
                if let Err(error) = parse(shell_words(example)) {
                    assert_eq!(error.kind, Exit::Ok, "{example}\n{}", error.text(false));
                }
            }
        }
    }

    #[test]
    fn the_help_lists_every_command_once_under_a_heading() {
        let grammar = grammar();
        let listed: Vec<String> = commands::GROUPS
            .iter()
            .flat_map(|(_, names)| *names)
            .map(|name| commands::typed(name))
            .collect();
        let known: HashSet<&str> = grammar.get_subcommands().map(clap::Command::get_name).collect();
        assert_eq!(listed.iter().map(String::as_str).collect::<HashSet<_>>(), known);
        assert_eq!(listed.len(), known.len(), "a command is listed twice");

        let error = parse(["lockring", "--help"].map(OsString::from)).unwrap_err();
        assert_eq!(error.kind, Exit::Ok);
        let help = error.text(false);
        for (heading, _) in commands::GROUPS {
            assert!(help.contains(&format!("\n{heading}:\n")), "{help}");
        }
        assert!(help.contains("--dry-run"), "{help}");
        assert!(!help.contains("Commands:"), "{help}");
        assert!(help.lines().all(|line| wrap::columns(line) <= 80), "{help}");
    }

    /// The way around the whole grammar reads what the whole grammar reads.
    #[test]
    fn a_command_alone_reads_as_the_whole_grammar_does() {
        let mut commands = Vec::new();
        all(&grammar(), "lockring", &mut commands);
        let mut read = 0;
        for (_, command) in commands {
            let help = command
                .get_after_help()
                .map(ToString::to_string)
                .unwrap_or_default();
            for example in help
                .lines()
                .map(str::trim)
                .filter(|line| line.starts_with("lockring"))
            {
                // A value that is a command's name is none.
                let before = example.replacen("lockring ", "lockring --plain --by show ", 1);
                for line in [example, &before] {
                    let words = args::guard(&grammar(), shell_words(line));
                    let whole = grammar().try_get_matches_from(&words).ok();
                    let whole = whole.and_then(|matches| Line::from_arg_matches(&matches).ok());
                    if let Some(alone) = by_its_command(&words) {
                        assert_eq!(format!("{:?}", Some(alone)), format!("{whole:?}"), "{line}");
                        read += 1;
                    } else {
                        assert!(whole.is_none() || line == before, "{line} takes the long way");
                    }
                }
            }
        }
        assert!(read > 200, "{read}");
        for other in [
            "lockring",
            "lockring --help",
            "lockring measur 21",
            "lockring show --help",
            "lockring --json",
        ] {
            assert!(by_its_command(&shell_words(other)).is_none(), "{other}");
        }
    }

    #[test]
    fn a_negative_value_and_a_flag_may_follow_each_other() {
        let (_, command) =
            parsed(&["lockring", "measure", "21", "case-temperature", "-3C", "--force"]).unwrap();
        let shown = format!("{command:?}");
        assert!(
            shown.contains("\"-3C\"") && shown.contains("force: true"),
            "{shown}"
        );
    }

    /// Every text and path gets back the hyphen that lets it through.
    #[test]
    fn every_free_value_is_read_by_one_of_our_readers() {
        fn look(command: &clap::Command, path: &str) {
            for arg in command
                .get_arguments()
                .filter(|arg| arg.get_action().takes_values())
            {
                let parser = format!("{:?}", arg.get_value_parser());
                let bare = ["string", "os_string", "path_buf"].map(|kind| format!("ValueParser::{kind}"));
                assert!(
                    !bare.contains(&parser),
                    "{path}: {} is read by {parser}",
                    arg.get_id()
                );
                assert!(
                    !arg.is_allow_hyphen_values_set(),
                    "{path}: {} swallows options",
                    arg.get_id()
                );
                assert!(
                    !arg.is_trailing_var_arg_set(),
                    "{path}: {} swallows options",
                    arg.get_id()
                );
            }
            for sub in command.get_subcommands() {
                look(sub, &format!("{path} {}", sub.get_name()));
            }
        }
        let mut grammar = grammar();
        grammar.build();
        look(&grammar, "lockring");
    }

    #[test]
    fn options_follow_values_and_values_begin_with_hyphens() {
        for (line, held) in [
            ("measure 1 clf -3C", "-3C"),
            ("measure 1 clf -,5", "-,5"),
            ("measure 1 test-air=-3C clf=-1", "=-3C"),
            ("torque 1 stem -5", "-5"),
            ("ride 1 conditions -3C", "-3C"),
            ("brief 1 coldest=-3C", "-3C"),
            ("donor 1 damage=-none-", "-none-"),
            ("note 1 -rang back-", "-rang"),
            ("note 1 \"-- rang --\"", "-- rang --"),
            ("photo 1 -left stay", "-left"),
            ("settings set evening-command /usr/bin/page -2 -d", "-d"),
            ("settings rule hill.told-factor -5%", "-5%"),
            ("block 1 rider -unpaid-", "-unpaid-"),
            ("people add -K-", "-K-"),
            ("lot -7", "-7"),
            ("catalogue import -sheet.toml", "-sheet.toml"),
        ] {
            let line = format!("lockring {line} --by O --dry-run");
            let parsed =
                parse(shell_words(&line)).unwrap_or_else(|error| panic!("{line}: {}", error.text(false)));
            assert_eq!(parsed.global.by.as_deref(), Some("O"), "{line}");
            assert!(parsed.global.dry_run, "{line}");
            let shown = format!("{:?}", parsed.command);
            assert!(
                shown.contains(held) && !shown.contains('\u{e000}'),
                "{line}: {shown}"
            );
        }
        let (global, command) = parsed(&[
            "lockring", "pay", "1", "-20", "--kind", "deposit", "--how", "-card-", "--by", "-O-",
        ])
        .unwrap();
        assert_eq!(global.by.as_deref(), Some("-O-"));
        assert!(format!("{command:?}").contains("-card-"), "{command:?}");
        // A long name that lost a hyphen, or is spelt wrong, is no text.
        for line in [
            "note 1 rang -by O",
            "note 1 rang --bye O",
            "measure 1 clf 51 -force",
        ] {
            let error = parse(shell_words(&format!("lockring {line}"))).unwrap_err();
            assert_eq!(error.kind, Exit::Usage, "{line}");
        }
    }

    #[test]
    fn a_wrong_word_is_a_usage_error_that_shows_it_as_typed() {
        let error = parsed(&["lockring", "measur", "21"]).unwrap_err();
        assert_eq!(error.kind, Exit::Usage);
        assert!(error.message.contains("measure"), "{}", error.message);
        let error = parsed(&["lockring", "show", "-3"]).unwrap_err();
        assert!(error.message.contains("-3"), "{}", error.message);
        let error = parsed(&["lockring", "measure", "clf", "1", "53"]).unwrap_err();
        assert!(
            error.message.contains("'clf' for '<JOB>': no number of a job"),
            "{}",
            error.message
        );
        // What the environment gives too reads as typed: it is no part of the usage.
        let error = parsed(&["lockring", "pay", "21", "--dir", "/d", "--by=K", "--plain"]).unwrap_err();
        let usage = error.message.lines().find(|line| line.starts_with("Usage: "));
        assert_eq!(
            usage,
            Some("Usage: lockring pay --kind <KIND> <JOB> <AMOUNT>"),
            "{}",
            error.message
        );
    }

    #[test]
    fn a_line_is_kept_without_the_options_of_every_command() {
        let words = |line: &str| own_words(&shell_words(line));
        let kept = words("lockring --dir /d measure 21 clf -3C --by=K --queue --force");
        assert_eq!(kept.unwrap(), ["measure", "21", "clf", "-3C", "--force"]);
        assert_eq!(
            words("lockring note 21 -- --by K").unwrap(),
            ["note", "21", "--", "--by", "K"]
        );
    }

    #[test]
    fn options_of_every_command_may_stand_anywhere() {
        let (global, _) = parsed(&[
            "lockring", "--json", "note", "21", "rang", "--by", "MK", "--expect", "4",
        ])
        .unwrap();
        assert!(global.json);
        assert_eq!((global.by.as_deref(), global.expect), (Some("MK"), Some(4)));
    }

    #[tokio::test]
    async fn a_line_prints_its_error_where_its_answer_would_be() {
        let place = Place {
            can_ask: false,
            from_queue: false,
            colour: false,
            width: 80,
            zone: jiff::tz::TimeZone::UTC,
            charset: Default::default(),
        };
        let mut out = Vec::new();
        let words = ["lockring", "--dir", "/nowhere/at/all", "show", "21"]
            .map(OsString::from)
            .to_vec();
        let exit = run_line(&place, &mut out, words).await;
        assert_eq!(exit, Exit::NoDaemon);
        let shown = String::from_utf8(out).unwrap();
        assert!(
            shown.starts_with("Error: no lockringd is serving /nowhere/at/all\nHint: start it"),
            "{shown}"
        );
    }

    /// A whole line against a daemon: text, JSON that the contract reads, exit codes.
    #[tokio::test]
    async fn a_line_is_answered_in_text_and_in_json() {
        let data = tempfile::tempdir().unwrap();
        let _serving = fake::serve(data.path(), std::sync::Arc::new(fake::Fake::new(data.path())));
        let place = Place {
            can_ask: false,
            from_queue: false,
            colour: false,
            width: 80,
            zone: jiff::tz::TimeZone::UTC,
            charset: Default::default(),
        };
        let run = async |words: &str| {
            let mut out = Vec::new();
            let line = format!("lockring --dir {} {words}", data.path().display());
            let exit = run_line(&place, &mut out, shell_words(&line)).await;
            (exit, String::from_utf8(out).unwrap())
        };
        let (exit, text) = run("status").await;
        assert_eq!(exit, Exit::Ok);
        assert!(
            text.starts_with(
                "lockringd: 0.1.0 (protocol 2, schema 3), process 77\nserving since: Thu 1 Jan 1970"
            ),
            "{text}"
        );

        let (exit, json) = run("status --json").await;
        assert_eq!(exit, Exit::Ok);
        let status: lockring_proto::v1::StatusReply = serde_json::from_str(&json).unwrap();
        assert_eq!(status.pid, 77);
        assert!(json.contains("\"last_backup_us\":null"), "{json}");

        let (exit, text) = run("verify").await;
        assert_eq!(exit, Exit::Storage);
        assert!(
            text.starts_with("x not sound") && text.ends_with("  entry 3\n"),
            "{text}"
        );

        let (exit, text) = run("words codes").await;
        assert_eq!(exit, Exit::Storage);
        assert_eq!(text, "Error: the disk is full\nHint: make room\n");
    }

    #[tokio::test]
    async fn help_and_version_end_well() {
        let place = Place {
            can_ask: false,
            from_queue: false,
            colour: false,
            width: 80,
            zone: jiff::tz::TimeZone::UTC,
            charset: Default::default(),
        };
        for words in [
            vec!["lockring", "--version"],
            vec!["lockring", "measure", "--help"],
        ] {
            let mut out = Vec::new();
            let exit = run_line(&place, &mut out, words.iter().map(OsString::from).collect()).await;
            assert_eq!(exit, Exit::Ok);
            assert!(!out.is_empty());
            let whole = grammar().render_version();
            assert!(words[1] != "--version" || out == whole.as_bytes(), "{whole}");
        }
    }
}
