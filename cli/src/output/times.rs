//! Days with their weekday, times by the workshop's clock.

use std::cell::OnceCell;
use std::ops::Deref;
use std::rc::Rc;

use jiff::Timestamp;
use jiff::tz::TimeZone;

pub(crate) use lockring_proto::page::day;
use lockring_proto::zone;

/// The clock people look at: the shop's, once its daemon named it, until then this machine's.
#[derive(Debug, Clone)]
pub(crate) struct Clock {
    machine: TimeZone,
    shop: Rc<OnceCell<TimeZone>>,
}

impl Clock {
    /// A clock by this machine's time zone, for one line.
    pub(crate) fn of(machine: TimeZone) -> Self {
        Self {
            machine,
            shop: Rc::default(),
        }
    }

    /// Goes by the time zone of this name from now on; one that is empty or not known here changes nothing.
    pub(crate) fn set(&self, name: &str) {
        if self.shop.get().is_some() || self.machine.iana_name() == Some(name) {
            return;
        }
        if let Some(zone) = zone::named(name) {
            self.shop.get_or_init(|| zone);
        }
    }
}

impl Default for Clock {
    fn default() -> Self {
        Self::of(TimeZone::UTC)
    }
}

impl Deref for Clock {
    type Target = TimeZone;

    fn deref(&self) -> &TimeZone {
        self.shop.get().unwrap_or(&self.machine)
    }
}

/// Microseconds since 1970-01-01T00:00Z by the zone's clock, such as `Wed 25 Mar 2026 14:05`.
/// Outside the years the calendar knows, the number is shown.
pub(crate) fn moment(us: i64, zone: &TimeZone) -> String {
    match Timestamp::from_microsecond(us) {
        Ok(instant) => instant
            .to_zoned_datetime(zone.clone())
            .strftime("%a %-d %b %Y %H:%M")
            .to_string(),
        Err(_) => format!("{us} us since 1970"),
    }
}

/// The day of a moment by the zone's clock, such as `2026-03-25`, for tables with little room.
pub(crate) fn date(us: i64, zone: &TimeZone) -> String {
    match Timestamp::from_microsecond(us) {
        Ok(instant) => instant.to_zoned_datetime(zone.clone()).date().to_string(),
        Err(_) => format!("{us} us since 1970"),
    }
}

/// A count of days in words, such as `1 day` or `3 days`.
pub(crate) fn days(count: u32) -> String {
    count_of(u64::from(count), "day", "days")
}

/// So many working days.
pub(crate) fn working_days(count: u32) -> String {
    count_of(u64::from(count), "working day", "working days")
}

/// A count and its noun.
pub(crate) fn count_of(count: u64, one: &str, many: &str) -> String {
    if count == 1 {
        format!("1 {one}")
    } else {
        format!("{count} {many}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 25 March 2026 is a Wednesday: from 1 January 1970, a Thursday, 20537 days, and 20537
    /// mod 7 is 6 (counted by hand).
    #[test]
    fn a_day_carries_its_weekday() {
        assert_eq!(day("2026-03-25"), "Wed 25 Mar 2026");
        assert_eq!(day("2026-04-03"), "Fri 3 Apr 2026");
        assert_eq!(day("when it comes"), "when it comes");
    }

    /// Berlin is at UTC+1 in winter.
    #[test]
    fn the_clock_is_the_machines_until_the_shop_named_its_own() {
        let us = (20_537 * 86_400 + 13 * 3600 + 5 * 60) * 1_000_000;
        let clock = Clock::default();
        let seen = clock.clone();
        clock.set("");
        clock.set("Nowhere/At_All");
        assert_eq!(moment(us, &seen), "Wed 25 Mar 2026 13:05");
        clock.set("Europe/Berlin");
        assert_eq!(moment(us, &seen), "Wed 25 Mar 2026 14:05");
    }

    #[test]
    fn a_moment_is_shown_by_the_zone() {
        let us = (20_537 * 86_400 + 13 * 3600 + 5 * 60) * 1_000_000;
        assert_eq!(moment(us, &TimeZone::UTC), "Wed 25 Mar 2026 13:05");
        assert_eq!(
            moment(us, &TimeZone::fixed(jiff::tz::offset(1))),
            "Wed 25 Mar 2026 14:05"
        );
        assert_eq!(
            moment(i64::MAX, &TimeZone::UTC),
            "9223372036854775807 us since 1970"
        );
    }

    #[test]
    fn one_day_is_not_days() {
        assert_eq!(
            (days(0), days(1), days(2)),
            ("0 days".to_owned(), "1 day".to_owned(), "2 days".to_owned())
        );
    }
}
