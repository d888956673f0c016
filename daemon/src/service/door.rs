//! The door: who may connect, how many at a time, and how long without a word.
//!
//! Everybody behind the socket has this user's number, which the system vouches for; what is
//! limited is one program that goes wrong, so that others are still served. A connection that
//! is not let in is closed at once instead of waiting: a queue at the door would be shared by
//! all.

use std::collections::HashMap;
use std::io;
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll, ready};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::Sleep;
use tokio_stream::Stream;
use tonic::transport::server::Connected;

/// What the door lets in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Limits {
    /// Connections at a time; well below the files a process may usually have open (1024).
    pub(crate) all: usize,
    /// Connections of one program at a time.
    pub(crate) of_one: usize,
    /// Calls of one program that run at a time; its others wait, and nobody else behind them.
    pub(crate) calls_of_one: usize,
    /// How long a connection may take to its first whole call.
    pub(crate) silence: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            all: 512,
            of_one: 64,
            calls_of_one: 64,
            silence: Duration::from_secs(5),
        }
    }
}

/// Pause after the system gave no connection, as when too many files are open.
const AFTER_TROUBLE: Duration = Duration::from_millis(100);

/// Who calls: one for each connection, handed to every call on it.
#[derive(Debug, Clone)]
pub(crate) struct Caller(Arc<Connection>);

#[derive(Debug)]
struct Connection {
    /// A whole call has come.
    called: AtomicBool,
    /// Hello was said and agreed to.
    greeted: AtomicBool,
    pid: i32,
    seats: Arc<Seats>,
    /// The calls that its program may still begin.
    calls: Arc<Semaphore>,
}

impl Caller {
    /// Waits until its program may begin another call, which lasts as long as what is given.
    pub(super) async fn turn(&self) -> OwnedSemaphorePermit {
        let calls = self.0.calls.clone();
        calls.acquire_owned().await.expect("it is never closed")
    }

    /// A call has come: the connection is no longer a silent one.
    pub(super) fn has_called(&self) {
        self.0.called.store(true, Ordering::Relaxed);
    }

    /// Client and daemon have agreed.
    pub(super) fn greet(&self) {
        self.0.greeted.store(true, Ordering::Relaxed);
    }

    /// Whether client and daemon have agreed.
    pub(super) fn is_greeted(&self) -> bool {
        self.0.greeted.load(Ordering::Relaxed)
    }
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.seats.leave(self.pid);
    }
}

/// How many connections each program has, and the calls it may begin.
#[derive(Debug, Default)]
struct Seats(Mutex<HashMap<i32, Program>>);

#[derive(Debug)]
struct Program {
    connections: usize,
    calls: Arc<Semaphore>,
}

impl Seats {
    /// Takes a seat for a program, unless it or everybody together has too many.
    fn take(&self, pid: i32, limits: Limits) -> Result<Arc<Semaphore>, String> {
        let mut programs = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let all: usize = programs.values().map(|program| program.connections).sum();
        if all >= limits.all {
            return Err(format!("{all} connections are open, as many as may be"));
        }
        let own = programs.entry(pid).or_insert_with(|| Program {
            connections: 0,
            calls: Arc::new(Semaphore::new(limits.calls_of_one)),
        });
        if own.connections >= limits.of_one {
            return Err(format!(
                "it has {} connections, as many as one program may",
                own.connections
            ));
        }
        own.connections += 1;
        Ok(own.calls.clone())
    }

    fn leave(&self, pid: i32) {
        let mut programs = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(own) = programs.get_mut(&pid) {
            own.connections -= 1;
            if own.connections == 0 {
                programs.remove(&pid);
            }
        }
    }
}

/// Connections as they are let in.
#[derive(Debug)]
pub(super) struct Door {
    listener: UnixListener,
    limits: Limits,
    seats: Arc<Seats>,
    /// The one user let in.
    user: u32,
    trouble: Option<Pin<Box<Sleep>>>,
    /// Refusals are logged when their number doubles, so that a flood does not fill the disk.
    refused: u64,
}

impl Door {
    pub(super) fn new(listener: UnixListener, limits: Limits) -> Self {
        Self {
            listener,
            limits,
            seats: Arc::default(),
            user: rustix::process::geteuid().as_raw(),
            trouble: None,
            refused: 0,
        }
    }

    fn admit(&mut self, stream: UnixStream) -> Option<Guest> {
        let seat = stream
            .peer_cred()
            .map_err(|error| format!("the system does not say who it is: {error}"))
            .and_then(|peer| {
                if peer.uid() != self.user {
                    return Err(format!("it runs as user {}; expected {}", peer.uid(), self.user));
                }
                let pid = peer.pid().unwrap_or(0);
                self.seats.take(pid, self.limits).map(|calls| (pid, calls))
            });
        match seat {
            Ok((pid, calls)) => Some(Guest {
                stream,
                caller: Caller(Arc::new(Connection {
                    called: AtomicBool::new(false),
                    greeted: AtomicBool::new(false),
                    pid,
                    seats: self.seats.clone(),
                    calls,
                })),
                silence: Some(Box::pin(tokio::time::sleep(self.limits.silence))),
            }),
            Err(why) => {
                self.refused += 1;
                if self.refused.is_power_of_two() {
                    tracing::warn!(why, refused = self.refused, "a connection was not let in");
                }
                None
            }
        }
    }
}

impl Stream for Door {
    type Item = io::Result<Guest>;

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
#[derive(Debug)]
pub(super) struct Guest {
    stream: UnixStream,
    caller: Caller,
    /// Runs until the first call.
    silence: Option<Pin<Box<Sleep>>>,
}

impl Connected for Guest {
    type ConnectInfo = Caller;

    fn connect_info(&self) -> Caller {
        self.caller.clone()
    }
}

impl AsyncRead for Guest {
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
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl AsyncWrite for Guest {
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

    const FEW: Limits = Limits {
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

    #[test]
    fn all_together_get_so_many_seats() {
        let seats = Seats::default();
        for pid in [1, 1, 2] {
            seats.take(pid, FEW).unwrap();
        }
        let full = seats.take(3, FEW).unwrap_err();
        assert!(full.contains("3 connections are open"), "{full}");
        seats.leave(2);
        seats.take(3, FEW).unwrap();
        let own = Seats::default();
        own.take(1, FEW).unwrap();
        own.take(1, FEW).unwrap();
        assert!(own.take(1, FEW).unwrap_err().contains("one program"));
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

    #[tokio::test]
    async fn calls_of_one_program_wait_for_its_own_and_not_for_anothers() {
        let seats = Seats::default();
        let (one, other) = (seats.take(1, FEW).unwrap(), seats.take(2, FEW).unwrap());
        let first = one.clone().acquire_owned().await.unwrap();
        // Its second connection shares the turns of its first.
        assert!(seats.take(1, FEW).unwrap().try_acquire().is_err());
        assert!(other.try_acquire().is_ok());
        drop(first);
        assert!(one.try_acquire().is_ok());
    }
}
