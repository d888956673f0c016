//! Every reader of files against damaged files, for as long as one likes.
//!
//! Not run with the other tests; ten seconds each, or as long as asked:
//! `LOCKRING_FUZZ_SECONDS=600 cargo test -p lockring-domain --test fuzz -- --ignored`. The seed is the clock's
//! unless `LOCKRING_FUZZ_SEED` gives one; a failure prints it with the input. Mutations are blind, but
//! know the tokens of each format.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use lockring_calc::quantity::Length;
use lockring_domain::code;
use lockring_domain::command::RideFile;
use lockring_domain::entry::{Entry, Event, Origin};
use lockring_domain::job::Job;
use lockring_domain::shop::Shop;
use lockring_domain::supply::shelf::Stock;
use lockring_domain::{catalogue, gpx, ridelog, sheet};

const FIT: &[u8] = include_bytes!("../../../tests/reference/ride_files/ride.fit");
const TCX: &[u8] = include_bytes!("../../../tests/reference/ride_files/ride.tcx");
const GPX: &[u8] = include_bytes!("../../../tests/reference/ride_files/ride.gpx");
const TOWN: &[u8] = include_bytes!("../../../tests/reference/gpx/town.gpx");
const CSV: &[u8] = include_bytes!("../../../tests/reference/ride_files/ride.csv");
const CATALOGUE: &[u8] = include_bytes!("../../../cli/demo/catalogue.toml");

