//! The catalogue as a file: parts with typed attributes in TOML.
//!
//! ```toml
//! [[motor]]
//! id = "mid-48-250"
//! name = "mid motor 48 V 250 W"
//! peak-torque = "70 N m"
//! ```

use std::collections::{BTreeMap, HashSet};
use std::fmt::Write as _;

use crate::command::Typed;
use crate::fact::Value;
use crate::field::{Field, Shape};
use crate::nearest::nearest;
use crate::part::{Attribute, Part, PartKind};
use crate::refusal::{Reason, Refusal, Violation};
use crate::sheet::{self, Table};
use crate::unit;

/// Reads a catalogue file.
///
/// # Errors
/// [`Reason::BadInput`] naming every bad line with file, line, field, what was given and
/// what is expected; nothing of the file is to be stored then.
pub fn read(file: &str, content: &str) -> Result<Vec<Part>, Refusal> {
    read_in(file, content, "")
}

/// The same for a shop that counts in `home`: a price in another currency is a bad line (see
/// [`Money::read_in`](crate::money::Money::read_in)).
///
/// # Errors
/// As for [`read`].
pub fn read_in(file: &str, content: &str, home: &str) -> Result<Vec<Part>, Refusal> {
    let mut parts: Vec<Part> = Vec::new();
    let mut violations = Vec::new();
    let mut seen = HashSet::new();
    for table in sheet::tables(file, content)? {
        match read_part(&table, home) {
            Ok(part) if !seen.insert(part.id.clone()) => violations.push(Violation {
                field: "id".into(),
                line: Some(table.line),
                problem: format!("`{}` stands twice in the file; expected each id once", part.id),
            }),
            Ok(part) => parts.push(part),
            Err(found) => violations.extend(found),
        }
    }
    if violations.is_empty() {
        if parts.is_empty() {
            return Err(sheet::complain(
                file,
                1,
                "file",
                "it holds no part; expected tables such as [[motor]]".into(),
            ));
        }
        return Ok(parts);
    }
    let first = violations.first().map_or_else(String::new, |violation| {
        let (line, field, problem) = (violation.line.unwrap_or(1), &violation.field, &violation.problem);
        let named = problem.starts_with(&format!("{field}: "));
        let field = if named {
            String::new()
        } else {
            format!("{field}: ")
        };
        format!("{file} line {line}: {field}{problem}")
    });
    let count = violations.len();
    let more = if count > 1 {
        format!(" (and {} more)", count - 1)
    } else {
        String::new()
    };
    Err(Refusal::new(Reason::BadInput, format!("{first}{more}"))
        .with("file", file)
        .with("problems", count)
        .hint("nothing of the file was stored; mend the lines and import it again")
        .violations(violations))
}

/// Writes parts as a file that [`read`] takes and that reads back to the same parts.
pub fn write(parts: &[Part]) -> String {
    let mut text =
        String::from("# Parts of the workshop. Values without a unit are in the attribute's own unit.\n");
    for part in parts {
        // Writing to a String cannot fail.
        let _infallible = writeln!(text, "\n[[{}]]\nid = {}", part.kind.word(), quoted(&part.id));
        for attribute in part.kind.attributes() {
            if let Some(value) = part.get(attribute.field.key) {
                let _infallible = writeln!(
                    text,
                    "{} = {}",
                    attribute.field.key,
                    quoted(&exact(&attribute.field, value))
                );
            }
        }
    }
    text
}

/// A part with some attributes as typed; an empty text takes one out. All else stays, so that nothing is lost that is not
/// named.
///
/// # Errors
/// [`Reason::BadInput`] naming every attribute that cannot be taken.
pub fn amend(part: &Part, typed: &[Typed], home: &str) -> Result<Part, Refusal> {
    let mut amended = part.clone();
    let mut violations = Vec::new();
    for typed in typed {
        let field = typed.field.trim().to_lowercase();
        let read = if typed.text.trim().is_empty() && part.kind.attribute(&field).is_some() {
            amended.attributes.remove(&field);
            Ok(())
        } else {
            read_attribute(part.kind, &field, &typed.text, home).map(|(key, value)| {
                amended.attributes.insert(key, value);
            })
        };
        if let Err(problem) = read {
            violations.push(Violation {
                field,
                line: None,
                problem,
            });
        }
    }
    violations.extend(amended.missing().into_iter().map(|attribute| Violation {
        field: attribute.field.key.to_owned(),
        line: None,
        problem: missing(attribute),
    }));
    violations.extend(amended.contradiction().map(|(field, problem)| Violation {
        field: field.to_owned(),
        line: None,
        problem,
    }));
    let Some(first) = violations.first() else {
        return Ok(amended);
    };
    let more = match violations.len() {
        1 => String::new(),
        count => format!(" (and {} more)", count - 1),
    };
    let refusal = Refusal::new(Reason::BadInput, format!("{}: {}{more}", part.id, first.problem))
        .with("field", &first.field)
        .hint(format!("`lockring catalogue show {}` shows what it has", part.id));
    Err(refusal.violations(violations))
}

