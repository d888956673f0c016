//! FIT files, whole or damaged.
//!
//! The decoder does the values; where messages begin and end is kept here, because a file that was
//! cut, overwritten or never closed must still give what it holds. After a damage the next message
//! that is a sample at a time that can follow is looked for.

use std::f64::consts::TAU;

use fitparser::Value;
use fitparser::de::{FitDataMessage, FitObject, FitStreamProcessor};

use super::columns::{Meaning, meaning};
use super::crc::crc16;
use super::definition::{DESCRIPTION, Definition, Described, Descriptions, RECORD, STAMP};
use super::gather::{Figures, Gather};
use super::{Column, Format, Log, LogError, Repair};

/// 1989-12-31T00:00:00Z, where times of FIT files begin, in seconds since 1970.
const EPOCH: f64 = 631_065_600.0;

/// After a damage the next sample is looked for within an hour; judgement.
const NEAR: u32 = 3_600;

/// A step of time longer than this many seconds is damage: 30 days; judgement.
const FAR: u32 = 30 * 86_400;

/// In a damaged file a step of time longer than this many seconds counts only when the next sample
/// goes on from it; judgement: more than devices leave out between samples while they record.
const PLAIN: u32 = 10;

/// Times below are counted from when the device was switched on, says the profile of the format.
const ABSOLUTE: u32 = 0x1000_0000;

/// Places are written in parts of a half circle, 2³¹ to it: degrees of one.
const SEMICIRCLE: f64 = 180.0 / 2_147_483_648.0;

/// Opens the decoder. The length it announces is never reached: lengths are kept here.
const OPENING: [u8; 12] = *b"\x0c\x10\x00\x00\xff\xff\xff\xff.FIT";

/// Whether bytes are the beginning of a FIT file.
pub(crate) fn is_fit(bytes: &[u8]) -> bool {
    bytes.len() >= 12 && bytes[0] >= 12 && &bytes[8..12] == b".FIT"
}

pub(super) fn read(bytes: &[u8]) -> Result<Log, LogError> {
    let mut gather = Gather::new(Format::Fit, true);
    let mut at = 0;
    // A file may be several one after the other.
    while is_fit(&bytes[at..]) {
        at = one(bytes, at, &mut gather);
    }
    if at < bytes.len() {
        let rest = bytes.len() - at;
        gather.repair(Repair::Skipped { at, bytes: rest });
    }
    gather.finish()
}

/// Reads the file that begins at `start`; gives where it ends.
fn one(bytes: &[u8], start: usize, gather: &mut Gather) -> usize {
    let header = &bytes[start..];
    let announced = u32::from_le_bytes([header[4], header[5], header[6], header[7]]) as usize;
    let first = start + usize::from(header[0]);
    let data_end = first + announced;
    let whole = data_end + 2;
    let end = if announced == 0 {
        gather.repair(Repair::NeverClosed);
        bytes.len()
    } else if whole > bytes.len() {
        gather.repair(Repair::Truncated {
            bytes: bytes.len(),
            announced: Some(whole),
        });
        data_end.min(bytes.len())
    } else {
        data_end
    };
    let complete = announced > 0 && whole <= bytes.len();
    let intact = complete && crc16(&bytes[start..whole]) == 0;
    if complete && !intact {
        gather.repair(Repair::Checksum);
    }
    if let Some(mut stream) = Stream::open(&bytes[..end], complete, intact) {
        stream.run(first, gather);
    }
    if complete { whole } else { bytes.len() }
}

/// The messages of one file.
struct Stream<'a> {
    bytes: &'a [u8],
    /// Whether the file ends where it should, so that half a message at its end is damage.
    complete: bool,
    /// Whether the check sum says that nothing is damaged.
    intact: bool,
    decoder: FitStreamProcessor,
    definitions: [Option<Definition>; 16],
    /// Definitions of samples that others took the place of.
    replaced: [Option<Definition>; 16],
    described: Descriptions,
    /// Time of the last sample.
    last: Option<u32>,
    /// Samples so far.
    taken: usize,
    /// Fields of the last definition of samples, as bytes.
    fields: Vec<u8>,
}

impl<'a> Stream<'a> {
    fn open(bytes: &'a [u8], complete: bool, intact: bool) -> Option<Self> {
        let mut decoder = FitStreamProcessor::new();
        decoder.deserialize_next(&OPENING).ok()?;
        Some(Self {
            bytes,
            complete,
            intact,
            decoder,
            definitions: Default::default(),
            replaced: Default::default(),
            described: Descriptions::new(),
            last: None,
            taken: 0,
            fields: Vec::new(),
        })
    }

    fn run(&mut self, first: usize, gather: &mut Gather) {
        let mut at = first;
        while at < self.bytes.len() {
            match self.message(at, gather) {
                Some(next) => at = next,
                None if !self.complete && self.is_half(at) => return,
                None => {
                    let next = self.go_on(at + 1, gather);
                    let bytes = next - at;
                    gather.repair(Repair::Skipped { at, bytes });
                    at = next;
                }
            }
        }
    }

