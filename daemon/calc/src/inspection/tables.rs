//! Stored criteria of the intake and of the handover.

use super::{Need, ROUNDING, Worn};
use crate::doubt::Basis;

use self::Criterion::{Above, AtLeast, AtMost, Below, ByHand, NoneSeen, Seen, Within};

/// What an item must be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Criterion {
    /// None of it may be seen.
    NoneSeen,
    /// It must be seen.
    Seen,
    /// By hand: no play, no notch; no publication gives a number.
    ByHand,
    /// This much or more, in the unit named.
    AtLeast(f64, &'static str),
    /// This much or less.
    AtMost(f64, &'static str),
    /// More than this.
    Above(f64, &'static str),
    /// Less than this.
    Below(f64, &'static str),
    /// Between these, ends included.
    Within(f64, f64, &'static str),
}

/// A criterion and what missing it needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WearItem {
    /// Short name, unique in its table.
    pub id: &'static str,
    /// What it must be.
    pub criterion: Criterion,
    /// What a miss needs.
    pub need: Need,
    /// How the criterion is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

impl WearItem {
    /// Judges what the eye or hand says: `true` for seen (cracks, a mark), for a bearing felt
    /// without play or notch. `None` for an item with a number.
    pub fn judge_seen(&self, seen: bool) -> Option<Worn> {
        let good = match self.criterion {
            NoneSeen => !seen,
            Seen | ByHand => seen,
            _ => return None,
        };
        Some(Worn::seen(self.need_if(!good), self.basis))
    }

    /// Judges a value in the item's unit; `None` for an item of eye or hand and for a value that
    /// is not a number.
    pub fn judge_number(&self, value: f64) -> Option<Worn> {
        if value.is_nan() {
            return None;
        }
        let (limit, margin, strict) = match self.criterion {
            AtLeast(least, _) => (least, value - least, false),
            AtMost(most, _) => (most, most - value, false),
            Above(least, _) => (least, value - least, true),
            Below(most, _) => (most, most - value, true),
            Within(least, most, _) if value - least < most - value => (least, value - least, false),
            Within(_, most, _) => (most, most - value, false),
            NoneSeen | Seen | ByHand => return None,
        };
        let good = if strict {
            margin > ROUNDING
        } else {
            margin >= -ROUNDING
        };
        Some(Worn::measured(self.need_if(!good), limit, margin, self.basis))
    }

    /// Unit of the number; `None` for an item of eye or hand.
    pub const fn unit(&self) -> Option<&'static str> {
        match self.criterion {
            AtLeast(_, unit) | AtMost(_, unit) | Above(_, unit) | Below(_, unit) | Within(_, _, unit) => {
                Some(unit)
            }
            NoneSeen | Seen | ByHand => None,
        }
    }

    const fn need_if(&self, missed: bool) -> Need {
        if missed { self.need } else { Need::Nothing }
    }
}

const PRACTICE: &str = "common practice, read; no publication";
const MANUAL: &str = "an owner's manual, read";
const RECALLED: &str = "from memory";
const TBIS_4210: &str = "TBIS 4210-2:2018";
const TBIS_15194: &str = "TBIS 15194:2019";

#[rustfmt::skip]
const fn row(id: &'static str, criterion: Criterion, need: Need, basis: Basis, source: &'static str) -> WearItem {
    WearItem { id, criterion, need, basis, source }
}

/// Criteria of the donor bicycle's inspection. Chain, rotor, pads, rim and clearance have
/// functions of their own, which weigh several of these rows.
#[rustfmt::skip]
pub const WEAR_ITEMS: &[WearItem] = &[
    row("frame-crack", NoneSeen, Need::Reject, Basis::Read, PRACTICE),
    row("frame-wrinkle", NoneSeen, Need::Reject, Basis::Read, PRACTICE),
    row("frame-bulge", NoneSeen, Need::Reject, Basis::Read, PRACTICE),
    row("frame-paint-cracked", NoneSeen, Need::Reject, Basis::Read, PRACTICE),
    row("frame-twist", NoneSeen, Need::Watch, Basis::Read, PRACTICE),
    row("fork-steel", Seen, Need::Watch, Basis::Read, PRACTICE),
    row("fork-replaced", NoneSeen, Need::Watch, Basis::Read, PRACTICE),
    row("rim-wear-mark", Seen, Need::Replace, Basis::Read, PRACTICE),
    row("rim-wall", Above(1.0, "mm"), Need::Replace, Basis::Read, PRACTICE),
    row("rim-out-of-shape", NoneSeen, Need::Replace, Basis::Read, PRACTICE),
    row("run-out-new", AtMost(0.8, "mm"), Need::Adjust, Basis::Read, TBIS_15194),
    row("run-out-new-racing", AtMost(0.6, "mm"), Need::Adjust, Basis::Read, TBIS_15194),
    row("run-out-used", AtMost(2.0, "mm"), Need::Replace, Basis::Read, MANUAL),
    row("wheel-clearance", AtLeast(6.0, "mm"), Need::Replace, Basis::Read, MANUAL),
    row("wheel-clearance-racing", AtLeast(4.0, "mm"), Need::Replace, Basis::Read, MANUAL),
    row("chain-11-12", Below(0.5, "%"), Need::Replace, Basis::Memory, RECALLED),
    row("chain-5-10", Below(0.75, "%"), Need::Replace, Basis::Memory, RECALLED),
    row("chain-single", Below(1.0, "%"), Need::Replace, Basis::Memory, RECALLED),
    row("chain-motor", Below(0.5, "%"), Need::Replace, Basis::Judgement, "workshop judgement"),
    row("chain-ruler", Below(1.0 / 16.0, "in in 12 in"), Need::Replace, Basis::Read, PRACTICE),
    row("chain-ruler-mates", Below(1.0 / 8.0, "in in 12 in"), Need::ReplaceWithMates, Basis::Read, PRACTICE),
    row("rotor-unmarked", AtLeast(1.5, "mm"), Need::Replace, Basis::Read, "makers' pages, read"),
    row("rotor-worn-by", AtMost(0.3, "mm"), Need::Replace, Basis::Read, "makers' pages, read"),
    row("disc-pad", Above(0.5, "mm"), Need::Replace, Basis::Read, PRACTICE),
    row("disc-pad-left", AtLeast(100.0 / 3.0, "%"), Need::Replace, Basis::Read, PRACTICE),
    row("rim-pad", AtLeast(1.0, "mm"), Need::Replace, Basis::Memory, RECALLED),
    row("rim-pad-line-reached", NoneSeen, Need::Replace, Basis::Memory, RECALLED),
    row("tyre-casing-cut-or-seen", NoneSeen, Need::Replace, Basis::Memory, RECALLED),
    row("tyre-cracked-or-bulging", NoneSeen, Need::Replace, Basis::Memory, RECALLED),
    row("cable-cap", AtLeast(20.0, "N"), Need::Adjust, Basis::Read, TBIS_15194),
    row("cable-strand-severed", NoneSeen, Need::Replace, Basis::Read, TBIS_15194),
    row("bolt-beyond-nut", AtMost(1.0, "thread diameters"), Need::Adjust, Basis::Read, TBIS_4210),
    row("headset", ByHand, Need::Adjust, Basis::Judgement, "workshop judgement"),
    row("bottom-bracket", ByHand, Need::Adjust, Basis::Judgement, "workshop judgement"),
    row("hubs", ByHand, Need::Adjust, Basis::Judgement, "workshop judgement"),
    row("insertion-mark-exposed", NoneSeen, Need::Adjust, Basis::Read, TBIS_4210),
    row("seatpost-insertion", AtLeast(65.0, "mm"), Need::Adjust, Basis::Memory, "ISO 4210-2, from memory; or its mark"),
    row("handlebar-width", Within(350.0, 1000.0, "mm"), Need::Replace, Basis::Read, TBIS_4210),
    row("grips-above-saddle", AtMost(400.0, "mm"), Need::Adjust, Basis::Read, TBIS_4210),
    row("two-independent-brakes", Seen, Need::Replace, Basis::Read, TBIS_4210),
    row("lever-span", AtMost(89.0, "mm"), Need::Adjust, Basis::Read, "TBIS 4210-2:2018; 16 CFR 1512"),
];

/// Row of [`WEAR_ITEMS`] by its name.
pub fn wear_item(id: &str) -> Option<&'static WearItem> {
    WEAR_ITEMS.iter().find(|row| row.id == id)
}
