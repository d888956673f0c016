//! The door: who may connect, how many at a time, and how long without a word.
//!
//! Everybody behind the socket has this user's number, which the system vouches for; what is
//! limited is one program that goes wrong, so that others are still served. Over the network
//! (`crate::network`) the same is counted for each address and each certificate. A connection
//! that is not let in is closed at once instead of waiting: a queue at the door would be shared
//! by all.

use std::io;
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Weak};
use std::task::{Context, Poll, ready};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::time::Sleep;
use tokio_stream::Stream;
use tonic::transport::server::Connected;

mod seats;

pub(crate) use seats::{Limits, Refusals, Seat, Seats, Whose};

/// Pause after the system gave no connection, as when too many files are open.
pub(crate) const AFTER_TROUBLE: Duration = Duration::from_millis(100);

/// Who calls: one for each connection, handed to every call on it.
#[derive(Debug, Clone)]
pub(crate) struct Caller(Arc<Connection>);

#[derive(Debug)]
struct Connection {
    /// A whole call has come.
    called: AtomicBool,
    /// Hello was said and agreed to.
    greeted: AtomicBool,
    /// How many handshakes are under way.
    greetings: watch::Sender<u32>,
    /// The calls that its program, or its bench, may still begin.
    calls: Arc<Semaphore>,
    /// What it takes up, given back at its end.
    _seats: Vec<Seat>,
    /// Over the network: what it showed.
    certificate: Option<Certificate>,
}

/// What a connection over the network showed.
#[derive(Debug)]
struct Certificate {
    /// SHA-256, hexadecimal.
    fingerprint: String,
    /// The word to break the connection off.
    broken_off: watch::Sender<bool>,
}

impl Caller {
    /// Waits until its program may begin another call, which weighs as much as so many and lasts as long
    /// as what is given.
    pub(crate) async fn turns(&self, weight: u32) -> OwnedSemaphorePermit {
        let calls = self.0.calls.clone();
        calls
            .acquire_many_owned(weight)
            .await
            .expect("it is never closed")
    }

    /// A call has come: the connection is no longer a silent one.
    pub(crate) fn has_called(&self) {
        self.0.called.store(true, Ordering::Relaxed);
    }

    /// Client and daemon have agreed.
    pub(crate) fn greet(&self) {
        self.0.greeted.store(true, Ordering::Relaxed);
    }

    /// A handshake has begun; it is under way for as long as what is given.
    pub(crate) fn greeting(&self) -> Greeting {
        self.0.greetings.send_modify(|under_way| *under_way += 1);
        Greeting(self.0.clone())
    }

    /// Whether client and daemon have agreed; waits for a handshake that is under way.
    pub(crate) async fn is_greeted(&self) -> bool {
        let mut under_way = self.0.greetings.subscribe();
        let over = under_way.wait_for(|under_way| *under_way == 0).await;
        over.expect("it goes with the connection, which is held here");
        self.0.greeted.load(Ordering::Relaxed)
    }

    /// SHA-256 of the certificate shown; `None` on the socket.
    pub(crate) fn fingerprint(&self) -> Option<&str> {
        self.0
            .certificate
            .as_ref()
            .map(|shown| shown.fingerprint.as_str())
    }

    /// Breaks the connection off, whatever runs on it. The socket's stay.
    pub(crate) fn break_off(&self) {
        if let Some(shown) = &self.0.certificate {
            shown.broken_off.send_replace(true);
        }
    }

    /// Whether the connection is still there.
    pub(crate) fn is_held(this: &WeakCaller) -> Option<Self> {
        this.0.upgrade().map(Self)
    }

    /// The connection without holding it.
    pub(crate) fn weak(&self) -> WeakCaller {
        WeakCaller(Arc::downgrade(&self.0))
    }
}

/// A handshake under way.
#[derive(Debug)]
pub(crate) struct Greeting(Arc<Connection>);

impl Drop for Greeting {
    fn drop(&mut self) {
        self.0.greetings.send_modify(|under_way| *under_way -= 1);
    }
}

/// A connection that may be at its end.
#[derive(Debug)]
pub(crate) struct WeakCaller(Weak<Connection>);

/// Connections as they are let in.
#[derive(Debug)]
pub(crate) struct Door {
    listener: UnixListener,
    limits: Limits,
    seats: Arc<Seats>,
    /// The one user let in.
    user: u32,
    trouble: Option<Pin<Box<Sleep>>>,
    refused: Refusals,
}

impl Door {
    pub(crate) fn new(listener: UnixListener, limits: Limits) -> Self {
        Self {
            listener,
            limits,
            seats: Arc::default(),
            user: rustix::process::geteuid().as_raw(),
            trouble: None,
            refused: Refusals::default(),
        }
    }

    fn admit(&mut self, stream: UnixStream) -> Option<Guest<UnixStream>> {
        let seat = stream
            .peer_cred()
            .map_err(|error| format!("the system does not say who it is: {error}"))
            .and_then(|peer| {
                if peer.uid() != self.user {
                    return Err(format!("it runs as user {}; expected {}", peer.uid(), self.user));
                }
                let pid = peer.pid().unwrap_or(0);
                self.seats.take(Whose::Program(pid), self.limits)
            });
        match seat {
            Ok(seat) => Some(Guest::new(stream, seat, self.limits)),
            Err(why) => {
                self.refused.note(&why);
                None
            }
        }
    }
}

impl Stream for Door {
    type Item = io::Result<Guest<UnixStream>>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        loop {
            if let Some(trouble) = &mut self.trouble {
                ready!(trouble.as_mut().poll(context));
                self.trouble = None;
            }
            match ready!(self.listener.poll_accept(context)) {
                Ok((stream, _)) => {
                    if let Some(guest) = self.admit(stream) {
                        return Poll::Ready(Some(Ok(guest)));
                    }
                }
                Err(error) => {
                    tracing::warn!(%error, "no connection could be taken");
                    self.trouble = Some(Box::pin(tokio::time::sleep(AFTER_TROUBLE)));
                }
            }
        }
    }
}

