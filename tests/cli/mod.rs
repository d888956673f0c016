//! The command line, against a real daemon.

mod assist;
mod bad_input;
mod demo;
mod desk;
mod every;
mod figures;
mod fill;
mod fit;
mod flow;
mod hill;
mod json;
mod money;
mod photos;
mod prompt;
mod propose;
mod queue;
pub mod readme;
mod ride_logs;
mod rider;
mod seeing;
mod shell;
mod supply;
mod units;