/// A file that [`read`] takes, to be filled in: one part of each kind or of one, with what must be given as examples and
/// what may be in comments.
pub fn form(kind: Option<PartKind>) -> String {
    let mut text = String::from(
        "# The form of a catalogue. Every value is an example: put what the sheet of your part says in its place.\n",
    );
    for kind in PartKind::ALL
        .into_iter()
        .filter(|one| kind.is_none_or(|kind| *one == kind))
    {
        let part = example(kind);
        // Writing to a String cannot fail.
        let _infallible = writeln!(text, "\n[[{}]]\nid = {}", kind.word(), quoted(&part.id));
        for Attribute { field, .. } in kind.attributes() {
            let (mark, value) = match part.get(field.key) {
                Some(value) => ("", field.show(value)),
                None => ("# ", field.example()),
            };
            let _infallible = writeln!(
                text,
                "{mark}{} = {}  # {}: {}",
                field.key,
                quoted(&value),
                field.name,
                field.expected()
            );
        }
    }
    text
}

/// A part of a kind with nothing but what must be given.
fn example(kind: PartKind) -> Part {
    let mut part = Part {
        id: format!("{}-1", kind.word()),
        kind,
        attributes: BTreeMap::new(),
    };
    loop {
        let lacking = part.missing();
        if lacking.is_empty() {
            break;
        }
        for Attribute { field, .. } in lacking {
            let value = field
                .read(&field.example(), false)
                .expect("an example is one that is taken");
            part.attributes.insert(field.key.to_owned(), value);
        }
    }
    if let Some(Value::Teeth(cogs)) = part.get("cogs") {
        let speeds = cogs.len() as f64;
        part.attributes.insert("speeds".into(), Value::Number(speeds));
    }
    part
}

/// What is said of an attribute that is not given.
fn missing(attribute: &Attribute) -> String {
    format!(
        "missing; expected {}: {}, for example `{}`",
        attribute.field.name,
        attribute.field.expected(),
        attribute.field.example()
    )
}

fn read_part(table: &Table, home: &str) -> Result<Part, Vec<Violation>> {
    let whole = |problem: String| {
        vec![Violation {
            field: table.name.clone(),
            line: Some(table.line),
            problem,
        }]
    };
    let Some(kind) = PartKind::from_word(&table.name) else {
        let all: Vec<&str> = PartKind::ALL.iter().map(|kind| kind.word()).collect();
        let near = nearest(&table.name, all.iter().copied());
        let meant = near.first().map_or_else(
            || "; expected".to_owned(),
            |word| format!("; did you mean [[{word}]]? Expected"),
        );
        let name = if table.name.is_empty() {
            "a value outside any table"
        } else {
            table.name.as_str()
        };
        return Err(whole(format!(
            "`{name}` is no kind of part{meant} one of {}",
            all.join(", ")
        )));
    };
    let mut id = None;
    let mut attributes = BTreeMap::new();
    let mut violations = Vec::new();
    for typed in &table.values {
        if typed.field == "id" {
            match valid_id(&typed.text) {
                Ok(good) => id = Some(good),
                Err(problem) => violations.push(Violation {
                    field: "id".into(),
                    line: typed.line,
                    problem,
                }),
            }
            continue;
        }
        match read_attribute(kind, &typed.field, &typed.text, home) {
            Ok((key, value)) => {
                attributes.insert(key, value);
            }
            Err(problem) => violations.push(Violation {
                field: typed.field.clone(),
                line: typed.line,
                problem,
            }),
        }
    }
    let part = Part {
        id: id.clone().unwrap_or_default(),
        kind,
        attributes,
    };
    if id.is_none() && !violations.iter().any(|violation| violation.field == "id") {
        violations.push(Violation {
            field: "id".into(),
            line: Some(table.line),
            problem: format!(
                "missing; expected the shop's short name, for example `{}-1`",
                kind.word()
            ),
        });
    }
    for attribute in part.missing() {
        // A field that is there but cannot be read has its complaint already.
        if !violations
            .iter()
            .any(|violation| violation.field == attribute.field.key)
        {
            violations.push(Violation {
                field: attribute.field.key.to_owned(),
                line: Some(table.line),
                problem: missing(attribute),
            });
        }
    }
    if let Some((field, problem)) = part.contradiction() {
        violations.push(Violation {
            field: field.to_owned(),
            line: Some(table.line),
            problem,
        });
    }
    if violations.is_empty() {
        Ok(part)
    } else {
        Err(violations)
    }
}

