//! A daemon killed while it brings an old data file up to date.

use std::path::Path;
use std::time::Duration;

use crate::support::Shop;
use crate::support::seed::{Seed, whole};

/// The data file of the first schema, as text (the store's own tests explain it).
const SCHEMA_1: &str = include_str!("../../daemon/store/src/tests/schema_1.sql");
/// The mark of the shop's files in the header.
const APPLICATION_ID: i32 = 0x4C4B_5247;

fn lay_down(file: &Path) {
    let raw = rusqlite::Connection::open(file).unwrap();
    raw.execute_batch(SCHEMA_1).unwrap();
    raw.pragma_update(None, "application_id", APPLICATION_ID).unwrap();
    raw.pragma_update(None, "user_version", 1).unwrap();
    raw.close().unwrap();
}

/// Kills fall from the first moment of the start to after its end; whatever step was reached,
/// the next start finishes what is left.
#[test]
fn a_kill_while_an_old_file_is_brought_up_to_date_leaves_it_whole() {
    let mut seed = Seed::from_environment();
    for _ in 0..whole("LOCKRING_KILL_ROUNDS", 8) {
        let mut shop = Shop::open();
        shop.line("daemon stop").ok();
        shop.forget();
        let file = shop.folder().join("lockring.db");
        std::fs::remove_file(&file).unwrap();
        lay_down(&file);
        for _ in 0..3 {
            shop.kill_over_its_start(Duration::from_micros(seed.below(25_000)));
        }
        shop.serve();
        let verified = shop.json("verify")[0].clone();
        assert_eq!(verified["sound"], true, "{verified}");
        assert_eq!(verified["entries"], 11, "{verified}");
        shop.line("note 1 \"goes on\"").ok();
    }
}
