//! A rider through the real programs: shown, written out, and taken out of everything that is
//! shown, printed and kept. Riders are invented.

use std::fs;
use std::path::{Path, PathBuf};

use crate::support::terminal::Terminal;
use crate::support::{Shop, run_in};

const NAME: &str = "Quirina Zabel";
const CONTACT: &str = "quirina at example";

/// A job that is over, of a rider whose name stands nowhere else.
fn shop() -> Shop {
    let shop = Shop::open();
    shop.line(&format!(
        "--at 2026-03-02T09:00 take-in \"{NAME}\" contact=\"{CONTACT}\" bike=trekking"
    ))
    .ok();
    shop.line("take-in \"Ada N.\"").ok();
    shop.line("--at 2026-03-03T09:00 note 1 --private hard of hearing, xylophone")
        .ok();
    shop.line("--at 2026-03-03T10:00 note 1 told Quirina: no throttle")
        .ok();
    shop.line("--at 2026-03-03T11:00 note 1 frame soft at the left dropout")
        .ok();
    shop.line("--at 2026-03-04T09:00 close 1 --returned --why \"frame too soft\"")
        .ok();
    shop
}

fn remove(shop: &Shop, rest: &str) -> crate::support::Answer {
    shop.line(&format!("rider 1 --redact --why \"asked for it\" --yes {rest}"))
}

/// Files under a folder that hold some bytes.
fn holding(folder: &Path, words: &str, found: &mut Vec<PathBuf>) {
    for item in fs::read_dir(folder).unwrap() {
        let path = item.unwrap().path();
        if path.is_dir() {
            holding(&path, words, found);
        } else if path.is_file() {
            let bytes = fs::read(&path).unwrap();
            if bytes
                .windows(words.len())
                .any(|window| window == words.as_bytes())
            {
                found.push(path);
            }
        }
    }
}

