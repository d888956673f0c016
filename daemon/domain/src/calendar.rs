//! The shop's calendar: which days are worked, and ages and dates counted in them.

use std::collections::BTreeSet;

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use serde::{Deserialize, Serialize};

/// A day of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WorkingDay {
    /// Monday.
    Monday,
    /// Tuesday.
    Tuesday,
    /// Wednesday.
    Wednesday,
    /// Thursday.
    Thursday,
    /// Friday.
    Friday,
    /// Saturday.
    Saturday,
    /// Sunday.
    Sunday,
}

impl WorkingDay {
    /// All, from Monday.
    pub const ALL: [Self; 7] = [
        Self::Monday,
        Self::Tuesday,
        Self::Wednesday,
        Self::Thursday,
        Self::Friday,
        Self::Saturday,
        Self::Sunday,
    ];

    /// Reads from its word or the beginning of it, three letters at least.
    pub fn from_word(word: &str) -> Option<Self> {
        let word = word.to_lowercase();
        let begins = |day: &Self| word.len() >= 3 && day.word().starts_with(&word);
        Self::ALL.into_iter().find(begins)
    }

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Monday => "monday",
            Self::Tuesday => "tuesday",
            Self::Wednesday => "wednesday",
            Self::Thursday => "thursday",
            Self::Friday => "friday",
            Self::Saturday => "saturday",
            Self::Sunday => "sunday",
        }
    }
}

impl From<Weekday> for WorkingDay {
    fn from(day: Weekday) -> Self {
        match day {
            Weekday::Monday => Self::Monday,
            Weekday::Tuesday => Self::Tuesday,
            Weekday::Wednesday => Self::Wednesday,
            Weekday::Thursday => Self::Thursday,
            Weekday::Friday => Self::Friday,
            Weekday::Saturday => Self::Saturday,
            Weekday::Sunday => Self::Sunday,
        }
    }
}

/// The day a word means when it is said on a day: `today`, `tomorrow`, or the next of a weekday's name. The bench reads
/// the days of its options by the same words (`lockring-proto`).
pub fn day_said(word: &str, today: Date) -> Option<Date> {
    match word.trim().to_lowercase().as_str() {
        "today" => Some(today),
        "tomorrow" => today.tomorrow().ok(),
        word => {
            let meant = WorkingDay::from_word(word)?;
            let mut coming = today.series(1.day()).skip(1);
            coming.find(|day| WorkingDay::from(day.weekday()) == meant)
        }
    }
}

/// Days of the week that are worked, and the days that are not worked all the same.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Calendar {
    /// Days of the week that are worked; with none, no day is worked and every age is 0.
    pub working_days: BTreeSet<WorkingDay>,
    /// Holidays and days the shop is shut.
    pub holidays: BTreeSet<Date>,
}

impl Default for Calendar {
    /// Monday to Friday, no holidays.
    fn default() -> Self {
        use WorkingDay::{Friday, Monday, Thursday, Tuesday, Wednesday};
        Self {
            working_days: [Monday, Tuesday, Wednesday, Thursday, Friday].into(),
            holidays: BTreeSet::new(),
        }
    }
}

impl Calendar {
    /// Whether a day is worked.
    pub fn is_working(&self, day: Date) -> bool {
        self.working_days.contains(&day.weekday().into()) && !self.holidays.contains(&day)
    }

    /// What to say of a day that somebody names and the shop does not work; `None` for a day it works, and where no day is.
    pub fn shut_words(&self, day: Date) -> Option<String> {
        let is_shut = !self.is_working(day) && !self.working_days.is_empty();
        is_shut.then(|| {
            let weekday = day.strftime("%A");
            if self.working_days.contains(&day.weekday().into()) {
                format!("{day} is a {weekday} on which the shop is shut")
            } else {
                format!("{day} is a {weekday}: the shop does not work then")
            }
        })
    }

    /// Working days `d` with `from < d <= to`: the age, on day `to`, of what was opened on
    /// day `from`. 0 when `to` is not after `from`.
    pub fn working_days_between(&self, from: Date, to: Date) -> u32 {
        let mut count = 0;
        let mut day = from;
        while day < to {
            // `day` is before another date, so a next day exists.
            let Ok(next) = day.tomorrow() else { break };
            day = next;
            count += u32::from(self.is_working(day));
        }
        count
    }

    /// The `days`-th working day after `day`; `day` itself for 0, worked or not. `None` when
    /// the calendar ends first (year 9999, or no day of the week is worked).
    pub fn add_working_days(&self, day: Date, days: u32) -> Option<Date> {
        let mut at = day;
        for _ in 0..days {
            at = self.next_working_day(at)?;
        }
        Some(at)
    }

