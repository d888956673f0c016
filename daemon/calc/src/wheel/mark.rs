//! Reading a tyre's size mark.
//!
//! The mark `WW-DDD` (ISO 5775: section width and bead-seat diameter in mm) names one size.
//! The inch and letter names often do not: decimal and fraction forms are different sizes
//! (26 × 1.5 is 559 mm, 26 × 1 1/2 is 584), and "20 inch" alone is several. Where a name is
//! ambiguous every candidate is returned and nothing is guessed.

use std::fmt;

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::Length;

/// A bead-seat diameter and the names it goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BeadSeat {
    /// Diameter, mm.
    pub mm: u16,
    /// Names in use.
    pub names: &'static str,
    /// How the row is known.
    pub basis: Basis,
}

#[rustfmt::skip]
const fn read(mm: u16, names: &'static str) -> BeadSeat {
    BeadSeat { mm, names, basis: Basis::Read }
}

#[rustfmt::skip]
const fn recalled(mm: u16, names: &'static str) -> BeadSeat {
    BeadSeat { mm, names, basis: Basis::Memory }
}

/// Bead-seat diameters met, smallest first (encyclopaedia table of ETRTO sizes and common
/// practice; rows from memory are marked).
#[rustfmt::skip]
pub const BEAD_SEATS: &[BeadSeat] = &[
    read(137, "8x1 1/4"), read(152, "10x2"), read(203, "12 1/2"), read(254, "14x1.75"), read(288, "350A"),
    read(298, "14x1 3/8"), read(305, "16x1.75-2.125"), read(317, "16x1 3/4"), read(337, "16x1 3/8"),
    read(340, "400A"), read(349, "16x1 3/8"), read(355, "18x1.5-2.125"), read(369, "17x1 1/4"),
    read(387, "20x2.5 trials"), read(390, "450A"), read(406, "20x1.5-2.125"), recalled(440, "500A, 20x1 3/8"),
    read(451, "20x1 1/8, 20x1 3/8"), read(457, "22x1.75-2.125"), read(507, "24x1.5-2.125"), read(520, "24x1"),
    read(540, "24x1 3/8"), read(541, "24x1 3/8"), recalled(547, "24x1 1/4"), read(559, "26x1.00-2.3"),
    read(571, "650C, 26x1"), read(584, "650B, 26x1 1/2, 27.5"), recalled(587, "700D, 26x1"),
    read(590, "650A, 26x1 3/8"), read(597, "26x1 1/4"), read(599, "26x1.25, 26x1.375 (old)"),
    read(622, "700C, 28x1 5/8, 29"), read(630, "27x1 1/4"), read(635, "700B, 28x1 1/2"),
];

/// Names by number and letter.
#[rustfmt::skip]
const LETTERED: &[(u16, char, u16)] = &[
    (350, 'a', 288), (400, 'a', 340), (450, 'a', 390), (500, 'a', 440), (650, 'a', 590), (650, 'b', 584),
    (650, 'c', 571), (700, 'b', 635), (700, 'c', 622), (700, 'd', 587),
];

/// Fraction names: diameter in inches, width in eighths of an inch, candidates.
#[rustfmt::skip]
const FRACTIONS: &[(f64, u16, &[u16])] = &[
    (8.0, 10, &[137]), (14.0, 11, &[298]), (16.0, 14, &[317]), (16.0, 11, &[337, 340, 349]), (17.0, 10, &[369]),
    (20.0, 9, &[451]), (20.0, 11, &[440, 451]), (24.0, 8, &[520]), (24.0, 10, &[547]), (24.0, 11, &[540]),
    (26.0, 8, &[571, 587]), (26.0, 10, &[597]), (26.0, 11, &[590, 597]), (26.0, 12, &[584]),
    (27.0, 10, &[630]), (28.0, 12, &[635]), (28.0, 13, &[622]),
];

