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

    /// The day a moment falls on at the shop.
    pub(crate) fn of(&self, moment: Timestamp) -> Date {
        moment.to_zoned_datetime(self.zone.clone()).date()
    }

    /// Working days since a moment: its own day does not count, today does.
    pub(crate) fn since(&self, moment: Timestamp) -> u32 {
        self.calendar.working_days_between(self.of(moment), self.today)
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

    /// Clocks of Berlin change at 01:00 UTC on 29 March and 25 October 2026 (Directive 2000/84/EC). Both
    /// nights are one night: what was opened an hour before midnight by the shop's clock is a day older
    /// than what was opened an hour after it, on either side of the change.
    #[test]
    fn ages_are_right_across_both_clock_changes() {
        let calendar = Calendar::default();
        let zone = TimeZone::get("Europe/Berlin").unwrap();
        let age =
            |opened: &str, today: Date| Days::new(&calendar, &zone, today).since(opened.parse().unwrap());
        // Winter time, an hour ahead of UTC; summer time, two hours.
        assert_eq!(age("2026-03-26T22:30Z", date(2026, 3, 30)), 2, "Thursday 23:30");
        assert_eq!(age("2026-03-26T23:30Z", date(2026, 3, 30)), 1, "Friday 00:30");
        assert_eq!(age("2026-03-30T21:30Z", date(2026, 3, 31)), 1, "Monday 23:30");
        assert_eq!(age("2026-03-30T22:30Z", date(2026, 3, 31)), 0, "Tuesday 00:30");
        assert_eq!(age("2026-10-23T21:30Z", date(2026, 10, 26)), 1, "Friday 23:30");
        assert_eq!(age("2026-10-23T22:30Z", date(2026, 10, 26)), 1, "Saturday 00:30");
        assert_eq!(age("2026-10-26T22:30Z", date(2026, 10, 27)), 1, "Monday 23:30");
        assert_eq!(age("2026-10-26T23:30Z", date(2026, 10, 27)), 0, "Tuesday 00:30");
    }

    /// 28 February 2028 is a Monday and that year has a 29th; 27 February 2026 is a Friday and that year
    /// has none (Gregorian calendar).
    #[test]
    fn ages_count_the_leap_day_where_there_is_one() {
        let calendar = Calendar::default();
        let age = |opened: &str, today: Date| {
            Days::new(&calendar, &TimeZone::UTC, today).since(opened.parse().unwrap())
        };
        assert_eq!(age("2028-02-28T09:00Z", date(2028, 3, 1)), 2);
        assert_eq!(age("2028-02-29T09:00Z", date(2028, 3, 1)), 1);
        assert_eq!(age("2026-02-27T09:00Z", date(2026, 3, 2)), 1);
        // numpy 2.4.6: busday_count('2028-01-02', '2029-01-02') and busday_count('2026-01-02', '2027-01-02').
        assert_eq!(age("2028-01-01T09:00Z", date(2029, 1, 1)), 261);
        assert_eq!(age("2026-01-01T09:00Z", date(2027, 1, 1)), 261);
    }

    /// Thursday 2 to Tuesday 7 April 2026 shut, a weekend among them; and one of the days worked after all.
    #[test]
    fn a_chain_of_holidays_makes_nothing_older() {
        let mut calendar = Calendar::default();
        calendar.holidays.extend((2..=7).map(|day| date(2026, 4, day)));
        let age = |calendar: &Calendar, opened: &str, today: Date| {
            Days::new(calendar, &TimeZone::UTC, today).since(opened.parse().unwrap())
        };
        let opened = "2026-04-01T09:00Z";
        for day in 1..=7 {
            assert_eq!(age(&calendar, opened, date(2026, 4, day)), 0, "{day} April");
        }
        assert_eq!(age(&calendar, opened, date(2026, 4, 8)), 1);
        // What is opened in the chain is not older than what was opened on the day before it.
        assert_eq!(age(&calendar, "2026-04-04T09:00Z", date(2026, 4, 8)), 1);
        let zone = TimeZone::UTC;
        let days = Days::new(&calendar, &zone, date(2026, 4, 1));
        assert_eq!(
            (days.next_working_day(), days.until(date(2026, 4, 8))),
            (Some(date(2026, 4, 8)), 1)
        );
        calendar.holidays.remove(&date(2026, 4, 7));
        assert_eq!(age(&calendar, opened, date(2026, 4, 8)), 2);
    }

    /// A shop that moves from Berlin to Auckland: a moment is told by the day it has at the shop now,
    /// so that what was opened on a Monday evening is of Tuesday there.
    #[test]
    fn a_changed_time_zone_tells_ages_by_its_own_days() {
        let calendar = Calendar::default();
        let opened: Timestamp = "2026-03-09T18:00Z".parse().unwrap();
        let age = |zone: &str, today: Date| {
            let zone = TimeZone::get(zone).unwrap();
            Days::new(&calendar, &zone, today).since(opened)
        };
        assert_eq!(age("Europe/Berlin", date(2026, 3, 10)), 1);
        assert_eq!(age("Pacific/Auckland", date(2026, 3, 10)), 0);
        assert_eq!(age("Pacific/Auckland", date(2026, 3, 11)), 1);
        // Over the date line the other way round nothing gets an age below nothing.
        assert_eq!(age("Pacific/Auckland", date(2026, 3, 9)), 0);
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
