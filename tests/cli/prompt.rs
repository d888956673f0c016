//! The bench prompt, from a pipe and at a real terminal.

use std::io::Write as _;
use std::process::Stdio;

use crate::support::terminal::Terminal;
use crate::support::{LOCKRING, Shop, clean};

/// Types lines into a prompt that is no terminal.
fn piped(shop: &Shop, lines: &str) -> (i32, String) {
    let mut child = clean(LOCKRING)
        .arg("--dir")
        .arg(shop.folder())
        .arg("prompt")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(lines.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    (
        output.status.code().unwrap_or(-1),
        String::from_utf8(output.stdout).unwrap(),
    )
}

#[test]
fn short_lines_are_about_the_current_job() {
    let shop = Shop::with_demo_jobs();
    let (code, shown) = piped(&shop, "2\nm clf 51,5\nto lock 40\nnote he rang\nexit\n");
    assert_eq!(code, 0, "{shown}");
    assert!(shown.contains("job 2, "), "{shown}");
    assert!(shown.contains("51.5 mm (2.03 in)"), "{shown}");
    let texts: Vec<String> = shop
        .json("history 2")
        .iter()
        .map(|line| line["text"].as_str().unwrap().to_owned())
        .collect();
    for part in ["chainline-front 51.5 mm", "torque-lockring 40", "note: he rang"] {
        assert!(
            texts.iter().any(|text| text.contains(part)),
            "{part} in {texts:?}"
        );
    }
}

#[test]
fn a_number_that_may_be_the_job_or_the_words_is_asked_about() {
    let shop = Shop::with_demo_jobs();
    let before = shop.json("history 1").len() + shop.json("history 2").len();
    let (code, shown) = piped(&shop, "2\nnote 1 spoke replaced\n");
    assert_eq!(code, 2, "{shown}");
    assert!(shown.contains("Offer: note 2 1 spoke replaced"), "{shown}");
    assert_eq!(
        shop.json("history 1").len() + shop.json("history 2").len(),
        before
    );
}

#[test]
fn a_question_mark_says_what_may_come_next_and_a_slip_is_offered_right() {
    let shop = Shop::with_demo_jobs();
    let (_, shown) = piped(
        &shop,
        "2\nm gapm ?\nm gapm 26\nm chainlien-front 51\nmesure gapm 2\n",
    );
    assert!(shown.contains("next: motor case to chainstay"), "{shown}");
    assert!(shown.contains("Offer: measure 2 chainline-front 51"), "{shown}");
    assert!(shown.contains("Offer: measure gapm 2"), "{shown}");
}

#[test]
fn without_a_daemon_the_prompt_says_so_and_starts_none() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    let (code, shown) = piped(&shop, "measure 2 clf 51\njobs\n");
    assert_eq!(code, 3, "{shown}");
    assert!(shown.contains("no lockringd is serving"), "{shown}");
    assert_eq!(shop.run(["daemon", "status"]).code, 3);
}

#[test]
fn at_a_terminal_tab_completes_question_marks_ask_and_history_is_kept() {
    let shop = Shop::with_demo_jobs();
    let mut terminal = Terminal::run(&shop.folder(), 80, &["prompt", "2"], &[]);
    terminal.shows("K 2 Tomas V. (intake)> ");
    terminal.keys("m chainline-f\t51.5\r").shows("51.5 mm (2.03 in)");
    terminal
        .shows("> ")
        .keys("conc hill.r?")
        .shows("hill.restart")
        .shows("> ");
    // The line goes on where it was; Ctrl-C gives it up.
    terminal
        .keys("\x03")
        .shows("> ")
        .keys("note did he ring?\r")
        .shows("noted");
    // A slip in the number is offered right, and Enter takes it.
    terminal
        .shows("> ")
        .keys("m clf 515\r")
        .shows("did you mean 51.5 mm?");
    terminal.shows("clf 51.5mm").keys("\r").shows("readings");
    terminal.shows("> ").keys("\x04");
    let (code, _) = terminal.ends();
    assert_eq!(code, 0);
    let noted = shop
        .json("history 2")
        .iter()
        .filter(|line| line["text"] == "note: did he ring?")
        .count();
    assert_eq!(noted, 1);
    let mut again = Terminal::run(&shop.folder(), 200, &["prompt"], &[]);
    again
        .shows("K> ")
        .keys("\x1b[A\x1b[A")
        .shows("m clf 515")
        .keys("\x03")
        .shows("K> ")
        .keys("\x04");
    assert_eq!(again.ends().0, 0);
}

#[test]
fn a_resized_terminal_and_one_without_utf_8_or_colour_go_on() {
    let shop = Shop::with_demo_jobs();
    let plain = [("LC_ALL", "C"), ("NO_COLOR", "1"), ("TERM", "dumb")];
    let mut terminal = Terminal::run(&shop.folder(), 80, &["prompt", "2"], &plain);
    terminal.shows("> ").keys("check\r").shows("intake").shows("> ");
    terminal.resize(200);
    terminal.keys("show\r").shows("Job 2").shows("> ");
    // Ctrl-C ends a command that has no end, not the prompt.
    terminal.keys("watch\r").shows("watch");
    shop.line("note 2 seen from elsewhere").ok();
    terminal.shows("seen from elsewhere").interrupt();
    terminal.shows("> ").keys("\x04");
    let (code, text) = terminal.ends();
    assert_eq!(code, 0, "{text}");
    assert!(!text.contains("\x1b[3"), "colour in {text}");
}
