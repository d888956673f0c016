//! Test rides held against what was expected.

use std::sync::Arc;

use lockring_domain::diagnosis;
use lockring_proto::v1;
use tonic::{Request, Response, Status};

use super::{Daemon, status, to_proto};

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
}
