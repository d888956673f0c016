//! The mechanic's half hour and the owner's evening, as the README tells them.

use crate::support::Shop;

#[test]
fn a_reading_says_what_was_understood_in_two_unit_systems() {
    let shop = Shop::with_demo_jobs();
    let said = shop.line("measure 2 clf 51,5").ok();
    assert!(said.contains("51.5 mm (2.03 in)"), "{said}");
    let said = shop.line("measure 2 gapm 0").ok();
    assert!(said.contains("0 mm"), "{said}");
    let said = shop.line("donor 2 permitted-mass=31st6lb").ok();
    assert!(said.contains("kg"), "{said}");
}

#[test]
fn a_value_that_replaces_another_says_what_it_was() {
    let shop = Shop::with_demo_jobs();
    shop.line("brief 2 hill-grade=9% hill-source=told").ok();
    let said = shop.line("brief 2 hill-grade=8%").ok();
    assert!(said.contains("8") && said.contains("(stated), was 9"), "{said}");
    let same = shop.line("brief 2 hill-grade=8% --dry-run").ok();
    assert!(!same.contains(", was "), "{same}");
    shop.line("measure 2 gapm 2.6").ok();
    let said = shop.line("measure 2 gapm 3.1 --anew").ok();
    assert!(said.contains(", was 2.6"), "{said}");
}

#[test]
fn undo_is_a_counter_entry_and_nothing_is_lost() {
    let shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf 51.5").ok();
    let before = shop.json("history 2").len();
    let said = shop.line("undo 2").ok();
    assert!(said.contains("no longer counts"), "{said}");
    let lines = shop.json("history 2");
    assert!(lines.len() > before);
    assert_eq!(lines.iter().filter(|line| line["retracted"] == true).count(), 1);
    let facts = shop.json("show 2")[0]["facts"].clone();
    assert!(
        facts
            .as_array()
            .unwrap()
            .iter()
            .all(|fact| fact["code"] != "chainline-front")
    );
}

#[test]
fn a_job_can_end_as_returned_and_says_why() {
    let shop = Shop::with_demo_jobs();
    shop.line("close 3 --returned --why \"shell is glued\"").ok();
    assert!(shop.json("jobs").iter().all(|job| job["job"] != 3));
    let over = shop.json("jobs --all");
    assert!(
        over.iter()
            .any(|job| job["job"] == 3 && job["stage"] == "returned")
    );
    assert_eq!(shop.json("show 3")[0]["closed_because"], "shell is glued");
}

#[test]
fn holds_are_not_blocks_and_keep_the_gate_shut() {
    let shop = Shop::with_demo_jobs();
    shop.line("hold 1 --why \"rider on holiday\" --until 2026-04-09")
        .ok();
    let text = shop.line("advance 1").fails(9);
    assert!(text.contains("on hold"), "{text}");
    assert_eq!(shop.json("report blocked")[0]["blocks"], 0);
    shop.line("release 1").ok();
}

#[test]
fn a_block_by_hand_stands_in_the_report_until_it_is_cleared() {
    let shop = Shop::with_demo_jobs();
    shop.line("--at 2026-03-17T09:00 block 3 parts \"shift sensor back-ordered\" --whose supplier --chase 2026-03-30").ok();
    let report = shop.json("report blocked --on 2026-03-25")[0].clone();
    assert_eq!(report["blocks"], 1);
    let line = report["lines"][0].clone();
    assert_eq!(line["block"]["family"], "parts");
    // Working days after Tue 17 March up to Wed 25 March 2026: 18, 19, 20, 23, 24, 25.
    assert_eq!(line["block"]["age_days"], 6);
    assert_eq!(line["block"]["whose_move"], "supplier");
    shop.line("clear 3 1 --why \"came in\"").ok();
    assert_eq!(shop.json("report blocked")[0]["blocks"], 0);
}

#[test]
fn the_catalogue_goes_out_and_comes_back_the_same() {
    let shop = Shop::with_demo_jobs();
    let out = shop.line("catalogue export").ok();
    let path = shop.folder().join("parts.toml");
    std::fs::write(&path, &out).unwrap();
    let other = Shop::open();
    other.run(["catalogue", "import", path.to_str().unwrap()]).ok();
    assert_eq!(other.line("catalogue export").ok(), out);
    assert_eq!(other.json("catalogue list"), shop.json("catalogue list"));
}

#[test]
fn a_dry_run_answers_and_stores_nothing() {
    let shop = Shop::with_demo_jobs();
    let before = shop.json("history 2").len();
    let said = shop.line("--dry-run measure 2 clf 51.5").ok();
    assert!(said.contains("51.5 mm"), "{said}");
    assert_eq!(shop.json("history 2").len(), before);
}

