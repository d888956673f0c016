//! What there is of the network: nothing until the shop names an address (`crate::benches`).
//!
//! Both sides show a certificate of the workshop's own authority (`authority`); the door counts
//! what each address and certificate takes up (`street`); what a caller may do is asked for each
//! call in `service::guard`. Nothing here touches keys or TLS before the shop names an address
//! or pairs a bench.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;

use crate::door::{Caller, WeakCaller};

pub(crate) mod authority;
pub(crate) mod street;

use authority::{Authority, Trouble};

/// What there is of the network: nothing until it is needed.
#[derive(Debug)]
pub(crate) struct Network {
    /// Where the authority's files are.
    folder: PathBuf,
    authority: Mutex<Option<Arc<Authority>>>,
    open: Mutex<Vec<WeakCaller>>,
    standing: Mutex<Standing>,
}

/// Whether other benches are served.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) enum Standing {
    /// The shop names no address, or nobody has got round to it yet.
    #[default]
    Closed,
    /// At this address.
    Served(SocketAddr),
    /// The address cannot be served, and why.
    Trouble(String),
}

impl Network {
    /// Nothing yet; the authority of a data folder once somebody needs it.
    pub(crate) fn of(data_folder: &std::path::Path) -> Self {
        Self {
            folder: data_folder.join(authority::FOLDER),
            authority: Mutex::default(),
            open: Mutex::default(),
            standing: Mutex::default(),
        }
    }

    /// Whether other benches are served.
    pub(crate) fn standing(&self) -> Standing {
        self.standing
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// Says whether other benches are served.
    pub(crate) fn stands(&self, standing: Standing) {
        *self.standing.lock().unwrap_or_else(PoisonError::into_inner) = standing;
    }

    /// The workshop's authority, made on first use. Blocks the thread.
    ///
    /// # Errors
    /// [`Trouble`] with its files.
    pub(crate) fn authority(&self) -> Result<Arc<Authority>, Trouble> {
        let mut kept = self.authority.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(authority) = &*kept {
            return Ok(authority.clone());
        }
        let authority = Arc::new(Authority::of(&self.folder, Timestamp::now())?);
        *kept = Some(authority.clone());
        Ok(authority)
    }

    /// Remembers an open connection for as long as it lasts.
    pub(crate) fn note(&self, caller: &Caller) {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        open.retain(|one| Caller::is_held(one).is_some());
        open.push(caller.weak());
    }

    /// Breaks off open connections whose certificate counts no longer.
    pub(crate) fn break_off(&self, counts: impl Fn(&str) -> bool) {
        let open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        for caller in open.iter().filter_map(Caller::is_held) {
            if caller.fingerprint().is_some_and(|print| !counts(print)) {
                tracing::info!("a connection was broken off: its certificate counts no longer");
                caller.break_off();
            }
        }
    }
}
