//! The questions of `lockring take-in`.

use std::collections::BTreeMap;
use std::io::BufRead;

use lockring_proto::v1::{Assignment, ClassRow, CodeRow, WordsReply};

use crate::command_error::{CommandError, Exit};
use crate::output::Out;
use crate::prompt::{Typed, read};

/// The codes asked for, in the order of a talk over the counter: first the rider, then the
/// bicycle. A code the daemon does not know is left out; all others are stated by line.
const ASKED: &[&str] = &[
    "bike",
    "contact",
    "ride-class",
    "range",
    "hill-grade",
    "hill-length",
    "hill-source",
    "hill-speed",
    "cruise-speed",
    "rider-mass",
    "load-mass",
    "coldest",
    "budget",
    "promise",
    "frame-number",
    "frame-material",
    "fork-kind",
    "damage",
    "shell-standard",
    "tyre-size",
    "cogs",
    "brake-front",
    "brake-rear",
];

/// The code whose words are those of a table.
const CLASS: &str = "ride-class";

/// What the questions brought.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answers {
    /// The rider's name.
    pub(crate) rider: String,
    /// Values by code.
    pub(crate) values: Vec<Assignment>,
}

/// Asks for the rider and then code by code. `attempt` says whether an answer is taken; one
/// that is not is asked for again with the reason.
///
/// # Errors
/// [`Exit::Usage`] when the questions are left; whatever `attempt` meets that no other answer
/// would cure, such as a daemon that ended.
pub(crate) async fn ask(
    input: &mut dyn BufRead,
    out: &mut Out<'_>,
    words: &WordsReply,
    attempt: impl AsyncFn(&str, Assignment) -> Result<(), CommandError>,
) -> Result<Answers, CommandError> {
    let explained =
        "Enter skips a question, - goes back, ? says what is expected, Ctrl-D leaves and stores nothing.";
    out.wrapped("", "", explained)?;
    let asked: Vec<&CodeRow> = ASKED
        .iter()
        .filter_map(|code| words.codes.iter().find(|row| row.code == *code))
        .collect();
    let mut rider = ask_rider(input, out)?;
    let mut values: BTreeMap<usize, String> = BTreeMap::new();
    let mut at = 0;
    loop {
        let Some(row) = asked.get(at) else {
            out.wrapped(
                "",
                "",
                &format!(
                    "Take in {rider} with {} values? Enter takes in, - goes back.",
                    values.len()
                ),
            )?;
            match read(input, out)? {
                Typed::Back => at = at.saturating_sub(1),
                Typed::Skip => break,
                Typed::Asked => {
                    out.line("Enter stores the job, - goes back to the last question, Ctrl-D leaves.")?
                }
                Typed::Answer(other) => out.line(format_args!("`{other}` is neither Enter nor -"))?,
            }
            continue;
        };
        print_question(out, row, values.get(&at))?;
        match read(input, out)? {
            Typed::Skip => at += 1,
            Typed::Back if at == 0 => rider = ask_rider(input, out)?,
            Typed::Back => at -= 1,
            Typed::Asked => explain(out, row, &words.classes)?,
            Typed::Answer(value) => {
                let value = Assignment {
                    field: row.code.clone(),
                    value,
                };
                match attempt(&rider, value.clone()).await {
                    Ok(()) => {
                        values.insert(at, value.value);
                        at += 1;
                    }
                    Err(error) if cured_by_another_answer(error.kind) => {
                        out.raw(&error.text(out.look.colour))?
                    }
                    Err(error) => return Err(error),
                }
            }
        }
    }
    let values = values
        .into_iter()
        .map(|(at, value)| Assignment {
            field: asked[at].code.clone(),
            value,
        })
        .collect();
    Ok(Answers { rider, values })
}

/// Asks until there is a name.
fn ask_rider(input: &mut dyn BufRead, out: &mut Out<'_>) -> Result<String, CommandError> {
    loop {
        out.line("The rider's name, such as Ines H.")?;
        match read(input, out)? {
            Typed::Answer(name) => return Ok(name),
            Typed::Skip | Typed::Back | Typed::Asked => {
                out.line("a job needs a rider; this is the first question")?
            }
        }
    }
}

fn print_question(out: &mut Out<'_>, row: &CodeRow, before: Option<&String>) -> Result<(), CommandError> {
    let before = before
        .map(|value| format!(" [so far: {value}]"))
        .unwrap_or_default();
    let expects = match row.code.as_str() {
        CLASS => "? lists them",
        _ => &row.expects,
    };
    out.wrapped(
        "",
        "    ",
        &format!("{} ({}): {expects}{before}", row.name, row.code),
    )
}

