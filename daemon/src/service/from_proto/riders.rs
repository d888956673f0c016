//! Riders: whom, and what goes besides name and contact.

use std::collections::BTreeSet;

use jiff::Timestamp;
use lockring_domain::command::Command;
use lockring_domain::origin::Origin;
use lockring_domain::refusal::Refusal;
use lockring_proto::v1;

use super::{Asked, Asker, asker, bad, change};

/// Whom somebody means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::service) enum Who {
    /// The rider of a job.
    Job(u32),
    /// The rider of this name.
    Name(String),
}

/// Entries or photos that are meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::service) enum Pick {
    /// All of them.
    All,
    /// One, of the job that is named, or of the only one there is.
    One {
        /// The job.
        job: Option<u32>,
        /// Its number within the job.
        number: u64,
    },
}

/// A removal as asked.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) struct RiderAsked {
    /// Chosen by the client; a retry carries the same.
    pub(in crate::service) request_id: String,
    /// Who, where, when.
    pub(in crate::service) origin: Origin,
    /// Decide and answer, store nothing.
    pub(in crate::service) validate_only: bool,
    /// Whom.
    pub(in crate::service) who: Who,
    /// Why.
    pub(in crate::service) why: String,
    /// Entries whose words go too.
    pub(in crate::service) words: Vec<Pick>,
    /// Photos whose pictures go too.
    pub(in crate::service) photos: Vec<Pick>,
    /// Overrule what may be overruled.
    pub(in crate::service) anyway: bool,
}

/// Words about the rider.
pub(in crate::service) fn note_privately(
    request: v1::NotePrivatelyRequest,
    now: Timestamp,
) -> Result<Asked, Refusal> {
    let command = Command::Note {
        text: request.text,
        private: true,
    };
    change(request.origin, request.job, command, now)
}

/// Reads whom somebody means.
pub(in crate::service) fn who(text: &str) -> Result<Who, Refusal> {
    let text = text.trim();
    if text.is_empty() {
        return Err(bad(
            "who",
            "empty; expected a job's number or the rider's name, for example `21`",
        ));
    }
    Ok(text.parse().map_or_else(|_| Who::Name(text.to_owned()), Who::Job))
}

/// Who asks for the sealing of the history, and whether it is only tried.
pub(in crate::service) fn seal_history(
    request: v1::SealHistoryRequest,
    now: Timestamp,
) -> Result<(Origin, bool), Refusal> {
    let asker = asker(request.origin, now)?;
    Ok((asker.origin, asker.validate_only))
}

/// Reads a removal.
pub(in crate::service) fn remove_rider(
    request: v1::RemoveRiderRequest,
    now: Timestamp,
) -> Result<RiderAsked, Refusal> {
    let Asker {
        request_id,
        origin,
        validate_only,
        ..
    } = asker(request.origin, now)?;
    Ok(RiderAsked {
        request_id,
        origin,
        validate_only,
        who: who(&request.who)?,
        why: request.why,
        words: picks("words", "found", &request.words)?,
        photos: picks("photos", "all", &request.photos)?,
        anyway: request.anyway,
    })
}

fn picks(field: &str, all: &str, texts: &[String]) -> Result<Vec<Pick>, Refusal> {
    let read = |text: &String| {
        let text = text.trim();
        let one = match text.split_once(':') {
            None => text.parse().ok().map(|number| Pick::One { job: None, number }),
            Some((job, number)) => job
                .parse()
                .ok()
                .zip(number.parse().ok())
                .map(|(job, number)| Pick::One {
                    job: Some(job),
                    number,
                }),
        };
        one.or_else(|| (text == all).then_some(Pick::All)).ok_or_else(|| {
            let expected = format!(
                "`{text}` cannot be read; expected a number as `4`, with its job as `21:4`, or `{all}`"
            );
            bad(field, &expected).with("given", text)
        })
    };
    texts.iter().map(read).collect()
}

/// Makes sure that what is picked can belong to jobs of the rider, or is words elsewhere that hold the name (`others`, by
/// job and number).
///
/// # Errors
/// A refusal for a number without a job where there are several, and for a job of others.
pub(in crate::service) fn picks_fit(
    asked: &RiderAsked,
    jobs: &[u32],
    others: &BTreeSet<(u32, u64)>,
) -> Result<(), Refusal> {
    for (field, picks) in [("words", &asked.words), ("photos", &asked.photos)] {
        for pick in picks {
            let Pick::One { job, number } = pick else { continue };
            let listed: Vec<String> = jobs.iter().map(u32::to_string).collect();
            let listed = listed.join(", ");
            match job {
                None if jobs.len() > 1 => {
                    let problem = format!(
                        "`{number}` may be of any of jobs {listed}; expected the job before it, as `{}:{number}`",
                        jobs[0]
                    );
                    return Err(bad(field, &problem).with("given", number));
                }
                Some(job) if field == "words" && others.contains(&(*job, *number)) => {}
                Some(job) if !jobs.contains(job) => {
                    let problem = format!(
                        "job {job} is not this rider's, and its entry {number} has no words with the name; expected one of {listed}"
                    );
                    return Err(bad(field, &problem).with("given", job));
                }
                _ => {}
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(words: &[&str]) -> Result<Vec<Pick>, Refusal> {
        let words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
        picks("words", "found", &words)
    }

    #[test]
    fn a_number_is_a_job_and_anything_else_a_name() {
        assert_eq!(who(" 21 ").unwrap(), Who::Job(21));
        assert_eq!(who("Ines H.").unwrap(), Who::Name("Ines H.".into()));
        assert!(who(" ").is_err());
    }

    #[test]
    fn what_is_picked_is_read_with_or_without_its_job() {
        let one = |job, number| Pick::One { job, number };
        assert_eq!(
            asked(&["4", "21:4", "found"]).unwrap(),
            [one(None, 4), one(Some(21), 4), Pick::All]
        );
        for text in ["", "x", "21:", ":4", "-1", "all"] {
            assert!(asked(&[text]).is_err(), "{text}");
        }
    }
}