    /// Takes the message at a place; gives the place of the next. `None` when there is no message.
    fn message(&mut self, at: usize, gather: &mut Gather) -> Option<usize> {
        let rest = &self.bytes[at..];
        if rest[0] & 0xC0 == 0x40 {
            let mut definition = Definition::read(rest, &self.described)?;
            if definition.is_sample() {
                self.fields = definition.rewritten[6..].to_vec();
            } else if self.is_misnumbered(&definition) {
                definition.global = RECORD;
                gather.repair(Repair::Misnumbered { at });
            }
            self.decoder.deserialize_next(&definition.rewritten).ok()?;
            let next = at + definition.length;
            let place = usize::from(rest[0] & 0x0F);
            let before = self.definitions[place].replace(definition);
            if before.as_ref().is_some_and(Definition::is_sample) {
                self.replaced[place] = before;
            }
            return Some(next);
        }
        let definition = self.definitions[local(rest[0])].as_ref()?;
        let length = 1 + definition.payload;
        let message = rest.get(..length)?;
        match definition.global {
            RECORD if self.is_jump(definition, rest) => return None,
            RECORD => self.sample(message, gather)?,
            DESCRIPTION => self.describe(message, gather)?,
            _ => {}
        }
        Some(at + length)
    }

    /// In a damaged file, whether a definition has the very fields the samples had, and only its
    /// number is another.
    fn is_misnumbered(&self, definition: &Definition) -> bool {
        !self.intact
            && definition.global != RECORD
            && definition.rewritten[6..] == self.fields
            && definition.extra.is_empty()
    }

    /// In a damaged file, whether this sample's time alone leaps ahead.
    fn is_jump(&self, definition: &Definition, rest: &[u8]) -> bool {
        let Some((time, last)) = definition.stamp(rest).zip(self.last) else {
            return false;
        };
        !self.intact && time > last.saturating_add(PLAIN) && !is_followed(definition, rest)
    }

    /// Where reading goes on behind a damage: at a sample within the hour, else at two samples that
    /// follow each other later on, else at the end. A first sample from which nothing can follow
    /// was itself the damage: then the two may be earlier than it.
    fn go_on(&mut self, from: usize, gather: &mut Gather) -> usize {
        let next = self.search(from, Self::is_next);
        if next < self.bytes.len() {
            return next;
        }
        let next = self.search(from, Self::is_later);
        if next < self.bytes.len() || self.taken != 1 {
            return next;
        }
        let trusted = self.last.take();
        let next = self.search(from, Self::is_later);
        if next < self.bytes.len() {
            self.taken = 0;
            gather.forget_last();
        } else {
            self.last = trusted;
        }
        next
    }

    /// Whether a message begins here that the end of the file cuts off.
    fn is_half(&self, at: usize) -> bool {
        let rest = &self.bytes[at..];
        if rest[0] & 0xC0 == 0x40 {
            const LONGEST: usize = 6 + 3 * 255 + 1 + 3 * 255;
            return rest.len() < LONGEST && Definition::read(rest, &self.described).is_none();
        }
        self.definitions[local(rest[0])]
            .as_ref()
            .is_some_and(|definition| rest.len() <= definition.payload)
    }

    /// The next place where a sample stands that can be one, or a definition of samples; the end
    /// when there is none. A definition of samples that the damage may have put another in place of
    /// counts still.
    fn search(&mut self, from: usize, can_be: fn(&Self, &Definition, &[u8]) -> bool) -> usize {
        for at in from..self.bytes.len() {
            let rest = &self.bytes[at..];
            let place = local(rest[0]);
            let is = |definition: &Option<Definition>| {
                let sample = definition.as_ref().filter(|definition| definition.is_sample());
                sample.is_some_and(|definition| {
                    rest.len() > definition.payload && can_be(self, definition, rest)
                })
            };
            let found = match rest[0] & 0xC0 {
                0x00 if is(&self.definitions[place]) => true,
                0x00 if is(&self.replaced[place]) => self.put_back(place),
                0x40 => Definition::read(rest, &self.described).is_some_and(|d| d.is_sample()),
                _ => false,
            };
            if found {
                return at;
            }
        }
        self.bytes.len()
    }

    /// Whether a sample stands here at a time within the hour after the last.
    fn is_next(&self, definition: &Definition, rest: &[u8]) -> bool {
        let time = definition.stamp(rest).zip(self.last);
        time.is_some_and(|(time, last)| follows(time, last))
    }

    /// Whether two samples stand here at times that follow each other, after the last.
    fn is_later(&self, definition: &Definition, rest: &[u8]) -> bool {
        let time = definition.stamp(rest).unwrap_or(0);
        time >= ABSOLUTE && self.last.is_none_or(|last| time > last) && is_followed(definition, rest)
    }

    fn put_back(&mut self, place: usize) -> bool {
        let Some(definition) = self.replaced[place].take() else {
            return false;
        };
        let taken = self.decoder.deserialize_next(&definition.rewritten).is_ok();
        self.definitions[place] = Some(definition);
        taken
    }

