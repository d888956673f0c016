//! The words of a line: what every command takes, and how values are read off it.

use std::collections::BTreeSet;
use std::convert::Infallible;
use std::ffi::OsString;
use std::path::PathBuf;
use std::str::FromStr;

use clap::builder::{BoolishValueParser, OsStringValueParser, TypedValueParser};
use lockring_proto::v1::Assignment;

use crate::command_error::CommandError;

/// Stands for the hyphen of a negative value between [`guard`] and [`text`]; a letter of
/// Unicode's private use area, which nobody types.
const GUARD: char = '\u{e000}';

/// What every command takes.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = "Options of every command")]
pub(crate) struct Global {
    /// The data folder, else LOCKRING_DIR, else lockring in the XDG data home
    #[arg(
        long,
        global = true,
        value_name = "DIR",
        env = "LOCKRING_DIR",
        hide_env = true,
        value_parser = path()
    )]
    pub(crate) dir: Option<PathBuf>,
    /// Reach a shop over the network with the file of `lockring pair`; also LOCKRING_VIA
    #[arg(long, global = true, value_name = "FILE", env = "LOCKRING_VIA", hide_env = true, value_parser = OsStringValueParser::new())]
    pub(crate) via: Option<OsString>,
    /// Start lockringd when none is serving; also LOCKRING_START=1
    #[arg(long, global = true, env = "LOCKRING_START", hide_env = true, value_parser = BoolishValueParser::new())]
    pub(crate) start: bool,
    /// Who is typing, else LOCKRING_BY, else as `lockring iam` says, else the user's name
    #[arg(
        long,
        global = true,
        value_name = "INITIALS",
        env = "LOCKRING_BY",
        hide_env = true,
        value_parser = text
    )]
    pub(crate) by: Option<String>,
    /// The bench or terminal, else LOCKRING_TERMINAL, else computer and terminal, as `bench pts/3`
    #[arg(
        long,
        global = true,
        value_name = "NAME",
        env = "LOCKRING_TERMINAL",
        hide_env = true,
        value_parser = text
    )]
    pub(crate) terminal: Option<String>,
    /// When it was done, if not now: 2026-03-13T10:00, or 2026-03-13
    #[arg(long, global = true, value_name = "TIME", value_parser = text)]
    pub(crate) at: Option<String>,
    /// Refuse when the job is past this revision
    #[arg(long, global = true, value_name = "REVISION")]
    pub(crate) expect: Option<u64>,
    /// Decide and answer, but store nothing
    #[arg(long, global = true)]
    pub(crate) dry_run: bool,
    /// Keep a change on disk when no daemon is reached, and send it later
    #[arg(long, global = true)]
    pub(crate) queue: bool,
    /// A repeat under the same id gets the first answer; for scripts
    #[arg(long, global = true, value_name = "ID", value_parser = text)]
    pub(crate) request_id: Option<String>,
    /// Answer in JSON, one object a line
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Labelled lines instead of tables, and no line broken
    #[arg(long, global = true)]
    pub(crate) plain: bool,
    /// When to colour: auto, always or never; NO_COLOR is obeyed
    #[arg(long, global = true, value_name = "WHEN", value_enum, default_value_t = When::Auto, hide_possible_values = true, hide_default_value = true)]
    pub(crate) color: When,
}

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum When {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// A value as typed: `KEY=VALUE`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Pair {
    /// Code, slot or attribute.
    pub(crate) key: String,
    /// The text.
    pub(crate) value: String,
}

impl FromStr for Pair {
    type Err = String;

    fn from_str(typed: &str) -> Result<Self, String> {
        let typed = unguarded(typed);
        match typed.split_once('=') {
            Some((key, value)) if !key.trim().is_empty() => Ok(Self {
                key: key.trim().to_owned(),
                value: value.trim().to_owned(),
            }),
            _ => Err(format!("`{typed}` is no KEY=VALUE, such as hill-grade=8%")),
        }
    }
}

impl From<Pair> for Assignment {
    fn from(pair: Pair) -> Self {
        Self {
            field: pair.key,
            value: pair.value,
        }
    }
}

/// Pairs as the contract has them.
pub(crate) fn assignments(pairs: Vec<Pair>) -> Vec<Assignment> {
    pairs.into_iter().map(Assignment::from).collect()
}

/// Reads `CODE VALUE…` or `CODE=VALUE…` into values as typed.
///
/// # Errors
/// [`Exit::Usage`](crate::command_error::Exit::Usage) when a value is missing, or the two forms are mixed.
pub(crate) fn values(words: &[String], example: &str) -> Result<Vec<Assignment>, CommandError> {
    let Some((code, value)) = words.split_first() else {
        return Err(CommandError::usage("no code is given", example));
    };
    if code.contains('=') {
        let pairs: Result<Vec<Pair>, String> = words.iter().map(|word| word.parse()).collect();
        return match pairs {
            Ok(pairs) => Ok(assignments(pairs)),
            Err(problem) => Err(CommandError::usage(
                format!("{problem}; the first one is of that form"),
                example,
            )
            .hint("put a value of several words in quotes")),
        };
    }
    if value.is_empty() {
        return Err(CommandError::usage(format!("`{code}` has no value"), example));
    }
    Ok(vec![Assignment {
        field: code.clone(),
        value: value.join(" "),
    }])
}

