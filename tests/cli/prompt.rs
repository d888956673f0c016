//! The bench prompt, from a pipe and at a real terminal.

use std::io::Write as _;
use std::process::Stdio;

use super::readme::lines_of;
use crate::support::terminal::Terminal;
use crate::support::{LOCKRING, Shop, clean, words};

/// Types lines into a prompt that is no terminal.
fn piped(shop: &Shop, lines: &str) -> (i32, String) {
    let mut child = clean(LOCKRING)
        .arg("--dir")
        .arg(shop.folder())
        .arg("prompt")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    // Typed beside what is read: neither pipe holds all of it.
    let (mut keys, lines) = (child.stdin.take().unwrap(), lines.to_owned());
    let typing = std::thread::spawn(move || keys.write_all(lines.as_bytes()).unwrap());
    let output = child.wait_with_output().unwrap();
    typing.join().unwrap();
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
fn a_command_copied_from_a_hint_runs_as_it_stands() {
    let shop = Shop::with_demo_jobs();
    let (code, shown) = piped(&shop, "2\nlockring measure 2 gapm 3\nlockring history\n");
    assert_eq!(code, 0, "{shown}");
    assert!(shown.contains("motor case to chainstay 3 mm"), "{shown}");
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
        "2\nm gapm ?\nm gapm 26\nm chainlien-front 51\nmesure gapm 2\nzzz?\n",
    );
    assert!(
        shown.contains("nothing here begins with `zzz`\nnext: a command\n"),
        "{shown}"
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
    // What is typed instead is a line of its own, and an arrow key makes the offered one be edited.
    let readings = |shop: &Shop| {
        let lines = shop.json("history 2");
        let texts = lines.iter().map(|line| line["text"].as_str().unwrap().to_owned());
        texts
            .filter(|text| text.contains("motor-gap"))
            .collect::<Vec<_>>()
    };
    terminal
        .shows("> ")
        .keys("gapm 2\r")
        .shows("what is typed takes its place");
    terminal
        .shows("measure gapm 2")
        .keys("3\r")
        .shows("job 3, ")
        .shows("> ");
    assert_eq!(readings(&shop), Vec::<String>::new());
    terminal.keys("2\r").shows("job 2, ").shows("> ");
    terminal
        .keys("m clf 515\r")
        .shows("takes its place")
        .shows("clf 51.5mm");
    terminal.keys("\x1b[D").keys("\r").shows("readings");
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
    let widest = |text: &str| text.lines().map(|line| line.trim_end().len()).max();
    let at_80 = terminal.text.len();
    assert!(widest(&terminal.text) > Some(60), "{}", terminal.text);
    terminal.resize(60);
    terminal.keys("check\r").shows("intake").shows("> ");
    assert!(
        widest(&terminal.text[at_80..]) <= Some(60),
        "{}",
        &terminal.text[at_80..]
    );
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

/// The README's half hour at the prompt, line for line.
const SHORT: [&str; 20] = [
    "ca i cli/demo/catalogue.toml",
    "ta --file cli/demo/longtail.toml",
    "1\nche",
    "e hill.r",
    "conc hill.r --why \"knows the road, it is eight\"",
    "a",
    "m gapm 0",
    "m spacer 2.5",
    "m gapm 2,6",
    "m stack 75.5",
    "m clf 51.5",
    "m line-tube=34 line-gap=33 line-ring=2",
    "m clr 45",
    "e chainline.ce",
    "to lo 40",
    "ri plan",
    "ri hill 9.9 grade=10.8 volts=44.6",
    "ri compare",
    "u",
    "exit",
];

#[test]
fn the_half_hour_takes_at_most_three_fifths_of_the_keys_and_says_the_same() {
    let readme = std::fs::read_to_string(format!("{}/README.md", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let spelt = lines_of(&readme, "A mechanic's half hour");
    assert_eq!(spelt.len() + 1, SHORT.len(), "{spelt:?}");
    let keys = |lines: &[String]| lines.iter().map(|line| line.chars().count() + 1).sum::<usize>();
    let short: Vec<String> = SHORT.iter().map(|line| (*line).to_owned()).collect();
    let (long, few) = (keys(&spelt), keys(&short));
    assert!(few * 100 <= long * 60, "{few} keys of {long}");

    let entered = |shop: &Shop| -> Vec<String> {
        let lines = shop.json("history 1");
        lines
            .iter()
            .map(|line| line["text"].as_str().unwrap().to_owned())
            .collect()
    };
    let by_lines = Shop::open();
    for line in &spelt {
        let done = clean(LOCKRING)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .env("LOCKRING_DIR", by_lines.folder())
            .args(&words(line)[1..])
            .stdin(Stdio::null())
            .output()
            .unwrap();
        assert!(matches!(done.status.code(), Some(0 | 8)), "{line}");
    }
    let by_prompt = Shop::open();
    let (_, shown) = piped(&by_prompt, &format!("{}\n", SHORT.join("\n")));
    assert_eq!(entered(&by_prompt), entered(&by_lines), "{shown}");
}

/// Small numbers from a seed, the same on every machine.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        // Multiplier and increment of Knuth's MMIX generator.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % most as u64) as usize
    }
}

/// A line with one letter left out, doubled, changed or swapped with the next.
fn mistyped(line: &str, dice: &mut Dice) -> String {
    let mut letters: Vec<char> = line.chars().collect();
    let at = dice.below(letters.len());
    match dice.below(4) {
        0 => drop(letters.remove(at)),
        1 => letters.insert(at, letters[at]),
        2 => letters[at] = char::from(b'a' + dice.below(26) as u8),
        _ if at + 1 < letters.len() => letters.swap(at, at + 1),
        _ => letters.truncate(at),
    }
    letters.into_iter().collect()
}

/// What is typed in a week, the second column as it is called in full.
const WEEK: [(&str, &str); 40] = [
    ("measure clf 51.5", "measure"),
    ("measure gapm 2,6", "measure"),
    ("measure chainline-rear 45 --anew", "measure"),
    ("note spokes are tight", "note"),
    ("torque lockring 40", "torque"),
    ("ride hill 9.9km/h grade=10.8%", "ride"),
    ("ride plan", "ride"),
    ("brief hill-grade=8%", "brief"),
    ("donor tyre-size=47-622", "donor"),
    ("build pack=pack-13s4p", "build"),
    ("undo", "undo"),
    ("show", "show"),
    ("check", "check"),
    ("check --gate intake", "check"),
    ("explain hill.climb_speed", "explain"),
    ("concede hill.restart --why road", "concede"),
    ("advance", "advance"),
    ("history", "history"),
    ("jobs", "jobs"),
    ("hold --why holiday", "hold"),
    ("release", "release"),
    ("block rider unpaid", "block"),
    ("chase 1 he calls", "chase"),
    ("clear 1 --why done", "clear"),
    ("order motor --from M", "order"),
    ("receive motor --serial M1", "receive"),
    ("promise 2027-04-14 --why late", "promise"),
    ("told new day agreed", "told"),
    ("clock on fitting", "clock"),
    ("clock off", "clock"),
    ("quote ceiling 1900", "quote"),
    ("pay 20 --kind deposit --how card", "pay"),
    ("money", "money"),
    ("fit --what-if spacer=2.5mm", "fit"),
    ("chainline", "chainline"),
    ("photo", "photo"),
    ("status", "status"),
    ("words runs", "words"),
    ("settings history", "settings"),
    ("iam", "iam"),
];

/// How many slips are typed; `LOCKRING_SLIPS=10000` types more, `LOCKRING_SEED` others.
fn number(name: &str, usual: u64) -> u64 {
    let said = std::env::var(name).ok();
    said.map_or(usual, |said| said.parse().unwrap())
}

/// The lines that an answer of the prompt offers, best first; `None` when it offers nothing.
fn offered(answer: &str) -> Option<Vec<String>> {
    if let Some((_, one)) = answer
        .split_once("\nOffer: ")
        .or_else(|| answer.split_once("Offer: "))
    {
        return Some(vec![one.lines().next().unwrap_or_default().to_owned()]);
    }
    let (_, list) = answer.split_once("Did you mean:\n")?;
    let lines = list.lines().take_while(|line| line.starts_with("  "));
    Some(lines.map(|line| line.trim().to_owned()).collect())
}

#[test]
fn mistyped_lines_at_one_job_never_write_to_another() {
    let shop = Shop::with_demo_jobs();
    // What the daemon writes by itself in the meantime is not typed.
    let typed_by_k = |line: &serde_json::Value| line.get("by").is_none_or(|by| by == "K");
    let others = |shop: &Shop| -> Vec<serde_json::Value> {
        let lists = ["history 1", "history 3", "settings history", "catalogue list"];
        let lines = lists.iter().flat_map(|line| shop.json(line));
        lines.filter(typed_by_k).collect()
    };
    let before = others(&shop);
    let slips = number("LOCKRING_SLIPS", 2000);
    let mut dice = Dice(number("LOCKRING_SEED", 20_261_125));
    // An answer ends where the prompt is asked what comes next, which needs no daemon.
    let (mark, marked) = ("daemon ?", "Start lockringd, detached");
    let mut typed = String::from("2\n");
    let mut meant = Vec::new();
    for _ in 0..slips {
        let (line, command) = WEEK[dice.below(WEEK.len())];
        let slip = mistyped(line, &mut dice);
        typed.push_str(&format!("{slip}\n{mark}\n"));
        meant.push((slip, command));
    }
    let (code, shown) = piped(&shop, &typed);
    assert!((0..=16).contains(&code), "it ended as {code}:\n{shown}");
    assert!(!shown.contains("panicked"), "{shown}");
    let fresh: Vec<_> = others(&shop)
        .into_iter()
        .filter(|line| !before.contains(line))
        .collect();
    assert!(
        fresh.is_empty(),
        "something else than job 2 was written to: {fresh:?}"
    );
    assert_eq!(shop.json("verify")[0]["sound"], true);

    let answers: Vec<&str> = shown.split(marked).collect();
    assert_eq!(answers.len(), meant.len() + 1, "an answer went missing");
    // The slips that made the command's own word one that is not known: each is told so.
    let (mut unknown, mut found, mut missed) = (0, 0, Vec::new());
    for ((slip, command), answer) in meant.iter().zip(&answers) {
        if !answer.contains("is no command") || slip.split(' ').next() == Some(command) {
            continue;
        }
        unknown += 1;
        let offers = offered(answer).unwrap_or_default();
        let leads = |line: &String| line.split(' ').next() == Some(command);
        if offers.iter().take(3).any(leads) {
            found += 1;
        } else {
            missed.push(format!("{slip}: {offers:?}"));
        }
    }
    assert!(
        unknown > slips / 20,
        "only {unknown} of {slips} commands were not known"
    );
    assert!(
        found * 10 >= unknown * 9,
        "{found} of {unknown}; not offered for:\n{}",
        missed.join("\n")
    );
}