/// A connection that was let in. It is broken off when no whole call has come in time.
pub(crate) struct Guest<S> {
    stream: S,
    caller: Caller,
    /// Runs until the first call.
    silence: Option<Pin<Box<Sleep>>>,
    /// Over the network: comes true when the connection is to be broken off.
    broken_off: Option<Pin<Box<dyn Future<Output = ()> + Send>>>,
}

impl<S> std::fmt::Debug for Guest<S> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Guest")
            .field("caller", &self.caller)
            .finish_non_exhaustive()
    }
}

impl<S> Guest<S> {
    /// Somebody of this machine.
    fn new(stream: S, seat: Seat, limits: Limits) -> Self {
        Self {
            stream,
            silence: Some(Box::pin(tokio::time::sleep(limits.silence))),
            broken_off: None,
            caller: Caller(Arc::new(Connection {
                called: AtomicBool::new(false),
                greeted: AtomicBool::new(false),
                greetings: watch::Sender::default(),
                calls: seat.calls.clone(),
                _seats: vec![seat],
                certificate: None,
            })),
        }
    }

    /// Somebody from the network, with the seats of address and certificate.
    pub(crate) fn with_certificate(
        stream: S,
        fingerprint: String,
        address: Seat,
        bench: Seat,
        limits: Limits,
    ) -> Self {
        let (broken_off, mut hears) = watch::channel(false);
        Self {
            stream,
            silence: Some(Box::pin(tokio::time::sleep(limits.silence))),
            broken_off: Some(Box::pin(async move {
                // A sender that is gone went with the connection.
                while !*hears.borrow_and_update() && hears.changed().await.is_ok() {}
            })),
            caller: Caller(Arc::new(Connection {
                called: AtomicBool::new(false),
                greeted: AtomicBool::new(false),
                greetings: watch::Sender::default(),
                calls: bench.calls.clone(),
                _seats: vec![address, bench],
                certificate: Some(Certificate {
                    fingerprint,
                    broken_off,
                }),
            })),
        }
    }

    /// The connection as its calls see it.
    pub(crate) fn caller(&self) -> &Caller {
        &self.caller
    }
}

impl<S> Connected for Guest<S> {
    type ConnectInfo = Caller;

    fn connect_info(&self) -> Caller {
        self.caller.clone()
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Guest<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        if self.caller.0.called.load(Ordering::Relaxed) {
            self.silence = None;
        }
        if let Some(silence) = &mut self.silence
            && silence.as_mut().poll(context).is_ready()
        {
            let why = "no call came in time";
            return Poll::Ready(Err(io::Error::new(io::ErrorKind::TimedOut, why)));
        }
        if let Some(broken_off) = &mut self.broken_off
            && broken_off.as_mut().poll(context).is_ready()
        {
            let why = "its certificate counts no longer";
            return Poll::Ready(Err(io::Error::new(io::ErrorKind::ConnectionAborted, why)));
        }
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Guest<S> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write(context, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write_vectored(context, bytes)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use tokio::io::AsyncReadExt as _;
    use tokio_stream::StreamExt as _;

    use super::*;

    /// Few enough to reach each of them.
    pub(super) const FEW: Limits = Limits {
        all: 3,
        of_one: 2,
        calls_of_one: 1,
        silence: Duration::from_millis(50),
    };

    fn door(folder: &Path) -> Door {
        Door::new(UnixListener::bind(folder.join("s")).unwrap(), FEW)
    }

    #[tokio::test]
    async fn one_program_gets_so_many_connections_and_a_seat_is_free_again() {
        let folder = tempfile::tempdir().unwrap();
        let mut door = door(folder.path());
        let connect = || UnixStream::connect(folder.path().join("s"));
        let mut clients = Vec::new();
        for _ in 0..2 {
            clients.push((connect().await.unwrap(), door.next().await.unwrap().unwrap()));
        }
        let mut third = connect().await.unwrap();
        // The third is closed without a word; the stream goes on waiting for the next.
        let next = tokio::time::timeout(Duration::from_millis(50), door.next()).await;
        assert!(next.is_err(), "a third connection was let in");
        assert_eq!(third.read(&mut [0; 1]).await.unwrap(), 0);
        clients.pop();
        let _fourth = connect().await.unwrap();
        assert!(door.next().await.unwrap().is_ok());
    }

    #[tokio::test]
    async fn a_connection_without_a_call_is_broken_off_and_one_with_a_call_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let mut door = door(folder.path());
        let _silent = UnixStream::connect(folder.path().join("s")).await.unwrap();
        let mut guest = door.next().await.unwrap().unwrap();
        let error = guest.read(&mut [0; 1]).await.unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);

        let _caller = UnixStream::connect(folder.path().join("s")).await.unwrap();
        let mut guest = door.next().await.unwrap().unwrap();
        guest.connect_info().has_called();
        let read = tokio::time::timeout(FEW.silence * 3, guest.read(&mut [0; 1])).await;
        assert!(read.is_err(), "it is let wait: {read:?}");
    }

    #[tokio::test]
    async fn another_user_is_not_let_in() {
        let folder = tempfile::tempdir().unwrap();
        let mut door = door(folder.path());
        door.user = u32::MAX - 1;
        let _stranger = UnixStream::connect(folder.path().join("s")).await.unwrap();
        let next = tokio::time::timeout(Duration::from_millis(50), door.next()).await;
        assert!(next.is_err(), "a stranger was let in");
    }
}
