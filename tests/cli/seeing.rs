//! What is seen on terminals: every reading command, narrow and wide, without colour, without
//! tables, and with fewer letters than Unicode has.

use crate::support::Shop;
use crate::support::terminal::Terminal;

/// Commands about a job; `#` stands for its number.
const OF_A_JOB: &[&str] = &[
    "show #",
    "check # --gate intake",
    "check # --gate parts",
    "check # --gate fitting",
    "check # --gate test-ride",
    "check # --gate handover",
    "explain # chainline.centre",
    "explain # hill.climb_speed",
    "explain # brakes.size",
    "fit #",
    "chainline #",
    "hill #",
    "predict # --draws 20",
    "range # --draws 10",
    "regear #",
    "propose #",
    "ride # plan",
    "ride # compare",
    "ride # logs",
    "history #",
    "quote #",
    "money #",
    "fill # --list",
    "photo #",
    "advance # --dry-run",
    "measure # gapm 3 --dry-run",
];

/// Commands about the shop.
const OF_THE_SHOP: &[&str] = &[
    "jobs --all",
    "promises --all",
    "report blocked",
    "report day --on 2026-03-25",
    "report week --on 2026-03-25",
    "report class",
    "report predictions",
    "settings",
    "settings rules",
    "settings history",
    "catalogue list",
    "catalogue show mid-48-250",
    "shelf",
    "suppliers",
    "order list",
    "lot PK-2511-C",
    "where 40117",
    "people",
    "status",
    "verify",
    "doctor",
    "words",
    "help words",
    "help json",
    "help exit-codes",
    "help measure",
    "iam",
    "send --list",
];

/// Every command, about these of the demo's three jobs.
fn commands(jobs: std::ops::RangeInclusive<u32>) -> Vec<String> {
    let of_jobs = jobs.flat_map(|job| {
        OF_A_JOB
            .iter()
            .map(move |line| line.replace('#', &job.to_string()))
    });
    of_jobs
        .chain(OF_THE_SHOP.iter().map(|line| (*line).to_owned()))
        .collect()
}

/// What a terminal shows of a command, line by line.
fn seen(shop: &Shop, columns: u16, line: &str, more: &[&str], environment: &[(&str, &str)]) -> String {
    let args: Vec<&str> = line.split(' ').chain(more.iter().copied()).collect();
    let bytes = Terminal::run(&shop.folder(), columns, &args, environment).bytes();
    String::from_utf8(bytes).unwrap().replace("\r\n", "\n")
}

/// A line without colour; what a later part of it was written over is gone.
fn bare(line: &str) -> String {
    let mut bare = String::new();
    let mut letters = line.rsplit('\r').next().unwrap_or_default().chars();
    while let Some(letter) = letters.next() {
        if letter == '\u{1b}' {
            letters.by_ref().find(char::is_ascii_alphabetic);
        } else {
            bare.push(letter);
        }
    }
    bare
}

/// Lines that are wider than the terminal, but for a command to be copied, which is never broken.
fn too_wide(shown: &str, columns: usize) -> Vec<String> {
    let is_command = |line: &str| line.trim_start().starts_with("lockring ");
    let lines = shown.lines().map(bare);
    lines
        .filter(|line| line.chars().count() > columns && !is_command(line))
        .collect()
}

#[test]
fn a_narrow_terminal_of_few_letters_and_no_colour_shows_everything() {
    let shop = Shop::after_the_demo();
    let poor = [("LC_ALL", "C"), ("NO_COLOR", "1")];
    for line in commands(2..=3) {
        let shown = seen(&shop, 80, &line, &[], &poor);
        assert!(!shown.trim().is_empty(), "{line} shows nothing");
        assert_eq!(too_wide(&shown, 80), Vec::<String>::new(), "{line}");
        assert!(shown.is_ascii(), "{line}: {shown}");
        let settled: Vec<&str> = shown
            .lines()
            .map(|line| line.rsplit('\r').next().unwrap_or(line))
            .collect();
        assert!(
            !settled.join("\n").contains("\u{1b}[3"),
            "{line} is coloured: {shown}"
        );
    }
}

