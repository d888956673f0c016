//! Every command that a text of the house names is one that can be typed: the sources are read for
//! `lockring …` in what they say, and each is put through the grammar of the command line.

use std::path::{Path, PathBuf};

use crate::line;
use crate::prompt::split::split;

/// Where texts are made.
const ROOMS: [&str; 4] = ["../daemon/domain/src", "../daemon/src", "src", "paper/src"];

fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() && name != "tests" {
            sources(&path, into);
        } else if name.ends_with(".rs") && !name.starts_with("test") && name != "hints.rs" {
            into.push(path);
        }
    }
}

/// A string literal with the line it begins in.
type Literal = (usize, String);

/// The string literals of a source, as far as its tests.
fn literals(source: &str) -> Vec<Literal> {
    let source = source.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let (mut found, mut inside) = (Vec::new(), None::<Literal>);
    let (mut letters, mut line) = (source.chars().peekable(), 1);
    let mut before = ' ';
    while let Some(letter) = letters.next() {
        line += usize::from(letter == '\n');
        match (&mut inside, letter) {
            (None, '/') if letters.peek() == Some(&'/') => {
                while letters.next_if(|letter| *letter != '\n').is_some() {}
            }
            // A quote as a letter of its own.
            (None, '"') if before == '\'' => {}
            (None, '"') => inside = Some((line, String::new())),
            (Some((_, text)), '\\') => match letters.next() {
                Some('\n') => {
                    line += 1;
                    while letters
                        .next_if(|letter| letter.is_whitespace())
                        .is_some_and(|letter| {
                            line += usize::from(letter == '\n');
                            true
                        })
                    {}
                }
                Some('n') => text.push('\n'),
                Some(letter) => text.push(letter),
                None => {}
            },
            (Some(_), '"') => found.extend(inside.take()),
            (Some((_, text)), letter) => text.push(letter),
            (None, _) => {}
        }
        before = letter;
    }
    found
}

/// What a placeholder of a text stands for: a number serves where a job, a slot or a value is meant.
fn filled(text: &str) -> String {
    let mut filled = String::new();
    let mut depth = 0;
    for letter in text.chars() {
        match letter {
            '{' => depth += 1,
            '}' => {
                depth -= 1;
                filled.push('1');
            }
            _ if depth > 0 => {}
            '…' => filled.push('x'),
            letter => filled.push(letter),
        }
    }
    filled
}

/// The commands a text names, each with whether its end is marked by a backtick.
fn commands(text: &str) -> Vec<(String, bool)> {
    let mut found = Vec::new();
    for (at, _) in text.match_indices("lockring ") {
        if text[..at].ends_with(|letter: char| letter.is_alphanumeric() || "-_/.".contains(letter)) {
            continue;
        }
        let rest = &text[at + "lockring ".len()..];
        let marked = text[..at].ends_with('`');
        let ends: &[char] = if marked {
            &['`']
        } else {
            &['`', '\n', ';', '(', ')']
        };
        let command = rest.split(ends).next().unwrap_or_default();
        found.push((filled(command), marked));
    }
    found
}

/// Whether words can be typed. `JOB` and `NUMBER` stand for one, and a placeholder where a command has
/// further ones for any of those.
fn reads(grammar: &clap::Command, words: &[String]) -> bool {
    let numbered = |word: &String| matches!(word.as_str(), "JOB" | "NUMBER").then(|| "1".to_owned());
    let words: Vec<String> = words
        .iter()
        .map(|word| numbered(word).unwrap_or_else(|| word.clone()))
        .collect();
    let below = words.first().and_then(|first| grammar.find_subcommand(first));
    let further: Vec<String> = below.map(first_words).unwrap_or_default();
    let mut readings = vec![words.clone()];
    if words.get(1).is_some_and(|word| word == "1") {
        readings.extend(further.into_iter().map(|one| {
            let mut words = words.clone();
            words[1] = one;
            words
        }));
    }
    readings.iter().any(|words| reads_as_it_is(grammar, words))
}

/// The words that a command takes first: those below it, or the values of its first argument.
fn first_words(command: &clap::Command) -> Vec<String> {
    let below = command.get_subcommands().map(|one| one.get_name().to_owned());
    let first = command.get_positionals().next();
    let values = first.map(clap::Arg::get_possible_values).unwrap_or_default();
    below
        .chain(values.iter().map(|value| value.get_name().to_owned()))
        .collect()
}

fn reads_as_it_is(grammar: &clap::Command, words: &[String]) -> bool {
    let words = std::iter::once("lockring".to_owned()).chain(words.iter().cloned());
    match grammar.clone().try_get_matches_from(words) {
        Ok(_) => true,
        Err(error) => !error.use_stderr(),
    }
}

/// Whether it only names a command, one below another with the job before it, or shows how one is used.
fn is_a_name(grammar: &clap::Command, words: &[String]) -> bool {
    let mut names = words.iter().filter(|word| !matches!(word.as_str(), "1" | "x"));
    let mut command = Some(grammar);
    let mut is_below = true;
    names.all(|name| {
        command = command.and_then(|command| command.find_subcommand(name));
        is_below &= command.is_some();
        is_below
    }) || words.iter().any(|word| word == "[OPTIONS]")
}

#[test]
fn every_command_that_a_text_names_can_be_typed() {
    let grammar = line::grammar();
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for room in ROOMS {
        sources(&here.join(room), &mut files);
    }
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for file in files {
        for (line, text) in literals(&std::fs::read_to_string(&file).unwrap()) {
            for (command, marked) in commands(&text) {
                let words = split(&command);
                let is_one = words
                    .first()
                    .is_some_and(|first| grammar.find_subcommand(first).is_some());
                if !is_one && !marked {
                    // Words about the program, such as "lockring is".
                    continue;
                }
                seen += 1;
                // Without a mark nobody knows where prose goes on: some beginning is the command.
                let least = if marked { words.len() } else { 1 };
                let typed = (least..=words.len()).any(|count| reads(&grammar, &words[..count]));
                if !typed && !is_a_name(&grammar, &words) {
                    wrong.push(format!("{}:{line}: lockring {command}", file.display()));
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {seen}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    assert!(seen > 300, "{seen} commands were found");
}

#[test]
fn what_cannot_be_typed_is_found() {
    let grammar = line::grammar();
    let whole = |text: &str| {
        let (command, _) = commands(text).remove(0);
        let words = split(&command);
        (1..=words.len()).any(|count| reads(&grammar, &words[..count]))
    };
    assert!(!whole(
        "this is the shop's own money: lockring pay {job} deposit {}"
    ));
    assert!(whole(
        "this is the shop's own money: `lockring pay {job} {} --kind deposit`"
    ));
    assert_eq!(
        literals("say(\"a \\\n   b\"); // \"c\"\n '\"' \"d\""),
        [(1, "a b".into()), (3, "d".into())]
    );
}
