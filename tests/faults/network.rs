//! The listener of other benches under somebody who goes wrong or means ill: half handshakes,
//! half prefaces, noise and floods from one address or one certificate, and everybody else
//! served all the same.

use std::time::{Duration, Instant};

use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::{ListJobsRequest, NoteRequest, Origin, WatchRequest};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tonic::transport::Channel;

use crate::access::Reached;
use crate::support::PATIENCE;
use crate::support::rpc::block_on;
use crate::support::tls::Carried;

/// Another address of this machine.
const ELSEWHERE: &str = "127.0.0.2";
/// Connections of one address, and of one certificate, as DEVELOPERS.md tells them.
const OF_AN_ADDRESS: usize = 32;
const OF_A_CERTIFICATE: usize = 16;
/// Streams of one connection.
const STREAMS: usize = 64;

fn by_m(id: &str) -> Option<Origin> {
    Some(Origin {
        request_id: id.into(),
        by: "M".into(),
        terminal: "bench-2".into(),
        ..Origin::default()
    })
}

async fn lists(channel: &Channel) -> bool {
    let mut jobs = JobsClient::new(channel.clone());
    let asked = jobs.list(ListJobsRequest::default());
    matches!(tokio::time::timeout(PATIENCE, asked).await, Ok(Ok(_)))
}

/// Waits until the other end has closed, reading away what it says.
async fn is_closed(stream: &mut (impl tokio::io::AsyncRead + Unpin)) {
    let mut bytes = [0; 1024];
    let end = async { while matches!(stream.read(&mut bytes).await, Ok(read) if read > 0) {} };
    tokio::time::timeout(PATIENCE, end)
        .await
        .expect("it is kept for ever");
}

/// Whether the other end closes within a short while.
async fn closes_soon(stream: &mut TcpStream) -> bool {
    let read = tokio::time::timeout(Duration::from_millis(300), stream.read(&mut [0; 64])).await;
    matches!(read, Ok(Ok(0) | Err(_)))
}

#[test]
fn half_handshakes_take_up_one_addresss_seats_and_no_others_and_not_for_long() {
    let reached = Reached::open();
    let carried = Carried::read(&reached.pair("bench-2", "M"));
    block_on(async {
        let mut crowd = Vec::new();
        for _ in 0..OF_AN_ADDRESS + 8 {
            let mut stream = carried.reach("127.0.0.1").await.unwrap();
            // The head of a record that announces 512 bytes (RFC 8446, section 5.1), and one of them.
            let _closed_already = stream.write_all(&[22, 3, 1, 2, 0, 1]).await;
            crowd.push(stream);
        }
        let mut sent_away = 0;
        for stream in crowd.iter_mut().rev().take(8) {
            sent_away += usize::from(closes_soon(stream).await);
        }
        assert_eq!(sent_away, 8, "one address has more connections than it may");
        // Another address, and the socket, meanwhile.
        let bench = carried.connect_from(ELSEWHERE).await;
        assert!(lists(&bench).await);
        reached.shop.line("note 1 \"in the crowd\"").ok();
        for stream in &mut crowd {
            is_closed(stream).await;
        }
        assert!(
            lists(&carried.connect().await).await,
            "the seats are not free again"
        );
    });
}

#[test]
fn a_handshake_or_preface_that_trickles_is_broken_off() {
    let reached = Reached::open();
    let carried = Carried::read(&reached.pair("bench-2", "M"));
    block_on(async {
        let handshake = async {
            let mut stream = carried.reach("127.0.0.1").await.unwrap();
            let begun = Instant::now();
            for byte in [22, 3, 1, 2, 0].into_iter().chain(std::iter::repeat(1)) {
                assert!(
                    begun.elapsed() < PATIENCE,
                    "a trickle keeps a connection for ever"
                );
                if stream.write_all(&[byte]).await.is_err() {
                    break;
                }
                tokio::time::sleep(Duration::from_millis(100)).await;
            }
        };
        let preface = async {
            let mut stream = carried.shake().await.unwrap();
            let begun = Instant::now();
            // The preface of HTTP/2 (RFC 9113, section 3.4), a byte at a time, then empty pings.
            for byte in b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".iter().copied().cycle() {
                assert!(
                    begun.elapsed() < PATIENCE,
                    "a trickle keeps a connection for ever"
                );
                if stream.write_all(&[byte]).await.is_err() {
                    break;
                }
                tokio::time::sleep(Duration::from_millis(100)).await;
            }
        };
        // A whole handshake, and then nothing.
        let silence = async { is_closed(&mut carried.shake().await.unwrap()).await };
        tokio::join!(handshake, preface, silence);
        assert!(lists(&carried.connect().await).await);
    });
}

