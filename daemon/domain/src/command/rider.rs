//! Removing a rider: what tells who they are goes out of a job's history, and the rest stays.

use std::collections::BTreeSet;

use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::command::{Desk, Draft, require_text};
use crate::entry::{Entry, Event};
use crate::job::Job;
use crate::money::Money;
use crate::origin::Origin;
use crate::private;
use crate::refusal::{Reason, Refusal};
use crate::removal::{Kind, Removal};
use crate::shop::setting::Setting;

/// What is asked besides the name and the contact.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RemoveRider {
    /// Why.
    pub why: String,
    /// Entries whose free words go too.
    pub words: BTreeSet<u64>,
    /// Numbers of photos whose pictures go too.
    pub photos: BTreeSet<u32>,
    /// All pictures go.
    pub all_photos: bool,
    /// Go on although something that the owner may overrule speaks against it.
    pub anyway: bool,
}

/// The jobs of one person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// Theirs, by number.
    pub jobs: Vec<Job>,
    /// Jobs under the same name that may be somebody else's.
    pub others: Vec<Job>,
}

/// Tells a person's jobs among those of a name: with the same contact, or with none as long as
/// only one contact is known under the name. `job` is the job that was named; `None` when the
/// name alone was.
///
/// # Errors
/// [`Reason::BadInput`] when a name alone may be two people's.
pub fn person(of_name: Vec<Job>, job: Option<u32>) -> Result<Person, Refusal> {
    let contact = |job: &Job| job.text("contact").map(|contact| contact.trim().to_lowercase());
    let known: BTreeSet<String> = of_name.iter().filter_map(contact).collect();
    if known.len() < 2 {
        return Ok(Person {
            jobs: of_name,
            others: Vec::new(),
        });
    }
    let Some(named) = of_name.iter().find(|other| Some(other.number) == job) else {
        let jobs: Vec<String> = of_name.iter().map(|job| job.number.to_string()).collect();
        let jobs = jobs.join(", ");
        let name = of_name.first().map_or("", |job| job.rider.as_str());
        let message = format!(
            "jobs {jobs} are under the name `{name}`, with different contacts: two people may be meant"
        );
        return Err(Refusal::new(Reason::BadInput, message)
            .with("jobs", jobs)
            .hint("name one of the jobs in place of the rider"));
    };
    let (number, theirs) = (named.number, contact(named));
    let (jobs, others) = of_name
        .into_iter()
        .partition(|other| other.number == number || (theirs.is_some() && contact(other) == theirs));
    Ok(Person { jobs, others })
}

/// Something that speaks against removing a rider.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Against {
    /// What, without the rider's name.
    pub why: String,
    /// Whether the owner may overrule it.
    pub may_be_overruled: bool,
}

/// What of a job speaks against removing its rider on a day. `recalls` are the numbers of
/// recalls its rider is still to be called about.
pub fn against(job: &Job, recalls: &[u32], today: Date, desk: &Desk<'_>) -> Vec<Against> {
    let mut found = Vec::new();
    let mut say = |why: String, may_be_overruled| {
        found.push(Against {
            why,
            may_be_overruled,
        })
    };
    if !job.stage.is_end() {
        let stage = job.stage.word();
        say(format!("job {} is open (at {stage})", job.number), false);
    }
    let owed = job.balance();
    if owed > Money::ZERO {
        say(format!("{owed} is owed for job {}", job.number), true);
    } else if owed < Money::ZERO {
        say(
            format!("the shop owes {} for job {}", Money::ZERO - owed, job.number),
            true,
        );
    }
    for claim in job.after.claims.iter().filter(|claim| claim.settled.is_none()) {
        say(
            format!("claim {} of job {} is open", claim.number, job.number),
            true,
        );
    }
    for recall in recalls {
        say(
            format!(
                "the rider of job {} is still to be called about recall {recall}",
                job.number
            ),
            true,
        );
    }
    if let Some(until) = kept_until(job, desk).filter(|until| today < *until && job.stage.is_end()) {
        say(
            format!(
                "the shop keeps the rider of job {} until {until} (setting keep-riders)",
                job.number
            ),
            true,
        );
    }
    found
}

/// The day until which the shop keeps the rider of a job that is over; `None` when no period is
/// set.
fn kept_until(job: &Job, desk: &Desk<'_>) -> Option<Date> {
    let months = desk.shop.count(Setting::KeepRiders)?;
    let over = job.stage_since.to_zoned_datetime(desk.zone.clone()).date();
    over.checked_add(i64::from(months).months()).ok()
}

