//! What people say for the words of a field, where it means one of them alone; the trade's usage, common practice.

/// Field, what is said, what it means.
const SAID: [(&str, &str, &str); 21] = [
    // A quick release and a nutted axle both sit in slots.
    ("axle-kind", "qr", "slotted"),
    ("axle-kind", "quick-release", "slotted"),
    ("axle-kind", "nutted", "slotted"),
    ("axle-kind", "nuts", "slotted"),
    ("axle-kind", "solid", "slotted"),
    ("axle-kind", "thru", "thru-axle"),
    ("axle-kind", "through-axle", "thru-axle"),
    // A fork that moves is called by that and not by its metal.
    ("fork-kind", "steel", "steel-rigid"),
    ("fork-kind", "aluminium", "aluminium-rigid"),
    ("fork-kind", "aluminum", "aluminium-rigid"),
    ("fork-kind", "alu", "aluminium-rigid"),
    ("brake-front", "cantilever", "rim-cantilever"),
    ("brake-rear", "cantilever", "rim-cantilever"),
    ("brake-front", "linear-pull", "rim-linear"),
    ("brake-rear", "linear-pull", "rim-linear"),
    ("brake-front", "caliper", "rim-caliper"),
    ("brake-rear", "caliper", "rim-caliper"),
    ("brake-front", "calliper", "rim-caliper"),
    ("brake-rear", "calliper", "rim-caliper"),
    ("brake-front", "side-pull", "rim-caliper"),
    ("brake-rear", "side-pull", "rim-caliper"),
];

/// Field, what is said, why it does not tell which word is meant.
const UNCLEAR: [(&str, &str, &str); 4] = [
    (
        "fork-kind",
        "rigid",
        "of steel, aluminium or carbon? They do not hold a hub motor alike",
    ),
    (
        "brake-front",
        "disc",
        "by cable or by oil? They do not take the same levers",
    ),
    (
        "brake-rear",
        "disc",
        "by cable or by oil? They do not take the same levers",
    ),
    (
        "axle-kind",
        "bolt-on",
        "with nuts in slots, or screwed through the frame?",
    ),
];

fn find(table: &'static [(&str, &str, &str)], field: &str, word: &str) -> Option<&'static str> {
    let same = |row: &&(&str, &str, &str)| row.0 == field && row.1 == word;
    table.iter().find(same).map(|row| row.2)
}

/// The word of a field that is meant by what is said.
pub(super) fn meant(field: &str, word: &str) -> Option<&'static str> {
    find(&SAID, field, word)
}

/// Why what is said means no word of a field.
pub(super) fn why_unclear(field: &str, word: &str) -> Option<&'static str> {
    find(&UNCLEAR, field, word)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::code;
    use crate::fact::Value;

    #[test]
    fn what_is_said_is_read_as_the_one_word_it_means() {
        for (field, said, meant) in SAID {
            let row = code::find(field).unwrap();
            let read = row.read(&said.to_uppercase(), false).unwrap();
            assert_eq!(read, Value::Word(meant.into()), "{field}={said}");
            assert!(row.read(meant, false).is_ok(), "{field}={meant}");
        }
    }

    #[test]
    fn what_may_mean_several_is_refused_with_the_question() {
        for (field, said, why) in UNCLEAR {
            let error = code::find(field).unwrap().read(said, false).unwrap_err();
            assert!(error.to_string().contains(why), "{field}={said}: {error}");
        }
    }
}
