//! Stating and recording values.

use jiff::civil::Date;

use crate::calendar;
use crate::code::{self, Code, Group, Run};
use crate::command::{Act, Desk, Draft, Typed, Values, refuse_field};
use crate::entry::Event;
use crate::fact::{Fact, Provenance, Value};
use crate::field::{FieldError, Shape};
use crate::job::Job;
use crate::nearest::nearest;
use crate::refusal::{Reason, Refusal, Violation};
use crate::ride_class;

pub(super) fn state(
    draft: &mut Draft,
    group: Option<Group>,
    values: &[Typed],
    assumed: bool,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    if values.is_empty() {
        return Err(nothing_given("lockring brief 21 hill-grade=8% hill-source=told"));
    }
    let today = desk.day_of(&draft.origin);
    let read = read_stated(draft.job.number, group, values, today)?;
    as_many_cogs(&read, Some(&draft.job))?;
    let provenance = if assumed {
        Provenance::Assumed
    } else {
        Provenance::Stated
    };
    for (key, value) in &read {
        let row = code::find(key).expect("read values have codes");
        let before = draft
            .job
            .facts
            .get(key.as_str())
            .filter(|fact| !counts_as_measured(fact));
        let was = was(row, before.map(|fact| &fact.value), value);
        draft.say(format!(
            "{}: {} ({provenance}){was}",
            row.field.name,
            draft.units.first(row.field.show_both(value))
        ));
    }
    let measured: Vec<&str> = read
        .keys()
        .filter(|key| code::find(key).is_some_and(|row| !row.instrument.is_empty()))
        .filter(|key| {
            draft
                .job
                .facts
                .get(key.as_str())
                .is_some_and(|fact| counts_as_measured(fact))
        })
        .map(String::as_str)
        .collect();
    let kept = measured.join(", ");
    if !kept.is_empty() {
        draft.say(format!(
            "the measured {kept} stands: a stated value does not displace a reading"
        ));
    }
    refuse_beside_ledger(&draft.job, &read)?;
    draft.push(Event::Stated {
        values: read,
        provenance,
    });
    Ok(())
}

/// Refuses another number of cogs than their teeth make, stated together or one after the other.
/// One cog alone goes with any number: the gears may be in the hub.
pub(super) fn as_many_cogs(read: &Values, job: Option<&Job>) -> Result<(), Refusal> {
    let known = |key: &str| {
        let before = || job?.facts.get(key).map(|fact| &fact.value);
        read.get(key).or_else(before)
    };
    if !["speeds", "cogs"].iter().any(|key| read.contains_key(*key)) {
        return Ok(());
    }
    match (known("speeds"), known("cogs")) {
        (Some(Value::Number(speeds)), Some(Value::Teeth(cogs)))
            if cogs.len() > 1 && speeds.round() as usize != cogs.len() =>
        {
            let speeds = speeds.round() as usize;
            // Two teeth of many cogs are how a cassette is named; what is listed in full was counted.
            let (many, example, named) = match cogs.as_slice() {
                [first, last] if speeds > 2 => {
                    let named = format!("; {first}-{last} names the first and the last alone");
                    (speeds, stepped(*first, *last, speeds), named)
                }
                _ => (cogs.len(), cogs.clone(), String::new()),
            };
            Err(Refusal::new(
                Reason::BadInput,
                format!(
                    "{speeds} cogs and the teeth of {}{named}; expected as many teeth as cogs, for example `speeds={many} \
                     cogs={}`",
                    cogs.len(),
                    example.iter().map(u32::to_string).collect::<Vec<_>>().join("-")
                ),
            )
            .with("field", "speeds"))
        }
        _ => Ok(()),
    }
}

/// So many cogs from a first to a last in steps of nearly one ratio, as an example of how they are typed.
fn stepped(first: u32, last: u32, many: usize) -> Vec<u32> {
    let ratio = f64::from(last) / f64::from(first);
    let steps = (many - 1) as f64;
    let mut cogs: Vec<u32> = Vec::with_capacity(many);
    for step in 0..many {
        let teeth = (f64::from(first) * ratio.powf(step as f64 / steps)).round() as u32;
        cogs.push(cogs.last().map_or(teeth, |before| teeth.max(before + 1)));
    }
    cogs
}

