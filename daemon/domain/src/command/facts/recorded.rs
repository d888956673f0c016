//! Recording readings.

use jiff::Timestamp;
use lockring_calc::brakes;
use lockring_calc::doubt::Readings;
use lockring_calc::quantity::{G, Length, Speed};

use super::{capital, find_code, nothing_given, refuse_beside_ledger, was, when};
use crate::code::{self, Code, Group, Run, Worst};
use crate::command::apart::apart;
use crate::command::{Act, Desk, Draft, Typed, Values, refuse_field};
use crate::entry::Event;
use crate::fact::Value;
use crate::field::Shape;
use crate::job::{self, Job};
use crate::nearest::nearest;
use crate::part::Slot;
use crate::refusal::{Reason, Refusal};
use crate::ride_class;
use crate::shell_word::quoted;
use crate::shop::setting::Units;
use crate::unit::{self, Kind};

/// Takes readings of a bench, a bolt or a test run.
pub(in crate::command) fn record(
    draft: &mut Draft,
    act: &Act,
    values: &[Typed],
    force: bool,
    anew: bool,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    if values.is_empty() {
        return Err(nothing_given(match act {
            Act::Measure => "lockring measure 21 chainline-front 51,5",
            Act::Torque => "lockring torque 21 lockring 40",
            Act::Ride(_) => "lockring ride 21 hill 9.9km/h",
        }));
    }
    let run = match act {
        Act::Ride(word) => Some(find_run(word)?),
        Act::Measure | Act::Torque => None,
    };
    let mut readings = Values::new();
    let mut next_field = 0;
    let mut any_forced = force;
    let mut questioned = Vec::new();
    let values = apart(act, run, values);
    let home = desk.shop.currency().code;
    // A line to be typed again begins anew where this one does.
    let begins = if anew { " --anew" } else { "" };
    for typed in &values {
        let row = match (act, run) {
            (Act::Torque, _) => find_bolt(&typed.field)?,
            (Act::Ride(_), Some(run)) => find_run_field(run, &typed.field, &mut next_field)?,
            _ => find_measurand(draft.job.number, typed)?,
        };
        let retry = retry_line(&draft.job, act, row, &typed.text) + begins;
        let (text, insisted) = insisted(row, &typed.text);
        any_forced |= insisted;
        let value = row
            .field
            .in_currency(text, &home)
            .and_then(|()| row.read(text, force || insisted))
            .map_err(|error| refuse_field(row.key(), &error, &retry).with("given", &typed.text))?;
        if !(force || insisted) {
            refuse_inches(draft, act, row, text, begins)?;
            refuse_more_than_full(&draft.job, row, &value, &retry)?;
            refuse_tenfold(&draft.job, row, &value, &retry)?;
            questioned.push((text, row, retry));
        }
        if readings.insert(row.key().to_owned(), value).is_some() {
            return Err(Refusal::new(
                Reason::BadInput,
                format!("`{}` is given twice; expected once", row.key()),
            )
            .with("field", row.key()));
        }
    }
    let both = both_masses(&draft.job, &values).map(|line| line + begins);
    let lost = questioned.iter().filter_map(|(typed, row, retry)| {
        refuse_lost_mass(&draft.job, &readings, row, typed, both.as_ref().unwrap_or(retry)).err()
    });
    // Of two in one line the one is asked about of which another unit makes sense.
    if let Some(refusal) = lost.max_by_key(|refusal| refusal.metadata.contains_key("meant")) {
        return Err(refusal);
    }
    for (_, row, retry) in questioned {
        refuse_run_beyond_help(&draft.job, row, &readings, &retry)?;
        refuse_hard_stop(&draft.job, row, &readings, begins)?;
        if !anew {
            refuse_threefold(&draft.job, row, &readings, draft.origin.made, &retry)?;
        }
    }
    refuse_beside_ledger(&draft.job, &readings)?;
    let run = run.map(|run| run.word.to_owned());
    let before: Values = readings
        .keys()
        .filter_map(|key| Some((key.clone(), draft.job.facts.get(key.as_str())?.value.clone())))
        .collect();
    let event = Event::Recorded {
        run,
        readings: readings.clone(),
        forced: any_forced,
        anew,
    };
    if !any_forced {
        when::refuse_before_it_came(&draft.job, draft.origin.made, desk)?;
    }
    when::refuse_older(&draft.job, &event, &draft.origin, desk)?;
    draft.push(event);
    for key in readings.keys() {
        say_standing(draft, key, before.get(key));
    }
    say_early(draft, &readings);
    say_other_motor(draft, &readings);
    Ok(())
}

