//! Builds that a search looks at, and what it put aside.

use std::collections::BTreeMap;

use crate::propose::Tier;
use crate::propose::candidates::Pick;
use crate::propose::merits::{Key, Merits};
use crate::propose::shop::Shop;

/// A build that can be judged.
#[derive(Debug, Clone)]
pub(super) struct Build {
    pub(super) pick: Pick,
    pub(super) key: Key,
    pub(super) merits: Merits,
}

/// What was put aside: for each check how often, and the cheapest with its price.
#[derive(Debug, Default)]
pub(super) struct Aside(pub(super) BTreeMap<&'static str, (usize, i64, Pick)>);

impl Aside {
    /// Whether a check rules parts out; it is noted then.
    pub(super) fn rules_out(
        &mut self,
        shop: &mut Shop<'_>,
        ids: &[&'static str],
        pick: &Pick,
        tier: Tier,
    ) -> bool {
        match shop.against(ids, pick, tier) {
            Some(id) => {
                self.note(shop, id, *pick);
                true
            }
            None => false,
        }
    }

    /// Notes parts that a check put aside.
    pub(super) fn note(&mut self, shop: &Shop<'_>, id: &'static str, pick: Pick) {
        let (price, _) = shop.shelf.cost(&pick);
        let entry = self.0.entry(id).or_insert((0, price, pick));
        entry.0 += 1;
        if (price, pick) < (entry.1, entry.2) {
            (entry.1, entry.2) = (price, pick);
        }
    }
}
