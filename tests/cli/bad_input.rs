//! Wrong commands: each says what is wrong, how to go on, exits by name, and changes nothing.

use crate::support::{Shop, demo_file, run_in};

/// Exit codes as the README names them.
const USAGE: i32 = 2;
const NO_DAEMON: i32 = 3;
const BAD_INPUT: i32 = 4;
const OUTSIDE_WINDOW: i32 = 5;
const UNKNOWN_WORD: i32 = 6;
const NOT_FOUND: i32 = 7;
const GATE_CLOSED: i32 = 8;
const REFUSED: i32 = 9;
const CONFLICT: i32 = 10;

/// Command line, exit code, and words the complaint must hold.
const WRONG: &[(&str, i32, &[&str])] = &[
    (
        "measure 2 chanline-front 51.5",
        UNKNOWN_WORD,
        &["chanline-front", "chainline-front"],
    ),
    (
        "measure 2 clf 515",
        OUTSIDE_WINDOW,
        &["515 mm", "51.5 mm", "--force"],
    ),
    ("measure 2 clf 51.5kg", BAD_INPUT, &["51.5kg", "chainline"]),
    ("measure 2 clf fifty", BAD_INPUT, &["fifty", "for example"]),
    ("measure 2 clf -30", BAD_INPUT, &["-30", "less than nothing"]),
    ("measure 2 clf -30 --force", BAD_INPUT, &["less than nothing"]),
    ("measure 2 circ 700", OUTSIDE_WINDOW, &["700 mm"]),
    ("measure 2 clf", USAGE, &["no value"]),
    ("measure 99 clf 51.5", NOT_FOUND, &["99"]),
    ("measure two clf 51.5", USAGE, &["two"]),
    ("measure 2 range 30km", BAD_INPUT, &["stated", "lockring brief"]),
    ("measure 2 back-pedal 11/10", BAD_INPUT, &["11/10", "3/3"]),
    ("measure 2 torque-arm perhaps", BAD_INPUT, &["perhaps", "yes"]),
    ("torque 2 lockrng 40", UNKNOWN_WORD, &["lockrng", "lockring"]),
    ("torque 2 lockring 400", OUTSIDE_WINDOW, &["400", "40"]),
    ("torque 2 lockring 40mm", BAD_INPUT, &["40mm"]),
    ("ride 2 hil 9.9km/h", UNKNOWN_WORD, &["hil", "hill"]),
    ("ride 2 hill speeed=9.9km/h", UNKNOWN_WORD, &["speeed", "speed"]),
    ("ride 2 restart 1 2 3", BAD_INPUT, &["3/3"]),
    ("ride 2 hill 9.9V", BAD_INPUT, &["9.9V"]),
    ("brief 2 hill-grade=8kg", BAD_INPUT, &["8kg", "%"]),
    ("brief 2 hill-grade=80%", OUTSIDE_WINDOW, &["80 %"]),
    ("brief 2 posture=lying", BAD_INPUT, &["lying", "one of"]),
    ("brief 2 ride-class=eu-epc", UNKNOWN_WORD, &["eu-epc", "eu-epac"]),
    ("brief 2 stay-length=480mm", BAD_INPUT, &["donor"]),
    (
        "brief 2 promise=24/3/2026",
        BAD_INPUT,
        &["24/3/2026", "2026-03-24"],
    ),
    (
        "brief 2 rider-power=lazy",
        BAD_INPUT,
        &["lazy", "easy, steady, sporty"],
    ),
    ("donor 2 rim-inner=700C", BAD_INPUT, &["700C", "10 mm to 80 mm"]),
    (
        "donor 2 shell-standard=35x1",
        BAD_INPUT,
        &["without its hand", "french", "swiss", "`english`"],
    ),
    ("donor 2 tyre-size=wide", BAD_INPUT, &["wide", "42-622"]),
    (
        "donor 2 tyre-size=28in",
        BAD_INPUT,
        &["28in", "622 or 635 mm", "-622 or -635", "42-622"],
    ),
    ("donor 2 cogs=34-30-26", BAD_INPUT, &["34-30-26", "rising"]),
    (
        "donor 2 shell-width=-73mm",
        BAD_INPUT,
        &["-73", "less than nothing"],
    ),
    (
        "build 2 motor=mid-48-205",
        NOT_FOUND,
        &["mid-48-205", "mid-48-250"],
    ),
    ("build 2 motor=pack-13s4p", BAD_INPUT, &["pack", "motor"]),
    ("build 2 moter=mid-48-250", UNKNOWN_WORD, &["moter", "motor"]),
    (
        "order 2 rotr-front --from M",
        UNKNOWN_WORD,
        &["rotr-front", "rotor-front"],
    ),
    ("order 2 motor --from M --due soon", BAD_INPUT, &["soon"]),
    ("receive 2 torque-arm", REFUSED, &["torque-arm"]),
    ("receive 2 pack seris=14", UNKNOWN_WORD, &["seris", "series"]),
    ("receive 2 pack --volts 3kg", BAD_INPUT, &["3kg"]),
    ("check 2 --gate fiting", UNKNOWN_WORD, &["fiting", "fitting"]),
    (
        "explain 2 chainline.center",
        UNKNOWN_WORD,
        &["chainline.center", "chainline.centre"],
    ),
    (
        "concede 2 pack.full_volts --why please",
        REFUSED,
        &["never conceded"],
    ),
    (
        "concede 2 hill.climb_spee --why please",
        UNKNOWN_WORD,
        &["hill.climb_speed"],
    ),
    (
        "concede 2 frame.soundness --why \"looks fine\"",
        REFUSED,
        &["never conceded"],
    ),
    (
        "concede 2 donor.wear --why \"why not\"",
        REFUSED,
        &["nothing to concede"],
    ),
    ("concede 2 hill.climb_speed --why \"\"", BAD_INPUT, &["reason"]),
    (
        "concede 2 chainline.centre --why \"0 drops\"",
        REFUSED,
        &["fitting"],
    ),
    (
        "back 2 fitting --why \"new ring\"",
        REFUSED,
        &["fitting", "intake"],
    ),
    ("back 2 kitchen --why \"new ring\"", REFUSED, &["kitchen"]),
    ("block 2 fitt \"case on stay\"", UNKNOWN_WORD, &["fitt", "fit"]),
    (
        "block 2 fit \"case on stay\" --whose nobody",
        UNKNOWN_WORD,
        &["nobody"],
    ),
    ("clear 2 7 --why done", NOT_FOUND, &["7"]),
    ("release 2", REFUSED, &["not on hold"]),
    ("close 2 --why \"no idea\"", USAGE, &["--returned"]),
    ("undo 2 --entry 999", REFUSED, &["999"]),
    ("undo 2 --entry 1", REFUSED, &["taken-in"]),
    ("note 2 \"\"", BAD_INPUT, &["empty"]),
    ("--expect 1 note 2 seen", CONFLICT, &["revision"]),
    ("--at 2099-01-01 note 2 seen", BAD_INPUT, &["2099"]),
    ("--at yesterday note 2 seen", USAGE, &["yesterday"]),
    ("show 99", NOT_FOUND, &["99"]),
    ("history 0", NOT_FOUND, &["0"]),
    ("report blocked --on 25/03/2026", BAD_INPUT, &["25/03/2026"]),
    ("catalogue show no-such-part", NOT_FOUND, &["no-such-part"]),
    ("catalogue list moters", UNKNOWN_WORD, &["moters", "motor"]),
    (
        "catalogue import /no/such/file.toml",
        BAD_INPUT,
        &["/no/such/file.toml"],
    ),
    (
        "take-in --file /no/such/sheet.toml",
        BAD_INPUT,
        &["/no/such/sheet.toml"],
    ),
    ("take-in \"\" range=30km", BAD_INPUT, &["rider"]),
    ("take-in \"Tomas V.\" rnge=30km", UNKNOWN_WORD, &["rnge", "range"]),
    (
        "take-in \"Tomas V.\" range=30km range=31km",
        BAD_INPUT,
        &["twice"],
    ),
    ("frobnicate 2", USAGE, &["frobnicate"]),
    ("words cods", USAGE, &["cods"]),
];

