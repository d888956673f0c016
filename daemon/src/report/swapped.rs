//! Bicycles with their riders on which a part was swapped that does not hold.

use lockring_domain::gate;
use lockring_domain::job::Job;
use lockring_store::{Reader, StorageError};

use crate::standing::Standing;

/// A check that does not hold of a swapped part.
pub(crate) struct Due {
    /// The job.
    pub(crate) job: u32,
    /// Its rider.
    pub(crate) rider: String,
    /// Part, check and what it says.
    pub(crate) what: String,
    /// The line that goes on.
    pub(crate) how: String,
}

/// What does not hold of parts swapped on a bicycle after handover.
pub(crate) fn of(at: &Standing, job: &Job) -> Vec<Due> {
    let unheld = gate::unheld(job, &at.rules, &at.memory).into_iter();
    let due = unheld.map(|unheld| Due {
        job: job.number,
        rider: job.rider.clone(),
        what: unheld.what(),
        how: unheld.goes_on(job.number),
    });
    due.collect()
}

/// The same in words.
pub(crate) fn left_of(at: &Standing, job: &Job) -> Vec<String> {
    let due = of(at, job).into_iter();
    due.map(|due| format!("{}; {}", due.what, due.how)).collect()
}

/// What does not hold of swapped parts of any bicycle as things stand.
pub(crate) fn due(reader: &Reader<'_>, at: &Standing) -> Result<Vec<Due>, StorageError> {
    let jobs = reader.jobs_swapped()?;
    Ok(jobs.iter().flat_map(|job| of(at, job)).collect())
}
