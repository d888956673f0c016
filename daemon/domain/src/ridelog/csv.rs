//! Tables: a line of names, then one sample a line.
//!
//! Comma, semicolon or tab between the cells; where it is not a comma, a comma may stand in
//! numbers as the decimal sign.

use super::columns::{Meaning, Named};
use super::gather::{Figures, Gather, short};
use super::{Column, Format, Log, LogError};

/// The columns of a table.
struct Layout {
    time: usize,
    meaning: Meaning,
    figures: Vec<(usize, Column, f64)>,
}

pub(super) fn read(text: &[u8], named: &Named) -> Result<Log, LogError> {
    let delimiter = delimiter(text);
    let mut reader = ::csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .flexible(true)
        .has_headers(false)
        .from_reader(text);
    let mut row = ::csv::ByteRecord::new();
    if !matches!(reader.read_byte_record(&mut row), Ok(true)) {
        return Err(LogError::Empty);
    }
    let names: Vec<String> = row.iter().map(text_of).collect();
    let Some((layout, unread)) = layout(&names, named) else {
        return Err(LogError::NoTimes {
            found: short(&names.join(", ")),
        });
    };
    let mut gather = Gather::new(Format::Csv, matches!(layout.meaning, Meaning::Moment));
    for (name, twice) in unread {
        gather.unread(&name, twice);
    }
    // Read from memory into bytes, a row cannot fail: neither the disk nor an encoding can.
    while matches!(reader.read_byte_record(&mut row), Ok(true)) {
        take(&row, &layout, delimiter != b',', &mut gather);
    }
    gather.finish()
}

/// The sign between cells: that of the three which the first line has most of.
fn delimiter(text: &[u8]) -> u8 {
    let line = text.split(|b| *b == b'\n').next().unwrap_or(text);
    let count = |sign: u8| line.iter().filter(|b| **b == sign).count();
    let mut best = b',';
    for sign in [b';', b'\t'] {
        if count(sign) > count(best) {
            best = sign;
        }
    }
    best
}

fn text_of(cell: &[u8]) -> String {
    String::from_utf8_lossy(cell).trim().to_owned()
}

/// The names not read, with whether another said the same.
type Unread = Vec<(String, bool)>;

/// The layout, and the names not read; `None` without times. Columns named by hand come first.
fn layout(names: &[String], named: &Named) -> Option<(Layout, Unread)> {
    let mut time = None;
    let mut figures: Vec<(usize, Column, f64)> = Vec::new();
    let mut unread = Vec::new();
    let mut columns: Vec<(usize, &String)> = names.iter().enumerate().collect();
    columns.sort_by_key(|(_, name)| !named.names(name));
    for (i, name) in columns {
        match named.meaning(name) {
            Some(Meaning::Figure(column, _)) if figures.iter().any(|(_, known, _)| *known == column) => {
                unread.push((name.clone(), true));
            }
            Some(Meaning::Figure(column, factor)) => figures.push((i, column, factor)),
            Some(_) if time.is_some() => unread.push((name.clone(), true)),
            Some(meaning) => time = Some((i, meaning)),
            None => unread.push((name.clone(), false)),
        }
    }
    let (time, meaning) = time?;
    let layout = Layout {
        time,
        meaning,
        figures,
    };
    Some((layout, unread))
}

fn take(row: &::csv::ByteRecord, layout: &Layout, commas: bool, gather: &mut Gather) {
    let cell = |i: usize| row.get(i).map(text_of).unwrap_or_default();
    let number = |text: &str| {
        let parsed = if commas {
            text.replace(',', ".").parse::<f64>()
        } else {
            text.parse()
        };
        parsed.ok().filter(|value| value.is_finite())
    };
    let text = cell(layout.time);
    let time = match layout.meaning {
        Meaning::Elapsed(factor) => number(&text).map(|value| value * factor),
        Meaning::Moment | Meaning::Figure(..) => moment(&text).or_else(|| number(&text)),
    };
    let Some(time) = time else {
        gather.no_time();
        return;
    };
    let mut figures = Figures::default();
    for (i, column, factor) in &layout.figures {
        let text = cell(*i);
        match number(&text) {
            Some(value) => figures[*column as usize] = Some(value * factor),
            None if text.is_empty() => {}
            None => gather.wrong(*column),
        }
    }
    gather.take(time, &figures);
}

/// Seconds since 1970 of a date with time and zone (a zone left out is taken as UTC).
pub(super) fn moment(text: &str) -> Option<f64> {
    let zoned = text.parse::<jiff::Timestamp>().ok();
    let stamp = zoned.or_else(|| {
        let civil: jiff::civil::DateTime = text.parse().ok()?;
        jiff::tz::TimeZone::UTC.to_timestamp(civil).ok()
    })?;
    Some(stamp.as_second() as f64 + f64::from(stamp.subsec_nanosecond()) * 1e-9)
}
