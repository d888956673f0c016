//! Where blocks come to stand.

use super::*;
use crate::model::{Column, Room, Table};

fn document(blocks: Vec<Block>) -> Document {
    Document {
        kind: "Test".into(),
        title: "of the layout".into(),
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: "foot".into(),
        day: None,
    }
}

/// The words of each page, in the order in which they were set.
fn pages_of(blocks: Vec<Block>) -> Vec<Vec<String>> {
    let document = document(blocks);
    let laid = pages(&document, None);
    let words = |put: &Put<'_>| match &put.item {
        Item::Text { text, .. } => Some(text.trim().to_owned()),
        _ => None,
    };
    laid.pages
        .iter()
        .map(|page| page.iter().filter_map(words).collect())
        .collect()
}

fn lines(count: usize) -> Vec<Block> {
    (0..count).map(|at| Block::Text(format!("line {at}"))).collect()
}

/// Whatever stands before it: no page ends with a heading, in whatever order headings come.
#[test]
fn no_heading_is_the_last_of_its_page() {
    let table = Table {
        columns: vec![Column::words("one"), Column::numbers("two")],
        rows: vec![vec!["a".into(), "1".into()]; 3],
    };
    for count in 30..60 {
        let mut blocks = lines(count);
        blocks.push(Block::Heading("HEAD".into()));
        blocks.push(Block::Subheading("SUB".into()));
        blocks.push(Block::Table(table.clone()));
        for page in pages_of(blocks) {
            let at = page.iter().position(|words| words == "SUB" || words == "HEAD");
            if let Some(at) = at {
                assert!(page[at..].contains(&"a".to_owned()), "{count}: {page:?}");
            }
        }
    }
}

#[test]
fn room_to_write_goes_to_the_end_of_the_page_and_leaves_what_is_signed_below_it() {
    let mut blocks = lines(10);
    blocks.push(Block::Room(Room {
        label: "noticed".into(),
        lines: 2,
        grows: true,
    }));
    blocks.push(Block::Signatures(vec!["ridden by".into()]));
    let pages = pages_of(blocks);
    assert_eq!(pages.len(), 1);
    assert!(pages[0].contains(&"ridden by".to_owned()));
}

#[test]
fn heads_of_a_table_stand_on_every_page_and_are_read_out_once() {
    let table = Table {
        columns: vec![Column::words("HEAD"), Column::words("other")],
        rows: vec![vec!["a".into(), "b".into()]; 120],
    };
    let document = document(vec![Block::Table(table)]);
    let laid = pages(&document, None);
    let heads: Vec<_> = laid
        .pages
        .iter()
        .map(|page| {
            let is_head = |put: &&Put<'_>| matches!(&put.item, Item::Text { text, .. } if text == "HEAD");
            page.iter()
                .filter(is_head)
                .map(|put| put.of.is_some())
                .collect::<Vec<_>>()
        })
        .collect();
    assert!(heads.len() > 1);
    assert_eq!(heads[0], [true]);
    assert!(heads[1..].iter().all(|page| *page == [false]), "{heads:?}");
}