fn revisions(shop: &Shop) -> Vec<(u64, u64)> {
    shop.json("jobs")
        .iter()
        .map(|job| (job["job"].as_u64().unwrap(), job["blocks"].as_u64().unwrap()))
        .collect()
}

fn entries(shop: &Shop) -> u64 {
    shop.json("status")[0]["entries"].as_u64().unwrap()
}

#[test]
fn every_wrong_command_says_why_and_how_exits_by_name_and_changes_nothing() {
    let shop = Shop::with_demo_jobs();
    let before = (entries(&shop), revisions(&shop));
    let mut wrong = Vec::new();
    for (line, code, words) in WRONG {
        let answer = shop.line(line);
        let text = format!("{}{}", answer.out, answer.err);
        let missing: Vec<&&str> = words.iter().filter(|word| !text.contains(**word)).collect();
        if answer.code != *code || !missing.is_empty() {
            wrong.push(format!(
                "`{line}` exited {} (expected {code}), lacks {missing:?}:\n{text}",
                answer.code
            ));
        }
        if answer.code != USAGE && !text.starts_with("Error: ") {
            wrong.push(format!("`{line}` does not begin with Error:\n{text}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!((entries(&shop), revisions(&shop)), before);
}

#[test]
fn a_shut_gate_exits_by_name_and_names_the_commands_that_would_open_it() {
    let shop = Shop::with_demo_jobs();
    let text = shop.line("advance 2").fails(GATE_CLOSED);
    assert!(text.contains("hill.climb_speed"), "{text}");
    let shut = shop.line("advance 2").fails(GATE_CLOSED);
    assert!(shut.contains("hill.climb_speed"), "{shut}");
    let block = shop.json("show 2")[0]["blocks"][0].clone();
    let number = block["number"].as_u64().unwrap();
    let text = shop
        .line(&format!("clear 2 {number} --why \"I say so\""))
        .fails(GATE_CLOSED);
    assert!(text.contains("clears by itself"), "{text}");
}

#[test]
fn a_bad_catalogue_names_file_line_and_field_and_stores_none_of_it() {
    let shop = Shop::open();
    let good = std::fs::read_to_string(demo_file("catalogue.toml")).unwrap();
    let folder = tempfile::TempDir::new().unwrap();
    let cases = [
        ("peak-torque = \"32 N m\"", "peak-torque = \"32 V\"", "32 V"),
        (
            "peak-torque = \"32 N m\"",
            "peak-torq = \"32 N m\"",
            "did you mean `peak-torque`",
        ),
        ("rated-power = \"250 W\"\n", "", "rated-power"),
        ("place = \"rear-hub\"", "place = \"sidecar\"", "sidecar"),
        (
            "cogs = [11, 13, 15, 17, 20, 23, 26, 30, 34]",
            "cogs = [11, 13, 12]",
            "rising",
        ),
        ("series = 13", "series = 130", "130"),
        (
            "[[charger]]\nid = \"charger-42-2\"",
            "[[charger]]\nid = \"Charger 42\"",
            "Charger 42",
        ),
        ("[[display]]", "[[dispaly]]", "did you mean [[display]]"),
        ("id = \"ctl-14\"", "id = \"hub-36-250\"", "twice"),
        ("id = \"ctl-14\"", "id = = \"ctl-14\"", "line"),
    ];
    for (from, to, words) in cases {
        assert!(good.contains(from), "{from}");
        let path = folder.path().join("parts.toml");
        std::fs::write(&path, good.replacen(from, to, 1)).unwrap();
        let text = shop
            .run(["catalogue", "import", path.to_str().unwrap()])
            .fails(BAD_INPUT);
        assert!(
            text.contains("parts.toml line ") && text.contains(words),
            "{to}:\n{text}"
        );
        assert!(shop.json("catalogue list").is_empty());
    }
}

#[test]
fn a_bad_sheet_names_every_bad_line() {
    let shop = Shop::open();
    let folder = tempfile::TempDir::new().unwrap();
    let path = folder.path().join("sheet.toml");
    std::fs::write(
        &path,
        "rider = \"X\"\n[brief]\nrange = \"30 kg\"\nposture = \"lying\"\n[garden]\na = 1\n",
    )
    .unwrap();
    let text = shop
        .run(["take-in", "--file", path.to_str().unwrap()])
        .fails(BAD_INPUT);
    assert!(text.contains("garden"), "{text}");
    std::fs::write(
        &path,
        "rider = \"X\"\n[brief]\nrange = \"30 kg\"\nposture = \"lying\"\n",
    )
    .unwrap();
    let text = shop
        .run(["take-in", "--file", path.to_str().unwrap()])
        .fails(BAD_INPUT);
    assert!(text.contains("line 3") && text.contains("line 4"), "{text}");
    std::fs::write(&path, "rider = \"X\"\n[build]\nmotor = \"no-such-motor\"\n").unwrap();
    let text = shop
        .run(["take-in", "--file", path.to_str().unwrap()])
        .fails(NOT_FOUND);
    assert!(text.contains("line 3"), "{text}");
    assert!(shop.json("jobs").is_empty());
}

#[test]
fn without_a_daemon_every_command_says_so_and_how_to_start_one() {
    let folder = tempfile::TempDir::new().unwrap();
    for line in [
        &["jobs"][..],
        &["measure", "1", "clf", "51"],
        &["status"],
        &["report", "blocked"],
        &["verify"],
    ] {
        let text = run_in(folder.path(), line).fails(NO_DAEMON);
        assert!(
            text.contains("lockring daemon start") && text.contains("--start"),
            "{text}"
        );
    }
    let stays_away = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(stays_away, 0, "asking made something");
}

#[test]
fn what_people_wrote_gives_no_terminal_an_order_and_json_says_it_exactly() {
    let shop = Shop::with_demo_jobs();
    let folder = shop.folder();
    for name in ["Ines\nH.", "A\u{1b}[31mB", "A\u{9b}31mB"] {
        let said = run_in(&folder, ["take-in", name]).fails(BAD_INPUT);
        assert!(
            said.contains("one line") && !said.contains(['\u{1b}', '\u{9b}']),
            "{said:?}"
        );
    }
    let note = "\u{1b}[2J\u{1b}[H\u{1b}]52;c;QQ==\u{7}rang\u{202e}x";
    let said = run_in(&folder, ["note", "2", note]).ok();
    assert!(!said.contains(['\u{1b}', '\u{7}', '\u{202e}']), "{said:?}");
    run_in(&folder, ["block", "2", "rider", "x\u{1b}[8mhidden"]).ok();
    for line in [
        "show 2",
        "history 2",
        "history 2 --plain",
        "jobs",
        "report day",
        "report blocked",
    ] {
        let said = shop.line(line).ok();
        assert!(
            !said.contains(['\u{1b}', '\u{7}', '\u{202e}']),
            "{line}: {said:?}"
        );
    }
    let told = shop.json("history 2").last().unwrap()["text"].clone();
    let told = told.as_str().unwrap();
    assert!(told.contains("x\u{1b}[8mhidden"), "{told:?}");
    // Colour is the program's own.
    let coloured = shop.line("show 2 --color always").ok();
    assert!(
        coloured.contains("\u{1b}[1m") && !coloured.contains("\u{1b}[8m"),
        "{coloured:?}"
    );
}
