//! The command line, against a real daemon.

mod bad_input;
mod demo;
mod figures;
mod fit;
mod flow;
mod hill;
mod json;
mod money;
mod propose;
mod readme;
