//! Days as people type them: `2026-11-27`, `27.11.2026`, `today`, `tomorrow`, `friday`.

use jiff::civil::{Date, Weekday};

/// The days of the week, with the words that stand for each.
const WEEKDAYS: [(&str, Weekday); 7] = [
    ("monday", Weekday::Monday),
    ("tuesday", Weekday::Tuesday),
    ("wednesday", Weekday::Wednesday),
    ("thursday", Weekday::Thursday),
    ("friday", Weekday::Friday),
    ("saturday", Weekday::Saturday),
    ("sunday", Weekday::Sunday),
];

/// Reads a day. A day of the week is the next of its name after `today`; without a `today` only days
/// that are written out are read.
///
/// # Errors
/// What is wrong, and what is expected.
pub fn read(text: &str, today: Option<Date>) -> Result<Date, String> {
    let text = text.trim();
    if let Ok(day) = text.parse::<Date>() {
        return Ok(day);
    }
    if let Some(today) = today
        && let Some(day) = said(&text.to_lowercase(), today)
    {
        return Ok(day);
    }
    if let Some([day, month, year]) = parts(text, '.')
        && let Some(day) = date(day, month, year)
    {
        return Ok(day);
    }
    let by_words = if today.is_some() {
        ", `tomorrow` or `friday`"
    } else {
        ""
    };
    let expected = format!("expected year-month-day such as `2026-03-24`, or day.month.year{by_words}");
    Err(match slashed(text).as_slice() {
        [] if has_no_year(text) => format!("`{text}` has no year; {expected}"),
        [] => format!("`{text}` is no day; {expected}"),
        [one] => format!("`{text}` is no day here: write `{one}`"),
        both => {
            let both: Vec<String> = both.iter().map(|day| format!("`{day}`")).collect();
            format!(
                "`{text}` may be {}: write the one that is meant",
                both.join(" or ")
            )
        }
    })
}

/// A day by its name, of three letters at least.
fn said(word: &str, today: Date) -> Option<Date> {
    match word {
        "today" => return Some(today),
        "tomorrow" => return today.tomorrow().ok(),
        _ => {}
    }
    let (_, weekday) = WEEKDAYS
        .into_iter()
        .find(|(name, _)| word.len() >= 3 && name.starts_with(word))?;
    today.nth_weekday(1, weekday).ok()
}

/// Day, month and year, or month, day and year, between slashes: each reading there is.
fn slashed(text: &str) -> Vec<Date> {
    let Some([first, second, year]) = parts(text, '/') else {
        return Vec::new();
    };
    let mut days: Vec<Date> = [date(first, second, year), date(second, first, year)]
        .into_iter()
        .flatten()
        .collect();
    days.dedup();
    days
}

fn has_no_year(text: &str) -> bool {
    let numbers: Vec<&str> = text.trim_end_matches('.').split(['.', '/']).collect();
    numbers.len() == 2 && numbers.iter().all(|part| number(part).is_some())
}

/// Three numbers with a mark between, the last of four digits.
fn parts(text: &str, mark: char) -> Option<[i16; 3]> {
    let parts: Vec<&str> = text.split(mark).map(str::trim).collect();
    let [first, second, year] = parts.as_slice() else {
        return None;
    };
    (year.len() == 4).then_some([number(first)?, number(second)?, number(year)?])
}

fn number(part: &str) -> Option<i16> {
    let is_digits = (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
    is_digits.then(|| part.parse().ok()).flatten()
}

fn date(day: i16, month: i16, year: i16) -> Option<Date> {
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    /// 26 November 2026 is a Thursday (Gregorian calendar).
    const THURSDAY: Date = date(2026, 11, 26);

    #[test]
    fn days_are_read_as_they_are_said_and_written() {
        for (text, day) in [
            ("2026-11-27", date(2026, 11, 27)),
            (" 27.11.2026 ", date(2026, 11, 27)),
            ("3.12.2026", date(2026, 12, 3)),
            ("today", THURSDAY),
            ("Tomorrow", date(2026, 11, 27)),
            ("friday", date(2026, 11, 27)),
            ("fri", date(2026, 11, 27)),
            ("WED", date(2026, 12, 2)),
            // The next one, not the day itself.
            ("thursday", date(2026, 12, 3)),
        ] {
            assert_eq!(read(text, Some(THURSDAY)), Ok(day), "{text}");
        }
        assert_eq!(read("27.11.2026", None), Ok(date(2026, 11, 27)));
    }

    #[test]
    fn what_may_be_two_days_is_refused_with_both_and_what_is_none_with_what_is_expected() {
        let refused = |text: &str| read(text, Some(THURSDAY)).unwrap_err();
        assert_eq!(
            refused("3/12/2026"),
            "`3/12/2026` may be `2026-12-03` or `2026-03-12`: write the one that is meant"
        );
        assert_eq!(
            refused("27/11/2026"),
            "`27/11/2026` is no day here: write `2026-11-27`"
        );
        assert_eq!(
            refused("3/3/2026"),
            "`3/3/2026` is no day here: write `2026-03-03`"
        );
        assert!(
            refused("3.12.").starts_with("`3.12.` has no year"),
            "{}",
            refused("3.12.")
        );
        for text in [
            "",
            "f",
            "fr",
            "31.2.2026",
            "soon",
            "27.11.26",
            "1/2/3",
            "2026-13-01",
            "fridays",
            "．",
        ] {
            assert!(
                refused(text).contains("is no day; expected"),
                "{text}: {}",
                refused(text)
            );
        }
        assert!(read("friday", None).unwrap_err().contains("is no day"));
    }
}
