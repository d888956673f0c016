//! What one command costs from the first moment of its process to the last.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::board::{Amount, Bar, Board, in_turn, timed};
use crate::support::{LOCKRING, Shop, clean};

/// The smallest client, built as this benchmark was.
fn smallest() -> PathBuf {
    let mut build = Command::new(env!("CARGO"));
    build.args([
        "build",
        "--quiet",
        "--offline",
        "--locked",
        "--example",
        "smallest",
    ]);
    if !cfg!(debug_assertions) {
        build.arg("--release");
    }
    let built = build.current_dir(env!("CARGO_MANIFEST_DIR")).status().unwrap();
    assert!(built.success(), "the smallest client does not build");
    let programs = PathBuf::from(LOCKRING);
    programs.parent().unwrap().join("examples").join("smallest")
}

/// A program as `cargo install` puts it in its place: copied. What a linker has written lies in memory in
/// smaller pieces, which take longer to map, until the file is read anew from the disk.
fn installed(program: &Path, place: &Path) -> String {
    let copy = place.join(program.file_name().unwrap());
    std::fs::copy(program, &copy).unwrap();
    copy.to_str().unwrap().to_owned()
}

/// Cold `lockring show 1` beside the smallest client and an empty process.
pub fn figures(board: &mut Board, rounds: usize) {
    let place = tempfile::tempdir_in(Path::new(LOCKRING).parent().unwrap()).unwrap();
    let smallest = installed(&smallest(), place.path());
    let lockring = installed(Path::new(LOCKRING), place.path());
    let shop = Shop::with_demo_jobs();
    let socket = lockring_proto::paths::socket_path(&shop.folder()).unwrap();
    let run = |kind: usize, _: usize| {
        let mut command = match kind {
            0 => clean("/bin/true"),
            1 => {
                let mut command = clean(&smallest);
                command.arg(&socket);
                command
            }
            2 => {
                let mut command = clean(&lockring);
                command.arg("--dir").arg(shop.folder()).args(["show", "1"]);
                command
            }
            3 => {
                let mut command = clean(&lockring);
                command.arg("--dir").arg(shop.folder()).arg("jobs");
                command
            }
            _ => {
                let mut command = clean(&lockring);
                command.arg("--version");
                command
            }
        };
        command.stdin(Stdio::null()).stdout(Stdio::null());
        let (took, status) = timed(|| command.status().unwrap());
        assert!(status.success());
        took
    };
    let [nothing, least, show, jobs, version] = in_turn(rounds, run).map(Amount::ms);
    let floor = ("smallest client, one empty call", least);
    board.show("cold `lockring show 1`", show, floor, Bar::Times(1.5));
    board.show("cold `lockring jobs`", jobs, floor, Bar::Told);
    board.show(
        "`lockring --version`, no daemon",
        version,
        ("a process that does nothing", nothing),
        Bar::Told,
    );
    board.show(
        "smallest client",
        least,
        ("a process that does nothing", nothing),
        Bar::Told,
    );
}
