//! What the shop buys and keeps: suppliers, order lines, goods that come, the shelf, recalls.

pub mod supplier;
