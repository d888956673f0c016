//! Whether a call may be made: asked for every call, on the socket and over the network, before
//! any service sees it. The table is `rights`; who somebody is, the shop says.
//!
//! The first message of a call that names somebody is looked into for that name, and then given
//! on as it came.

use std::borrow::Cow;
use std::collections::VecDeque;
use std::future::{Future, poll_fn};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use http::{Request, Response};
use http_body::{Body as _, Frame};
use jiff::Timestamp;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::shop::Shop;
use lockring_proto::v1::Origin;
use prost::Message;
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::Bytes;
use tower::{Layer, Service};

use super::door::Caller;
use super::rights::{self, Place, Right, Who};
use super::{Daemon, status};

/// The one method whose first message names somebody within a head.
pub(super) const HEADED: &str = "/lockring.v1.Photos/AddPhoto";
/// How long the first message of a call may take to come.
const FIRST: Duration = Duration::from_secs(30);
/// Flag and length before a message ("gRPC over HTTP2", Length-Prefixed-Message).
const PREFIX: usize = 5;

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

/// A message that names somebody first.
#[derive(Clone, PartialEq, Message)]
struct Named {
    #[prost(message, optional, tag = "1")]
    origin: Option<Origin>,
}

/// A message whose head names somebody first.
#[derive(Clone, PartialEq, Message)]
struct Headed {
    #[prost(message, optional, tag = "1")]
    head: Option<Named>,
}

/// A body whose first message was read; it is given on from the beginning.
struct Peeked {
    seen: VecDeque<Frame<Bytes>>,
    rest: Body,
}

impl Peeked {
    /// Reads until the first message is whole, or the body is at its end.
    async fn at(body: Body, longest: usize) -> Result<Self, Status> {
        let mut peeked = Self {
            seen: VecDeque::new(),
            rest: body,
        };
        let (mut prefix, mut held) = (Vec::with_capacity(PREFIX), 0);
        loop {
            if let Some(length) = length(&prefix, longest)?
                && held >= PREFIX + length
            {
                return Ok(peeked);
            }
            let next = poll_fn(|context| Pin::new(&mut peeked.rest).poll_frame(context)).await;
            let Some(frame) = next.transpose()? else {
                return Ok(peeked);
            };
            if let Some(data) = frame.data_ref() {
                held += data.len();
                prefix.extend(data.iter().take(PREFIX - prefix.len()));
            }
            peeked.seen.push_back(frame);
        }
    }

    /// Whom the first message names; `None` when it names nobody or is cut off.
    fn origin(&self, headed: bool) -> Result<Option<Origin>, Status> {
        let mut pieces = self.seen.iter().filter_map(Frame::data_ref);
        let first = pieces.next().map_or(&[][..], |piece| piece);
        let mut all = Cow::Borrowed(first);
        for piece in pieces {
            all.to_mut().extend_from_slice(piece);
        }
        let Some(length) = length(&all[..all.len().min(PREFIX)], usize::MAX)? else {
            return Ok(None);
        };
        let Some(message) = all.get(PREFIX..PREFIX + length) else {
            return Ok(None);
        };
        let unread = |error| Status::invalid_argument(format!("the request cannot be read: {error}"));
        Ok(if headed {
            Headed::decode(message)
                .map_err(unread)?
                .head
                .and_then(|head| head.origin)
        } else {
            Named::decode(message).map_err(unread)?.origin
        })
    }
}

/// The length of a message by what stands before it; `None` while that has not come.
fn length(prefix: &[u8], longest: usize) -> Result<Option<usize>, Status> {
    let &[flag, a, b, c, d] = prefix else {
        return Ok(None);
    };
    if flag != 0 {
        return Err(Status::unimplemented("messages are not compressed here"));
    }
    let length = u32::from_be_bytes([a, b, c, d]) as usize;
    if length > longest {
        return Err(Status::out_of_range(format!(
            "a message of {length} bytes is too long; the most is {longest}"
        )));
    }
    Ok(Some(length))
}