/// Decides to take a rider out of a job, given all its entries.
///
/// # Errors
/// [`Reason::OwnerOnly`]; [`Reason::RiderStays`] with what speaks against it;
/// [`Reason::BadInput`] for entries and photos the job has not, a reason that is empty or holds
/// the name, and a rider who is removed already.
pub fn remove_rider(
    entries: &[Entry],
    origin: Origin,
    ask: &RemoveRider,
    recalls: &[u32],
    desk: &Desk<'_>,
) -> Result<Draft, Refusal> {
    let by = desk.shop.owner(&origin.by, "removing a rider")?;
    let origin = Origin { by, ..origin };
    let job = Job::fold(entries).map_err(|error| Refusal::new(Reason::BadInput, error.to_string()))?;
    let why = require_text(
        "the reason (--why)",
        &ask.why,
        "asked to be removed, letter of 3 March",
    )?;
    let on = desk.day_of(&origin);
    let although = weigh(&job, against(&job, recalls, on, desk), ask.anyway)?;
    let removal = Removal {
        on,
        why,
        who: with_who(entries),
        words: with_words(entries, &job, &ask.words)?,
        pictures: with_pictures(entries, &job, ask)?,
        although,
    };
    if removal.who.is_empty() && removal.words.is_empty() && removal.pictures.is_empty() {
        let day = job
            .rider_removed
            .map_or_else(String::new, |day| format!(" on {day}"));
        let message = format!("the rider of job {} was removed already{day}", job.number);
        return Err(Refusal::new(Reason::BadInput, message)
            .with("job", job.number)
            .hint("words and pictures that are left are named with --words and --photos"));
    }
    taken_out(entries, job.revision, origin, removal)
}

/// Decides to take words that are about another job's rider out of a job, given all its entries; its own rider stays.
///
/// # Errors
/// [`Reason::OwnerOnly`]; [`Reason::BadInput`] for entries the job has not or that have no words, and a reason that is
/// empty or holds a name.
pub fn remove_words(
    entries: &[Entry],
    origin: Origin,
    why: &str,
    words: &BTreeSet<u64>,
    desk: &Desk<'_>,
) -> Result<Draft, Refusal> {
    let by = desk.shop.owner(&origin.by, "removing words")?;
    let origin = Origin { by, ..origin };
    let job = Job::fold(entries).map_err(|error| Refusal::new(Reason::BadInput, error.to_string()))?;
    let removal = Removal {
        on: desk.day_of(&origin),
        why: require_text(
            "the reason (--why)",
            why,
            "asked to be removed, letter of 3 March",
        )?,
        who: BTreeSet::new(),
        words: with_words(entries, &job, words)?,
        pictures: BTreeSet::new(),
        although: Vec::new(),
    };
    taken_out(entries, job.revision, origin, removal)
}

/// The draft of a removal.
fn taken_out(entries: &[Entry], revision: u64, origin: Origin, removal: Removal) -> Result<Draft, Refusal> {
    if names_someone(entries, &removal.why) {
        let message = "the reason holds the name or the contact, and it stays; expected one without";
        return Err(Refusal::new(Reason::BadInput, message)
            .with("field", "why")
            .hint("for example `--why \"asked to be removed, letter of 3 March\"`"));
    }
    let mut history = entries.to_vec();
    private::redact(&mut history, &removal);
    let event = Event::RiderRemoved(removal.clone());
    history.push(Entry {
        seq: revision + 1,
        origin: origin.clone(),
        event: event.clone(),
        ..entries[entries.len() - 1].clone()
    });
    let job = Job::fold(&history).map_err(|error| Refusal::new(Reason::BadInput, error.to_string()))?;
    let mut draft = Draft::new(job, origin);
    draft.say(format!("job {}: {}", draft.job.number, removal.line()));
    draft.events.push(event);
    Ok(draft)
}

/// What is overruled, in words.
fn weigh(job: &Job, against: Vec<Against>, anyway: bool) -> Result<Vec<String>, Refusal> {
    let stays = |why: &[&str], hint: String| {
        let why = why.join("; ");
        Err(
            Refusal::new(Reason::RiderStays, format!("the rider stays: {why}"))
                .with("job", job.number)
                .with("against", &why)
                .hint(hint),
        )
    };
    let firm: Vec<&str> = against
        .iter()
        .filter(|against| !against.may_be_overruled)
        .map(|against| against.why.as_str())
        .collect();
    if !firm.is_empty() {
        return stays(
            &firm,
            "a job that is open needs its rider; end it first".to_owned(),
        );
    }
    let soft: Vec<&str> = against.iter().map(|against| against.why.as_str()).collect();
    if !soft.is_empty() && !anyway {
        return stays(&soft, "settle it, or overrule it with --anyway".to_owned());
    }
    Ok(soft.into_iter().map(str::to_owned).collect())
}

