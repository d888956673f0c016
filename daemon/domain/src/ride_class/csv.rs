//! Reader of the shipped comma-separated tables (RFC 4180: quotes, doubled quotes; no line
//! breaks inside a field).

/// Records of a table by its header's names, or what is wrong with which line.
pub(crate) fn records<const N: usize>(header: [&str; N], content: &str) -> Result<Vec<[String; N]>, String> {
    let mut lines = content.lines().enumerate();
    match lines.next() {
        Some((_, first)) if first.split(',').eq(header) => {}
        other => return Err(format!("the header is {other:?}, expected {header:?}")),
    }
    lines
        .map(|(at, line)| {
            let cells = cells(line).ok_or_else(|| format!("line {}: a quote is out of place", at + 1))?;
            let found = cells.len();
            cells
                .try_into()
                .map_err(|_| format!("line {}: {found} cells, expected {N}", at + 1))
        })
        .collect()
}

fn cells(line: &str) -> Option<Vec<String>> {
    let mut cells = Vec::new();
    let mut rest = line;
    loop {
        let (cell, after) = match rest.strip_prefix('"') {
            Some(quoted) => quoted_cell(quoted)?,
            None => {
                let end = rest.find(',').unwrap_or(rest.len());
                if rest[..end].contains('"') {
                    return None;
                }
                (rest[..end].to_owned(), &rest[end..])
            }
        };
        cells.push(cell);
        match after.strip_prefix(',') {
            Some(next) => rest = next,
            None if after.is_empty() => return Some(cells),
            None => return None,
        }
    }
}

fn quoted_cell(text: &str) -> Option<(String, &str)> {
    let mut cell = String::new();
    let mut rest = text;
    loop {
        let end = rest.find('"')?;
        cell.push_str(&rest[..end]);
        rest = &rest[end + 1..];
        match rest.strip_prefix('"') {
            Some(after) => {
                cell.push('"');
                rest = after;
            }
            None => return Some((cell, rest)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_commas_and_empty_cells_are_read() {
        // RFC 4180, section 2, rules 5 to 7.
        assert_eq!(cells("a,,\"b, \"\"c\"\"\",").unwrap(), ["a", "", "b, \"c\"", ""]);
        assert_eq!(cells("a\"b,c"), None);
        assert_eq!(cells("\"a\"b,c"), None);
        assert_eq!(cells("\"a"), None);
    }

    #[test]
    fn a_line_of_another_width_and_a_strange_header_are_named() {
        assert_eq!(records(["a", "b"], "a,b\n1,2\n").unwrap(), [["1", "2"]]);
        assert_eq!(
            records(["a", "b"], "a,b\n1,2,3\n").unwrap_err(),
            "line 2: 3 cells, expected 2"
        );
        assert!(records(["a", "b"], "a,c\n").unwrap_err().contains("header"));
        assert!(records(["a"], "").is_err());
    }
}
