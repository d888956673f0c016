//! Medians and percentiles, exact in hundredths.

/// The percentile of whole numbers, in hundredths: definition 7 of Hyndman and Fan, "Sample
/// Quantiles in Statistical Packages", The American Statistician 50 (1996) 361-365, which
/// lets the value run straight between the ranks around `(n - 1) p + 1`. `None` of nothing.
pub(crate) fn percentile(values: &[i64], percent: u32) -> Option<i64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable();
    let last = sorted.len().checked_sub(1)?;
    let rank = last * percent.min(100) as usize;
    let (below, rest) = (rank / 100, rank % 100);
    let low = sorted[below];
    let high = sorted[(below + 1).min(last)];
    // `rest` is below 100.
    Some(low * 100 + (high - low) * rest as i64)
}

/// The median, in hundredths.
pub(crate) fn median(values: &[i64]) -> Option<i64> {
    percentile(values, 50)
}

/// Hundredths as text with as many decimals as they need; empty for nothing.
pub(crate) fn shown(hundredths: Option<i64>) -> String {
    let Some(hundredths) = hundredths else {
        return String::new();
    };
    let sign = if hundredths < 0 { "-" } else { "" };
    let (whole, cents) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
    let text = format!("{sign}{whole}.{cents:02}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Share of a whole in per cent with one decimal, half away from zero; empty of nothing.
pub(crate) fn share(part: usize, whole: usize) -> String {
    if whole == 0 {
        return String::new();
    }
    let tenths = (2000 * part + whole) / (2 * whole);
    format!("{}.{}", tenths / 10, tenths % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of numpy 2.4.6 (numpy.percentile, method "linear"), which documents that method as
    /// definition 7 of Hyndman and Fan 1996; printed by tests/reference/shop_year/percentiles.py.
    #[test]
    fn percentiles_are_those_of_numpy() {
        let told = include_str!("../../../tests/reference/shop_year/percentiles.csv");
        let mut seen = 0;
        for line in told.lines().skip(1) {
            let (values, rest) = line.split_once(',').unwrap();
            let (percent, expected) = rest.split_once(',').unwrap();
            let values: Vec<i64> = values.split(' ').map(|value| value.parse().unwrap()).collect();
            let expected: f64 = expected.parse().unwrap();
            let ours = percentile(&values, percent.parse().unwrap()).unwrap();
            assert!((ours as f64 / 100.0 - expected).abs() < 1e-9, "{line}: {ours}");
            seen += 1;
        }
        assert!(seen > 50, "only {seen} lines");
    }

    #[test]
    fn nothing_has_no_percentile_and_one_is_itself() {
        assert_eq!(median(&[]), None);
        assert_eq!(percentile(&[7], 85), Some(700));
        assert_eq!(shown(None), "");
        assert_eq!(
            [Some(700), Some(750), Some(-5), Some(1_005)].map(shown),
            ["7", "7.5", "-0.05", "10.05"]
        );
    }

    #[test]
    fn shares_are_rounded_half_away_from_zero() {
        // 1/3 = 33.33.. %, 2/3 = 66.66.. %, 1/16 = 6.25 %.
        assert_eq!(
            [share(1, 3), share(2, 3), share(1, 16), share(0, 0)],
            ["33.3", "66.7", "6.3", ""]
        );
    }
}
