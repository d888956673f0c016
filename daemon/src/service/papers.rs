//! What documents need beyond the answers of the other services.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::card;
use lockring_proto::v1;
use tonic::{Request, Response, Status};

use super::decide::existing_job;
use super::{Daemon, to_proto};
use crate::report::recalled;

/// The service.
pub(super) struct Papers(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::papers_server::Papers for Papers {
    async fn card(&self, request: Request<v1::CardRequest>) -> Result<Response<v1::CardReply>, Status> {
        let v1::CardRequest { job } = request.into_inner();
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            Ok(existing_job(reader, job)?.map(|job| {
                let card = card::card(&job, Timestamp::now(), &at.rules);
                to_proto::card(&job, &card, recalled::left_of(&at, &job))
            }))
        });
        answer.await.map(Response::new)
    }

    async fn companions(
        &self,
        request: Request<v1::CompanionsRequest>,
    ) -> Result<Response<v1::CompanionsReply>, Status> {
        let v1::CompanionsRequest { job } = request.into_inner();
        let answer = self
            .0
            .read(move |_, reader| Ok(existing_job(reader, job)?.map(|job| to_proto::companions(&job))));
        answer.await.map(Response::new)
    }
}