#[test]
fn a_wide_terminal_is_used_and_never_overrun() {
    let shop = Shop::after_the_demo();
    shop.line("people units K imperial").ok();
    let rich = [("LANG", "C.UTF-8")];
    let mut wider = 0;
    for line in commands(2..=2) {
        let shown = seen(&shop, 200, &line, &[], &rich);
        assert_eq!(too_wide(&shown, 200), Vec::<String>::new(), "{line}");
        let narrow = seen(&shop, 80, &line, &[], &rich);
        assert_eq!(too_wide(&narrow, 80), Vec::<String>::new(), "{line}, imperial");
        wider += usize::from(shown.lines().map(bare).any(|line| line.chars().count() > 80));
    }
    assert!(wider > 20, "only {wider} commands use more than 80 columns");
    // Every row of a list stands on fewer lines where there is room.
    let lines = |columns| seen(&shop, columns, "order list", &[], &rich).lines().count();
    assert!(lines(200) < lines(80), "{} {}", lines(200), lines(80));
}

#[test]
fn plain_output_is_labelled_lines_that_can_be_read_out() {
    let shop = Shop::after_the_demo();
    for line in commands(1..=3) {
        let shown = seen(&shop, 80, &line, &["--plain"], &[("LANG", "C.UTF-8")]);
        assert!(!shown.trim().is_empty(), "{line} shows nothing");
        for one in shown.lines() {
            assert!(
                !one.contains('\u{1b}') && !one.contains('\r'),
                "{line}: codes in {one:?}"
            );
            let words = one.trim();
            assert!(!words.contains("  "), "{line}: columns in {one:?}");
            assert!(
                !words.contains(" |") && !words.contains("==") && !words.contains("--- "),
                "{line}: drawn: {one:?}"
            );
        }
        // Nothing of a page stands in one place only by its column: each row of a table has its labels.
        if line == "jobs --all" {
            assert!(
                shown.contains("job: 2\n") && shown.contains("rider, bicycle: Tomas V."),
                "{shown}"
            );
        }
    }
}

#[test]
fn colour_comes_when_it_is_asked_for_and_goes_when_it_is_not_wanted() {
    let shop = Shop::after_the_demo();
    let utf8 = ("LANG", "C.UTF-8");
    let coloured = |more: &[&str], environment: &[(&str, &str)]| {
        seen(&shop, 80, "check 2", more, environment).contains("\u{1b}[3")
    };
    assert!(coloured(&[], &[utf8]));
    assert!(!coloured(&[], &[utf8, ("NO_COLOR", "1")]));
    assert!(!coloured(&["--color", "never"], &[utf8]));
    assert!(
        coloured(&["--color", "always"], &[utf8, ("NO_COLOR", "1")]),
        "what is asked for on the line wins"
    );
    assert!(!coloured(&["--plain"], &[utf8]));
    // Into a pipe there is none, unless it is asked for; errors obey too.
    assert!(!shop.line("check 2").ok().contains('\u{1b}'));
    assert!(shop.line("check 2 --color always").ok().contains("\u{1b}[3"));
    for (more, wanted) in [("", true), ("--plain", false), ("--color=never", false)] {
        let line = format!("show 99 {more}");
        let shown = seen(&shop, 80, line.trim(), &[], &[utf8]);
        assert!(shown.contains("Error:"), "{shown}");
        assert_eq!(shown.contains("\u{1b}["), wanted, "{line}: {shown:?}");
    }
}

#[test]
fn a_latin_terminal_gets_its_own_bytes() {
    let shop = Shop::open();
    shop.line("take-in Jürgen").ok();
    let latin = Terminal::run(
        &shop.folder(),
        80,
        &["show", "1"],
        &[("LANG", "de_DE.ISO-8859-1")],
    )
    .bytes();
    assert!(latin.windows(6).any(|bytes| bytes == b"J\xfcrgen"), "{latin:?}");
    let poor = Terminal::run(&shop.folder(), 80, &["show", "1"], &[("LC_ALL", "C")]).bytes();
    assert!(poor.windows(7).any(|bytes| bytes == b"Juergen"), "{poor:?}");
    // A program is given what was stored, whatever the locale.
    assert!(shop.line("show 1").ok().contains("Jürgen"));
}
