//! From a bench line to a whole command line: beginnings become words, the job is put in, and
//! near misses are offered.
//!
//! Nothing is guessed here that would change what is stored: a beginning is taken only when one
//! word begins so or one of the bench's own does, a mistyped command runs only when it reads, and a number that could be the job
//! or a value is asked about.

use clap::Command;

use crate::prompt::expect::{Candidate, Reading, is_job, options, takes_job};
use crate::prompt::split::join;

/// Most lines offered for one that cannot be read.
const OFFERS: usize = 3;
/// Letters from which on a word is no unit: the longest, such as `inches`, have fewer.
const LONGER_THAN_A_UNIT: usize = 8;
/// What is typed all day with dirty hands: its beginnings are its own, whatever else begins so.
const BENCH: &[&str] = &["check", "explain", "measure", "note", "ride", "show", "torque"];
/// Commands that only look. A mistyped one of these loses nothing by being run.
const READS: &[&str] = &[
    "chainline",
    "check",
    "explain",
    "fit",
    "help",
    "hill",
    "history",
    "jobs",
    "predict",
    "range",
    "regear",
    "report",
    "show",
    "status",
    "verify",
    "words",
];

/// A line that cannot be read as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Misspelt {
    /// What is wrong.
    pub(crate) message: String,
    /// Whole lines that were probably meant, best first.
    pub(crate) offers: Vec<String>,
}

/// Makes a whole line of a bench line.
///
/// # Errors
/// [`Misspelt`] when a command is not known or a beginning stands for several words, or a number
/// could be the job or something else.
pub(crate) fn spelt(reading: &Reading<'_>, words: &[String]) -> Result<Vec<String>, Misspelt> {
    let words = with_job_before(reading, words)?;
    let (mut words, command) = commands(reading, &words)?;
    let at = place_of_job(&words, command);
    match (reading.job, at) {
        (Some(job), Some(at)) => put_job(reading, &mut words, command, job, at)?,
        (None, Some(at))
            if words
                .get(at)
                .is_some_and(|word| !word.starts_with('-') && !is_job(word)) =>
        {
            return Err(about_no_job(command));
        }
        _ => {}
    }
    Ok(expanded(reading, &words))
}

fn about_no_job(command: &Command) -> Misspelt {
    Misspelt {
        message: format!(
            "`{}` is about a job, and no number names one; type the number alone to stand at a job",
            command.get_name()
        ),
        offers: Vec::new(),
    }
}

/// The words with the job between a command and the one below it, where it belongs there: `quote 21 add`.
fn with_job_before(reading: &Reading<'_>, words: &[String]) -> Result<Vec<String>, Misspelt> {
    let mut words = words.to_vec();
    let named = words
        .first()
        .and_then(|word| command_word(reading.grammar, word).ok());
    let Some(command) = named.and_then(|name| reading.grammar.find_subcommand(name)) else {
        return Ok(words);
    };
    let is_below = |word: &String| !word.starts_with('-') && !is_job(word);
    if stands_before(command) && words.get(1).is_some_and(is_below) {
        let job = reading.job.ok_or_else(|| about_no_job(command))?;
        words.insert(1, job.to_string());
    }
    Ok(words)
}

/// Whether a command names the job before a command below it.
fn stands_before(command: &Command) -> bool {
    let is_either =
        command.is_args_conflicts_with_subcommands_set() || command.is_subcommand_negates_reqs_set();
    command.has_subcommands() && takes_job(command) && !is_either
}

/// The words of a line that is still being typed, beginnings made whole as far as they can be.
pub(crate) fn begun(reading: &Reading<'_>, words: &[String]) -> Vec<String> {
    match commands(reading, words) {
        Ok((words, _)) => expanded(reading, &words),
        Err(_) => words.to_vec(),
    }
}

/// Lines that were probably meant by one that was refused: the command, then each other word in
/// turn, put right.
pub(crate) fn offers(reading: &Reading<'_>, words: &[String]) -> Vec<String> {
    let mut lines = match commands(reading, words) {
        Err(misspelt) => misspelt.offers,
        Ok((words, _)) => {
            let put_right = (1..words.len()).flat_map(|at| put_right(reading, &words, at));
            swapped(reading, &words).into_iter().chain(put_right).collect()
        }
    };
    lines.truncate(OFFERS);
    lines
}

