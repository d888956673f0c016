//! Commands that wait while nobody serves: kept with their time, sent in order, each once.

use crate::support::{Shop, run_in};

#[test]
fn what_could_not_be_sent_waits_and_goes_out_in_order_under_its_own_time() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    let folder = shop.folder();
    let kept = |line: &str| run_in(&folder, crate::support::words(line));
    kept("measure 2 clf 51,5").fails(3);
    let told = kept("--queue --at 2026-03-13T10:00 --by MK measure 2 clf 51,5").fails(16);
    assert!(told.contains("kept, not stored yet"), "{told}");
    kept("--queue note 2 \"second, after the reading\"").fails(16);
    let told = kept("status").fails(3);
    assert!(
        told.contains("Waiting to be sent") && told.contains("MK: measure 2 clf 51,5"),
        "{told}"
    );
    assert_eq!(shop.run(["send", "--list", "--json"]).ok().lines().count(), 2);
    kept("send").fails(3);

    shop.serve();
    // The next change lets them go first.
    let told = shop.line("note 2 third").ok();
    assert!(
        told.contains("sent: 1 Fri 13 Mar 2026 10:00 MK: measure 2 clf 51,5"),
        "{told}"
    );
    let lines = shop.json("history 2");
    let at = |text: &str| {
        lines
            .iter()
            .position(|line| line["text"].as_str().unwrap().contains(text))
            .unwrap()
    };
    let (first, second, third) = (at("chainline-front 51.5"), at("second, after"), at("third"));
    assert!(first < second && second < third, "{lines:?}");
    assert_eq!(
        (&lines[first]["by"], &lines[first]["made_us"]),
        (&"MK".into(), &1_773_396_000_000_000_i64.into())
    );
    assert_eq!(shop.line("send").ok(), "0 commands sent\n");
    assert_eq!(shop.line("send --list").ok(), "nothing waits\n");
}

/// The daemon stored it, and the client fell before it could take it out: the file comes back.
#[test]
fn a_command_sent_twice_is_stored_once() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    shop.line("--queue note 2 once").fails(16);
    let file = shop.folder().join("queue/00000001.json");
    let text = std::fs::read(&file).unwrap();
    shop.serve();
    shop.line("send").ok();
    std::fs::write(&file, &text).unwrap();
    let told = shop.line("send").ok();
    assert!(told.contains("stored before"), "{told}");
    let noted = shop
        .json("history 2")
        .iter()
        .filter(|line| line["text"] == "note: once")
        .count();
    assert_eq!(noted, 1);
}

#[test]
fn a_refused_command_is_set_aside_with_the_reason_and_keeps_nothing_up() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    shop.line("--queue measure 2 clf 515").fails(16);
    shop.line("--queue note 2 after").fails(16);
    shop.serve();
    let told = shop.line("send").fails(9);
    assert!(
        told.contains("did you mean 51.5 mm") && told.contains("1 refused"),
        "{told}"
    );
    assert!(
        shop.json("history 2")
            .iter()
            .any(|line| line["text"] == "note: after")
    );
    let told = shop.line("status").ok();
    assert!(told.contains("Refused\n  1 "), "{told}");
    shop.line("send --forget 1").ok();
    assert_eq!(shop.line("send --list").ok(), "nothing waits\n");
}

/// Another bench recorded meanwhile: whichever comes back first, the newer reading stands, and the older is kept to be looked at.
#[test]
fn an_older_reading_that_waited_takes_no_newer_ones_place_and_is_not_lost() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    shop.line("--queue --at 2026-03-20T10:00 --by MK measure 2 cut-left 3/3")
        .fails(16);
    let file = shop.folder().join("queue/00000001.json");
    let waits = std::fs::read(&file).unwrap();
    shop.line("send --forget 1").ok();
    shop.serve();
    shop.line("measure 2 cut-left 0/3").ok();
    std::fs::write(&file, waits).unwrap();
    let told = shop.line("send").fails(9);
    assert!(
        told.contains("0/3 stands since") && told.contains("1 refused and set aside"),
        "{told}"
    );
    let told = shop.line("send --list").ok();
    assert!(
        told.contains("MK: measure 2 cut-left 3/3") && told.contains("does not take its place"),
        "{told}"
    );
    let readings = shop.json("history 2");
    let mut of_lever = readings
        .iter()
        .filter(|line| line["text"].as_str().unwrap().contains("cut-left"));
    assert!(
        of_lever.next_back().unwrap()["text"]
            .as_str()
            .unwrap()
            .contains("0/3")
    );
}

/// The gate is tried with what was measured before it, whatever waited meanwhile.
#[test]
fn a_gate_is_tried_after_what_waits_and_may_wait_itself() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    shop.line("--queue measure 2 clf 51,5").fails(16);
    shop.serve();
    let told = shop.line("advance 2").fails(8);
    assert!(
        told.contains("sent: 1 ") && told.contains("measure 2 clf 51,5"),
        "{told}"
    );
    shop.kill();
    shop.line("--queue note 1 \"before the last gate\"").fails(16);
    shop.line("--queue advance 2").fails(16);
    let told = shop.line("--queue handover 1").fails(3);
    assert!(told.contains("not kept: the last gate"), "{told}");
    shop.serve();
    let told = shop.line("handover 1").fails(9);
    assert!(
        told.contains("before the last gate") && told.contains("advance 2"),
        "{told}"
    );
    assert_eq!(shop.line("send --list").ok(), "nothing waits\n");
}

