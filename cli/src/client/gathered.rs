//! A connection that gathers what is written at about the same time into one piece.
//!
//! HTTP/2 writes its greeting, its settings and each half of a request by themselves. Each piece
//! wakes the daemon, which on a busy machine is then let in before the next piece is written; that
//! takes longer than all that is in them.
//!
//! For HTTP/2 only, which flushes at every turn: the first flush of what waits is answered before it is
//! out.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};

/// Bytes that are held back at most.
const MOST: usize = 32 * 1024;

/// Holds back what is written until whoever writes had one more turn, in which others that are ready
/// add to it.
#[derive(Debug)]
pub(crate) struct Gathered<S> {
    inner: S,
    waiting: Vec<u8>,
    /// Whether what waits had its one more turn.
    had_turn: bool,
}

impl<S> Gathered<S> {
    pub(crate) const fn new(inner: S) -> Self {
        Self {
            inner,
            waiting: Vec::new(),
            had_turn: false,
        }
    }
}

impl<S: AsyncWrite + Unpin> Gathered<S> {
    /// Writes all that waits.
    fn poll_out(&mut self, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        while !self.waiting.is_empty() {
            let written = ready!(Pin::new(&mut self.inner).poll_write(context, &self.waiting))?;
            if written == 0 {
                return Poll::Ready(Err(io::ErrorKind::WriteZero.into()));
            }
            self.waiting.drain(..written);
        }
        self.had_turn = false;
        Poll::Ready(Ok(()))
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Gathered<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_read(context, into)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Gathered<S> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        if self.waiting.len() + bytes.len() > MOST {
            ready!(self.poll_out(context))?;
        }
        if bytes.len() > MOST {
            return Pin::new(&mut self.inner).poll_write(context, bytes);
        }
        self.waiting.extend_from_slice(bytes);
        Poll::Ready(Ok(bytes.len()))
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        if self.waiting.is_empty() {
            return Pin::new(&mut self.inner).poll_flush(context);
        }
        if !self.had_turn {
            self.had_turn = true;
            context.waker().wake_by_ref();
            return Poll::Ready(Ok(()));
        }
        ready!(self.poll_out(context))?;
        Pin::new(&mut self.inner).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        ready!(self.poll_out(context))?;
        Pin::new(&mut self.inner).poll_shutdown(context)
    }
}

#[cfg(test)]
mod tests {
    use std::task::Waker;

    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _, duplex};

    use super::*;

    #[tokio::test]
    async fn what_is_written_before_the_second_flush_goes_out_together_and_in_order() {
        let (ours, mut theirs) = duplex(64 * 1024);
        let mut gathered = Gathered::new(ours);
        let mut context = Context::from_waker(Waker::noop());
        gathered.write_all(b"first ").await.unwrap();
        assert!(Pin::new(&mut gathered).poll_flush(&mut context).is_ready());
        gathered.write_all(b"second").await.unwrap();
        let mut read = [0; 64];
        let mut buffer = ReadBuf::new(&mut read);
        assert!(
            Pin::new(&mut theirs)
                .poll_read(&mut context, &mut buffer)
                .is_pending()
        );
        gathered.flush().await.unwrap();
        let length = theirs.read(&mut read).await.unwrap();
        assert_eq!(&read[..length], b"first second");
    }

    /// More than is held back, through a pipe that takes little at a time.
    #[tokio::test]
    async fn nothing_is_lost_however_much_it_is_and_at_the_end() {
        let (ours, mut theirs) = duplex(100);
        let sent: Vec<u8> = (0..200_000_u32).map(|at| (at % 251) as u8).collect();
        let expected = sent.clone();
        let writing = tokio::spawn(async move {
            let mut gathered = Gathered::new(ours);
            for (number, piece) in sent.chunks(7_001).enumerate() {
                gathered.write_all(piece).await.unwrap();
                if number % 3 == 0 {
                    gathered.flush().await.unwrap();
                }
            }
            gathered.write_all(&[9; 2 * MOST]).await.unwrap();
            gathered.write_all(b"end").await.unwrap();
            gathered.shutdown().await.unwrap();
        });
        let mut came = Vec::new();
        theirs.read_to_end(&mut came).await.unwrap();
        writing.await.unwrap();
        assert_eq!(came[..200_000], expected);
        assert_eq!(came[200_000..200_000 + 2 * MOST], [9; 2 * MOST]);
        assert_eq!(&came[200_000 + 2 * MOST..], b"end");
    }
}
