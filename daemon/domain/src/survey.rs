//! All pages surveyed: every figure of what people read about three bicycles, as told in their sheets and
//! as ridden, against those kept.
//!
//! Regression values, computed by the pages themselves: they say nothing about right or wrong, which the
//! tests of each page do with figures from outside, but none changes unseen. A line of `survey.txt` is a
//! bicycle, a page, how many figures it has, the first of them, and a digest of all to five digits.
//!
//! When a page is changed on purpose, `.ci/survey` writes the table anew; its difference shows what else
//! the change touched.

use std::fmt::{Debug, Write as _};

use sha2::{Digest, Sha256};

use crate::checks::testing::{Bench, hardtail, longtail, trekking, with_desk};
use crate::forecast::{self, Asked, RideAsked, RoadAsked};
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::{card, chainline, diagnosis, fit, hills, learning, outlook, regear, ride_plan, stand};

const KEPT: &str = include_str!("survey.txt");

/// Figures shown of each page.
const SHOWN: usize = 10;

/// What a text tells: its numbers to five digits, signs with them, and, outside of words meant for people,
/// what is so and what is not, and which of several it is.
fn figures(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let (mut before, mut quoted) = (' ', false);
    let (mut number, mut word) = (String::new(), String::new());
    for letter in text.chars().chain([' ']) {
        if letter == '"' && before != '\\' {
            quoted = !quoted;
        }
        let begins = letter == '-' && number.is_empty() && " ([:".contains(before);
        let goes_on = letter.is_ascii_digit()
            || (!number.is_empty() && (letter == '.' || letter == 'e'))
            || (number.ends_with('e') && letter == '-');
        if begins || goes_on {
            number.push(letter);
        } else if !number.is_empty() {
            let read = number.trim_end_matches(['.', 'e', '-']).parse::<f64>();
            found.extend(read.map(|read| format!("{read:.4e}")));
            number.clear();
        }
        if letter.is_alphabetic() && !quoted {
            word.push(letter);
        } else if !word.is_empty() {
            let is_one_of_several = word.starts_with(char::is_uppercase) || word == "true" || word == "false";
            found.extend(is_one_of_several.then(|| word.clone()));
            word.clear();
        }
        before = letter;
    }
    found
}

/// What a page says, or why it says nothing. Addresses of the program's own and hashes are no figures.
fn line(bicycle: &str, page: &str, says: &dyn Debug) -> String {
    let text = format!("{says:?}");
    let mut after_hash = false;
    let words = text.split(' ').filter(|word| {
        let is_hash = std::mem::replace(&mut after_hash, *word == "fingerprint:");
        !is_hash && !word.starts_with("0x")
    });
    let all = figures(&words.collect::<Vec<_>>().join(" "));
    let mut image = Sha256::new();
    for figure in &all {
        image.update(figure);
        image.update(" ");
    }
    let mut line = format!("{bicycle} {page} {}:", all.len());
    let numbers = all
        .iter()
        .filter(|figure| !figure.starts_with(char::is_alphabetic));
    for figure in numbers.take(SHOWN) {
        let _infallible = write!(line, " {figure}");
    }
    let _infallible = write!(line, " #{}", digest(image));
    line
}

/// Enough of a sum to tell one page from another.
pub(crate) fn digest(image: Sha256) -> String {
    let bytes = image.finalize();
    bytes.iter().take(4).map(|byte| format!("{byte:02x}")).collect()
}

/// The bicycle with a test ride on it.
fn ridden(bench: Bench) -> Bench {
    bench
        .receive_all()
        .measure(&[
            ("clf", "50.5"),
            ("clr", "45.0"),
            ("gapm", "2.5"),
            ("gapc", "4.5"),
            ("spacer", "1.0"),
            ("circ", "2150mm"),
            ("tyre-pressure", "3 bar"),
            ("mass-after", "44 kg"),
        ])
        .ride(
            "conditions",
            &[("mass", "145kg"), ("wind", "1m/s"), ("air", "12C")],
        )
        .ride("stop", &[("distance", "6.1 m"), ("speed", "25 km/h")])
        .ride("cutoff", &[("out", "24.6 km/h"), ("back", "25.1 km/h")])
        .ride(
            "speed",
            &[
                ("out", "23 km/h"),
                ("back", "24 km/h"),
                ("volts", "36 V"),
                ("amps", "9 A"),
            ],
        )
        .ride("coast", &[("out", "14 s"), ("back", "15 s")])
        .ride("legs", &[("out", "17 km/h"), ("back", "18 km/h")])
        .ride(
            "hill",
            &[
                ("speed", "8 km/h"),
                ("grade", "9 %"),
                ("volts", "35 V"),
                ("amps", "12 A"),
            ],
        )
        .ride("restart", &[("starts", "2/3")])
        .ride(
            "energy",
            &[("distance", "9.6km"), ("charge", "2.2Ah"), ("volts", "36.1V")],
        )
}

