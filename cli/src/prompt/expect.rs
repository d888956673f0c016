//! What may come next on a bench line: the one answer behind completion, `?` and abbreviations.

use clap::{Arg, Command};
use lockring_proto::v1::{CodeRow, JobLine};

use crate::prompt::vocabulary::Vocabulary;

/// A word that may come next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Candidate {
    /// The word; one that goes on, such as `hill-grade=`, ends in its sign.
    pub(crate) word: String,
    /// What it means; may be empty.
    pub(crate) about: String,
    /// Its short form; may be empty.
    pub(crate) short: String,
}

/// What may come next.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Next {
    /// What is expected, in words; empty when nothing may come.
    pub(crate) says: String,
    /// Words that begin as what was typed; none where anything may come.
    pub(crate) candidates: Vec<Candidate>,
    /// Other words are taken too: a value, free text, a file.
    pub(crate) free: bool,
}

/// What a line is read with.
pub(crate) struct Reading<'r> {
    /// The commands and their options.
    pub(crate) grammar: &'r Command,
    /// The words of the shop.
    pub(crate) vocabulary: &'r Vocabulary,
    /// The job that a line is about when it names none.
    pub(crate) job: Option<u32>,
}

/// Where a line stands: the command it names and what it has given it.
pub(crate) struct Standing<'r> {
    /// The command, or the group of commands so far.
    pub(crate) command: &'r Command,
    /// Its words, such as `["catalogue", "show"]`.
    pub(crate) path: Vec<&'r str>,
    /// The plain words given to it, the job's number left out.
    pub(crate) given: Vec<String>,
    /// The option whose value comes next.
    pub(crate) option: Option<&'r Arg>,
    /// The command is about a job, and the line does not name one yet.
    pub(crate) lacks_job: bool,
}

impl<'r> Reading<'r> {
    /// What may come after these whole words, with this much of the next one typed.
    pub(crate) fn next(&self, before: &[String], partial: &str) -> Next {
        let Some(standing) = self.stand(before) else {
            return Next::default();
        };
        let mut next = self.at(&standing, partial);
        let lower = partial.to_lowercase();
        next.candidates.retain(|one| {
            one.word.to_lowercase().starts_with(&lower) || (lower.len() > 1 && one.short.starts_with(&lower))
        });
        next
    }