/// Decimal names: diameter, least and greatest width in inches, candidates. The first row
/// that holds counts, so the odd widths come before the range around them. 16 inch below 1.75, where the read name of
/// 305 begins, is mostly a folding bicycle's 349, and not always (workshop judgement, no source).
#[rustfmt::skip]
const DECIMALS: &[(f64, f64, f64, &[u16])] = &[
    (10.0, 1.5, 2.5, &[152]), (14.0, 1.5, 2.5, &[254]), (16.0, 1.2, 1.74, &[305, 349]), (16.0, 1.2, 3.0, &[305]), (18.0, 1.2, 3.0, &[355]),
    (20.0, 2.5, 2.5, &[387, 406]), (20.0, 1.0, 5.0, &[406]), (22.0, 1.2, 3.0, &[457]), (24.0, 1.2, 5.0, &[507]),
    (26.0, 1.25, 1.25, &[559, 599]), (26.0, 1.375, 1.375, &[559, 599]), (26.0, 1.0, 5.0, &[559]),
    (27.5, 1.2, 5.0, &[584]), (28.0, 1.0, 3.0, &[622, 635]), (29.0, 1.2, 5.0, &[622]),
];

/// Bare diameters in inches and everything they are used for.
#[rustfmt::skip]
const BARE: &[(f64, &[u16])] = &[
    (12.5, &[203]), (14.0, &[254, 298]), (16.0, &[305, 317, 337, 340, 349]), (18.0, &[355]), (20.0, &[406, 451]),
    (24.0, &[507, 520, 540, 547]), (26.0, &[559, 571, 584, 590, 597]), (27.0, &[630]), (27.5, &[584]),
    (28.0, &[622, 635]), (29.0, &[622]),
];

/// A tyre whose size is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tyre {
    /// Nominal section width.
    pub width: Length,
    /// Bead-seat diameter.
    pub bead_seat: Length,
}

/// What a size mark says.
#[derive(Debug, Clone, PartialEq)]
pub struct TyreMark {
    /// Nominal section width, when the mark names one.
    pub width: Option<Length>,
    /// Bead-seat diameters the mark can mean, mm: one when it is clear, several when the
    /// `WW-DDD` mark must be asked for; never empty.
    pub bead_seats: Vec<u16>,
}

impl TyreMark {
    /// The bead-seat diameter when only one is meant.
    pub fn bead_seat(&self) -> Option<Length> {
        match self.bead_seats[..] {
            [one] => Some(Length::millimetres(f64::from(one))),
            _ => None,
        }
    }

    /// The tyre when both width and bead seat are clear.
    pub fn known(&self) -> Option<Tyre> {
        Some(Tyre {
            width: self.width?,
            bead_seat: self.bead_seat()?,
        })
    }
}

/// A size mark that cannot be read.
#[derive(Debug, Clone, PartialEq)]
pub enum TyreError {
    /// No known form.
    Unreadable {
        /// The text given.
        text: String,
    },
    /// A known form of a size that is not stored.
    UnknownSize {
        /// The text given.
        text: String,
    },
    /// Marks of two sizes in one text.
    TwoSizes {
        /// The text given.
        text: String,
    },
    /// A width no bicycle tyre has.
    Width(FitError),
}

impl fmt::Display for TyreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { text } => {
                write!(
                    f,
                    "tyre size {text:?} is none of WW-DDD (mm), inch x inch, or number and letter"
                )
            }
            Self::UnknownSize { text } => {
                write!(
                    f,
                    "tyre size {text:?} is not stored; bead seats run from 137 to 635 mm"
                )
            }
            Self::TwoSizes { text } => write!(f, "tyre size {text:?} names two sizes"),
            Self::Width(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for TyreError {}

impl From<FitError> for TyreError {
    fn from(error: FitError) -> Self {
        Self::Width(error)
    }
}

/// An inch number as written.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Inches {
    Whole(u16),
    Decimal(f64),
    /// Eighths of an inch.
    Fraction(u16),
}

impl Inches {
    fn value(self) -> f64 {
        match self {
            Self::Whole(n) => f64::from(n),
            Self::Decimal(v) => v,
            Self::Fraction(eighths) => f64::from(eighths) / 8.0,
        }
    }
}

