//! What the daemon knows of the shop without reading it anew.

use std::sync::{Arc, Mutex, PoisonError};

use lockring_domain::job::Job;
use lockring_domain::shop::Shop;
use lockring_store::StorageError;
use tonic::Status;

use super::Daemon;
use super::ledger::Ledger;
use crate::standing::Standing;

/// The shop as it was last read for who may do what, and the last of its entries then.
#[derive(Debug, Default)]
pub(crate) struct KnownShop(Mutex<Option<(u64, Arc<Shop>)>>);

/// The last standing made, because most answers are given about the same shop.
#[derive(Debug, Default)]
pub(crate) struct LastStanding(Mutex<Option<Arc<Standing>>>);

impl Daemon {
    /// The shop as all that was answered left it; read anew only after an entry of it.
    pub(crate) async fn known_shop(self: &Arc<Self>) -> Result<Arc<Shop>, Status> {
        let last = *self.feed.of_the_shop().borrow();
        let kept = self
            .known_shop
            .0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone();
        if let Some((as_of, shop)) = kept
            && as_of == last
        {
            return Ok(shop);
        }
        let shop = self.read(|_, reader| reader.shop().map(Ok)).await?;
        let mut known = self.known_shop.0.lock().unwrap_or_else(PoisonError::into_inner);
        *known = Some((last, shop.clone()));
        Ok(shop)
    }

    /// The shop as the ledger has it.
    pub(super) fn standing(&self, ledger: &impl Ledger) -> Result<Arc<Standing>, StorageError> {
        Ok(self.standing_of(ledger.shop()?))
    }

    fn standing_of(&self, shop: Arc<Shop>) -> Arc<Standing> {
        let mut last = self
            .last_standing
            .0
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        if let Some(standing) = last.as_ref().filter(|standing| standing.is_of(&shop)) {
            return standing.clone();
        }
        let standing = Arc::new(Standing::of(shop, &self.zone));
        *last = Some(standing.clone());
        standing
    }

    /// A job and what all answers about it need, when nothing has to be read for them, nor made anew
    /// out of another shop.
    pub(super) fn at_hand(&self, job: u32) -> Option<(Arc<Standing>, Arc<Job>)> {
        let (shop, job) = self.store.at_hand(job)?;
        let last = self.last_standing.0.try_lock().ok()?;
        let standing = last.as_ref().filter(|standing| standing.is_of(&shop))?;
        Some((standing.clone(), job))
    }
}