const SHEET: &[u8] = include_bytes!("../../../cli/demo/longtail.toml");
/// What a shop's entries say, a line each.
const JOURNAL: &[u8] = include_bytes!("../../store/src/tests/format_1/journal.jsonl");

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
fn run(seeds: &[&[u8]], tokens: &[&str], reader: fn(&[u8])) {
    let asked = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    let time = Duration::from_secs(asked("LOCKRING_FUZZ_SECONDS").unwrap_or(10));
    let clock = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .expect("after 1970")
        .as_nanos() as u64;
    let seed = asked("LOCKRING_FUZZ_SEED").unwrap_or(clock);
    let (mut dice, began, mut tried, mut slowest) = (Dice(seed), Instant::now(), 0_u64, Duration::ZERO);
    while began.elapsed() < time {
        let bytes = damaged(&mut dice, seeds, tokens);
        let one = Instant::now();
        let held = catch_unwind(AssertUnwindSafe(|| reader(&bytes)));
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

/// A ride's file all the way to what is kept of it: no panic, and every figure reads back.
fn ride(bytes: &[u8]) {
    let Ok(file) = RideFile::read("x", bytes, "", "wheel") else {
        return;
    };
    for pair in file.log().samples.windows(2) {
        assert!(pair[0].time < pair[1].time);
    }
    let study = ridelog::study::study(file.log(), Err("no mass"), Length::metres(2.0));
    let text = serde_json::to_string(&study).expect("figures are finite");
    assert_eq!(
        serde_json::from_str::<ridelog::study::Study>(&text).expect("it was just written"),
        study
    );
    ridelog::course::course(file.log(), 120);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_fit() {
    run(
        &[FIT],
        &[".FIT", "\x0e\x10", "\x40\0\0\x14\0", "\x60\0\0\u{14}\0"],
        ride,
    );
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_tcx() {
    let tokens = [
        "<Trackpoint>",
        "</Trackpoint>",
        "<Time>",
        "</Time>",
        "<!DOCTYPE x>",
        "<![CDATA[",
        "]]>",
        "<!--",
        "-->",
        "&#x0;",
        "&amp;",
        "&a;",
        "<?xml encoding='x'?>",
        "1e999",
        "NaN",
        "-0",
        "<Extensions>",
        "<ns3:TPX>",
    ];
    run(&[TCX], &tokens, ride);
}

const GPX_TOKENS: [&str; 16] = [
    "<trkpt lat=\"1\" lon=\"2\">",
    "</trkpt>",
    "<trkseg>",
    "</trkseg>",
    "<ele>",
    "</ele>",
    "<time>",
    "</time>",
    "<rtept lat='90' lon='180'/>",
    "<!DOCTYPE x>",
    "<![CDATA[",
    "]]>",
    "&#x10ffff;",
    "1e308",
    "NaN",
    "</gpx>",
];

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_gpx_as_a_ride() {
    run(&[GPX, TOWN], &GPX_TOKENS, ride);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_gpx_as_a_road() {
    run(&[TOWN, GPX], &GPX_TOKENS, |bytes| {
        if let Ok(mut read) = gpx::read("x", bytes) {
            assert!(read.road.length().si().is_finite());
            assert!(
                read.road
                    .legs(Length::metres(50.0), Length::metres(200.0))
                    .is_ok()
            );
        }
    });
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_csv() {
    let tokens = [
        "time_s",
        "timestamp",
        "2001-01-01T00:00:00Z",
        ";",
        "\t",
        ",",
        "\"",
        "\r\n",
        "NaN",
        "1e999",
        "-",
        "speed_kmh",
        "lat",
        "lon",
        "height_ft",
        "power",
        "\u{feff}",
    ];
    run(&[CSV], &tokens, ride);
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_catalogue() {
    let tokens = [
        "[[motor]]",
        "[[pack]]",
        "id = ",
        "\"\"\"",
        "'''",
        "{",
        "}",
        "[",
        "]",
        "nan",
        "inf",
        "1e400",
        "teeth = ",
        "\\u",
        "= \"48V\"",
        "#",
        "\n",
        "0x",
        "1979-05-27",
    ];
    run(&[CATALOGUE], &tokens, |bytes| {
        if let Ok(parts) = catalogue::read("x.toml", &String::from_utf8_lossy(bytes)) {
            // Twelve digits are written: `5/3 kg` comes back a little other, and then stays.
            let written = catalogue::write(&parts);
            let again = catalogue::read("y.toml", &written).expect("what was written reads");
            assert_eq!(catalogue::write(&again), written);
        }
    });
}

/// What people type as a value, into the reader of every code: no panic, and what is understood is
/// kept so that it comes back the same.
#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_values() {
    let tokens = [
        "51,5 mm",
        "1 ft 3 1/4 in",
        "12 %",
        "1:8",
        "3/8",
        "700x40C",
        "11-13-34",
        "2026-03-02",
        "4/5",
        "-",
        "+",
        "e",
        "1e308",
        "NaN",
        "inf",
        "km/h",
        "mph",
        "lbf ft",
        "°C",
        "µ",
        "k",
        "Wh/km",
        " ",
        ",",
        ".",
        "'",
        "yes",
    ];
    let seeds: [&[u8]; 4] = [b"51,5 mm", b"1 ft 3 1/4 in", b"11-13-15-34", b"12.5 km/h"];
    run(&seeds, &tokens, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        // A few codes for each text: there are hundreds.
        let some = bytes.iter().map(|byte| usize::from(*byte)).sum::<usize>() % 60;
        for code in code::all().skip(some).step_by(60) {
            for force in [false, true] {
                let Ok(value) = code.read(&text, force) else {
                    continue;
                };
                let kept = serde_json::to_string(&value).expect("a value is written");
                let again = serde_json::from_str(&kept).expect("what was written reads");
                assert_eq!(value, again, "{}: {text}", code.key());
            }
        }
    });
}

#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_sheet() {
    let tokens = [
        "[brief]", "[donor]", "[build]", "\"\"\"", "'''", "{", "}", "[[", "=", "\n", "#", "1e400", "\\u",
    ];
    run(&[SHEET], &tokens, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        if let Ok(tables) = sheet::tables("sheet", &text) {
            for table in tables {
                assert!(
                    text.contains(&table.name) || table.name.is_empty(),
                    "{}",
                    table.name
                );
            }
        }
    });
}

/// The entries of lines, numbered as they come; lines that say nothing readable are left out.
fn entries(text: &str) -> Vec<Entry> {
    let says = |line: &str| {
        let says = line.split_once("\"says\":").map_or(line, |(_, says)| says);
        let says = says.split_once(",\"previous\"").map_or(says, |(says, _)| says);
        serde_json::from_str::<Event>(says).ok()
    };
    let made = jiff::Timestamp::UNIX_EPOCH;
    let entry = |(seq, event)| Entry {
        id: seq,
        job: 1,
        seq,
        origin: Origin {
            by: "K".into(),
            terminal: "fuzz".into(),
            made,
        },
        stored: made,
        event,
        previous: [0; 32],
        hash: [0; 32],
    };
    (1..).zip(text.lines().filter_map(says)).map(entry).collect()
}

/// Entries that can be read but need not follow from each other fold without a panic, one after
/// another to the same as all at once, and a state that was folded is kept and comes back the same.
#[test]
#[ignore = "runs for as long as asked"]
fn fuzz_journal() {
    let tokens = [
        "{\"event\":\"retracted\",\"seq\":2,\"why\":\"\"}\n",
        "{\"event\":\"taken-in\",\"rider\":\"Zoe\"}\n",
        "\"seq\":3",
        "4294967295",
        "-1",
        "null",
        "[]",
        "{}",
        "\"intake\"",
        "\"handover\"",
        "1e999",
        "\"slot\":\"motor\"",
        "\"passed\":true",
        "\n",
    ];
    run(&[JOURNAL], &tokens, |bytes| {
        let entries = entries(&String::from_utf8_lossy(bytes));
        let shop = Shop::fold(&entries);
        let kept = serde_json::to_string(&shop).expect("a shop is written");
        assert_eq!(
            serde_json::from_str::<Shop>(&kept).expect("it was just written"),
            shop
        );
        Stock::fold(&entries);
        let Ok(job) = Job::fold(&entries) else { return };
        let kept = serde_json::to_string(&job).expect("a job is written");
        assert_eq!(
            serde_json::from_str::<Job>(&kept).expect("it was just written"),
            job
        );
        let mut stepped = Job::begin(&entries[0]).ok();
        for entry in &entries[1..] {
            // An entry that reaches back leaves it to the fold of all.
            stepped = stepped.and_then(|job| job.after(entry));
        }
        assert!(stepped.is_none_or(|stepped| stepped == job));
    });
}
