//! The owner's desk: settings, people, promises. People and days are invented.

use crate::support::Shop;

const UNKNOWN_WORD: i32 = 6;
const REFUSED: i32 = 9;

#[test]
fn what_the_owner_sets_is_shown_with_who_and_why_and_can_be_undone() {
    let shop = Shop::open();
    shop.line("settings days tue wed thu fri sat --why \"market days\"")
        .ok();
    shop.line("settings shut 2026-04-03..2026-04-06 --why spring")
        .ok();
    shop.line("settings open 2026-04-04").ok();
    shop.line("settings set closing-time 18:00").ok();
    shop.line("settings set time-zone Europe/Berlin").ok();
    shop.line("settings set currency EUR").ok();
    let told = shop.json("settings")[0].clone();
    assert_eq!(told["days"].as_array().unwrap().len(), 5);
    assert_eq!(told["days_said"]["why"], "market days");
    assert_eq!(told["zone"], "Europe/Berlin");
    let shut: Vec<&str> = told["shut"]
        .as_array()
        .unwrap()
        .iter()
        .map(|day| day["day"].as_str().unwrap())
        .collect();
    assert_eq!(shut, ["2026-04-03", "2026-04-05", "2026-04-06"]);
    let text = shop.line("settings").ok();
    assert!(text.contains("closing-time") && text.contains("18:00"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");

    let said = shop.line("settings undo").ok();
    assert!(said.contains("currency is EUR"), "{said}");
    shop.line("settings undo --entry 1").ok();
    assert_eq!(shop.json("settings")[0]["days_said"], serde_json::Value::Null);
    let history = shop.json("settings history");
    assert_eq!(history.iter().filter(|line| line["retracted"] == true).count(), 2);
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_changed_limit_shows_what_it_does_to_open_jobs_before_and_after_it_is_stored() {
    let shop = Shop::with_demo_jobs();
    let before = shop.json("check 2");
    let tried = shop.json("--dry-run settings rule frame.gross-margin 80kg --why try")[0].clone();
    assert!(
        tried["effects"]
            .as_array()
            .unwrap()
            .iter()
            .any(|effect| effect["check"] == "mass.margin"),
        "{tried}"
    );
    assert_eq!(shop.json("check 2"), before, "a dry run changes nothing");
    let done = shop.json("settings rule frame.gross-margin 80kg --why \"heavy loads here\"")[0].clone();
    assert_eq!(done["effects"], tried["effects"]);
    assert_ne!(shop.json("check 2"), before);
    let text = shop.line("settings").ok();
    assert!(
        text.contains("frame.gross-margin 80 kg") && text.contains("heavy loads here"),
        "{text}"
    );
    shop.line("settings rule frame.gross-margin --shipped").ok();
    assert_eq!(shop.json("check 2"), before);
    let near = shop
        .line("settings rule frame.gros-margin 8kg --why x")
        .fails(UNKNOWN_WORD);
    assert!(near.contains("frame.gross-margin"), "{near}");
    let listed = shop.json("settings rules frame");
    assert!(listed.len() > 3 && listed.iter().all(|rule| rule["source"] != ""));
}

#[test]
fn once_people_are_entered_strangers_are_refused_and_some_things_are_the_owners() {
    let shop = Shop::with_demo_jobs();
    shop.line("people add M").fails(REFUSED);
    shop.line("people add K --role owner --name Kim").ok();
    shop.line("people add M").ok();
    let text = shop.line("--by Z note 1 seen").fails(UNKNOWN_WORD);
    assert!(
        text.contains("K (owner)") && text.contains("M (mechanic)"),
        "{text}"
    );
    shop.line("--by m note 1 seen").ok();
    assert_eq!(shop.json("history 1").last().unwrap()["by"], "M");
    for line in [
        "--by M close 3 --returned --why \"shell is glued\"",
        "--by M concede 1 chainline.centre --why \"looks fine\"",
        "--by M settings set benches 2",
        "--by M settings rule frame.gross-margin 80kg --why x",
        "--by M people add Z",
    ] {
        let text = shop.line(line).fails(REFUSED);
        assert!(text.contains("for the owner (K)"), "{line}: {text}");
    }
    // Writing off, however it is spelt, a credit, and taking back what the owner wrote off.
    shop.line("--by K quote 2 add other \"carriage\" --price 12").ok();
    for kind in ["write-off", "Write-Off", "\" write-off \"", "credit"] {
        let text = shop
            .line(&format!("--by M pay 2 5 --kind {kind} --how gone"))
            .fails(REFUSED);
        assert!(text.contains("for the owner (K)"), "{kind}: {text}");
    }
    shop.line("--by K pay 2 5 --kind write-off --how gone").ok();
    let written_off = shop.json("history 2").last().unwrap()["seq"].clone();
    let text = shop
        .line(&format!("--by M undo 2 --entry {written_off}"))
        .fails(REFUSED);
    assert!(text.contains("for the owner (K)"), "{text}");
    shop.line("people leave K").fails(REFUSED);
    shop.line("people leave M --why moved").ok();
    shop.line("--by M note 1 again").fails(UNKNOWN_WORD);
    assert_eq!(shop.json("people").len(), 2);
    shop.line("close 3 --returned --why \"shell is glued\"").ok();
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_terminal_remembers_who_types_there() {
    let shop = Shop::with_demo_jobs();
    let at = |terminal: &str, args: &[&str]| {
        let mut words = vec!["--terminal", terminal];
        words.extend(args);
        shop.run_unsigned(words)
    };
    shop.line("people add K --role owner").ok();
    shop.line("people add M").ok();
    at("bench 1", &["iam", "m"]).ok();
    at("bench 1", &["note", "1", "seen"]).ok();
    assert_eq!(shop.json("history 1").last().unwrap()["by"], "M");
    let told = at("bench 1", &["iam"]).ok();
    assert_eq!(told, "M types at bench 1\n");
    at("bench 2", &["note", "1", "seen"]).fails(UNKNOWN_WORD);
    at("bench 1", &["iam", "Z"]).fails(UNKNOWN_WORD);
    at("bench 1", &["iam", "--nobody"]).ok();
    at("bench 1", &["note", "1", "seen"]).fails(UNKNOWN_WORD);
}

#[test]
fn a_promise_is_moved_with_a_reason_and_the_rider_is_told() {
    let shop = Shop::with_demo_jobs();
    shop.line("promise 1 2026-03-20 --hard --why \"rider leaves\"")
        .ok();
    // The sheet promised 16 March.
    shop.line("promise 1 2026-03-24").fails(4);
    let said = shop.line("promise 1 2026-03-24 --why \"pack late\"").ok();
    assert!(
        said.contains("slip 2") && said.contains("rider told: not yet"),
        "{said}"
    );
    let line = |shop: &Shop| {
        let told = shop.json("promises --all")[0].clone();
        let lines = told["lines"].as_array().unwrap().clone();
        lines.into_iter().find(|line| line["job"] == 1).unwrap()
    };
    let before = line(&shop);
    assert_eq!(
        (&before["promise"], &before["promise_kind"]),
        (&"2026-03-24".into(), &"hard".into())
    );
    assert_eq!(before["at_risk"], true, "the day is long past");
    assert!(before["told"].is_null());
    let text = shop.line("promises").ok();
    assert!(text.contains("rider told: NO"), "{text}");
    shop.line("told 1 new day agreed").ok();
    assert_eq!(line(&shop)["told"]["why"], "new day agreed");
    shop.line("undo 1").ok();
    assert!(line(&shop)["told"].is_null());
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_block_is_asked_about_again() {
    let shop = Shop::with_demo_jobs();
    shop.line("block 3 parts \"shift sensor back-ordered\" --chase 2026-03-30")
        .ok();
    shop.line("chase 3 1 ships on Thursday --again 2026-04-02 --whose owner")
        .ok();
    let block = shop.json("show 3")[0]["blocks"][0].clone();
    assert_eq!(
        (&block["chase"], &block["whose_move"]),
        (&"2026-04-02".into(), &"owner".into())
    );
    shop.line("chase 3 9 rang").fails(7);
    shop.line("chase 3 1 rang --again easter").fails(4);
    let history = shop.json("history 3");
    assert!(
        history
            .iter()
            .any(|line| line["text"].as_str().unwrap().contains("ships on Thursday"))
    );
}

#[test]
fn a_limit_on_work_in_progress_warns_in_the_answer() {
    let shop = Shop::with_demo_jobs();
    shop.line("settings set intake-ahead 4").ok();
    let said = shop.line("take-in \"Ada N.\"").ok();
    assert!(!said.contains("over the limit"), "{said}");
    let said = shop.line("take-in \"Bo T.\"").ok();
    assert!(
        said.contains("5 bicycles at intake and parts, 4 are meant"),
        "{said}"
    );
    let said = shop.line("note 5 seen").ok();
    assert!(!said.contains("over the limit"), "{said}");
}

#[test]
fn the_shops_unit_system_stands_first() {
    let shop = Shop::with_demo_jobs();
    shop.line("settings set units imperial").ok();
    let said = shop.line("measure 2 clf 51,5").ok();
    assert!(said.contains("2.03 in (51.5 mm)"), "{said}");
}
