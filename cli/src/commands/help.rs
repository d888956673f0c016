//! `lockring help`: a command, or a topic that needs no daemon.

use lockring_proto::v1::{ExitCodeRow, WordRow};

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::line;
use crate::output::Out;
use crate::output::table::Table;

/// The vocabulary: word, meaning.
const WORDS: &[(&str, &str)] = &[
    ("job", "one conversion, numbered 1, 2, 3 ...; the number is what you type"),
    (
        "brief",
        "what the rider needs: distance between charges, worst hill and where its grade comes from, speeds, \
         masses, posture, weather, ride class, budget, date",
    ),
    ("donor", "the bicycle as it came in: frame, shell, rear end, wheels, gears, brakes, wear found"),
    ("build", "the parts chosen from the catalogue, each in its slot"),
    (
        "fact",
        "a value the checks use: measured (who, when, with what), stated (label, catalogue, rider) or assumed \
         (taken for want of anything better)",
    ),
    ("stage", "intake, parts, fitting, test-ride, handover; then handed over, returned unconverted or cancelled"),
    ("gate", "the checks at the end of a stage; `lockring advance` tries it"),
    ("check", "one rule with an id such as chainline.cog_angles: what it needs, arithmetic, limits, source, remedy"),
    (
        "verdict",
        "+ pass; ! caution; x fail; ? open: something is missing; - not applicable: it does not concern the job",
    ),
    ("concession", "the owner's signed acceptance of a caution or fail; some checks are never conceded"),
    (
        "block",
        "why a job cannot move: family (fit, parts, power, law, safe, ride, rider, shop), whose move it is, the \
         day to ask again, what clears it",
    ),
    ("hold", "a planned wait; not a block and not counted as one"),
    ("entry", "one line of a job's history; nothing is ever deleted, `lockring undo` adds a counter-entry"),
    ("lot", "the batch mark of a part, for recalls"),
];

/// What commands that read print with `--json`: one object a line, each of this message.
const JSON: &[(&str, &str)] = &[
    ("jobs", "JobLine"),
    ("show", "JobView"),
    ("history", "HistoryLine"),
    ("check, explain", "CheckReport"),
    ("fit", "FitReply"),
    ("chainline", "ChainlineReply"),
    ("hill", "HillsReply"),
    ("regear", "RegearReply"),
    ("propose", "ProposeReply"),
    ("predict", "PredictReply"),
    ("range", "RangeReply"),
    ("ride JOB plan", "RidePlanReply"),
    ("ride JOB compare", "CompareRideReply"),
    ("ride JOB logs", "ListRideLogsReply"),
    ("ride JOB log", "ShowRideLogReply"),
    ("photo JOB", "PhotoView"),
    ("report predictions", "PredictionsReport"),
    ("report blocked", "BlockedReport"),
    ("report day, week, class", "Sheet"),
    ("money", "AccountView"),
    ("catalogue list, show", "PartView"),
    ("suppliers", "SupplierView"),
    ("order list", "OrderLine"),
    ("shelf", "ShelfItem"),
    ("lot, where", "FindPiecesReply"),
    ("recall", "RecallLine"),
    ("recall show", "RecallSheet"),
    ("settings", "SettingsReply"),
    ("settings rules", "RuleView"),
    ("settings history", "HistoryLine"),
    ("people", "PersonView"),
    ("pair", "PairView"),
    ("pair BENCH PERSON", "MakePairReply"),
    ("promises", "PromisesReply"),
    ("clock on, off, fix; a change of a job's money", "JobReply"),
    ("quote", "AccountView"),
    ("fill", "SheetReply"),
    ("watch", "HistoryLine"),
    ("words codes, bolts", "CodeRow"),
    ("words runs, checks, classes, parts", "RunRow, CheckRow, ClassRow, KindRow"),
    ("catalogue import, set", "ImportReply"),
    ("catalogue export, form", "ExportReply"),
    ("status", "StatusReply"),
    ("verify", "VerifyReply"),
    ("backup", "BackupReply"),
    ("restore, export, import", "Moved"),
    ("a change of a job", "JobReply"),
    ("a change of the shop", "ShopReply"),
    ("a change of orders and shelf", "SupplyReply"),
    ("a file that was written: print, picture, setup-shell, --out", "WrittenFile"),
    ("iam", "TypingView"),
    ("send", "SentView"),
    ("send --list; what --queue kept", "WaitingLine"),
    ("doctor", "DiagnosisLine"),
    ("daemon start, stop", "ServingView"),
    ("help words", "WordRow"),
    ("help exit-codes", "ExitCodeRow"),
];