#[test]
fn what_is_stored_about_a_rider_is_shown_and_written_out() {
    let shop = shop();
    let text = shop.line("rider 1").ok();
    for part in [
        NAME,
        CONTACT,
        "xylophone",
        "holds the name: --words 1:4",
        "no keeping period is set",
        "differs",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let by_name = shop.json("rider quirina zabel");
    assert_eq!(by_name[0]["jobs"][0]["job"], 1);
    assert_eq!(by_name[0]["jobs"][0]["lines"].as_array().unwrap().len(), 6);
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("rider.json");
    shop.line(&format!("rider 1 --export {}", path.display())).ok();
    let all: serde_json::Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
    assert_eq!(all["rider"]["jobs"][0]["contact"], CONTACT);
    assert!(
        all["documents"][0]
            .as_str()
            .unwrap()
            .starts_with("lockring print")
    );
    shop.line(&format!("rider 1 --export {}", path.display()))
        .fails(4);
    shop.line("rider nobody of this name").fails(7);
    shop.line("rider 9").fails(7);
}

#[test]
fn a_rider_who_was_removed_is_nowhere_any_more() {
    let shop = shop();
    let before = shop.json("verify")[0].clone();
    let said = remove(&shop, "--words found").ok();
    assert!(said.contains("no byte of what was removed"), "{said}");
    let gone = "customer removed on ";
    for line in [
        "show 1",
        "jobs --all",
        "history 1",
        "rider 1",
        "photo 1",
        "money 1",
        "jobs --all --json",
    ] {
        let text = shop.line(line).ok();
        assert!(
            !text.contains("Quirina") && !text.contains("quirina"),
            "{line}: {text}"
        );
        assert!(!text.contains("xylophone"), "{line}: {text}");
    }
    let view = shop.json("show 1")[0].clone();
    assert!(
        view["line"]["rider"].as_str().unwrap().starts_with(gone),
        "{view}"
    );
    // What is about the bicycle stays.
    let history = shop.line("history 1").ok();
    assert!(history.contains("frame soft at the left dropout") && history.contains("frame too soft"));
    assert!(shop.line("show 1").ok().contains("bicycle: trekking"));
    let place = tempfile::tempdir().unwrap();
    let page = place.path().join("file.html");
    shop.line(&format!("print file 1 --out {}", page.display())).ok();
    let html = fs::read_to_string(&page).unwrap();
    assert!(html.contains(gone) && !html.contains("Quirina"));
    let mut found = Vec::new();
    for words in [NAME, "Quirina", CONTACT, "xylophone"] {
        holding(&shop.folder(), words, &mut found);
    }
    assert!(found.is_empty(), "{found:?}");
    let after = shop.json("verify")[0].clone();
    assert_eq!((&before["sound"], &after["sound"]), (&true.into(), &true.into()));
    assert_eq!(
        after["entries"].as_u64(),
        before["entries"].as_u64().map(|count| count + 1)
    );
    let told = shop.line("verify").ok();
    assert!(told.contains("job 1: customer removed on "), "{told}");
    // The other rider is as before.
    assert_eq!(shop.json("show 2")[0]["line"]["rider"], "Ada N.");
}

#[test]
fn a_retry_of_what_named_the_rider_is_known_and_names_nobody() {
    let shop = shop();
    let line = "take-in \"Quirina Zabel\" --request-id take-in-1";
    let first = shop.json(line)[0].clone();
    assert_eq!((&first["job"], &first["rider"]), (&3.into(), &NAME.into()));
    shop.line("close 3 --cancelled --why \"typed twice\"").ok();
    shop.line("rider 1 --redact --why \"asked for it\" --yes --request-id gone-1")
        .ok();
    let again = shop.json(line)[0].clone();
    assert_eq!(
        (&again["repeated"], &again["job"], &again["rider"]),
        (&true.into(), &3.into(), &"".into())
    );
    assert_eq!(shop.json("jobs --all").len(), 3);
    let repeated = shop
        .line("rider 1 --redact --why \"asked for it\" --yes --request-id gone-1")
        .ok();
    assert!(repeated.contains("done before"), "{repeated}");
}

#[test]
fn what_speaks_against_it_is_said_and_the_owner_may_overrule_some_of_it() {
    let shop = shop();
    let open = shop
        .line("rider 2 --redact --why \"asked for it\" --yes --anyway")
        .fails(9);
    assert!(open.contains("job 2 is open (at intake)"), "{open}");
    let named = shop
        .line("rider 1 --redact --why \"Quirina asked\" --yes")
        .fails(4);
    assert!(named.contains("the reason holds the name"), "{named}");
    let unasked = shop.line("rider 1 --redact --why \"asked for it\"").fails(2);
    assert!(unasked.contains("--yes"), "{unasked}");
    shop.line("settings set --why \"local rule\" keep-riders 600")
        .ok();
    let kept = remove(&shop, "").fails(9);
    assert!(
        kept.contains("keeps the rider of job 1 until 2076-03-04"),
        "{kept}"
    );
    assert!(
        shop.line("rider 1")
            .ok()
            .contains("600 months after the end (local rule)")
    );
    shop.line("people add EG --role owner").ok();
    shop.line("--by EG people add MK --role mechanic").ok();
    let denied = shop
        .line("--by MK rider 1 --redact --why \"asked for it\" --yes --anyway")
        .fails(9);
    assert!(denied.contains("removing a rider is for the owner"), "{denied}");
    shop.line("--by EG rider 1 --redact --why \"asked for it\" --yes --anyway")
        .ok();
    let history = shop.json("history 1");
    let last = history.last().unwrap()["text"].as_str().unwrap();
    assert!(
        last.contains("although the shop keeps the rider of job 1"),
        "{last}"
    );
}

#[test]
fn an_older_backup_is_named_and_restoring_it_removes_the_rider_again() {
    let shop = shop();
    let made = shop.json("backup")[0]["path"].as_str().unwrap().to_owned();
    let said = shop.json("rider 1 --redact --why \"asked for it\" --words found --yes")[0].clone();
    assert_eq!(said["backups"], serde_json::json!([made]));
    let place = tempfile::tempdir().unwrap();
    let to = place.path().join("restored");
    let told = run_in(&shop.folder(), ["restore", &made, "--to", to.to_str().unwrap()]).ok();
    assert!(told.contains("removed again from this copy"), "{told}");
    let mut found = Vec::new();
    holding(&to, "Quirina", &mut found);
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn a_picture_goes_with_the_rider_and_verify_does_not_call_it_lost() {
    let shop = shop();
    let place = tempfile::tempdir().unwrap();
    let picture = place.path().join("face.jpg");
    fs::write(&picture, b"\xff\xd8\xff\xe0 face").unwrap();
    shop.line(&format!("photo 1 Quirina with the bicycle {}", picture.display()))
        .ok();
    let said = remove(&shop, "--photos 1").ok();
    assert!(
        said.contains("job 1, entry 7: --words 1:7 takes its words out"),
        "{said}"
    );
    assert_eq!(fs::read_dir(shop.folder().join("photos")).unwrap().count(), 0);
    let refused = shop.line("photo 1 --get 1").fails(4);
    assert!(refused.contains("was removed on"), "{refused}");
    let found = shop.json("verify")[0].clone();
    assert_eq!(found["sound"], true, "{found}");
    assert_eq!(found["removed"].as_array().unwrap().len(), 2);
    // The technical file is printed all the same, and says so.
    let file = place.path().join("file.html");
    shop.line(&format!("print file 1 --out {}", file.display())).ok();
    assert!(
        fs::read_to_string(file)
            .unwrap()
            .contains("the picture was removed on ")
    );
    // What was left is taken out later.
    remove(&shop, "--words 7").ok();
    assert!(!shop.line("history 1").ok().contains("Quirina with the bicycle"));
}

#[test]
fn open_files_carry_who_the_rider_is_and_that_one_was_removed() {
    for is_removed in [false, true] {
        let shop = shop();
        if is_removed {
            remove(&shop, "--words found").ok();
        }
        let place = tempfile::tempdir().unwrap();
        let (open, to) = (place.path().join("open"), place.path().join("new"));
        shop.line(&format!("export --to {}", open.display())).ok();
        let moved = shop.json(&format!("import {} --to {}", open.display(), to.display()))[0].clone();
        assert_eq!(moved["head"], shop.json("verify")[0]["head"]);
        let mut found = Vec::new();
        holding(place.path(), "Quirina", &mut found);
        assert_eq!(found.is_empty(), is_removed, "{found:?}");
    }
}

#[test]
fn neither_journal_nor_kept_answers_nor_the_log_ever_hold_a_name() {
    let shop = shop();
    shop.line("measure 1 signed-by \"Quirina Zabel\"").fails(9);
    shop.line("note 2 \"Ada N. rang\"").ok();
    shop.line("undo 2").ok();
    let flags = rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY;
    let file = rusqlite::Connection::open_with_flags(shop.folder().join("lockring.db"), flags).unwrap();
    let texts = |sql: &str| -> Vec<String> {
        let mut statement = file.prepare(sql).unwrap();
        let rows = statement.query_map([], |row| row.get::<_, Vec<u8>>(0)).unwrap();
        rows.map(|bytes| String::from_utf8_lossy(&bytes.unwrap()).into_owned())
            .collect()
    };
    let payloads = texts("SELECT CAST(payload AS BLOB) FROM journal");
    let answers = texts("SELECT answer FROM answered");
    assert!(
        payloads.len() >= 9 && answers.len() >= 8,
        "{} {}",
        payloads.len(),
        answers.len()
    );
    for text in payloads.iter().chain(&answers) {
        for words in ["Quirina", CONTACT, "xylophone", "Ada N."] {
            assert!(!text.contains(words), "{words}: {text}");
        }
    }
    let mut found = Vec::new();
    for words in ["Quirina", CONTACT, "Ada N."] {
        holding(&shop.folder(), words, &mut found);
    }
    let data = |path: &&PathBuf| {
        !path
            .file_name()
            .unwrap()
            .to_string_lossy()
            .starts_with("lockring.db")
    };
    assert_eq!(found.iter().find(data), None);
}

#[test]
fn files_and_backups_from_elsewhere_do_not_bring_a_removed_rider_back() {
    let shop = shop();
    let place = tempfile::tempdir().unwrap();
    let path = |name: &str| place.path().join(name).display().to_string();
    shop.line(&format!("export --to {}", path("open"))).ok();
    shop.line(&format!("backup --to {}", path("stick"))).ok();
    remove(&shop, "--words found").ok();
    for (line, to) in [("import", "a"), ("restore", "b")] {
        let from = path(if line == "import" { "open" } else { "stick" });
        let moved = shop.json(&format!("{line} {from} --to {}", path(to)))[0].clone();
        assert_eq!(moved["removed"].as_array().unwrap().len(), 1, "{moved}");
        let mut found = Vec::new();
        holding(&place.path().join(to), "Quirina", &mut found);
        assert!(found.is_empty(), "{found:?}");
    }
}

#[test]
fn at_a_terminal_the_number_is_typed_once_more() {
    let shop = shop();
    let ask = |typed: &str| {
        let line = ["rider", "1", "--redact", "--why", "asked for it"];
        let mut terminal = Terminal::run(&shop.folder(), 80, &line, &[]);
        terminal.shows("Type 1 again").keys(typed);
        terminal.ends()
    };
    let (code, text) = ask("yes\n");
    assert_eq!(code, 9, "{text}");
    assert!(text.contains("nothing was done"), "{text}");
    assert_eq!(shop.json("show 1")[0]["line"]["rider"], NAME);
    let (code, text) = ask("1\n");
    assert_eq!(code, 0, "{text}");
    assert!(shop.line("show 1").ok().contains("customer removed on"));
}

#[test]
fn words_about_a_rider_in_another_rider_s_job_are_told_and_go_one_by_one() {
    let shop = shop();
    shop.line("note 2 neighbour of Quirina Zabel").ok();
    let entry = shop.json("history 2").last().unwrap()["seq"].clone();
    let view = shop.json("rider 1")[0].clone();
    assert_eq!(view["other_lines"][0]["job"], 2, "{view}");
    let way = format!("--words 2:{entry}");
    assert!(shop.line("rider 1").ok().contains(&way));
    // The file is for this rider alone.
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("rider.json");
    shop.line(&format!("rider 1 --export {}", file.display())).ok();
    let file = fs::read_to_string(file).unwrap();
    assert!(file.contains(NAME) && !file.contains("neighbour"), "{file}");
    let refused = remove(&shop, "--words 2:1").fails(4);
    assert!(refused.contains("is not this rider's"), "{refused}");
    let trial = remove(&shop, "--words found --dry-run").ok();
    assert!(trial.contains(&format!("another rider's: {way}")), "{trial}");
    remove(&shop, &way).ok();
    let shown = shop.line("show 2").ok();
    assert!(
        shown.contains("Ada N.") && !shown.contains("customer removed"),
        "{shown}"
    );
    let history = shop.line("history 2").ok();
    assert!(
        !history.contains("Zabel") && history.contains("taken out on"),
        "{history}"
    );
    assert_eq!(shop.json("verify")[0]["sound"], true);
    let mut found = Vec::new();
    holding(&shop.folder(), "Quirina Zabel", &mut found);
    assert!(found.is_empty(), "{found:?}");
    // Nobody else's job lost its rider.
    assert_eq!(shop.json("rider 2")[0]["jobs"][0]["removed_on"], "");
}

/// The answer of the removal names what is left in others' jobs; it goes when somebody comes back for it.
#[test]
fn words_that_a_removal_left_in_another_rider_s_job_go_later() {
    let shop = shop();
    shop.line("note 2 neighbour of Quirina Zabel").ok();
    let entry = shop.json("history 2").last().unwrap()["seq"].clone();
    let way = format!("--words 2:{entry}");
    let left = remove(&shop, "--words found").ok();
    assert!(left.contains(&format!("another rider's: {way}")), "{left}");
    remove(&shop, "--words 9:1").fails(7);
    let refused = remove(&shop, "--words 2:1").fails(4);
    assert!(refused.contains("no words that can be removed"), "{refused}");
    remove(&shop, &way).ok();
    let history = shop.line("history 2").ok();
    assert!(
        !history.contains("Zabel") && history.contains("taken out on"),
        "{history}"
    );
    assert!(shop.line("show 2").ok().contains("Ada N."));
    let again = remove(&shop, &way).fails(4);
    assert!(again.contains("were removed already"), "{again}");
    let mut found = Vec::new();
    holding(&shop.folder(), "Quirina Zabel", &mut found);
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn a_rider_under_two_spellings_that_look_the_same_is_one() {
    let shop = shop();
    run_in(&shop.folder(), ["take-in", "Quirina \u{a0} ZABEL"]).ok();
    let jobs = shop.json("rider 1")[0]["jobs"].clone();
    let jobs: Vec<u64> = jobs
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|job| job["job"].as_u64())
        .collect();
    assert_eq!(jobs, [1, 3]);
}
