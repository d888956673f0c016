//! A daemon on a folder that may be there already, watched from its first moment on.

use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use lockring_proto::v1::HelloRequest;
use lockring_proto::v1::shop_client::ShopClient;
use rustix::process::{Pid, Signal, kill_process};
use tonic::transport::Channel;

use crate::support::disk;
use crate::support::rpc::{self, connect_silently, hello};
use crate::support::{LOCKRINGD, PATIENCE, clean};

/// A daemon that serves a folder.
pub struct Served {
    folder: PathBuf,
    child: Option<Child>,
    /// From its beginning to its first answer.
    pub ready_after: Duration,
}

impl Served {
    /// Starts a daemon and waits until it shakes hands.
    pub fn begin(folder: &Path) -> Self {
        let begun = Instant::now();
        let child = clean(LOCKRINGD)
            .envs(disk::handed_on())
            .arg("--dir")
            .arg(folder)
            .args(["--log", "warn"])
            .envs(lockring_proto::pools())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let mut served = Self {
            folder: folder.to_owned(),
            child: Some(child),
            ready_after: Duration::ZERO,
        };
        one_thread().block_on(async {
            while !served.answers().await {
                let child = served.child.as_mut().unwrap();
                assert!(
                    child.try_wait().unwrap().is_none(),
                    "lockringd ended before it served"
                );
                // A big shop may take long; nobody waits for ever.
                assert!(begun.elapsed() < 20 * PATIENCE, "lockringd does not serve");
                tokio::time::sleep(Duration::from_micros(200)).await;
            }
        });
        served.ready_after = begun.elapsed();
        served
    }

    async fn answers(&self) -> bool {
        let Ok(folder) = self.folder.canonicalize() else {
            return false;
        };
        let Ok(channel) = connect_silently(&folder).await else {
            return false;
        };
        let request = HelloRequest { ..hello(&folder) };
        ShopClient::new(channel).hello(request).await.is_ok()
    }

    /// The data folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// A connection that has shaken hands.
    pub async fn connect(&self) -> Channel {
        rpc::try_connect(&self.folder).await.unwrap()
    }

    /// Memory in use and the most ever used, KiB.
    pub fn memory(&self) -> (u64, u64) {
        let pid = self.child.as_ref().unwrap().id();
        let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
        let field = |name: &str| {
            let line = status.lines().find_map(|line| line.strip_prefix(name)).unwrap();
            line.trim().trim_end_matches(" kB").parse().unwrap()
        };
        (field("VmRSS:"), field("VmHWM:"))
    }

    /// Asks the daemon to end; how long it takes to be gone.
    pub fn end(mut self) -> Duration {
        let mut child = self.child.take().unwrap();
        let begun = Instant::now();
        kill_process(Pid::from_child(&child), Signal::TERM).unwrap();
        let ended = child.wait().unwrap();
        assert!(ended.success(), "{ended}");
        begun.elapsed()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        if let Some(mut child) = self.child.take() {
            let _gone_already = child.kill();
            let _reaped = child.wait();
        }
    }
}

/// A runtime as the command line has it.
pub fn one_thread() -> tokio::runtime::Runtime {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap()
}
