//! The contract between `lockringd` and its clients, generated from `lockring/v1/*.proto`.
//!
//! Every message also reads and writes JSON through serde, with the contract's own field
//! names; that JSON is what `lockring … --json` prints, and it refuses unknown fields.

#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod amount;
pub mod day;
pub mod ended;
pub mod page;
pub mod paths;
pub mod signs;
pub mod units;
pub mod wrap;
pub mod zone;

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

/// The messages as `--json` prints them, as a JSON Schema with one definition for each.
pub const SCHEMA: &str = include_str!(concat!(env!("OUT_DIR"), "/schema.json"));

/// Number of the protocol: raised when an older client and a newer daemon, or the reverse,
/// could misunderstand each other.
pub const PROTOCOL: u32 = 2;

/// Whether a program with this protocol number and version and one of ours, of version `own`,
/// understand each other: the protocol is the same, and so are major and minor version.
pub fn understand(protocol: u32, version: &str, own: &str) -> bool {
    let series = |version: &str| {
        let mut numbers = version.split('.').map(str::to_owned);
        Some((numbers.next()?, numbers.next()?))
    };
    protocol == PROTOCOL && series(own).is_some() && series(version) == series(own)
}

/// Domain of the reason codes in error details.
pub const ERROR_DOMAIN: &str = "lockring.v1";

/// The longest path a Unix socket may have here, in bytes (`sun_path` less its closing zero).
pub const SOCKET_PATH_MAX: usize = 107;

/// What is set around `lockringd` when it is begun: unless somebody says otherwise, the C library
/// keeps one pool of memory, not one for each thread, each of which grows to what the largest
/// request on it took and gives nothing back ("The GNU Allocator", GNU C Library manual).
pub fn pools() -> Option<(&'static str, &'static str)> {
    const POOLS: &str = "MALLOC_ARENA_MAX";
    std::env::var_os(POOLS).is_none().then_some((POOLS, "1"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_patch_apart_is_understood_a_minor_apart_is_not() {
        assert!(understand(PROTOCOL, "1.4.0", "1.4.9"));
        for (protocol, version) in [
            (PROTOCOL, "1.5.0"),
            (PROTOCOL, "2.4.0"),
            (PROTOCOL, ""),
            (PROTOCOL, "1"),
            (PROTOCOL + 1, "1.4.0"),
        ] {
            assert!(!understand(protocol, version, "1.4.0"), "{protocol} {version}");
        }
        assert!(!understand(PROTOCOL, "", ""));
    }
}
