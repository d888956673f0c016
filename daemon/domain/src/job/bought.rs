//! What the pieces of a job cost.

use super::Job;
use crate::money::Money;
use crate::supply::piece::{Fate, Piece};

impl Job {
    /// What a piece cost: as the shelf knew it, or by the order line it came with. `None` where nobody typed a price.
    pub fn paid_for(&self, piece: &Piece) -> Option<Money> {
        if piece.item.is_some() {
            return piece.paid;
        }
        let mut lines = self.orders.iter().rev();
        let came_with = lines.find(|line| line.slot == Some(piece.slot) && line.came_at == Some(piece.came));
        if let Some(line) = came_with {
            return line.price;
        }
        // One that was taken off and went on again is two pieces and was bought once.
        let went_on = |before: &&Piece| {
            let left = before.left.as_ref();
            let is_on_again = left.is_some_and(|left| left.fate == Fate::Refitted && left.at == piece.came);
            before.slot == piece.slot
                && before.goods == piece.goods
                && before.came < piece.came
                && is_on_again
        };
        self.paid_for(self.pieces.iter().find(went_on)?)
    }

    /// Pieces that are in the shop for this job, on the bicycle or beside it, and were bought as far as anybody knows.
    pub fn bought_and_here(&self) -> impl Iterator<Item = &Piece> {
        let is_here = |piece: &&Piece| piece.left.is_none() || piece.is_loose();
        let is_bought = |piece: &&Piece| {
            piece.item.is_some() || piece.supplier.is_some() || self.paid_for(piece).is_some()
        };
        self.pieces.iter().filter(is_here).filter(is_bought)
    }

    /// What the pieces cost that this job used up: those on the bicycle, unless it was not converted, and those that were
    /// thrown away or went to whoever paid. Pieces nobody typed a price for count nothing.
    pub fn used_up(&self) -> Money {
        let is_used = |piece: &&Piece| match piece.left.as_ref().map(|left| left.fate) {
            None => !self.is_given_up(),
            Some(Fate::Scrapped | Fate::Gone) => true,
            Some(Fate::Swapped | Fate::Returned | Fate::PutBack | Fate::Refitted) => false,
        };
        let used = self.pieces.iter().filter(is_used);
        used.filter_map(|piece| self.paid_for(piece)).sum()
    }

    /// What its parts cost beyond what the lines of its quote say: pieces are bought with or without a cost in their line.
    /// Of a bicycle that was not converted the lines count where its rider pays for them, less the pieces among them that
    /// were not used.
    pub fn parts_cost(&self) -> Money {
        let used = self.used_up();
        if self.is_given_up() {
            let quoted = if self.pays_its_lines() {
                self.account.parts_cost() - self.not_used()
            } else {
                Money::ZERO
            };
            return used.max(quoted);
        }
        let over = used - self.account.quoted_parts_cost();
        self.account.parts_cost() + over.max(Money::ZERO)
    }

    /// What the pieces cost that a bicycle that was not converted left over: here still, on the shelf, or with the supplier.
    fn not_used(&self) -> Money {
        let went_back = self.pieces.iter().filter(|piece| {
            let fate = piece.left.as_ref().map(|left| left.fate);
            matches!(fate, Some(Fate::Returned | Fate::PutBack))
        });
        let left_over = self.bought_and_here().chain(went_back);
        left_over.filter_map(|piece| self.paid_for(piece)).sum()
    }
}
