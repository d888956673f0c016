//! The bench: what a mechanic fills in at the stand.

use std::sync::Arc;

use lockring_domain::stand;
use lockring_proto::v1;
use tonic::{Request, Response, Status};

use super::decide::existing_job;
use super::{Daemon, to_proto};

/// The service.
pub(super) struct Bench(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::bench_server::Bench for Bench {
    async fn sheet(&self, request: Request<v1::SheetRequest>) -> Result<Response<v1::SheetReply>, Status> {
        let number = request.into_inner().job;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = existing_job(reader, number)?;
            Ok(job.map(|job| to_proto::sheet(&job, &stand::sheet(&job, &at.rules))))
        });
        answer.await.map(Response::new)
    }
}
