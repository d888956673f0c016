//! Which backups stay when a new one has been made and proved.
//!
//! All of the last week; then the newest of each week for a quarter; then the newest of each
//! month for two years (judgement: each file holds the whole history, so older ones only
//! guard against damage that nobody noticed for so long). The newest stays whatever its date
//! says, and so does what is dated later than now. And a clock that leapt ahead is not believed at
//! once, because by it every backup would be too old: until some were made on enough days after it, ages
//! count to the last backup before it.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

const DAY: i64 = 86_400;
/// All are kept for so many days …
const ALL_DAYS: i64 = 7;
/// … then one a week up to so many …
const WEEKLY_DAYS: i64 = 13 * 7;
/// … and then one a month up to so many.
const MONTHLY_DAYS: i64 = 731;

/// A time in which nothing happened that is longer than this is a leap: the clock was wrong, or the shop was
/// closed for long (judgement: a shop that opens one day a week has no leaps) …
pub const LEAP: SignedDuration = SignedDuration::from_hours(14 * 24);
/// … and one between two backups is believed once some were made on so many days after it: a week of nights (judgement: a
/// clock so far ahead is seen within a week).
const BELIEVED: usize = 7;

/// A stretch of time of which one backup is enough; ordered, but only to be a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Stretch {
    Moment(Timestamp),
    Week(i16, i8),
    Month(i16, i8),
}

/// The backups that may go, of those made at these times.
pub(crate) fn superfluous(made: &[Timestamp], now: Timestamp) -> Vec<Timestamp> {
    let Some(now) = believed(made, now) else {
        return Vec::new();
    };
    let newest = made.iter().max();
    let mut kept: BTreeMap<Stretch, Timestamp> = BTreeMap::new();
    for at in made {
        if let Some(stretch) = stretch(*at, now) {
            let one = kept.entry(stretch).or_insert(*at);
            *one = (*one).max(*at);
        }
    }
    made.iter()
        .filter(|at| Some(*at) != newest && !kept.values().any(|one| one == *at))
        .copied()
        .collect()
}

/// The moment to which the ages of backups count: `now`, or the last backup before a leap of the clock that
/// is not believed yet. `None` when so few were made on either side of a leap that nobody can tell.
fn believed(made: &[Timestamp], now: Timestamp) -> Option<Timestamp> {
    let mut past: Vec<Timestamp> = made.iter().copied().filter(|at| *at <= now).collect();
    past.sort_unstable();
    let (mut end, mut later, mut has_leapt) = (now, now, false);
    let mut days: BTreeSet<Date> = BTreeSet::new();
    for at in past.into_iter().rev() {
        if later.duration_since(at) > LEAP {
            if days.len() >= BELIEVED {
                return Some(end);
            }
            (end, has_leapt) = (at, true);
            days.clear();
        }
        days.insert(TimeZone::UTC.to_datetime(at).date());
        later = at;
    }
    (!has_leapt || days.len() >= BELIEVED).then_some(end)
}

