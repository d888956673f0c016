//! The shop as it stands, and what follows from it for every answer: limits and working days.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_domain::gate::Memory;
use lockring_domain::recalled;
use lockring_domain::rules::RuleSheet;
use lockring_domain::shop::Shop;

use crate::report::days::Days;

/// The shop, its limits and its calendar.
#[derive(Debug)]
pub(crate) struct Standing {
    /// The shop.
    pub(crate) shop: Arc<Shop>,
    /// Thresholds, the shop's own among them.
    pub(crate) rules: RuleSheet,
    /// The shop's time zone.
    pub(crate) zone: TimeZone,
    /// What checks found lately by these thresholds.
    pub(crate) memory: Memory,
}

impl Standing {
    /// What follows from a shop; `system` is the machine's time zone, for a shop that names
    /// none.
    pub(crate) fn of(shop: Arc<Shop>, system: &TimeZone) -> Self {
        let zone = zone_of(&shop, system);
        let (rules, refused) = shop.rules();
        let rules = rules.in_zone(zone.clone());
        for error in refused {
            tracing::warn!(%error, "a limit of the shop's own is left out: the shipped one is used");
        }
        for (_, told) in recalled::unreadable(&shop, &zone) {
            tracing::warn!("{told}");
        }
        Self {
            memory: Memory::of(&rules),
            shop,
            rules,
            zone,
        }
    }

    /// Whether it follows from this shop, which is mostly at the same place and then not compared.
    pub(crate) fn is_of(&self, shop: &Arc<Shop>) -> bool {
        Arc::ptr_eq(&self.shop, shop) || self.shop == *shop
    }

    /// The day of a moment, and the first day on which work can still be done then: that day
    /// until the shop closes, if it is worked, else the next working day.
    pub(crate) fn today_and_first(&self, now: Timestamp) -> (Date, Date) {
        let clock = now.to_zoned_datetime(self.zone.clone());
        let today = clock.date();
        let calendar = &self.shop.calendar;
        let still_open = calendar.is_working(today) && clock.time() < self.shop.closing_time();
        let next = || calendar.next_working_day(today).unwrap_or(today);
        (today, if still_open { today } else { next() })
    }

    /// Working days as of a moment.
    pub(crate) fn days(&self, now: Timestamp) -> Days<'_> {
        let today = now.to_zoned_datetime(self.zone.clone()).date();
        Days::new(&self.shop.calendar, &self.zone, today)
    }
}

/// The shop's time zone: the one it named, where the machine still knows it.
pub(crate) fn zone_of(shop: &Shop, system: &TimeZone) -> TimeZone {
    let Some(name) = shop.zone_name() else {
        return system.clone();
    };
    TimeZone::get(name).unwrap_or_else(|error| {
        tracing::warn!(%error, "the shop's time zone is not known here: that of the machine is used");
        system.clone()
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use jiff::tz::offset;

    use super::*;

    #[test]
    fn checks_count_their_days_where_the_shop_is() {
        let at = Standing::of(Arc::default(), &TimeZone::fixed(offset(9)));
        let evening: Timestamp = "2026-02-28T16:00:00Z".parse().unwrap();
        assert_eq!(at.rules.day(evening), date(2026, 3, 1));
    }
}