/// Reads a size mark: `47-559`, `32-597`, `26x1.5`, `26x1 1/2`, `26×1½`, `700x28C`, `650B`,
/// `28 inch`, `27.5x2.2`; a comma may stand for the point, and a `WW-DDD` mark wins over any
/// name beside it.
///
/// # Errors
/// [`TyreError`] when the form or the size is unknown, two marks or bead seats differ, or the width is outside
/// 10 to 130 mm.
pub fn parse_tyre(text: &str) -> Result<TyreMark, TyreError> {
    let plain = normalise(text);
    if let Some(mark) = standard_mark(&plain, text)? {
        return Ok(mark);
    }
    let unreadable = || TyreError::Unreadable {
        text: text.to_owned(),
    };
    let (left, right) = match plain.split_once('x') {
        Some((left, right)) => (left.trim(), Some(right.trim()).filter(|r| !r.is_empty())),
        None => (plain.trim(), None),
    };
    let (left, letter_left) = split_letter(left);
    let (right, letter_right) = right.map_or((None, None), |r| {
        let (number, letter) = split_letter(r);
        (Some(number), letter)
    });
    let diameter = inches(left).ok_or_else(unreadable)?;
    let width = right.map(|r| inches(r).ok_or_else(unreadable)).transpose()?;
    let letter = letter_left.or(letter_right);
    let (bead_seats, unit) = match diameter {
        Inches::Whole(number) if number >= 100 => (by_letter(number, letter), Length::millimetres(1.0)),
        _ if letter.is_some() => return Err(unreadable()),
        _ => (by_inches(diameter.value(), width), Length::inches(1.0)),
    };
    if bead_seats.is_empty() {
        return Err(TyreError::UnknownSize {
            text: text.to_owned(),
        });
    }
    let width = width.map(|w| checked_width(unit * w.value())).transpose()?;
    Ok(TyreMark { width, bead_seats })
}

fn checked_width(width: Length) -> Result<Length, FitError> {
    in_range("tyre width", width.as_millimetres(), 10.0, 130.0, "mm").map(|_| width)
}

/// Lower case, one spelling for the cross, the decimal point and fractions, no unit words.
fn normalise(text: &str) -> String {
    let mut plain = text
        .trim()
        .to_lowercase()
        .replace(',', ".")
        .replace(['×', '*'], "x");
    for (sign, spelt) in [
        ('½', "1/2"),
        ('¼', "1/4"),
        ('¾', "3/4"),
        ('⅛', "1/8"),
        ('⅜', "3/8"),
        ('⅝', "5/8"),
        ('⅞', "7/8"),
    ] {
        plain = plain.replace(sign, &format!(" {spelt}"));
    }
    for word in ["inches", "inch", "in", "\"", "″", "”"] {
        plain = plain.replace(word, " ");
    }
    plain.trim().to_owned()
}

/// The `WW-DDD` mark anywhere in the text; `None` when there is none.
fn standard_mark(plain: &str, text: &str) -> Result<Option<TyreMark>, TyreError> {
    let (mut marks, mut bare) = (Vec::new(), Vec::new());
    for token in apart(plain).split(|c: char| c.is_whitespace() || "()[]/;&+".contains(c)) {
        let Some((width, seat)) = token.split_once('-') else {
            bare.extend(bead_seat(token));
            continue;
        };
        let (Ok(width), Ok(mm)) = (width.parse::<f64>(), seat.parse::<u16>()) else {
            continue;
        };
        if seat.len() != 3 {
            continue;
        }
        if bead_seat(seat).is_none() {
            return Err(TyreError::UnknownSize {
                text: text.to_owned(),
            });
        }
        marks.push((checked_width(Length::millimetres(width))?, mm));
    }
    let Some(&(width, mm)) = marks.first() else {
        return Ok(None);
    };
    if marks.iter().any(|mark| *mark != (width, mm)) || bare.iter().any(|other| *other != mm) {
        return Err(TyreError::TwoSizes {
            text: text.to_owned(),
        });
    }
    Ok(Some(TyreMark {
        width: Some(width),
        bead_seats: vec![mm],
    }))
}

