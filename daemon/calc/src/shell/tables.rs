//! Stored bottom-bracket shells.
//!
//! Press-fit shells are named by bore and width. Width lists name the usual ones; a kit's
//! band is compared with the measured width, never with these.

use crate::doubt::Basis;

/// Hand of a thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Hand {
    /// Tightens anticlockwise.
    Left,
    /// Tightens clockwise.
    Right,
}

/// Thread of a shell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    /// Major diameter, mm.
    pub diameter_mm: f64,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// Hand on the drive (right) side.
    pub drive: Hand,
    /// Hand on the other side.
    pub other: Hand,
}

/// What comes of screwing one thread into another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ThreadFit {
    /// It screws in.
    Screws,
    /// Nearly the same size with another pitch or diameter: forcing it in ruins the shell.
    RuinsShell,
    /// The same size with the other hand on the drive side.
    WrongHand,
    /// Another size altogether.
    OtherSize,
}

/// Threads of one pitch screw together up to this difference of diameter, mm: 1.375 in and
/// 1.370 in interchange, 0.127 mm apart (common practice: dealer tables, read).
const INTERCHANGE_MM: f64 = 0.2;
/// Difference of diameter up to which a wrong cup can be forced in, mm (judgement).
const FORCED_MM: f64 = 0.5;
/// Pitches closer than this are one pitch, mm: 1.058 and 1.000 are two.
const SAME_PITCH_MM: f64 = 0.01;

impl Thread {
    /// What comes of screwing a part with this thread into a shell's thread.
    pub fn into_shell(&self, shell: &Self) -> ThreadFit {
        let apart = (self.diameter_mm - shell.diameter_mm).abs();
        if apart >= FORCED_MM - 1e-9 {
            ThreadFit::OtherSize
        } else if (self.pitch_mm - shell.pitch_mm).abs() > SAME_PITCH_MM || apart > INTERCHANGE_MM + 1e-9 {
            ThreadFit::RuinsShell
        } else if self.drive == shell.drive && self.other == shell.other {
            ThreadFit::Screws
        } else {
            ThreadFit::WrongHand
        }
    }
}

/// What catches out whoever takes a shell for an ordinary one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Trap {
    /// Unequal halves: the left face lies further from the frame's centre plane than the drive face.
    UnequalHalves,
    /// Cone and lock nut of the crank have left-hand threads.
    LeftHandNut,
}

/// One shell standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShellStandard {
    /// Short name, unique in the table.
    pub id: &'static str,
    /// Thread; `None` for a plain bore.
    pub thread: Option<Thread>,
    /// Least and greatest bore inside the thread, or of the plain bore, mm; `None` when not
    /// known.
    pub bore_mm: Option<[f64; 2]>,
    /// Usual widths, mm.
    pub widths_mm: &'static [f64],
    /// How the row is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
    /// What catches people out.
    pub trap: Option<Trap>,
}

impl ShellStandard {
    const fn with(self, trap: Trap) -> Self {
        Self {
            trap: Some(trap),
            ..self
        }
    }
}

const INCH: f64 = 25.4;
const PRACTICE: &str = "common practice: dealer tables of bottom-bracket standards, read; no publication";
const CRIB: &str = "Brown, threaded bottom-bracket cribsheet (from memory)";
const MEMORY: &str = "from memory";

#[rustfmt::skip]
const fn thread(diameter_mm: f64, pitch_mm: f64, drive: Hand) -> Option<Thread> {
    Some(Thread { diameter_mm, pitch_mm, drive, other: Hand::Right })
}

#[rustfmt::skip]
const fn row(
    id: &'static str, thread: Option<Thread>, bore_mm: Option<[f64; 2]>, widths_mm: &'static [f64],
    basis: Basis, source: &'static str,
) -> ShellStandard {
    ShellStandard { id, thread, bore_mm, widths_mm, basis, source, trap: None }
}

#[rustfmt::skip]
const fn plain(id: &'static str, bore: f64, widths_mm: &'static [f64], basis: Basis) -> ShellStandard {
    let source = match basis { Basis::Memory => MEMORY, _ => PRACTICE };
    row(id, None, Some([bore, bore]), widths_mm, basis, source)
}