/// Says of readings that only a bicycle with another motor has, and no check of this job looks at, that they may be of
/// another one.
fn say_other_motor(draft: &mut Draft, readings: &Values) {
    let place = draft.job.motor_place();
    let rows = readings.keys().filter_map(|key| code::find(key));
    let names: Vec<&str> = rows
        .filter(|row| !row.is_of(place))
        .map(|row| row.field.name)
        .collect();
    let (Some(place), false) = (place, names.is_empty()) else {
        return;
    };
    let (job, entry) = (draft.job.number, draft.job.revision);
    let line = format!(
        "CAUTION: {}: job {job} has a {place} motor, no check looks at this: wrong job? `lockring undo {job} --entry {entry}` \
         takes it back",
        names.join(", ")
    );
    draft.say(line);
}

/// Asks somebody who reads inches which unit is meant by a length without one that may be either.
fn refuse_inches(draft: &Draft, act: &Act, row: &Code, text: &str, begins: &str) -> Result<(), Refusal> {
    let text = text.trim();
    let is_bare = text.ends_with(|letter: char| letter.is_ascii_digit());
    if draft.units != Units::Imperial || row.field.unit() != "mm" || !is_bare {
        return Ok(());
    }
    let inches = format!("{text}in");
    if row.read(&inches, false).is_err() {
        return Ok(());
    }
    let with = |unit: &str| retry_line(&draft.job, act, row, &format!("{text}{unit}")) + begins;
    Err(Refusal::new(
        Reason::BadInput,
        format!(
            "{}: {text} without a unit may be inches or millimetres",
            row.field.name
        ),
    )
    .with("field", row.key())
    .with("given", text)
    .with("meant", &inches)
    .hint(format!("with its unit: {}, or {}", with("in"), with("mm"))))
}

/// Asks again for more charge drawn on a ride than the job's pack holds by its label: a slip of the decimal mark sooner than a
/// ride.
fn refuse_more_than_full(job: &Job, row: &Code, now: &Value, retry: &str) -> Result<(), Refusal> {
    let drawn = match now {
        Value::Number(si) if row.key() == "energy-charge" => *si,
        _ => return Ok(()),
    };
    let pack = job
        .build
        .get(&Slot::Pack)
        .and_then(|line| line.attribute("capacity"));
    let Some(full) = pack.and_then(Value::number).filter(|full| drawn > *full) else {
        return Ok(());
    };
    let shown = |si: f64| row.field.show(&Value::Number(si));
    let meant = shown(drawn / 10.0);
    Err(Refusal::new(
        Reason::OutsideWindow,
        format!(
            "{}: {} is more than the {} that the pack holds",
            row.field.name,
            shown(drawn),
            shown(full)
        ),
    )
    .with("field", row.key())
    .with("meant", &meant)
    .hint(format!(
        "did you mean {meant}? If it is really so: {retry} --force"
    )))
}

/// A gap of at least so many times the one before is a slip of the decimal mark sooner than a gap (judgement).
const TENFOLD: f64 = 8.0;
/// Gaps to here may well have been a tenth of it before they were cured (judgement).
const CURED: f64 = 0.010;

/// Asks again for a gap that is some ten times the one it replaces, or the one the template showed, though it lies in its
/// window.
fn refuse_tenfold(job: &Job, row: &Code, now: &Value, retry: &str) -> Result<(), Refusal> {
    let now = match now {
        Value::Number(si) if row.key().ends_with("-gap") && *si > CURED => *si,
        _ => return Ok(()),
    };
    let known = |key: &str| job.facts.get(key).and_then(|fact| fact.value.number());
    let (before, what) = match (known(row.key()), row.key()) {
        (Some(before), _) => (before, "it was"),
        (None, "motor-gap") => match known("stay-gap") {
            Some(predicted) => (predicted, "the template showed"),
            None => return Ok(()),
        },
        _ => return Ok(()),
    };
    if before <= 0.0 || now < TENFOLD * before {
        return Ok(());
    }
    let shown = |si: f64| row.field.show(&Value::Number(si));
    let meant = shown(now / 10.0);
    Err(Refusal::new(
        Reason::OutsideWindow,
        format!(
            "{}: {} is {:.0} times the {} that {what}",
            row.field.name,
            shown(now),
            now / before,
            shown(before)
        ),
    )
    .with("field", row.key())
    .with("meant", &meant)
    .hint(format!(
        "did you mean {meant}? If it is really so: {retry} --force"
    )))
}