/// Whole command words, and the command they name.
fn commands<'r>(reading: &Reading<'r>, words: &[String]) -> Result<(Vec<String>, &'r Command), Misspelt> {
    let mut words = words.to_vec();
    let mut command = reading.grammar;
    let mut at = 0;
    while command.has_subcommands() {
        if at > 0 && stands_before(command) && words.get(at).is_some_and(|word| is_job(word)) {
            at += 1;
        }
        // Options of every command may stand before it.
        let stands = |word: &String| word.starts_with('-');
        let Some(word) = words.get(at).filter(|word| !stands(word)).cloned() else {
            break;
        };
        let name = match command_word(command, &word) {
            Ok(name) => name,
            // `order motor`: a command with commands below it may take words of its own.
            Err((_, names)) if at > 0 && names.is_empty() && command.get_positionals().next().is_some() => {
                break;
            }
            Err((message, names)) => {
                let near = names.into_iter().map(|name| with(&words, at, &name));
                let elsewhere = if at == 0 { turned(reading, &words) } else { None };
                let offers = elsewhere
                    .into_iter()
                    .chain(near)
                    .chain(apart(command, &words, at));
                let offers: Vec<String> = offers.take(OFFERS).collect();
                return Err(Misspelt { message, offers });
            }
        };
        words[at].clone_from(&name);
        let Some(found) = command.find_subcommand(&name) else {
            break;
        };
        command = found;
        at += 1;
    }
    Ok((words, command))
}

/// The line with its words in the order of the bench, where the command stands behind, or none is named
/// and a code tells which it is: `gapm 2.6 measure`, `40 Nm lockring`.
fn turned(reading: &Reading<'_>, words: &[String]) -> Option<String> {
    let first = words.first()?;
    if let Some(line) = job_first(reading, first, &words[1..]) {
        return Some(line);
    }
    if !begins_as_a_number(first) && verb_of(reading, first).is_none() {
        return None;
    }
    let plain = |word: &&String| !word.starts_with('-') && !word.contains('=');
    let named = words.iter().filter(plain).find_map(|word| {
        let lower = word.to_lowercase();
        let command = reading
            .grammar
            .find_subcommand(&lower)
            .filter(|command| takes_job(command));
        command.map(|command| (word, command.get_name().to_owned()))
    });
    if let Some((typed, name)) = named {
        let mut rest = words.to_vec();
        rest.retain(|word| word != typed);
        let line: Vec<String> = std::iter::once(name).chain(rest).collect();
        return Some(swapped(reading, &line).unwrap_or_else(|| join(&line)));
    }
    let verb = words.iter().find_map(|word| verb_of(reading, word))?;
    let has_value = words.iter().any(|word| begins_as_a_number(word));
    let line: Vec<String> = std::iter::once(verb.to_owned())
        .chain(words.iter().cloned())
        .collect();
    has_value.then(|| swapped(reading, &line).unwrap_or_else(|| join(&line)))
}

/// The line with the number of a job that stands before its command put behind it: `21 m circ 2170`.
fn job_first(reading: &Reading<'_>, first: &str, rest: &[String]) -> Option<String> {
    let job = first.parse::<u32>().ok()?;
    reading.vocabulary.job(job)?;
    let (mut words, command) = commands(reading, rest).ok()?;
    let at = place_of_job(&words, command)?;
    words.insert(at, job.to_string());
    Some(join(&expanded(reading, &words)))
}

