//! Every command line of the README works as printed, in the order it is printed, and says what is
//! kept in `tests/data/readme.txt`: numbers rounded to three digits, days and times of the clock
//! left out. After a change that is meant, `LOCKRING_KEEP_README=1 cargo test --test lockring readme`
//! writes that file anew; read the difference before you keep it.

use std::fmt::Write as _;

use std::process::Stdio;

use crate::support::{LOCKRING, Shop, clean, words};

/// Lines that are not typed by themselves here: the shop of a test is served already, and a
/// watch has no end.
const LEFT_OUT: [&str; 2] = ["lockring daemon start", "lockring watch"];

/// The command lines of a section, comments cut off.
pub fn lines_of(readme: &str, section: &str) -> Vec<String> {
    let section = readme.split(&format!("\n## {section}\n")).nth(1).expect(section);
    section
        .split("\n## ")
        .next()
        .unwrap_or_default()
        .lines()
        .filter(|line| line.starts_with("lockring "))
        .map(|line| line.split(" #").next().unwrap_or(line).trim_end().to_owned())
        .filter(|line| !LEFT_OUT.contains(&line.as_str()))
        .collect()
}

#[test]
fn the_half_hour_and_the_evening_work_as_printed() {
    let house = env!("CARGO_MANIFEST_DIR");
    let readme = std::fs::read_to_string(format!("{house}/README.md")).unwrap();
    let mut lines = lines_of(&readme, "A mechanic's half hour");
    lines.extend(lines_of(&readme, "Before buying"));
    lines.extend(lines_of(&readme, "An owner's evening"));
    lines.extend(lines_of(&readme, "The shop's own"));
    assert!(lines.len() > 20, "only {} lines found", lines.len());
    let shop = Shop::open();
    let mut told_all = String::new();
    for line in lines {
        let output = clean(LOCKRING)
            .current_dir(house)
            .env("LOCKRING_DIR", shop.folder())
            .args(&words(&line)[1..])
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let code = output.status.code().unwrap_or(-1);
        // The gate is tried before everything it asks for is there, as happens at a bench.
        let expected = if line.starts_with("lockring advance") {
            8
        } else {
            0
        };
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(code, expected, "`{line}` gave:\n{told}");
        let told = String::from_utf8(output.stdout).unwrap();
        writeln!(told_all, "$ {line}").unwrap();
        for row in settled(&told, shop.folder().to_str().unwrap()) {
            writeln!(told_all, "    {row}").unwrap();
        }
    }
    let kept = format!("{house}/tests/data/readme.txt");
    if std::env::var_os("LOCKRING_KEEP_README").is_some() {
        std::fs::write(&kept, &told_all).unwrap();
    }
    let kept = std::fs::read_to_string(kept).unwrap();
    for (place, (told, kept)) in told_all.lines().zip(kept.lines()).enumerate() {
        assert_eq!(told, kept, "line {} of tests/data/readme.txt", place + 1);
    }
    assert_eq!(told_all.lines().count(), kept.lines().count());
}

/// What was printed, without what hangs on the day it was printed on: words in rows of a fixed width,
/// because the length of a number decides where a line breaks.
fn settled(told: &str, folder: &str) -> Vec<String> {
    // The README's days pass.
    let told: Vec<&str> = told
        .lines()
        .filter(|line| !line.ends_with("is past already"))
        .collect();
    let told = told.join("\n");
    // An entry made in one minute may be stored in the next.
    let (mut timeless, mut rest) = (String::new(), told.as_str());
    while let Some((before, after)) = rest.split_once(" (stored ") {
        timeless.push_str(before);
        rest = after.split_once(')').map_or("", |(_, after)| after);
    }
    timeless.push_str(rest);
    let words: Vec<&str> = timeless.split_whitespace().collect();
    let mut rows = vec![String::new()];
    for (place, word) in words.iter().enumerate() {
        let word = word.replace(folder, "DIR");
        let bare = word.trim_matches(|letter: char| !letter.is_ascii_alphanumeric());
        let near = |step: isize| {
            let other = place.checked_add_signed(step).and_then(|place| words.get(place));
            other.map_or("", |other| {
                other.trim_matches(|letter: char| !letter.is_ascii_alphanumeric())
            })
        };
        let by_the_day = is_day(bare)
            || (is_number(bare) && (is_month(near(1)) || near(1).starts_with("day") || near(1) == "working"))
            || (is_number(bare) && is_month(near(-1)));
        let shown = if by_the_day {
            word.replace(bare, "*")
        } else {
            rounded(&word)
        };
        let row = rows.last_mut().expect("there is always a row");
        if row.len() + shown.len() > 100 {
            rows.push(shown);
        } else {
            if !row.is_empty() {
                row.push(' ');
            }
            row.push_str(&shown);
        }
    }
    rows
}

fn is_number(word: &str) -> bool {
    !word.is_empty() && word.chars().all(|letter| letter.is_ascii_digit())
}

fn is_month(word: &str) -> bool {
    let months = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    months.contains(&word)
}

/// A day, weekday, month or time of day.
fn is_day(word: &str) -> bool {
    let parts: Vec<&str> = word.split(['-', ':', 'T']).collect();
    let is_stamp = parts.len() > 1
        && parts.iter().all(|part| is_number(part))
        && (parts[0].len() == 4 || word.contains(':'));
    is_stamp || is_month(word) || ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"].contains(&word)
}

/// Every number of a word with a decimal point to three digits.
fn rounded(word: &str) -> String {
    let mut shown = String::new();
    let mut rest = word;
    while let Some(begin) = rest.find(|letter: char| letter.is_ascii_digit()) {
        let length = rest[begin..].find(|letter: char| !letter.is_ascii_digit() && letter != '.');
        let (number, after) = rest[begin..].split_at(length.unwrap_or(rest.len() - begin));
        shown.push_str(&rest[..begin]);
        match number.parse::<f64>() {
            Ok(value) if number.contains('.') && value > 0.0 => {
                let places = (2 - value.log10().floor() as i32).clamp(0, 6) as usize;
                write!(shown, "{value:.places$}").unwrap();
            }
            _ => shown.push_str(number),
        }
        rest = after;
    }
    shown.push_str(rest);
    shown
}