/// The stretch a backup stands for; `None` when it is older than any.
fn stretch(at: Timestamp, now: Timestamp) -> Option<Stretch> {
    let date = TimeZone::UTC.to_datetime(at).date();
    let days = now.as_second().saturating_sub(at.as_second()).div_euclid(DAY);
    if days < ALL_DAYS {
        return Some(Stretch::Moment(at));
    }
    if days < WEEKLY_DAYS {
        let week = date.iso_week_date();
        return Some(Stretch::Week(week.year(), week.week()));
    }
    (days < MONTHLY_DAYS).then(|| Stretch::Month(date.year(), date.month()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    /// A backup every night for some years, pruned after each as the daemon does.
    fn after_nights(nights: i64) -> (Vec<Timestamp>, Timestamp) {
        let first = at("2024-01-01T02:00:00Z").as_second();
        let mut there: BTreeSet<Timestamp> = BTreeSet::new();
        let mut now = Timestamp::UNIX_EPOCH;
        for night in 0..nights {
            now = Timestamp::from_second(first + night * DAY).unwrap();
            there.insert(now);
            for gone in superfluous(&there.iter().copied().collect::<Vec<_>>(), now) {
                there.remove(&gone);
            }
        }
        (there.into_iter().collect(), now)
    }

    #[test]
    fn a_week_whole_a_quarter_by_weeks_two_years_by_months_and_no_more() {
        let (there, now) = after_nights(4 * 365);
        let young = |days: i64| {
            there
                .iter()
                .filter(|at| now.as_second() - at.as_second() < days * DAY)
                .count()
        };
        assert_eq!(young(ALL_DAYS), 7);
        assert!((12..=13).contains(&(young(WEEKLY_DAYS) - 7)), "{there:?}");
        assert!(
            (20..=22).contains(&(there.len() - young(WEEKLY_DAYS))),
            "{}",
            there.len()
        );
        let oldest = now.as_second() - there[0].as_second();
        assert!(
            (700 * DAY..MONTHLY_DAYS * DAY).contains(&oldest),
            "{}",
            oldest / DAY
        );
        // A month has 31 days at most: no hole is longer.
        assert!(
            there
                .windows(2)
                .all(|two| two[1].as_second() - two[0].as_second() <= 35 * DAY)
        );
    }

    #[test]
    fn the_newest_stays_however_old_and_so_does_what_is_dated_ahead() {
        let now = at("2026-03-10T02:00:00Z");
        let old = [at("2026-02-27T00:00:00Z"), at("2026-02-27T01:00:00Z")];
        assert_eq!(superfluous(&old, now), [old[0]]);
        assert_eq!(superfluous(&old[1..], now), []);
        assert_eq!(superfluous(&[], now), []);
        let ahead = [at("2031-01-01T00:00:00Z"), at("2032-01-01T00:00:00Z"), now];
        assert_eq!(superfluous(&ahead, now), []);
    }

    /// Nights with the clock three years ahead, and one more, otherwise wrong; then the clock is right again.
    #[test]
    fn a_clock_that_leapt_ahead_costs_no_backup() {
        for nights in [1, 6, 42, 800] {
            let (mut there, now) = after_nights(nights);
            let ahead = |days: i64| Timestamp::from_second(now.as_second() + days * DAY).unwrap();
            let before = there.clone();
            for wrong in [3 * 365, 3 * 365 + 1, 3 * 365 + 2, 5 * 365].map(ahead) {
                there.push(wrong);
                assert_eq!(superfluous(&there, wrong), [], "{nights} nights");
            }
            there.push(ahead(1));
            for gone in superfluous(&there, ahead(1)) {
                assert!(before.contains(&gone), "{nights} nights: {gone}");
            }
            let kept = there.len() - superfluous(&there, ahead(1)).len();
            assert!(kept + 3 > before.len() + 5, "{nights} nights: {kept} stay");
        }
    }

    /// Backups typed one after the other by a wrong clock are no week of nights.
    #[test]
    fn many_backups_of_one_night_make_no_leap_believed() {
        let (mut there, now) = after_nights(42);
        for minute in 0..20 {
            let ahead = Timestamp::from_second(now.as_second() + 3 * 365 * DAY + minute * 60).unwrap();
            there.push(ahead);
            assert_eq!(superfluous(&there, ahead), [], "minute {minute}");
        }
    }

    /// Ages count on once a week of backups was made after it.
    #[test]
    fn a_shop_that_was_closed_for_long_lets_go_again_a_week_later() {
        let (mut there, now) = after_nights(42);
        for night in 1..=7 {
            let back = Timestamp::from_second(now.as_second() + (60 + night) * DAY).unwrap();
            there.push(back);
            assert_eq!(superfluous(&there, back).is_empty(), night < 7, "night {night}");
        }
    }

    #[test]
    fn several_of_one_day_stay_for_a_week_and_then_the_last_of_its_week() {
        let day = [
            at("2026-03-03T02:00:00Z"),
            at("2026-03-03T09:00:00Z"),
            at("2026-03-03T17:00:00Z"),
        ];
        assert_eq!(superfluous(&day, at("2026-03-09T12:00:00Z")), []);
        let with_newer = [day[0], day[1], day[2], at("2026-03-11T02:00:00Z")];
        assert_eq!(superfluous(&with_newer, at("2026-03-11T02:00:00Z")), day[..2]);
    }
}
