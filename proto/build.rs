//! Compiles the contract without `protoc`: protox parses it, tonic generates the code.

use std::path::PathBuf;

use prost::Message;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let files = [
        "lockring/v1/bench.proto",
        "lockring/v1/common.proto",
        "lockring/v1/desk.proto",
        "lockring/v1/forecasts.proto",
        "lockring/v1/papers.proto",
        "lockring/v1/photos.proto",
        "lockring/v1/jobs.proto",
        "lockring/v1/rides.proto",
        "lockring/v1/ride_logs.proto",
        "lockring/v1/keeping.proto",
        "lockring/v1/figures.proto",
        "lockring/v1/forecasts.proto",
        "lockring/v1/jobs.proto",
        "lockring/v1/money.proto",
        "lockring/v1/shop.proto",
        "lockring/v1/supply.proto",
    ];
    for file in files {
        println!("cargo::rerun-if-changed={file}");
    }
    let set = protox::compile(files, ["."])?;
    let out = PathBuf::from(std::env::var("OUT_DIR")?);
    std::fs::write(out.join("contract.bin"), set.encode_to_vec())?;
    tonic_prost_build::configure()
        .type_attribute(".lockring.v1", "#[derive(serde::Serialize, serde::Deserialize)]")
        .type_attribute(".lockring.v1", "#[serde(deny_unknown_fields)]")
        .compile_fds(set)?;
    Ok(())
}
