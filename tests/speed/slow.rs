//! The figures of writes once more on a disk whose flushes take a millisecond longer, for the
//! benchmark's own plain SQL and for the daemon alike.
//!
//! A virtual disk with a cache flushes in a tenth of a millisecond. A drive of an ordinary computer,
//! without a store of power for what it holds in memory, takes about a millisecond and more (M. Callaghan,
//! "SSDs, power loss protection and fsync latency", Small Datum, 7 January 2026: measured with fsync after
//! each write, 0.9 to 5 ms).

use std::process::Command;

use super::board::Board;
use super::writes;
use crate::support::disk::{self, Disk};

/// What is said of each figure.
const SLOWED: &str = ", each flush 1 ms slower";

/// Runs this program again on such a disk, and puts its figures on the board.
pub fn figures(board: &mut Board) {
    if !cfg!(target_env = "gnu") {
        println!("no figures of a slow disk: the library that slows it is for GNU/Linux");
        return;
    }
    let disk = Disk::new();
    disk.does("sync any slow 1000");
    let own = std::env::current_exe().unwrap();
    let ran = Command::new(own).envs(disk.environment()).output().unwrap();
    let said = String::from_utf8(ran.stdout).unwrap();
    let complaint = String::from_utf8_lossy(&ran.stderr);
    assert!(ran.status.success(), "{said}{complaint}");
    board.take_over(&said);
}

/// What the program does that was run again; `false` when this is not it.
pub fn is_run_again(rounds: usize) -> bool {
    if disk::handed_on().is_empty() {
        return false;
    }
    let mut board = Board::default();
    writes::one(&mut board, rounds, SLOWED);
    writes::many(&mut board, rounds, writes::WRITERS, SLOWED);
    true
}
