//! The workshop's rules.
//!
//! A job is a pure fold over its journal entries ([`job::Job::fold`]); a command is a pure
//! decision that turns a job and a request into new entries or a refusal ([`command`]); a
//! check is a pure function of facts ([`check`], one file each under [`checks`]). No file,
//! clock or network is touched here: time comes in as a value.
#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod account;
pub mod after;
pub mod assist;
pub mod block;
pub mod calendar;
pub mod card;
pub mod care;
pub mod case;
pub mod catalogue;
pub mod cautions;
pub mod chainline;
pub mod check;
pub mod checks;
pub mod code;
pub mod command;
pub mod diagnosis;
pub mod entry;
pub mod fact;
pub mod field;
mod filled;
pub mod finding;
pub mod fit;
pub mod forecast;
pub mod gate;
pub mod gpx;
pub mod hills;
pub mod job;
pub mod judge;
pub mod labour;
pub mod learning;
mod length;
pub mod level;
mod markup;
pub mod money;
pub mod nearest;
pub mod origin;
pub mod outlook;
pub mod part;
pub mod photo;
pub mod prediction;
pub mod private;
pub mod promise;
pub mod propose;
pub mod recalled;
pub mod receipt;
pub mod refusal;
pub mod regear;
pub mod removal;
pub mod ride_class;
pub mod ride_plan;
pub mod ridelog;
pub mod rules;
pub mod shared;
pub mod sheet;
mod shell_word;
pub mod shop;
pub mod stage;
pub mod stand;
pub mod supply;
#[cfg(test)]
mod survey;
pub mod tax;
pub mod unit;
pub mod uses;
#[cfg(test)]
mod words;
