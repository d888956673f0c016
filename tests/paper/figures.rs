//! Each figure of a document is the same figure of `--json`, to the digits that are printed.

use std::collections::BTreeSet;

use serde_json::Value;

use super::{Desk, words_of};
use crate::support::Shop;

/// A number as it is printed, and what stands behind it.
fn number(text: &str) -> Option<(f64, usize, &str)> {
    let end = text
        .char_indices()
        .find(|(at, sign)| !(sign.is_ascii_digit() || *sign == '.' || (*at == 0 && *sign == '-')))
        .map_or(text.len(), |(at, _)| at);
    let digits = text[..end].trim_end_matches('.');
    let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    Some((digits.parse().ok()?, decimals, &text[digits.len()..]))
}

/// Whether a document says `label` and behind it this value, as far as it is printed, with its unit.
fn says(words: &str, label: &str, value: f64, unit: &str) -> bool {
    let mut places = words
        .match_indices(label)
        .map(|(at, _)| &words[at + label.len()..]);
    places.any(|rest| {
        let rest = rest.trim_start_matches([' ', ':', ',']);
        number(rest).is_some_and(|(printed, decimals, after)| {
            let half = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap());
            let is_same = (printed - value).abs() <= half * (1.0 + 1e-9);
            is_same
                && (unit.is_empty()
                    || after
                        .strip_prefix(' ')
                        .is_some_and(|after| after.starts_with(unit)))
        })
    })
}

fn assert_says(words: &str, label: &str, value: f64, unit: &str, what: &str) {
    assert!(
        says(words, label, value, unit),
        "{what}: `{label} {value} {unit}` is not told"
    );
}