/// The codes of the two masses that are held against each other.
const MASSES: [&str; 2] = ["mass-before", "mass-after"];

/// Both masses as they came in one line, to be typed again together: one alone would be held against what is on file.
fn both_masses(job: &Job, values: &[Typed]) -> Option<String> {
    let is_mass = |typed: &&Typed| code::find(&typed.field).is_some_and(|row| MASSES.contains(&row.key()));
    let both: Vec<String> = values
        .iter()
        .filter(is_mass)
        .map(|typed| format!("{}={}", typed.field, quoted(&typed.text)))
        .collect();
    (both.len() == MASSES.len()).then(|| format!("lockring measure {} {}", job.number, both.join(" ")))
}

/// Asks again for a bicycle that weighs less with its kit than it came in with: a slip of the unit, or of the two.
fn refuse_lost_mass(job: &Job, read: &Values, row: &Code, text: &str, retry: &str) -> Result<(), Refusal> {
    let known = |key: &str| {
        let before = || {
            job.facts
                .get(key)
                .filter(|fact| fact.stale.is_none())
                .map(|fact| &fact.value)
        };
        read.get(key).or_else(before)?.number()
    };
    if !MASSES.contains(&row.key()) {
        return Ok(());
    }
    let (Some(before), Some(after)) = (known("mass-before"), known("mass-after")) else {
        return Ok(());
    };
    if after >= before {
        return Ok(());
    }
    let shown = |si: f64| row.field.show(&Value::Number(si));
    // The same figure in kilograms, where that makes sense of it.
    let figure = text
        .trim()
        .trim_end_matches(|letter: char| !letter.is_ascii_digit());
    let meant = row
        .read(figure, false)
        .ok()
        .and_then(|value| value.number())
        .filter(|kilograms| match row.key() {
            "mass-after" => *kilograms > before,
            _ => *kilograms < after,
        });
    let refusal = Refusal::new(
        Reason::OutsideWindow,
        format!(
            "the bicycle with its kit would weigh {}, less than the {} it came in with",
            shown(after),
            shown(before)
        ),
    )
    .with("field", row.key());
    let really = format!("if it is really so: {retry} --force");
    Err(match meant.map(shown) {
        Some(meant) => refusal
            .with("meant", &meant)
            .hint(format!("did you mean {meant}? {}", capital(&really))),
        None => refusal.hint(format!("weigh it again, pack in; {really}")),
    })
}

/// Asks again for a climb that is faster than the class lets a motor help: the rider alone would push it.
fn refuse_run_beyond_help(job: &Job, row: &Code, read: &Values, retry: &str) -> Result<(), Refusal> {
    let now = match read.get(row.key()).and_then(Value::number) {
        Some(speed) if row.key() == "hill-speed-ridden" => speed,
        _ => return Ok(()),
    };
    let class = job.facts.get("ride-class").and_then(|fact| fact.value.text());
    let Some(limit) = class
        .and_then(ride_class::find)
        .and_then(|class| class.max_assist_speed)
    else {
        return Ok(());
    };
    let most = limit.metres_per_second();
    let shown = |si: f64| row.field.show(&Value::Number(si));
    if now <= most {
        return Ok(());
    }
    Err(Refusal::new(
        Reason::OutsideWindow,
        format!(
            "{}: {} is faster than the class lets the motor help at all, {}: above it the rider alone would climb",
            row.field.name,
            shown(now),
            shown(most)
        ),
    )
    .with("field", row.key())
    .hint(format!(
        "is it the speed, and in that unit? If it is really so: {retry} --force"
    )))
}

