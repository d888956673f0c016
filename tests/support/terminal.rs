//! A program at a terminal of its own: keys go in, the screen's text comes out.

use std::fs::File;
use std::io::{Read as _, Write as _};
use std::os::fd::OwnedFd;
use std::process::{Child, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Instant;

use rustix::fs::{Mode, OFlags, open};
use rustix::process::{Pid, Signal, kill_process};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};

use super::{LOCKRING, PATIENCE, clean};

/// The command line at a terminal.
pub struct Terminal {
    keys: File,
    shown: Receiver<Vec<u8>>,
    child: Child,
    /// Everything shown so far.
    pub text: String,
    seen: usize,
}

impl Terminal {
    /// Runs a command line at a terminal of so many columns.
    pub fn run(folder: &std::path::Path, columns: u16, args: &[&str], environment: &[(&str, &str)]) -> Self {
        let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap();
        let side = || -> OwnedFd { open(&name, OFlags::RDWR | OFlags::NOCTTY, Mode::empty()).unwrap() };
        let screen = side();
        size(&screen, columns);
        let child = clean(LOCKRING)
            .arg("--dir")
            .arg(folder)
            .args(args)
            .env("TERM", "xterm")
            .envs(environment.iter().copied())
            .stdin(Stdio::from(side()))
            .stdout(Stdio::from(side()))
            .stderr(Stdio::from(screen))
            .spawn()
            .unwrap();
        let keys = File::from(master);
        let mut screen = keys.try_clone().unwrap();
        let (send, shown) = channel();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            // The end of the program is an error of its terminal.
            while let Ok(length) = screen.read(&mut bytes) {
                if length == 0 || send.send(bytes[..length].to_vec()).is_err() {
                    break;
                }
            }
        });
        Self {
            keys,
            shown,
            child,
            text: String::new(),
            seen: 0,
        }
    }

    /// Types keys as they are.
    pub fn keys(&mut self, keys: &str) -> &mut Self {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self
    }

    /// Waits until the screen has shown this since the last wait.
    #[track_caller]
    pub fn shows(&mut self, part: &str) -> &mut Self {
        let begun = Instant::now();
        loop {
            if let Some(at) = self.text[self.seen..].find(part) {
                self.seen += at + part.len();
                return self;
            }
            match self.shown.recv_timeout(PATIENCE.saturating_sub(begun.elapsed())) {
                Ok(bytes) => self.text.push_str(&String::from_utf8_lossy(&bytes)),
                Err(RecvTimeoutError::Timeout) => panic!("`{part}` is not shown in\n{}", self.text),
                Err(RecvTimeoutError::Disconnected) => panic!("it ended without `{part}`:\n{}", self.text),
            }
        }
    }

    /// Makes the terminal as wide, and says so as a terminal does.
    pub fn resize(&mut self, columns: u16) {
        size(&self.keys, columns);
        self.signal(Signal::WINCH);
    }

    /// What Ctrl-C sends while a command runs.
    pub fn interrupt(&mut self) {
        self.signal(Signal::INT);
    }

    fn signal(&self, signal: Signal) {
        kill_process(Pid::from_child(&self.child), signal).unwrap();
    }

    /// Waits for the end and gives every byte that was shown.
    pub fn bytes(mut self) -> Vec<u8> {
        self.child.wait().unwrap();
        let mut bytes = Vec::new();
        while let Ok(more) = self.shown.recv_timeout(std::time::Duration::from_millis(100)) {
            bytes.extend(more);
        }
        bytes
    }

    /// Waits for the end and gives the exit code and everything shown.
    #[track_caller]
    pub fn ends(mut self) -> (i32, String) {
        let status = self.child.wait().unwrap();
        while let Ok(bytes) = self.shown.recv_timeout(std::time::Duration::from_millis(200)) {
            self.text.push_str(&String::from_utf8_lossy(&bytes));
        }
        (status.code().unwrap_or(-1), std::mem::take(&mut self.text))
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _gone_already = self.child.kill();
        let _reaped = self.child.wait();
    }
}

fn size(terminal: impl std::os::fd::AsFd, columns: u16) {
    let size = Winsize {
        ws_row: 24,
        ws_col: columns,
        ws_xpixel: 0,
        ws_ypixel: 0,
    };
    tcsetwinsize(terminal, size).unwrap();
}
