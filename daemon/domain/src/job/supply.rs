//! What entries of orders, receipts and returns do to a job: its order lines over time, and
//! every piece that ever was on it.

use jiff::Timestamp;
use jiff::civil::Date;

use super::{Job, Order};
use crate::money::Money;
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::stage::Stage;
use crate::supply::event::SupplyEvent;
use crate::supply::line::OrderLine;
use crate::supply::piece::{self, Fate, Left, Off, Piece};

impl Job {
    /// The line of a slot that is still awaited.
    pub fn open_order(&self, slot: Slot) -> Option<&OrderLine> {
        let mut lines = self.orders.iter().rev();
        lines.find(|line| line.slot == Some(slot) && line.is_open())
    }

    /// The line that the part of a slot is awaited with; not one for a part no longer wanted.
    pub fn wanted_order(&self, slot: Slot) -> Option<&OrderLine> {
        let mut lines = self.orders.iter().rev();
        lines.find(|line| line.slot == Some(slot) && line.is_open() && !self.is_unwanted(line))
    }

    /// How the part of a slot is on order: as the build has it, or by a line that is still awaited, as when a piece of the
    /// shelf lay in its place for a while.
    pub fn order_of(&self, slot: Slot) -> Option<Order> {
        let line = self.build.get(&slot)?;
        line.order.clone().or_else(|| {
            let line = self.wanted_order(slot)?;
            Some(Order {
                supplier: line.supplier.clone(),
                due: line.due,
                at: line.at,
            })
        })
    }

    /// Whether the part of a slot is neither ordered nor here.
    pub fn is_to_order(&self, slot: Slot) -> bool {
        let is_absent = self.build.get(&slot).is_some_and(|line| line.receipt.is_none());
        is_absent && self.order_of(slot).is_none()
    }

    /// The piece that is in a slot now.
    pub fn piece(&self, slot: Slot) -> Option<&Piece> {
        let mut pieces = self.pieces.iter().rev();
        pieces.find(|piece| piece.slot == slot && piece.left.is_none())
    }

    /// Pieces that were taken off the job and of which nobody said where they went, oldest first.
    pub fn loose(&self) -> impl Iterator<Item = &Piece> {
        self.pieces.iter().filter(|piece| piece.is_loose())
    }

    /// Pieces that came for a bicycle that was not converted and went nowhere since, oldest first.
    pub fn left_over(&self) -> impl Iterator<Item = &Piece> {
        let unconverted = matches!(self.stage, Stage::Returned | Stage::Cancelled);
        let here = move |piece: &&Piece| unconverted && piece.left.is_none();
        self.pieces.iter().filter(here)
    }

    /// The piece that an entry sends somewhere when it is taken now.
    pub fn sent(&self, event: &SupplyEvent) -> Option<&Piece> {
        let slot = event.slot();
        match event {
            SupplyEvent::PartReturned { .. }
            | SupplyEvent::PutBack { .. }
            | SupplyEvent::PartWent { off: None, .. } => self.piece(slot),
            SupplyEvent::PartWent { off: Some(off), .. } => {
                self.loose().find(|piece| piece.slot == slot && off.means(piece))
            }
            SupplyEvent::OrderMoved { .. }
            | SupplyEvent::OrderCancelled { .. }
            | SupplyEvent::Credited { .. } => None,
        }
    }

    /// Whether a line awaits a part that the build no longer wants.
    pub fn is_unwanted(&self, line: &OrderLine) -> bool {
        let wanted = line.slot.and_then(|slot| self.build.get(&slot));
        line.is_open() && wanted.is_none_or(|wanted| wanted.part.id != line.goods.part)
    }

    pub(super) fn order(
        &mut self,
        slot: Slot,
        supplier: &str,
        due: Option<Date>,
        price: Option<Money>,
        at: Timestamp,
    ) {
        let Some(line) = self.build.get_mut(&slot) else {
            return;
        };
        line.order = Some(Order {
            supplier: supplier.to_owned(),
            due,
            at,
        });
        let goods = (&line.part).into();
        if let Some(before) = self.open_line(slot) {
            before.cancelled = Some(format!("ordered from {supplier} instead"));
        }
        let number = self.orders.len() as u64 + 1;
        self.orders.push(OrderLine {
            due,
            price,
            ..OrderLine::new(number, Some(slot), goods, 1, supplier.to_owned(), at)
        });
    }

    fn open_line(&mut self, slot: Slot) -> Option<&mut OrderLine> {
        let mut lines = self.orders.iter_mut().rev();
        lines.find(|line| line.slot == Some(slot) && line.is_open())
    }

    /// A part arrived, or more is known of the one that did.
    pub(super) fn receive(&mut self, receipt: &Receipt, seq: u64, at: Timestamp) {
        let slot = receipt.slot;
        let Some(line) = self.build.get_mut(&slot) else {
            return;
        };
        let before = line.receipt.replace(receipt.clone());
        let goods = (&line.part).into();
        let mut supplier = line.order.as_ref().map(|order| order.supplier.clone());
        let is_same = before
            .as_ref()
            .is_some_and(|before| piece::is_same(before, receipt));
        if !is_same || receipt.damaged().is_none() {
            line.damaged_in.clear();
        }
        if receipt.damaged().is_some() {
            line.damaged_in.push(seq);
        }
        if is_same {
            let known = self.pieces.iter_mut().rev();
            let mut known = known.filter(|piece| piece.slot == slot && piece.left.is_none());
            if let Some(known) = known.next() {
                known.serial.clone_from(&receipt.serial);
                known.lot.clone_from(&receipt.lot);
            }
            return;
        }
        if before.is_some() {
            self.make_stale(slot);
        }
        self.leaves(slot, at, Fate::Swapped, "another came in its place");
        if receipt.shelf.is_some() || supplier.is_none() {
            supplier.clone_from(&receipt.supplier);
        }
        // What comes from the shelf is brought by no order.
        let order = self.open_line(slot).filter(|_| receipt.shelf.is_none());
        if let Some(line) = order {
            line.arrived(1, at);
        }
        self.pieces.push(Piece {
            slot,
            goods,
            serial: receipt.serial.clone(),
            lot: receipt.lot.clone(),
            supplier,
            came: at,
            item: receipt.shelf,
            left: None,
            paid: receipt.paid,
        });
    }

