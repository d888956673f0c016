//! The command line, against a real daemon.

mod bad_input;
mod demo;
mod fit;
mod flow;
mod json;
mod readme;
