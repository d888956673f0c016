//! What a class asks its label to tell, and the words by which a label tells it, as stored.

use std::sync::OnceLock;

use super::csv;

const TABLE: &str = include_str!("../../data/label_words.csv");

/// Something a label has to tell, by its word in the column `label_tells` of the ride classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tells {
    /// The rated or continuous power.
    Power,
    /// The motor's power, as the three-class model asks for it.
    Wattage,
    /// The top assisted speed.
    TopSpeed,
    /// The speed to which it helps.
    AssistSpeed,
    /// The maker.
    Maker,
    /// The battery's voltage or the motor's greatest speed.
    VoltsOrRpm,
    /// The greatest speed of the motor's shaft.
    ShaftRpm,
    /// The number of the class.
    Class,
    /// The marking of EN 15194.
    En15194,
}

impl Tells {
    const ALL: [Self; 9] = [
        Self::Power,
        Self::Wattage,
        Self::TopSpeed,
        Self::AssistSpeed,
        Self::Maker,
        Self::VoltsOrRpm,
        Self::ShaftRpm,
        Self::Class,
        Self::En15194,
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::Power => "power",
            Self::Wattage => "wattage",
            Self::TopSpeed => "top-speed",
            Self::AssistSpeed => "assist-speed",
            Self::Maker => "maker",
            Self::VoltsOrRpm => "volts-or-rpm",
            Self::ShaftRpm => "shaft-rpm",
            Self::Class => "class",
            Self::En15194 => "en15194",
        }
    }

    /// Reads words parted by semicolons; `None` when one is none of them.
    pub(super) fn read(cell: &str) -> Option<Vec<Self>> {
        let words = cell.split(';').filter(|word| !word.is_empty());
        let one = |word: &str| Self::ALL.into_iter().find(|tells| tells.word() == word);
        words.map(one).collect()
    }
}

/// What a number before a word of a label is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// A power.
    Watts,
    /// A speed of the bicycle.
    Speed,
    /// A speed of the motor.
    Turns,
    /// A voltage.
    Volts,
    /// Nothing; the word is no maker's name either.
    Nothing,
}

/// The words of labels that are no maker's name, each with what a number before it is.
pub fn words() -> &'static [(String, Says)] {
    static WORDS: OnceLock<Vec<(String, Says)>> = OnceLock::new();
    WORDS.get_or_init(|| read(TABLE).expect("the shipped words of labels are whole; a test reads them"))
}

fn read(content: &str) -> Result<Vec<(String, Says)>, String> {
    let records = csv::records(["word", "says", "source"], content)?.into_iter();
    let word = |[word, says, source]: [String; 3]| {
        let says = match says.as_str() {
            "watts" => Says::Watts,
            "speed" => Says::Speed,
            "turns" => Says::Turns,
            "volts" => Says::Volts,
            "nothing" => Says::Nothing,
            other => return Err(format!("{word}: says `{other}`")),
        };
        if source.is_empty() {
            return Err(format!("{word}: no source"));
        }
        Ok((word, says))
    };
    records.map(word).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_with_what_they_say_and_strange_ones_are_named() {
        assert!(words().contains(&("kph".to_owned(), Says::Speed)));
        assert!(words().contains(&("epac".to_owned(), Says::Nothing)));
        assert_eq!(
            read("word,says,source\nhp,horses,x\n").unwrap_err(),
            "hp: says `horses`"
        );
        assert_eq!(
            read("word,says,source\nhp,watts,\n").unwrap_err(),
            "hp: no source"
        );
        assert_eq!(Tells::read("power;maker"), Some(vec![Tells::Power, Tells::Maker]));
        assert_eq!((Tells::read(""), Tells::read("horses")), (Some(Vec::new()), None));
    }
}