/// Reads values stated on a day; complains about all bad ones at once.
pub(super) fn read_stated(
    job: u32,
    group: Option<Group>,
    values: &[Typed],
    today: Date,
) -> Result<Values, Refusal> {
    let mut read = Values::new();
    let mut violations = Vec::new();
    let mut first: Option<Refusal> = None;
    for typed in values {
        match read_one(job, group, typed, today) {
            Ok((row, value)) => {
                if read.insert(row.key().to_owned(), value).is_some() {
                    let refusal = Refusal::new(
                        Reason::BadInput,
                        format!("`{}` is given twice; expected once", row.key()),
                    );
                    violations.push(violation(typed, &refusal));
                    first.get_or_insert(refusal);
                }
            }
            Err(refusal) => {
                violations.push(violation(typed, &refusal));
                first.get_or_insert(refusal);
            }
        }
    }
    match first {
        None => Ok(read),
        Some(mut refusal) => {
            if violations.len() > 1 {
                refusal.message = format!(
                    "{} values cannot be taken; the first: {}",
                    violations.len(),
                    refusal.message
                );
            }
            Err(refusal.violations(violations))
        }
    }
}

fn read_one(
    job: u32,
    group: Option<Group>,
    typed: &Typed,
    today: Date,
) -> Result<(&'static Code, Value), Refusal> {
    let row = find_code(&typed.field)?;
    let allowed = match group {
        Some(group) => row.group == group,
        None => matches!(row.group, Group::Brief | Group::Donor),
    };
    if !allowed {
        let asked = group.map_or("brief and donor", Group::word);
        return Err(Refusal::new(
            Reason::BadInput,
            format!("`{}` belongs to {}, not to {asked}", row.key(), row.group.word()),
        )
        .with("field", row.key())
        .hint(format!("record it with `{}`", row.how_to_record(job))));
    }
    let said = || calendar::day_said(&typed.text, today).map(Value::Day);
    let value = match (row.field.shape, said()) {
        (Shape::Day, Some(day)) => day,
        _ => row
            .read(&typed.text, false)
            .map_err(|error| refuse_stated(row, &error))?,
    };
    if row.key() == "ride-class" {
        check_class(&typed.text)?;
    }
    Ok((row, value))
}

/// A stated value outside its window cannot be forced: it is corrected or measured.
fn refuse_stated(row: &Code, error: &FieldError) -> Refusal {
    let mut refusal = refuse_field(row.key(), error, "");
    if let FieldError::OutsideWindow { meant, .. } = error {
        refusal.hint = meant.as_ref().map(|meant| format!("did you mean {meant}?"));
    }
    refusal
}

fn check_class(word: &str) -> Result<(), Refusal> {
    if ride_class::find(word).is_some() {
        return Ok(());
    }
    let all: Vec<&str> = ride_class::all().iter().map(|class| class.id.as_str()).collect();
    let near = nearest(word, all.iter().copied());
    Err(Refusal::unknown(
        "ride class",
        word,
        &near,
        "`lockring words classes` lists them",
    ))
}

