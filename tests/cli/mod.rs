//! The command line, against a real daemon.

mod assist;
mod bad_input;
mod demo;
mod desk;
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
mod readme;
mod ride_logs;
mod rider;
mod shell;
mod supply;
