//! Test rides held against what was expected.

use std::sync::Arc;

use lockring_domain::diagnosis;
use lockring_domain::learning::{self, Lesson};
use lockring_domain::rules::RuleSheet;
use lockring_proto::v1;
use lockring_store::{JobFilter, Reader, StorageError};
use tonic::{Request, Response, Status};

use super::{Daemon, from_proto, status, to_proto};
use crate::report::known::Cut;

/// The service.
pub(super) struct Rides(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::rides_server::Rides for Rides {
    async fn compare_ride(
        &self,
        request: Request<v1::CompareRideRequest>,
    ) -> Result<Response<v1::CompareRideReply>, Status> {
        let number = request.into_inner().job;
        let (job, at) = self.0.job_at(number).await?;
        let compared = tokio::task::spawn_blocking(move || {
            diagnosis::compare(&job, &at.rules).map(|found| to_proto::compared(&job, &found))
        });
        compared
            .await
            .map_err(|error| Status::internal(error.to_string()))?
            .map(Response::new)
            .map_err(|refusal| status::refused(&refusal))
    }

    async fn predictions(
        &self,
        request: Request<v1::PredictionsRequest>,
    ) -> Result<Response<v1::PredictionsReport>, Status> {
        let on =
            from_proto::day("on", &request.into_inner().on).map_err(|refusal| status::refused(&refusal))?;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let lessons = match on {
                None => lessons(reader, &at.rules)?,
                Some(day) => match daemon.cut(reader, Some(day), |day| (day, day))? {
                    Ok((_, _, cut)) => lessons_known(reader, cut, &at.rules)?,
                    Err(refusal) => return Ok(Err(refusal)),
                },
            };
            let learnt = learning::learn(&lessons, &at.rules);
            Ok(Ok(to_proto::predictions(lessons.len(), &learnt, &at.rules)))
        });
        answer.await.map(Response::new)
    }
}

/// Jobs read at a time.
const PAGE: u32 = 200;

/// The same of the jobs as they were known up to a moment.
fn lessons_known(reader: &Reader<'_>, cut: Cut, rules: &RuleSheet) -> Result<Vec<Lesson>, StorageError> {
    let mut lessons = Vec::new();
    reader.every_history_known(cut.made_before, cut.upto, |history| {
        lessons.extend(learning::lesson(&history.job, rules));
    })?;
    Ok(lessons)
}

/// What every job's ride teaches, open jobs and finished ones.
fn lessons(reader: &Reader<'_>, rules: &RuleSheet) -> Result<Vec<Lesson>, StorageError> {
    let (mut lessons, mut after) = (Vec::new(), 0);
    loop {
        let page = reader.jobs(JobFilter::All, after, PAGE)?;
        lessons.extend(page.iter().filter_map(|job| learning::lesson(job, rules)));
        match page.last() {
            Some(last) if page.len() == PAGE as usize => after = last.number,
            _ => return Ok(lessons),
        }
    }
}
