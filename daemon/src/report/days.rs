//! Days of the shop: which day a moment falls on, and how many working days lie between.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_domain::calendar::Calendar;
use lockring_domain::supply::line::OrderLine;

/// The calendar as seen from one day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Days<'a> {
    calendar: &'a Calendar,
    zone: &'a TimeZone,
    today: Date,
}

impl<'a> Days<'a> {
    /// The calendar as seen from `today`.
    pub(crate) const fn new(calendar: &'a Calendar, zone: &'a TimeZone, today: Date) -> Self {
        Self {
            calendar,
            zone,
            today,
        }
    }

    /// The day it is seen from.
    pub(crate) const fn today(&self) -> Date {
        self.today
    }

    /// Working days since a moment: its own day does not count, today does.
    pub(crate) fn since(&self, moment: Timestamp) -> u32 {
        let day = moment.to_zoned_datetime(self.zone.clone()).date();
        self.calendar.working_days_between(day, self.today)
    }

    /// Working days until a day; negative when it is past.
    pub(crate) fn until(&self, day: Date) -> i32 {
        let days = self.between(self.today.min(day), self.today.max(day));
        let days = i32::try_from(days).unwrap_or(i32::MAX);
        if day < self.today { -days } else { days }
    }

    /// Working days after one day up to another.
    pub(crate) fn between(&self, from: Date, to: Date) -> u32 {
        self.calendar.working_days_between(from, to)
    }

    /// Working days an order line is past its promised day; `None` when it is not late.
    pub(crate) fn late(&self, line: &OrderLine) -> Option<u32> {
        line.days_late(self.calendar, self.today)
    }

    /// The first working day after today; `None` when no day is worked.
    pub(crate) fn next_working_day(&self) -> Option<Date> {
        self.calendar.next_working_day(self.today)
    }
}

/// A day as reports name it, `7 Apr`; with the year where it is not the year of `beside`.
pub(crate) fn short(day: Date, beside: Date) -> String {
    let format = if day.year() == beside.year() {
        "%-d %b"
    } else {
        "%-d %b %Y"
    };
    day.strftime(format).to_string()
}

/// So many working days, in words.
pub(crate) fn working_days(count: u32) -> String {
    if count == 1 {
        "1 working day".to_owned()
    } else {
        format!("{count} working days")
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    // Days of the week from the calendar of 2026: 6 March is a Friday, 9 March a Monday.

    #[test]
    fn ages_count_working_days_in_the_shops_zone() {
        let calendar = Calendar::default();
        let zone = TimeZone::fixed(jiff::tz::offset(1));
        let days = Days::new(&calendar, &zone, date(2026, 3, 9));
        // Friday 23:30 UTC is Saturday 00:30 at the shop: only Monday counts.
        assert_eq!(days.since("2026-03-06T23:30Z".parse().unwrap()), 1);
        assert_eq!(days.since("2026-03-05T09:00Z".parse().unwrap()), 2);
        assert_eq!(days.since("2026-03-09T05:00Z".parse().unwrap()), 0);
    }

    #[test]
    fn days_until_are_negative_when_past() {
        let calendar = Calendar::default();
        let zone = TimeZone::UTC;
        let days = Days::new(&calendar, &zone, date(2026, 3, 9));
        assert_eq!(days.until(date(2026, 3, 16)), 5);
        assert_eq!(days.until(date(2026, 3, 9)), 0);
        assert_eq!(days.until(date(2026, 3, 6)), -1);
        assert_eq!(days.next_working_day(), Some(date(2026, 3, 10)));
    }

    #[test]
    fn a_day_of_another_year_says_so() {
        assert_eq!(short(date(2026, 4, 7), date(2026, 3, 9)), "7 Apr");
        assert_eq!(short(date(2027, 1, 4), date(2026, 12, 30)), "4 Jan 2027");
    }
}