    /// The first working day after `day`; `None` as in [`Calendar::add_working_days`].
    pub fn next_working_day(&self, day: Date) -> Option<Date> {
        if self.working_days.is_empty() {
            return None;
        }
        let mut next = day.tomorrow().ok()?;
        while !self.is_working(next) {
            next = next.tomorrow().ok()?;
        }
        Some(next)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    /// Days of March 2026; the 2nd is a Monday (Gregorian calendar).
    fn march(day: i8) -> Date {
        date(2026, 3, day)
    }

    #[test]
    fn ages_count_the_working_days_after_the_opening_up_to_today() {
        assert_eq!(march(2).weekday(), Weekday::Monday);
        let shop = Calendar::default();
        // 18, 19, 20, 23, 24, 25.
        assert_eq!(shop.working_days_between(march(17), march(25)), 6);
        assert_eq!(shop.working_days_between(march(18), march(25)), 5);
        // Friday to Monday.
        assert_eq!(shop.working_days_between(march(13), march(16)), 1);
        // Opened on a Saturday, looked at on the Sunday and the Monday.
        assert_eq!(shop.working_days_between(march(14), march(15)), 0);
        assert_eq!(shop.working_days_between(march(14), march(16)), 1);
        assert_eq!(shop.working_days_between(march(25), march(25)), 0);
        assert_eq!(shop.working_days_between(march(25), march(17)), 0);
    }

    #[test]
    fn a_chain_of_holidays_and_a_weekend_is_stepped_over() {
        // Thursday 2 to Monday 6 April 2026 shut.
        let shut = [2, 3, 6].map(|day| date(2026, 4, day));
        let shop = Calendar {
            holidays: shut.into(),
            ..Calendar::default()
        };
        let wednesday = date(2026, 4, 1);
        assert_eq!(shop.next_working_day(wednesday), Some(date(2026, 4, 7)));
        assert_eq!(shop.working_days_between(wednesday, date(2026, 4, 6)), 0);
        assert_eq!(shop.working_days_between(wednesday, date(2026, 4, 8)), 2);
        assert_eq!(shop.add_working_days(wednesday, 2), Some(date(2026, 4, 8)));
    }

    #[test]
    fn the_leap_day_is_a_day() {
        let shop = Calendar::default();
        // 29 February 2028 is a Tuesday.
        assert_eq!(shop.next_working_day(date(2028, 2, 28)), Some(date(2028, 2, 29)));
        assert_eq!(shop.working_days_between(date(2028, 2, 28), date(2028, 3, 1)), 2);
        assert_eq!(shop.working_days_between(date(2027, 2, 28), date(2027, 3, 1)), 1);
    }

    #[test]
    fn adding_days_and_counting_them_agree() {
        let shop = Calendar {
            holidays: [march(19)].into(),
            ..Calendar::default()
        };
        for start in 1..=15 {
            assert_eq!(shop.add_working_days(march(start), 0), Some(march(start)));
            for days in 1..=20 {
                let end = shop.add_working_days(march(start), days).unwrap();
                assert!(shop.is_working(end));
                assert_eq!(shop.working_days_between(march(start), end), days);
            }
        }
    }

    #[test]
    fn a_shop_that_works_saturdays_or_never() {
        let mut shop = Calendar::default();
        shop.working_days.insert(WorkingDay::Saturday);
        assert_eq!(shop.next_working_day(march(13)), Some(march(14)));
        assert_eq!(shop.working_days_between(march(13), march(16)), 2);
        shop.working_days.clear();
        assert_eq!(shop.next_working_day(march(13)), None);
        assert_eq!(shop.add_working_days(march(13), 3), None);
        assert_eq!(shop.working_days_between(march(2), march(31)), 0);
        assert_eq!(Calendar::default().next_working_day(Date::MAX), None);
    }

    #[test]
    fn it_is_kept_as_words_and_dates() {
        let text = r#"{"working_days":["monday","saturday"],"holidays":["2026-04-03"]}"#;
        let shop: Calendar = serde_json::from_str(text).unwrap();
        assert!(shop.is_working(march(7)) && !shop.is_working(march(3)));
        assert_eq!(serde_json::to_string(&shop).unwrap(), text);
        assert_eq!(
            serde_json::from_str::<Calendar>("{}").unwrap(),
            Calendar::default()
        );
        assert!(serde_json::from_str::<Calendar>(r#"{"weekends":[]}"#).is_err());
    }
}
