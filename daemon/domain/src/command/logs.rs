//! A ride's log kept with the job.

use lockring_calc::quantity::Length;

use crate::case::Case;
use crate::command::Draft;
use crate::entry::Event;
use crate::job::Job;
use crate::refusal::{Reason, Refusal};
use crate::ridelog::packed::Packed;
use crate::ridelog::study::{Bicycle, Meter, Study, study};
use crate::ridelog::{self, Log, Logged, Named};
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// A ride's file, read and packed: what of it can be done without the job.
#[derive(Debug, Clone, PartialEq)]
pub struct RideFile {
    /// Its name.
    pub name: String,
    /// Columns named by hand, as typed.
    pub columns: String,
    /// Where the power meter sits.
    pub meter: Meter,
    packed: Packed,
    log: Log,
}

impl RideFile {
    /// Reads and packs a file.
    ///
    /// # Errors
    /// A refusal that says what was given, what is expected, and an example.
    pub fn read(name: &str, content: &[u8], columns: &str, meter: &str) -> Result<Self, Refusal> {
        let refuse = |error: &dyn std::fmt::Display| {
            Refusal::new(Reason::BadInput, format!("{name}: {error}")).with("file", name)
        };
        let named = Named::read(columns)?;
        let log = ridelog::read_named(content, &named).map_err(|error| {
            refuse(&error).hint(
                "expected a ride as FIT, TCX, GPX or CSV; a table begins with a line of names such as `time_s,speed_kmh,power_w,height_m`, or name them with --columns v=speed_kmh",
            )
        })?;
        let packed = Packed::new(content).map_err(|error| refuse(&error))?;
        Ok(Self {
            name: name.to_owned(),
            columns: columns.to_owned(),
            meter: meter_of(meter)?,
            packed,
            log,
        })
    }

    /// The ride.
    pub const fn log(&self) -> &Log {
        &self.log
    }
}

fn meter_of(word: &str) -> Result<Meter, Refusal> {
    let word = word.trim();
    let known = if word.is_empty() {
        Some(Meter::Crank)
    } else {
        Meter::from_word(&word.to_lowercase())
    };
    known.ok_or_else(|| {
        let all = "`crank` for the rider's power with the motor's on top, `wheel` for all that drives";
        Refusal::unknown("place of a power meter", word, &[], all)
    })
}

pub(super) fn import(draft: &mut Draft, file: &RideFile, rules: &RuleSheet) -> Result<(), Refusal> {
    let job = &draft.job;
    if let Some(twin) = job.logs.iter().find(|log| log.sha256 == file.packed.sha256) {
        return Err(Refusal::new(
            Reason::BadInput,
            format!(
                "{} was read already: it is log {} of job {} ({}); expected another ride",
                file.name, twin.number, job.number, twin.file
            ),
        )
        .with("file", &file.name)
        .with("log", twin.number)
        .hint(format!(
            "look at it with `lockring ride {0} log {1}`; to read it anew, first `lockring undo {0} --entry {2}`",
            job.number, twin.number, twin.seq
        )));
    }
    let number = job.logs.iter().map(|log| log.number).max().unwrap_or(0) + 1;
    let study = study_of(job, rules, file.meter, &file.log);
    let logged = Logged {
        number,
        file: file.name.clone(),
        columns: file.columns.clone(),
        meter: file.meter,
        packed: file.packed.clone(),
        study,
    };
    said(draft, &logged);
    draft.push(Event::RideLogged(Box::new(logged)));
    Ok(())
}

/// What a log shows of a job's bicycle, by what the job knows.
pub fn study_of(job: &Job, rules: &RuleSheet, meter: Meter, log: &Log) -> Study {
    let case = Case::new(job, rules, Stage::TestRide);
    let bicycle = Bicycle::of(&case, meter).map_err(|halt| halt.refuse(job.number).to_string());
    let band = Length::from_si(case.rule("range.climb-band"));
    let mut found = study(log, bicycle.as_ref().map_err(String::as_str), band);
    found.said.extend(case.assumptions());
    found
}

fn said(draft: &mut Draft, logged: &Logged) {
    let (job, study) = (draft.job.number, &logged.study);
    draft.say(logged.line());
    for line in &study.mended {
        draft.say(format!("mended or lost: {line}"));
    }
    let count = |kind: &str| study.stretches.iter().filter(|piece| piece.kind == kind).count();
    draft.say(format!(
        "usable: {} pulls, {} climbs, {} coast-downs",
        count("pull"),
        count("climb"),
        count("coast")
    ));
    for fitted in &study.fits {
        draft.say(fitted.line());
    }
    for line in &study.said {
        draft.say(line);
    }
    if let Some(line) = study.hill().map(|hill| hill.command(job)) {
        draft.say("the steepest climb, as a run of the test ride:");
        draft.say(line);
    }
    draft.say(format!(
        "look closer with `lockring ride {job} log {}`",
        logged.number
    ));
}
