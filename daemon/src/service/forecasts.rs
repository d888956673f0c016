//! Forecasts: long work that tells how far it is and ends when nobody waits for it.

use std::pin::Pin;
use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::command;
use lockring_domain::forecast;
use lockring_domain::job::Job;
use lockring_domain::level::Level;
use lockring_domain::refusal::Refusal;
use lockring_domain::ride_plan;
use lockring_proto::v1;
use tokio::sync::mpsc::{self, Sender};
use tokio_stream::Stream;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Request, Response, Status};

use super::decide::existing_job;
use super::ledger::at_desk;
use super::{Daemon, from_proto, status, to_proto};
use crate::standing::Standing;

/// Updates that wait for a caller to take them.
const READY: usize = 4;
/// An update after so many draws.
const EVERY: u32 = 10;

/// The service.
pub(super) struct Forecasts(pub(super) Arc<Daemon>);

type Updates<T> = Pin<Box<dyn Stream<Item = Result<T, Status>> + Send>>;

#[tonic::async_trait]
impl v1::forecasts_server::Forecasts for Forecasts {
    type PredictStream = Updates<v1::PredictUpdate>;

    async fn predict(
        &self,
        request: Request<v1::PredictRequest>,
    ) -> Result<Response<Self::PredictStream>, Status> {
        let request = request.into_inner();
        let asked = from_proto::forecast(&request);
        let level = Level::read(&request.assist).map_err(|refusal| status::refused(&refusal))?;
        let (job, at) = self.0.job_with(request.job, request.build).await?;
        let update = move |done| v1::PredictUpdate {
            done,
            draws: asked.draws,
            reply: None,
        };
        Ok(Response::new(self.0.long(update, move |told| {
            let found = forecast::forecast(&job, &at.rules, level, asked, told)?;
            Ok(v1::PredictUpdate {
                done: asked.draws,
                draws: asked.draws,
                reply: Some(to_proto::forecast(&job, &found)),
            })
        })))
    }

    type RangeStream = Updates<v1::RangeUpdate>;

    async fn range(&self, request: Request<v1::RangeRequest>) -> Result<Response<Self::RangeStream>, Status> {
        let mut request = request.into_inner();
        let asked = from_proto::range(&request);
        let build = std::mem::take(&mut request.build);
        let (job, at) = self.0.job_with(request.job, build).await?;
        let update = move |done| v1::RangeUpdate {
            done,
            draws: asked.draws,
            reply: None,
        };
        Ok(Response::new(self.0.long(update, move |told| {
            let ride = from_proto::ride(&request)?;
            let found = forecast::range(&job, &at.rules, ride, asked, told)?;
            Ok(v1::RangeUpdate {
                done: asked.draws,
                draws: asked.draws,
                reply: Some(to_proto::range(&job, &found)),
            })
        })))
    }

    async fn ride_plan(
        &self,
        request: Request<v1::RidePlanRequest>,
    ) -> Result<Response<v1::RidePlanReply>, Status> {
        let v1::RidePlanRequest { job } = request.into_inner();
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            Ok(existing_job(reader, job)?
                .map(|job| to_proto::ride_plan(&job, &ride_plan::plan(&job, Timestamp::now(), &at.rules))))
        });
        answer.await.map(Response::new)
    }
}

impl Daemon {
    /// A job and the shop around it.
    pub(super) async fn job_at(self: &Arc<Self>, number: u32) -> Result<(Arc<Job>, Arc<Standing>), Status> {
        self.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            Ok(existing_job(reader, number)?.map(|job| (job, at)))
        })
        .await
    }

    /// The same with other parts on a copy of the job.
    async fn job_with(
        self: &Arc<Self>,
        number: u32,
        build: Vec<v1::Assignment>,
    ) -> Result<(Arc<Job>, Arc<Standing>), Status> {
        if build.is_empty() {
            return self.job_at(number).await;
        }
        let parts = from_proto::typed(build);
        self.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = match existing_job(reader, number)? {
                Ok(job) => job,
                Err(refusal) => return Ok(Err(refusal)),
            };
            let job = Arc::unwrap_or_clone(job);
            let tried = at_desk(reader, &at, |desk| command::with_parts(job, &parts, desk))?;
            Ok(tried.map(|job| (Arc::new(job), at)))
        })
        .await
    }

    /// Runs long work on a thread of its own; `update` makes a message of how much is done.
    /// The work is told to stop when the caller has gone or the daemon ends.
    fn long<T: Send + 'static>(
        &self,
        update: impl Fn(u32) -> T + Send + 'static,
        work: impl FnOnce(&mut dyn FnMut(u32) -> bool) -> Result<T, Refusal> + Send + 'static,
    ) -> Updates<T> {
        let (send, updates) = mpsc::channel(READY);
        let shutdown = self.shutdown.clone();
        tokio::task::spawn_blocking(move || {
            let mut told = |done: u32| {
                tell(&send, done, &update);
                !send.is_closed() && !shutdown.is_asked()
            };
            let answer = work(&mut told).map_err(|refusal| status::refused(&refusal));
            // There is room for it, or nobody is left to be told.
            drop(send.try_send(answer));
        });
        Box::pin(ReceiverStream::new(updates))
    }
}

/// Now and then tells how far it is; a caller who is slow to listen misses some. Room is left for the
/// answer, so that no thread waits for somebody who does not listen.
fn tell<T>(send: &Sender<Result<T, Status>>, done: u32, update: &impl Fn(u32) -> T) {
    if done.is_multiple_of(EVERY) && send.capacity() > 1 {
        drop(send.try_send(Ok(update(done))));
    }
}
