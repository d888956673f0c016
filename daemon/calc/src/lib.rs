//! Physics and fit of a conversion: numbers in, numbers out.
//!
//! Nothing here reads a clock, a file, the network or random state, and nothing here
//! words a message for a person. Every public edge takes typed quantities; every
//! function's documentation gives the equation, symbols with units, valid range, errors
//! and source.
#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod air;
pub mod assist;
pub mod brakes;
pub mod chain;
pub mod chainline;
pub mod clearance;
pub mod cockpit;
pub mod connector;
pub mod doubt;
pub mod dropout;
pub mod electrics;
pub mod energy;
mod errors;
pub mod fastener;
pub mod gaussian;
pub mod gearing;
pub mod inspection;
pub mod mass;
pub mod motor;
pub mod pack;
pub mod pack_space;
pub mod performance;
pub mod quantity;
pub mod ride_fit;
pub mod road;
pub mod sampling;
pub mod shell;
mod simpson;
pub mod solve;
pub mod speed_run;
pub mod supply;
pub mod thermal;
pub mod tour;
pub mod trace;
pub mod wheel;
