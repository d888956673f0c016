//! Every reader of files and texts that may meet a damaged one, each with what it is to hold, whole
//! examples, and the tokens of its format. `../fuzz.rs` damages the examples blindly; `tests/fuzz/` at the
//! top, a package of its own, lets the paths that an input takes choose the next.

use lockring_calc::quantity::Length;
use lockring_domain::code;
use lockring_domain::command::RideFile;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::shop::Shop;
use lockring_domain::supply::shelf::Stock;
use lockring_domain::{catalogue, gpx, ridelog, sheet};

/// A reader.
pub struct Reader {
    /// Whole examples.
    pub seeds: &'static [&'static [u8]],
    /// Tokens of the format.
    pub tokens: &'static [&'static str],
    /// Reads an input, and panics when something does not hold.
    pub read: fn(&[u8]),
}

const RIDE_FIT: &[u8] = include_bytes!("../../../../tests/reference/ride_files/ride.fit");
const RIDE_TCX: &[u8] = include_bytes!("../../../../tests/reference/ride_files/ride.tcx");
const RIDE_GPX: &[u8] = include_bytes!("../../../../tests/reference/ride_files/ride.gpx");
const TOWN: &[u8] = include_bytes!("../../../../tests/reference/gpx/town.gpx");
const RIDE_CSV: &[u8] = include_bytes!("../../../../tests/reference/ride_files/ride.csv");
const DEMO_CATALOGUE: &[u8] = include_bytes!("../../../../cli/demo/catalogue.toml");

const DEMO_SHEET: &[u8] = include_bytes!("../../../../cli/demo/longtail.toml");
/// What a shop's entries say, a line each.
const OLD_JOURNAL: &[u8] = include_bytes!("../../../store/src/tests/format_1/journal.jsonl");

/// A ride's FIT file.
pub const FIT: Reader = Reader {
    seeds: &[RIDE_FIT],
    tokens: &[".FIT", "\x0e\x10", "\x40\0\0\x14\0", "\x60\0\0\u{14}\0"],
    read: ride,
};

/// A ride's TCX file.
pub const TCX: Reader = Reader {
    seeds: &[RIDE_TCX],
    tokens: &[
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
    ],
    read: ride,
};

const GPX_TOKENS: &[&str] = &[
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

/// A ride's GPX file.
pub const GPX: Reader = Reader {
    seeds: &[RIDE_GPX, TOWN],
    tokens: GPX_TOKENS,
    read: ride,
};

/// A road's GPX file.
pub const ROAD: Reader = Reader {
    seeds: &[TOWN, RIDE_GPX],
    tokens: GPX_TOKENS,
    read: road,
};

/// A ride's table.
pub const CSV: Reader = Reader {
    seeds: &[RIDE_CSV],
    tokens: &[
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
    ],
    read: ride,
};

/// A catalogue of parts.
pub const CATALOGUE: Reader = Reader {
    seeds: &[DEMO_CATALOGUE],
    tokens: &[
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
    ],
    read: catalogue_of,
};

/// What people type as a value.
pub const VALUES: Reader = Reader {
    seeds: &[b"51,5 mm", b"1 ft 3 1/4 in", b"11-13-15-34", b"12.5 km/h"],
    tokens: &[
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
    ],
    read: value,
};

/// A sheet of a job.
pub const SHEET: Reader = Reader {
    seeds: &[DEMO_SHEET],
    tokens: &[
        "[brief]", "[donor]", "[build]", "\"\"\"", "'''", "{", "}", "[[", "=", "\n", "#", "1e400", "\\u",
    ],
    read: tables,
};

/// Entries of a journal.
pub const JOURNAL: Reader = Reader {
    seeds: &[OLD_JOURNAL],
    tokens: &[
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
    ],
    read: journal,
};

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

fn road(bytes: &[u8]) {
    if let Ok(mut read) = gpx::read("x", bytes) {
        assert!(read.road.length().si().is_finite());
        assert!(
            read.road
                .legs(Length::metres(50.0), Length::metres(200.0))
                .is_ok()
        );
    }
}

fn catalogue_of(bytes: &[u8]) {
    if let Ok(parts) = catalogue::read("x.toml", &String::from_utf8_lossy(bytes)) {
        // Twelve digits are written: `5/3 kg` comes back a little other, and then stays.
        let written = catalogue::write(&parts);
        let again = catalogue::read("y.toml", &written).expect("what was written reads");
        assert_eq!(catalogue::write(&again), written);
    }
}

/// Into the reader of every code: no panic, and what is understood is kept so that it comes back the
/// same.
fn value(bytes: &[u8]) {
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
}

fn tables(bytes: &[u8]) {
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
fn journal(bytes: &[u8]) {
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
}