    /// After handover another piece took the place of the one in a slot, as its receipt says.
    pub(super) fn swap_piece(&mut self, slot: Slot, at: Timestamp, fate: Fate, why: &str) {
        self.leaves(slot, at, fate, why);
        let Some(line) = self.build.get(&slot) else {
            return;
        };
        let Some(receipt) = &line.receipt else { return };
        self.pieces.push(Piece {
            slot,
            goods: (&line.part).into(),
            serial: receipt.serial.clone(),
            lot: receipt.lot.clone(),
            supplier: None,
            came: at,
            item: None,
            left: None,
            paid: None,
        });
    }

    /// The piece of a slot leaves the job.
    pub(super) fn leaves(&mut self, slot: Slot, at: Timestamp, fate: Fate, why: &str) {
        let pieces = self.pieces.iter_mut().rev();
        let mut there = pieces.filter(|piece| piece.slot == slot && piece.left.is_none());
        if let Some(piece) = there.next() {
            piece.left = Some(Left {
                at,
                fate,
                why: why.to_owned(),
            });
        }
    }

    pub(super) fn take_supply(&mut self, event: &SupplyEvent, at: Timestamp) {
        match event {
            SupplyEvent::OrderMoved { slot, due, why } => {
                if let Some(line) = self.open_line(*slot) {
                    line.moved(*due, at, why);
                }
                if let Some(order) = self.build.get_mut(slot).and_then(|line| line.order.as_mut()) {
                    order.due = Some(*due);
                }
            }
            SupplyEvent::OrderCancelled { slot, why } => {
                if let Some(line) = self.open_line(*slot) {
                    line.cancelled = Some(why.clone());
                }
                if let Some(line) = self.build.get_mut(slot) {
                    line.order = None;
                }
            }
            SupplyEvent::PartReturned { slot, why, moved } => {
                let from_shelf = self.piece(*slot).is_some_and(|piece| piece.item.is_some());
                let moved = self.piece(*slot).filter(|_| *moved).cloned();
                self.empties(*slot, at, Fate::Returned, why);
                let mut came = self
                    .orders
                    .iter_mut()
                    .rev()
                    .filter(|line| line.slot == Some(*slot) && !from_shelf && line.came > line.returned);
                if let Some(line) = came.next() {
                    line.went_back(1, why);
                }
                self.owe(moved, why);
            }
            SupplyEvent::Credited {
                slot,
                amount,
                ordered,
            } => {
                let mut owed = self.orders.iter_mut().rev().filter(|line| {
                    let is_it = ordered.is_none_or(|at| line.at == at);
                    line.slot == Some(*slot) && line.returned > 0 && is_it
                });
                if let Some(line) = owed.next() {
                    line.credited = line.credited + *amount;
                }
            }
            SupplyEvent::PutBack { slot, why, .. } => self.empties(*slot, at, Fate::PutBack, why),
            SupplyEvent::PartWent {
                slot,
                off,
                to,
                why,
                moved,
                ..
            } => {
                let moved = self.sent(event).filter(|_| *moved).cloned();
                match off {
                    None => self.empties(*slot, at, *to, why),
                    Some(off) => self.loose_goes(*slot, off, at, *to, why),
                }
                self.owe(moved, why);
            }
        }
    }

    /// The supplier of a piece that came by way of the shelf owes for it, whoever ordered it.
    fn owe(&mut self, moved: Option<Piece>, why: &str) {
        let Some(piece) = moved else { return };
        let number = self.orders.len() as u64 + 1;
        let supplier = piece.supplier.unwrap_or_default();
        let line = OrderLine::new(number, Some(piece.slot), piece.goods, 1, supplier, piece.came);
        self.orders.push(line.owed(piece.paid, why));
    }

    /// A piece that was taken off goes somewhere; the oldest when two are alike.
    fn loose_goes(&mut self, slot: Slot, off: &Off, at: Timestamp, to: Fate, why: &str) {
        let meant = |piece: &&mut Piece| piece.slot == slot && piece.is_loose() && off.means(piece);
        let Some(piece) = self.pieces.iter_mut().find(meant) else {
            return;
        };
        let from_shelf = piece.item.is_some();
        piece.left = Some(Left {
            at,
            fate: to,
            why: why.to_owned(),
        });
        if to == Fate::Returned && !from_shelf {
            let of_it = |line: &&mut OrderLine| {
                let is_its = off.came.is_none_or(|came| line.came_at == Some(came));
                line.slot == Some(slot) && line.goods.part == off.part && line.came > line.returned && is_its
            };
            if let Some(line) = self.orders.iter_mut().find(of_it) {
                line.went_back(1, why);
            }
        }
    }

    /// The slot waits for a part again.
    fn empties(&mut self, slot: Slot, at: Timestamp, fate: Fate, why: &str) {
        self.leaves(slot, at, fate, why);
        let Some(line) = self.build.get_mut(&slot) else {
            return;
        };
        line.order = None;
        if line.receipt.take().is_some() {
            self.make_stale(slot);
        }
    }
}