/// The text with a blank for each comma behind a bead seat, which has become a point.
fn apart(plain: &str) -> String {
    let mut spaced = String::with_capacity(plain.len());
    for letter in plain.chars() {
        let seat = spaced.rsplit('-').next().filter(|_| spaced.contains('-'));
        let ends_mark = seat.is_some_and(|seat| seat.len() == 3 && seat.bytes().all(|b| b.is_ascii_digit()));
        spaced.push(if letter == '.' && ends_mark { ' ' } else { letter });
    }
    spaced
}

/// A stored bead seat written as three digits.
fn bead_seat(digits: &str) -> Option<u16> {
    let mm = digits.parse().ok().filter(|_| digits.len() == 3)?;
    BEAD_SEATS.iter().any(|row| row.mm == mm).then_some(mm)
}

/// Takes a trailing letter a to d off a number.
fn split_letter(part: &str) -> (&str, Option<char>) {
    match part.chars().last() {
        Some(letter @ 'a'..='d') => (part[..part.len() - 1].trim(), Some(letter)),
        _ => (part, None),
    }
}

/// Reads `2`, `1.5`, `1 1/2`, `1-1/2` or `1/2`.
fn inches(part: &str) -> Option<Inches> {
    if part.contains('/') {
        let (whole, fraction) = part.rsplit_once([' ', '-']).unwrap_or(("0", part));
        let (top, bottom) = fraction.trim().split_once('/')?;
        let (whole, top, bottom) = (
            whole.trim().parse::<u16>().ok()?,
            top.parse::<u16>().ok()?,
            bottom.parse::<u16>().ok()?,
        );
        let exact = matches!(bottom, 2 | 4 | 8) && top < bottom && whole < 100;
        return exact.then(|| Inches::Fraction(whole * 8 + top * (8 / bottom)));
    }
    if part.contains('.') {
        let value = part.parse::<f64>().ok()?;
        return (value.is_finite() && value > 0.0).then_some(Inches::Decimal(value));
    }
    part.parse().ok().map(Inches::Whole)
}

/// Candidates of a number with or without its letter. A bare 700 is only ever sold as C
/// (judgement); any other bare number stays open.
fn by_letter(number: u16, letter: Option<char>) -> Vec<u16> {
    let letter = if number == 700 {
        letter.or(Some('c'))
    } else {
        letter
    };
    LETTERED
        .iter()
        .filter(|(n, l, _)| *n == number && letter.is_none_or(|wanted| wanted == *l))
        .map(|(_, _, mm)| *mm)
        .collect()
}

fn by_inches(diameter: f64, width: Option<Inches>) -> Vec<u16> {
    let same = |d: f64| (d - diameter).abs() < 1e-9;
    let found = match width {
        _ if same(12.5) => Some(&[203_u16][..]),
        None => BARE.iter().find(|(d, _)| same(*d)).map(|row| row.1),
        Some(Inches::Fraction(eighths)) => in_fractions(diameter, eighths),
        // A one-inch tyre is a fraction size; whole numbers above it are written for decimals.
        Some(Inches::Whole(1)) => in_fractions(diameter, 8),
        Some(other) => {
            let holds = |low: f64, high: f64| (low - 1e-9..=high + 1e-9).contains(&other.value());
            DECIMALS
                .iter()
                .find(|(d, low, high, _)| same(*d) && holds(*low, *high))
                .map(|row| row.3)
        }
    };
    found.map(<[u16]>::to_vec).unwrap_or_default()
}

fn in_fractions(diameter: f64, eighths: u16) -> Option<&'static [u16]> {
    FRACTIONS
        .iter()
        .find(|(d, e, _)| (d - diameter).abs() < 1e-9 && *e == eighths)
        .map(|row| row.2)
}
