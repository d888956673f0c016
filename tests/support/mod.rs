//! A shop on a folder of its own: the real daemon, the real command line, nothing else.

pub mod disk;
pub mod reached;
pub mod rpc;
pub mod seed;
pub mod terminal;
pub mod tls;

use std::ffi::{OsStr, OsString};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

pub const LOCKRING: &str = env!("CARGO_BIN_EXE_lockring");
pub const LOCKRINGD: &str = env!("CARGO_BIN_EXE_lockringd");

/// How long anything may take before a test gives up. No test measures time.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// What a command line gave.
#[derive(Debug)]
pub struct Answer {
    pub line: String,
    pub out: String,
    pub err: String,
    pub code: i32,
}

impl Answer {
    /// The standard output of a command that must have succeeded.
    #[track_caller]
    pub fn ok(self) -> String {
        assert_eq!(self.code, 0, "`{}` gave:\n{}{}", self.line, self.out, self.err);
        self.out
    }

    /// The complaint of a command that must have failed with this exit code, with a hint.
    #[track_caller]
    pub fn fails(self, code: i32) -> String {
        assert_eq!(self.code, code, "`{}` gave:\n{}{}", self.line, self.out, self.err);
        format!("{}{}", self.out, self.err)
    }
}

/// A folder with a daemon on it.
pub struct Shop {
    folder: TempDir,
    daemon: Option<Child>,
    /// What stands in the daemon's environment beside what always does.
    environment: Vec<(&'static str, OsString)>,
}

impl Shop {
    /// A new, empty shop, served.
    pub fn open() -> Self {
        let mut shop = Self {
            folder: TempDir::new().unwrap(),
            daemon: None,
            environment: Vec::new(),
        };
        shop.serve();
        shop
    }

    /// A shop with the demo's catalogue and its three jobs taken in.
    pub fn with_demo_jobs() -> Self {
        let shop = Self::open();
        shop.run(["catalogue", "import", &demo_file("catalogue.toml")])
            .ok();
        for sheet in ["trekking.toml", "longtail.toml", "hardtail.toml"] {
            shop.run(["--at", "2026-03-02T09:00", "take-in", "--file", &demo_file(sheet)])
                .ok();
        }
        shop
    }

    /// The shop as the demo leaves it: one job handed over, one ready to be, one that stands.
    pub fn after_the_demo() -> Self {
        let mut shop = Self {
            folder: TempDir::new().unwrap(),
            daemon: None,
            environment: Vec::new(),
        };
        let played = clean(LOCKRING)
            .arg("demo")
            .arg("--keep")
            .arg(shop.folder())
            .output();
        let played = played.unwrap();
        assert!(
            played.status.success(),
            "{}",
            String::from_utf8_lossy(&played.stderr)
        );
        shop.serve();
        shop
    }