impl http_body::Body for Peeked {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        match self.seen.pop_front() {
            Some(frame) => Poll::Ready(Some(Ok(frame))),
            None => Pin::new(&mut self.rest).poll_frame(context),
        }
    }

    fn is_end_stream(&self) -> bool {
        self.seen.is_empty() && self.rest.is_end_stream()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A message as it travels: flag, length, bytes.
    fn sent(message: &impl Message) -> Vec<u8> {
        let bytes = message.encode_to_vec();
        let mut sent = vec![0];
        sent.extend(u32::try_from(bytes.len()).unwrap().to_be_bytes());
        sent.extend(bytes);
        sent
    }

    /// A body in pieces of so many bytes.
    struct Pieces(Vec<u8>, usize);

    impl http_body::Body for Pieces {
        type Data = Bytes;
        type Error = Status;

        fn poll_frame(
            mut self: Pin<&mut Self>,
            _: &mut Context<'_>,
        ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
            let piece = self.1.min(self.0.len());
            let piece: Vec<u8> = self.0.drain(..piece).collect();
            Poll::Ready((!piece.is_empty()).then(|| Ok(Frame::data(piece.into()))))
        }
    }

    async fn all(mut body: Peeked) -> Vec<u8> {
        let mut all = Vec::new();
        while let Some(frame) = poll_fn(|context| Pin::new(&mut body).poll_frame(context)).await {
            all.extend(frame.unwrap().into_data().unwrap());
        }
        all
    }

    fn named(by: &str) -> Named {
        Named {
            origin: Some(Origin {
                by: by.into(),
                ..Origin::default()
            }),
        }
    }

    #[tokio::test]
    async fn a_name_is_read_whatever_pieces_it_comes_in_and_the_body_goes_on_whole() {
        for (body, headed) in [
            (sent(&named("M")), false),
            (
                sent(&Headed {
                    head: Some(named("M")),
                }),
                true,
            ),
        ] {
            for piece in [1, 3, 7, 4096] {
                let mut two = body.clone();
                two.extend(sent(&named("second")));
                let peeked = Peeked::at(Body::new(Pieces(two.clone(), piece)), 1000)
                    .await
                    .unwrap();
                assert_eq!(peeked.origin(headed).unwrap().unwrap().by, "M");
                assert_eq!(all(peeked).await, two, "in pieces of {piece}");
            }
        }
    }

    #[tokio::test]
    async fn a_message_that_is_cut_off_names_nobody_and_one_that_is_too_long_is_not_read() {
        let body = sent(&named("M"));
        for most in 0..body.len() {
            let cut = Pieces(body[..most].to_vec(), 4);
            let peeked = Peeked::at(Body::new(cut), 1000).await.unwrap();
            assert_eq!(peeked.origin(false).unwrap(), None, "{most}");
            assert_eq!(all(peeked).await, body[..most]);
        }
        let error = Peeked::at(Body::new(Pieces(body.clone(), 4)), 2)
            .await
            .err()
            .unwrap();
        assert_eq!(error.code(), tonic::Code::OutOfRange);
        let mut compressed = body;
        compressed[0] = 1;
        let error = Peeked::at(Body::new(Pieces(compressed, 4)), 1000)
            .await
            .err()
            .unwrap();
        assert_eq!(error.code(), tonic::Code::Unimplemented);
    }

    /// A shop with K the owner, M and N mechanics, and a pair each; N has left.
    fn shop() -> Shop {
        use lockring_domain::entry::Origin as Who;
        use lockring_domain::shop::ShopEvent;
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

    /// Bytes that mean nothing neither end anything nor come out otherwise than they went in.
    #[tokio::test]
    async fn noise_goes_on_as_it_came_or_is_refused() {
        let mut state = 11_u64;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as usize
        };
        let (mut read, mut refused) = (0, 0);
        for _ in 0..2000 {
            let mut bytes: Vec<u8> = (0..next() % 60).map(|_| (next() % 256) as u8).collect();
            // Most of them with a length that can be met.
            if bytes.len() > PREFIX && next() % 4 > 0 {
                let length = bytes.len() - PREFIX;
                bytes[..PREFIX].copy_from_slice(&[0, 0, 0, 0, length as u8]);
            }
            let piece = next() % 9 + 1;
            match Peeked::at(Body::new(Pieces(bytes.clone(), piece)), 1000).await {
                Ok(peeked) => {
                    let _named_or_not = (peeked.origin(false), peeked.origin(true));
                    assert_eq!(all(peeked).await, bytes);
                    read += 1;
                }
                Err(_) => refused += 1,
            }
        }
        assert!(read > 500 && refused > 50, "{read} read, {refused} refused");
    }
}
