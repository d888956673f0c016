//! A request's body whose first message was read for whom it names, and is given on as it came.

use std::borrow::Cow;
use std::collections::VecDeque;
use std::future::poll_fn;
use std::pin::Pin;
use std::task::{Context, Poll};

use http_body::{Body as _, Frame};
use lockring_proto::v1::Origin;
use prost::Message;
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::Bytes;

/// Flag and length before a message ("gRPC over HTTP2", Length-Prefixed-Message).
const PREFIX: usize = 5;

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
pub(super) struct Peeked {
    seen: VecDeque<Frame<Bytes>>,
    rest: Body,
}

impl Peeked {
    /// Reads until the first message is whole, or the body is at its end.
    pub(super) async fn at(body: Body, longest: usize) -> Result<Self, Status> {
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
    pub(super) fn origin(&self, headed: bool) -> Result<Option<Origin>, Status> {
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
