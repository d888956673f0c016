//! Stating values of brief and donor, and what recording them has in common with it.

use jiff::civil::Date;

use crate::calendar;
use crate::code::{self, Code, Group};
use crate::command::{Desk, Draft, Typed, Values, mended, refuse_field};
use crate::entry::Event;
use crate::fact::{Fact, Provenance, Value};
use crate::field::Shape;
use crate::job::Job;
use crate::nearest::nearest;
use crate::refusal::{Reason, Refusal, Violation};
use crate::ride_class;

mod recorded;
mod when;

pub(super) use recorded::record;

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
    let job = draft.job.number;
    let verb = group.map_or("brief", Group::word);
    let flag = if assumed { " --assumed" } else { "" };
    let home = desk.shop.currency().code;
    let read = read_stated(job, group, values, today, &home)
        .map_err(|refusal| mended::line(&format!("lockring {verb} {job}"), values, flag, refusal))?;
    as_many_gears(&read, Some(&draft.job))?;
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
    let event = Event::Stated {
        values: read,
        provenance,
    };
    when::refuse_older(&draft.job, &event, &draft.origin, desk)?;
    draft.push(event);
    Ok(())
}

/// Refuses numbers of cogs and of gears inside the hub that do not agree with what is listed of them, stated together
/// or one after the other.
pub(super) fn as_many_gears(read: &Values, job: Option<&Job>) -> Result<(), Refusal> {
    as_many_cogs(read, job)?;
    as_many_hub_gears(read, job)
}

/// Two values that have to agree; nothing where neither of them is new.
fn both<'v>(read: &'v Values, job: Option<&'v Job>, keys: [&str; 2]) -> [Option<&'v Value>; 2] {
    if !keys.iter().any(|key| read.contains_key(*key)) {
        return [None; 2];
    }
    keys.map(|key| {
        let before = || job?.facts.get(key).map(|fact| &fact.value);
        read.get(key).or_else(before)
    })
}

/// One cog alone goes with any number: the gears may be in the hub.
fn as_many_cogs(read: &Values, job: Option<&Job>) -> Result<(), Refusal> {
    match both(read, job, ["speeds", "cogs"]).into() {
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

fn as_many_hub_gears(read: &Values, job: Option<&Job>) -> Result<(), Refusal> {
    match both(read, job, ["hub-gears", "hub-ratios"]).into() {
        (Some(Value::Number(gears)), Some(Value::Ratios(ratios)))
            if gears.round() as usize != ratios.len() =>
        {
            let shown = ratios.iter().map(f64::to_string).collect::<Vec<_>>().join("-");
            Err(Refusal::new(
                Reason::BadInput,
                format!(
                    "{gears:.0} gears inside the hub and the ratios of {}, {shown}; expected as many ratios as gears, for \
                     example `hub-gears={} hub-ratios={shown}`",
                    ratios.len(),
                    ratios.len()
                ),
            )
            .with("field", "hub-ratios"))
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

/// Reads values stated on a day in a shop that counts in `home`; complains about all bad ones at once.
pub(super) fn read_stated(
    job: u32,
    group: Option<Group>,
    values: &[Typed],
    today: Date,
    home: &str,
) -> Result<Values, Refusal> {
    let mut read = Values::new();
    let mut violations = Vec::new();
    let mut first: Option<Refusal> = None;
    for typed in &mended::pressed_by_measure(values) {
        match read_one(job, group, typed, today, home) {
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
    home: &str,
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
            .field
            .in_currency(&typed.text, home)
            .and_then(|()| row.read(&typed.text, false))
            // A stated value outside its window cannot be forced: it is corrected or measured.
            .map_err(|error| refuse_field(row.key(), &error, ""))?,
    };
    if row.key() == "ride-class" {
        check_class(&typed.text)?;
    }
    refuse_slight_hill(job, row, &value, &typed.text)?;
    Ok((row, value))
}

/// A worst hill below this is no hill: a slip of the unit or the decimal mark sooner (judgement).
const HILL_LEAST: f64 = 0.01;

/// Asks again for a worst hill that nobody would call one and that is typed without its sign: `0.09` for 9 %. A hundred times
/// as much has to be a hill that people ride; with its sign it is what a flat country has.
fn refuse_slight_hill(job: u32, row: &Code, value: &Value, text: &str) -> Result<(), Refusal> {
    let grade = match value {
        Value::Number(grade) if row.key() == "hill-grade" && *grade > 0.0 && *grade < HILL_LEAST => *grade,
        _ => return Ok(()),
    };
    let shown = |si: f64| row.field.show(&Value::Number(si));
    let Ok(meant) = row.field.read(&shown(100.0 * grade), false) else {
        return Ok(());
    };
    if text.contains('%') {
        return Ok(());
    }
    let meant = row.field.show(&meant);
    let typed = shown(grade).replace(' ', "");
    Err(Refusal::new(
        Reason::OutsideWindow,
        format!(
            "{} {} is no hill: expected {} or more, or 0 where there is none",
            row.field.name,
            shown(grade),
            shown(HILL_LEAST)
        ),
    )
    .with("field", row.key())
    .with("meant", &meant)
    .hint(format!(
        "did you mean {meant}? Where it is really so flat, with its sign: lockring brief {job} hill-grade={typed}, and where there \
         is no hill hill-grade=0"
    )))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
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
mod tests;