    /// Reads whole words; `None` when the command is not known.
    pub(crate) fn stand(&self, words: &[String]) -> Option<Standing<'r>> {
        let mut standing = Standing {
            command: self.grammar,
            path: Vec::new(),
            given: Vec::new(),
            option: None,
            lacks_job: false,
        };
        let mut rest_is_plain = false;
        for word in words {
            if standing.option.take().is_some() {
                continue;
            }
            if !rest_is_plain && word == "--" {
                rest_is_plain = true;
            } else if !rest_is_plain && word.starts_with("--") {
                let (name, glued) = (word.trim_start_matches('-'), word.contains('='));
                let known = options(self.grammar, standing.command);
                let option = known.into_iter().find(|arg| arg.get_long() == Some(name));
                standing.option = option.filter(|arg| !glued && arg.get_action().takes_values());
            } else if standing.command.has_subcommands() {
                let command = standing.command.find_subcommand(word)?;
                standing.path.push(command.get_name());
                standing.lacks_job = takes_job(command);
                standing.command = command;
            } else if standing.lacks_job {
                standing.lacks_job = false;
                if !is_job(word) {
                    standing.given.push(word.clone());
                }
            } else {
                standing.given.push(word.clone());
            }
        }
        Some(standing)
    }

    fn at(&self, standing: &Standing<'_>, partial: &str) -> Next {
        if let Some(option) = standing.option {
            return self.value_of(standing, option);
        }
        if partial.starts_with('-') && !is_number(partial) {
            return option_names(self.grammar, standing.command);
        }
        if standing.command.has_subcommands() {
            return commands(standing.command);
        }
        let no_job = Next {
            says: "the number of a job".to_owned(),
            candidates: self.jobs(),
            free: false,
        };
        let names_job = partial.starts_with(|letter: char| letter.is_ascii_digit());
        if standing.lacks_job && (self.job.is_none() || names_job) {
            return no_job;
        }
        let places: Vec<&Arg> = standing
            .command
            .get_positionals()
            .filter(|arg| arg.get_id() != "job")
            .collect();
        let last = places.last().filter(|arg| takes_many(arg)).copied();
        match places.get(standing.given.len()).copied().or(last) {
            Some(arg) if arg.get_id() == "job" => no_job,
            Some(arg) => self.place(standing, arg, partial),
            None => Next {
                says: "nothing more, or an option".to_owned(),
                candidates: option_names(self.grammar, standing.command).candidates,
                free: false,
            },
        }
    }

    /// What may stand at a place.
    fn place(&self, standing: &Standing<'_>, arg: &Arg, partial: &str) -> Next {
        let words = self.vocabulary;
        let about = help_of(arg);
        let first = standing.given.first().map(String::as_str);
        match (standing.path.as_slice(), arg.get_id().as_str()) {
            (["measure"], "words") => match first {
                None if partial.contains('=') => self.pair(partial),
                None => codes("a code", words.codes(), ""),
                Some(code) if code.contains('=') => self.pairs(partial, &["donor", "fitting", "handover"]),
                Some(code) => self.value(code),
            },
            (["torque"], "words") => match first {
                None => one_of(
                    "a bolt",
                    words
                        .bolts()
                        .map(|(bolt, row)| (bolt.to_owned(), row.name.clone())),
                ),
                Some(bolt) => self.value(&format!("torque-{bolt}")),
            },
            (["ride"], "run") => {
                let plan = [("plan".to_owned(), "show the sheet of runs".to_owned())];
                let runs = words
                    .words
                    .runs
                    .iter()
                    .map(|run| (run.run.clone(), run.what.clone()));
                one_of("a run", runs.chain(plan))
            }
            (["ride"], "values") => self.run_values(first.unwrap_or_default()),
            (["brief" | "donor"], "values") => match first {
                // `range 40 km`: what follows a bare code is its value.
                Some(code) if !code.contains('=') => self.value(code),
                _ => self.pairs(partial, &standing.path),
            },
            (["take-in"], "values") => self.pairs(partial, &["brief", "donor"]),
            (["build"], "parts") => match first {
                Some(slot) if !slot.contains('=') => self.part_of(slot, ""),
                _ => self.slot_and_part(partial),
            },
            (["order"], "slots") | (["receive"], "slot") => one_of(
                "a slot",
                words
                    .slots()
                    .into_iter()
                    .map(|slot| (slot.to_owned(), String::new())),
            ),
            (["receive"], "found") => self.attributes(first.unwrap_or_default()),
            (["explain" | "concede"], "check") => {
                let checks = words.words.checks.iter();
                let concedable = checks.filter(|check| check.concedable || standing.path != ["concede"]);
                one_of(
                    "a check",
                    concedable.map(|check| (check.check.clone(), check.title.clone())),
                )
            }
            (["back"], "stage") => one_of("a stage", plain(&words.words.gates)),
            (["block"], "family") => one_of("a family of blocks", plain(&words.words.families)),
            (["catalogue", "show" | "set" | "withdraw" | "offer"], "id") => one_of(
                "a part",
                words
                    .parts
                    .iter()
                    .map(|part| (part.id.clone(), part.name.clone())),
            ),
            (["catalogue", _], "kind") => one_of(
                "a kind of part",
                words
                    .words
                    .kinds
                    .iter()
                    .map(|kind| (kind.kind.clone(), String::new())),
            ),
            (["help"], _) => Next {
                says: "a command or a topic".to_owned(),
                ..commands(self.grammar)
            },
            _ => with_choices(arg, about),
        }
    }

    /// What may be the value of an option.
    fn value_of(&self, standing: &Standing<'_>, option: &Arg) -> Next {
        match (standing.path.as_slice(), option.get_id().as_str()) {
            (_, "gate") => one_of("a gate", plain(&self.vocabulary.words.gates)),
            (_, "whose") => one_of("whose move it is", plain(&self.vocabulary.words.movers)),
            (_, "kind") => {
                let kinds = self.vocabulary.words.kinds.iter();
                one_of(
                    "a kind of part",
                    kinds.map(|kind| (kind.kind.clone(), String::new())),
                )
            }
            _ => with_choices(option, help_of(option)),
        }
    }

    fn jobs(&self) -> Vec<Candidate> {
        let jobs = self.vocabulary.jobs.iter();
        let line = |job: &JobLine| Candidate {
            word: job.job.to_string(),
            about: format!("{}, {}", job.rider, job.stage),
            short: String::new(),
        };
        jobs.map(line).collect()
    }

    /// The value of a code.
    fn value(&self, code: &str) -> Next {
        let Some(row) = self.vocabulary.code(code) else {
            return Next {
                says: "a value".to_owned(),
                free: true,
                ..Next::default()
            };
        };
        Next {
            says: format!("{}: {}, such as {}", row.name, row.expects, row.example),
            candidates: plain(&row.choices).map(candidate).collect(),
            free: true,
        }
    }

    /// `KEY=`, or the value after it.
    fn pairs(&self, partial: &str, groups: &[&str]) -> Next {
        if partial.contains('=') {
            return self.pair(partial);
        }
        let rows = self
            .vocabulary
            .codes()
            .filter(|row| groups.contains(&row.group.as_str()));
        codes("CODE=VALUE", rows, "=")
    }

    fn pair(&self, partial: &str) -> Next {
        let key = partial.split('=').next().unwrap_or_default();
        let mut next = self.value(key);
        for one in &mut next.candidates {
            one.word = format!("{key}={}", one.word);
        }
        next
    }

    fn run_values(&self, run: &str) -> Next {
        let runs = &self.vocabulary.words.runs;
        let Some(run) = runs.iter().find(|row| row.run == run) else {
            return Next {
                says: "values of the run".to_owned(),
                free: true,
                ..Next::default()
            };
        };
        Next {
            says: format!("values in this order, or FIELD=VALUE: {}", run.fields.join(", ")),
            candidates: run
                .fields
                .iter()
                .map(|field| candidate((format!("{field}="), String::new())))
                .collect(),
            free: true,
        }
    }

    fn slot_and_part(&self, partial: &str) -> Next {
        let Some((slot, _)) = partial.split_once('=') else {
            let slots = self.vocabulary.slots().into_iter();
            return one_of("SLOT=PART", slots.map(|slot| (format!("{slot}="), String::new())));
        };
        self.part_of(slot, &format!("{slot}="))
    }

    /// The parts of a slot, each behind what stands before it in the same word.
    fn part_of(&self, slot: &str, before: &str) -> Next {
        let parts = self.vocabulary.parts_for(slot);
        let parts = parts.map(|part| (format!("{before}{}", part.id), part.name.clone()));
        let none = [(format!("{before}none"), "the slot stays empty".to_owned())];
        one_of("the part", parts.chain(none))
    }

    fn attributes(&self, slot: &str) -> Next {
        let kinds = self.vocabulary.words.kinds.iter();
        let of_slot = kinds.filter(|kind| kind.slots.iter().any(|one| one == slot));
        let rows = of_slot.flat_map(|kind| &kind.attributes);
        let next = one_of(
            "ATTRIBUTE=VALUE as read off the part",
            rows.map(|row| (format!("{}=", row.key), format!("{}: {}", row.name, row.expects))),
        );
        Next { free: true, ..next }
    }
}

