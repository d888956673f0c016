//! Figures as they are printed: with their unit, and no more digits than their doubt carries.

use lockring_proto::v1::Figure;

/// Digits of a figure of which no doubt is told.
const DIGITS: i32 = 3;
/// Decimals at most.
const MOST: i32 = 4;

/// A figure with its unit.
pub(super) fn figure(one: &Figure) -> String {
    with_unit(number(one.value, one.uncertainty, one.margin), &one.unit)
}

/// The check whose figure is money.
const BALANCE: &str = "handover.balance";

/// A figure of a check with its unit; money to its last place, in the currency where the shop said which.
pub(super) fn figure_of(check: &str, one: &Figure, currency: &str) -> String {
    if check == BALANCE {
        return amount(one.value, currency);
    }
    figure(one)
}

/// What a figure is; some names are the beginning of a sentence and end in its comma.
pub(super) fn name(one: &Figure) -> String {
    one.name.trim_end_matches(',').to_owned()
}

/// A figure's doubt, to two digits.
pub(super) fn doubt(one: &Figure) -> Option<String> {
    let doubt = one.uncertainty.filter(|doubt| *doubt > 0.0)?;
    Some(with_unit(trimmed(doubt, decimals(doubt, 2)), &one.unit))
}

/// A number with a unit, in about three digits.
pub(super) fn about(value: f64, unit: &str) -> String {
    with_unit(number(value, None, None), unit)
}

fn with_unit(number: String, unit: &str) -> String {
    match unit {
        "" => number,
        unit => format!("{number} {unit}"),
    }
}

/// A number: down to the place of its doubt's first digit, or in about three digits where no doubt is told; finer
/// where it would else look to be on its limit, `margin` away.
pub(super) fn number(value: f64, doubt: Option<f64>, margin: Option<f64>) -> String {
    let told = doubt.filter(|doubt| *doubt > 0.0);
    let mut places = told.map_or_else(|| decimals(value, DIGITS), |doubt| decimals(doubt, 1));
    let hidden =
        |places: i32| margin.is_some_and(|margin| margin != 0.0 && margin.abs() < 0.5 * 10f64.powi(-places));
    while places < MOST && hidden(places) {
        places += 1;
    }
    match told {
        // What the doubt carries is told, noughts too.
        Some(_) => {
            let text = format!("{value:.*}", usize::try_from(places).unwrap_or_default());
            // Nothing is no less than nothing.
            match text.strip_prefix('-') {
                Some(nought) if !nought.contains(|digit: char| ('1'..='9').contains(&digit)) => {
                    nought.to_owned()
                }
                _ => text,
            }
        }
        None => trimmed(value, places),
    }
}

/// Decimals that give a number so many digits.
fn decimals(value: f64, digits: i32) -> i32 {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    (digits - 1 - value.abs().log10().floor() as i32).clamp(0, MOST)
}

fn trimmed(value: f64, places: i32) -> String {
    let text = format!("{value:.*}", usize::try_from(places).unwrap_or_default());
    let text = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    match text {
        "-0" => "0".to_owned(),
        text => text.to_owned(),
    }
}

/// Money in whole units, with the currency where the shop said which.
pub(super) fn amount(value: f64, currency: &str) -> String {
    // Amounts lie far below 2^53 minor units: exact.
    money((100.0 * value).round() as i64, currency)
}

/// Money in minor units; with the currency where the shop said which.
pub(super) fn money(minor: i64, currency: &str) -> String {
    let sign = if minor < 0 { "-" } else { "" };
    let (code, whole) = match currency.strip_suffix(" 0") {
        Some(code) => (code, true),
        None => (currency, false),
    };
    let amount = match whole {
        true => format!("{sign}{}", minor.unsigned_abs() / 100),
        false => format!(
            "{sign}{}.{:02}",
            minor.unsigned_abs() / 100,
            minor.unsigned_abs() % 100
        ),
    };
    match code {
        "" => amount,
        code => format!("{code}\u{a0}{amount}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_digit_is_printed_that_the_doubt_does_not_carry() {
        // JCGM 100:2008, 7.2.6: an estimate is rounded to where its uncertainty ends.
        assert_eq!(number(25.3612, Some(0.5), None), "25.4");
        assert_eq!(number(25.01, Some(0.15), Some(-0.01)), "25.01");
        assert_eq!(number(5.94, Some(0.31), Some(-0.44)), "5.9");
        assert_eq!(number(190.02, Some(1.0), None), "190");
        assert_eq!(number(25.0, Some(0.1), None), "25.0");
        assert_eq!(number(-0.03, Some(0.1), None), "0.0");
        assert_eq!(number(-0.06, Some(0.1), None), "-0.1");
        // Without a doubt about three digits, the whole part whole.
        assert_eq!(number(42.0234, None, None), "42");
        assert_eq!(number(13.4567, None, None), "13.5");
        assert_eq!(number(0.248_43, None, None), "0.248");
        assert_eq!(number(2111.3, None, None), "2111");
        assert_eq!(number(-0.0, None, None), "0");
    }

    #[test]
    fn a_figure_beside_its_limit_does_not_look_to_be_on_it() {
        assert_eq!(number(5.54, Some(0.3), Some(-0.04)), "5.54");
        assert_eq!(number(5.5004, Some(0.3), Some(-0.0004)), "5.5004");
        assert_eq!(number(5.5, Some(0.3), Some(0.0)), "5.5");
    }

    #[test]
    fn money_says_whose_it_is() {
        assert_eq!(money(132_205, "EUR"), "EUR\u{a0}1322.05");
        assert_eq!(money(-132_200, "JPY 0"), "JPY\u{a0}-1322");
        assert_eq!(money(5, ""), "0.05");
        let owed = Figure {
            value: 570.5,
            ..Figure::default()
        };
        assert_eq!(figure_of(BALANCE, &owed, "EUR"), "EUR\u{a0}570.50");
        assert_eq!(figure_of("ride.stopping", &owed, "EUR"), "570");
    }
}
