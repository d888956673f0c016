//! What is fuzzed: the readers that the blind fuzzing of `daemon/domain/tests/fuzz.rs` has, the messages of
//! the contract, and the laying out of what comes in them.

// The runtime that counts the paths: every program of this package is built to call it.
use libfuzzer_sys as _;
use lockring_proto::units::{Style, imperial};
use lockring_proto::v1::{Column, Row, Section, Sheet};
use lockring_proto::{page, wrap};
use readers::Reader;
use requests::REQUESTS;

#[path = "../../daemon/domain/tests/fuzz/readers.rs"]
pub mod readers;
#[path = "../contract/requests.rs"]
pub mod requests;

/// Bytes as a message that a method takes; the first says which.
pub const CONTRACT: Reader = Reader {
    seeds: &[
        b"\x00\x0a\x12\x0a\x04a-id\x12\x01K\x1a\x05bench\x10\x01\x1a\x04note",
        b"\x10\x0a\x0a\x12\x01K\x12\x05value",
    ],
    tokens: &[],
    read: |bytes| {
        let Some((which, message)) = bytes.split_first() else {
            return;
        };
        REQUESTS[usize::from(*which) % REQUESTS.len()].1(message);
    },
};

/// A text as it is broken into lines and put into imperial units, and a report whose cells are its lines.
pub const SHOWN: Reader = Reader {
    seeds: &[
        "20;3.5 N m, 12,5 km/h at -3 C; `lockring show 1`\n\u{1b}[31mred\u{1b}[0m 漢字 e\u{301}".as_bytes(),
    ],
    tokens: &[
        "N m",
        "km/h",
        " C",
        "`",
        "lockring ",
        "\u{1b}[1m",
        "\u{200d}",
        "\u{fe0f}",
        "1/2",
        "\n",
        "  ",
    ],
    read: shown,
};

fn shown(bytes: &[u8]) {
    let Some((width, text)) = bytes.split_first() else {
        return;
    };
    let (width, text) = (usize::from(*width), String::from_utf8_lossy(text));
    for style in [Style::Both, Style::Alone] {
        imperial(&text, style);
    }
    let letters = |lines: &[String]| lines.concat().replace(char::is_whitespace, "");
    let all = text.replace(char::is_whitespace, "");
    assert_eq!(letters(&wrap::words(&text, width)), all);
    assert_eq!(letters(&wrap::hanging(&text, width / 2, width)), all);
    assert_eq!(letters(&wrap::cell(&text, width)), all);
    page::lines(&sheet(&text), width);
}

/// A report of two columns.
fn sheet(text: &str) -> Sheet {
    let mut lines = text.lines().map(str::to_owned);
    let mut next = || lines.next().unwrap_or_default();
    let column = |title: String, unit: String| Column {
        title,
        unit,
        ..Column::default()
    };
    let columns = vec![column(next(), next()), column(next(), next())];
    let rows = vec![
        Row {
            cells: vec![next(), next()],
            ..Row::default()
        };
        2
    ];
    let section = Section {
        title: next(),
        note: next(),
        columns,
        rows,
        ..Section::default()
    };
    Sheet {
        title: next(),
        from: next(),
        to: next(),
        sections: vec![section],
    }
}

/// Every target by the name of its program.
pub const TARGETS: [(&str, Reader); 11] = [
    ("fit", readers::FIT),
    ("tcx", readers::TCX),
    ("gpx", readers::GPX),
    ("road", readers::ROAD),
    ("csv", readers::CSV),
    ("catalogue", readers::CATALOGUE),
    ("values", readers::VALUES),
    ("sheet", readers::SHEET),
    ("journal", readers::JOURNAL),
    ("contract", CONTRACT),
    ("shown", SHOWN),
];
