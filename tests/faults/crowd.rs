//! One program that goes wrong, silent, slow or flooding, and the others that are served all
//! the same.

use std::io::{ErrorKind, Read as _, Write as _};
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use lockring_proto::paths;
use lockring_proto::v1::forecasts_client::ForecastsClient;
use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::{ListJobsRequest, NoteRequest, PredictRequest};

use crate::support::rpc::{block_on, connect, origin};
use crate::support::{PATIENCE, Shop};

fn silent(shop: &Shop) -> UnixStream {
    let stream = UnixStream::connect(paths::socket_path(&shop.folder()).unwrap()).unwrap();
    stream.set_read_timeout(Some(Duration::from_millis(50))).unwrap();
    stream
}

/// Whether the daemon has closed its end; what it says meanwhile is read away.
fn is_closed(stream: &mut UnixStream) -> bool {
    match stream.read(&mut [0; 4096]) {
        Ok(read) => read == 0,
        Err(error) => !matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut),
    }
}

/// This test is one program; the command line is another.
#[test]
fn a_crowd_of_silent_connections_of_one_program_keeps_nobody_else_out() {
    let shop = Shop::with_demo_jobs();
    let mut crowd: Vec<UnixStream> = (0..200).map(|_| silent(&shop)).collect();
    let open = crowd
        .iter_mut()
        .filter_map(|stream| (!is_closed(stream)).then_some(()))
        .count();
    assert!(
        (1..=64).contains(&open),
        "{open} connections of one program were let in"
    );
    shop.line("note 1 \"in the crowd\"").ok();
    // Those that were let in and say nothing are asked to leave as well.
    let begun = Instant::now();
    while crowd.iter_mut().any(|stream| !is_closed(stream)) {
        assert!(begun.elapsed() < PATIENCE, "silent connections stay for ever");
    }
}

#[test]
fn a_connection_that_trickles_its_first_words_is_broken_off() {
    let shop = Shop::open();
    let mut slow = silent(&shop);
    let begun = Instant::now();
    // The preface of HTTP/2 (RFC 9113, section 3.4), a byte at a time, then empty pings.
    for byte in b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".iter().copied().cycle() {
        assert!(
            begun.elapsed() < PATIENCE,
            "a trickle keeps a connection for ever"
        );
        if slow.write_all(&[byte]).is_err() || is_closed(&mut slow) {
            break;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    shop.line("jobs").ok();
}

#[test]
fn a_flood_of_calls_leaves_others_served_and_loses_none_that_was_answered() {
    let shop = Shop::with_demo_jobs();
    let folder = shop.folder();
    let answered = std::thread::scope(|scope| {
        let flood = scope.spawn(|| {
            block_on(async {
                let mut calls = tokio::task::JoinSet::new();
                for connection in 0..8 {
                    let channel = connect(&shop).await;
                    for number in 0..60 {
                        let mut jobs = JobsClient::new(channel.clone());
                        calls.spawn(async move {
                            if number % 2 == 0 {
                                return jobs.list(ListJobsRequest::default()).await.map(|_| 0);
                            }
                            let id = format!("flood {connection} {number}");
                            let request = NoteRequest {
                                origin: origin(&id),
                                job: 2,
                                text: id,
                            };
                            jobs.note(request).await.map(|_| 1)
                        });
                    }
                }
                calls
                    .join_all()
                    .await
                    .into_iter()
                    .map(Result::unwrap)
                    .sum::<usize>()
            })
        });
        // Another program, meanwhile.
        let mut others = 0;
        while !flood.is_finished() || others == 0 {
            crate::support::run_in(&folder, ["note", "1", "in the flood"]).ok();
            others += 1;
        }
        flood.join().unwrap()
    });
    assert_eq!(answered, 240);
    let history = shop.json("history 2");
    let noted = history
        .iter()
        .filter(|line| line["text"].as_str().unwrap().contains("flood"));
    assert_eq!(noted.count(), 240);
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

/// A forecast that nobody takes holds what it needs until its caller goes: one program gets eight of them
/// at a time, whatever it asks for (64 turns, eight for each).
#[test]
fn forecasts_that_nobody_takes_leave_others_served() {
    let shop = Shop::with_demo_jobs();
    let folder = shop.folder();
    let begun = Arc::new(AtomicUsize::new(0));
    block_on(async {
        let mut calls = tokio::task::JoinSet::new();
        for _ in 0..4 {
            let channel = connect(&shop).await;
            for _ in 0..40 {
                let mut forecasts = ForecastsClient::new(channel.clone());
                let begun = begun.clone();
                calls.spawn(async move {
                    let request = PredictRequest {
                        job: 1,
                        draws: 20_000,
                        ..PredictRequest::default()
                    };
                    let answer = forecasts.predict(request).await.unwrap();
                    begun.fetch_add(1, Ordering::SeqCst);
                    std::future::pending::<()>().await;
                    drop(answer);
                });
            }
        }
        let others = tokio::task::spawn_blocking(move || {
            for _ in 0..10 {
                crate::support::run_in(&folder, ["show", "1"]).ok();
            }
        });
        others.await.unwrap();
        calls.shutdown().await;
    });
    let begun = begun.load(Ordering::SeqCst);
    assert!((1..=8).contains(&begun), "{begun} were begun for one program");
    shop.line("predict 1 --draws 10").ok();
}

#[test]
fn a_message_or_header_that_is_too_long_is_refused_and_ends_nothing() {
    let shop = Shop::with_demo_jobs();
    block_on(async {
        let mut jobs = JobsClient::new(connect(&shop).await);
        let text = "x".repeat(5 * 1024 * 1024);
        let request = NoteRequest {
            origin: origin("long"),
            job: 1,
            text,
        };
        let status = jobs.note(request).await.unwrap_err();
        assert_eq!(status.code(), tonic::Code::OutOfRange, "{status}");
        let mut request = tonic::Request::new(ListJobsRequest::default());
        let header = "x".repeat(64 * 1024);
        request.metadata_mut().insert("long", header.parse().unwrap());
        let status = JobsClient::new(connect(&shop).await)
            .list(request)
            .await
            .unwrap_err();
        assert_ne!(status.code(), tonic::Code::Ok);
        jobs.list(ListJobsRequest::default()).await.unwrap();
    });
    shop.line("jobs").ok();
}