fn read_attribute(kind: PartKind, key: &str, text: &str, home: &str) -> Result<(String, Value), String> {
    let attribute = kind.attribute(key).ok_or_else(|| {
        let keys: Vec<&str> = kind.attributes().map(|attribute| attribute.field.key).collect();
        let near = nearest(key, keys.iter().copied());
        let meant = near.first().map_or_else(
            || "; expected".to_owned(),
            |word| format!(", did you mean `{word}`? Expected"),
        );
        format!(
            "`{key}` is no attribute of a {}{meant} one of {}",
            kind.word(),
            keys.join(", ")
        )
    })?;
    let value = attribute
        .field
        .in_currency(text, home)
        .and_then(|()| attribute.field.read(text, false))
        .map_err(|error| error.to_string())?;
    Ok((key.to_owned(), value))
}

fn valid_id(text: &str) -> Result<String, String> {
    let good = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '.';
    if (1..=40).contains(&text.len()) && text.chars().all(good) && text != "none" {
        return Ok(text.to_owned());
    }
    Err(format!(
        "`{text}` is no id; expected 1 to 40 of a-z, 0-9, `-` and `.`, not `none`, for example `mid-48-250`"
    ))
}

/// A value with every digit, so that it reads back the same.
fn exact(field: &Field, value: &Value) -> String {
    match (value, field.shape) {
        (Value::Number(si), Shape::Quantity { kind, unit, .. }) => {
            let number = unit::from_si(kind, unit, *si);
            // Twelve digits drop the noise of the conversion and keep what anybody typed.
            let rounded: f64 = format!("{number:.11e}").parse().unwrap_or(number);
            format!("{rounded} {unit}").trim_end().to_owned()
        }
        _ => field.show(value),
    }
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHARGER: &str = "[[charger]]\nid = \"c-42\"\nname = \"charger 42 V\"\noutput-volts = \"42 V\"\noutput-current = 2\nchemistry = \"nickel-rich\"\n";

    #[test]
    fn what_is_written_reads_back_the_same() {
        let parts = read("c.toml", CHARGER).unwrap();
        assert_eq!(read("again", &write(&parts)).unwrap(), parts);
    }

    /// A through axle has no flats, so that none need be invented for it.
    #[test]
    fn flats_are_asked_of_an_axle_in_slots_alone() {
        let hub = |axle: &str| {
            format!(
                "[[motor]]\nid = \"hub\"\nname = \"hub\"\nplace = \"rear-hub\"\nrated-power = \"250 W\"\npower-basis = \
                 \"continuous\"\npeak-torque = \"32 N m\"\nnominal-volts = \"36 V\"\nmax-volts = \"60 V\"\nno-load-speed = \
                 \"235 rpm\"\nno-load-current = \"0.6 A\"\nbest-efficiency = \"80 %\"\nhub-width = \"142 mm\"\naxle-diameter = \
                 \"12 mm\"\naxle-kind = \"{axle}\"\n"
            )
        };
        assert!(read("c.toml", &hub("thru-axle")).is_ok());
        let refusal = read("c.toml", &hub("slotted")).unwrap_err();
        assert_eq!(refusal.violations[0].field, "axle-flats");
    }

    #[test]
    fn a_cassette_of_nine_speeds_with_ten_cogs_is_refused() {
        let cassette = |cogs: &str| {
            format!("[[cassette]]\nid = \"c-9\"\nname = \"nine\"\nspeeds = 9\ncogs = [{cogs}]\n")
        };
        assert!(read("c.toml", &cassette("11, 13, 15, 17, 20, 23, 26, 30, 34")).is_ok());
        let refusal = read("c.toml", &cassette("11, 12, 13, 15, 17, 20, 23, 26, 30, 34")).unwrap_err();
        let violation = &refusal.violations[0];
        assert_eq!(
            (violation.field.as_str(), refusal.violations.len()),
            ("speeds", 1)
        );
        assert!(
            violation.problem.contains("9 speeds, 10 cogs") && violation.problem.contains("`speeds = 10`"),
            "{}",
            violation.problem
        );
    }

    #[test]
    fn every_bad_line_is_named_with_what_was_given_and_expected() {
        let bad = CHARGER
            .replace("42 V\"\noutput", "42 kg\"\noutput")
            .replace("chemistry", "chemestry");
        let refusal = read("c.toml", &bad).unwrap_err();
        let fields: Vec<(&str, Option<u32>)> = refusal
            .violations
            .iter()
            .map(|violation| (violation.field.as_str(), violation.line))
            .collect();
        assert_eq!(
            fields,
            [
                ("output-volts", Some(4)),
                ("chemestry", Some(6)),
                ("chemistry", Some(1))
            ]
        );
        assert!(
            refusal.violations[0].problem.contains("42 kg"),
            "{:?}",
            refusal.violations[0]
        );
        assert!(
            refusal.violations[1].problem.contains("did you mean `chemistry`"),
            "{:?}",
            refusal.violations[1]
        );
    }

    #[test]
    fn the_form_of_every_kind_is_a_file_that_is_taken() {
        let all = read("form.toml", &form(None)).unwrap();
        assert_eq!(all.len(), PartKind::ALL.len());
        for kind in PartKind::ALL {
            let one = read("form.toml", &form(Some(kind))).unwrap();
            assert_eq!((one.len(), one[0].kind), (1, kind));
            // With what may be given as well it is taken, too.
            let filled = form(Some(kind)).replace("\n# ", "\n");
            let filled = filled.split_once('\n').map_or("", |(_, rest)| rest);
            assert!(read("form.toml", filled).is_ok(), "{filled}");
        }
    }

    #[test]
    fn an_attribute_is_set_or_taken_out_and_all_others_stay() {
        let part = read("c.toml", CHARGER).unwrap().remove(0);
        let set = |field: &str, text: &str| amend(&part, &[Typed::new(field, text)], "EUR");
        let amended = set("output-volts", "54.6 V").unwrap();
        assert_eq!(part.changes(&amended), ["output-volts 42 V -> 54.6 V"]);
        let noted = set("note", "fan is loud").unwrap();
        assert_eq!(part.changes(&noted), ["note nothing -> fan is loud"]);
        let bare = amend(&noted, &[Typed::new("note", "")], "EUR").unwrap();
        assert_eq!(bare, part);
        assert_eq!(noted.changes(&bare), ["note fan is loud -> gone"]);
        for (field, text, said) in [
            ("output-volts", "42 kg", "42 kg"),
            ("chemestry", "nickel-rich", "did you mean `chemistry`"),
            ("output-volts", "", "missing; expected"),
            ("price", "28 USD", "the shop counts in EUR"),
        ] {
            let refusal = set(field, text).unwrap_err();
            assert!(refusal.message.contains(said), "{refusal}");
        }
    }

    #[test]
    fn a_price_in_another_currency_is_a_bad_line() {
        let priced = |price: &str| read_in("c.toml", &format!("{CHARGER}price = \"{price}\"\n"), "EUR");
        for price in ["28", "28 EUR", "€28"] {
            assert!(priced(price).is_ok(), "{price}");
        }
        let refusal = priced("28 USD").unwrap_err();
        let said = "the shop counts in EUR";
        assert!(refusal.message.starts_with("c.toml line 7: price: "), "{refusal}");
        assert!(refusal.message.contains(said), "{refusal}");
    }

    #[test]
    fn a_table_that_is_no_kind_of_part_is_told_the_kinds() {
        let said = |name: &str| {
            let refusal = read("c.toml", &format!("[[{name}]]\nid = \"x\"\n")).unwrap_err();
            refusal.violations[0].problem.clone()
        };
        assert!(said("qqqq").starts_with("`qqqq` is no kind of part; expected one of motor, "));
        let near = said("motr");
        assert!(
            near.starts_with("`motr` is no kind of part; did you mean [[motor]]? Expected one of motor, "),
            "{near}"
        );
    }

    #[test]
    fn how_many_more_lines_are_wrong_is_said_when_there_are_more() {
        let broken = |lines: usize| {
            let rows: String = (0..lines).map(|row| format!("no-such-{row} = 1\n")).collect();
            read("parts.toml", &format!("{CHARGER}{rows}")).unwrap_err()
        };
        for (lines, more) in [(1, None), (2, Some("(and 1 more)")), (4, Some("(and 3 more)"))] {
            let refusal = broken(lines);
            assert_eq!(refusal.violations.len(), lines, "{refusal:?}");
            assert!(
                refusal.message.starts_with("parts.toml line 7: no-such-0: "),
                "{refusal}"
            );
            assert_eq!(refusal.message.contains("more)"), more.is_some(), "{refusal}");
            assert!(
                more.is_none_or(|more| refusal.message.contains(more)),
                "{refusal}"
            );
        }
    }

    #[test]
    fn an_id_is_short_plain_and_not_the_word_for_an_empty_slot() {
        let (fits, longer) = ("a".repeat(40), "a".repeat(41));
        for id in ["mid-48-250", "charger-54.6-3", "0", &fits] {
            assert_eq!(valid_id(id).as_deref(), Ok(id));
        }
        for id in ["", "none", "Mid", "a b", "a_b", "ä", &longer] {
            assert!(valid_id(id).unwrap_err().contains("is no id"), "{id}");
        }
    }
}