fn words(value: &Value) -> String {
    value
        .as_str()
        .unwrap()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// The figures of a gate's checks: report, finding and figure.
fn figures(reports: &[Value]) -> impl Iterator<Item = (&Value, &Value, &Value)> {
    reports.iter().flat_map(|report| {
        report["findings"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(move |finding| {
                let all = finding["figures"].as_array().unwrap().iter();
                all.map(move |figure| (report, finding, figure))
            })
    })
}

fn name_of(figure: &Value) -> String {
    words(&figure["name"]).trim_end_matches(',').to_owned()
}

pub(super) fn of_the_file(desk: &Desk, job: u32, page: &str) {
    let mut seen = 0;
    for gate in ["intake", "parts", "fitting", "test-ride", "handover"] {
        let told = &desk.shop.json(&format!("check {job} --gate {gate} --all"));
        for (report, _, figure) in figures(told) {
            if report["verdict"] == "not applicable" {
                continue;
            }
            let (value, unit) = (
                figure["value"].as_f64().unwrap(),
                figure["unit"].as_str().unwrap(),
            );
            assert_says(
                page,
                &name_of(figure),
                value,
                unit,
                &format!("file {job}, {gate}"),
            );
            let limit = words(&figure["limit"]);
            assert!(page.contains(&limit), "file {job}: `{limit}`");
            seen += 1;
        }
    }
    assert!(seen > 40, "{seen}");
}

pub(super) fn of_the_handover(desk: &Desk, job: u32, page: &str) {
    let mut seen = 0;
    for gate in ["test-ride", "handover"] {
        let told = &desk.shop.json(&format!("check {job} --gate {gate} --all"));
        for (_, _, figure) in figures(told).filter(|(_, _, figure)| figure["limit"] != "") {
            let (value, unit) = (
                figure["value"].as_f64().unwrap(),
                figure["unit"].as_str().unwrap(),
            );
            assert_says(page, &name_of(figure), value, unit, "handover");
            seen += 1;
        }
    }
    let expected = &desk.shop.json(&format!("predict {job}"))[0];
    for answer in expected["answers"].as_array().unwrap() {
        let name = words(&answer["name"]);
        // Neither bicycle has a throttle, and no rider is the operator of a test.
        assert_eq!(answer["for_rider"], !name.contains("motor alone"), "{name}");
        if answer["for_rider"] == false {
            assert!(!page.contains(&name), "handover: {name}");
        } else if let Some(low) = answer["p10"].as_f64() {
            assert_says(page, &name, low, answer["unit"].as_str().unwrap(), "handover");
            seen += 1;
        }
    }
    assert!(seen > 16, "{seen}");
    // A limit that a reading lies beyond is printed with what made it hold.
    assert!(page.contains("25 km/h; with the class's test allowance of 10 % at most 27.5 km/h"));
}

/// What was recorded stands on card and build sheet, with its unit.
pub(super) fn of_card_and_build_sheet(desk: &Desk, job: u32, card: &str, build: &str) {
    let view = &desk.shop.json(&format!("show {job}"))[0];
    let mut seen = 0;
    for fact in view["facts"].as_array().unwrap() {
        let value = words(&fact["value"]);
        if ["fitting", "torque"].contains(&fact["group"].as_str().unwrap()) {
            let row = format!("{} {value}", words(&fact["name"]));
            assert!(build.contains(&row), "build {job}: {row}");
            // The card is written in one system of units.
            let plain = value.split(" (").next().unwrap();
            let boxed = format!("{plain} {}", words(&fact["name"]));
            assert!(card.contains(&boxed), "card {job}: {boxed}");
            seen += 1;
        }
    }
    assert!(seen > 10, "{seen}");
    for code in ["range", "hill-grade", "rider-mass", "hill-speed"] {
        let mut facts = view["facts"].as_array().unwrap().iter();
        let fact = facts.find(|fact| fact["code"] == code).unwrap();
        let value = words(&fact["value"]);
        let plain = value.split(" (").next().unwrap();
        assert!(card.contains(plain), "card {job}: {code} {plain}");
        assert!(
            !card.contains(code),
            "the brief of the card holds the code {code}"
        );
    }
}

/// What is expected and allowed of every run, each run its own.
pub(super) fn of_the_ride_sheet(desk: &Desk, job: u32, page: &str) {
    let told = &desk.shop.json(&format!("ride {job} plan"))[0];
    let lines = told["lines"].as_array().unwrap();
    let mut rest = page;
    for (number, line) in (1..).zip(lines) {
        let head = format!("{number}. {}", words(&line["what"]).replace('`', ""));
        let (_, after) = rest.split_once(&head).unwrap_or_else(|| panic!("{head}"));
        rest = after;
        let own = match lines.get(number) {
            Some(next) => {
                let next = format!("{}. {}", number + 1, words(&next["what"]).replace('`', ""));
                rest.split(&next).next().unwrap()
            }
            None => rest,
        };
        for one in line["boxes"].as_array().unwrap() {
            for (word, key) in [("", "recorded"), ("expected ", "expected")] {
                let said = words(&one[key]);
                assert!(
                    said.is_empty() || own.contains(&format!("{word}{said}")),
                    "{head}: {said}"
                );
            }
        }
        for limit in line["limits"].as_array().unwrap() {
            let limit = words(&limit["limit"]);
            assert!(own.contains(&limit), "{head}: {limit}");
        }
        for (run, other) in [
            ("stop", "rear brake alone at"),
            ("stop-rear", "both brakes at"),
            ("stop-front", "both brakes at"),
        ] {
            assert!(line["run"] != run || !own.contains(other), "{head}: {own}");
        }
    }
}

/// Parts, the job's price beside each build, and what each does for the rider.
pub(super) fn of_the_quote(desk: &Desk, job: u32, page: &str) {
    let told = &desk.shop.json(&format!("propose {job}"))[0];
    let account = &desk.shop.json(&format!("quote {job}"))[0];
    let stage = &desk.shop.json(&format!("show {job}"))[0]["line"]["stage"];
    let proposed = told["proposals"].as_array().unwrap();
    let own = &told["present"];
    // The chosen build stands first, and as long as another may be chosen those of the proposal that are others.
    let others = proposed
        .iter()
        .filter(|build| stage == "intake" && parts_of(build) != parts_of(own));
    let builds: Vec<&Value> = std::iter::once(own).chain(others).take(3).collect();
    let money = |minor: i64| format!("EUR {}.{:02}", minor / 100, minor % 100);
    let row = |label: &str, each: &dyn Fn(&Value) -> String| {
        let cells: Vec<String> = builds.iter().map(|build| each(build)).collect();
        let row = format!("{label} {}", cells.join(" "));
        assert!(page.contains(&row), "{row}");
    };
    // What is quoted in one sum is quoted for the chosen build.
    let total = account["total"].as_i64().unwrap();
    let in_one_sum = total > 0 && account["lines"].as_array().unwrap().is_empty();
    let price = |build: &Value, work: i64| match build == own && in_one_sum {
        true => money(total),
        false => money(build["price_minor"].as_i64().unwrap() + work),
    };
    row("parts", &|build| price(build, 0));
    row("the job, with this build", &|build| {
        let work = build["planned_labour"].as_i64().unwrap();
        assert!(work > 0);
        price(build, work)
    });
    let first = own;
    let hill = format!("{} as computed", "%,");
    assert_says(page, &hill, first["hill_kmh"].as_f64().unwrap(), "km/h", "quote");
    for (label, key, unit) in [
        ("planned distance on a charge", "range_km", "km"),
        ("over what was asked", "range_margin_km", "km"),
        ("finished bicycle", "mass_kg", "kg"),
        ("chosen build, planned", "range_km", "km"),
        ("chosen build, planned", "hill_kmh", "km/h"),
    ] {
        assert_says(page, label, first[key].as_f64().unwrap(), unit, "quote");
    }
    for (at, build) in (0..).zip(builds) {
        for part in build["parts"].as_array().unwrap() {
            let id = part["value"].as_str().unwrap();
            let name = &desk.shop.json(&format!("catalogue show {id}"))[0]["name"];
            assert!(page.contains(&words(name)), "build {at}: {name}");
        }
    }
    assert!(page.contains("This quote stands until "), "{page}");
}

/// The parts of a build by their slots.
fn parts_of(build: &Value) -> BTreeSet<(String, String)> {
    let parts = build["parts"].as_array().unwrap().iter();
    let filled = parts.filter(|part| part["value"] != "none");
    filled
        .map(|part| (words(&part["field"]), words(&part["value"])))
        .collect()
}

/// A build that is not chosen is quoted as it would be forecast if it were.
#[test]
fn a_build_that_is_not_chosen_is_quoted_with_what_it_would_do() {
    let desk = Desk::new(Shop::with_demo_jobs());
    let page = words_of(&desk.text("print quote 1 --builds 2", "quote.html"));
    desk.shop.line("propose 1 --pick 2").ok();
    let mut seen = 0;
    let forecast = &desk.shop.json("predict 1")[0];
    let hills = forecast["answers"].as_array().unwrap().iter();
    for answer in hills.filter(|answer| answer["name"].as_str().unwrap().starts_with("hill")) {
        seen += told_of(&page, answer, "km/h");
    }
    let range = &desk.shop.json("range 1")[0];
    for case in range["cases"].as_array().unwrap() {
        seen += told_of(&page, &case["answer"], "km");
    }
    assert!(seen > 3, "{seen}");
    let until = desk.shop.json("settings")[0]["settings"]
        .as_array()
        .unwrap()
        .clone();
    let days = until
        .iter()
        .find(|setting| setting["setting"] == "quote-days")
        .unwrap();
    assert_eq!(days["value"], "14");
}

/// A sampled figure in the table and in the picture's words.
fn told_of(page: &str, answer: &Value, unit: &str) -> u32 {
    let name = words(&answer["name"]);
    let Some(middle) = answer["p50"].as_f64() else {
        return 0;
    };
    assert_says(page, &name, middle, unit, "quote");
    assert_says(page, &format!("build 2, {name}"), middle, unit, "quote");
    1
}

/// Whom to call, about which piece, and room for what each says.
pub(super) fn of_the_recall(desk: &Desk) {
    let open = [
        "recall",
        "open",
        "loose cells",
        "PK-2511-C",
        "--why",
        "maker's notice 7",
    ];
    desk.shop.run(open).ok();
    let page = desk.text("print recall 1", "recall.html");
    let told = &desk.shop.json("recall show 1")[0];
    let calls = told["calls"].as_array().unwrap();
    assert!(!calls.is_empty() && page.matches("class=\"room\"").count() == calls.len());
    let page = words_of(&page);
    assert!(page.contains("maker's notice 7"));
    for call in calls {
        let piece = &call["piece"];
        let whom = format!(
            "job {}, {}: {}",
            piece["job"],
            words(&piece["rider"]),
            words(&piece["contact"])
        );
        assert!(page.contains(&whom), "{whom}");
        let what = format!("serial {}, lot {}", words(&piece["serial"]), words(&piece["lot"]));
        assert!(page.contains(&what), "{what}");
    }
}

/// Lines, tax, what was paid and what is owed; before the first invoice there is none to print.
pub(super) fn of_the_invoice(desk: &Desk) {
    let told = desk.shop.line("print invoice 2").fails(9);
    assert!(told.contains("lockring invoice 2"), "{told}");
    for line in ["settings set tax-rate 19", "invoice 2"] {
        desk.shop.line(line).ok();
    }
    let page = words_of(&desk.text("print invoice 2", "invoice.html"));
    let account = &desk.shop.json("quote 2")[0];
    let money = |minor: &Value| {
        let minor = minor.as_i64().unwrap();
        format!("EUR {}.{:02}", minor / 100, minor % 100)
    };
    for line in account["lines"].as_array().unwrap() {
        let row = format!(
            "{} {} {}",
            words(&line["words"]),
            words(&line["kind"]),
            money(&line["price"])
        );
        assert!(page.contains(&row), "{row}");
    }
    let last = account["invoices"].as_array().unwrap().last().unwrap();
    assert!(
        page.contains(&format!("invoice {} of job 2", last["number"])),
        "{page}"
    );
    for (name, key) in [
        ("total", "total"),
        ("to pay", "to_pay"),
        ("in it: 19 % tax", "tax"),
        ("in it: net", "net"),
        ("paid", "paid"),
        ("owed", "owed"),
    ] {
        let row = format!("{name} {}", money(&account[key]));
        assert!(page.contains(&row), "{row}: {page}");
    }
}

/// Pictures of the evening and the week say what the reports say.
pub(super) fn of_the_reports(desk: &Desk) {
    let week = words_of(&desk.text("print week --on 2026-03-25", "week.html"));
    let told = &desk.shop.json("report predictions --on 2026-03-29")[0];
    let nobody = &desk.shop.json("report predictions --on 2026-03-02")[0];
    assert_eq!(nobody["errors"], serde_json::json!([]), "no ride was known then");
    let mut seen = 0;
    for error in told["errors"].as_array().unwrap() {
        let label = format!("{} (n {})", words(&error["name"]), error["rides"]);
        let mean = error["mean_percent"].as_f64().unwrap();
        seen += u32::from(says(&week, &label, mean, "%"));
    }
    assert!(seen > 3, "a past week has its picture of errors: {seen}");
    let blocked = &desk.shop.json("report blocked --on 2026-03-25")[0];
    let evening = words_of(&desk.text("print evening --on 2026-03-25", "evening.html"));
    let lines = blocked["lines"].as_array().unwrap();
    for family in blocked["by_family"].as_array().unwrap() {
        let of = |line: &&Value| line["block"]["family"] == family["name"];
        let days: f64 = lines
            .iter()
            .filter(of)
            .map(|line| line["block"]["age_days"].as_f64().unwrap())
            .sum();
        if days > 0.0 {
            assert_says(&evening, &words(&family["name"]), days, "block-days", "evening");
        }
    }
}

#[test]
fn a_number_is_held_against_its_value_by_the_digits_that_are_printed() {
    for (text, value, same) in [
        ("hill 13.4 km/h", 13.42, true),
        ("hill: 13.5 km/h", 13.42, false),
        ("hill 13 km/h", 13.42, true),
        ("hill 13.4 m", 13.42, false),
        ("hill 2, hill 13.4 km/h", 13.42, true),
        ("hill -0.3 km/h", -0.31, true),
        ("dale 13.4 km/h", 13.42, false),
    ] {
        assert_eq!(says(text, "hill", value, "km/h"), same, "{text}");
    }
}
