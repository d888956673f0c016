//! Money: exact sums in hundredths of the currency's unit.
//!
//! An amount does not know its currency: a shop has one, named in its settings and printed with
//! totals. Hundredths hold every currency of ISO 4217:2015 whose minor unit has two decimals or
//! none.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Neg, Sub};

use serde::{Deserialize, Serialize};

/// An amount of money in hundredths of the currency's unit.
///
/// Range: ±92 233 720 368 547 758.07. Sums beyond it panic rather than wrap; amounts that people
/// type are held to [`MOST`], so that no shop comes near.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(pub i64);

/// The largest amount taken from a keyboard or a file: a thousand million units (judgement: a
/// bicycle in the smallest unit in use costs less).
pub const MOST: Money = Money(100_000_000_000);

/// Hundredths in a unit.
const HUNDREDTHS: i64 = 100;

/// Why a text is no amount.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MoneyError {
    /// Not an amount at all.
    #[error("`{given}` is no amount of money; expected one such as 1450, 98.50, 98,50 or 1 250.00")]
    Unreadable {
        /// The text.
        given: String,
    },
    /// A comma or point before three digits may part thousands or decimals.
    #[error(
        "`{given}` may be {whole} or {part}; write it without the mark, or with two decimals: {whole}.00"
    )]
    Ambiguous {
        /// The text.
        given: String,
        /// As thousands.
        whole: String,
        /// As decimals.
        part: String,
    },
    /// A third decimal behind a whole part that begins with a naught, which no thousands do.
    #[error("`{given}` has three decimals; expected two at most, such as 0.50")]
    ThreeDecimals {
        /// The text.
        given: String,
    },
    /// It bears another currency than the shop's.
    #[error("`{given}` is in {named}, and the shop counts in {home}; expected what it comes to in {home}")]
    Foreign {
        /// The text.
        given: String,
        /// The word or sign it bears.
        named: &'static str,
        /// The shop's currency.
        home: String,
    },
    /// Larger than any bicycle.
    #[error("`{given}` is more than {MOST}; is a decimal mark missing?")]
    TooMuch {
        /// The text.
        given: String,
    },
}

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// Reads an amount: digits, one or two decimals after a comma or point, thousands parted by
    /// spaces, apostrophes or the mark that does not part the decimals, a minus before it, the sign or
    /// word of a currency before or behind it. Behind a dollar or pound sign a comma parts thousands.
    ///
    /// # Errors
    /// [`MoneyError`] when it is none, may be two, or is over [`MOST`].
    pub fn read(text: &str) -> Result<Self, MoneyError> {
        let given = || text.trim().to_owned();
        let unreadable = || MoneyError::Unreadable { given: given() };
        let trimmed = text.trim();
        let (sign, body) = match trimmed.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (-1, rest.trim_start()),
            None => (1, trimmed),
        };
        let (body, comma_parts) = without_currency(body);
        let (whole, cents) = split(body).ok_or_else(unreadable)?;
        if let Some((mark, before)) = lone_thousands(body).filter(|(mark, _)| !(comma_parts && *mark == ','))
        {
            if before.starts_with('0') {
                return Err(MoneyError::ThreeDecimals { given: given() });
            }
            return Err(MoneyError::Ambiguous {
                given: given(),
                whole: body.replace(mark, ""),
                part: format!("{before}.{}", &body[before.len() + 1..]),
            });
        }
        let digits = whole_digits(whole).ok_or_else(unreadable)?;
        let cents: i64 = format!("{cents:0<2}").parse().map_err(|_| unreadable())?;
        let too_much = || MoneyError::TooMuch { given: given() };
        let whole: i64 = digits.parse().map_err(|_| too_much())?;
        let amount = whole
            .checked_mul(HUNDREDTHS)
            .and_then(|whole| whole.checked_add(cents))
            .filter(|amount| *amount <= MOST.0)
            .ok_or_else(too_much)?;
        Ok(Self(sign * amount))
    }

    /// Reads an amount that a shop books: as [`Money::read`], and in the shop's own currency if it bears one. `home` is
    /// the word of that currency (ISO 4217:2015); empty where the shop names none.
    ///
    /// # Errors
    /// As for [`Money::read`]; [`MoneyError::Foreign`] for an amount of another currency: nobody knows what it comes to.
    pub fn read_in(text: &str, home: &str) -> Result<Self, MoneyError> {
        let amount = Self::read(text)?;
        match foreign(text, home) {
            Some(named) => Err(MoneyError::Foreign {
                given: text.trim().to_owned(),
                named,
                home: home.to_owned(),
            }),
            None => Ok(amount),
        }
    }

    /// So many times the amount.
    ///
    /// # Panics
    /// Beyond the range of [`Money`].
    #[must_use]
    pub fn times(self, count: u32) -> Self {
        Self(
            self.0
                .checked_mul(count.into())
                .expect("amounts stay far below the range"),
        )
    }

    /// Share of the amount, `numerator` over `denominator`, rounded half away from zero (so
    /// that a charge and its refund cancel).
    ///
    /// # Panics
    /// When `denominator` is not positive, or beyond the range of [`Money`].
    #[must_use]
    pub fn share(self, numerator: i64, denominator: i64) -> Self {
        assert!(denominator > 0, "a share is of something");
        let product = i128::from(self.0) * i128::from(numerator);
        let half = i128::from(denominator) / 2 * product.signum();
        let rounded = (product + half) / i128::from(denominator);
        Self(i64::try_from(rounded).expect("amounts stay far below the range"))
    }

    /// Whether it is less than nothing.
    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }
}