/// The stored shells, threaded first.
///
/// English and Swiss threads are left-handed on the drive side; Italian and French are
/// right-handed on both. French 35 × 1 and English 1.370 in × 24 nearly pass for each other:
/// forcing one into the other ruins the shell.
#[rustfmt::skip]
pub const SHELLS: &[ShellStandard] = &[
    row("english", thread(1.370 * INCH, INCH / 24.0, Hand::Left), Some([33.6, 33.9]),
        &[68.0, 73.0, 70.0, 83.0, 100.0, 120.0], Basis::Read, PRACTICE),
    row("iso-1.375", thread(1.375 * INCH, INCH / 24.0, Hand::Left), Some([33.6, 33.9]),
        &[68.0, 73.0, 70.0, 83.0, 100.0, 120.0], Basis::Read, PRACTICE),
    row("italian", thread(36.0, INCH / 24.0, Hand::Right), Some([34.6, 34.9]), &[70.0], Basis::Read, PRACTICE),
    row("french", thread(35.0, 1.0, Hand::Right), Some([33.6, 33.9]), &[68.0], Basis::Read, PRACTICE),
    row("swiss", thread(35.0, 1.0, Hand::Left), Some([33.6, 33.9]), &[68.0], Basis::Memory, CRIB),
    row("english-26", thread(1.370 * INCH, INCH / 26.0, Hand::Left), None, &[71.0, 76.0], Basis::Memory, CRIB),
    row("m47", thread(47.0, 1.0, Hand::Left), Some([46.0, 46.1]),
        &[68.0, 73.0, 77.0, 85.5, 86.5], Basis::Memory, "widths: common practice; hand and bore from memory"),
    row("english-fat", thread(1.370 * INCH, INCH / 24.0, Hand::Left), Some([33.6, 33.9]),
        &[100.0, 120.0], Basis::Memory, MEMORY),
    plain("press-42x68", 42.0, &[68.0], Basis::Read),
    plain("press-42x73", 42.0, &[73.0], Basis::Read),
    plain("press-42x83", 42.0, &[83.0], Basis::Read).with(Trap::UnequalHalves),
    plain("press-41x86.5", 41.0, &[86.5], Basis::Read),
    plain("press-41x92", 41.0, &[92.0, 89.5], Basis::Read),
    plain("press-41x121", 41.0, &[121.0], Basis::Memory),
    plain("press-41x132", 41.0, &[132.0], Basis::Memory),
    plain("press-46x61", 46.0, &[61.0], Basis::Read),
    plain("press-46x68", 46.0, &[68.0], Basis::Read),
    plain("press-46x73", 46.0, &[73.0], Basis::Read),
    plain("press-46x79", 46.0, &[79.0], Basis::Read).with(Trap::UnequalHalves),
    plain("press-46x83", 46.0, &[83.0], Basis::Read),
    plain("press-46x86.5", 46.0, &[86.5], Basis::Read),
    plain("press-37x90", 37.0, &[90.0], Basis::Read),
    plain("press-37x95", 37.0, &[95.0], Basis::Memory),
    row("one-piece", None, Some([51.3, 51.4]), &[65.0, 68.0], Basis::Read, PRACTICE).with(Trap::LeftHandNut),
    plain("one-piece-small", 43.0, &[65.0], Basis::Read),
    plain("bmx-mid", 41.2, &[68.0, 73.0], Basis::Memory),
    plain("bmx-spanish", 37.0, &[68.0], Basis::Memory),
    row("press-cup", None, Some([30.0, 45.0]), &[65.0, 68.0, 70.0], Basis::Read,
        "Brown, unthreaded bottom-bracket cribsheet"),
    row("clamped-cartridge", None, Some([34.9, 35.0]), &[65.0, 68.0, 70.0, 73.0], Basis::Read,
        "Brown, unthreaded bottom-bracket cribsheet"),
];

/// The stored shell of that name.
pub fn shell(id: &str) -> Option<&'static ShellStandard> {
    SHELLS.iter().find(|row| row.id == id)
}
