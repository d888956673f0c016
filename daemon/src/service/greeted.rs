//! Hello comes first: on a connection where client and daemon have not agreed, nothing is
//! answered but the handshake, health, reflection, and the two calls by which a program of
//! another version looks at this daemon and ends it. A greeted call takes its turn among those
//! of its own program, so that a flood from one does not stand before the calls of another.
//!
//! A call that comes while the handshake is under way waits for its end: a client need not wait for
//! the answer to Hello before it sends what it came for, and nothing is done when they do not agree.

use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};

use http::{Request, Response};
use http_body::{Frame, SizeHint};
use tokio::sync::OwnedSemaphorePermit;
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::Bytes;
use tower::{Layer, Service};

use super::guard::FIRST;
use super::status;
use crate::door::Caller;

/// The handshake.
const HELLO: &str = "/lockring.v1.Shop/Hello";

/// Calls and services that are answered before Hello. Everything else is not: a new call is
/// closed until it is greeted.
const OPEN: [&str; 6] = [
    HELLO,
    "/lockring.v1.Shop/Status",
    "/lockring.v1.Shop/Stop",
    "/grpc.health.v1.Health/",
    "/grpc.reflection.v1.ServerReflection/",
    "/grpc.reflection.v1alpha.ServerReflection/",
];

/// Calls whose answer comes bit by bit and holds a picture or a thread until it was taken: their turn
/// lasts as long. A watch holds neither.
const LASTING: [&str; 3] = [
    "/lockring.v1.Forecasts/Predict",
    "/lockring.v1.Forecasts/Range",
    "/lockring.v1.Photos/FetchPhoto",
];
/// How many turns such a call takes.
const WEIGHT: u32 = 8;

/// An answer under way, with the turn it takes.
struct Held {
    body: Body,
    _turn: OwnedSemaphorePermit,
}

impl http_body::Body for Held {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        Pin::new(&mut self.body).poll_frame(context)
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}

/// Asks of every call whether its connection was greeted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Greeted;

impl<S> Layer<S> for Greeted {
    type Service = GreetedService<S>;

    fn layer(&self, inner: S) -> Self::Service {
        GreetedService { inner }
    }
}

/// All services behind the question.
#[derive(Debug, Clone)]
pub(super) struct GreetedService<S> {
    inner: S,
}

impl<S, B> Service<Request<B>> for GreetedService<S>
where
    S: Service<Request<B>, Response = Response<Body>> + Clone + Send + 'static,
    B: Send + 'static,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    type Response = Response<Body>;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, S::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<B>) -> Self::Future {
        let caller = request.extensions().get::<Caller>().cloned();
        if let Some(caller) = &caller {
            caller.has_called();
        }
        let path = request.uri().path();
        if is_open(path) {
            let greeting = caller.filter(|_| path == HELLO).map(|caller| caller.greeting());
            let answer = self.inner.call(request);
            return Box::pin(async move {
                let answer = answer.await;
                drop(greeting);
                answer
            });
        }
        // The one that was asked whether it is ready does the work; its copy waits for the next.
        let next = self.inner.clone();
        let mut ready = std::mem::replace(&mut self.inner, next);
        Box::pin(async move {
            match caller {
                Some(caller) if is_greeted(&caller).await => {
                    let is_lasting = LASTING.contains(&request.uri().path());
                    let turn = caller.turns(if is_lasting { WEIGHT } else { 1 }).await;
                    let answer = ready.call(request).await?;
                    Ok(if is_lasting {
                        answer.map(|body| Body::new(Held { body, _turn: turn }))
                    } else {
                        answer
                    })
                }
                _ => Ok(status::not_greeted().into_http()),
            }
        })
    }
}

/// Whether both agreed; a handshake that does not come to its end is none.
async fn is_greeted(caller: &Caller) -> bool {
    tokio::time::timeout(FIRST, caller.is_greeted())
        .await
        .unwrap_or(false)
}

fn is_open(path: &str) -> bool {
    OPEN.iter()
        .any(|open| path == *open || (open.ends_with('/') && path.starts_with(open)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_handshake_health_reflection_status_and_stop_are_open() {
        for open in ["/lockring.v1.Shop/Hello", "/grpc.health.v1.Health/Watch"] {
            assert!(is_open(open), "{open}");
        }
        for closed in [
            "/lockring.v1.Jobs/Note",
            "/lockring.v1.Shop/Backup",
            "/lockring.v1.Shop/HelloAndMore",
            "/lockring.v1.Shop/",
            "/",
            "",
        ] {
            assert!(!is_open(closed), "{closed}");
        }
    }
}