/// The currency an amount bears where it is not the shop's. A sign that several places use is foreign only where the
/// shop's currency is known to be none of them.
fn foreign(text: &str, home: &str) -> Option<&'static str> {
    let home = home.to_uppercase();
    if home.is_empty() {
        return None;
    }
    let bare = text.trim().trim_start_matches(['-', '\u{2212}']).trim_start();
    let upper = bare.to_uppercase();
    let word = WORDS
        .into_iter()
        .find(|word| upper.starts_with(word) || upper.ends_with(word));
    if let Some(word) = word {
        return (word != home).then_some(word);
    }
    let (sign, _) = SIGNS
        .into_iter()
        .find(|(sign, _)| bare.starts_with(sign) || bare.ends_with(sign))?;
    let at_home: &[&str] = match sign {
        "$" => &["USD", "CAD", "AUD", "NZD", "SGD"],
        "£" => &["GBP"],
        "€" => &["EUR"],
        _ => &["JPY", "CNY"],
    };
    // Only the euro sign is one currency's.
    ((sign == "€" || WORDS.contains(&home.as_str())) && !at_home.contains(&home.as_str())).then_some(sign)
}

/// Signs of a currency, and whether a comma behind them parts thousands: so it is written where they
/// stand before the amount. `lockring-proto` tells amounts from other words by the same, and may not depend on this.
pub const SIGNS: [(&str, bool); 4] = [("$", true), ("£", true), ("€", false), ("¥", false)];

/// Words of a currency (ISO 4217:2015): those of places for whose rides there is a class, the members of the European
/// Union that keep their own among them. `lockring-proto` has the same.
pub const WORDS: [&str; 21] = [
    "EUR", "USD", "GBP", "CHF", "CAD", "AUD", "NZD", "SEK", "NOK", "DKK", "PLN", "CZK", "HUF", "RON", "JPY",
    "CNY", "SGD", "KRW", "INR", "ILS", "BRL",
];

/// The amount without its currency, and whether a comma in it can only part thousands.
fn without_currency(body: &str) -> (&str, bool) {
    for (sign, comma_parts) in SIGNS {
        if let Some(rest) = body.strip_prefix(sign) {
            return (rest.trim_start(), comma_parts);
        }
        if let Some(rest) = body.strip_suffix(sign) {
            return (rest.trim_end(), false);
        }
    }
    for word in WORDS {
        let begins = body
            .get(..word.len())
            .is_some_and(|begin| begin.eq_ignore_ascii_case(word));
        if begins {
            return (body[word.len()..].trim_start(), false);
        }
        let at = body.len().saturating_sub(word.len());
        if body.get(at..).is_some_and(|end| end.eq_ignore_ascii_case(word)) {
            return (body[..at].trim_end(), false);
        }
    }
    (body, false)
}

/// The part before the decimal mark and the decimals; `None` when the marks are astray.
fn split(body: &str) -> Option<(&str, &str)> {
    let Some(at) = body.rfind([',', '.']) else {
        return Some((body, ""));
    };
    let (whole, decimals) = (&body[..at], &body[at + 1..]);
    let mark = &body[at..=at];
    if decimals.len() == 3 {
        // Thousands: `1,250` was refused before, `1,250,000` has the mark twice.
        return Some((body, ""));
    }
    let is_decimals = (1..=2).contains(&decimals.len()) && decimals.bytes().all(|byte| byte.is_ascii_digit());
    (is_decimals && !whole.contains(mark)).then_some((whole, decimals))
}