/// What scripts may rely on.
const PROMISE: &str = "Within one major version no field is taken away, renamed, or given another type or \
    meaning; fields and commands are added, so a script passes over what it does not know. Every field is \
    always there; what has no value is null. Exit codes and the reason codes of refusals keep their meaning \
    too. Text for people, and the order of lists, may change at any time.";

/// Show the help of a command, or a topic: exit-codes, json, words
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring help measure\n  \
    lockring help exit-codes\n  \
    lockring help json --json > schema.json\n  \
    lockring help words")]
pub(crate) struct Help {
    /// A command, or exit-codes, json or words; `help json --json` is the schema itself
    #[arg(value_name = "COMMAND|TOPIC", value_parser = args::text)]
    about: Vec<String>,
}

impl Help {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match self.about.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
            ["exit-codes"] => print_exit_codes(&mut desk.out)?,
            ["json"] if desk.out.look.json => desk.out.line(lockring_proto::SCHEMA)?,
            ["json"] => print_json(&mut desk.out)?,
            ["words"] => print_words(&mut desk.out)?,
            path => desk.out.raw(&line::help(path)?)?,
        }
        Ok(Exit::Ok)
    }
}

fn print_exit_codes(out: &mut Out<'_>) -> Result<(), CommandError> {
    if out.look.json {
        return Exit::ALL.iter().try_for_each(|exit| {
            let (number, name, when) = exit.row();
            out.json(&ExitCodeRow { code: number.into(), name: name.into(), when: when.into() })
        });
    }
    out.heading("Exit codes of lockring")?;
    let mut table = Table::new(["code", "name", "when"]);
    for exit in Exit::ALL {
        let (number, name, when) = exit.row();
        table.row([number.to_string().into(), name.into(), when.into()]);
    }
    table.print(out)
}

fn print_json(out: &mut Out<'_>) -> Result<(), CommandError> {
    out.heading("What lockring prints with --json: one object a line")?;
    let mut table = Table::new(["command", "message"]);
    for (command, message) in JSON {
        table.row([(*command).into(), (*message).into()]);
    }
    table.print(out)?;
    out.blank()?;
    out.wrapped("", "", PROMISE)?;
    out.line("`lockring help json --json` prints the messages as a JSON Schema.")
}

fn print_words(out: &mut Out<'_>) -> Result<(), CommandError> {
    if out.look.json {
        let row = |(word, meaning): &(&str, &str)| WordRow { word: (*word).into(), meaning: (*meaning).into() };
        return WORDS.iter().try_for_each(|word| out.json(&row(word)));
    }
    out.heading("Words of lockring")?;
    let mut table = Table::new(["word", "meaning"]);
    for (word, meaning) in WORDS {
        table.row([(*word).into(), (*meaning).into()]);
    }
    table.print(out)?;
    out.blank()?;
    out.line("`lockring words` lists the codes, bolts, runs, checks, classes and parts.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    #[test]
    fn every_exit_code_is_documented_within_80_columns() {
        let shown = text(80, print_exit_codes);
        for exit in Exit::ALL {
            let (number, name, _) = exit.row();
            assert!(shown.contains(&format!("\n{number:<4}  {name} ")), "{name} in\n{shown}");
        }
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }

    #[test]
    fn every_message_named_is_in_the_schema() {
        let schema: serde_json::Value = serde_json::from_str(lockring_proto::SCHEMA).unwrap();
        for (command, messages) in JSON {
            for message in messages.split(", ") {
                assert!(schema["$defs"][message].is_object(), "{command}: {message}");
            }
        }
        let shown = text(80, print_json);
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }

    #[test]
    fn the_vocabulary_fits_80_columns() {
        let shown = text(80, print_words);
        assert!(shown.contains("\nconcession  the owner's signed acceptance"), "{shown}");
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }

    #[test]
    fn a_command_is_helped_by_its_own_help_and_a_wrong_one_is_refused() {
        let help = line::help(&["catalogue", "export"]).unwrap();
        assert!(help.contains("lockring catalogue export --kind pack"), "{help}");
        assert!(line::help(&[]).unwrap().contains("At the bench:"));
        assert_eq!(line::help(&["wheelie"]).unwrap_err().kind, Exit::Usage);
    }
}
