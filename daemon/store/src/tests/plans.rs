//! Every statement of readers and of the writer, as the database plans it: what is asked of the whole
//! shop goes by an index, and a scan is allowed by name, with its reason.

use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};

use jiff::civil::date;
use jiff::tz::TimeZone;
use lockring_domain::entry::Event;
use lockring_domain::part::PartKind;
use lockring_domain::shop::ShopDraft;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::supply::recall::{Find, FindText};
use rusqlite::Connection;
use rusqlite::trace::{TraceEvent, TraceEventCodes};

use super::{Bench, at, every_job_event, note, origin, part, request};
use crate::recent::{AsOf, Recent};
use crate::{JobFilter, Reader, Tx};

/// Tables that a plan may read whole: a word of the statement, the plan's line, and why.
const SCANS: [(&str, &str, &str); 19] = [
    (
        "frame-number",
        "SCAN job",
        "asked once for a bicycle that comes in, and by hand",
    ),
    ("", "SCAN CONSTANT ROW", "no table at all"),
    (
        "SELECT entry, text FROM private",
        "SCAN private",
        "a rider's name is looked for in what was written of others, by hand",
    ),
    (
        "SELECT number, rider FROM job",
        "SCAN job USING COVERING INDEX job_rider",
        "names are compared by their words, by hand; the index holds nothing else",
    ),
    (
        "outstanding = 1",
        "SCAN job USING COVERING INDEX job_outstanding",
        "the index holds nothing else",
    ),
    (
        "json_each(job.state, '$.labour')",
        "SCAN job USING INDEX job_outstanding",
        "every job that somebody may be at is asked for",
    ),
    (
        "json_each(job.state, '$.labour')",
        "SCAN stint VIRTUAL TABLE INDEX 3:",
        "the clocks of one job",
    ),
    (
        "count > 0",
        "SCAN shelf_item USING INDEX shelf_item_there",
        "the index holds nothing else",
    ),
    (
        "FROM part",
        "SCAN part",
        "the catalogue has some hundred parts and is listed or counted whole",
    ),
    (
        "INSERT INTO journal",
        "SCAN part",
        "only planned: run while a part names no entry, which none does",
    ),
    (
        "SELECT state FROM shelf_item",
        "SCAN shelf_item",
        "all that ever lay on the shelf is asked for",
    ),
    (
        "?5 = ?6 AND came_us",
        "SCAN shelf_item",
        "neither mark nor supplier is asked for, but a part or days",
    ),
    (
        "SELECT state FROM shelf_line",
        "SCAN shelf_line",
        "every order line for the shelf is asked for",
    ),
    (
        "(SELECT job FROM order_line)",
        "SCAN order_line",
        "every order line is asked for",
    ),
    (
        "WHERE ?5 = ?6 AND",
        "SCAN p",
        "neither mark nor supplier is asked for, but a part or days",
    ),
    (
        "SELECT number FROM job ORDER BY number",
        "SCAN job",
        "every history is counted, one at a time",
    ),
    ("FROM uncleaned", "SCAN uncleaned", "it has a row or none"),
    (
        "answer, places FROM answered",
        "SCAN answered",
        "a rider is removed from every kept answer; they are of a week at most",
    ),
    (
        "WHERE version <",
        "SCAN journal",
        "entries of older versions are counted before they are sealed, once in a file's life",
    ),
];

/// A connection to a shop with something in every table, and what is asked of it from now on.
fn listened(bench: &Bench) -> (Connection, Arc<Mutex<BTreeSet<String>>>) {
    let heard = Arc::new(Mutex::new(BTreeSet::new()));
    let mut connection = Connection::open(bench.file()).unwrap();
    let ears = heard.clone();
    let hear = move |event: TraceEvent<'_>| {
        if let TraceEvent::Stmt(statement, _) = event {
            ears.lock().unwrap().insert(statement.sql().to_string());
        }
    };
    connection
        .trace_v2(TraceEventCodes::SQLITE_TRACE_STMT, Some(hear))
        .unwrap();
    (connection, heard)
}