/// The line of a reading with the code before its value; `None` where it stands so, or none or more than
/// one is there.
fn swapped(reading: &Reading<'_>, words: &[String]) -> Option<String> {
    let verb = words.first()?;
    let codes: Vec<usize> = (1..words.len())
        .filter(|at| verb_of(reading, &words[*at]) == Some(verb.as_str()))
        .collect();
    let [at] = codes.as_slice() else { return None };
    // A number that stands before a value is the job; a value before the code has its unit, a mark, or
    // nothing else to be.
    let numbers = (1..*at)
        .filter(|place| begins_as_a_number(&words[*place]))
        .count();
    let values_behind = words[at + 1..].iter().any(|word| begins_as_a_number(word));
    let has_job = is_job(&words[1]) && (values_behind || numbers > 1);
    let to = 1 + usize::from(has_job);
    if *at <= to {
        return None;
    }
    let mut words = words.to_vec();
    let code = words.remove(*at);
    words.insert(to, code);
    Some(join(&words))
}

/// The command that records a code, when a word is one that is read at the bench.
fn verb_of(reading: &Reading<'_>, word: &str) -> Option<&'static str> {
    let lower = word.to_lowercase();
    if reading
        .vocabulary
        .bolts()
        .any(|(bolt, row)| bolt == lower || row.code == lower)
    {
        return Some("torque");
    }
    let row = reading.vocabulary.code(&lower)?;
    matches!(row.group.as_str(), "fitting" | "donor").then_some("measure")
}

fn begins_as_a_number(word: &str) -> bool {
    let digits = word.trim_start_matches(['-', '+', '.', ',']);
    digits.starts_with(|letter: char| letter.is_ascii_digit())
}

/// The line with the blank put in that a word lost, or that another key stands for: `measuregapm`,
/// `measurexgapm`. The longest command first.
fn apart(command: &Command, words: &[String], at: usize) -> Vec<String> {
    let lower = words[at].to_lowercase();
    let mut begun: Vec<&str> = command
        .get_subcommands()
        .map(Command::get_name)
        .filter(|name| name.len() > 2 && lower.len() > name.len() && lower.starts_with(name))
        .collect();
    begun.sort_by_key(|name| std::cmp::Reverse(name.len()));
    begun
        .into_iter()
        .map(|name| {
            let mut words = words.to_vec();
            let rest = words[at].get(name.len()..).unwrap_or_default().to_owned();
            words.splice(at..=at, [name.to_owned(), rest]);
            join(&words)
        })
        .collect()
}

/// The command that a word is or begins; else what is wrong, and the nearest names.
fn command_word(command: &Command, word: &str) -> Result<String, (String, Vec<String>)> {
    let lower = word.to_lowercase();
    let names: Vec<&str> = command.get_subcommands().map(Command::get_name).collect();
    if names.contains(&lower.as_str()) {
        return Ok(lower);
    }
    let begun: Vec<&str> = names
        .iter()
        .filter(|name| name.starts_with(&lower))
        .copied()
        .collect();
    match begun.as_slice() {
        [one] => return Ok((*one).to_owned()),
        [] => {}
        several => {
            let bench: Vec<&&str> = several.iter().filter(|name| BENCH.contains(name)).collect();
            if let [one] = bench.as_slice() {
                return Ok((**one).to_owned());
            }
            let message = format!("`{word}` could be {}", several.join(", "));
            return Err((message, several.iter().map(|name| (*name).to_owned()).collect()));
        }
    }
    let near = nearest(&lower, names.iter().copied());
    match near.as_slice() {
        [(steps, one), rest @ ..]
            if READS.contains(&one.as_str()) && rest.first().is_none_or(|(others, _)| others > steps) =>
        {
            Ok(one.clone())
        }
        _ => {
            let message = format!("`{word}` is no command");
            Err((message, near.into_iter().map(|(_, name)| name).collect()))
        }
    }
}

/// Where the job belongs: right after the command's words, when it is about a job.
fn place_of_job(words: &[String], command: &Command) -> Option<usize> {
    takes_job(command).then(|| {
        words
            .iter()
            .position(|word| word == command.get_name())
            .map_or(0, |at| at + 1)
    })
}

/// Puts the job in where the line does not name one.
fn put_job(
    reading: &Reading<'_>,
    words: &mut Vec<String>,
    command: &Command,
    job: u32,
    at: usize,
) -> Result<(), Misspelt> {
    let plain = plain(reading, command, &words[at..]);
    let (first, second) = (plain.first().cloned(), plain.get(1).cloned());
    // Without what else must stand there, a number is that: `pay 100 --kind deposit`.
    let required = command
        .get_positionals()
        .filter(|arg| arg.is_required_set())
        .count();
    let before: Vec<String> = words[..at].iter().cloned().chain([job.to_string()]).collect();
    let lacks = plain.len() < required && reading.next(&before, "").free;
    let is_known = |number: u32| reading.vocabulary.job(number).is_some();
    let named = first.as_deref().is_some_and(is_job);
    // A number that may begin what follows: text, or the number of a block.
    let next = command.get_positionals().nth(1).map(|arg| arg.get_id().as_str());
    let unsure = matches!(next, Some("text" | "number" | "about"));
    let alone = second.is_none() || next == Some("number");
    let other = first
        .as_deref()
        .and_then(|word| word.parse::<u32>().ok())
        .filter(|number| *number != job);
    match (named, other) {
        (false, _) => words.insert(at, job.to_string()),
        // `clear 1 --why x` can only be the block.
        (true, _) if unsure && alone && !second.as_deref().is_some_and(is_job) => {
            words.insert(at, job.to_string())
        }
        (true, Some(other)) if lacks && !is_known(other) => words.insert(at, job.to_string()),
        (true, Some(other)) if (unsure || lacks) && !second.as_deref().is_some_and(is_job) => {
            let mut about_this = words.clone();
            about_this.insert(at, job.to_string());
            return Err(Misspelt {
                message: format!(
                    "{other} could be the job or belong to the words; you stand at job {job} (type {other} \
                     alone to stand at job {other})"
                ),
                offers: vec![join(&about_this)],
            });
        }
        (true, _) => {}
    }
    Ok(())
}

/// The words of a command that are no option and no value of one.
fn plain(reading: &Reading<'_>, command: &Command, words: &[String]) -> Vec<String> {
    let known = options(reading.grammar, command);
    let takes_next = |word: &str| {
        let option = known.iter().find(|arg| arg.get_long() == word.strip_prefix("--"));
        option.is_some_and(|arg| arg.get_action().takes_values())
    };
    let mut plain = Vec::new();
    let mut words = words.iter();
    while let Some(word) = words.next() {
        if takes_next(word) {
            words.next();
        } else if !word.starts_with('-') {
            plain.push(word.clone());
        }
    }
    plain
}

/// Beginnings of codes, bolts, runs, slots, checks and the like, made whole where only one word
/// begins so.
fn expanded(reading: &Reading<'_>, words: &[String]) -> Vec<String> {
    let mut whole: Vec<String> = Vec::with_capacity(words.len());
    for (place, word) in words.iter().enumerate() {
        let later = || later_code(reading, &whole, word, words.get(place + 1)?);
        let made = (!word.starts_with('-') && word.len() > 1)
            .then(|| expand(reading, &whole, word).or_else(later))
            .flatten();
        whole.push(made.unwrap_or_else(|| word.clone()));
    }
    whole
}

fn expand(reading: &Reading<'_>, before: &[String], word: &str) -> Option<String> {
    let standing = reading.stand(before)?;
    if standing.command.has_subcommands() || standing.lacks_job || standing.option.is_some() {
        return None;
    }
    let (key, value) = word
        .split_once('=')
        .map_or((word, None), |(key, value)| (key, Some(value)));
    if key.is_empty() || reading.vocabulary.code(key).is_some() {
        return None;
    }
    let sign = if value.is_some() { "=" } else { "" };
    let next = reading.next(before, key);
    let fits = |one: &&Candidate| value.is_none() || one.word.ends_with('=') || !one.word.contains('=');
    let found: Vec<&Candidate> = next.candidates.iter().filter(fits).collect();
    let [one] = found.as_slice() else {
        return None;
    };
    let name = one.word.trim_end_matches('=');
    // A text that is taken as it is must not turn into something else.
    (name != key && !(next.free && value.is_none()))
        .then(|| format!("{name}{sign}{}", value.unwrap_or_default()))
}

/// The code or bolt that a word behind a first reading begins, where a value follows it: `axle 40 arm-b 6`. What
/// may be the unit of the value before it, which is short and has no hyphen, stays.
fn later_code(reading: &Reading<'_>, before: &[String], word: &str, behind: &str) -> Option<String> {
    let standing = reading.stand(before)?;
    let lower = word.to_lowercase();
    let may_be_a_unit = lower.len() < LONGER_THAN_A_UNIT && !lower.contains('-');
    let is_word = lower.starts_with(|letter: char| letter.is_ascii_alphabetic()) && !lower.contains('=');
    if standing.given.len() < 2
        || standing.option.is_some()
        || may_be_a_unit
        || !is_word
        || !begins_as_a_number(behind)
    {
        return None;
    }
    let vocabulary = reading.vocabulary;
    let names: Vec<&str> = match standing.path.as_slice() {
        ["measure"] => vocabulary.codes().map(|row| row.code.as_str()).collect(),
        ["torque"] => vocabulary.bolts().map(|(bolt, _)| bolt).collect(),
        _ => return None,
    };
    let mut begun = names.iter().filter(|name| name.starts_with(&lower));
    match (begun.next(), begun.next()) {
        (Some(one), None) if *one != lower => Some((*one).to_owned()),
        _ => None,
    }
}

/// The line with the word at a place put right in each way that comes near.
fn put_right(reading: &Reading<'_>, words: &[String], at: usize) -> Vec<String> {
    let word = &words[at];
    let (key, value) = word
        .split_once('=')
        .map_or((word.as_str(), ""), |(key, value)| (key, value));
    let all = reading
        .next(&words[..at], if word.starts_with('-') { "--" } else { "" })
        .candidates;
    let names: Vec<&str> = all.iter().map(|one| one.word.trim_end_matches('=')).collect();
    let aliases = reading
        .vocabulary
        .words
        .codes
        .iter()
        .map(|row| row.alias.as_str());
    if names.contains(&key) || aliases.clone().any(|alias| alias == key) {
        return Vec::new();
    }
    let near = nearest(&key.to_lowercase(), names.iter().copied());
    let sign = if word.contains('=') { "=" } else { "" };
    near.into_iter()
        .map(|(_, name)| with(words, at, &format!("{name}{sign}{value}")))
        .collect()
}

/// A line with one word in another's place.
fn with(words: &[String], at: usize, word: &str) -> String {
    let mut words = words.to_vec();
    words[at] = word.to_owned();
    join(&words)
}

/// Names near to a word with their distance, best first: at most a third of the letters, at least
/// one and at most three, inserted, left out, changed or swapped; or a beginning.
pub(crate) fn nearest<'n>(word: &str, names: impl Iterator<Item = &'n str>) -> Vec<(usize, String)> {
    let mut near: Vec<(usize, String)> = names
        .filter_map(|name| {
            let begins = word.chars().count() >= 2 && name.starts_with(word);
            let steps = if begins {
                1
            } else {
                strsim::osa_distance(word, name)
            };
            let letters = word.chars().count().max(name.chars().count());
            (steps <= (letters / 3).clamp(1, 3)).then(|| (steps, name.to_owned()))
        })
        .collect();
    near.sort();
    near.dedup();
    near.truncate(OFFERS);
    near
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{CheckRow, CodeRow, JobLine, WordsReply};

    use super::*;
    use crate::line;
    use crate::prompt::split::split;
    use crate::prompt::vocabulary::Vocabulary;

    fn vocabulary() -> Vocabulary {
        let code = |code: &str, alias: &str, group: &str| CodeRow {
            code: code.to_owned(),
            alias: alias.to_owned(),
            name: code.replace('-', " "),
            group: group.to_owned(),
            ..CodeRow::default()
        };
        let check = |check: &str| CheckRow {
            check: check.to_owned(),
            concedable: true,
            ..CheckRow::default()
        };
        Vocabulary {
            words: WordsReply {
                codes: vec![
                    code("chainline-front", "clf", "fitting"),
                    code("chainline-rear", "clr", "donor"),
                    code("motor-gap", "gapm", "fitting"),
                    code("hill-grade", "", "brief"),
                    code("fuse-volts", "", "fitting"),
                    code("fuse", "", "fitting"),
                    code("wheel-circumference", "circ", "donor"),
                    code("torque-lockring", "", "torque"),
                    code("torque-axle", "", "torque"),
                    code("torque-arm-bolts", "", "torque"),
                ],
                checks: vec![check("hill.restart"), check("hill.climb_speed")],
                gates: vec!["intake".to_owned(), "fitting".to_owned()],
                ..WordsReply::default()
            },
            jobs: vec![JobLine {
                job: 21,
                ..JobLine::default()
            }],
            parts: Vec::new(),
        }
    }

    fn with_job(job: Option<u32>, line: &str) -> Result<String, Misspelt> {
        let (grammar, vocabulary) = (line::grammar(), vocabulary());
        let reading = Reading {
            grammar: &grammar,
            vocabulary: &vocabulary,
            job,
        };
        spelt(&reading, &split(line)).map(|words| join(&words))
    }

    #[test]
    fn beginnings_and_the_current_job_make_whole_lines() {
        for (typed, whole) in [
            ("m clf 51,5", "measure 21 clf 51,5"),
            ("me chainline-f 2 1/16 in", "measure 21 chainline-front 2 1/16 in"),
            ("meas 3 gapm 0", "measure 3 gapm 0"),
            ("m motor-g=2,6 clf=51", "measure 21 motor-gap=2,6 clf=51"),
            ("to lock 40", "torque 21 lockring 40"),
            (
                "conc hill.r --why \"knows it\"",
                "concede 21 hill.restart --why \"knows it\"",
            ),
            ("note he rang", "note 21 he rang"),
            ("clear 1 --why x", "clear 21 1 --why x"),
            ("jobs", "jobs"),
            ("daemon stat", "daemon status"),
            ("bri hill-g=8%", "brief 21 hill-grade=8%"),
        ] {
            assert_eq!(with_job(Some(21), typed).as_deref(), Ok(whole), "{typed}");
        }
        assert_eq!(with_job(None, "sh 3").as_deref(), Ok("show 3"));
        assert!(
            with_job(None, "m clf 51")
                .unwrap_err()
                .message
                .contains("no number names one")
        );
    }

    /// What stands behind an option is its value, and no job.
    #[test]
    fn the_job_is_put_in_wherever_the_line_leaves_it_out() {
        for (typed, whole) in [
            ("pay 100 --kind deposit", "pay 21 100 --kind deposit"),
            ("pay 100,00", "pay 21 100,00"),
            ("pay 3 100", "pay 3 100"),
            ("undo --entry 3", "undo 21 --entry 3"),
            (
                "quote add part chain --price 22",
                "quote 21 add part chain --price 22",
            ),
            ("quote 3 ad part chain", "quote 3 add part chain"),
            ("quote", "quote 21"),
        ] {
            assert_eq!(with_job(Some(21), typed).as_deref(), Ok(whole), "{typed}");
        }
        // The number of a job under way that may as well be the amount.
        let misspelt = with_job(Some(3), "pay 21 --kind deposit").unwrap_err();
        assert_eq!(misspelt.offers, ["pay 3 21 --kind deposit"]);
        assert!(
            with_job(None, "quote add part")
                .unwrap_err()
                .message
                .contains("no number names one")
        );
        // The job before the command.
        let misspelt = with_job(Some(3), "21 m circ 2170").unwrap_err();
        assert_eq!(
            misspelt.offers.first().map(String::as_str),
            Some("measure 21 circ 2170")
        );
    }

    #[test]
    fn a_second_reading_of_a_line_may_be_begun_as_the_first() {
        for (typed, whole) in [
            ("to axle 40 arm-b 6", "torque 21 axle 40 arm-bolts 6"),
            ("m fuse 20A fuse-v 60V", "measure 21 fuse 20A fuse-volts 60V"),
            // A unit stays one.
            ("to axle 40 Nm arm-b 6", "torque 21 axle 40 Nm arm-bolts 6"),
            ("m gapm 2 1/16 in", "measure 21 gapm 2 1/16 in"),
        ] {
            assert_eq!(with_job(Some(21), typed).as_deref(), Ok(whole), "{typed}");
        }
    }

    #[test]
    fn a_beginning_of_several_words_is_asked_about() {
        let misspelt = with_job(Some(21), "re").unwrap_err();
        assert!(misspelt.message.contains("receive, "), "{}", misspelt.message);
        assert!(!misspelt.offers.is_empty());
        // The daemon tells what two codes begin alike.
        assert_eq!(
            with_job(Some(21), "m chainline 51").as_deref(),
            Ok("measure 21 chainline 51")
        );
    }

    #[test]
    fn a_mistyped_command_runs_only_when_it_reads() {
        assert_eq!(with_job(Some(21), "shwo").as_deref(), Ok("show 21"));
        let misspelt = with_job(Some(21), "measrue clf 51").unwrap_err();
        assert_eq!(misspelt.offers, ["measure clf 51"]);
        assert!(with_job(None, "zzzz").unwrap_err().offers.is_empty());
        // A blank that was not hit.
        let misspelt = with_job(Some(21), "measuregapm 2,6").unwrap_err();
        assert_eq!(misspelt.offers, ["measure gapm 2,6"]);
        let misspelt = with_job(Some(21), "hold--why holiday").unwrap_err();
        assert_eq!(misspelt.offers, ["hold --why holiday"]);
        // Words of a command that has commands below it.
        assert_eq!(
            with_job(Some(21), "order motor --from M").as_deref(),
            Ok("order 21 motor --from M")
        );
        assert_eq!(with_job(Some(21), "order list").as_deref(), Ok("order list"));
    }

    #[test]
    fn words_in_another_order_are_offered_in_the_one_of_the_bench() {
        for (typed, offered) in [
            ("gapm 2.6 measure", "measure gapm 2.6"),
            ("2.6 gapm measure", "measure gapm 2.6"),
            ("2.6 measure gapm", "measure gapm 2.6"),
            ("40 Nm lockring", "torque lockring 40 Nm"),
            ("lockring 40 torque", "torque lockring 40"),
            ("gapm 2.6", "measure gapm 2.6"),
            ("3 gapm 2.6", "measure 3 gapm 2.6"),
            ("3 2.6 gapm measure", "measure 3 gapm 2.6"),
        ] {
            let misspelt = with_job(Some(21), typed).unwrap_err();
            assert_eq!(
                misspelt.offers.first().map(String::as_str),
                Some(offered),
                "{typed}"
            );
        }
        // Nothing that is read at the bench, and nothing read.
        for typed in ["zzzz 2.6", "gapm", "hill-grade 8%"] {
            let offers = with_job(Some(21), typed).unwrap_err().offers;
            assert!(
                !offers.iter().any(|line| line.contains(typed)),
                "{typed}: {offers:?}"
            );
        }
        let (grammar, vocabulary) = (line::grammar(), vocabulary());
        let reading = Reading {
            grammar: &grammar,
            vocabulary: &vocabulary,
            job: Some(21),
        };
        for (refused, offered) in [
            ("measure 21 2.6 gapm", "measure 21 gapm 2.6"),
            ("measure 2.6 gapm", "measure gapm 2.6"),
            ("torque 21 40 Nm lockring", "torque 21 lockring 40 Nm"),
        ] {
            let offers = offers(&reading, &split(refused));
            assert_eq!(offers.first().map(String::as_str), Some(offered), "{refused}");
        }
        assert!(!offers(&reading, &split("measure 21 gapm 2.6")).contains(&"measure 21 gapm 2.6".to_owned()));
    }

    #[test]
    fn a_number_before_words_is_never_taken_for_a_job_in_silence() {
        let misspelt = with_job(Some(21), "note 2 spokes replaced").unwrap_err();
        assert_eq!(misspelt.offers, ["note 21 2 spokes replaced"]);
        assert!(misspelt.message.contains("type 2 alone"), "{}", misspelt.message);
        assert_eq!(with_job(Some(21), "note 21 rang").as_deref(), Ok("note 21 rang"));
        assert_eq!(
            with_job(Some(21), "note 2 2 spokes replaced").as_deref(),
            Ok("note 2 2 spokes replaced")
        );
        assert_eq!(with_job(None, "note 2 spokes").as_deref(), Ok("note 2 spokes"));
    }

    #[test]
    fn a_refused_line_is_offered_with_its_word_put_right() {
        let (grammar, vocabulary) = (line::grammar(), vocabulary());
        let reading = Reading {
            grammar: &grammar,
            vocabulary: &vocabulary,
            job: Some(21),
        };
        for (typed, offered) in [
            ("measure 21 chainlien-front 51", "measure 21 chainline-front 51"),
            (
                "concede 21 hill.restrat --why x",
                "concede 21 hill.restart --why x",
            ),
            ("check 21 --gtae intake", "check 21 --gate intake"),
            ("brief 21 hil-grade=8%", "brief 21 hill-grade=8%"),
        ] {
            assert!(
                offers(&reading, &split(typed)).contains(&offered.to_owned()),
                "{typed}: {:?}",
                offers(&reading, &split(typed))
            );
        }
    }

    /// A line with one letter left out, doubled, changed or swapped with the next.
    fn mistyped(line: &str, dice: &mut impl FnMut(usize) -> usize) -> String {
        let mut letters: Vec<char> = line.chars().collect();
        let at = dice(letters.len());
        match dice(4) {
            0 => drop(letters.remove(at)),
            1 => letters.insert(at, letters[at]),
            2 => letters[at] = char::from(b'a' + u8::try_from(dice(26)).unwrap()),
            _ if at + 1 < letters.len() => letters.swap(at, at + 1),
            _ => letters.truncate(at),
        }
        letters.into_iter().collect()
    }

    /// Ten thousand slips: each ends in a line or in a complaint with offers, none is about another
    /// job, and nine of ten lead to the command that was meant.
    #[test]
    fn ten_thousand_slips_reach_the_command_that_was_meant_and_no_other_job() {
        let (grammar, vocabulary) = (line::grammar(), vocabulary());
        let reading = Reading {
            grammar: &grammar,
            vocabulary: &vocabulary,
            job: Some(21),
        };
        let lines = [
            "measure chainline-front 51.5",
            "measure gapm 2,6",
            "torque lockring 40",
            "note spokes are tight",
            "concede hill.restart --why road",
            "explain hill.climb_speed",
            "check --gate intake",
            "advance",
            "brief hill-grade=8%",
            "donor tyre-size=47-622",
            "show",
            "jobs",
            "history",
            "undo",
            "chainline",
            "release",
            "receive motor --serial M1",
            "order motor --from M",
            "words codes",
            "regear",
            "propose",
            "predict",
            "status",
            "verify",
            "hold --why holiday",
        ];
        // Multiplier and increment of Knuth's MMIX generator.
        let mut state: u64 = 20_261_125;
        let mut dice = |below: usize| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            usize::try_from((state >> 33) % below as u64).unwrap()
        };
        let (tries, mut reached) = (10_000, 0);
        for _ in 0..tries {
            let meant = lines[dice(lines.len())];
            let typed = mistyped(meant, &mut dice);
            let command = meant.split(' ').next().unwrap();
            let begins = |line: &str| line.split(' ').next() == Some(command);
            let led = match spelt(&reading, &split(&typed)) {
                Ok(words) => {
                    let about = words.get(1).filter(|word| is_job(word));
                    assert!(about.is_none_or(|job| job == "21"), "{typed} became {words:?}");
                    words.first().is_some_and(|word| begins(word))
                }
                Err(misspelt) => misspelt.offers.iter().any(|line| begins(line)),
            };
            reached += usize::from(led);
        }
        assert!(reached * 10 >= tries * 9, "{reached} of {tries}");
    }
}