/// Whether a word names a job.
pub(crate) fn is_job(word: &str) -> bool {
    word.parse::<u32>().is_ok()
}

/// Whether a command is about one job, which its line names first.
pub(crate) fn takes_job(command: &Command) -> bool {
    command
        .get_positionals()
        .next()
        .is_some_and(|arg| arg.get_id() == "job")
}

/// A value with a hyphen before it, and no option.
fn is_number(word: &str) -> bool {
    word.trim_start_matches('-')
        .trim_start_matches(['.', ','])
        .starts_with(|letter: char| letter.is_ascii_digit())
}

fn takes_many(arg: &Arg) -> bool {
    arg.get_num_args().is_some_and(|range| range.max_values() > 1)
        || matches!(arg.get_action(), clap::ArgAction::Append)
}

/// The options of a command, those of every command among them.
pub(crate) fn options<'r>(grammar: &'r Command, command: &'r Command) -> Vec<&'r Arg> {
    let of_all = grammar.get_arguments().filter(|arg| arg.is_global_set());
    let mut found: Vec<&Arg> = command.get_arguments().chain(of_all).collect();
    found.retain(|arg| arg.get_long().is_some() && !arg.is_hide_set());
    found
}

fn option_names(grammar: &Command, command: &Command) -> Next {
    let named = |arg: &&Arg| arg.get_long().map(|long| (format!("--{long}"), help_of(arg)));
    one_of("an option", options(grammar, command).iter().filter_map(named))
}

fn commands(command: &Command) -> Next {
    let named = |sub: &Command| {
        let about = sub.get_about().map(ToString::to_string).unwrap_or_default();
        (sub.get_name().to_owned(), about)
    };
    one_of("a command", command.get_subcommands().map(named))
}

fn with_choices(arg: &Arg, about: String) -> Next {
    let choices = arg.get_possible_values();
    let candidates: Vec<Candidate> = choices
        .iter()
        .map(|choice| {
            let about = choice.get_help().map(ToString::to_string).unwrap_or_default();
            candidate((choice.get_name().to_owned(), about))
        })
        .collect();
    Next {
        says: about,
        free: candidates.is_empty(),
        candidates,
    }
}

fn help_of(arg: &Arg) -> String {
    arg.get_help().map(ToString::to_string).unwrap_or_default()
}

fn codes<'w>(says: &str, rows: impl Iterator<Item = &'w CodeRow>, sign: &str) -> Next {
    let one = |row: &CodeRow| Candidate {
        word: format!("{}{sign}", row.code),
        about: if row.alias.is_empty() {
            row.name.clone()
        } else {
            format!("{}: {}", row.alias, row.name)
        },
        short: row.alias.clone(),
    };
    Next {
        says: says.to_owned(),
        candidates: rows.map(one).collect(),
        free: false,
    }
}

fn plain(words: &[String]) -> impl Iterator<Item = (String, String)> {
    words.iter().map(|word| (word.clone(), String::new()))
}

fn candidate((word, about): (String, String)) -> Candidate {
    Candidate {
        word,
        about,
        short: String::new(),
    }
}

fn one_of(says: &str, words: impl Iterator<Item = (String, String)>) -> Next {
    Next {
        says: says.to_owned(),
        candidates: words.map(candidate).collect(),
        free: false,
    }
}
