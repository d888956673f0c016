//! How what is looked at most grows with the shop: the same questions to a young shop and to old
//! ones, in turn.

use std::time::Duration;

use lockring_domain::part::Slot;
use lockring_proto::v1::figures_client::FiguresClient;
use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::reports_client::ReportsClient;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::supply_client::SupplyClient;
use lockring_proto::v1::{
    BlockedRequest, FiguresRequest, FindPiecesRequest, ListJobsRequest, ShowJobRequest, StatusRequest,
};
use tokio::runtime::Runtime;
use tonic::transport::Channel;

use super::board::{Amount, Bar, Board, in_turn, timed};
use super::seeded::{self, OPEN};
use super::served::{Served, one_thread};

/// The smallest shop everything is compared with.
const YOUNG: u32 = 1_000;

/// Closed jobs of the shops asked, the young one first.
pub fn sizes(largest: u32) -> Vec<u32> {
    let larger = [100_000, 1_000_000].into_iter().filter(|size| *size < largest);
    let mut sizes: Vec<u32> = std::iter::once(YOUNG.min(largest)).chain(larger).collect();
    if largest > YOUNG {
        sizes.push(largest);
    }
    sizes
}

/// What is asked.
const QUESTIONS: [&str; 9] = [
    "jobs",
    "show, a closed job",
    "show, an open job that was shown before",
    "report blocked",
    "lot",
    "serial",
    "status",
    "report day",
    "report week",
];

struct Asked {
    closed: u32,
    served: Served,
    channel: Channel,
}

/// Every question to every shop; and how long each takes to be ready.
pub fn figures(board: &mut Board, rounds: usize, sizes: &[u32]) {
    let runtime = one_thread();
    // All are made before the first is asked: a connection that nobody tends breaks.
    let folders: Vec<_> = sizes
        .iter()
        .map(|closed| (closed, seeded::folder(*closed)))
        .collect();
    let shops: Vec<Asked> = folders
        .into_iter()
        .map(|(closed, folder)| {
            // The first start of all may find the file cold; the second is told.
            Served::begin(&folder).end();
            let served = Served::begin(&folder);
            let channel = runtime.block_on(served.connect());
            Asked {
                closed: *closed,
                served,
                channel,
            }
        })
        .collect();
    let young = &shops[0];
    for shop in &shops {
        let ready = Amount::ms(shop.served.ready_after);
        let most = if shop.closed > 10_000 { 200.0 } else { 10.0 };
        let floor = ("with the smallest shop", Amount::ms(young.served.ready_after));
        board.show(
            &format!("start to ready, {} closed jobs", shop.closed),
            ready,
            floor,
            Bar::Most(most),
        );
    }
    for (kind, name) in QUESTIONS.into_iter().enumerate() {
        for old in &shops[1.min(shops.len() - 1)..] {
            let [of_young, of_old] = in_turn(rounds, |which, round| {
                let shop = if which == 0 { young } else { old };
                ask(&runtime, shop, kind, round)
            });
            board.show(
                &format!("{name}, {} closed jobs", old.closed),
                Amount::ms(of_old),
                (&format!("{} closed jobs", young.closed), Amount::ms(of_young)),
                Bar::Times(1.3),
            );
        }
    }
    for shop in shops {
        let (idle, most) = shop.served.memory();
        println!(
            "{} closed jobs: {idle} KiB in use after all this, {most} KiB at most",
            shop.closed
        );
        drop(shop.channel);
        println!("    ended within {:.3} ms", Amount::ms(shop.served.end()).0);
    }
}

/// Rounds of a closed job differ in the job, so that it is not one that is remembered.
fn ask(runtime: &Runtime, shop: &Asked, kind: usize, round: usize) -> Duration {
    let channel = shop.channel.clone();
    let (closed, open) = (shop.closed / 2, shop.closed + 1);
    let ask = async move {
        match kind {
            0 => {
                let jobs = JobsClient::new(channel).list(ListJobsRequest::default()).await;
                assert_eq!(jobs.unwrap().into_inner().jobs.len(), OPEN as usize);
            }
            1 | 2 => {
                let another = u32::try_from(round * 7919).unwrap() % shop.closed + 1;
                let request = ShowJobRequest {
                    job: if kind == 1 { another } else { open },
                    at_us: None,
                };
                JobsClient::new(channel).show(request).await.unwrap();
            }
            3 => {
                let report = ReportsClient::new(channel)
                    .blocked(BlockedRequest::default())
                    .await;
                assert!(!report.unwrap().into_inner().lines.is_empty());
            }
            4 | 5 => {
                let mark = if kind == 4 {
                    seeded::lot(Slot::Pack, closed)
                } else {
                    format!("PACK{closed:07}")
                };
                let request = FindPiecesRequest {
                    marks: vec![mark],
                    ..FindPiecesRequest::default()
                };
                let found = SupplyClient::new(channel).find_pieces(request).await.unwrap();
                let expected = if kind == 4 { seeded::LOT as usize } else { 1 };
                assert_eq!(found.into_inner().pieces.len(), expected);
            }
            6 => {
                ShopClient::new(channel).status(StatusRequest {}).await.unwrap();
            }
            7 => {
                FiguresClient::new(channel)
                    .day(FiguresRequest::default())
                    .await
                    .unwrap();
            }
            _ => {
                FiguresClient::new(channel)
                    .week(FiguresRequest::default())
                    .await
                    .unwrap();
            }
        }
    };
    timed(|| runtime.block_on(ask)).0
}
