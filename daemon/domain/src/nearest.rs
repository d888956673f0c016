//! Near-miss words: what somebody probably meant.

/// The candidates nearest to `word`, best first, at most three; none when nothing is near.
///
/// Distance counts insertions, deletions, substitutions and swaps of neighbours (optimal
/// string alignment). A candidate that begins with the word counts as one step away. Near
/// means at most a third of the longer word's letters, at least one and at most three.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let mut near: Vec<(usize, &str)> = candidates
        .into_iter()
        .filter_map(|candidate| {
            let steps = if word.len() >= 2 && candidate.starts_with(word) {
                1
            } else {
                distance(word, candidate)
            };
            let reach = (word.chars().count().max(candidate.chars().count()) / 3).clamp(1, 3);
            (steps <= reach).then_some((steps, candidate))
        })
        .collect();
    near.sort();
    near.dedup();
    near.into_iter().take(3).map(|(_, candidate)| candidate).collect()
}

fn distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            row[j] = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before_last[j - 2] + 1);
            }
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swap_a_slip_and_a_beginning_are_near() {
        let words = [
            "chainline-front",
            "chainline-rear",
            "circumference",
            "charge-volts",
        ];
        assert_eq!(nearest("chainlien-front", words), ["chainline-front"]);
        assert_eq!(nearest("circumferance", words), ["circumference"]);
        assert_eq!(nearest("chainline", words), ["chainline-front", "chainline-rear"]);
    }

    #[test]
    fn nothing_is_near_to_a_foreign_word() {
        assert!(nearest("zzz", ["motor", "pack"]).is_empty());
    }
}
