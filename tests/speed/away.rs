//! What the door to the network costs: the same calls by another bench and on the shop's own socket.

use std::time::Duration;

use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::{Assignment, Origin, RecordRequest, ShowJobRequest};
use tokio::runtime::Runtime;
use tonic::transport::Channel;

use super::board::{Amount, Bar, Board, in_turn, timed};
use super::served::one_thread;
use crate::support::reached::Reached;
use crate::support::rpc;
use crate::support::tls::Carried;

/// Writes, reads and handshakes over TCP with a certificate on either side, each beside the same on
/// the socket.
pub fn figures(board: &mut Board, rounds: usize) {
    let reached = Reached::open();
    let carried = Carried::read(&reached.pair("bench-2", "M"));
    let runtime = one_thread();
    let away = runtime.block_on(carried.connect());
    let here = runtime.block_on(rpc::connect(&reached.shop));
    let work = |kind: usize, round: usize| match kind {
        0 => write(&runtime, &away, format!("away {round}")),
        1 => write(&runtime, &here, format!("here {round}")),
        2 => read(&runtime, &away),
        3 => read(&runtime, &here),
        4 => timed(|| runtime.block_on(carried.connect())).0,
        _ => timed(|| runtime.block_on(rpc::connect(&reached.shop))).0,
    };
    let times: [Duration; 6] = in_turn(rounds, work);
    let names = [
        "one durable measurement by another bench",
        "show, by another bench",
        "handshake and Hello of another bench",
    ];
    for (name, times) in names.into_iter().zip(times.chunks(2)) {
        board.show(
            name,
            Amount::ms(times[0]),
            ("the same on the socket", Amount::ms(times[1])),
            Bar::Told,
        );
    }
}

/// A measurement by the mechanic.
fn write(runtime: &Runtime, channel: &Channel, id: String) -> Duration {
    let request = RecordRequest {
        origin: Some(Origin {
            request_id: id,
            by: "M".into(),
            terminal: "bench-2".into(),
            ..Origin::default()
        }),
        job: 1,
        act: "measure".into(),
        values: vec![Assignment {
            field: "chainline-front".into(),
            value: "51.5".into(),
        }],
        anew: true,
        ..RecordRequest::default()
    };
    let mut jobs = JobsClient::new(channel.clone());
    timed(|| runtime.block_on(jobs.record(request)).unwrap()).0
}

fn read(runtime: &Runtime, channel: &Channel) -> Duration {
    let request = ShowJobRequest { job: 1, at_us: None };
    let mut jobs = JobsClient::new(channel.clone());
    timed(|| runtime.block_on(jobs.show(request)).unwrap()).0
}
