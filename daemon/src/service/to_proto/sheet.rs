//! Reports as sections of rows.

use lockring_proto::v1;

use crate::report::sheet::{Section, Sheet};

/// A report.
pub(crate) fn report_sheet(sheet: &Sheet) -> v1::Sheet {
    v1::Sheet {
        title: sheet.title.clone(),
        from: sheet.from.to_string(),
        to: sheet.to.to_string(),
        sections: sheet.sections.iter().map(section).collect(),
    }
}

fn section(section: &Section) -> v1::Section {
    let column = |(key, title, unit): &(&str, &str, &str)| v1::Column {
        key: (*key).to_owned(),
        title: (*title).to_owned(),
        unit: (*unit).to_owned(),
    };
    v1::Section {
        key: section.key.to_owned(),
        title: section.title.to_owned(),
        columns: section.columns.iter().map(column).collect(),
        rows: section
            .rows
            .iter()
            .map(|cells| v1::Row { cells: cells.clone() })
            .collect(),
        note: section.note.clone(),
    }
}