pub(super) fn record(
    draft: &mut Draft,
    act: &Act,
    values: &[Typed],
    force: bool,
    anew: bool,
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
    for typed in values {
        let row = match (act, run) {
            (Act::Torque, _) => find_bolt(&typed.field)?,
            (Act::Ride(_), Some(run)) => find_run_field(run, &typed.field, &mut next_field)?,
            _ => find_measurand(draft.job.number, typed)?,
        };
        let retry = retry_line(&draft.job, act, row, &typed.text);
        let (text, insisted) = insisted(row, &typed.text);
        any_forced |= insisted;
        let value = row
            .read(text, force || insisted)
            .map_err(|error| refuse_field(row.key(), &error, &retry).with("given", &typed.text))?;
        if !(force || insisted) {
            refuse_tenfold(&draft.job, row, &value, &retry)?;
        }
        if readings.insert(row.key().to_owned(), value).is_some() {
            return Err(Refusal::new(
                Reason::BadInput,
                format!("`{}` is given twice; expected once", row.key()),
            )
            .with("field", row.key()));
        }
    }
    refuse_beside_ledger(&draft.job, &readings)?;
    let run = run.map(|run| run.word.to_owned());
    let before: Values = readings
        .keys()
        .filter_map(|key| Some((key.clone(), draft.job.facts.get(key.as_str())?.value.clone())))
        .collect();
    draft.push(Event::Recorded {
        run,
        readings: readings.clone(),
        forced: any_forced,
        anew,
    });
    for key in readings.keys() {
        say_standing(draft, key, before.get(key));
    }
    say_early(draft, &readings);
    Ok(())
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

/// Refuses a sum of money typed as a value beside the entries that make it: it would count twice.
fn refuse_beside_ledger(job: &Job, keys: &Values) -> Result<(), Refusal> {
    let account = &job.account;
    let refused = |what: &str, hint: String| {
        Err(Refusal::new(
            Reason::BadInput,
            format!(
                "job {} has {what} entered one by one, which make that figure",
                job.number
            ),
        )
        .with("job", job.number)
        .hint(hint))
    };
    let number = job.number;
    if keys.contains_key("paid") && !account.payments.is_empty() {
        return refused(
            "payments",
            format!("`lockring pay {number} AMOUNT --kind balance`"),
        );
    }
    if keys.contains_key("quote") && !account.lines.is_empty() {
        return refused(
            "lines of a quote",
            format!(
                "`lockring quote {number} add` or `strike`; what is taken off: `lockring pay {number} AMOUNT --kind credit`"
            ),
        );
    }
    Ok(())
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
        let which = if readings == 2 { "mean" } else { "middle" };
        line = format!("{line}, {which} of {readings} readings ({})", all.join(", "));
    }
    if let [first, second] = fact.readings.as_slice()
        && let (Some(first), Some(second)) = (first.value.number(), second.value.number())
        && (first - second).abs() > row.agree_si()
    {
        line = format!("{line}; the two differ: take a third, or begin again with --anew after a change");
    }
    draft.say(line);
}

/// What a value replaces, when that was another one.
fn was(row: &Code, before: Option<&Value>, now: &Value) -> String {
    match before.map(|before| row.field.show(before)) {
        Some(before) if before != row.field.show(now) => format!(", was {before}"),
        _ => String::new(),
    }
}

fn counts_as_measured(fact: &Fact) -> bool {
    fact.provenance == Provenance::Measured && fact.stale.is_none()
}

pub(super) fn find_code(word: &str) -> Result<&'static Code, Refusal> {
    code::find(word).ok_or_else(|| {
        Refusal::unknown(
            "code",
            word,
            &code::near(word),
            "`lockring words codes` lists them",
        )
    })
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

fn violation(typed: &Typed, refusal: &Refusal) -> Violation {
    let problem = match &refusal.hint {
        Some(hint) => format!("{}; {hint}", refusal.message),
        None => refusal.message.clone(),
    };
    Violation {
        field: typed.field.clone(),
        line: typed.line,
        problem,
    }
}

