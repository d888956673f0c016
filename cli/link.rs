//! How the programs are linked.
#![allow(clippy::print_stdout, reason = "this is how a build script speaks to Cargo")]

use std::process::Command;

/// Each program with the list of functions that stand first in it.
const FIRST: [(&str, &str); 2] = [("lockring", "cli/first.ld"), ("lockringd", "daemon/first.ld")];

fn main() {
    println!("cargo::rerun-if-changed=cli/link.rs");
    println!("cargo::rerun-if-env-changed=LOCKRING_LINKED_AS_IT_COMES");
    for (_, list) in FIRST {
        println!("cargo::rerun-if-changed={list}");
    }
    if said("CARGO_CFG_TARGET_OS") != "linux" || said("CARGO_CFG_TARGET_ENV") != "gnu" {
        return;
    }
    // `lockring` is begun anew for every line typed. At an address that is fixed when it is linked, the
    // loader has nothing to adjust: 25,000 pointers on 106 pages otherwise, a third of all that a
    // short answer costs. `lockringd`, which listens to others, keeps its address at random; the list
    // of what is adjusted is kept short instead, where the C library understands that.
    println!("cargo::rustc-link-arg-bin=lockring=-no-pie");
    if said("TARGET") == said("HOST") && understands_short_lists() {
        println!("cargo::rustc-link-arg-bin=lockringd=-Wl,-z,pack-relative-relocs");
    }
    // A program is read from its file in pieces of 64 KiB, when a function in them runs. What runs for every
    // line, or for a daemon to be there, is spread over all of the file unless it is put together: 250
    // such moments instead of 205 for a short line, and 3 MiB more for a daemon that only waits. A linker
    // that somebody chose may not know such lists, nor may that of an unusual system: then this is set.
    let is_usual = [
        "CARGO_ENCODED_RUSTFLAGS",
        "RUSTC_LINKER",
        "LOCKRING_LINKED_AS_IT_COMES",
    ]
    .iter()
    .all(|name| said(name).is_empty());
    if said("PROFILE") == "release" && is_usual {
        let house = said("CARGO_MANIFEST_DIR");
        for (program, list) in FIRST {
            println!("cargo::rustc-link-arg-bin={program}=-T{house}/{list}");
        }
    }
}

/// What Cargo says in the environment.
fn said(name: &str) -> String {
    std::env::var(name).unwrap_or_default()
}

/// Whether the C library is 2.36 or newer, the first that knows relative relocations ("Support DT_RELR
/// relative relocation format", libc-alpha, April 2022).
fn understands_short_lists() -> bool {
    let Ok(told) = Command::new("getconf").arg("GNU_LIBC_VERSION").output() else {
        return false;
    };
    let told = String::from_utf8_lossy(&told.stdout);
    let version = told.trim().strip_prefix("glibc ").unwrap_or_default();
    let mut parts = version.split('.').map(|part| part.parse().unwrap_or(0_u32));
    (parts.next().unwrap_or(0), parts.next().unwrap_or(0)) >= (2, 36)
}
