//! How wide a table's columns are: the one rule for every table on paper.

/// What a column asks for, gaps included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Asked {
    /// Its longest word.
    pub(super) least: f32,
    /// Its longest cell in one line.
    pub(super) most: f32,
    /// Whether more room than that does it good: words, not numbers.
    pub(super) grows: bool,
}

/// Most of a table's width that one cell asks for: a cell that is longer has lines enough.
const MOST: f32 = 0.6;
/// Most of a table's width that one word is kept whole for (judgement): a longer one is broken before the columns
/// beside it have their dates and numbers cut.
const WORD: f32 = 0.4;

/// Shares out a width. Where every cell stands in one line the columns of words take what is left over;
/// else each column has its longest word, and what is left goes to who asks for more, by how much more; where
/// not even the words fit, the widest columns are narrowed and the others keep their words.
pub(super) fn widths(asked: &[Asked], wide: f32) -> Vec<f32> {
    let asked: Vec<Asked> = asked
        .iter()
        .map(|one| Asked {
            least: one.least.min(WORD * wide),
            ..*one
        })
        .collect();
    let most = |one: &Asked| one.most.min(MOST * wide).max(one.least);
    let (least, all): (f32, f32) = (
        asked.iter().map(|one| one.least).sum(),
        asked.iter().map(most).sum(),
    );
    if least > wide {
        let even = level(&asked, wide);
        return asked.iter().map(|one| one.least.min(even)).collect();
    }
    if all > wide {
        let share = (wide - least) / (all - least);
        return asked
            .iter()
            .map(|one| (most(one) - one.least).mul_add(share, one.least))
            .collect();
    }
    let every = asked.iter().all(|one| !one.grows);
    let grows = |one: &Asked| if every || one.grows { most(one) } else { 0.0 };
    let growing: f32 = asked.iter().map(grows).sum();
    asked
        .iter()
        .map(|one| most(one) + (wide - all) * grows(one) / growing.max(f32::MIN_POSITIVE))
        .collect()
}

/// The width down to which the widest columns are cut so that all fit.
fn level(asked: &[Asked], wide: f32) -> f32 {
    let mut least: Vec<f32> = asked.iter().map(|one| one.least).collect();
    least.sort_by(f32::total_cmp);
    let mut left = wide;
    for (at, one) in least.iter().enumerate() {
        let even = left / (least.len() - at) as f32;
        if *one > even {
            return even;
        }
        left -= one;
    }
    f32::INFINITY
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(least: f32, most: f32) -> Asked {
        Asked {
            least,
            most,
            grows: true,
        }
    }

    fn is(asked: &[Asked], widths_of: &[f32]) {
        let found = widths(asked, 100.0);
        for (found, expected) in found.iter().zip(widths_of) {
            assert!((found - expected).abs() < 1e-3, "{found} {expected}");
        }
    }

    #[test]
    fn words_share_what_is_left_and_numbers_take_what_they_need() {
        let number = Asked {
            grows: false,
            ..words(10.0, 10.0)
        };
        is(
            &[words(10.0, 20.0), words(10.0, 40.0), number],
            &[30.0, 60.0, 10.0],
        );
        is(&[number, number], &[50.0, 50.0]);
    }

    #[test]
    fn no_word_is_cut_while_there_is_room_for_all_and_long_cells_get_more() {
        // 40 are left over the longest words: 10 and 30 are asked for beyond them.
        is(&[words(30.0, 50.0), words(30.0, 90.0)], &[46.0, 54.0]);
        is(&[words(30.0, 35.0), words(20.0, 60.0)], &[36.842, 63.158]);
        is(&[words(80.0, 80.0), words(80.0, 500.0)], &[50.0, 50.0]);
    }

    #[test]
    fn a_long_word_is_broken_before_a_short_column_shrinks() {
        let number = Asked {
            grows: false,
            ..words(10.0, 10.0)
        };
        // The word alone is wider than the table: it has what the others leave.
        is(
            &[number, words(12.0, 12.0), words(300.0, 900.0)],
            &[10.0, 15.0, 75.0],
        );
        // Five columns whose words do not fit: the wide ones give way, alike.
        let narrow = words(15.0, 15.0);
        is(
            &[narrow, narrow, narrow, words(35.0, 90.0), words(300.0, 300.0)],
            &[15.0, 15.0, 15.0, 27.5, 27.5],
        );
    }
}
