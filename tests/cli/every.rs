//! Every command of the grammar, found through its own help: none is left out because nobody
//! thought of it.

use std::collections::BTreeMap;
use std::os::unix::fs::DirBuilderExt as _;
use std::os::unix::net::UnixListener;
use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use lockring_proto::paths::{PRIVATE_MODE, socket_path};

use crate::support::{LOCKRING, clean};

/// A data folder with a socket that lets everybody in, counts them and says nothing.
pub(super) struct Trap {
    base: tempfile::TempDir,
    came: Arc<AtomicUsize>,
}

impl Trap {
    pub(super) fn set() -> Self {
        let base = tempfile::tempdir().unwrap();
        let data = base.path().join("data");
        std::fs::create_dir(&data).unwrap();
        let socket = socket_path(&data).unwrap();
        std::fs::DirBuilder::new()
            .recursive(true)
            .mode(PRIVATE_MODE)
            .create(socket.parent().unwrap())
            .unwrap();
        let listener = UnixListener::bind(&socket).unwrap();
        let came = Arc::new(AtomicUsize::new(0));
        let count = came.clone();
        std::thread::spawn(move || {
            // Held open, so that whoever came waits for an answer.
            let mut held = Vec::new();
            while let Ok((stream, _)) = listener.accept() {
                count.fetch_add(1, Ordering::SeqCst);
                held.push(stream);
            }
        });
        Self { base, came }
    }

    fn folder(&self) -> PathBuf {
        self.base.path().join("data")
    }

    fn came(&self) -> usize {
        self.came.load(Ordering::SeqCst)
    }

    /// Runs a line with this folder named by the environment.
    fn run(&self, args: &[&str]) -> Output {
        let mut program = clean(LOCKRING);
        program
            .env("LOCKRING_DIR", self.folder())
            .env("HOME", self.base.path().join("home"))
            .args(args);
        program.stdin(Stdio::null()).output().unwrap()
    }

    fn told(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert!(
            output.status.success(),
            "{args:?}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
        String::from_utf8(output.stdout).unwrap()
    }
}

/// The words under a heading of a help, each on a line of its own.
fn listed(help: &str, heading: &str) -> Vec<String> {
    let below = help.lines().skip_while(|line| *line != heading).skip(1);
    below
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next().map(str::to_owned))
        .collect()
}

/// Every command and the help it prints.
pub(super) fn commands(trap: &Trap) -> BTreeMap<String, String> {
    let top = trap.told(&["--help"]);
    let headings = top
        .lines()
        .filter(|line| line.ends_with(':') && !line.starts_with(' '));
    let mut found = BTreeMap::new();
    for heading in headings.filter(|heading| !heading.starts_with("Options")) {
        for name in listed(&top, heading) {
            let help = trap.told(&[&name, "--help"]);
            for below in listed(&help, "Commands:") {
                found.insert(format!("{name} {below}"), trap.told(&[&name, &below, "--help"]));
            }
            found.insert(name, help);
        }
    }
    found
}

#[test]
fn help_and_completion_never_touch_the_daemon() {
    let trap = Trap::set();
    let commands = commands(&trap);
    assert!(commands.len() > 85, "only {} commands found", commands.len());
    for (command, help) in &commands {
        let path: Vec<&str> = ["help"].into_iter().chain(command.split(' ')).collect();
        // `help words` is the vocabulary.
        if command != "words" {
            assert_eq!(&trap.told(&path), help, "`help {command}` is its --help");
        }
        let examples = help
            .lines()
            .filter(|line| line.trim_start().starts_with("lockring "))
            .count();
        assert!(examples >= 2, "{command} has {examples} examples");
        for line in help.lines() {
            assert!(line.chars().count() <= 80, "{command}: {line}");
        }
    }
    for topic in [
        &["help"][..],
        &["--version"],
        &["help", "words"],
        &["help", "json"],
        &["help", "json", "--json"],
        &["help", "exit-codes"],
    ] {
        assert!(!trap.told(topic).is_empty(), "{topic:?}");
    }
    trap.told(&["setup-shell"]);
    assert!(
        trap.base
            .path()
            .join("home/.local/share/man/man1/lockring-measure.1")
            .exists()
    );
    // A line that cannot be read is refused before anybody is asked.
    for wrong in [
        &["measur", "21"][..],
        &["show"],
        &["show", "x"],
        &["jobs", "--colour"],
    ] {
        assert_eq!(trap.run(wrong).status.code(), Some(2), "{wrong:?}");
    }
    assert_eq!(trap.came(), 0, "somebody came to the socket");
    // The trap does catch: the folder of the environment is the one that is asked.
    let mut asking = clean(LOCKRING);
    asking
        .env("LOCKRING_DIR", trap.folder())
        .arg("jobs")
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let mut asking = asking.spawn().unwrap();
    let begun = std::time::Instant::now();
    while trap.came() == 0 && begun.elapsed() < crate::support::PATIENCE {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    asking.kill().unwrap();
    asking.wait().unwrap();
    assert_eq!(trap.came(), 1);
}

/// What a completion script runs by itself: nothing. The scripts hold every word they offer.
#[test]
fn a_completion_of_bash_is_given_without_a_daemon() {
    let trap = Trap::set();
    trap.told(&["setup-shell"]);
    let script = trap
        .base
        .path()
        .join("home/.local/share/bash-completion/completions/lockring");
    let ask = "source \"$1\"; COMP_WORDS=(lockring cat); COMP_CWORD=1; COMP_LINE='lockring cat'; \
               COMP_POINT=12; _lockring lockring cat lockring; printf '%s\\n' \"${COMPREPLY[@]}\"";
    let mut bash = clean("bash");
    bash.env("LOCKRING_DIR", trap.folder())
        .args(["-c", ask, "bash"])
        .arg(&script);
    let Ok(output) = bash.output() else {
        return; // No bash on this machine.
    };
    let told = String::from_utf8(output.stdout).unwrap();
    assert_eq!(told, "catalogue\n", "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(trap.came(), 0);
}

/// The prompt's own completion asks a running daemon; one that says nothing keeps nobody waiting,
/// and where none runs none is started.
#[test]
fn the_prompt_waits_for_no_daemon_and_starts_none() {
    let trap = Trap::set();
    let asked = |folder: &Path| {
        let mut program = clean(LOCKRING);
        program
            .env("LOCKRING_DIR", folder)
            .env("LOCKRING_START", "")
            .env_remove("LOCKRING_START")
            .arg("prompt");
        let mut child = program
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        use std::io::Write as _;
        child
            .stdin
            .take()
            .unwrap()
            .write_all(b"mea?\nmeasure 1 chain?\n")
            .unwrap();
        let output = child.wait_with_output().unwrap();
        format!(
            "{}{}",
            String::from_utf8_lossy(&output.stdout),
            String::from_utf8_lossy(&output.stderr)
        )
    };
    let told = asked(&trap.folder());
    assert!(told.contains("measure"), "{told}");
    assert!(trap.came() > 0, "the prompt asks a daemon that is there");
    let none = tempfile::tempdir().unwrap();
    let data = none.path().join("data");
    let told = asked(&data);
    assert!(told.contains("measure"), "{told}");
    assert!(
        !data.exists(),
        "the prompt made a data folder: somebody was started"
    );
}
