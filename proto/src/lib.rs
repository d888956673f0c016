//! The contract between `lockringd` and its clients, generated from `lockring/v1/*.proto`.
//!
//! Every message also reads and writes JSON through serde, with the contract's own field
//! names; that JSON is what `lockring … --json` prints, and it refuses unknown fields.

#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod paths;

/// Version 1 of the contract.
#[allow(
    missing_docs,
    unused_qualifications,
    rust_2018_idioms,
    clippy::all,
    clippy::unwrap_used,
    reason = "generated code"
)]
pub mod v1 {
    tonic::include_proto!("lockring.v1");
}

/// The contract as a file descriptor set, for reflection.
pub const DESCRIPTORS: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/contract.bin"));

/// Number of the protocol: raised when an older client and a newer daemon, or the reverse,
/// could misunderstand each other.
pub const PROTOCOL: u32 = 1;

/// Domain of the reason codes in error details.
pub const ERROR_DOMAIN: &str = "lockring.v1";

/// The longest path a Unix socket may have here, in bytes (`sun_path` less its closing zero).
pub const SOCKET_PATH_MAX: usize = 107;
