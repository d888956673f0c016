//! A report as sections of rows, so that text, JSON and CSV show the same cells.

use jiff::civil::Date;

/// A report.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sheet {
    /// What it is.
    pub(crate) title: String,
    /// First day it is about.
    pub(crate) from: Date,
    /// Last day it is about.
    pub(crate) to: Date,
    /// The sections, in order.
    pub(crate) sections: Vec<Section>,
}

/// One table of a report.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Section {
    /// The word programs use.
    pub(crate) key: &'static str,
    /// What people read.
    pub(crate) title: &'static str,
    /// The columns: key, title, unit.
    pub(crate) columns: &'static [(&'static str, &'static str, &'static str)],
    /// The rows, a cell for each column.
    pub(crate) rows: Vec<Vec<String>>,
    /// Said instead of rows, or beside them.
    pub(crate) note: String,
}

impl Section {
    /// A section without rows.
    pub(crate) const fn new(
        key: &'static str,
        title: &'static str,
        columns: &'static [(&'static str, &'static str, &'static str)],
    ) -> Self {
        Self {
            key,
            title,
            columns,
            rows: Vec::new(),
            note: String::new(),
        }
    }

    /// Adds a row.
    pub(crate) fn row<const N: usize>(&mut self, cells: [String; N]) {
        debug_assert_eq!(N, self.columns.len(), "a cell for each column of {}", self.key);
        self.rows.push(cells.into());
    }

    /// What to say when there are no rows.
    #[must_use]
    pub(crate) fn or(mut self, nothing: &str) -> Self {
        if self.rows.is_empty() {
            self.note = nothing.to_owned();
        }
        self
    }
}
