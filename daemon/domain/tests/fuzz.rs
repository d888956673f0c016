//! Every reader of files against damaged files, for as long as one likes.
//!
//! Not run with the other tests; ten seconds each, or as long as asked:
//! `LOCKRING_FUZZ_SECONDS=600 cargo test -p lockring-domain --test fuzz -- --ignored`. The seed is the clock's
//! unless `LOCKRING_FUZZ_SEED` gives one; a failure prints it with the input. Mutations are blind, but
//! know the tokens of each format.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

#[path = "fuzz/readers.rs"]
mod readers;

use readers::Reader;

/// Longest input tried.
const LONGEST: usize = 20_000;

/// Steele, Lea and Flood's SplitMix64: enough to damage files with.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: usize) -> usize {
        (self.next() % end.max(1) as u64) as usize
    }
}

/// A piece of a seed, damaged one to eight times.
fn damaged(dice: &mut Dice, seeds: &[&[u8]], tokens: &[&str]) -> Vec<u8> {
    let seed = seeds[dice.below(seeds.len())];
    let length = [300, 2_000, LONGEST][dice.below(3)].min(seed.len());
    // Mostly from the start, where headers are.
    let start = if dice.below(4) == 0 {
        dice.below(seed.len() - length + 1)
    } else {
        0
    };
    let mut bytes = seed[start..start + length].to_vec();
    for _ in 0..=dice.below(8) {
        let at = dice.below(bytes.len() + 1);
        let end = (at + dice.below(60)).min(bytes.len());
        match dice.below(8) {
            0 if at < bytes.len() => bytes[at] ^= 1 << dice.below(8),
            1 if at < bytes.len() => bytes[at] = dice.next() as u8,
            2 => drop(bytes.drain(at..end)),
            3 => {
                let piece = bytes[at..end].to_vec();
                let to = dice.below(bytes.len() + 1);
                bytes.splice(to..to, piece);
            }
            4 => bytes.truncate(at),
            5 => {
                let word: Vec<u8> = (0..dice.below(8)).map(|_| dice.next() as u8).collect();
                bytes.splice(at..end.min(at + word.len()), word);
            }
            6 => {
                let count = 1 + dice.below(300);
                let value = [0, 0xff, b'9', b'<', dice.next() as u8][dice.below(5)];
                bytes.splice(at..at, std::iter::repeat_n(value, count));
            }
            _ => {
                let token = tokens[dice.below(tokens.len())];
                bytes.splice(at..at, token.bytes());
            }
        }
    }
    bytes.truncate(2 * LONGEST);
    bytes
}

/// Feeds damaged files to a reader until the time is up.
fn run(reader: &Reader) {
    let asked = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    let time = Duration::from_secs(asked("LOCKRING_FUZZ_SECONDS").unwrap_or(10));
    let clock = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .expect("after 1970")
        .as_nanos() as u64;
    let seed = asked("LOCKRING_FUZZ_SEED").unwrap_or(clock);
    let (mut dice, began, mut tried, mut slowest) = (Dice(seed), Instant::now(), 0_u64, Duration::ZERO);
    while began.elapsed() < time {
        let bytes = damaged(&mut dice, reader.seeds, reader.tokens);
        let one = Instant::now();
        let held = catch_unwind(AssertUnwindSafe(|| (reader.read)(&bytes)));
        slowest = slowest.max(one.elapsed());
        tried += 1;
        assert!(
            held.is_ok(),
            "seed {seed}, input {tried}, {} bytes: {}",
            bytes.len(),
            bytes.escape_ascii()
        );
    }
    let said = format!("seed {seed}: {tried} inputs, slowest {slowest:?}");
    assert!(tried > 0, "{said}");
    std::io::Write::write_all(&mut std::io::stderr(), format!("{said}\n").as_bytes())
        .expect("stderr is open");
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_fit() {
    run(&readers::FIT);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_tcx() {
    run(&readers::TCX);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_gpx_as_a_ride() {
    run(&readers::GPX);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_gpx_as_a_road() {
    run(&readers::ROAD);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_csv() {
    run(&readers::CSV);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_catalogue() {
    run(&readers::CATALOGUE);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_values() {
    run(&readers::VALUES);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_sheet() {
    run(&readers::SHEET);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_journal() {
    run(&readers::JOURNAL);
}
