//! What is told beside running text: verdicts, steps of arithmetic, warnings, pictures.

use super::{Face, Item, LEAD, SHRINK, SMALL, Setter};
use crate::model::{Caution, Picture, Verdict, clean};
use crate::pdf::tags::Role;

impl<'a> Setter<'a> {
    /// Width of the frame that a verdict's word stands in.
    const VERDICT: f32 = 66.0;

    pub(super) fn verdict_lines(&self, verdict: &Verdict) -> Vec<String> {
        let title = clean(&verdict.title);
        let width = self.wide() - Self::VERDICT - 6.0;
        self.measure.lines(&title, self.size, Face::Bold, width)
    }

    /// A verdict's sign and word in a frame, what was checked beside it.
    pub(super) fn verdict(&mut self, verdict: &Verdict) {
        self.y += self.size * 0.6;
        let lines = self.verdict_lines(verdict);
        let words = format!("{} {}", verdict.sign(), verdict.word);
        self.room(lines.len() as f32 * self.lead());
        let (x, y, size) = (self.left, self.y, self.size);
        self.put(Item::Frame {
            x,
            y,
            width: Self::VERDICT,
            height: size * 1.4,
        });
        let said = format!("{}: {}", verdict.word, clean(&verdict.title));
        self.tree.stands(3, &said, self.pages.len() - 1, y);
        self.tree.open(Role::Heading(3, said));
        self.text(x + 4.0, y + size * 1.02, size, Face::Bold, format!("{words} "));
        let last = lines.len() - 1;
        for (at, mut line) in lines.into_iter().enumerate() {
            if at < last {
                line.push(' ');
            }
            self.text(
                x + Self::VERDICT + 6.0,
                self.y + size * 1.02,
                size,
                Face::Bold,
                line,
            );
            self.y += self.lead();
        }
        self.tree.close();
        self.y += 1.5;
    }

    /// Lines of arithmetic, each with a bar before it.
    pub(super) fn steps(&mut self, steps: &[String]) {
        self.tree.open(Role::List);
        for step in steps {
            self.tree.open(Role::Entry);
            let x = self.left + 14.0;
            let (from, page) = (self.y, self.pages.len());
            self.paragraph(Role::Body, x, self.size * 0.92, Face::Plain, step);
            if self.pages.len() == page {
                let (x, height) = (self.left + 6.0, self.y - from);
                self.put(Item::Bar {
                    x,
                    y: from + 1.5,
                    width: 1.2,
                    height,
                });
            }
            self.tree.close();
        }
        self.tree.close();
        self.y += 2.0;
    }

    fn caution_lines(&self, caution: &Caution) -> (Vec<String>, Vec<String>) {
        let width = self.wide() - 16.0;
        let words = match caution.word.as_str() {
            "" => clean(&caution.text),
            word => format!("{}. {}", clean(word), clean(&caution.text)),
        };
        let said = self.measure.lines(&words, self.size, Face::Plain, width);
        let source = match caution.source.as_str() {
            "" => Vec::new(),
            source => self
                .measure
                .lines(&clean(source), self.size * SMALL, Face::Plain, width),
        };
        (said, source)
    }

    pub(super) fn caution_height(&self, caution: &Caution) -> f32 {
        let (said, source) = self.caution_lines(caution);
        (said.len() as f32 + SMALL * source.len() as f32).mul_add(self.lead(), 10.0)
    }

    pub(super) fn caution(&mut self, caution: &Caution) {
        let (said, source) = self.caution_lines(caution);
        let height = self.caution_height(caution) - 4.0;
        self.room(height);
        let (x, y, width) = (self.left, self.y, self.wide());
        self.put(Item::Frame { x, y, width, height });
        self.put(Item::Bar {
            x,
            y,
            width: 6.0,
            height,
        });
        self.tree.open(Role::Paragraph);
        let mut at = y + 3.0;
        let small = self.size * SMALL;
        let lines = said.into_iter().map(|line| (self.size, line));
        for (size, line) in lines
            .chain(source.into_iter().map(|line| (small, line)))
            .collect::<Vec<_>>()
        {
            self.text(x + 12.0, at + size, size, Face::Plain, format!("{line} "));
            at += size * LEAD;
        }
        self.tree.close();
        self.y += height + 4.0;
    }

    /// Width and height of a picture on this sheet.
    pub(super) fn drawn(&self, picture: &Picture) -> (f32, f32) {
        let room = self.bottom - self.top - 5.5 * self.lead();
        let width = self.wide() * picture.share;
        let height = (width / picture.aspect).min(room);
        (height * picture.aspect, height)
    }

    /// Height of what is written below a picture.
    pub(super) fn caption(&self, picture: &Picture) -> f32 {
        let size = self.size * SMALL;
        let lines = self
            .measure
            .lines(&clean(&picture.text), size, Face::Plain, self.wide());
        (lines.len() as f32 * size).mul_add(LEAD, 6.0)
    }

    pub(super) fn picture(&mut self, picture: &'a Picture) {
        let (mut width, mut height) = self.drawn(picture);
        let left = self.bottom - self.y - self.caption(picture);
        if height > left && left >= SHRINK * height {
            (width, height) = (left * picture.aspect, left);
        }
        self.room(height + self.caption(picture));
        let figure = self.tree.add(Role::Figure(clean(&picture.text)));
        let (x, y) = (self.left, self.y);
        self.put_of(
            Some(figure),
            Item::Drawing {
                x,
                y,
                width,
                height,
                svg: &picture.svg,
            },
        );
        self.y += height + 2.0;
        self.paragraph(
            Role::Caption,
            self.left,
            self.size * SMALL,
            Face::Plain,
            &picture.text,
        );
        self.y += 4.0;
    }
}
