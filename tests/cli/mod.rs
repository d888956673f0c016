//! The command line, against a real daemon.

mod bad_input;
mod demo;
mod flow;
mod json;
