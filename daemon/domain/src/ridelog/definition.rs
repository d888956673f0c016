//! Definition messages of a FIT file, made such that the decoder takes any of them.
//!
//! The decoder prints on a field whose size does not fit its type, and wants developers' fields
//! described to it in full. Both are rewritten here: a misfit becomes plain bytes, a developer's
//! field becomes an ordinary one under a number that is free.

use std::collections::HashMap;

use super::columns::Meaning;

/// Number of the field that holds a message's time.
pub(super) const STAMP: u8 = 253;
/// Global number of the message that holds a sample.
pub(super) const RECORD: u16 = 20;
/// Global number of the message that describes a developer's field.
pub(super) const DESCRIPTION: u16 = 206;

/// Base type "byte".
const BYTE: u8 = 0x0D;
/// Base type of times, 32 bits without sign.
const UINT32: u8 = 0x86;

/// What a file says of a developer's field.
#[derive(Debug, Clone, Copy)]
pub(super) struct Described {
    pub base: u8,
    pub meaning: Option<Meaning>,
}

/// Descriptions by developer and field number.
pub(super) type Descriptions = HashMap<(u8, u8), Described>;

/// A definition message.
#[derive(Debug, Clone)]
pub(super) struct Definition {
    /// Which message it defines.
    pub global: u16,
    /// Its bytes in the file.
    pub length: usize,
    /// Bytes of a data message of this kind behind its first.
    pub payload: usize,
    /// Where in the payload the time stands, if it does.
    stamp: Option<usize>,
    big_endian: bool,
    /// The same definition for the decoder.
    pub rewritten: Vec<u8>,
    /// Meaning of developers' fields, by the number they got.
    pub extra: Vec<(u8, Meaning)>,
}

impl Definition {
    /// Reads a definition message; `None` when these bytes are none or not all of it is there.
    pub(super) fn read(bytes: &[u8], described: &Descriptions) -> Option<Self> {
        let [header, _, order, low, high, fields] = *bytes.first_chunk()?;
        if header & 0xC0 != 0x40 || order > 1 || fields == 0 {
            return None;
        }
        let big_endian = order == 1;
        let number = [low, high];
        let mut definition = Self {
            global: if big_endian {
                u16::from_be_bytes(number)
            } else {
                u16::from_le_bytes(number)
            },
            length: 6 + 3 * usize::from(fields),
            payload: 0,
            stamp: None,
            big_endian,
            rewritten: vec![header & !0x20, 0, order, low, high, fields],
            extra: Vec::new(),
        };
        for field in bytes.get(6..definition.length)?.chunks_exact(3) {
            definition.field(field[0], field[1], field[2])?;
        }
        if header & 0x20 != 0 {
            definition.developers(bytes, fields, described)?;
        }
        Some(definition)
    }

    fn field(&mut self, number: u8, size: u8, base: u8) -> Option<()> {
        let width = width(base)?;
        if size == 0 {
            return None;
        }
        if number == STAMP && base == UINT32 && size == 4 {
            self.stamp = Some(self.payload);
        }
        let base = if size.is_multiple_of(width) { base } else { BYTE };
        self.rewritten.extend([number, size, base]);
        self.payload += usize::from(size);
        Some(())
    }

    fn developers(&mut self, bytes: &[u8], fields: u8, described: &Descriptions) -> Option<()> {
        let count = *bytes.get(self.length)?;
        self.rewritten[5] = fields.checked_add(count)?;
        let start = self.length + 1;
        self.length = start + 3 * usize::from(count);
        let mut free = STAMP;
        for field in bytes.get(start..self.length)?.chunks_exact(3) {
            free = (0..free).rev().find(|number| !self.has(*number))?;
            let known = described.get(&(field[2], field[0]));
            self.field(free, field[1], known.map_or(BYTE, |known| known.base))?;
            if let Some(meaning) = known.and_then(|known| known.meaning) {
                self.extra.push((free, meaning));
            }
        }
        Some(())
    }

    fn has(&self, number: u8) -> bool {
        self.rewritten[6..]
            .chunks_exact(3)
            .any(|field| field[0] == number)
    }

