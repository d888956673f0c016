//! What the shop buys and keeps: suppliers, order lines, goods that come, the shelf, recalls.

pub mod event;
pub mod goods_in;
pub mod item;
pub mod leaving;
pub mod line;
pub mod piece;
pub mod recall;
pub mod shelf;
pub mod stocking;
pub mod supplier;

/// A serial number or lot mark as it is looked for: case and blanks do not matter, because
/// marks are read off labels and typed by hand.
pub fn mark_key(mark: &str) -> String {
    mark.chars()
        .filter(|letter| !letter.is_whitespace())
        .flat_map(char::to_uppercase)
        .collect()
}