/// The mark and the digits before it, when a single comma or point has three digits after it
/// and nothing else says which it is.
fn lone_thousands(body: &str) -> Option<(char, &str)> {
    let mut marks = body.match_indices([',', '.']);
    let (at, mark) = marks.next()?;
    let after = &body[at + 1..];
    let is_lone = marks.next().is_none()
        && after.len() == 3
        && after.bytes().all(|byte| byte.is_ascii_digit())
        && body[..at].bytes().all(|byte| byte.is_ascii_digit())
        && (1..=3).contains(&at);
    is_lone.then(|| (mark.chars().next().unwrap_or('.'), &body[..at]))
}

/// The digits of a whole part whose thousands may be parted, all by one mark.
fn whole_digits(whole: &str) -> Option<String> {
    const PARTS: [char; 7] = [' ', '\u{a0}', '\u{202f}', '\'', '\u{2019}', ',', '.'];
    let mark = whole.chars().find(|sign| PARTS.contains(sign));
    let groups: Vec<&str> = match mark {
        None => vec![whole],
        Some(mark) => whole.split(mark).collect(),
    };
    let is_digits = |group: &&str| !group.is_empty() && group.bytes().all(|byte| byte.is_ascii_digit());
    let (first, rest) = groups.split_first()?;
    let is_well_parted = rest.is_empty() || (first.len() <= 3 && rest.iter().all(|group| group.len() == 3));
    (groups.iter().all(is_digits) && is_well_parted).then(|| groups.concat())
}

impl fmt::Display for Money {
    /// The unit with two decimals, such as `1250.00`: as every field of the tool reads it again.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, cents) = (
            self.0.unsigned_abs() / HUNDREDTHS.unsigned_abs(),
            self.0.unsigned_abs() % HUNDREDTHS.unsigned_abs(),
        );
        f.pad(&format!("{sign}{whole}.{cents:02}"))
    }
}

impl Add for Money {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(
            self.0
                .checked_add(other.0)
                .expect("amounts stay far below the range"),
        )
    }
}

impl Sub for Money {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self(
            self.0
                .checked_sub(other.0)
                .expect("amounts stay far below the range"),
        )
    }
}

impl Neg for Money {
    type Output = Self;

