//! The program `lockring`: what people type at the bench.

use std::process::ExitCode;

fn main() -> ExitCode {
    lockring_cli::main()
}
