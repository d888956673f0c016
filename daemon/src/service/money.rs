//! The money of a job, the labour on it, and what happens after handover.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_proto::v1;
use tonic::{Request, Response, Status};

use super::decide::existing_job;
use super::{Daemon, from_proto, to_proto};

/// The service.
pub(super) struct Money(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::money_server::Money for Money {
    async fn enter(&self, request: Request<v1::EnterRequest>) -> Result<Response<v1::JobReply>, Status> {
        self.0
            .change(from_proto::enter(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn account(
        &self,
        request: Request<v1::AccountRequest>,
    ) -> Result<Response<v1::AccountView>, Status> {
        let v1::AccountRequest { job } = request.into_inner();
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = existing_job(reader, job)?;
            Ok(job.map(|job| to_proto::account(&job, &at)))
        });
        answer.await.map(Response::new)
    }
}
