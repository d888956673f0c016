//! The owner's figures, as typed: the evening, the week, the classes.

use serde_json::Value;

use crate::support::Shop;

/// The rows of a section of a report.
fn rows(report: &Value, key: &str) -> Vec<Vec<String>> {
    let sections = report["sections"].as_array().unwrap();
    let section = sections.iter().find(|section| section["key"] == key).expect(key);
    let rows = section["rows"].as_array().unwrap();
    rows.iter()
        .map(|row| {
            let cells = row["cells"].as_array().unwrap();
            cells
                .iter()
                .map(|cell| cell.as_str().unwrap().to_owned())
                .collect()
        })
        .collect()
}

#[test]
fn the_evening_names_what_moved_what_is_due_and_which_promise_is_at_risk() {
    let shop = Shop::with_demo_jobs();
    shop.line("--at 2026-03-02T09:30 advance 1").ok();
    shop.line("--at 2026-03-02T10:00 order 1 --from M --due 2026-03-18")
        .ok();
    shop.line("--at 2026-03-02T11:00 advance 2").fails(8);
    let page = shop.json("report day --on 2026-03-02")[0].clone();
    let moved = rows(&page, "moved");
    let what: Vec<(&str, &str)> = moved
        .iter()
        .map(|row| (row[0].as_str(), row[2].as_str()))
        .collect();
    assert_eq!(
        what,
        [
            ("1", "taken in"),
            ("1", "intake passed at once"),
            ("2", "taken in"),
            ("2", "intake stays shut, first time"),
            ("3", "taken in"),
        ]
    );
    assert!(moved[3][3].contains("hill."), "{moved:?}");
    // By the shop's clock, which is the tests' own: half past nine and eleven, as typed.
    assert_eq!(
        (moved[1][4].as_str(), moved[3][4].as_str()),
        ("2026-03-02 09:30", "2026-03-02 11:00")
    );
    // Promised for Monday 16 March. The parts are due on Wednesday the 18th; fitting, ride and handover
    // take the 19th, the 20th and Monday the 23rd, five working days after the promise.
    let risk = rows(&page, "promises");
    let first = risk.iter().find(|row| row[0] == "1").expect("job 1 is at risk");
    assert_eq!(first[2..6], ["2026-03-16", "soft", "5", "2026-03-23"], "{risk:?}");
    assert_eq!(risk[0][3], "hard", "hard promises first: {risk:?}");
    assert!(
        first[7].contains("motor, controller, pack"),
        "slots together: {first:?}"
    );
    assert!(rows(&page, "arrivals").is_empty());
    // On the evening of the 19th they are a working day late.
    let page = shop.json("report day --on 2026-03-19")[0].clone();
    let arrivals = rows(&page, "arrivals");
    assert_eq!(&arrivals[0][..4], ["M", "2026-03-18", "1", "1"], "{arrivals:?}");
    assert!(rows(&page, "moved").is_empty());
    let overdue = rows(&page, "overdue");
    assert_eq!(
        overdue[0][..3],
        ["M", &arrivals.len().to_string(), "1"],
        "{overdue:?}"
    );
    assert_eq!(overdue[0][3], "job 1");
    // What was ordered for the shelf is as late, and stands beside it.
    shop.line("--at 2026-03-10T10:00 order shelf display-60 --from S --count 6 --due 2026-03-17")
        .ok();
    let page = shop.json("report day --on 2026-03-19")[0].clone();
    let overdue = rows(&page, "overdue");
    assert_eq!(
        overdue[0],
        ["S", "1", "2", "shelf"],
        "the worst first: {overdue:?}"
    );
    let shelf = rows(&page, "arrivals");
    let shelf = shelf
        .iter()
        .find(|row| row[3] == "shelf")
        .expect("the shelf's line");
    assert!(shelf[4].starts_with("6 x "), "{shelf:?}");
}

#[test]
fn text_json_and_csv_show_the_same_cells() {
    let shop = Shop::with_demo_jobs();
    shop.line("--at 2026-03-02T11:00 advance 2").fails(8);
    for report in ["day", "week", "class"] {
        let line = format!("report {report} --on 2026-03-02");
        let json = shop.json(&line)[0].clone();
        let csv = shop.line(&format!("{line} --csv")).ok();
        let text = shop.line(&line).ok();
        let mut reader = csv.lines();
        assert_eq!(reader.next(), Some("section,row,column,value"));
        let cells: usize = json["sections"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|section| section["rows"].as_array().unwrap())
            .map(|row| row["cells"].as_array().unwrap().len())
            .sum();
        assert_eq!(reader.count(), cells, "{csv}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }
    // Those whose answer has a form of its own: a line of CSV for each cell, blocks and promises among them.
    let blocked = shop.line("report blocked --csv").ok();
    assert!(
        blocked.starts_with("section,row,column,value\nblocked,1,job,2\n"),
        "{blocked}"
    );
    let answer = shop.json("report blocked")[0].clone();
    let blocks = answer["lines"].as_array().unwrap().len();
    assert_eq!(blocked.matches(",about,").count(), blocks, "{blocked}");
    let promises = shop.line("promises --all --csv").ok();
    assert_eq!(promises.matches(",earliest_finish,").count(), 3, "{promises}");
    assert!(
        shop.line("report predictions --csv")
            .ok()
            .starts_with("section,row,column,value\n")
    );
    shop.line("report blocked --csv --json").fails(2);
    let week = shop.json("report week --on 2026-03-04")[0].clone();
    assert_eq!(
        (&week["from"], &week["to"]),
        (&"2026-03-02".into(), &"2026-03-08".into())
    );
    assert_eq!(rows(&week, "gates")[0], ["intake", "1", "0", "0.0"]);
    assert_eq!(rows(&week, "flow")[0][..5], ["3", "0", "0", "0", "3"]);
}

#[test]
fn a_day_to_come_is_refused() {
    let shop = Shop::open();
    let told = shop.line("report week --on 2999-01-01").fails(4);
    assert!(told.contains("has not come yet"), "{told}");
    let told = shop.line("report class --on yesterday").fails(4);
    assert!(told.contains("2026-03-24"), "{told}");
}
