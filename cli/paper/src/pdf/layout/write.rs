//! Where people write: the brief above it, boxes, ruled room, lines to sign on.

use super::{Face, Item, LEAD, SMALL, Setter};
use crate::model::{Box, Room, clean};
use crate::pdf::tags::Role;

/// Height of a line to write on, in points: 9 mm, for a hand in a glove (judgement).
const LINE: f32 = 25.5;

/// What stands beside a box: the label, what is allowed, what it is typed in as.
struct Beside {
    label: Vec<String>,
    allowed: Vec<String>,
    code: Vec<String>,
}

impl Setter<'_> {
    /// The brief in the largest type: a name in small type, and what it says.
    pub(super) fn brief(&mut self, lines: &[(String, String)]) {
        self.tree.open(Role::List);
        for (name, text) in lines {
            self.tree.open(Role::Entry);
            // As large as it may be and still stand in one line.
            let one = self.measure.width(&clean(text), 1.0, Face::Bold);
            let size = (self.wide() / one.max(1.0)).clamp(self.size, self.size * 1.3);
            let set = self.measure.lines(&clean(text), size, Face::Bold, self.wide());
            let small = self.size * SMALL;
            self.room((set.len() as f32 * size).mul_add(LEAD, small * LEAD));
            self.paragraph(Role::Label, self.left, small, Face::Plain, name);
            self.y -= small * 0.25;
            self.paragraph(Role::Body, self.left, size, Face::Bold, text);
            self.tree.close();
        }
        self.tree.close();
        self.y += 3.0;
    }

    fn box_width(&self) -> f32 {
        self.wide() * if self.is_stand { 0.3 } else { 0.24 }
    }

    fn beside(&self, one: &Box) -> Beside {
        let wide = self.wide() - self.box_width() - 8.0;
        let set = |text: &str, size: f32, face: Face| match text {
            "" => Vec::new(),
            text => self.measure.lines(&clean(text), size, face, wide),
        };
        Beside {
            label: set(&one.label, self.size, Face::Plain),
            allowed: set(&one.beside, self.size, Face::Bold),
            code: set(&one.code, self.size * SMALL, Face::Plain),
        }
    }

    pub(super) fn box_height(&self, one: &Box) -> f32 {
        let Beside { label, allowed, code } = self.beside(one);
        let lines = SMALL.mul_add(code.len() as f32, (label.len() + allowed.len()) as f32);
        (lines * self.lead()).max(self.box_side()) + 5.0
    }

    fn box_side(&self) -> f32 {
        self.size * if self.is_stand { 2.5 } else { 2.1 }
    }

    pub(super) fn writing_box(&mut self, one: &Box) {
        let (height, wide) = (self.box_side(), self.box_width());
        let needed = self.box_height(one);
        self.room(needed);
        let (x, y) = (self.left, self.y);
        self.put(Item::Frame {
            x,
            y,
            width: wide,
            height,
        });
        self.tree.open(Role::Paragraph);
        let beside = self.beside(one);
        let size = self.size;
        let lines = beside.label.into_iter().map(|line| (size, Face::Plain, line));
        let lines = lines.chain(beside.allowed.into_iter().map(|line| (size, Face::Bold, line)));
        let small = size * SMALL;
        let lines = lines.chain(beside.code.into_iter().map(|line| (small, Face::Plain, line)));
        let mut at = y;
        for (size, face, line) in lines.collect::<Vec<_>>() {
            self.text(x + wide + 8.0, at + size, size, face, format!("{line} "));
            at += size * LEAD;
        }
        // What was recorded is read after what it is.
        let value = clean(&one.value);
        let value = self.measure.lines(&value, size, Face::Bold, wide - 8.0);
        let down = size.mul_add(0.35, height / 2.0);
        self.text(x + 4.0, y + down, size, Face::Bold, value.join(" "));
        self.tree.close();
        self.y += needed;
    }

    pub(super) fn room_height(&self, room: &Room) -> f32 {
        f32::from(room.lines).mul_add(LINE, self.lead() + 8.0)
    }

    /// A frame with lines, to the end of the page: there is never too much room. `below` is left for what is
    /// signed.
    pub(super) fn writing_room(&mut self, room: &Room, below: f32) {
        self.room(self.room_height(room) + below);
        let (x, y, width) = (self.left, self.y, self.wide());
        let height = match room.grows {
            true => self.bottom - y - below,
            false => self.room_height(room).min(self.bottom - y),
        };
        self.put(Item::Frame {
            x,
            y,
            width,
            height: height - 6.0,
        });
        self.tree.open(Role::Paragraph);
        let label = self
            .measure
            .lines(&clean(&room.label), self.size * SMALL, Face::Plain, width - 10.0);
        let first = label.into_iter().next().unwrap_or_default();
        self.text(x + 5.0, y + self.size, self.size * SMALL, Face::Plain, first);
        self.tree.close();
        let mut line = y + self.lead() + LINE;
        while line < y + height - 10.0 {
            self.put(Item::Bar {
                x: x + 5.0,
                y: line,
                width: width - 10.0,
                height: 0.3,
            });
            line += LINE;
        }
        self.y += height;
    }

    pub(super) fn signatures(&mut self, names: &[String]) {
        let count = names.len().max(1) as f32;
        let wide = self.wide() / count;
        self.room(self.size * 5.0);
        self.y += self.size * 3.0;
        let y = self.y;
        for (at, name) in (0u8..).zip(names) {
            let x = f32::from(at).mul_add(wide, self.left);
            self.put(Item::Bar {
                x,
                y,
                width: wide - 12.0,
                height: 0.6,
            });
            let line = self
                .measure
                .lines(&clean(name), self.size, Face::Plain, wide - 12.0)
                .swap_remove(0);
            self.tree.open(Role::Paragraph);
            self.text(x, y + self.size * 1.2, self.size, Face::Plain, line);
            self.tree.close();
        }
        self.y += self.size * 1.8;
    }
}