#[test]
fn a_job_that_is_over_stands_before_no_gate_and_is_not_late() {
    let shop = Shop::with_demo_jobs();
    shop.line("close 2 --cancelled --why moved").ok();
    let text = shop.line("check 2").fails(9);
    assert!(text.contains("--gate"), "{text}");
    shop.line("check 2 --gate intake").ok();
    let jobs = shop.line("jobs --all").ok();
    let shown = shop.line("show 2").ok();
    let line = shop
        .json("jobs --all")
        .into_iter()
        .find(|job| job["job"] == 2)
        .unwrap();
    assert!(line["days_left"].is_null(), "{line}\n{jobs}\n{shown}");
    assert!(!shown.contains("late"), "{shown}");
}

#[test]
fn what_is_as_it_was_before_is_said_and_stores_nothing() {
    let shop = Shop::with_demo_jobs();
    let before = shop.json("history 1").len();
    let motor = shop.line("build 1 motor=hub-36-250").ok();
    assert!(motor.contains("as before"), "{motor}");
    let empty = shop.line("build 1 shift-sensor=none").ok();
    assert!(empty.contains("shift-sensor: empty (as before)"), "{empty}");
    assert_eq!(shop.json("history 1").len(), before);
}

#[test]
fn a_job_is_shown_as_it_stood_at_a_time() {
    let shop = Shop::with_demo_jobs();
    shop.line("--at 2026-03-10T09:00 measure 2 clf 49").ok();
    shop.line("--at 2026-03-13T10:00 measure 2 clf 51.5").ok();
    shop.line("--at 2026-03-14T10:00 undo 2").ok();
    let line_at = |at: &str| {
        let view = shop.json(&format!("show 2 --at {at}"))[0].clone();
        let facts = view["facts"].as_array().unwrap().clone();
        let fact = facts.into_iter().find(|fact| fact["code"] == "chainline-front");
        fact.map(|fact| fact["value"].as_str().unwrap().to_owned())
    };
    assert_eq!(line_at("2026-03-09T09:00"), None);
    assert_eq!(line_at("2026-03-10T09:00").as_deref(), Some("49 mm (1.93 in)"));
    assert_eq!(line_at("2026-03-13T12:00").as_deref(), Some("51.5 mm (2.03 in)"));
    assert_eq!(line_at("2026-03-14T12:00").as_deref(), Some("49 mm (1.93 in)"));
    let shown = shop.line("show 2 --at 2026-03-10T09:00").ok();
    assert!(
        shown.starts_with("as it stood on Tue 10 Mar 2026 09:00\n"),
        "{shown}"
    );
    let told = shop.line("show 2 --at 2026-03-01").fails(7);
    assert!(told.contains("was not there yet"), "{told}");
}

#[test]
fn an_exclamation_mark_takes_that_one_value_and_is_in_the_history() {
    let shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf=515! gapm=900").fails(5);
    shop.line("measure 2 clf 100!").ok();
    let lines = shop.json("history 2");
    let last = lines.last().unwrap()["text"].as_str().unwrap();
    assert!(last.contains("100 mm (window overruled)"), "{last}");
}

#[test]
fn a_handover_passes_the_last_gate_and_no_other() {
    let shop = Shop::after_the_demo();
    let told = shop.line("handover 3").fails(9);
    assert!(
        told.contains("at parts, not at handover") && told.contains("lockring advance 3"),
        "{told}"
    );
    let revision = |shop: &Shop| shop.json("show 2")[0]["revision"].clone();
    let before = revision(&shop);
    let told = shop.line("handover 2 --dry-run").fails(8);
    assert!(told.contains("lockring measure 2 full-charge"), "{told}");
    assert_eq!(revision(&shop), before, "a dry run stores nothing");
    let told = shop.line("handover 2 --expect 1").fails(10);
    assert!(told.contains("revision"), "{told}");
}

/// 2026-03-13T09:00Z is 1773392400 s: 20525 days of 86400 s and 9 h, counted by hand; Berlin is at UTC+1 then.
#[test]
fn times_are_read_and_shown_by_the_zone_of_the_shop() {
    let shop = Shop::with_demo_jobs();
    shop.line("settings set time-zone Europe/Berlin").ok();
    shop.line("--at 2026-03-13T10:00 note 2 \"by the shop's clock\"")
        .ok();
    let lines = shop.json("history 2");
    let noted = lines
        .iter()
        .find(|line| line["text"] == "note: by the shop's clock")
        .unwrap();
    assert_eq!(noted["made_us"], 1_773_392_400_000_000_i64);
    let shown = shop.line("history 2").ok();
    assert!(shown.contains("Fri 13 Mar 2026 10:00"), "{shown}");
}
