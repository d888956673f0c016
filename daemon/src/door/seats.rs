//! Seats: how many connections each may have and how many calls it may begin, so that one that
//! goes wrong does not stand before the others.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::sync::Semaphore;

/// What the door lets in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Limits {
    /// Connections at a time; well below the files a process may usually have open (1024).
    pub(crate) all: usize,
    /// Connections of one program, address or certificate at a time.
    pub(crate) of_one: usize,
    /// Calls of one that run at a time; its others wait, and nobody else behind them.
    pub(crate) calls_of_one: usize,
    /// How long a connection may take to its first whole call.
    pub(crate) silence: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            all: 512,
            of_one: 64,
            calls_of_one: 64,
            silence: Duration::from_secs(5),
        }
    }
}

/// Whom connections are counted for.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) enum Whose {
    /// A program of this machine, by its process number.
    Program(i32),
    /// Another machine.
    Address(IpAddr),
    /// A certificate, by its fingerprint.
    Certificate(String),
}

/// How many connections each has, and the calls it may begin.
#[derive(Debug, Default)]
pub(crate) struct Seats(Mutex<HashMap<Whose, Taken>>);

#[derive(Debug)]
struct Taken {
    connections: usize,
    calls: Arc<Semaphore>,
}

/// A place among the connections; free again when dropped.
#[derive(Debug)]
pub(crate) struct Seat {
    whose: Whose,
    seats: Arc<Seats>,
    pub(super) calls: Arc<Semaphore>,
}

impl Seats {
    /// Takes a seat, unless one or everybody together has too many.
    pub(crate) fn take(self: &Arc<Self>, whose: Whose, limits: Limits) -> Result<Seat, String> {
        let mut taken = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let all: usize = taken.values().map(|own| own.connections).sum();
        if all >= limits.all {
            return Err(format!("{all} connections are open, as many as may be"));
        }
        let own = taken.entry(whose.clone()).or_insert_with(|| Taken {
            connections: 0,
            calls: Arc::new(Semaphore::new(limits.calls_of_one)),
        });
        if own.connections >= limits.of_one {
            return Err(format!(
                "it has {} connections, as many as one may",
                own.connections
            ));
        }
        own.connections += 1;
        Ok(Seat {
            whose,
            seats: self.clone(),
            calls: own.calls.clone(),
        })
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        let mut taken = self.seats.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(own) = taken.get_mut(&self.whose) {
            own.connections -= 1;
            if own.connections == 0 {
                taken.remove(&self.whose);
            }
        }
    }
}

/// Refusals are logged when their number doubles, so that a flood does not fill the disk.
#[derive(Debug, Default)]
pub(crate) struct Refusals(u64);

impl Refusals {
    /// One more was not let in.
    pub(crate) fn note(&mut self, why: &str) {
        self.0 += 1;
        if self.0.is_power_of_two() {
            tracing::warn!(why, refused = self.0, "a connection was not let in");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::door::tests::FEW;

    #[test]
    fn all_together_get_so_many_seats() {
        let seats = Arc::new(Seats::default());
        let mut taken: Vec<Seat> = [1, 1, 2]
            .map(|pid| seats.take(Whose::Program(pid), FEW).unwrap())
            .into();
        let full = seats.take(Whose::Program(3), FEW).unwrap_err();
        assert!(full.contains("3 connections are open"), "{full}");
        taken.pop();
        let _third = seats.take(Whose::Program(3), FEW).unwrap();
        let own = Arc::new(Seats::default());
        let whose = Whose::Address(IpAddr::from([192, 168, 1, 9]));
        let _two = [(); 2].map(|()| own.take(whose.clone(), FEW).unwrap());
        assert!(own.take(whose, FEW).unwrap_err().contains("as many as one may"));
    }

    #[tokio::test]
    async fn calls_of_one_program_wait_for_its_own_and_not_for_anothers() {
        let seats = Arc::new(Seats::default());
        let take = |pid| seats.take(Whose::Program(pid), FEW).unwrap();
        let (one, other) = (take(1), take(2));
        let first = one.calls.clone().acquire_owned().await.unwrap();
        // Its second connection shares the turns of its first.
        assert!(take(1).calls.try_acquire().is_err());
        assert!(other.calls.try_acquire().is_ok());
        drop(first);
        assert!(one.calls.try_acquire().is_ok());
    }
}
