//! Tax on what a rider pays: its rate, and how an amount parts into what is the shop's and the tax.
//!
//! Which rate holds for what is for the shop to look up; nothing here knows a place. Amounts are exact in hundredths, and
//! each is rounded by itself to the nearest hundredth, or to the nearest unit of a money without decimals, a half away from
//! naught; sums are sums of rounded amounts, so that net and tax always add up to what is paid.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::money::Money;

/// A rate, and to what amounts are rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TaxRate {
    /// Hundredths of a percent.
    percent_hundredths: u32,
    /// Whether the money has no decimals.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    whole_units: bool,
}

/// The whole, in hundredths of a percent.
const WHOLE: i64 = 10_000;

impl TaxRate {
    /// Reads a percentage from 0.01 to 99.99 with two decimals at most, such as `19`, `8,1` or `7.7 %`.
    pub fn read(text: &str) -> Option<Self> {
        let bare = text.trim().trim_end_matches('%').trim_end().replace(',', ".");
        let (whole, part) = bare.split_once('.').unwrap_or((&bare, "0"));
        let digits = |text: &str| {
            !text.is_empty() && text.len() <= 2 && text.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !digits(whole) || !digits(part) {
            return None;
        }
        let hundredths: u32 = format!("{whole}{part:0<2}").parse().ok()?;
        (hundredths > 0).then_some(Self {
            percent_hundredths: hundredths,
            whole_units: false,
        })
    }

    /// The same in a money with so many decimals.
    #[must_use]
    pub const fn with_decimals(self, decimals: u8) -> Self {
        Self {
            whole_units: decimals == 0,
            ..self
        }
    }

    /// What is the shop's of an amount that holds the tax, `amount / (1 + rate)`.
    pub fn net_in(self, amount: Money) -> Money {
        self.share(amount, WHOLE, WHOLE + i64::from(self.percent_hundredths))
    }

    /// The tax in an amount that holds it: what [`TaxRate::net_in`] leaves of it.
    pub fn tax_in(self, amount: Money) -> Money {
        amount - self.net_in(amount)
    }

    /// An amount without the tax and the tax on it, `net · (1 + rate)`. What [`TaxRate::net_in`] finds in it is the very
    /// amount: half a hundredth of rounding, divided by more than one, is less than half a hundredth.
    pub fn on(self, net: Money) -> Money {
        self.share(net, WHOLE + i64::from(self.percent_hundredths), WHOLE)
    }

    /// `amount · of / to`, to the nearest, a half away from naught.
    fn share(self, amount: Money, of: i64, to: i64) -> Money {
        let step = if self.whole_units { 100 } else { 1 };
        let product = i128::from(amount.0) * i128::from(of);
        let to = i128::from(to) * step;
        // Twice the half, so that an odd divisor has one.
        let nearest = (2 * product + to * product.signum()) / (2 * to) * step;
        Money(i64::try_from(nearest).expect("amounts are held to a range far below that of 64 bits"))
    }
}

impl fmt::Display for TaxRate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, part) = (self.percent_hundredths / 100, self.percent_hundredths % 100);
        match part {
            0 => write!(f, "{whole}"),
            tenths if tenths % 10 == 0 => write!(f, "{whole}.{}", tenths / 10),
            part => write!(f, "{whole}.{part:02}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn rate(text: &str) -> TaxRate {
        TaxRate::read(text).unwrap()
    }

    #[test]
    fn a_rate_is_a_percentage_with_two_decimals_at_most() {
        for (typed, shown) in [
            ("19", "19"),
            (" 8,1 %", "8.1"),
            ("7.70%", "7.7"),
            ("0.01", "0.01"),
            ("99.99", "99.99"),
            ("5.05", "5.05"),
        ] {
            assert_eq!(rate(typed).to_string(), shown);
            assert_eq!(rate(shown), rate(typed));
        }
        for no in [
            "", "0", "0.00", "100", "-5", "19.123", "nineteen", "1.9.1", ".5", "5.", "1 9",
        ] {
            assert_eq!(TaxRate::read(no), None, "{no}");
        }
    }

    /// By hand: 119.00 holds 19.00 of 19 %; 100.00 / 1.19 = 84.0336..; 22.00 · 1.19 = 26.18; 0.50 · 1.05 = 0.525, a half, and
    /// 0.21 / 1.05 = 0.20; 10.00 / 1.081 = 9.2506..
    #[test]
    fn an_amount_parts_to_the_nearest_hundredth() {
        for (percent, paid, net) in [
            ("19", 11_900, 10_000),
            ("19", 10_000, 8_403),
            ("19", 0, 0),
            ("5", 21, 20),
            ("8.1", 1_000, 925),
        ] {
            assert_eq!(rate(percent).net_in(Money(paid)), Money(net));
            assert_eq!(rate(percent).net_in(Money(-paid)), Money(-net));
            assert_eq!(rate(percent).tax_in(Money(paid)), Money(paid - net));
        }
        assert_eq!(rate("19").on(Money(2_200)), Money(2_618));
        assert_eq!(rate("5").on(Money(50)), Money(53));
        assert_eq!(rate("5").on(Money(-50)), Money(-53));
        // 1000 / 1.1 = 909.09.. of a money without decimals.
        let whole = rate("10").with_decimals(0);
        assert_eq!(whole.net_in(Money(100_000)), Money(90_900));
        assert_eq!(whole.on(Money(90_900)), Money(100_000));
        assert_eq!(rate("10").with_decimals(2), rate("10"));
    }

    proptest! {
        /// What was typed without the tax is found again, and what is parted is within half a hundredth.
        #[test]
        fn tax_put_on_is_taken_out_again(net in -100_000_000_000_i64..100_000_000_000, hundredths in 1_u32..10_000) {
            let rate = TaxRate { percent_hundredths: hundredths, whole_units: false };
            prop_assert_eq!(rate.net_in(rate.on(Money(net))), Money(net));
            let (whole, units) = (rate.with_decimals(0), Money(net / 100 * 100));
            prop_assert_eq!(whole.net_in(whole.on(units)), units);
            prop_assert_eq!(whole.net_in(Money(net)).0 % 100, 0);
            let found = i128::from(rate.net_in(Money(net)).0);
            let off = found * (10_000 + i128::from(hundredths)) - i128::from(net) * 10_000;
            prop_assert!(2 * off.abs() <= 10_000 + i128::from(hundredths));
        }
    }
}