    fn neg(self) -> Self {
        Self::ZERO - self
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn an_amount_is_read_as_people_write_it() {
        for (text, hundredths) in [
            ("1450", 145_000),
            ("98,50", 9_850),
            ("98.5", 9_850),
            ("0.07", 7),
            ("1 250.00", 125_000),
            ("1'250", 125_000),
            ("1,250.00", 125_000),
            ("1.250,00", 125_000),
            ("1.250.000", 125_000_000),
            ("-12.30", -1_230),
            (" 12 ", 1_200),
            ("$2,500", 250_000),
            ("£ 1,250.50", 125_050),
            ("-$12", -1_200),
            ("€98,50", 9_850),
            ("98.50 €", 9_850),
            ("eur 1450", 145_000),
            ("1 450 CHF", 145_000),
        ] {
            assert_eq!(Money::read(text), Ok(Money(hundredths)), "{text}");
        }
    }

    #[test]
    fn what_may_be_two_amounts_is_refused_with_both() {
        let error = Money::read("1,250").unwrap_err().to_string();
        assert_eq!(
            error,
            "`1,250` may be 1250 or 1.250; write it without the mark, or with two decimals: 1250.00"
        );
        assert!(matches!(Money::read("12.345"), Err(MoneyError::Ambiguous { .. })));
        // A euro sign stands before amounts with either mark.
        for text in ["€2,500", "2.500 €", "$2.500", "2,500 USD"] {
            assert!(
                matches!(Money::read(text), Err(MoneyError::Ambiguous { .. })),
                "{text}"
            );
        }
        let error = Money::read("0.500").unwrap_err().to_string();
        assert_eq!(
            error,
            "`0.500` has three decimals; expected two at most, such as 0.50"
        );
    }

    #[test]
    fn what_is_no_amount_is_refused() {
        for text in [
            "",
            "-",
            "ten",
            "1.2.3",
            "12.3456",
            "1,25,000.00",
            "1 25",
            "1..2",
            "5-",
            "1e3",
            ".5",
            "5.",
            "$",
            "$ten",
            "5 XYZ",
            "$5 EUR",
            "1, 250",
            "²",
            "1 250'000",
        ] {
            assert!(
                matches!(Money::read(text), Err(MoneyError::Unreadable { .. })),
                "{text}: {:?}",
                Money::read(text)
            );
        }
        for text in ["1000000000.01", "99999999999999999999"] {
            assert!(
                matches!(Money::read(text), Err(MoneyError::TooMuch { .. })),
                "{text}"
            );
        }
        assert_eq!(Money::read("1000000000"), Ok(MOST));
    }

    /// Which signs are whose: the currencies of the places that have a class (ISO 4217:2015).
    #[test]
    fn an_amount_of_another_currency_is_refused_by_both_their_names() {
        for (text, home) in [
            ("98.50", "EUR"),
            ("98.50 eur", "EUR"),
            ("€98", "EUR"),
            ("$2,500", "CAD"),
            ("520 USD", ""),
            ("$12", "MXN"),
            ("-12.30 CHF", "CHF"),
            ("¥1200", "JPY"),
        ] {
            assert_eq!(Money::read_in(text, home), Money::read(text), "{text} {home}");
        }
        for (text, home, named) in [
            ("520 USD", "EUR", "USD"),
            ("30 CHF", "EUR", "CHF"),
            ("usd 28", "EUR", "USD"),
            ("$28", "EUR", "$"),
            ("-$28", "GBP", "$"),
            ("28 €", "CHF", "€"),
            ("5 EUR", "MXN", "EUR"),
        ] {
            let error = Money::read_in(text, home).unwrap_err();
            let said = error.to_string();
            let wanted = format!("`{text}` is in {named}, and the shop counts in {home};");
            assert!(said.starts_with(&wanted), "{said}");
        }
        let error = Money::read_in("ten USD", "EUR").unwrap_err();
        assert!(matches!(error, MoneyError::Unreadable { .. }));
    }

    /// Half away from zero, as ISO 80000-1:2009, B.3 rule B names it (from memory).
    #[test]
    fn a_share_is_rounded_half_away_from_zero() {
        assert_eq!(Money(25).share(1, 10), Money(3));
        assert_eq!(Money(-25).share(1, 10), Money(-3));
        assert_eq!(Money(24).share(1, 10), Money(2));
        assert_eq!(Money(6_000).share(95, 60), Money(9_500));
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(hundredths in -MOST.0..=MOST.0) {
            let money = Money(hundredths);
            prop_assert_eq!(Money::read(&money.to_string()), Ok(money));
        }

        #[test]
        fn no_text_makes_it_panic(text in "[-0-9., '€a]{0,14}") {
            if let Ok(money) = Money::read(&text) {
                prop_assert!(money.0.abs() <= MOST.0);
            }
        }
    }

    /// Currencies of the places (ISO 4217:2015).
    #[test]
    fn an_amount_bears_the_currency_of_every_place_with_a_class() {
        for class in crate::ride_class::all() {
            let place = class.id.split('-').next().unwrap_or_default();
            let word = match place {
                "us" => "USD",
                "ca" => "CAD",
                "eu" | "ie" => "EUR",
                "gb" => "GBP",
                "ch" => "CHF",
                "no" => "NOK",
                "au" => "AUD",
                "nz" => "NZD",
                "jp" => "JPY",
                "cn" => "CNY",
                "sg" => "SGD",
                "kr" => "KRW",
                "in" => "INR",
                "il" => "ILS",
                "br" => "BRL",
                "generic" => continue,
                other => panic!("the currency of {other} is not known here"),
            };
            assert_eq!(Money::read(&format!("5000 {word}")), Ok(Money(500_000)), "{word}");
        }
    }

    #[test]
    fn nothing_has_no_sign_and_the_least_amounts_keep_theirs() {
        for (hundredths, shown) in [
            (0, "0.00"),
            (1, "0.01"),
            (-1, "-0.01"),
            (99, "0.99"),
            (100, "1.00"),
            (-100, "-1.00"),
            (-12_345, "-123.45"),
        ] {
            assert_eq!(Money(hundredths).to_string(), shown);
        }
    }
}