/// The names of the methods that a file offers for asking or writing.
fn offered(files: &[&str]) -> BTreeSet<String> {
    let lines = files.iter().flat_map(|file| file.lines());
    lines
        .filter_map(|line| line.strip_prefix("    pub fn "))
        .map(|rest| rest.split('(').next().unwrap().to_owned())
        .collect()
}

/// Nothing heard reads a table whole but what is allowed to.
fn goes_by_indexes(bench: &Bench, heard: &BTreeSet<String>) {
    let raw = Connection::open(bench.file()).unwrap();
    let (mut looked_at, mut scans) = (0, Vec::new());
    for sql in heard {
        let first = sql.split_whitespace().next().unwrap_or_default();
        if !["SELECT", "INSERT", "UPDATE", "DELETE"].contains(&first) {
            continue;
        }
        looked_at += 1;
        let mut statement = raw.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
        for place in 1..=statement.parameter_count() {
            statement.raw_bind_parameter(place, 0).unwrap();
        }
        let mut rows = statement.raw_query();
        while let Some(row) = rows.next().unwrap() {
            let line: String = row.get(3).unwrap();
            let allowed = SCANS
                .iter()
                .find(|(word, plan, _)| sql.contains(word) && line.starts_with(plan));
            // All jobs by number are a scan under another name.
            let is_scan = line.starts_with("SCAN") || line.ends_with("(job>?)");
            if is_scan && allowed.is_none() {
                scans.push(format!("{sql}: {line}"));
            }
        }
    }
    assert!(looked_at > 10, "{heard:?}");
    assert!(scans.is_empty(), "{}", scans.join("\n"));
}

/// What a page of a day or a week asks first goes by the moment, not by the job.
#[test]
fn what_changed_since_is_found_by_its_moment() {
    let bench = bench();
    let raw = Connection::open(bench.file()).unwrap();
    for (sql, index) in [
        (
            "SELECT job FROM journal WHERE made_us >= 1 AND +job > 0",
            "journal_made (made_us>?)",
        ),
        (
            "SELECT job FROM journal WHERE id > 1 AND +job > 0",
            "PRIMARY KEY (rowid>?)",
        ),
        (
            "SELECT id FROM journal WHERE kind = 'evening-written' AND payload ->> 'day' < '2026' AND +job = 0 \
             ORDER BY payload ->> 'day' DESC LIMIT 1",
            "journal_evening (<expr><?)",
        ),
    ] {
        let plan: String = raw
            .query_row(&format!("EXPLAIN QUERY PLAN {sql}"), [], |row| row.get(3))
            .unwrap();
        assert!(
            plan.starts_with("SEARCH") && plan.ends_with(index),
            "{sql}: {plan}"
        );
    }
}

fn bench() -> Bench {
    let bench = Bench::new();
    for event in every_job_event() {
        bench.add(1, 0, vec![event]).unwrap();
    }
    bench
}

/// Calls methods by name and tells which.
macro_rules! calls {
    ($on:expr; $($name:ident($($given:expr),*)),+ $(,)?) => {{
        $($on.$name($($given),*).unwrap();)+
        BTreeSet::from([$(stringify!($name).to_owned()),+])
    }};
}

