//! Tests of the real programs: `lockring` against `lockringd`, on real folders.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stderr, reason = "tests")]

mod access;
mod cli;
mod contract;
mod faults;
mod history;
mod lifecycle;
mod paper;
mod speed;
mod support;
mod tidy;
mod year;
