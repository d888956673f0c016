//! The program `lockringd`: keeps every conversion job and decides on its gates.

use std::process::ExitCode;

fn main() -> ExitCode {
    lockring_daemon::main()
}
