//! Whether a call may be made: asked for every call, on the socket and over the network, before
//! any service sees it. The table is `rights`; who somebody is, the shop says.
//!
//! The first message of a call that names somebody is looked into for that name, and then given
//! on as it came.

use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use http::{Request, Response};
use jiff::Timestamp;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::shop::Shop;
use lockring_proto::v1::Origin;
use tonic::Status;
use tonic::body::Body;
use tower::{Layer, Service};

use super::rights::{self, Place, Right, Who};
use super::{Daemon, status};
use crate::door::Caller;

mod peeked;

use peeked::Peeked;

/// The one method whose first message names somebody within a head.
pub(super) const HEADED: &str = "/lockring.v1.Photos/AddPhoto";
/// How long the first message of a call may take to come.
pub(super) const FIRST: Duration = Duration::from_secs(30);

/// Asks of every call whether it may be made.
#[derive(Clone)]
pub(super) struct Guard {
    /// Who the shop knows.
    pub(super) daemon: Arc<Daemon>,
    /// The longest message that any service takes, bytes.
    pub(super) longest: usize,
}

impl<S> Layer<S> for Guard {
    type Service = Guarded<S>;

    fn layer(&self, inner: S) -> Self::Service {
        Guarded {
            inner,
            guard: self.clone(),
        }
    }
}

/// All services behind the question.
#[derive(Clone)]
pub(super) struct Guarded<S> {
    inner: S,
    guard: Guard,
}

impl<S> Service<Request<Body>> for Guarded<S>
where
    S: Service<Request<Body>, Response = Response<Body>> + Clone + Send + 'static,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    type Response = Response<Body>;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, S::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        // The one that was asked whether it is ready does the work; its copy waits for the next.
        let next = self.inner.clone();
        let mut ready = std::mem::replace(&mut self.inner, next);
        let guard = self.guard.clone();
        Box::pin(async move {
            match guard.admit(request).await {
                Ok(request) => ready.call(request).await,
                Err(refused) => Ok(refused.into_http()),
            }
        })
    }
}

impl Guard {
    /// The request, if it may be made.
    async fn admit(&self, request: Request<Body>) -> Result<Request<Body>, Status> {
        let path = request.uri().path();
        let right = rights::of(path).ok_or_else(|| Status::unimplemented(format!("no method {path}")))?;
        let headed = path == HEADED;
        let fingerprint = request
            .extensions()
            .get::<Caller>()
            .and_then(|caller| caller.fingerprint().map(str::to_owned));
        if fingerprint.is_none() && right.who == Who::Anybody {
            return Ok(request);
        }
        let shop = self.daemon.known_shop().await?;
        let refused = |refusal: Refusal| status::refused(&refusal);
        if let Some(print) = &fingerprint {
            from_afar(&shop, print, right).map_err(refused)?;
        }
        if right.who == Who::Anybody {
            return Ok(request);
        }
        let (parts, body) = request.into_parts();
        let read = tokio::time::timeout(FIRST, Peeked::at(body, self.longest)).await;
        let peeked = read.map_err(|_| status::too_slow(FIRST))??;
        if let Some(origin) = peeked.origin(headed)? {
            may(&shop, fingerprint.as_deref(), &origin, right).map_err(refused)?;
        }
        Ok(Request::from_parts(parts, Body::new(peeked)))
    }
}

/// Whether a certificate counts, and whether the method may be called over the network.
fn from_afar(shop: &Shop, fingerprint: &str, right: Right) -> Result<(), Refusal> {
    shop.guest(fingerprint, Timestamp::now())?;
    match right.place {
        Place::Everywhere => Ok(()),
        Place::Socket => Err(Refusal::new(
            Reason::SocketOnly,
            "this is done at the computer that keeps the shop, not over the network",
        )
        .hint("type it there, without --via")),
    }
}

