//! `lockring measure`: one reading, one line.

use lockring_proto::v1::{Assignment, RecordRequest};

use crate::args::{self, Pair, assignments};
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs, joined};
use crate::desk::Desk;

/// Record a measurement
///
/// Code and value; a value of several words needs no quotes. Any unit, comma or point; without
/// a unit the code's own. Reading the same code again adds to its series. Several codes at
/// once go as CODE=VALUE. `!` behind a value takes it though it is implausible, and the history
/// says so. `lockring words codes` lists the codes.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring measure 21 chainline-front 51,5\n  \
    lockring measure 21 clf 2 1/16 in --anew\n  \
    lockring measure 21 shell-width=73 shell-bore=33,6 damage=none\n  \
    lockring measure 21 clf 95!\n  \
    lockring measure 21 test-air -3C")]
pub(crate) struct Measure {
    /// Number of the job
    job: u32,
    /// A code and its value, or several CODE=VALUE
    #[arg(value_name = "CODE VALUE", required = true, value_parser = args::text)]
    words: Vec<String>,
    /// Take a value outside its plausible window
    #[arg(long)]
    force: bool,
    /// Begin a new series instead of repeating the last reading
    #[arg(long)]
    anew: bool,
}

impl Measure {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = RecordRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            act: "measure".to_owned(),
            run: String::new(),
            values: readings(&self.words, "lockring measure 21 chainline-front 51,5")?,
            force: self.force,
            anew: self.anew,
        };
        change(desk, request, of_jobs!(record)).await
    }
}

/// Reads `CODE VALUE…` or `CODE=VALUE…` into values as typed.
///
/// # Errors
/// [`Exit::Usage`] when a value is missing, or the two forms are mixed.
pub(super) fn readings(words: &[String], example: &str) -> Result<Vec<Assignment>, CommandError> {
    let Some((code, value)) = words.split_first() else {
        return Err(CommandError::usage("no code is given", example));
    };
    if code.contains('=') {
        let pairs: Result<Vec<Pair>, String> = words.iter().map(|word| word.parse()).collect();
        return match pairs {
            Ok(pairs) => Ok(assignments(pairs)),
            Err(problem) => Err(CommandError::usage(format!("{problem}; the first one is of that form"), example)
                .hint("put a value of several words in quotes")),
        };
    }
    if value.is_empty() {
        return Err(CommandError::usage(format!("`{code}` has no value"), example));
    }
    Ok(vec![Assignment { field: code.clone(), value: joined(value) }])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> Result<Vec<(String, String)>, CommandError> {
        let words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        Ok(readings(&words, "example")?.into_iter().map(|one| (one.field, one.value)).collect())
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
        assert_eq!(read("shell-width=73 crack=none").unwrap(), [pair("shell-width", "73"), pair("crack", "none")]);
    }

    #[test]
    fn a_missing_value_and_mixed_forms_are_usage_errors() {
        for (line, said) in [("clf", "`clf` has no value"), ("clf=51,5 mm", "`mm` is no KEY=VALUE")] {
            let error = read(line).unwrap_err();
            assert_eq!(error.kind, Exit::Usage);
            assert!(error.message.contains(said), "{}", error.message);
        }
    }
}
