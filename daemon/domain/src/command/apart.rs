//! Several values typed in one line without a mark between them, taken apart where they can be read in one way only.

use crate::code::{self, Code, Run};
use crate::command::{Act, Typed};

/// The values as they are meant: a line of codes with a value behind each, or the values of a run in its own order. What
/// reads as one value stays one, and what reads in no way stays as it was typed, for the complaint about it.
pub(super) fn apart(act: &Act, run: Option<&Run>, values: &[Typed]) -> Vec<Typed> {
    match (act, run) {
        (Act::Ride(_), Some(run)) => in_order(run, values),
        (Act::Ride(_), None) => values.to_vec(),
        (Act::Measure, _) => pairs(code::find, values),
        (Act::Torque, _) => pairs(code::torque_code, values),
    }
}

/// Whether a code takes this text, whatever its window says.
fn takes(row: &Code, text: &str) -> bool {
    let text = text.trim();
    let bare = text.strip_suffix('!').unwrap_or(text);
    !text.is_empty() && (row.read(text, true).is_ok() || row.read(bare, true).is_ok())
}

/// `adapter-outer 41 adapter-inner 33,6`: a word that is a code begins another value, unless all that is left is one value: a
/// text may hold any word.
fn pairs(find: fn(&str) -> Option<&'static Code>, values: &[Typed]) -> Vec<Typed> {
    let split = |typed: &Typed| -> Option<Vec<Typed>> {
        let row = find(&typed.field).filter(|row| !takes(row, &typed.text))?;
        let mut parts = vec![(typed.field.clone(), row, String::new())];
        let words: Vec<&str> = typed.text.split_whitespace().collect();
        for (at, word) in words.iter().copied().enumerate() {
            let rest = || words[at..].join(" ");
            match (find(word), parts.last_mut()) {
                (_, Some((_, row, text))) if text.is_empty() && takes(row, &rest()) => {
                    *text = rest();
                    break;
                }
                (Some(next), Some((.., text))) if !text.is_empty() => {
                    parts.push((word.to_owned(), next, String::new()));
                }
                (_, Some((.., text))) if text.is_empty() => text.push_str(word),
                (_, Some((.., text))) => {
                    text.push(' ');
                    text.push_str(word);
                }
                (_, None) => return None,
            }
        }
        let is_read = parts.len() > 1 && parts.iter().all(|(_, row, text)| takes(row, text));
        let part = |(field, _, text): (String, &Code, String)| Typed {
            field,
            text,
            line: typed.line,
        };
        is_read.then(|| parts.into_iter().map(part).collect())
    };
    let apart = |typed: &Typed| split(typed).unwrap_or_else(|| vec![typed.clone()]);
    values.iter().flat_map(apart).collect()
}

/// `bedding 6 30 yes`: what a field cannot read with the words behind it leaves them to the next one.
fn in_order(run: &Run, values: &[Typed]) -> Vec<Typed> {
    let row = |place: usize| run.fields.get(place).and_then(|(_, key)| code::find(key));
    let reads = |place: usize, text: &str| row(place).is_some_and(|row| takes(row, text));
    let mut place = 0;
    let mut apart = Vec::new();
    for typed in values {
        if !typed.field.is_empty() {
            apart.push(typed.clone());
            continue;
        }
        let text = typed.text.as_str();
        let blanks = text.match_indices(char::is_whitespace).map(|(at, _)| at);
        let fits = |at: &usize| reads(place, &text[..*at]) && reads(place + 1, &text[*at..]);
        let at = blanks.rev().find(fits).filter(|_| !reads(place, text));
        let pieces = match at {
            Some(at) => vec![&text[..at], text[at..].trim_start()],
            None => vec![text],
        };
        place += pieces.len();
        apart.extend(pieces.into_iter().map(|piece| Typed {
            text: piece.to_owned(),
            ..typed.clone()
        }));
    }
    apart
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(act: &Act, values: &[(&str, &str)]) -> Vec<(String, String)> {
        let run = match act {
            Act::Ride(word) => code::runs().iter().find(|run| run.word == word),
            _ => None,
        };
        let typed: Vec<Typed> = values
            .iter()
            .map(|(field, text)| Typed::new(*field, *text))
            .collect();
        let apart = apart(act, run, &typed);
        apart.into_iter().map(|one| (one.field, one.text)).collect()
    }

    fn pairs_of(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
        pairs
            .iter()
            .map(|(field, text)| ((*field).to_owned(), (*text).to_owned()))
            .collect()
    }

    #[test]
    fn codes_in_a_row_are_told_apart_and_anything_else_stays_one_value() {
        for (typed, meant) in [
            (
                ("adapter-outer", "41 adapter-inner 33.6"),
                &[("adapter-outer", "41"), ("adapter-inner", "33.6")][..],
            ),
            (
                ("adapter-outer", "41 mm adapter-inner 33,6 mm!"),
                &[("adapter-outer", "41 mm"), ("adapter-inner", "33,6 mm!")],
            ),
            (
                ("rim-wall", "1,4 rim-mark seen rim-shape flat"),
                &[("rim-wall", "1,4"), ("rim-mark", "seen"), ("rim-shape", "flat")],
            ),
            (("clf", "2 1/16 in"), &[("clf", "2 1/16 in")]),
            // A text may hold any word.
            (
                ("damage", "dent where adapter-inner sits"),
                &[("damage", "dent where adapter-inner sits")],
            ),
            (
                ("class-label", "yes label-text EPAC 250 W limit 25 km/h"),
                &[("class-label", "yes"), ("label-text", "EPAC 250 W limit 25 km/h")],
            ),
            (
                ("class-label", "yes label-text limit 25 km/h"),
                &[("class-label", "yes"), ("label-text", "limit 25 km/h")],
            ),
            // Not read in any way: as it was typed.
            (
                ("adapter-outer", "41 adapter-inner"),
                &[("adapter-outer", "41 adapter-inner")],
            ),
            (
                ("adapter-outer", "41 inner 33"),
                &[("adapter-outer", "41 inner 33")],
            ),
        ] {
            assert_eq!(told(&Act::Measure, &[typed]), pairs_of(meant), "{typed:?}");
        }
        assert_eq!(
            told(&Act::Torque, &[("stem", "5 lockring 40 Nm")]),
            pairs_of(&[("stem", "5"), ("lockring", "40 Nm")])
        );
    }

    #[test]
    fn the_values_of_a_run_are_read_in_its_own_order() {
        let ride = |run: &str, values: &[(&str, &str)]| told(&Act::Ride(run.into()), values);
        assert_eq!(
            ride("bedding", &[("", "6"), ("", "30 yes")]),
            pairs_of(&[("", "6"), ("", "30"), ("", "yes")])
        );
        assert_eq!(
            ride("stall", &[("", "2 yes")]),
            pairs_of(&[("", "2"), ("", "yes")])
        );
        assert_eq!(
            ride("stop", &[("", "4,6 m"), ("", "25 km/h")]),
            pairs_of(&[("", "4,6 m"), ("", "25 km/h")])
        );
        assert_eq!(ride("stall", &[("", "2 well")]), pairs_of(&[("", "2 well")]));
    }
}