#[test]
fn one_certificate_has_so_many_connections_and_a_flood_of_it_leaves_others_served() {
    let reached = Reached::open();
    let flooding = Carried::read(&reached.pair("bench-2", "M"));
    let other = Carried::read(&reached.pair("bench-3", "M"));
    let answered = block_on(async {
        let mut channels = Vec::new();
        for _ in 0..OF_A_CERTIFICATE {
            channels.push(flooding.connect().await);
        }
        // One more comes through the handshake and to no call.
        let one_more = flooding.try_connect_from("127.0.0.1").await;
        assert!(
            one_more.is_err(),
            "one certificate has more connections than it may"
        );
        let mut calls = tokio::task::JoinSet::new();
        for (connection, channel) in channels.iter().enumerate() {
            for number in 0..20 {
                let mut jobs = JobsClient::new(channel.clone());
                calls.spawn(async move {
                    let id = format!("flood {connection} {number}");
                    let request = NoteRequest {
                        origin: by_m(&id),
                        job: 2,
                        text: id,
                    };
                    jobs.note(request).await.map(|_| 1)
                });
            }
        }
        // Another bench of the same address, and the socket, meanwhile.
        let bench = other.connect().await;
        for _ in 0..5 {
            assert!(lists(&bench).await);
            reached.shop.line("note 1 \"in the flood\"").ok();
        }
        calls
            .join_all()
            .await
            .into_iter()
            .map(Result::unwrap)
            .sum::<usize>()
    });
    assert_eq!(answered, OF_A_CERTIFICATE * 20);
    let history = reached.shop.json("history 2");
    let noted = history
        .iter()
        .filter(|line| line["text"].as_str().unwrap().contains("flood"));
    assert_eq!(noted.count(), answered);
    assert_eq!(reached.shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_message_that_is_too_long_cut_off_or_noise_ends_nothing() {
    let reached = Reached::open();
    let carried = Carried::read(&reached.pair("bench-2", "M"));
    block_on(async {
        let channel = carried.connect().await;
        let mut jobs = JobsClient::new(channel.clone());
        for (bytes, code) in [
            // More than this service takes, and more than any.
            (5 * 1024 * 1024, tonic::Code::OutOfRange),
            (40 * 1024 * 1024, tonic::Code::OutOfRange),
        ] {
            let request = NoteRequest {
                origin: by_m("long"),
                job: 1,
                text: "x".repeat(bytes),
            };
            let status = jobs.note(request).await.unwrap_err();
            assert_eq!(status.code(), code, "{status}");
        }
        assert!(lists(&channel).await);
        // Bytes that mean nothing, to the door and within TLS; a fixed course of them.
        let mut state = 7_u64;
        let mut noise = || {
            let mut bytes = vec![0; 2000];
            for byte in &mut bytes {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                *byte = (state >> 56) as u8;
            }
            bytes
        };
        for _ in 0..40 {
            let mut stream = carried.reach("127.0.0.1").await.unwrap();
            let _closed_already = stream.write_all(&noise()).await;
            is_closed(&mut stream).await;
        }
        for _ in 0..10 {
            let mut stream = carried.shake().await.unwrap();
            let _closed_already = stream.write_all(&noise()).await;
            is_closed(&mut stream).await;
        }
        assert!(lists(&carried.connect().await).await);
    });
    reached.shop.line("jobs").ok();
}

#[test]
fn calls_that_never_finish_their_request_hold_up_their_own_bench_alone() {
    let reached = Reached::open();
    let hanging = Carried::read(&reached.pair("bench-2", "M"));
    let other = Carried::read(&reached.pair("bench-3", "M"));
    block_on(async {
        let channel = hanging.connect().await;
        let mut calls = tokio::task::JoinSet::new();
        for _ in 0..40 {
            let mut photos = lockring_proto::v1::photos_client::PhotosClient::new(channel.clone());
            // A request whose first message never comes.
            calls.spawn(async move { photos.add_photo(tokio_stream::pending()).await.map(|_| ()) });
        }
        tokio::time::sleep(Duration::from_millis(300)).await;
        assert!(lists(&other.connect().await).await);
        reached.shop.line("note 1 \"meanwhile\"").ok();
        calls.abort_all();
        while calls.join_next().await.is_some() {}
        assert!(
            lists(&hanging.connect().await).await,
            "its turns are not free again"
        );
    });
}

#[test]
fn a_flood_of_handshakes_that_come_to_nothing_leaves_another_address_served() {
    let reached = Reached::open();
    let carried = Carried::read(&reached.pair("bench-2", "M"));
    let shows_nothing = Carried {
        own: None,
        ..carried.clone()
    };
    block_on(async {
        let mut flood = tokio::task::JoinSet::new();
        for _ in 0..8 {
            let stranger = shows_nothing.clone();
            flood.spawn(async move {
                loop {
                    if let Ok(mut stream) = stranger.shake().await {
                        is_closed(&mut stream).await;
                    }
                }
            });
        }
        for _ in 0..10 {
            let bench = carried.connect_from(ELSEWHERE).await;
            assert!(lists(&bench).await);
        }
        reached.shop.line("note 1 \"in the flood\"").ok();
        flood.abort_all();
    });
    // A word in the log for each doubling, not for each of them.
    let said = std::fs::read_to_string(reached.shop.said()).unwrap();
    let refused = said
        .lines()
        .filter(|line| line.contains("was not let in"))
        .count();
    assert!((1..40).contains(&refused), "{refused} lines");
}

#[test]
fn a_connection_has_so_many_streams_and_they_keep_nobody_else_out() {
    let reached = Reached::open();
    let watching = Carried::read(&reached.pair("bench-2", "M"));
    let other = Carried::read(&reached.pair("bench-3", "M"));
    block_on(async {
        let channel = watching.connect().await;
        let mut watches = Vec::new();
        let mut asked = tokio::task::JoinSet::new();
        for _ in 0..STREAMS + 6 {
            let mut jobs = JobsClient::new(channel.clone());
            asked.spawn(async move { jobs.watch(WatchRequest::default()).await });
        }
        while watches.len() < STREAMS {
            let next = tokio::time::timeout(PATIENCE, asked.join_next()).await;
            watches.push(
                next.expect("fewer streams than may be")
                    .unwrap()
                    .unwrap()
                    .unwrap(),
            );
        }
        let one_more = tokio::time::timeout(Duration::from_millis(500), asked.join_next()).await;
        assert!(one_more.is_err(), "more streams than may be");
        assert!(lists(&other.connect().await).await);
        reached.shop.line("note 1 \"meanwhile\"").ok();
        // A stream that ends makes room for one that waits.
        watches.pop();
        let next = tokio::time::timeout(PATIENCE, asked.join_next()).await;
        next.expect("no room is made").unwrap().unwrap().unwrap();
    });
}