fn nothing_given(example: &str) -> Refusal {
    Refusal::new(
        Reason::BadInput,
        format!("no value given; expected at least one, for example `{example}`"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, with_desk};
    use crate::command::{self, Command, Desk};
    use crate::entry::Origin;

    fn typed(values: &[(&str, &str)]) -> Vec<Typed> {
        values
            .iter()
            .map(|(field, text)| Typed::new(*field, *text))
            .collect()
    }

    fn origin() -> Origin {
        Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: longtail().job.touched,
        }
    }

    fn state(job: Job, values: &[(&str, &str)]) -> Result<Draft, Refusal> {
        let command = Command::State {
            group: None,
            values: typed(values),
            assumed: false,
        };
        with_desk(|desk: &Desk<'_>| command::change(job, None, origin(), &command, desk))
    }

    /// A cassette is named by its first and last cog; typed so, the example must not make a bicycle of two cogs of it.
    #[test]
    fn a_range_of_cogs_is_answered_with_as_many_as_there_are() {
        let refusal = state(longtail().job, &[("speeds", "9"), ("cogs", "11-34")]).unwrap_err();
        let (_, example) = refusal.message.split_once("`speeds=9 cogs=").unwrap();
        let cogs: Vec<u32> = example
            .trim_end_matches('`')
            .split('-')
            .map(|teeth| teeth.parse().unwrap())
            .collect();
        assert_eq!((cogs.len(), cogs[0], cogs[8]), (9, 11, 34), "{}", refusal.message);
        assert!(cogs.is_sorted_by(|a, b| a < b), "{cogs:?}");
        assert!(
            refusal.message.contains("names the first and the last"),
            "{}",
            refusal.message
        );
        // Narrower than there are cogs: still in rising order.
        assert!(stepped(11, 13, 5).is_sorted_by(|a, b| a < b));
    }

    /// 34 for 3.4: out of the window; and within it where the gap before says so. A gap that was cured may grow tenfold.
    #[test]
    fn a_gap_that_slipped_a_decimal_is_asked_about() {
        let gap = |job: Job, code: &str, text: &str, force: bool| {
            let command = Command::Record {
                act: Act::Measure,
                values: typed(&[(code, text)]),
                force,
                anew: false,
            };
            with_desk(|desk: &Desk<'_>| command::change(job, None, origin(), &command, desk))
        };
        for (code, text) in [("ring-gap", "34 mm"), ("motor-gap", "35"), ("chain-gap", "30")] {
            let refusal = gap(longtail().job, code, text, false).unwrap_err();
            assert_eq!(refusal.reason, Reason::OutsideWindow, "{code}");
            assert!(refusal.hint.unwrap().contains("did you mean 3"), "{code}");
        }
        let known = longtail()
            .measure(&[("ring-gap", "2.1 mm"), ("motor-gap", "0.3 mm")])
            .job;
        let refusal = gap(known.clone(), "ring-gap", "22 mm", false).unwrap_err();
        assert_eq!(
            refusal.message,
            "ring and chain to chainstay: 22 mm is 10 times the 2.1 mm that it was"
        );
        assert!(refusal.hint.unwrap().starts_with("did you mean 2.2 mm?"));
        assert!(gap(known.clone(), "ring-gap", "22 mm", true).is_ok());
        assert!(gap(known.clone(), "ring-gap", "22 mm!", false).is_ok());
        assert!(gap(known.clone(), "ring-gap", "12 mm", false).is_ok());
        assert!(gap(known, "motor-gap", "3 mm", false).is_ok());
        // The template showed 1 mm.
        let refusal = gap(longtail().job, "motor-gap", "11 mm", false).unwrap_err();
        assert!(
            refusal.message.contains("that the template showed"),
            "{}",
            refusal.message
        );
    }

    #[test]
    fn what_is_measured_though_it_is_stated_is_handed_back_with_its_value() {
        for (code, text, hint) in [
            (
                "assist-level",
                "high",
                "state it with `lockring brief 21 assist-level=high`",
            ),
            (
                "rider-mass",
                "84 kg",
                "state it with `lockring brief 21 rider-mass=\"84 kg\"`",
            ),
        ] {
            let command = Command::Record {
                act: Act::Measure,
                values: typed(&[(code, text)]),
                force: false,
                anew: false,
            };
            let refusal = with_desk(|desk: &Desk<'_>| {
                command::change(longtail().job, None, origin(), &command, desk).unwrap_err()
            });
            assert_eq!(refusal.hint.as_deref(), Some(hint));
        }
    }

    #[test]
    fn nine_cogs_with_the_teeth_of_ten_are_refused_together_and_one_after_the_other() {
        let ten = "11-13-15-17-19-21-24-28-32-34";
        let together = [("speeds", "9"), ("cogs", ten)];
        let refusal = state(longtail().job, &together).unwrap_err();
        assert_eq!(refusal.reason, Reason::BadInput);
        assert!(
            refusal.message.contains("9 cogs and the teeth of 10")
                && refusal.message.contains("`speeds=10 cogs=11-13"),
            "{}",
            refusal.message
        );
        let taken_in = with_desk(|desk| command::take_in(7, origin(), "R", &typed(&together), &[], desk));
        assert_eq!(taken_in.unwrap_err().reason, Reason::BadInput);
        let first = state(longtail().job, &[("speeds", "9")]).unwrap();
        assert!(state(first.job.clone(), &[("cogs", ten)]).is_err());
        // Eight gears in the hub behind one cog.
        assert!(state(longtail().job, &[("speeds", "8"), ("cogs", "19")]).is_ok());
        // Another value does not bring it up again, and both together put it right.
        assert!(state(first.job.clone(), &[("stay-length", "470 mm")]).is_ok());
        assert!(state(first.job, &[("speeds", "10"), ("cogs", ten)]).is_ok());
    }

    #[test]
    fn a_tyre_name_of_several_sizes_is_refused_with_them() {
        let refusal = state(longtail().job, &[("tyre-size", "28 inch")]).unwrap_err();
        for words in ["28 inch", "622 or 635 mm", "-622 or -635", "42-622"] {
            assert!(refusal.message.contains(words), "{words}: {}", refusal.message);
        }
    }
}