/// Lets values with a leading hyphen through a parser that would take them for options: `-3C`,
/// `-,5`, `-d`, `- rang back -`. Ours have long names only, so that a word with one hyphen is a
/// value, but for `-h`, `-V` and a long name that lost a hyphen; a word with two is one when a
/// blank stands in its name. Everything read by [`text`], [`path`] or [`Pair`] gets its hyphen
/// back.
pub(crate) fn guard(grammar: &clap::Command, args: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let mut names = BTreeSet::new();
    gather(grammar, &mut names);
    let is_value = |word: &str| {
        let name = word.split('=').next().unwrap_or(word);
        match name.strip_prefix('-') {
            None | Some("" | "h" | "V") => false,
            Some(rest) if rest.starts_with('-') => name.contains(char::is_whitespace),
            Some(rest) => !names.contains(rest),
        }
    };
    let guarded = |arg: OsString| match arg.to_str() {
        Some(word) if is_value(word) => OsString::from(word.replacen('-', &GUARD.to_string(), 1)),
        _ => arg,
    };
    args.into_iter().map(guarded).collect()
}

/// Whether [`guard`] would leave every word as it is, whatever the grammar.
pub(crate) fn is_plain(args: &[OsString]) -> bool {
    let plain = |word: &str| match word.split('=').next().unwrap_or(word).strip_prefix('-') {
        None | Some("" | "h" | "V") => true,
        Some(rest) => rest.starts_with('-') && !rest.contains(char::is_whitespace),
    };
    args.iter().all(|arg| arg.to_str().is_none_or(plain))
}

/// The long names of all options.
fn gather(command: &clap::Command, names: &mut BTreeSet<String>) {
    names.extend(
        command
            .get_arguments()
            .filter_map(|arg| arg.get_long().map(str::to_owned)),
    );
    command.get_subcommands().for_each(|sub| gather(sub, names));
}

/// A file or folder as typed; the parser of every path.
pub(crate) fn path() -> impl TypedValueParser<Value = PathBuf> {
    OsStringValueParser::new().map(|typed| match typed.to_str() {
        Some(text) => PathBuf::from(unguarded(text)),
        None => PathBuf::from(typed),
    })
}

/// A free text as typed; the parser of every text argument.
///
/// # Errors
/// None.
pub(crate) fn text(typed: &str) -> Result<String, Infallible> {
    Ok(unguarded(typed))
}

/// Gives a text the hyphen back that [`guard`] took.
pub(crate) fn unguarded(text: &str) -> String {
    text.replace(GUARD, "-")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command_error::Exit;

    #[test]
    fn negative_values_pass_the_guard_and_options_are_left_alone() {
        let typed = [
            "measure",
            "-3C",
            "-,5",
            "-.5",
            "--at",
            "-h",
            "-",
            "--",
            "a-3",
            "-d",
            "-at",
            "-- odd --",
        ];
        let grammar = clap::Command::new("x").arg(clap::Arg::new("at").long("at"));
        let guarded = guard(&grammar, typed.map(OsString::from));
        let changed: Vec<&str> = guarded.iter().map(|arg| arg.to_str().unwrap()).collect();
        assert_eq!(
            changed,
            [
                "measure",
                "\u{e000}3C",
                "\u{e000},5",
                "\u{e000}.5",
                "--at",
                "-h",
                "-",
                "--",
                "a-3",
                "\u{e000}d",
                "-at",
                "\u{e000}- odd --"
            ]
        );
        let back: Vec<String> = changed.iter().map(|arg| text(arg).unwrap()).collect();
        assert_eq!(back, typed);
    }

    #[test]
    fn a_pair_is_split_at_its_first_sign() {
        let pair: Pair = "label-text=class=L1e".parse().unwrap();
        assert_eq!(
            (pair.key.as_str(), pair.value.as_str()),
            ("label-text", "class=L1e")
        );
        let pair: Pair = "coldest=-3C".parse().unwrap();
        assert_eq!(pair.value, "-3C");
        for wrong in ["steep", "=8%"] {
            assert!(wrong.parse::<Pair>().unwrap_err().contains(wrong));
        }
    }

    fn read(line: &str) -> Result<Vec<(String, String)>, CommandError> {
        let words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        Ok(values(&words, "example")?
            .into_iter()
            .map(|one| (one.field, one.value))
            .collect())
    }

    fn pair(field: &str, value: &str) -> (String, String) {
        (field.to_owned(), value.to_owned())
    }

    #[test]
    fn a_value_of_several_words_needs_no_quotes() {
        assert_eq!(read("clf 2 1/16 in").unwrap(), [pair("clf", "2 1/16 in")]);
        assert_eq!(read("test-air -3C").unwrap(), [pair("test-air", "-3C")]);
    }

    #[test]
    fn several_codes_go_as_pairs() {
        assert_eq!(
            read("shell-width=73 crack=none").unwrap(),
            [pair("shell-width", "73"), pair("crack", "none")]
        );
    }

    #[test]
    fn a_missing_value_and_mixed_forms_are_usage_errors() {
        for (line, said) in [
            ("clf", "`clf` has no value"),
            ("clf=51,5 mm", "`mm` is no KEY=VALUE"),
        ] {
            let error = read(line).unwrap_err();
            assert_eq!(error.kind, Exit::Usage);
            assert!(error.message.contains(said), "{}", error.message);
        }
    }
}