/// Says what a question expects: the classes by name, of anything else an example.
fn explain(out: &mut Out<'_>, row: &CodeRow, classes: &[ClassRow]) -> Result<(), CommandError> {
    if row.code == CLASS {
        return classes.iter().try_for_each(|class| {
            out.wrapped(
                "  ",
                "      ",
                &format!("{}: {}, {}", class.class, class.name, class.region),
            )
        });
    }
    out.wrapped("  ", "    ", &format!("{}, such as {}", row.expects, row.example))
}

const fn cured_by_another_answer(kind: Exit) -> bool {
    matches!(
        kind,
        Exit::BadInput | Exit::OutsideWindow | Exit::UnknownWord | Exit::NotFound
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::look;

    fn words() -> WordsReply {
        let row = |code: &str| CodeRow {
            code: code.to_owned(),
            name: format!("name of {code}"),
            example: "40 km".to_owned(),
            ..CodeRow::default()
        };
        // Neither the order of the table nor a code that nobody asks for matters.
        WordsReply {
            codes: vec![
                row("rider-mass"),
                row("range"),
                row("motor-gap"),
                row("hill-grade"),
            ],
            classes: vec![ClassRow {
                class: "eu-25".to_owned(),
                name: "pedelec".to_owned(),
                region: "EU".to_owned(),
                ..ClassRow::default()
            }],
            ..WordsReply::default()
        }
    }

    #[tokio::test]
    async fn a_question_mark_is_answered_and_is_no_answer() {
        let (answers, shown) = typed("?\nInes H.\n?\n40\n\n\n?\n\n").await;
        assert_eq!(answers.unwrap().values, [value("range", "40")]);
        assert!(shown.contains("such as 40 km"), "{shown}");
        let mut bytes = Vec::new();
        let class = CodeRow {
            code: CLASS.to_owned(),
            ..CodeRow::default()
        };
        explain(&mut Out::new(&mut bytes, look(80)), &class, &words().classes).unwrap();
        assert_eq!(String::from_utf8(bytes).unwrap(), "  eu-25: pedelec, EU\n");
    }

    async fn typed(lines: &str) -> (Result<Answers, CommandError>, String) {
        let mut bytes = Vec::new();
        let attempt = async |_: &str, value: Assignment| match value.value.as_str() {
            "far" => Err(CommandError::new(Exit::BadInput, "`far` is no length")),
            "gone" => Err(CommandError::new(Exit::NoDaemon, "no lockringd")),
            _ => Ok(()),
        };
        let answers = ask(
            &mut lines.as_bytes(),
            &mut Out::new(&mut bytes, look(80)),
            &words(),
            attempt,
        )
        .await;
        (answers, String::from_utf8(bytes).unwrap())
    }

    fn value(field: &str, value: &str) -> Assignment {
        Assignment {
            field: field.to_owned(),
            value: value.to_owned(),
        }
    }

    #[tokio::test]
    async fn answers_are_taken_in_order_and_enter_skips() {
        let (answers, shown) = typed("Ines H.\n40 km\n\n82\n\n").await;
        let answers = answers.unwrap();
        assert_eq!(answers.rider, "Ines H.");
        assert_eq!(
            answers.values,
            [value("range", "40 km"), value("rider-mass", "82")]
        );
        assert!(!shown.contains("motor-gap"), "{shown}");
    }

    #[tokio::test]
    async fn a_refused_answer_is_asked_for_again() {
        let (answers, shown) = typed("Ines H.\nfar\n40\n\n\n\n").await;
        assert_eq!(answers.unwrap().values, [value("range", "40")]);
        assert!(shown.contains("Error: `far` is no length"), "{shown}");
        assert_eq!(shown.matches("name of range").count(), 2, "{shown}");
    }

    #[tokio::test]
    async fn a_hyphen_goes_back_and_shows_what_was_said() {
        let (answers, shown) = typed("Ines H.\n40\n-\n45\n\n\n-\n83\n\n").await;
        assert_eq!(
            answers.unwrap().values,
            [value("range", "45"), value("rider-mass", "83")]
        );
        assert!(shown.contains("[so far: 40]"), "{shown}");
        let (answers, _) = typed("Inse\n-\nInes H.\n\n\n\n\n").await;
        assert_eq!(
            answers.unwrap(),
            Answers {
                rider: "Ines H.".to_owned(),
                values: vec![]
            }
        );
    }

    #[tokio::test]
    async fn leaving_and_a_daemon_that_ended_store_nothing() {
        assert_eq!(typed("Ines H.\n40\n").await.0.unwrap_err().kind, Exit::Usage);
        assert_eq!(typed("").await.0.unwrap_err().kind, Exit::Usage);
        assert_eq!(typed("Ines H.\ngone\n").await.0.unwrap_err().kind, Exit::NoDaemon);
    }
}