/// Asks again for a stop with both brakes that is harder than any measured of bicycles: a slip of a figure, or of a unit.
fn refuse_hard_stop(job: &Job, row: &Code, read: &Values, begins: &str) -> Result<(), Refusal> {
    let number = |key: &str| read.get(key).and_then(Value::number);
    let (Some(distance), Some(speed)) = (number("stop-distance"), number("stop-speed")) else {
        return Ok(());
    };
    let (length, start) = (Length::metres(distance), Speed::from_si(speed));
    if row.key() != "stop-distance" || !brakes::is_beyond_measured(start, length).unwrap_or(false) {
        return Ok(());
    }
    let slowing = brakes::deceleration(start, length).map_or(0.0, |slowing| slowing.si());
    let shown = |kind, unit, si| unit::show(kind, unit, si);
    let (distance, speed) = (
        shown(Kind::Length, "m", distance),
        shown(Kind::Speed, "km/h", speed),
    );
    let typed = |shown: &str| shown.replace(' ', "");
    Err(Refusal::new(
        Reason::OutsideWindow,
        format!(
            "{}: {distance} from {speed} is {slowing:.1} m/s²; bicycles were measured at {:.1} m/s² at most, and tip from about 6",
            row.field.name,
            brakes::MEASURED_MOST_G * G
        ),
    )
    .with("field", row.key())
    .hint(format!(
        "are they this stop's distance and speed, and in those units? If it is really so: lockring ride {} stop \
         distance={} speed={}{} --force",
        job.number,
        typed(&distance),
        typed(&speed),
        begins
    )))
}

/// Asks again for a speed that is far from all others of its series: together they would say nothing.
fn refuse_threefold(
    job: &Job,
    row: &Code,
    read: &Values,
    now: Timestamp,
    retry: &str,
) -> Result<(), Refusal> {
    let is_speed = matches!(
        row.field.shape,
        Shape::Quantity {
            kind: Kind::Speed,
            ..
        }
    );
    if row.group != Group::Ride || !is_speed || !row.gathers() {
        return Ok(());
    }
    let (Some(speed), Some(fact)) = (
        read.get(row.key()).and_then(Value::number),
        job.facts.get(row.key()).filter(|fact| fact.stale.is_none()),
    ) else {
        return Ok(());
    };
    let others: Vec<f64> = fact
        .readings
        .iter()
        .filter(|reading| job::is_of_series(reading.at, now))
        .filter_map(|reading| reading.value.number())
        .collect();
    let Ok(series) = Readings::new(&others) else {
        return Ok(());
    };
    let middle = series.median();
    if !job::is_far(speed, middle) {
        return Ok(());
    }
    let shown = |si: &f64| row.field.show(&Value::Number(*si));
    let all: Vec<String> = others.iter().map(shown).collect();
    Err(Refusal::new(
        Reason::OutsideWindow,
        format!(
            "{}: {} beside {}: more than {:.0} times apart",
            row.field.name,
            shown(&speed),
            all.join(" and "),
            job::THREEFOLD
        ),
    )
    .with("field", row.key())
    .hint(format!(
        "is it the speed, and in that unit? After a change begin again with --anew; if it is really so: {retry} --force"
    )))
}

/// Says of what is taken before its stage that nobody looks at it yet.
fn say_early(draft: &mut Draft, readings: &Values) {
    let early = readings.keys().filter_map(|key| code::find(key)).map(Code::since);
    if let Some(stage) = early.filter(|since| *since > draft.job.stage).min() {
        draft.say(format!(
            "job {} is at {}: this is kept, and looked at first at {}",
            draft.job.number,
            draft.job.stage.word(),
            stage.word()
        ));
    }
}

/// A quantity with `!` behind it is taken outside its window, that one value only.
fn insisted<'t>(row: &Code, text: &'t str) -> (&'t str, bool) {
    match (row.field.shape, text.trim_end().strip_suffix('!')) {
        (Shape::Quantity { .. }, Some(text)) => (text, true),
        _ => (text, false),
    }
}