    /// The data folder.
    pub fn folder(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// Ends the daemon in good order.
    pub fn stop(&mut self) {
        self.line("daemon stop").ok();
        self.forget();
    }

    /// What stands in the environment of every daemon from now on, beside what always does.
    pub fn set_environment(&mut self, environment: Vec<(&'static str, OsString)>) {
        self.environment = environment;
    }

    /// Starts the daemon and kills it after a pause, wherever it then is in its start.
    pub fn kill_over_its_start(&mut self, pause: Duration) {
        self.spawn();
        std::thread::sleep(pause);
        self.kill();
    }

    /// What the daemon that was started last said on its standard error.
    pub fn said(&self) -> PathBuf {
        self.folder.path().join("said")
    }

    /// Waits until the daemon has said something on its standard error.
    pub fn says(&self, words: &str) {
        let begun = Instant::now();
        while !std::fs::read_to_string(self.said()).unwrap().contains(words) {
            assert!(begun.elapsed() < PATIENCE, "lockringd does not say `{words}`");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    fn spawn(&mut self) {
        assert!(self.daemon.is_none(), "served already");
        let child = clean(LOCKRINGD)
            .envs(lockring_proto::pools())
            .envs(self.environment.iter().map(|(name, value)| (name, value)))
            .arg("--dir")
            .arg(self.folder())
            .stdout(Stdio::null())
            .stderr(File::create(self.said()).unwrap())
            .spawn()
            .unwrap();
        self.daemon = Some(child);
    }

    /// Starts the daemon and waits until it serves.
    pub fn serve(&mut self) {
        self.spawn();
        let begun = Instant::now();
        while self.run(["daemon", "status"]).code != 0 {
            let daemon = self.daemon.as_mut().unwrap();
            assert!(
                daemon.try_wait().unwrap().is_none(),
                "lockringd ended before it served: {}",
                std::fs::read_to_string(self.said()).unwrap()
            );
            assert!(begun.elapsed() < PATIENCE, "lockringd does not serve");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Kills the daemon without warning.
    pub fn kill(&mut self) {
        let mut daemon = self.daemon.take().unwrap();
        daemon.kill().unwrap();
        daemon.wait().unwrap();
    }

    /// The daemon was asked to end in another way: waits until it has.
    pub fn forget(&mut self) {
        self.daemon.take().unwrap().wait().unwrap();
    }

    /// Asks the daemon to end and kills it over that, after a pause.
    pub fn kill_over_its_end(&mut self, pause: Duration) {
        let mut daemon = self.daemon.take().unwrap();
        let pid = rustix::process::Pid::from_child(&daemon);
        rustix::process::kill_process(pid, rustix::process::Signal::TERM).unwrap();
        std::thread::sleep(pause);
        daemon.kill().unwrap();
        daemon.wait().unwrap();
    }

    /// Runs a command line.
    pub fn run<S: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = S>) -> Answer {
        run_in(&self.folder(), args)
    }

    /// Runs a command line without initials in the environment, as a user who is nobody's.
    pub fn run_unsigned<S: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = S>) -> Answer {
        let mut program = clean(LOCKRING);
        program.env_remove("LOCKRING_BY").env("USER", "somebody");
        run_with(program, &self.folder(), args)
    }

    /// Runs a command line written as at the bench; double quotes hold words together.
    pub fn line(&self, line: &str) -> Answer {
        self.run(words(line))
    }

    /// The objects that a reading command prints with `--json`.
    #[track_caller]
    pub fn json(&self, line: &str) -> Vec<serde_json::Value> {
        let mut args = words(line);
        args.push("--json".into());
        let out = self.run(args).ok();
        out.lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect()
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        if let Some(mut daemon) = self.daemon.take() {
            let _gone_already = daemon.kill();
            let _reaped = daemon.wait();
        }
    }
}

/// Runs a command line on a folder.
pub fn run_in<S: AsRef<OsStr>>(folder: &Path, args: impl IntoIterator<Item = S>) -> Answer {
    run_with(clean(LOCKRING), folder, args)
}

pub fn run_with<S: AsRef<OsStr>>(
    mut program: Command,
    folder: &Path,
    args: impl IntoIterator<Item = S>,
) -> Answer {
    let args: Vec<_> = args.into_iter().map(|arg| arg.as_ref().to_owned()).collect();
    let line = args
        .iter()
        .map(|arg| arg.to_string_lossy())
        .collect::<Vec<_>>()
        .join(" ");
    let output: Output = program
        .arg("--dir")
        .arg(folder)
        .args(&args)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    Answer {
        line,
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
        code: output.status.code().unwrap_or(-1),
    }
}

/// What a program gives that must end by itself.
pub fn ends(mut command: Command) -> Output {
    let mut child = command
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let begun = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begun.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("does not end: {:?}", child.wait_with_output().unwrap());
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    child.wait_with_output().unwrap()
}

/// A program with an environment that holds nothing of the machine's.
pub fn clean(program: &str) -> Command {
    let mut command = Command::new(program);
    command
        .env_clear()
        .env("PATH", "/usr/bin:/bin")
        .env("HOME", "/nonexistent")
        .env("TZ", "UTC")
        .env("LOCKRING_BY", "K")
        .env("LOCKRING_TERMINAL", "bench");
    command
}

/// Splits a line as a shell would, as far as double quotes go.
pub fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => {
                quoted = !quoted;
                word.get_or_insert_default();
            }
            c if c.is_whitespace() && !quoted => words.extend(word.take()),
            c => word.get_or_insert_default().push(c),
        }
    }
    words.extend(word);
    words
}

/// A file of numbers from outside.
pub fn reference_file(name: &str) -> String {
    format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// A file of the demo.
pub fn demo_file(name: &str) -> String {
    format!("{}/cli/demo/{name}", env!("CARGO_MANIFEST_DIR"))
}