/// Entries that still tell who somebody is.
fn with_who(entries: &[Entry]) -> BTreeSet<u64> {
    let gone = removed_before(entries);
    let tells = |entry: &&Entry| {
        let mut event = entry.event.clone();
        let kinds: Vec<Kind> = private::texts(&mut event)
            .iter()
            .map(|private| private.kind)
            .collect();
        kinds
            .into_iter()
            .any(|kind| kind.tells_who() && !gone.iter().any(|removal| removal.takes(entry.seq, kind)))
    };
    entries.iter().filter(tells).map(|entry| entry.seq).collect()
}

/// Removals there were.
fn removed_before(entries: &[Entry]) -> Vec<&Removal> {
    let removals = entries.iter().filter_map(|entry| match &entry.event {
        Event::RiderRemoved(removal) => Some(removal),
        _ => None,
    });
    removals.collect()
}

/// The entries named for their words, each with words that can be taken out.
fn with_words(entries: &[Entry], job: &Job, asked: &BTreeSet<u64>) -> Result<BTreeSet<u64>, Refusal> {
    let gone = removed_before(entries);
    let has_words = |seq: u64| {
        entries.iter().filter(|entry| entry.seq == seq).any(|entry| {
            let mut event = entry.event.clone();
            private::texts(&mut event)
                .iter()
                .any(|private| private.kind == Kind::Words)
        })
    };
    for seq in asked {
        let problem = if gone.iter().any(|removal| removal.takes(*seq, Kind::Words)) {
            "its words were removed already"
        } else if has_words(*seq) {
            continue;
        } else if entries.iter().any(|entry| entry.seq == *seq) {
            "it has no words that can be removed: gates, concessions and papers rest on it"
        } else {
            "the job has no such entry"
        };
        let message = format!("entry {seq} of job {}: {problem}", job.number);
        return Err(Refusal::new(Reason::BadInput, message)
            .with("field", "words")
            .with("entry", seq)
            .hint(format!(
                "`lockring rider {}` lists the entries whose words can be removed",
                job.number
            )));
    }
    Ok(asked.clone())
}

/// The entries of the pictures asked for; of a photo that was undone too, when all are meant.
fn with_pictures(entries: &[Entry], job: &Job, ask: &RemoveRider) -> Result<BTreeSet<u64>, Refusal> {
    let gone = removed_before(entries);
    let there = |seq: u64| !gone.iter().any(|removal| removal.pictures.contains(&seq));
    if ask.all_photos {
        let pictures = entries
            .iter()
            .filter(|entry| matches!(entry.event, Event::Photographed(_)));
        return Ok(pictures
            .map(|entry| entry.seq)
            .filter(|seq| there(*seq))
            .collect());
    }
    let mut found = BTreeSet::new();
    for number in &ask.photos {
        let kept = job
            .photos
            .iter()
            .find(|kept| kept.photo.number == *number && there(kept.seq));
        let Some(kept) = kept else {
            let message = format!("job {} has no picture of a photo {number}", job.number);
            return Err(Refusal::new(Reason::BadInput, message)
                .with("field", "photos")
                .with("photo", number)
                .hint(format!("`lockring photo {}` lists them", job.number)));
        };
        found.insert(kept.seq);
    }
    Ok(found)
}

/// Whether words hold a name or a contact that entries tell.
fn names_someone(entries: &[Entry], words: &str) -> bool {
    let gone = removed_before(entries);
    let left = |entry: &&Entry| !gone.iter().any(|removal| removal.who.contains(&entry.seq));
    entries.iter().filter(left).any(|entry| {
        let mut event = entry.event.clone();
        private::texts(&mut event)
            .iter()
            .filter(|private| private.kind == Kind::Name || private.kind == Kind::Contact)
            .any(|private| match private.kind {
                Kind::Name => private::holds(words, private.text),
                _ => words.to_lowercase().contains(&private.text.to_lowercase()),
            })
    })
}

#[cfg(test)]
mod tests;
