//! Reports.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_domain::job::Job;
use lockring_domain::recalled as meant;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_proto::v1;
use lockring_store::{JobFilter, Reader, StorageError};
use tonic::{Request, Response, Status};

use super::{Daemon, from_proto, status, to_proto};
use crate::report::blocked;
use crate::report::days::Days;
use crate::report::known::Cut;
use crate::report::recalled;
use crate::report::swapped;
use crate::standing::{Standing, zone_of};

/// Rows read at a time.
const PAGE: u32 = 500;

/// The service.
pub(super) struct Reports(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::reports_server::Reports for Reports {
    async fn blocked(
        &self,
        request: Request<v1::BlockedRequest>,
    ) -> Result<Response<v1::BlockedReport>, Status> {
        let on = from_proto::evening(&request.into_inner()).map_err(|refusal| status::refused(&refusal))?;
        self.0
            .read(move |daemon, reader| daemon.blocked(reader, on))
            .await
            .map(Response::new)
    }
}

impl Daemon {
    /// The report as known at the end of a day, or now.
    fn blocked(
        &self,
        reader: &Reader<'_>,
        on: Option<Date>,
    ) -> Result<Result<v1::BlockedReport, Refusal>, StorageError> {
        let now = Timestamp::now();
        let at = self.standing(reader)?;
        let zone = &at.zone;
        let today = now.to_zoned_datetime(zone.clone()).date();
        let (day, shop, jobs) = match on {
            None => (today, reader.shop()?, open_jobs(reader)?),
            Some(day) if day > today => {
                let message = format!("{day} has not come yet; expected a day up to {today}");
                return Ok(Err(Refusal::new(Reason::BadInput, message).with("on", day)));
            }
            Some(day) => match Cut::of(reader, day, zone)? {
                Some(Cut {
                    made_before, upto, ..
                }) => {
                    let shop = reader.shop_known(made_before, upto)?;
                    let jobs = reader.jobs_known(made_before, upto)?;
                    (day, shop, jobs.into_iter().map(Arc::new).collect())
                }
                None => {
                    let message = format!("{day} is outside the range of the calendar");
                    return Ok(Err(Refusal::new(Reason::BadInput, message).with("on", day)));
                }
            },
        };
        let zone = zone_of(&shop, &self.zone);
        let days = Days::new(&shop.calendar, &zone, day);
        let searches: Vec<_> = meant::searches(&shop, &zone).collect();
        let told = blocked::report(&jobs, &searches, &days);
        Ok(Ok(to_proto::blocked_report(&told)))
    }
}

/// Open jobs as lists show them, and the zone of the shop's clock.
///
/// # Errors
/// What the store says.
pub(crate) fn open_list(
    daemon: &Daemon,
    reader: &Reader<'_>,
    now: Timestamp,
) -> Result<(v1::ListJobsReply, TimeZone), StorageError> {
    let at = daemon.standing(reader)?;
    let days = at.days(now);
    let jobs = open_jobs(reader)?;
    let searches: Vec<_> = meant::searches(&at.shop, &at.zone).collect();
    let lines = jobs.iter().map(|job| to_proto::job_line(job, &searches, &days));
    let list = v1::ListJobsReply {
        jobs: lines.collect(),
        recalls: recalls_due(reader, &at)?,
        swaps: swaps_due(reader, &at)?,
        ..v1::ListJobsReply::default()
    };
    Ok((list, at.zone.clone()))
}

/// The recalls for which riders are to be called.
pub(super) fn recalls_due(reader: &Reader<'_>, at: &Standing) -> Result<Vec<v1::RecallDue>, StorageError> {
    let due = recalled::to_reach(reader, at)?.into_iter();
    let line = |due: recalled::Due| v1::RecallDue {
        recall: due.recall,
        name: due.name,
        riders: due.riders,
    };
    Ok(due.map(line).collect())
}

/// What does not hold of parts swapped after handover.
pub(super) fn swaps_due(reader: &Reader<'_>, at: &Standing) -> Result<Vec<v1::SwapDue>, StorageError> {
    let due = swapped::due(reader, at)?.into_iter();
    let line = |due: swapped::Due| v1::SwapDue {
        job: due.job,
        rider: due.rider,
        what: due.what,
        how: due.how,
    };
    Ok(due.map(line).collect())
}

/// Every job that is not over.
pub(crate) fn open_jobs(reader: &Reader<'_>) -> Result<Vec<Arc<Job>>, StorageError> {
    let mut jobs: Vec<Arc<Job>> = Vec::new();
    loop {
        let after = jobs.last().map_or(0, |job| job.number);
        let page = reader.jobs(JobFilter::Open, after, PAGE)?;
        let is_last = page.len() < PAGE as usize;
        jobs.extend(page);
        if is_last {
            return Ok(jobs);
        }
    }
}
