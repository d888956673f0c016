//! Suppliers, order lines, the shelf and recalls through the real programs. All names invented.

use crate::support::Shop;

#[test]
fn suppliers_are_kept_and_changed_by_any_case_of_their_name() {
    let shop = Shop::open();
    let said = shop.line("suppliers").ok();
    assert!(said.contains("lockring suppliers add NAME"), "{said}");
    shop.line("suppliers add \"Wholesaler N\" --lead 5 --contact \"orders desk\"")
        .ok();
    shop.line("suppliers change \"wholesaler n\" --terms \"claims within 24 h\"")
        .ok();
    let kept = shop.json("suppliers");
    assert_eq!(kept.len(), 1);
    assert_eq!(kept[0]["name"], "Wholesaler N");
    assert_eq!(kept[0]["lead_days"], 5);
    assert_eq!(kept[0]["contact"], "orders desk");
    assert_eq!(kept[0]["terms"], "claims within 24 h");
    let text = shop.line("suppliers change \"Wholesaler M\" --lead 3").fails(6);
    assert!(text.contains("did you mean `Wholesaler N`"), "{text}");
    let text = shop.line("suppliers add N2 --lead soon").fails(4);
    assert!(
        text.contains("soon") && text.contains("for example `5`"),
        "{text}"
    );
    let text = shop.line("suppliers add \"WHOLESALER N\"").fails(4);
    assert!(text.contains("suppliers change"), "{text}");
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

/// Job 3 of the demo, ordered on Thursday 5 March 2026 from an invented supplier that takes
/// five working days.
fn ordered() -> Shop {
    let shop = Shop::with_demo_jobs();
    shop.line("suppliers add N --lead 5").ok();
    shop.line("--at 2026-03-05T10:00 order 3 pack --from n --price 395")
        .ok();
    shop
}

#[test]
fn a_wrong_part_goes_back_is_credited_and_its_slot_is_ordered_anew() {
    let shop = ordered();
    let line = shop.json("order list --job 3")[0].clone();
    assert_eq!(
        (
            line["supplier"].as_str(),
            line["due"].as_str(),
            line["price_minor"].as_i64()
        ),
        (Some("N"), Some("2026-03-12"), Some(39_500)),
        "{line}"
    );
    assert!(line["days_late"].as_u64().is_some(), "long past: {line}");
    let text = shop.line("return 3 pack --why \"nothing came\"").fails(9);
    assert!(text.contains("nothing to return"), "{text}");
    shop.line("--at 2026-03-17T09:00 receive 3 pack series=14 --serial P-14 --lot L-1")
        .ok();
    let said = shop
        .line("--at 2026-03-17T10:00 return 3 pack --why \"14S, ordered 13S\"")
        .ok();
    assert!(said.contains("serial P-14") && said.contains("to N"), "{said}");
    assert_eq!(shop.json("order list --open")[0]["state"], "returned");
    shop.line("order 3 pack --from N --due 2026-04-02").ok();
    shop.line("order moved 3 pack 2026-04-09 --why \"ship late\"")
        .ok();
    let lines = shop.json("order list --job 3");
    assert_eq!(lines.len(), 2, "one slot, two lines: {lines:?}");
    let second = lines.iter().find(|line| line["number"] == 2).unwrap();
    assert_eq!(second["promised_before"][0], "2026-04-02");
    shop.line("order credit 3 pack 395").ok();
    let said = shop.line("order list").ok();
    assert!(
        said.contains("credited 395.00") && said.contains("moved once"),
        "{said}"
    );
    shop.line("order cancel 3 pack --why \"not made any more\"").ok();
    assert!(shop.json("order list --open").is_empty());
    let text = shop.line("order moved 3 pack 2026-05-01 --why later").fails(9);
    assert!(text.contains("awaited"), "{text}");
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_substitute_is_judged_before_it_is_taken() {
    let shop = ordered();
    let before = shop.json("history 3").len();
    let said = shop.line("order substitute 3 pack pack-10s4p").ok();
    assert!(
        said.contains("No longer holds") && said.contains("--take"),
        "{said}"
    );
    assert!(said.lines().all(|line| line.chars().count() <= 80), "{said}");
    assert_eq!(
        shop.json("history 3").len(),
        before,
        "nothing is stored before it is taken"
    );
    let answer = shop.json("order substitute 3 pack pack-10s4p --take --from S --due 2026-03-31 --price 320")
        [0]
    .clone();
    assert!(answer["differs"].as_array().unwrap().len() > 3, "{answer}");
    let lines = shop.json("order list --job 3");
    let states: Vec<&str> = lines.iter().map(|line| line["state"].as_str().unwrap()).collect();
    assert!(
        states.contains(&"cancelled") && states.contains(&"ordered"),
        "{lines:?}"
    );
    let text = shop.line("order substitute 3 pack pack-10s4p").fails(4);
    assert!(text.contains("already"), "{text}");
}

#[test]
fn a_serial_is_on_one_job_at_a_time() {
    let shop = ordered();
    shop.line("receive 3 pack --serial \"P 77\" --lot L-1").ok();
    shop.line("build 2 pack=pack-13s5p").ok();
    let text = shop.line("receive 2 pack --serial p77 --lot L-1").fails(9);
    assert!(text.contains("on job 3 as its pack"), "{text}");
    shop.line("return 3 pack --why \"sold to nobody\"").ok();
    shop.line("receive 2 pack --serial p77 --lot L-1").ok();
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_lot_is_found_wherever_its_pieces_are_and_a_recall_is_worked_through() {
    let shop = Shop::with_demo_jobs();
    shop.line("brief 1 contact=\"ines at example, 01234\"").ok();
    shop.line("order 1 pack --from N").ok();
    shop.line("--at 2026-03-09T10:00 receive 1 pack --serial A40117 --lot PK-2511-C")
        .ok();
    shop.line("--at 2026-03-10T10:00 receive 3 pack --serial A40118 --lot PK-2511-C")
        .ok();
    // Dead, and its replacement is of the same lot.
    shop.line("--at 2026-03-11T10:00 return 3 pack --why \"dead on arrival\"")
        .ok();
    shop.line("--at 2026-03-12T10:00 receive 3 pack --serial A40200 --lot PK-2511-C")
        .ok();
    let found = shop.json("lot pk-2511-c")[0].clone();
    let places: Vec<(&str, u64)> = found["places"]
        .as_array()
        .unwrap()
        .iter()
        .map(|place| {
            (
                place["whereabouts"].as_str().unwrap(),
                place["pieces"].as_u64().unwrap(),
            )
        })
        .collect();
    assert_eq!(places, [("bench", 2), ("returned", 1)]);
    let serials = |line: &str| -> Vec<String> {
        let found = shop.json(line)[0].clone();
        let pieces = found["pieces"].as_array().unwrap().clone();
        pieces
            .iter()
            .map(|piece| piece["serial"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(serials("lot A40117..A40118"), ["A40117", "A40118"]);
    assert_eq!(serials("lot A402*"), ["A40200"]);
    assert_eq!(serials("lot --from n"), ["A40117"]);
    assert_eq!(serials("lot PK-2511-C --since 2026-03-11"), ["A40200"]);
    assert_eq!(serials("lot PK-2511-C --until 2026-03-09"), ["A40117"]);
    let path = shop.line("where a40118").ok();
    assert!(
        path.contains("dead on arrival") && path.contains("2026-03-11"),
        "{path}"
    );
    let text = shop.line("lot").fails(4);
    assert!(text.contains("lockring lot PK-2511-C"), "{text}");
    let text = shop.line("lot A9..A1").fails(4);
    assert!(text.contains("backwards"), "{text}");

    let said = shop
        .line("recall open packs PK–2511–C --why \"maker's notice\"")
        .ok();
    assert!(said.contains("it means ") && said.contains(" bench"), "{said}");
    // Only bicycles that riders have are called about.
    assert!(
        shop.json("recall show 1")[0]["calls"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    shop.line("recall call 1 1 tried no answer").ok();
    shop.line("recall call 1 1 reached comes on Monday").ok();
    let sheet = shop.json("recall show 1")[0].clone();
    assert_eq!(sheet["calls"][0]["state"], "reached");
    assert_eq!(sheet["calls"][0]["steps"].as_array().unwrap().len(), 2);
    assert_eq!(sheet["calls"][0]["piece"]["contact"], "ines at example, 01234");
    let text = shop.line("recall call 1 1 reched").fails(6);
    assert!(text.contains("did you mean `reached`"), "{text}");
    shop.line("recall call 2 1 done").fails(9);
    shop.line("recall call 1 99 done").fails(7);
    let said = shop.line("recall open typo PK-25 --why notice").ok();
    assert!(said.contains("it means nothing that came here"), "{said}");
    let recalls = shop.json("recall");
    assert!(recalls[0]["meant"].as_u64() > Some(0), "{recalls:?}");
    assert_eq!(recalls[1]["meant"], 0);
    let shown = shop.line("recall").ok();
    assert!(
        shown.contains("packs") && shown.contains("maker's notice"),
        "{shown}"
    );
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn the_shelf_is_filled_taken_from_put_back_and_counted() {
    let shop = ordered();
    shop.line("order shelf pack-13s5p --count 2 --from N --due 2026-03-12 --price 395")
        .ok();
    let line = shop.json("order list --open")[0].clone();
    assert_eq!(
        (line["job"].as_u64(), line["count"].as_u64()),
        (Some(0), Some(2)),
        "{line}"
    );
    let text = shop.line("shelf receive 1 --count 1").fails(4);
    assert!(text.contains("--serial and --lot"), "{text}");
    let said = shop.line("shelf receive 1 --serial Q1 --lot L9").ok();
    assert!(said.contains("1 still awaited"), "{said}");
    let text = shop.line("shelf receive 1 --serial q1 --lot L9").fails(9);
    assert!(text.contains("on the shelf as item 1"), "{text}");
    shop.line("shelf receive 1 --serial Q2 --lot L9").ok();
    assert_eq!(shop.json("shelf").len(), 2);

    shop.line("shelf keep 1 2").ok();
    let said = shop.line("shelf take 3 pack").ok();
    assert!(
        said.contains("serial Q2") && said.contains("still awaited"),
        "{said}"
    );
    let text = shop.line("shelf take 3 pack").fails(9);
    assert!(text.contains("item 1 for job 2"), "{text}");
    let text = shop.line("shelf take 3 motor").fails(9);
    assert!(text.contains("lies on the shelf"), "{text}");
    shop.line("build 2 pack=pack-13s5p").ok();
    let text = shop.line("receive 2 pack --serial Q2 --lot L9").fails(9);
    assert!(text.contains("on job 3 as its pack"), "{text}");
    shop.line("shelf put 3 pack --why \"the right one came\"").ok();
    let text = shop.line("undo 3").fails(9);
    assert!(
        text.contains("undone by the shelf's own commands"),
        "what touches the shelf is not undone: {text}"
    );
    let items = shop.json("shelf");
    assert_eq!(
        (items.len(), items[1]["from_job"].as_u64()),
        (2, Some(3)),
        "{items:?}"
    );
    let path = shop.line("where q2").ok();
    assert!(path.contains("job 3, pack") && path.contains("item 3"), "{path}");
    let found = shop.json("lot l9")[0].clone();
    assert_eq!(found["places"][0]["whereabouts"], "shelf");
    assert_eq!(found["places"][0]["pieces"], 2);

    shop.line("shelf return 1 --why \"dead on arrival\"").ok();
    assert_eq!(shop.json("lot l9")[0]["places"][1]["whereabouts"], "returned");
    shop.line("shelf credit 1 395").ok();
    shop.line("shelf count 3 0 --why \"not found\"").ok();
    let text = shop.line("shelf count 3 1 --why found").fails(9);
    assert!(text.contains("does not lie on the shelf"), "{text}");
    let said = shop.line("shelf").ok();
    assert!(said.contains("lockring order shelf"), "{said}");
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn goods_that_come_without_a_word_are_to_be_looked_at() {
    let shop = Shop::with_demo_jobs();
    let said = shop.line("receive 3 pack").ok();
    assert!(
        said.contains("look at:") && said.contains("spread between groups"),
        "{said}"
    );
    assert!(said.lines().all(|line| line.chars().count() <= 80), "{said}");
    let said = shop.line("receive 3 pack --serial P1 --lot L1").ok();
    assert!(!said.contains("look at:"), "{said}");
}

/// Re-gearing takes a ring off that came: it is asked for until it lies on the shelf, and then it lies
/// there with what was seen on it.
#[test]
fn a_part_that_another_took_the_place_of_is_found_again() {
    let shop = ordered();
    let old = shop.json("show 3")[0]["build"]
        .as_array()
        .and_then(|lines| lines.iter().find(|line| line["slot"] == "chainring").cloned())
        .unwrap();
    let old = old["part"].as_str().unwrap().to_owned();
    let other = if old == "ring-36-2" {
        "ring-42-6"
    } else {
        "ring-36-2"
    };
    shop.line("order 3 chainring --from N --price 30").ok();
    shop.line("receive 3 chainring --serial R-1 --damage \"one tooth bent\"")
        .ok();
    let said = shop.line(&format!("build 3 chainring={other}")).ok();
    for part in [
        "where does it go?",
        "lockring shelf put 3 chainring R-1 --why",
        "lockring return 3 chainring R-1 --why",
        "lockring shelf scrap 3 chainring R-1 --why",
    ] {
        assert!(flat(&said).contains(part), "{part}: {said}");
    }
    let page = shop.line("report day").ok();
    assert!(flat(&page).contains("chainring R-1 is off the job"), "{page}");
    let said = shop.line("shelf put 3 chainring R-1 --why re-geared").ok();
    assert!(said.contains("put onto the shelf as item 1"), "{said}");
    let items = shop.json("shelf");
    assert_eq!(items[0]["part"], old.as_str(), "{items:?}");
    assert_eq!(
        (&items[0]["serial"], &items[0]["damage"], &items[0]["from_job"]),
        (&"R-1".into(), &"one tooth bent".into(), &3.into())
    );
    let page = shop.line("report day").ok();
    assert!(!page.contains("is off the job"), "{page}");
    let path = shop.line("where R-1").ok();
    assert!(
        path.contains("shelf, item 1") && path.contains("re-geared"),
        "{path}"
    );
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

/// A text without its line breaks.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Job 1 of the demo is handed over with a pack of lot PK-2511-C.
#[test]
fn a_rider_with_a_recalled_piece_is_to_be_called_on_every_page_that_says_whom() {
    let shop = Shop::after_the_demo();
    let jobs = shop.line("jobs").ok();
    assert!(!jobs.contains("Recall"), "{jobs}");
    shop.line("recall open \"cells overheat\" PK-2511-C --why \"maker's notice\"")
        .ok();
    let jobs = shop.line("jobs").ok();
    assert!(
        jobs.contains("Recall 1 (cells overheat): 1 rider to reach")
            && jobs.contains("lockring recall show 1"),
        "{jobs}"
    );
    let section = |id: &str| {
        let sheet = shop.json("report day")[0].clone();
        let sections = sheet["sections"].as_array().unwrap().clone();
        let section = sections.into_iter().find(|section| section["key"] == id);
        section.unwrap()["rows"].to_string()
    };
    let calls = section("calls");
    assert!(
        calls.contains("recall 1 (cells overheat)") && calls.contains("pack 40117"),
        "{calls}"
    );
    shop.line("recall call 1 1 reached stops using it").ok();
    assert!(!section("calls").contains("recall 1"));
    let loose = section("loose_ends");
    assert!(loose.contains("recall 1 (cells overheat)"), "{loose}");
    assert!(!shop.line("jobs").ok().contains("Recall"));
    shop.line("recall call 1 1 done").ok();
    assert!(!section("loose_ends").contains("recall 1"));
}

/// Job 2 of the demo is ready to be handed over with a motor of lot MO-2511.
#[test]
fn a_bicycle_in_the_house_goes_no_further_with_a_recalled_piece() {
    let shop = Shop::after_the_demo();
    shop.line("recall open \"freewheel slips\" MO-2511 --why \"maker's notice\"")
        .ok();
    let told = shop.line("advance 2").fails(9);
    for part in [
        "recall 1 (freewheel slips) means motor MM-2203",
        "lockring return 2 motor on --why",
        "lockring recall call 1 2 done",
    ] {
        assert!(flat(&told).contains(part), "{part} in\n{told}");
    }
    let shown = flat(&shop.line("show 2").ok());
    assert!(
        shown.contains("recall 1 (freewheel slips): motor MM-2203, still here"),
        "{shown}"
    );
    shop.line("recall call 1 2 done another maker\'s").ok();
    assert!(!shop.line("show 2").ok().contains("recall 1"));
}

#[test]
fn a_frame_that_was_here_before_is_said_at_intake_and_found() {
    let shop = Shop::open();
    let told = shop.line("take-in \"Ada N.\" frame-number=XF-7").ok();
    assert!(!told.contains("was here"), "{told}");
    let told = shop.line("take-in \"Ada N.\" frame-number=xf-7").ok();
    assert!(
        told.contains("frame xf-7 was here as job 1, still open, at intake since"),
        "{told}"
    );
    let told = shop.line("take-in \"Bo M.\"").ok();
    assert!(!told.contains("was here"), "{told}");
    let told = shop.line("donor 3 frame-number=XF-7").ok();
    assert!(told.contains("as job 1") && told.contains("as job 2"), "{told}");
    let told = shop.line("where xf-7").ok();
    for line in ["job 1, Ada N., intake since", "job 2, Ada N.", "job 3, Bo M."] {
        assert!(told.contains(line), "{told}");
    }
    let told = shop.line("where XF-8").ok();
    assert!(told.contains("No piece and no frame bears XF-8"), "{told}");
}

/// What the shop has said is the owner's to take back; a recall anybody may open.
#[test]
fn a_mechanic_is_told_that_the_owner_takes_a_mistyped_recall_back() {
    let shop = Shop::open();
    shop.line("people add EG --role owner").ok();
    shop.line("--by EG people add MK --role mechanic").ok();
    let said = shop.line("--by MK recall open typo PK-25 --why notice").ok();
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let way = "settings undo --entry 3";
    assert!(
        said.contains(&format!("the owner takes this recall back with `lockring {way}`")),
        "{said}"
    );
    shop.line(&format!("--by MK {way}")).fails(9);
    shop.line(&format!("--by EG {way}")).ok();
}
