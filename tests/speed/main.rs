//! How fast the programs are, each figure beside its floor measured in the same run.
//!
//! Run: `cargo bench -p lockring --bench speed`. DEVELOPERS.md says what may be set.
#![allow(
    missing_docs,
    dead_code,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a benchmark: it prints, and ends when something it needs is not there"
)]

mod away;
mod board;
mod cold;
mod gates;
mod life;
mod lists;
mod raw;
mod seeded;
mod served;
mod slow;
#[path = "../support/mod.rs"]
mod support;
mod writes;

use board::Board;
use support::seed::whole;

fn main() {
    // What cargo hands every benchmark; words without a dash choose by name.
    let chosen: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with('-'))
        .collect();
    let wanted = |name: &str| chosen.is_empty() || chosen.iter().any(|word| word == name);
    let rounds = usize::try_from(whole("LOCKRING_SPEED_ROUNDS", 300)).unwrap();
    if slow::is_run_again(rounds) {
        return;
    }
    let largest = u32::try_from(whole("LOCKRING_SPEED_JOBS", 100_000)).unwrap();
    let mut board = Board::default();
    board.load("at the beginning");
    if wanted("cold") {
        cold::figures(&mut board, rounds);
    }
    if wanted("gates") {
        gates::figures(&mut board, rounds);
    }
    if wanted("write") {
        writes::one(&mut board, rounds, "");
    }
    if wanted("writers") {
        writes::many(&mut board, rounds, writes::WRITERS, "");
    }
    if wanted("slow") {
        slow::figures(&mut board);
    }
    if wanted("away") {
        away::figures(&mut board, rounds);
    }
    if wanted("life") {
        life::figures(&mut board, (rounds / 10).max(3));
    }
    if wanted("lists") {
        lists::figures(&mut board, rounds, &lists::sizes(largest));
    }
    board.load("at the end");
    board.close();
}
