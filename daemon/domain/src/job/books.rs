//! What entries make of the money of a job and of its life after handover.

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::Job;
use crate::account::AccountEvent;
use crate::after::{AfterEvent, Claim, Swap, Visited};
use crate::fact::{Fact, Provenance, Value};
use crate::money::Money;
use crate::origin::Origin;
use crate::supply::piece::Fate;

impl Job {
    /// A total or a payment typed as a fact stands in the account too.
    pub(super) fn take_typed_money(&mut self, values: &BTreeMap<String, Value>) {
        if let Some(Value::Money(minor)) = values.get("quote") {
            self.account.take_typed_quote(Money(*minor));
        }
        if let Some(Value::Money(minor)) = values.get("paid") {
            self.account.take_typed_paid(Money(*minor));
        }
    }

    /// What the account says stands as facts too, so that checks and lists have one figure.
    pub(super) fn post_account(&mut self, event: &AccountEvent, seq: u64, at: Timestamp) {
        let quote = ("quote", self.account.to_pay());
        let paid = ("paid", self.account.paid());
        let facts = match event {
            AccountEvent::Quoted(_) | AccountEvent::Struck { .. } => vec![quote],
            AccountEvent::Paid { .. } => vec![quote, paid],
            AccountEvent::Ceiling { .. }
            | AccountEvent::Agreed { .. }
            | AccountEvent::Invoiced { .. }
            | AccountEvent::Taxed { .. } => Vec::new(),
        };
        let has_total = !self.account.lines.is_empty() || self.account.typed_quote.is_some();
        for (key, amount) in facts {
            // A payment before anything was quoted quotes nothing.
            if key == "quote" && !has_total {
                self.facts.remove(key);
                continue;
            }
            let fact = Fact {
                value: Value::Money(amount.0),
                provenance: Provenance::Stated,
                readings: Vec::new(),
                spread: 0.0,
                seq,
                at,
                stale: None,
            };
            self.facts.insert(key.into(), fact.into());
        }
    }

    pub(super) fn take_after(&mut self, event: &AfterEvent, seq: u64, origin: &Origin) {
        let at = origin.made;
        match event {
            AfterEvent::Visited(visit) => self.after.visits.push(Visited {
                at,
                by: origin.by.clone(),
                visit: visit.clone(),
            }),
            AfterEvent::Claimed {
                number,
                against,
                about,
                amount,
            } => self.after.claims.push(Claim {
                number: *number,
                against: *against,
                about: about.clone(),
                amount: *amount,
                opened: at,
                settled: None,
            }),
            AfterEvent::ClaimSettled { number, paid, how } => {
                for claim in self
                    .after
                    .claims
                    .iter_mut()
                    .filter(|claim| claim.number == *number)
                {
                    claim.settled = Some((at, *paid, how.clone()));
                }
            }
            AfterEvent::Swapped {
                slot,
                serial_out,
                serial_in,
                lot_in,
                payer,
                why,
            } => {
                let mut lot_out = String::new();
                if let Some(receipt) = self.build.get_mut(slot).and_then(|line| line.receipt.as_mut()) {
                    lot_out = receipt.lot.take().unwrap_or_default();
                    receipt.serial = Some(serial_in.clone());
                    receipt.lot = Some(lot_in.clone()).filter(|lot| !lot.is_empty());
                }
                // Nobody was asked then where the one went that came off. It counts as gone to whoever paid: else every
                // swap of years would lie loose on the first evening, of parts that nobody can find any more.
                self.swap_piece(*slot, at, Fate::Gone, why);
                self.after.swaps.push(Swap {
                    at,
                    slot: *slot,
                    serial_out: serial_out.clone(),
                    lot_out,
                    serial_in: serial_in.clone(),
                    lot_in: lot_in.clone(),
                    payer: *payer,
                    why: why.clone(),
                });
            }
            AfterEvent::Replaced {
                serial_out,
                came,
                payer,
                why,
            } => {
                let line = self.build.get_mut(&came.slot);
                let gone = line.and_then(|line| {
                    line.damaged_in = came.damaged().map(|_| seq).into_iter().collect();
                    line.receipt.replace(came.clone())
                });
                self.swap_piece(came.slot, at, Fate::Swapped, why);
                self.after.swaps.push(Swap {
                    at,
                    slot: came.slot,
                    serial_out: serial_out.clone(),
                    lot_out: gone.and_then(|gone| gone.lot).unwrap_or_default(),
                    serial_in: came.serial.clone().unwrap_or_default(),
                    lot_in: came.lot.clone().unwrap_or_default(),
                    payer: *payer,
                    why: why.clone(),
                });
            }
            // The same piece, of which more is known.
            AfterEvent::LookedAt(receipt) => self.receive(receipt, seq, at),
        }
    }
}