#[test]
fn readers_go_by_indexes() {
    let bench = bench();
    let (connection, heard) = listened(&bench);
    let reader = Reader {
        connection: &connection,
        recent: &Recent::default(),
        as_of: AsOf::UNKNOWN,
    };
    let find = |text: FindText| Find::read(&text, &TimeZone::UTC).unwrap();
    let marks = |mark: &str| {
        find(FindText {
            marks: vec![mark.into()],
            ..FindText::default()
        })
    };
    let of_supplier = find(FindText {
        supplier: "one".into(),
        ..FindText::default()
    });
    let of_part = find(FindText {
        part: "mid".into(),
        ..FindText::default()
    });
    let day = date(2026, 6, 1);
    let called = calls!(reader;
        job(1), shop(), last_seq(1), open_by_stage(), shop_known(at(0), 0), stock_known(at(0), 0),
        shop_known(at(9), u64::MAX), stock_known(at(9), u64::MAX), begun(), evening(day, at(9)), evening_before(day, at(9)), last_evening(at(9)),
        made_after(at(9)), last_made_before(at(9), "AB"), last_swept(at(9)),
        entries(1, 0), journal(0, 10), jobs(JobFilter::Open, 0, 10), jobs(JobFilter::All, 0, 10),
        find_pieces(&marks("L-1")), find_pieces(&marks("L*")), find_pieces(&marks("L-1..L-9")),
        find_pieces(&of_supplier), find_pieces(&of_part), stock(), whole_stock(), jobs_with_orders(true),
        jobs_with_orders(false), jobs_swapped(), jobs_known(at(0), 9), histories_known(at(9), 9, at(0)),
        invoiced_and_given_up(),
        every_history_known(at(9), 9, drop), history_known(1, at(9), 9), job_as_of(1, at(9)), holders("S-1"), clocks("K"), part("mid"),
        parts(None, "", 9), parts(Some(PartKind::Motor), "", 9), counts(),
        jobs_of_rider("Ines H."), jobs_of_frame("F-1"), in_clear(1), entries_in_clear(), is_uncleaned(), shop_words(),
        words_holding(&|_| true),
    );
    assert_eq!(
        called,
        offered(&[include_str!("../reader.rs"), include_str!("../shop_words.rs")])
    );
    goes_by_indexes(&bench, &heard.lock().unwrap());
}

#[test]
fn the_writer_goes_by_indexes() {
    let bench = bench();
    let (connection, heard) = listened(&bench);
    let mut tx = Tx::new(&connection);
    super::add(&mut tx, 1, 5, &[note("more")]).unwrap();
    let undone = Event::Retracted {
        seq: tx.last_seq(1).unwrap(),
        why: "slip".into(),
    };
    super::add(&mut tx, 1, 6, &[undone]).unwrap();
    let mut shop = ShopDraft::new(
        Arc::unwrap_or_clone(tx.shop().unwrap()),
        tx.last_seq(0).unwrap(),
        origin(7),
    );
    shop.push(ShopEvent::Swept {
        day: date(2026, 6, 1),
        overdue: 0,
        chase: 0,
        at_risk: 0,
    });
    let stock = super::stocked();
    let by_mark = FindText {
        marks: vec!["L-1".into()],
        ..FindText::default()
    };
    let by_mark = Find::read(&by_mark, &TimeZone::UTC).unwrap();
    let called = calls!(tx;
        job(1), shop(), last_evening(at(9)), last_swept(at(9)), last_seq(1), entries(1), open_by_stage(), next_job_number(), holders("S-1"), clocks("K"),
        part("mid"), part_ids(), append_shop(&shop.origin, at(7), &shop.events, &shop.shop), stock(),
        append_stock(&stock.origin, at(8), &stock.events, &stock.stock),
        catalogue(&origin(9), at(9), &[part("new", PartKind::Motor)]), answer(&request("r")),
        remember(&request("r"), b"answer"), forget_answers(at(0)), jobs_of_rider("Ines H."), jobs_of_frame("F-1"), in_clear(1),
        find_pieces(&by_mark), redact_answers(&["Ines H.".to_owned()], <[u8]>::to_vec), clean_if_needed(),
        shop_words(), words_holding(&|_| true),
    );
    let mut offered = offered(&[
        include_str!("../tx.rs"),
        include_str!("../answers.rs"),
        include_str!("../shop_words.rs"),
    ]);
    // Called above by way of `add`; the maker of a request asks nothing.
    for name in ["append", "new"] {
        assert!(offered.remove(name), "{name}");
    }
    assert_eq!(called, offered);
    goes_by_indexes(&bench, &heard.lock().unwrap());
}
