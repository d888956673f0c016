//! The benchmark in short: that every figure is taken, not how fast anything is. `main.rs` is the long
//! one.
#![allow(dead_code, clippy::print_stdout, reason = "the benchmark's own, which prints")]

mod away;
mod board;
mod cold;
mod gates;
mod life;
mod lists;
mod raw;
mod seeded;
mod served;
mod writes;

use board::Board;

/// All but the cold start, which needs a program that tests do not build.
#[test]
fn every_figure_is_taken_and_held_to_its_bar() {
    let mut board = Board::default();
    gates::figures(&mut board, 1);
    writes::one(&mut board, 2, "");
    writes::many(&mut board, 10, 3, "");
    away::figures(&mut board, 1);
    life::figures(&mut board, 1);
    lists::figures(&mut board, 1, &[100, 200]);
    assert!(board.held() > 15, "{board:?}");
}
