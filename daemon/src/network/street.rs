//! The door to the network: connections of other machines, after their handshake.
//!
//! A seat is taken before the handshake, so that half a one takes up what a whole one does and
//! no more; handshakes run beside each other, each for a short while.

use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use rustls::ServerConfig;
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinSet;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;
use tokio_stream::Stream;

use super::authority::fingerprint;
use crate::door::{AFTER_TROUBLE, Caller, Guest, Limits, Refusals, Seat, Seats, Whose};

/// How long a handshake may take.
const HANDSHAKE: Duration = Duration::from_secs(5);
/// What is let in over the network: apart from the socket, whose seats stay its own.
const LIMITS: Limits = Limits {
    all: 128,
    of_one: 32,
    calls_of_one: 32,
    silence: Duration::from_secs(5),
};
/// What one certificate gets of that.
const OF_A_BENCH: Limits = Limits { of_one: 16, ..LIMITS };

/// Whoever came through, or why not.
type Came = Result<Guest<TlsStream<TcpStream>>, String>;

/// Connections as they are let in.
pub(crate) struct Street<N> {
    listener: TcpListener,
    acceptor: TlsAcceptor,
    addresses: Arc<Seats>,
    benches: Arc<Seats>,
    shaking: JoinSet<Came>,
    trouble: Option<Pin<Box<tokio::time::Sleep>>>,
    refused: Refusals,
    /// Is told of everybody who comes through.
    note: N,
}

impl<N: Fn(&Caller)> Street<N> {
    /// The door at a listener.
    pub(crate) fn new(listener: TcpListener, config: Arc<ServerConfig>, note: N) -> Self {
        Self {
            listener,
            acceptor: TlsAcceptor::from(config),
            addresses: Arc::default(),
            benches: Arc::default(),
            shaking: JoinSet::new(),
            trouble: None,
            refused: Refusals::default(),
            note,
        }
    }

    /// Begins a handshake with whoever knocks, unless that address has too many.
    fn begin(&mut self, stream: TcpStream, from: SocketAddr) {
        let seat = match self.addresses.take(Whose::Address(from.ip()), LIMITS) {
            Ok(seat) => seat,
            Err(why) => return self.refused.note(&why),
        };
        // Small answers are not to wait for company.
        if let Err(error) = stream.set_nodelay(true) {
            tracing::debug!(%error, "a connection keeps its delay");
        }
        let (acceptor, benches) = (self.acceptor.clone(), self.benches.clone());
        self.shaking.spawn(async move {
            let shaken = tokio::time::timeout(HANDSHAKE, acceptor.accept(stream)).await;
            let stream = shaken
                .map_err(|_| format!("{from} took too long over its handshake"))?
                .map_err(|error| format!("{from} was not let in: {error}"))?;
            admit(stream, from, seat, &benches)
        });
    }
}

/// Counts a connection for its certificate as well.
fn admit(stream: TlsStream<TcpStream>, from: SocketAddr, address: Seat, benches: &Arc<Seats>) -> Came {
    let shown = stream.get_ref().1.peer_certificates().and_then(<[_]>::first);
    let fingerprint = match shown {
        Some(certificate) => fingerprint(certificate),
        None => return Err(format!("{from} showed no certificate")),
    };
    let bench = benches
        .take(Whose::Certificate(fingerprint.clone()), OF_A_BENCH)
        .map_err(|why| format!("{from}: {why}"))?;
    Ok(Guest::with_certificate(
        stream,
        fingerprint,
        address,
        bench,
        LIMITS,
    ))
}

impl<N: Fn(&Caller) + Unpin> Stream for Street<N> {
    type Item = std::io::Result<Guest<TlsStream<TcpStream>>>;

    fn poll_next(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        let street = self.get_mut();
        loop {
            // Whoever is through goes first: the door is for them.
            match street.shaking.poll_join_next(context) {
                Poll::Ready(Some(Ok(Ok(guest)))) => {
                    (street.note)(guest.caller());
                    return Poll::Ready(Some(Ok(guest)));
                }
                Poll::Ready(Some(Ok(Err(why)))) => {
                    street.refused.note(&why);
                    continue;
                }
                Poll::Ready(Some(Err(error))) => {
                    tracing::error!(%error, "a handshake broke down");
                    continue;
                }
                Poll::Ready(None) | Poll::Pending => {}
            }
            if let Some(trouble) = &mut street.trouble {
                if trouble.as_mut().poll(context).is_pending() {
                    return Poll::Pending;
                }
                street.trouble = None;
            }
            match street.listener.poll_accept(context) {
                Poll::Pending => return Poll::Pending,
                Poll::Ready(Ok((stream, from))) => street.begin(stream, from),
                Poll::Ready(Err(error)) => {
                    tracing::warn!(%error, "no connection could be taken");
                    street.trouble = Some(Box::pin(tokio::time::sleep(AFTER_TROUBLE)));
                }
            }
        }
    }
}