    /// The time in a data message of this kind (its first byte included), read without decoding.
    pub(super) fn stamp(&self, message: &[u8]) -> Option<u32> {
        let start = 1 + self.stamp?;
        let bytes = *message.get(start..)?.first_chunk()?;
        Some(if self.big_endian {
            u32::from_be_bytes(bytes)
        } else {
            u32::from_le_bytes(bytes)
        })
    }

    /// Whether it defines samples with a time: no other bytes look like that by chance.
    pub(super) const fn is_sample(&self) -> bool {
        self.global == RECORD && self.stamp.is_some()
    }
}

/// Bytes of one value of a base type; `None` for a type there is not.
fn width(base: u8) -> Option<u8> {
    const WIDTHS: [u8; 17] = [1, 1, 1, 2, 2, 4, 4, 1, 4, 8, 1, 2, 4, 1, 8, 8, 8];
    WIDTHS.get(usize::from(base & 0x1F)).copied()
}

#[cfg(test)]
mod tests {
    use super::super::columns::Column;
    use super::*;

    #[test]
    fn sizes_order_and_time_are_read() {
        let little = [0x43, 0, 0, 20, 0, 2, 7, 2, 0x84, 253, 4, 0x86];
        let definition = Definition::read(&little, &Descriptions::new()).unwrap();
        assert_eq!(
            (definition.global, definition.length, definition.payload),
            (20, 12, 6)
        );
        assert_eq!(definition.rewritten, little);
        assert!(definition.is_sample());
        assert_eq!(definition.stamp(&[3, 9, 9, 1, 2, 0, 0]), Some(513));
        assert_eq!(definition.stamp(&[3, 9, 9, 1, 2, 0]), None);
        let big = [0x43, 0, 1, 0, 20, 2, 7, 2, 0x84, 253, 4, 0x86];
        let definition = Definition::read(&big, &Descriptions::new()).unwrap();
        assert_eq!(definition.global, 20);
        assert_eq!(definition.stamp(&[3, 9, 9, 0, 0, 2, 1]), Some(513));
    }

    #[test]
    fn what_is_no_definition_is_refused() {
        let good = [0x40, 0, 0, 20, 0, 1, 7, 2, 0x84];
        let read = |bytes: &[u8]| Definition::read(bytes, &Descriptions::new()).is_some();
        assert!(read(&good));
        for (at, value) in [(0, 0x00), (0, 0xC0), (2, 2), (5, 0), (5, 2), (7, 0), (8, 0x91)] {
            let mut bad = good;
            bad[at] = value;
            assert!(!read(&bad), "byte {at} as {value}");
        }
        for end in 0..good.len() {
            assert!(!read(&good[..end]), "{end} bytes");
        }
    }

    #[test]
    fn a_misfit_becomes_bytes_and_a_developers_field_an_ordinary_one() {
        // Power of 3 bytes; a developer's field 5 of developer 1 next to field 252.
        let bytes = [0x60, 0, 0, 20, 0, 2, 7, 3, 0x84, 252, 1, 0x02, 1, 5, 2, 1];
        let meaning = Meaning::Figure(Column::MotorPower, 1.0);
        let known = Described {
            base: 0x84,
            meaning: Some(meaning),
        };
        let described = Descriptions::from([((1, 5), known)]);
        let definition = Definition::read(&bytes, &described).unwrap();
        assert_eq!((definition.length, definition.payload), (16, 6));
        assert_eq!(
            definition.rewritten,
            [0x40, 0, 0, 20, 0, 3, 7, 3, BYTE, 252, 1, 0x02, 251, 2, 0x84]
        );
        assert_eq!(definition.extra, [(251, meaning)]);
        assert!(!definition.is_sample());
        let unknown = Definition::read(&bytes, &Descriptions::new()).unwrap();
        assert_eq!(unknown.rewritten[12..], [251, 2, BYTE]);
        assert_eq!(unknown.extra, []);
        assert!(Definition::read(&bytes[..15], &described).is_none());
        assert!(Definition::read(&bytes[..12], &described).is_none());
    }
}