/// Whether whoever the request names may make it, and whether the certificate may say so. A name
/// that is empty is refused where the request is read.
fn may(shop: &Shop, fingerprint: Option<&str>, origin: &Origin, right: Right) -> Result<(), Refusal> {
    let by = origin.by.trim();
    if by.is_empty() {
        return Ok(());
    }
    if let Some(print) = fingerprint {
        shop.guest(print, Timestamp::now())?.may_act_as(by)?;
    }
    match right.who {
        Who::Anybody => Ok(()),
        Who::Person => shop.person(by).map(drop),
        Who::Owner(what) => shop.owner(by, what).map(drop),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A shop with K the owner, M and N mechanics, and a pair each; N has left.
    fn shop() -> Shop {
        use lockring_domain::origin::Origin as Who;
        use lockring_domain::shop::event::ShopEvent;
        use lockring_domain::shop::people::Role;

        let origin = Who {
            by: "K".into(),
            terminal: "desk".into(),
            made: Timestamp::UNIX_EPOCH,
        };
        let joined = |initials: &str, role| ShopEvent::Joined {
            initials: initials.into(),
            name: String::new(),
            role,
        };
        let paired = |number, person: &str, print: &str, until: Timestamp| ShopEvent::Paired {
            number,
            bench: format!("bench-{number}"),
            person: person.into(),
            fingerprint: print.into(),
            until,
        };
        let (past, ahead) = (Timestamp::UNIX_EPOCH, Timestamp::MAX);
        let mut shop = Shop::default();
        let events = [
            joined("K", Role::Owner),
            joined("M", Role::Mechanic),
            joined("N", Role::Mechanic),
            paired(1, "K", "owners", ahead),
            paired(2, "M", "mechanics", ahead),
            paired(3, "M", "expired", past),
            paired(4, "M", "revoked", ahead),
            paired(5, "N", "of one who left", ahead),
            ShopEvent::PairRevoked {
                number: 4,
                why: String::new(),
            },
            ShopEvent::Left {
                initials: "N".into(),
                why: String::new(),
            },
        ];
        for (seq, event) in (1..).zip(&events) {
            shop.take(seq, &origin, event);
        }
        shop
    }

    /// Every method, asked for by every kind of certificate, and by none.
    #[test]
    fn the_whole_table_holds_for_every_kind_of_caller() {
        let shop = shop();
        let origin = |by: &str| Origin {
            by: by.into(),
            ..Origin::default()
        };
        let reason = |answer: Result<(), Refusal>| answer.err().map(|refusal| refusal.reason);
        for (service, methods) in rights::TABLE {
            for (method, right) in *methods {
                let path = format!("/{service}/{method}");
                for (print, why) in [
                    ("nobody's", Reason::CertificateUnknown),
                    ("expired", Reason::CertificateExpired),
                    ("revoked", Reason::CertificateRevoked),
                    ("of one who left", Reason::PersonLeft),
                ] {
                    assert_eq!(
                        reason(from_afar(&shop, print, *right)),
                        Some(why),
                        "{path} {print}"
                    );
                }
                let socket_only = (right.place == Place::Socket).then_some(Reason::SocketOnly);
                for print in ["owners", "mechanics"] {
                    assert_eq!(
                        reason(from_afar(&shop, print, *right)),
                        socket_only,
                        "{path} {print}"
                    );
                }
                let asks = |print, by: &str| reason(may(&shop, print, &origin(by), *right));
                let named = right.who != Who::Anybody;
                let owners = matches!(right.who, Who::Owner(_)).then_some(Reason::OwnerOnly);
                assert_eq!(asks(None, "K"), None, "{path}");
                assert_eq!(asks(None, "M"), owners, "{path}");
                assert_eq!(asks(None, "N"), named.then_some(Reason::UnknownPerson), "{path}");
                assert_eq!(asks(Some("mechanics"), "m"), owners, "{path}");
                assert_eq!(
                    asks(Some("mechanics"), "K"),
                    Some(Reason::AnotherPerson),
                    "{path}"
                );
                assert_eq!(asks(Some("owners"), "K"), None, "{path}");
                assert_eq!(asks(Some("owners"), "M"), owners, "{path}");
                assert_eq!(
                    asks(Some("revoked"), "M"),
                    Some(Reason::CertificateRevoked),
                    "{path}"
                );
            }
        }
    }
}
