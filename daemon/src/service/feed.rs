//! Entries as they are stored, in order, to whoever watches.
//!
//! Writers answer in the order of their commits, but the tasks that hear the answers may run
//! in another; entry numbers have no gaps, so an entry waits here for those before it.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use lockring_domain::entry::Entry;
use lockring_domain::shop::SHOP;
use tokio::sync::{broadcast, watch};

/// Entries a slow watcher may fall behind before it loses some.
const BEHIND: usize = 1024;

/// The feed of stored entries.
#[derive(Debug)]
pub(crate) struct Feed {
    watchers: broadcast::Sender<Arc<Entry>>,
    waiting: Mutex<Waiting>,
    /// The last entry stored of the shop as a whole.
    of_the_shop: watch::Sender<u64>,
}

#[derive(Debug)]
struct Waiting {
    next: u64,
    entries: BTreeMap<u64, Entry>,
}

impl Feed {
    /// A feed that goes on after the last entry stored.
    pub(crate) fn after(last_id: u64) -> Self {
        Self {
            watchers: broadcast::Sender::new(BEHIND),
            waiting: Mutex::new(Waiting {
                next: last_id + 1,
                entries: BTreeMap::new(),
            }),
            of_the_shop: watch::Sender::new(0),
        }
    }

    /// Tells entries that are stored for good, once each.
    pub(crate) fn publish(&self, entries: Vec<Entry>) {
        let of_the_shop = entries.iter().filter(|entry| entry.job == SHOP);
        if let Some(last) = of_the_shop.map(|entry| entry.id).max() {
            self.of_the_shop.send_if_modified(|known| {
                let newer = last > *known;
                *known = last.max(*known);
                newer
            });
        }
        let mut waiting = self.waiting.lock().expect("nothing panics while holding it");
        waiting
            .entries
            .extend(entries.into_iter().map(|entry| (entry.id, entry)));
        loop {
            let next = waiting.next;
            let Some(entry) = waiting.entries.remove(&next) else {
                return;
            };
            waiting.next += 1;
            // Nobody watching is no error.
            if self.watchers.send(Arc::new(entry)).is_err() {
                tracing::trace!(entry = next, "nobody watches");
            }
        }
    }

    /// The last entry of the shop as a whole that was told; 0 for none yet.
    pub(crate) fn of_the_shop(&self) -> watch::Receiver<u64> {
        self.of_the_shop.subscribe()
    }

    /// Hears entries from now on.
    pub(crate) fn listen(&self) -> broadcast::Receiver<Arc<Entry>> {
        self.watchers.subscribe()
    }
}

/// Waits for an entry of the shop as a whole.
pub(crate) async fn shop_changed(changes: &mut watch::Receiver<u64>) {
    if changes.changed().await.is_err() {
        // The feed lives as long as the daemon; without it nothing changes any more.
        std::future::pending::<()>().await;
    }
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use lockring_domain::entry::Event;
    use lockring_domain::origin::Origin;

    use super::*;

    fn entry(id: u64) -> Entry {
        let origin = Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: Timestamp::UNIX_EPOCH,
        };
        Entry {
            id,
            job: 1,
            seq: id,
            origin,
            stored: Timestamp::UNIX_EPOCH,
            event: Event::Noted {
                text: "x".into(),
                private: false,
            },
            previous: [0; 32],
            hash: [0; 32],
        }
    }

    #[tokio::test]
    async fn entries_come_in_the_order_they_were_stored() {
        let feed = Feed::after(4);
        let mut heard = feed.listen();
        feed.publish(vec![entry(6), entry(7)]);
        assert!(heard.try_recv().is_err());
        feed.publish(vec![entry(5)]);
        feed.publish(vec![entry(8)]);
        for id in 5..=8 {
            assert_eq!(heard.recv().await.unwrap().id, id);
        }
    }
}
