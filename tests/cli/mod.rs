//! The command line, against a real daemon.

mod bad_input;
mod demo;
mod fill;
mod fit;
mod flow;
mod hill;
mod json;
mod prompt;
mod propose;
mod queue;
mod readme;
mod shell;