#[test]
fn changes_of_shelf_and_shop_wait_too() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    shop.line("--queue suppliers add N --lead 5").fails(16);
    shop.line("--queue settings set day-hours 8").fails(16);
    shop.serve();
    shop.line("send");
    assert_eq!(shop.json("suppliers").last().unwrap()["name"], "N");
}

/// What is sent later must mean what was meant when it was typed.
#[test]
fn what_does_not_follow_from_its_words_is_not_kept_and_says_why() {
    let mut shop = Shop::with_demo_jobs();
    let ride = shop.folder().join("ride.csv");
    std::fs::write(&ride, "time_s,speed_kmh\n0,10\n1,11\n").unwrap();
    shop.kill();
    let file = ride.display();
    for (line, why) in [
        ("propose 2 --pick 1".to_owned(), "the number means a proposal"),
        (format!("ride 2 import {file}"), "the file may be another one"),
        (format!("take-in --file {file}"), "the file may be another one"),
        (format!("catalogue import {file}"), "the file may be another one"),
        (format!("photo 2 left ./{file}.jpg"), ""),
        (
            "rider 2 --redact --why asked --yes".to_owned(),
            "it cannot be undone",
        ),
        ("pair --revoke 1".to_owned(), "revoked at once"),
        (
            "concede 2 hill.climb_speed --why \"knows that road\"".to_owned(),
            "what is conceded is what the check says now",
        ),
        ("undo 2".to_owned(), "--entry NUMBER names what is meant"),
        ("settings undo".to_owned(), "--entry NUMBER names what is meant"),
    ] {
        let told = if why.is_empty() {
            shop.line(&format!("--queue {line}")).fails(4)
        } else {
            shop.line(&format!("--queue {line}")).fails(3)
        };
        assert!(told.contains(why), "{line}: {told}");
    }
    assert_eq!(shop.line("send --list").ok(), "nothing waits\n");
}

/// What another version kept is looked at when it is sent.
#[test]
fn a_line_kept_before_that_may_not_wait_is_set_aside() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    shop.line("--queue undo 2 --entry 3").fails(16);
    let file = shop.folder().join("queue/00000001.json");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replace(",\"--entry\",\"3\"", "")).unwrap();
    shop.serve();
    let before = shop.json("history 2").len();
    let told = shop.line("send").fails(9);
    assert!(told.contains("not sent: what was entered last"), "{told}");
    assert_eq!(shop.json("history 2").len(), before);
}

/// A day of the week is the next one after the line was made, whenever it is sent; what is no day or no
/// amount does not wait.
#[test]
fn what_cannot_be_read_is_refused_before_it_waits() {
    let mut shop = Shop::with_demo_jobs();
    shop.line("suppliers add N --lead 5").ok();
    shop.kill();
    for (line, told) in [
        ("--queue order 3 pack --from N --due 3.12.", "has no year"),
        ("--queue order 3 pack --from N --due 3/12/2026", "may be"),
        ("--queue order 3 pack --from N --price cheap", "no amount"),
        ("--queue pay 3 deposit --kind deposit", "no amount"),
        ("--queue promise 3 someday", "is no day"),
    ] {
        let said = shop.line(line).fails(4);
        assert!(said.contains(told), "{line}: {said}");
    }
    // 26 November 2026 is a Thursday (Gregorian calendar).
    shop.line("--queue --at 2026-11-26T10:00 order 3 pack --from N --due friday --price $1,250")
        .fails(16);
    shop.serve();
    shop.line("send").ok();
    let line = shop.json("order list --job 3")[0].clone();
    assert_eq!(
        (line["due"].as_str(), line["price_minor"].as_i64()),
        (Some("2026-11-27"), Some(125_000)),
        "{line}"
    );
}

/// A pair on a stick that is not plugged in: the line is named with the file and with what lets it go.
#[test]
fn what_waits_for_a_pair_that_is_away_says_which_and_how_it_is_given_up() {
    let mut shop = Shop::with_demo_jobs();
    shop.kill();
    shop.line("--queue note 2 away").fails(16);
    let file = shop.folder().join("queue/00000001.json");
    let mut kept: serde_json::Value = serde_json::from_slice(&std::fs::read(&file).unwrap()).unwrap();
    kept["via"] = "/nowhere/K.pair".into();
    std::fs::write(&file, kept.to_string()).unwrap();
    shop.serve();
    let told = shop.line("send").ok();
    for part in [
        "waits for its pair: 1 ",
        "/nowhere/K.pair), which is not there",
        "lockring send --forget 1\n",
        "0 commands sent, 1 waits still\n",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
    let told = shop.line("send --list").ok();
    assert!(told.contains("/nowhere/K.pair)"), "{told}");
    shop.line("send --forget 1").ok();
    assert_eq!(shop.line("send --list").ok(), "nothing waits\n");
}