    fn decode(&mut self, message: &[u8]) -> Option<FitDataMessage> {
        match self.decoder.deserialize_next(message) {
            Ok((_, FitObject::DataMessage(decoded))) => Some(decoded),
            _ => None,
        }
    }

    /// `None` when the time says that this is no sample.
    fn sample(&mut self, message: &[u8], gather: &mut Gather) -> Option<()> {
        let decoded = self.decode(message)?;
        let compressed = (message[0] & 0x80 != 0).then_some(u32::from(message[0] & 0x1F));
        let Some(time) = self.time(&decoded, compressed) else {
            gather.no_time();
            return Some(());
        };
        if let Some(last) = self.last {
            let possible = last.saturating_sub(NEAR)..=last.saturating_add(FAR);
            if !possible.contains(&time) {
                return None;
            }
        }
        self.last = Some(self.last.map_or(time, |last| last.max(time)));
        self.taken += 1;
        gather.take(
            EPOCH + f64::from(time),
            &self.figures(&decoded, local(message[0])),
        );
        Some(())
    }

    /// The time written, or the last one moved on by the five bits of a compressed header.
    fn time(&self, decoded: &FitDataMessage, compressed: Option<u32>) -> Option<u32> {
        match (compressed, self.last) {
            (Some(low), Some(last)) => Some(last.wrapping_add(low.wrapping_sub(last) & 0x1F)),
            _ => match decoded.fields().get(&STAMP) {
                Some(Value::UInt32(time)) => Some(*time),
                _ => None,
            },
        }
    }

    /// Figures in SI units. Numbers, scales and offsets of the fields are those of the profile
    /// published with the format, message "record".
    fn figures(&self, decoded: &FitDataMessage, local: usize) -> Figures {
        let field = |number: u8| decoded.fields().get(&number).and_then(number_of);
        let mut figures = Figures::default();
        let mut put = |column: Column, value: Option<f64>| {
            if value.is_some() {
                figures[column as usize] = value;
            }
        };
        put(Column::Altitude, field(2).map(|v| v / 5.0 - 500.0));
        put(Column::Altitude, field(78).map(|v| v / 5.0 - 500.0));
        put(Column::Speed, field(6).map(|v| v / 1000.0));
        put(Column::Speed, field(73).map(|v| v / 1000.0));
        put(Column::Distance, field(5).map(|v| v / 100.0));
        put(Column::Power, field(7));
        let part = field(53).unwrap_or(0.0) / 128.0;
        put(Column::Cadence, field(4).map(|v| (v + part) * TAU / 60.0));
        put(Column::Battery, field(81).map(|v| v / 200.0));
        put(Column::MotorPower, field(82));
        put(Column::Latitude, field(0).map(|v| v * SEMICIRCLE));
        put(Column::Longitude, field(1).map(|v| v * SEMICIRCLE));
        let extra = self.definitions[local].iter().flat_map(|d| &d.extra);
        for (number, meaning) in extra {
            if let Meaning::Figure(column, factor) = meaning {
                put(*column, field(*number).map(|v| v * factor));
            }
        }
        figures
    }

    /// Learns what a developer's field means, by the names tables use.
    fn describe(&mut self, message: &[u8], gather: &mut Gather) -> Option<()> {
        let decoded = self.decode(message)?;
        let byte = |number: u8| match decoded.fields().get(&number) {
            Some(Value::UInt8(v) | Value::Enum(v) | Value::Byte(v) | Value::UInt8z(v)) => Some(*v),
            _ => None,
        };
        let text = |number: u8| match decoded.fields().get(&number) {
            Some(Value::String(text)) => text.as_str(),
            _ => "",
        };
        let (Some(developer), Some(number), Some(base)) = (byte(0), byte(1), byte(2)) else {
            return Some(());
        };
        let (name, unit) = (text(3), text(8));
        // Scale (6) and offset (7) are not used by devices; a field that has one is not read.
        let plain = byte(6).is_none_or(|scale| scale == 1) && !decoded.fields().contains_key(&7);
        let meaning = meaning(&format!("{name} {unit}")).filter(|_| plain);
        if meaning.is_none() {
            gather.unread(name, false);
        }
        self.described
            .insert((developer, number), Described { base, meaning });
        Some(())
    }
}

/// Whether a time is within the hour after another.
const fn follows(time: u32, last: u32) -> bool {
    time > last && time - last <= NEAR
}

/// Whether another sample of its kind and of a time within the hour stands behind this one.
fn is_followed(definition: &Definition, rest: &[u8]) -> bool {
    let next = rest.get(1 + definition.payload..).unwrap_or_default();
    let times = definition.stamp(next).zip(definition.stamp(rest));
    next.first() == rest.first() && times.is_some_and(|(next, this)| follows(next, this))
}

/// Number of the definition a data message's first byte names.
fn local(header: u8) -> usize {
    usize::from(if header & 0x80 != 0 {
        header >> 5 & 0x03
    } else {
        header & 0x0F
    })
}

fn number_of(value: &Value) -> Option<f64> {
    TryInto::<f64>::try_into(value.clone()).ok()
}
