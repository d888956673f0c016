//! How large a drawing is: wide for paper and screens, narrow for telephones.

/// How large a drawing and its type are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct View {
    /// Units across.
    pub(super) width: u32,
    /// Size of labels.
    pub(super) label: i32,
    /// Size of the axes' names.
    pub(super) axis: i32,
    /// Room for the numbers of an upright axis.
    pub(super) beside: u32,
}

/// For paper and screens.
pub(super) const WIDE: View = View {
    width: 760,
    label: 14,
    axis: 15,
    beside: 52,
};
/// For telephones, where it is shown about as large as it is drawn.
pub(super) const NARROW: View = View {
    width: 350,
    label: 11,
    axis: 12,
    beside: 42,
};

impl View {
    /// Width of a text in the label's size, nearly: DejaVu Sans is 0.6 em wide on the average.
    pub(super) fn wide(self, text: &str) -> i32 {
        (text.chars().count() as f32 * 0.62 * self.label as f32).ceil() as i32
    }
}
