//! What each piece of a page is, for those who are read to: the tree of a tagged PDF (ISO 32000-1:2008, 14.8; ISO
//! 14289-1:2014) and its outline.

use std::num::NonZeroU16;

use krilla::destination::XyzDestination;
use krilla::geom::Point;
use krilla::outline::{Outline, OutlineNode};
use krilla::tagging::{Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagTree};

/// What a piece is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Role {
    /// A heading of this level, from 1, and its words.
    Heading(u16, String),
    Paragraph,
    /// Entries, each with a label and what belongs to it.
    List,
    Entry,
    Label,
    Body,
    Table,
    Head,
    Rows,
    Row,
    HeadCell,
    Cell,
    /// A drawing and what it shows.
    Figure(String),
    Caption,
}

/// The number of a piece in its tree.
pub(super) type Piece = usize;

struct Grown {
    role: Role,
    inside: Vec<Piece>,
}

/// Where a heading stands.
struct Place {
    level: u16,
    words: String,
    page: usize,
    y: f32,
}

/// All pieces of a document, in reading order.
#[derive(Default)]
pub(super) struct Tree {
    pieces: Vec<Grown>,
    roots: Vec<Piece>,
    open: Vec<Piece>,
    headings: Vec<Place>,
}

impl Tree {
    /// Begins a piece inside the one that is open.
    pub(super) fn open(&mut self, role: Role) -> Piece {
        let piece = self.add(role);
        self.open.push(piece);
        piece
    }

    /// Ends the piece that was begun last.
    pub(super) fn close(&mut self) {
        self.open.pop();
    }

    /// Adds a piece inside the open one, and leaves that open.
    pub(super) fn add(&mut self, role: Role) -> Piece {
        let piece = self.pieces.len();
        self.pieces.push(Grown {
            role,
            inside: Vec::new(),
        });
        match self.open.last() {
            Some(parent) => self.pieces[*parent].inside.push(piece),
            None => self.roots.push(piece),
        }
        piece
    }

    /// The piece that is open.
    pub(super) fn now(&self) -> Option<Piece> {
        self.open.last().copied()
    }

    /// Where the heading that is begun stands.
    pub(super) fn stands(&mut self, level: u16, words: &str, page: usize, y: f32) {
        self.headings.push(Place {
            level,
            words: words.to_owned(),
            page,
            y,
        });
    }

    /// The tree for the file, from what was drawn of each piece.
    pub(super) fn tags(&self, drawn: &mut [Vec<Identifier>]) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some("en".to_owned()));
        for root in &self.roots {
            tree.push(self.group(*root, drawn));
        }
        tree
    }

    /// How many pieces there are.
    pub(super) fn len(&self) -> usize {
        self.pieces.len()
    }

    fn group(&self, piece: Piece, drawn: &mut [Vec<Identifier>]) -> TagGroup {
        let Grown { role, inside } = &self.pieces[piece];
        let own = std::mem::take(&mut drawn[piece]);
        let mut children: Vec<Node> = own.into_iter().map(Node::from).collect();
        children.extend(inside.iter().map(|inner| Node::from(self.group(*inner, drawn))));
        match role {
            Role::Heading(level, words) => {
                let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
                TagGroup::with_children(Tag::Hn(level, Some(words.clone())), children)
            }
            Role::Paragraph => TagGroup::with_children(Tag::P, children),
            Role::List => TagGroup::with_children(Tag::L(ListNumbering::None), children),
            Role::Entry => TagGroup::with_children(Tag::LI, children),
            Role::Label => TagGroup::with_children(Tag::Lbl, children),
            Role::Body => TagGroup::with_children(Tag::LBody, children),
            Role::Table => TagGroup::with_children(Tag::Table, children),
            Role::Head => TagGroup::with_children(Tag::THead, children),
            Role::Rows => TagGroup::with_children(Tag::TBody, children),
            Role::Row => TagGroup::with_children(Tag::TR, children),
            Role::HeadCell => TagGroup::with_children(Tag::TH(TableHeaderScope::Column), children),
            Role::Cell => TagGroup::with_children(Tag::TD, children),
            Role::Figure(text) => TagGroup::with_children(Tag::Figure(Some(text.clone())), children),
            Role::Caption => TagGroup::with_children(Tag::Caption, children),
        }
    }

    /// The headings, for the reader's margin.
    pub(super) fn outline(&self) -> Outline {
        let mut outline = Outline::new();
        let mut chapter: Option<OutlineNode> = None;
        for place in self.headings.iter() {
            let target = XyzDestination::new(place.page, Point::from_xy(0.0, place.y));
            let node = OutlineNode::new(place.words.clone(), target);
            match (&mut chapter, place.level) {
                (Some(above), 3..) => above.push_child(node),
                (above, _) => {
                    if let Some(done) = above.replace(node) {
                        outline.push_child(done);
                    }
                }
            }
        }
        if let Some(last) = chapter {
            outline.push_child(last);
        }
        outline
    }
}
