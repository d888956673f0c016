//! A service that is made when it is first called: reflection unpacks the whole contract, which few
//! ask for, and nobody should wait for at the start.

use std::sync::{Arc, OnceLock};
use std::task::{Context, Poll};

use http::Request;
use tonic::server::NamedService;
use tower::Service;

/// A service and how it is made.
pub(super) struct OnDemand<S, F> {
    made: Arc<(OnceLock<S>, F)>,
}

impl<S, F: Fn() -> S> OnDemand<S, F> {
    /// Not made yet.
    pub(super) fn new(make: F) -> Self {
        Self {
            made: Arc::new((OnceLock::new(), make)),
        }
    }
}

impl<S, F> Clone for OnDemand<S, F> {
    fn clone(&self) -> Self {
        Self {
            made: self.made.clone(),
        }
    }
}

impl<S: NamedService, F> NamedService for OnDemand<S, F> {
    const NAME: &'static str = S::NAME;
}

impl<S, F, B> Service<Request<B>> for OnDemand<S, F>
where
    S: Service<Request<B>> + Clone,
    F: Fn() -> S,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = S::Future;

    /// The services here are ready at any time; each call asks a copy of its own.
    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: Request<B>) -> Self::Future {
        let (made, make) = &*self.made;
        made.get_or_init(make).clone().call(request)
    }
}
