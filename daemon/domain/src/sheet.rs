//! Sheets: TOML files that people write, read with line numbers.
//!
//! A sheet is flattened to `table.key = text` lines. Numbers may stand bare or, with a
//! unit, in quotes; the text goes through the same reader as what is typed at the bench.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::command::Typed;
use crate::refusal::{Reason, Refusal, Violation};

/// One table of a sheet: `[name]`, or one element of `[[name]]`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Name; empty for the keys before the first table.
    pub name: String,
    /// Line it begins at, from 1.
    pub line: u32,
    /// Its keys and texts.
    pub values: Vec<Typed>,
}

/// Reads a sheet into its tables, in the order they stand.
///
/// # Errors
/// [`Reason::BadInput`] with file and line when it is not TOML, or nests deeper than a
/// table of values.
pub fn tables(file: &str, content: &str) -> Result<Vec<Table>, Refusal> {
    let document = DeTable::parse(content).map_err(|error| {
        let line = error.span().map_or(1, |span| line_at(content, span.start));
        complain(file, line, "file", error.message().to_owned())
    })?;
    let mut top = Table {
        name: String::new(),
        line: 1,
        values: Vec::new(),
    };
    let mut rest = Vec::new();
    for (key, value) in document.get_ref() {
        let name = key.get_ref().to_string();
        match value.get_ref() {
            DeValue::Table(table) => rest.push(read_table(file, content, &name, key.span().start, table)?),
            DeValue::Array(elements)
                if elements
                    .iter()
                    .any(|element| matches!(element.get_ref(), DeValue::Table(_))) =>
            {
                for element in elements {
                    let DeValue::Table(table) = element.get_ref() else {
                        let line = line_at(content, element.span().start);
                        let problem = "a bare value stands among tables; expected only tables".to_owned();
                        return Err(complain(file, line, &name, problem));
                    };
                    rest.push(read_table(file, content, &name, element.span().start, table)?);
                }
            }
            _ => top.values.push(read_value(file, content, &name, value)?),
        }
    }
    if !top.values.is_empty() {
        rest.insert(0, top);
    }
    rest.sort_by_key(|table| table.line);
    Ok(rest)
}

/// A refusal about one line of a file.
pub fn complain(file: &str, line: u32, field: &str, problem: String) -> Refusal {
    let violation = Violation {
        field: field.to_owned(),
        line: Some(line),
        problem: problem.clone(),
    };
    Refusal::new(
        Reason::BadInput,
        format!("{file} line {line}: {field}: {problem}"),
    )
    .with("file", file)
    .with("line", line)
    .with("field", field)
    .violations(vec![violation])
    .hint("nothing of the file was stored; mend the line and try again")
}

fn read_table(
    file: &str,
    content: &str,
    name: &str,
    start: usize,
    table: &DeTable<'_>,
) -> Result<Table, Refusal> {
    let mut values = table
        .iter()
        .map(|(key, value)| read_value(file, content, key.get_ref(), value))
        .collect::<Result<Vec<_>, _>>()?;
    values.sort_by_key(|typed| typed.line);
    Ok(Table {
        name: name.to_owned(),
        line: line_at(content, start),
        values,
    })
}

fn read_value(file: &str, content: &str, key: &str, value: &Spanned<DeValue<'_>>) -> Result<Typed, Refusal> {
    let line = line_at(content, value.span().start);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Integer(number) => number.as_str().to_owned(),
        DeValue::Float(number) => number.as_str().to_owned(),
        DeValue::Boolean(true) => "yes".to_owned(),
        DeValue::Boolean(false) => "no".to_owned(),
        DeValue::Datetime(day) => day.to_string(),
        DeValue::Array(numbers) => {
            let all: Option<Vec<&str>> = numbers
                .iter()
                .map(|number| match number.get_ref() {
                    DeValue::Integer(number) => Some(number.as_str()),
                    DeValue::Float(number) => Some(number.as_str()),
                    _ => None,
                })
                .collect();
            let problem =
                "a list may hold numbers only, for example [11, 13, 15] or [0.73, 1.0, 1.36]".to_owned();
            all.ok_or_else(|| complain(file, line, key, problem))?.join("-")
        }
        DeValue::Table(_) => {
            return Err(complain(
                file,
                line,
                key,
                "a table stands where a value is expected".to_owned(),
            ));
        }
    };
    Ok(Typed {
        field: key.to_owned(),
        text,
        line: Some(line),
    })
}

fn line_at(content: &str, offset: usize) -> u32 {
    let lines = content
        .as_bytes()
        .iter()
        .take(offset)
        .filter(|byte| **byte == b'\n')
        .count();
    u32::try_from(lines + 1).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_keep_their_order_and_lines() {
        let read = tables("s.toml", "rider = \"Ines\"\n\n[brief]\nrange = \"35 km\"\nstops = 1.0\n\n[[motor]]\nid = 'a'\n[[motor]]\nid = 'b'\n")
            .unwrap();
        let names: Vec<(&str, u32)> = read
            .iter()
            .map(|table| (table.name.as_str(), table.line))
            .collect();
        assert_eq!(names, [("", 1), ("brief", 3), ("motor", 7), ("motor", 9)]);
        assert_eq!(
            read[1].values[0],
            Typed {
                field: "range".into(),
                text: "35 km".into(),
                line: Some(4)
            }
        );
        assert_eq!(read[1].values[1].text, "1.0");
    }

    #[test]
    fn a_list_holds_whole_numbers_and_broken_ones_and_nothing_else() {
        let text = |line: &str| tables("s.toml", line).map(|read| read[0].values[0].text.clone());
        let ratios = text("hub-ratios = [0.73, 1.0, 1.36]\n").unwrap();
        let row = crate::code::find("hub-ratios").unwrap();
        assert_eq!(
            row.read(&ratios, false).unwrap(),
            row.read("0.73-1-1.36", false).unwrap()
        );
        assert_eq!(text("cogs = [11, 13, 15]\n").unwrap(), "11-13-15");
        // A cog has whole teeth.
        let halves = text("cogs = [11.5, 13, 15]\n").unwrap();
        assert!(crate::code::find("cogs").unwrap().read(&halves, false).is_err());
        let error = text("cogs = [\"11\", 13]\n").unwrap_err();
        assert!(error.message.contains("[0.73, 1.0, 1.36]"), "{}", error.message);
    }

    #[test]
    fn a_broken_file_names_its_line() {
        let error = tables("s.toml", "a = 1\nb = = 2\n").unwrap_err();
        assert_eq!(error.violations[0].line, Some(2));
        assert!(error.message.starts_with("s.toml line 2"), "{}", error.message);
    }
}
