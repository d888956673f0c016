//! Logs of rides: read and kept, listed, shown.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::command::study_of;
use lockring_domain::entry::Event;
use lockring_domain::job::Job;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::ridelog::{self, Kept, Logged, Named};
use lockring_proto::v1;
use tonic::{Request, Response, Status};

use super::decide::existing_job;
use super::ledger::Ledger;
use super::{Daemon, LONG, blocking, from_proto, to_proto};

/// The service.
pub(super) struct RideLogs(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::ride_logs_server::RideLogs for RideLogs {
    async fn import_ride_log(
        &self,
        request: Request<v1::ImportRideLogRequest>,
    ) -> Result<Response<v1::JobReply>, Status> {
        let request = request.into_inner();
        // A large file takes its time: neither the writer nor anybody else waits for it.
        let asked = blocking(LONG, move || {
            from_proto::import_ride_log(request, Timestamp::now())
        })
        .await?;
        self.0.change(asked).await
    }

    async fn list_ride_logs(
        &self,
        request: Request<v1::ListRideLogsRequest>,
    ) -> Result<Response<v1::ListRideLogsReply>, Status> {
        let v1::ListRideLogsRequest { job } = request.into_inner();
        let answer = self
            .0
            .read(move |_, reader| Ok(existing_job(reader, job)?.map(|job| to_proto::ride_logs(&job))));
        answer.await.map(Response::new)
    }

    async fn show_ride_log(
        &self,
        request: Request<v1::ShowRideLogRequest>,
    ) -> Result<Response<v1::ShowRideLogReply>, Status> {
        let v1::ShowRideLogRequest { job, log, anew } = request.into_inner();
        let answer = self.0.read(move |daemon, reader| {
            let rules = daemon.standing(reader)?.rules.clone();
            let job = match existing_job(reader, job)? {
                Ok(job) => job,
                Err(refusal) => return Ok(Err(refusal)),
            };
            let kept = match kept(&job, log) {
                Ok(kept) => kept.clone(),
                Err(refusal) => return Ok(Err(refusal)),
            };
            let entries = Ledger::entries(reader, job.number)?;
            let logged = entries.iter().find_map(|entry| match &entry.event {
                Event::RideLogged(logged) if entry.seq == kept.seq => Some(logged),
                _ => None,
            });
            Ok(logged
                .ok_or_else(|| lost(&kept, &"its entry is not in the journal"))
                .and_then(|logged| {
                    let ride = unpacked(&kept, logged)?;
                    let shown = if anew {
                        let study = study_of(&job, &rules, kept.meter, &ride);
                        Kept { study, ..kept }
                    } else {
                        kept
                    };
                    Ok(to_proto::ride_log(&job, &shown, &ride))
                }))
        });
        answer.await.map(Response::new)
    }
}

/// A log by its number.
fn kept(job: &Job, number: u32) -> Result<&Kept, Refusal> {
    job.logs.iter().find(|log| log.number == number).ok_or_else(|| {
        let numbers: Vec<String> = job.logs.iter().map(|log| log.number.to_string()).collect();
        let hint = if numbers.is_empty() {
            format!(
                "it has none; read one with `lockring ride {} import FILE`",
                job.number
            )
        } else {
            format!("its logs are {}", numbers.join(", "))
        };
        Refusal::new(
            Reason::BadInput,
            format!("job {} has no log {number}", job.number),
        )
        .with("job", job.number)
        .with("log", number)
        .hint(hint)
    })
}

/// The ride out of the file that was kept.
fn unpacked(kept: &Kept, logged: &Logged) -> Result<ridelog::Log, Refusal> {
    let file = logged.packed.file().map_err(|error| lost(kept, &error))?;
    let named = Named::read(&logged.columns)?;
    ridelog::read_named(&file, &named).map_err(|error| lost(kept, &error))
}

fn lost(kept: &Kept, why: &dyn std::fmt::Display) -> Refusal {
    Refusal::new(
        Reason::BadInput,
        format!("log {} ({}) cannot be read back: {why}", kept.number, kept.file),
    )
    .with("log", kept.number)
    .hint("what it showed stands in the list of logs; `lockring verify` looks at the journal")
}
