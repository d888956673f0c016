//! Documents and pictures: what people look at rather than read on a terminal.
//!
//! A document is built once as a [`model::Document`] from the daemon's own answers (so that each
//! figure on paper is the figure of `--json`) and written twice: as a page that needs nothing but
//! itself ([`html`]) and as a PDF made without a browser ([`pdf`]). No file is touched here.
#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod html;
pub mod kinds;
pub mod model;
pub mod pdf;
pub mod picture;
