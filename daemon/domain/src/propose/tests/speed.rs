//! How long a search over a full catalogue takes: a report, run by hand in release with
//! `cargo test --release -p lockring-domain propose::tests::speed -- --ignored --nocapture`. The
//! domain has no clock: the time the test runner names is that of the six searches printed.

use super::{Many, invented, roomy, with_parts};
use crate::checks::testing::trekking;
use crate::propose::propose;

#[test]
#[ignore = "a report of how long it takes, which a loaded machine changes"]
#[allow(clippy::print_stdout, reason = "the report is what it is for")]
fn a_full_catalogue() {
    let many = Many {
        motors: 60,
        controllers: 20,
        packs: 60,
        chargers: 12,
        displays: 30,
        rings: 40,
        cassettes: 40,
        chains: 6,
        rotors: 6,
    };
    for seed in 1..=3 {
        let parts = invented(seed, &many);
        for (name, job) in [("longtail", roomy()), ("trekking", trekking().job)] {
            let found = with_parts(&parts, |desk| propose(&job, desk)).unwrap();
            println!(
                "{name}, seed {seed}, {} parts: {} unbeaten, {:?}",
                parts.len(),
                found.unbeaten,
                found.tier
            );
            assert!(found.kept.len() <= crate::propose::SCREENFUL);
        }
    }
}
