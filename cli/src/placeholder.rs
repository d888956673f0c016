//! Words that stand for a value in help and hints, typed as if they were one.
//!
//! A printed line such as `order 21 pack --from SUPPLIER` is easily taken as it stands, and a free text takes any word: what
//! nobody meant would be kept. So a value that is exactly such a word is refused with what belongs there.

use std::collections::BTreeSet;
use std::ffi::{OsStr, OsString};

use clap::parser::ValueSource;

use crate::command_error::{CommandError, Exit};

/// Stands for any value in a printed line.
const GAP: &str = "…";
/// Words of printed lines that no argument is called by.
const OF_HINTS: [&str; 4] = ["REASON", "PART", "PERSON", "CLASS"];
/// The fewest letters of such a word; shorter ones may be somebody's initials.
const LEAST: usize = 3;

/// Whether a word may be one at all, whatever the grammar: most lines hold none, and are looked at no further.
pub(crate) fn may_be_among(words: &[OsString]) -> bool {
    words.iter().any(|word| may_stand(value_of(word)))
}

/// The value in a word as typed: what follows the first sign of `KEY=VALUE` or `--option=VALUE`, else all of it.
fn value_of(word: &OsStr) -> &str {
    let word = word.to_str().unwrap_or_default().trim();
    word.split_once('=').map_or(word, |(_, value)| value.trim())
}

fn may_stand(value: &str) -> bool {
    let is_letter = |letter: u8| letter.is_ascii_uppercase() || letter == b'-';
    value == GAP || (value.len() >= LEAST && value.bytes().all(is_letter))
}

/// Refuses a line in which a value is exactly a word that stands for one.
///
/// # Errors
/// [`Exit::Usage`](crate::command_error::Exit::Usage) naming the argument and what it takes.
pub(crate) fn refuse(grammar: &clap::Command, words: &[OsString]) -> Result<(), CommandError> {
    let mut named: BTreeSet<String> = OF_HINTS.map(str::to_owned).into();
    gather(grammar, &mut named);
    // What does not read as a line has its own complaint.
    let Ok(matches) = grammar.clone().try_get_matches_from(words) else {
        return Ok(());
    };
    look(grammar, "lockring", &matches, &named)
}

/// The words by which the arguments of all commands are shown.
fn gather(command: &clap::Command, named: &mut BTreeSet<String>) {
    for arg in command.get_arguments() {
        let own = arg.get_id().as_str().to_uppercase();
        let shown = arg.get_value_names().unwrap_or_default().iter();
        let shown = shown.flat_map(|name| name.split([' ', '|', ',', '=', '[', ']', '.', '…']));
        named.extend(shown.map(str::to_owned).chain([own]));
    }
    command.get_subcommands().for_each(|sub| gather(sub, named));
}

fn look(
    command: &clap::Command,
    path: &str,
    matches: &clap::ArgMatches,
    named: &BTreeSet<String>,
) -> Result<(), CommandError> {
    for arg in command.get_arguments() {
        let id = arg.get_id().as_str();
        let is_typed = arg.get_action().takes_values()
            && matches.try_contains_id(id).unwrap_or(false)
            && matches.value_source(id) == Some(ValueSource::CommandLine);
        if !is_typed {
            continue;
        }
        let given: Vec<&OsStr> = matches.get_raw(id).into_iter().flatten().collect();
        for word in &given {
            let value = value_of(word);
            // In a sentence of several words it is a word like others.
            let alone = given.len() == 1 || word.to_str().is_some_and(|word| word.contains('='));
            if alone && may_stand(value) && (value == GAP || named.contains(value)) {
                return Err(stands_for(arg, path, value));
            }
        }
    }
    match matches.subcommand() {
        Some((name, below)) => match command.find_subcommand(name) {
            Some(sub) => look(sub, &format!("{path} {name}"), below, named),
            None => Ok(()),
        },
        None => Ok(()),
    }
}

fn stands_for(arg: &clap::Arg, path: &str, value: &str) -> CommandError {
    let place = match arg.get_long() {
        Some(long) => format!("--{long}"),
        None => arg.get_id().as_str().to_uppercase(),
    };
    let takes = arg.get_help().map(ToString::to_string).unwrap_or_default();
    let takes = if takes.is_empty() {
        String::new()
    } else {
        format!("; expected there: {takes}")
    };
    let help = path.replacen("lockring", "lockring help", 1);
    let message = format!("`{value}` only stands for what {place} takes{takes}");
    CommandError::new(Exit::Usage, message).hint(format!("`{help}` shows examples"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::parsed;

    #[test]
    fn a_word_that_stands_for_a_value_is_refused_with_what_belongs_there() {
        for (line, said) in [
            (
                "order 21 pack --from SUPPLIER",
                "`SUPPLIER` only stands for what --from takes",
            ),
            ("receive 21 pack --serial SERIAL --lot L-1", "--serial"),
            ("receive 21 pack --lot=LOT", "`LOT` only stands"),
            ("concede 21 hill.restart --why REASON", "--why"),
            ("concede 21 hill.restart --why …", "`…` only stands"),
            ("donor 21 damage=… crack=none", "`…` only stands"),
            ("build 21 chainring=PART", "`PART` only stands"),
            ("note 21 TEXT", "`TEXT` only stands"),
        ] {
            let words: Vec<&str> = std::iter::once("lockring").chain(line.split(' ')).collect();
            let error = parsed(&words).unwrap_err();
            assert_eq!(error.kind, Exit::Usage, "{line}");
            assert!(error.message.contains(said), "{line}: {}", error.message);
        }
    }

    #[test]
    fn a_word_in_capitals_that_stands_for_nothing_is_a_value() {
        for line in [
            "order 21 pack --from N",
            "order 21 pack --from NORD",
            "receive 21 pack --serial PK-A --lot LOT-7",
            "note 21 the LOT is unread",
            "note 21 reason: TEXT missing …",
            "concede 21 hill.restart --why tried",
            "settings set currency EUR",
        ] {
            let words: Vec<&str> = std::iter::once("lockring").chain(line.split(' ')).collect();
            if let Err(error) = parsed(&words) {
                panic!("{line}: {}", error.message);
            }
        }
    }
}
