//! What can be an amount of money at all, for who types it where no daemon is reached. Reading it is the
//! daemon's.

/// Signs of a currency that may stand before or behind an amount.
pub const SIGNS: [&str; 4] = ["$", "€", "£", "¥"];

/// Words of a currency that may (ISO 4217:2015): those that the daemon reads; a test of it holds both together.
pub const WORDS: [&str; 21] = [
    "EUR", "USD", "GBP", "CHF", "CAD", "AUD", "NZD", "SEK", "NOK", "DKK", "PLN", "CZK", "HUF", "RON", "JPY",
    "CNY", "SGD", "KRW", "INR", "ILS", "BRL",
];

/// Whether a text may be an amount: some digits and the marks that part them, with a currency or not.
pub fn may_be(text: &str) -> bool {
    let bare = [&SIGNS[..], &WORDS[..]]
        .concat()
        .into_iter()
        .fold(text.to_uppercase(), |text, word| text.replace(word, ""));
    let is_mark =
        |letter: char| letter.is_whitespace() || "-\u{2212}.,'\u{2019}\u{a0}\u{202f}".contains(letter);
    bare.contains(|letter: char| letter.is_ascii_digit())
        && bare
            .chars()
            .all(|letter| letter.is_ascii_digit() || is_mark(letter))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_told_from_other_words() {
        for text in [
            "1450",
            "98,50",
            "1 250.00",
            "-12.30",
            "$2,500",
            "€98",
            "98.50 EUR",
            "1'250",
        ] {
            assert!(may_be(text), "{text}");
        }
        for text in ["", "ten", "12x", "12 kg", "deposit", "$", "1e3"] {
            assert!(!may_be(text), "{text}");
        }
    }
}