/// Says what a code stands at after a reading: one reading, or mean and spread of several.
fn say_standing(draft: &mut Draft, key: &str, before: Option<&Value>) {
    let row = code::find(key).expect("recorded values have codes");
    let Some(fact) = draft.job.facts.get(key) else {
        return;
    };
    let mut line = format!(
        "{} {}",
        row.field.name,
        draft.units.first(row.field.show_both(&fact.value))
    );
    let readings = fact.readings.len();
    if readings == 1 {
        line.push_str(&was(row, before, &fact.value));
    }
    if let (Value::Tally { good, tried }, 2..) = (&fact.value, readings) {
        let all: Vec<String> = fact
            .readings
            .iter()
            .map(|reading| row.field.show(&reading.value))
            .collect();
        line = format!("{line}, {readings} rounds together ({})", all.join(", "));
        if good < tried {
            line.push_str("; after a cure begin again with --anew");
        }
    } else if readings > 1 {
        let all: Vec<String> = fact
            .readings
            .iter()
            .map(|reading| row.field.show(&reading.value))
            .collect();
        let which = match (row.worst, readings) {
            (Some(Worst::Least), _) => "least",
            (Some(Worst::Most), _) => "greatest",
            (None, 2) => "mean",
            (None, _) => "middle",
        };
        line = format!("{line}, {which} of {readings} readings ({})", all.join(", "));
        if row.worst.is_some() {
            line.push_str("; after a cure begin again with --anew");
        }
    }
    if let [first, second] = fact.readings.as_slice()
        && row.worst.is_none()
        && let (Some(first), Some(second)) = (first.value.number(), second.value.number())
        && (first - second).abs() > row.agree_si()
    {
        line = format!("{line}; the two differ: take a third, or begin again with --anew after a change");
    }
    if let Some(odd) = job::odd_one(fact) {
        let number = draft.job.number;
        line = format!(
            "{line}; {} is far from the others: if it was a slip, lockring undo {number} --entry {}; after a change begin \
             again with --anew",
            row.field.show(&odd.value),
            odd.seq
        );
    }
    draft.say(line);
}

fn find_measurand(job: u32, typed: &Typed) -> Result<&'static Code, Refusal> {
    let row = find_code(&typed.field)?;
    if row.group == Group::Brief {
        // An example in place of what was typed would be taken for it.
        let how = match typed.text.trim() {
            "" => row.how_to_record(job),
            given => {
                let quote = if given.contains(char::is_whitespace) {
                    "\""
                } else {
                    ""
                };
                format!(
                    "lockring {}{quote}{given}{quote}",
                    row.words_before_value(job).join(" ")
                )
            }
        };
        return Err(Refusal::new(
            Reason::BadInput,
            format!("`{}` is stated, not measured", row.key()),
        )
        .with("field", row.key())
        .hint(format!("state it with `{how}`")));
    }
    Ok(row)
}

fn find_bolt(word: &str) -> Result<&'static Code, Refusal> {
    code::torque_code(word).ok_or_else(|| {
        let bolts: Vec<&str> = code::all()
            .filter(|row| row.group == Group::Torque)
            .map(|row| code::torque_word(row.key()))
            .collect();
        let near = nearest(&word.to_lowercase(), bolts.iter().copied());
        Refusal::unknown(
            "bolt",
            word,
            &near,
            &format!("the bolts are {}", bolts.join(", ")),
        )
    })
}

fn find_run(word: &str) -> Result<&'static Run, Refusal> {
    let lower = word.to_lowercase();
    code::runs().iter().find(|run| run.word == lower).ok_or_else(|| {
        let words: Vec<&str> = code::runs().iter().map(|run| run.word).collect();
        let near = nearest(&lower, words.iter().copied());
        Refusal::unknown(
            "kind of test run",
            word,
            &near,
            &format!("the runs are {}", words.join(", ")),
        )
    })
}

fn find_run_field(run: &Run, word: &str, next: &mut usize) -> Result<&'static Code, Refusal> {
    let key = if word.is_empty() {
        let field = run.fields.get(*next).ok_or_else(|| {
            Refusal::new(
                Reason::BadInput,
                format!(
                    "run `{}` takes {} values, more were given",
                    run.word,
                    run.fields.len()
                ),
            )
        })?;
        *next += 1;
        field.1
    } else {
        let named = run
            .fields
            .iter()
            .find(|(name, key)| *name == word || *key == word);
        let words: Vec<&str> = run.fields.iter().map(|(name, _)| *name).collect();
        named
            .ok_or_else(|| {
                let near = nearest(word, words.iter().copied());
                let all = format!("`{}` takes {}", run.word, words.join(", "));
                Refusal::unknown(&format!("field of the run `{}`", run.word), word, &near, &all)
            })?
            .1
    };
    Ok(code::find(key).expect("runs name codes of the table"))
}

fn retry_line(job: &Job, act: &Act, row: &Code, text: &str) -> String {
    let number = job.number;
    match act {
        Act::Measure => format!("lockring measure {number} {} {text}", row.key()),
        Act::Torque => format!("lockring torque {number} {} {text}", code::torque_word(row.key())),
        Act::Ride(run) => match code::run_of(row.key()) {
            Some((_, field)) => format!("lockring ride {number} {run} {field}={text}"),
            None => format!("lockring ride {number} {run} {text}"),
        },
    }
}