fn lines(name: &str, bench: &Bench) -> Vec<String> {
    let mut job = bench.job.clone();
    let rules = RuleSheet::shipped();
    let now = job.touched;
    let mut found = Vec::new();
    let mut page = |page: &str, says: &dyn Debug| found.push(line(name, page, says));
    page("plan", &ride_plan::plan(&job, now, &rules));
    page("hills", &hills::hills(&job, &rules, None, None));
    page("hill", &hills::hills(&job, &rules, Some(0.07), None));
    page("chainline", &chainline::picture(&job, &rules));
    page("stand", &stand::sheet(&job, &rules));
    with_desk(|desk| {
        page("fit", &fit::page(&job, desk));
        page("gearings", &regear::table(&job, now, desk));
    });
    let asked = Asked { draws: 12, seed: 5 };
    page(
        "forecast",
        &forecast::forecast(&job, &rules, None, asked, &mut |_| true),
    );
    let typical = RideAsked {
        road: RoadAsked::Typical,
        headwind: 1.0,
        level: None,
        climb_by: None,
    };
    page(
        "range",
        &forecast::range(&job, &rules, typical, asked, &mut |_| true),
    );
    let all = crate::cautions::all();
    let place = |caution: &crate::cautions::Caution| all.iter().position(|one| one.id == caution.id);
    page(
        "cautions",
        &crate::cautions::for_job(&job)
            .filter_map(place)
            .collect::<Vec<_>>(),
    );
    job.stage = Stage::TestRide;
    page("card", &card::card(&job, now, &rules));
    page("lesson", &learning::lesson(&job, &rules));
    page("comparison", &diagnosis::compare(&job, &rules));
    let day = "2026-03-25".parse().unwrap();
    let shop = crate::shop::Shop::default();
    page(
        "outlook",
        &outlook::outlooks(&[job.clone()], &shop, &rules, day, day),
    );
    found
}

/// Holds the lines of a survey that begin alike against those kept in a table beside its tests. What
/// differs is told line by line, as `.ci/survey` reads it.
#[track_caller]
pub(crate) fn hold(table: &str, kept: &str, begins: &str, found: &[String]) {
    let name = |line: &str| line.split(' ').take(2).collect::<Vec<_>>().join(" ");
    let kept: Vec<&str> = kept.lines().filter(|line| line.starts_with(begins)).collect();
    let mut told = String::new();
    for line in found.iter().filter(|line| !kept.contains(&line.as_str())) {
        let before = kept.iter().find(|kept| name(kept) == name(line));
        let _infallible = write!(
            told,
            "\n{table} kept: {}\n{table} now: {line}",
            before.unwrap_or(&"nothing")
        );
    }
    let gone = kept
        .iter()
        .filter(|kept| !found.iter().any(|line| name(line) == name(kept)));
    for line in gone {
        let _infallible = write!(told, "\n{table} gone: {}", name(line));
    }
    assert!(told.is_empty(), "{told}");
    assert_eq!(kept.len(), found.len(), "a line stands twice in {table}");
}

fn hold_pages(name: &str, bench: fn() -> Bench) {
    let mut found = lines(&format!("{name}-told"), &bench());
    found.extend(lines(&format!("{name}-ridden"), &ridden(bench())));
    hold("survey.txt", KEPT, name, &found);
}

#[test]
fn figures_are_read_off_with_their_signs() {
    let text = "x: -1.5, [2e-3, 20-3] a1 v-2 0.000123456789. Fail { so: true, says: \"True to 3\" }";
    let expected = [
        "-1.5000e0",
        "2.0000e-3",
        "2.0000e1",
        "3.0000e0",
        "1.0000e0",
        "2.0000e0",
        "1.2346e-4",
        "Fail",
        "true",
        "3.0000e0",
    ];
    assert_eq!(figures(text), expected);
}

#[test]
fn no_page_of_a_hub_motor_changes_unseen() {
    hold_pages("trekking", trekking);
}

#[test]
fn no_page_of_a_mid_motor_changes_unseen() {
    hold_pages("longtail", longtail);
}

#[test]
fn no_page_of_a_strong_motor_changes_unseen() {
    hold_pages("hardtail", hardtail);
}
