//! How the programs are linked.
#![allow(clippy::print_stdout, reason = "this is how a build script speaks to Cargo")]

fn main() {
    println!("cargo::rerun-if-changed=cli/link.rs");
    // `lockring` is begun anew for every line typed. At an address that is fixed when it is linked, the
    // loader has nothing to adjust: 25,000 pointers on 106 pages otherwise, a third of all that a
    // short answer costs. `lockringd`, which listens to others, keeps its address at random.
    let of_target = |name: &str| std::env::var(name).unwrap_or_default();
    if of_target("CARGO_CFG_TARGET_OS") == "linux" && of_target("CARGO_CFG_TARGET_ENV") == "gnu" {
        println!("cargo::rustc-link-arg-bin=lockring=-no-pie");
    }
}
