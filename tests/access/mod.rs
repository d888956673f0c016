//! Other benches: paired, let in as one person, kept to what that person may do, revoked.

mod calls;
mod handshake;
mod restored;

use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::{HistoryLine, WatchRequest};

pub use crate::support::reached::Reached;
use crate::support::rpc::block_on;
use crate::support::tls::Carried;
use crate::support::{Answer, LOCKRING, PATIENCE, Shop, clean, run_in, words};

/// Runs a command line at another bench, where nobody said who types.
fn away(pass: &std::path::Path, line: &str) -> Answer {
    away_in(&pass.with_extension("bench"), pass, line)
}

/// As [`away`], at a computer that keeps what is its own in this folder.
fn away_in(folder: &std::path::Path, pass: &std::path::Path, line: &str) -> Answer {
    let mut program = clean(LOCKRING);
    program
        .env_remove("LOCKRING_BY")
        .env_remove("LOCKRING_TERMINAL")
        .env("LOCKRING_VIA", pass);
    crate::support::run_with(program, folder, words(line))
}

#[test]
fn a_paired_bench_types_as_its_person_and_the_history_says_so() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let listed = away(&pass, "jobs").ok();
    assert!(listed.contains("Tomas V."), "{listed}");
    away(&pass, "note 2 \"typed at the second bench\"").ok();
    away(&pass, "measure 2 gapm 2,6").ok();
    let history = reached.shop.json("history 2");
    let noted = history
        .iter()
        .find(|line| line["text"] == "note: typed at the second bench")
        .unwrap();
    assert_eq!(
        (noted["by"].as_str(), noted["terminal"].as_str()),
        (Some("M"), Some("bench-2"))
    );
    // A photo and a stream travel as well.
    let picture = pass.with_extension("png");
    std::fs::write(
        &picture,
        [b"\x89PNG\r\n\x1a\n".as_slice(), &[7; 300_000]].concat(),
    )
    .unwrap();
    away(&pass, &format!("photo 2 stay {}", picture.display())).ok();
    let back = pass.with_extension("back.png");
    away(&pass, &format!("photo 2 --get 1 --to {}", back.display())).ok();
    assert_eq!(std::fs::read(back).unwrap(), std::fs::read(picture).unwrap());
    away(&pass, "predict 2").ok();
    assert_eq!(reached.shop.json("verify")[0]["sound"], true);
}

#[test]
fn nobody_types_for_another_but_the_owner() {
    let reached = Reached::open();
    let (mechanics, owners) = (reached.pair("bench-2", "M"), reached.pair("desk", "K"));
    let said = away(&mechanics, "note 2 hello --by K").fails(14);
    assert!(said.contains("M's") && said.contains("`K`"), "{said}");
    let said = away(&mechanics, "concede 2 hill.restart --why \"knows the road\"").fails(9);
    assert!(said.contains("for the owner (K)"), "{said}");
    away(&owners, "note 2 \"M told me\" --by M").ok();
    away(&owners, "concede 2 hill.restart --why \"knows the road\"").ok();
    let said = away(&owners, "note 2 hello --by X").fails(6);
    assert!(said.contains("`X` is nobody of this shop"), "{said}");
    // What touches keys, people, settings, backups and the daemon stays at the shop's computer.
    for line in [
        "pair bench-3 M",
        "pair --revoke 1",
        "people add X",
        "people leave M",
        "settings set benches 2",
        "settings undo",
        "backup",
        "verify",
    ] {
        let said = away(&owners, line).fails(14);
        assert!(
            said.contains("at the computer that keeps the shop"),
            "{line}: {said}"
        );
    }
    for line in [
        "daemon stop",
        "restore --to /nonexistent/x",
        "export --to /nonexistent/x",
    ] {
        away(&owners, line).fails(2);
    }
    reached.shop.line("jobs").ok();
}

/// Reads what a watch still says, and waits for its end.
async fn ends(mut watch: tonic::Streaming<HistoryLine>) {
    let end = async { while let Ok(Some(_)) = watch.message().await {} };
    tokio::time::timeout(PATIENCE, end)
        .await
        .expect("the watch goes on");
}

#[test]
fn a_revoked_pair_is_refused_at_once_and_what_it_watches_ends() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let kept = reached.pair("bench-3", "M");
    block_on(async {
        let channel = Carried::read(&pass).connect().await;
        let mut jobs = JobsClient::new(channel.clone());
        let watch = jobs.watch(WatchRequest::default()).await.unwrap().into_inner();
        reached
            .shop
            .line("pair --revoke 1 --why \"left on the train\"")
            .ok();
        ends(watch).await;
        // The connection went with it.
        jobs.watch(WatchRequest::default()).await.unwrap_err();
    });
    let said = away(&pass, "jobs").fails(14);
    assert!(said.contains("pair 1 (bench-2 of M) was revoked by K"), "{said}");
    assert!(said.contains("lockring pair bench-2 M"), "{said}");
    away(&kept, "jobs").ok();
    // At the bench, a watch that ends so says that the shop has gone.
    let mut program = clean(LOCKRING);
    program
        .env_remove("LOCKRING_BY")
        .args(["--via"])
        .arg(&kept)
        .arg("watch");
    let revoked = std::thread::scope(|scope| {
        let watching = scope.spawn(|| crate::support::ends(program));
        let begun = Instant::now();
        while !watching.is_finished() {
            assert!(begun.elapsed() < PATIENCE, "the watch goes on");
            // Whatever is open by now is broken off; one that comes later is refused.
            std::thread::sleep(Duration::from_millis(300));
            let _revoked_before = reached.shop.line("pair --revoke 2");
        }
        watching.join().unwrap()
    });
    let code = revoked.status.code();
    let said = String::from_utf8(revoked.stderr).unwrap();
    assert!(matches!(code, Some(3 | 14)), "{code:?} {said}");
    let kept = reached.pair("bench-4", "M");
    away(&kept, "jobs").ok();
    reached.shop.line("people leave M").ok();
    let said = away(&kept, "jobs").fails(14);
    assert!(said.contains("M no longer works here"), "{said}");
    // Neither making nor revoking is taken back.
    let history = reached.shop.json("settings history");
    for kind in ["paired", "pair-revoked"] {
        let seq = &history.iter().find(|line| line["kind"] == kind).unwrap()["seq"];
        let said = reached
            .shop
            .line(&format!("settings undo --entry {seq}"))
            .fails(9);
        assert!(said.contains("not one that can be undone"), "{said}");
    }
    assert_eq!(reached.shop.json("verify")[0]["sound"], true);
}

#[test]
fn the_journal_and_the_answers_kept_for_retries_hold_no_key() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let (_, key) = Carried::read(&pass).own.unwrap();
    // The first line of PKCS #8 says what kind of key it is and is the same in all.
    let middle: String = key.lines().nth(2).unwrap().chars().take(40).collect();
    let holds = |path: PathBuf| {
        let bytes = std::fs::read(&path).unwrap();
        let bytes = String::from_utf8_lossy(&bytes).into_owned();
        bytes.contains(&middle)
    };
    assert!(holds(pass.clone()), "the file itself has the key");
    let exported = pass.with_extension("exported");
    reached
        .shop
        .run(["backup", "--to", exported.to_str().unwrap()])
        .ok();
    let mut looked = 0;
    for folder in [
        reached.shop.folder(),
        reached.shop.folder().join("access"),
        exported,
    ] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                assert!(!holds(path.clone()), "{} holds the bench's key", path.display());
                looked += 1;
            }
        }
    }
    assert!(looked > 5, "{looked} files looked into");
}

#[test]
fn making_a_pair_is_the_owners_once_for_each_request_and_a_dry_run_makes_none() {
    let reached = Reached::open();
    let shop = &reached.shop;
    let said = shop.line("pair bench-2 M --by M").fails(9);
    assert!(said.contains("pairing a bench is for the owner"), "{said}");
    let folder = shop.folder().parent().unwrap().to_owned();
    assert!(!folder.join("bench-2-M.pair").exists());
    shop.line("pair bench-2 M --dry-run").ok();
    assert!(shop.json("pair").is_empty());
    let file = folder.join("a.pair");
    let line = format!(
        "pair bench-2 M --days 90 --request-id one --out {}",
        file.display()
    );
    shop.line(&line).ok();
    // The same file is not written over, and another key is another request.
    shop.line(&line).fails(4);
    let said = shop.line(&line.replace("a.pair", "b.pair")).fails(4);
    assert!(said.contains("used before") || said.contains("request"), "{said}");
    assert!(
        !folder.join("b.pair").exists(),
        "a file that nothing came of stays"
    );
    let pairs = shop.json("pair");
    assert_eq!(pairs.len(), 1);
    assert_eq!(
        (pairs[0]["days_left"].as_i64(), pairs[0]["person"].as_str()),
        (Some(90), Some("M"))
    );
    for line in [
        "pair bench-2 X",
        "pair \"two words\" M",
        "pair b M --days 9999",
        "pair b M --days 0",
        "pair b",
    ] {
        let answer = shop.line(line);
        assert!(answer.code != 0, "`{line}` was taken");
    }
    shop.line("pair --revoke 7").fails(7);
    assert_eq!(shop.json("pair").len(), 1);
}

#[test]
fn the_listener_goes_with_its_setting_and_leaves_no_connection_behind() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let address = Carried::read(&pass).address;
    block_on(async {
        let channel = Carried::read(&pass).connect().await;
        let mut jobs = JobsClient::new(channel);
        let watch = jobs.watch(WatchRequest::default()).await.unwrap().into_inner();
        reached.shop.line("settings set bench-address --shipped").ok();
        ends(watch).await;
    });
    let begun = Instant::now();
    while TcpStream::connect(&address).is_ok() {
        assert!(begun.elapsed() < PATIENCE, "somebody listens at {address}");
        std::thread::sleep(Duration::from_millis(20));
    }
    let said = away(&pass, "jobs").fails(3);
    assert!(said.contains(&address), "{said}");
}

#[test]
fn a_shop_without_an_address_has_neither_listener_nor_keys() {
    let shop = Shop::with_demo_jobs();
    shop.line("pair").ok();
    assert!(!shop.folder().join("access").exists());
    for wrong in ["0.0.0.0:7470", "[::]:7470", "127.0.0.1:443", "bench:7470"] {
        let said = shop.line(&format!("settings set bench-address {wrong}")).fails(4);
        assert!(said.contains("never all of them"), "{said}");
    }
    run_in(&shop.folder(), ["pair", "bench-2", "K"]).fails(9);
    assert!(!shop.folder().join("access").exists());
}

#[test]
fn what_waits_for_a_shop_away_is_kept_apart_and_sent_the_same_way() {
    let reached = Reached::open();
    let (pass, owners) = (reached.pair("bench-2", "M"), reached.pair("bench-2", "K"));
    reached.shop.line("settings set bench-address --shipped").ok();
    let address = Carried::read(&pass).address;
    let begun = Instant::now();
    while TcpStream::connect(&address).is_ok() {
        assert!(begun.elapsed() < PATIENCE, "somebody listens at {address}");
        std::thread::sleep(Duration::from_millis(20));
    }
    away(&pass, "--queue note 2 \"typed while nobody answered\"").fails(16);
    // Another pair on the same computer: each line goes by its own.
    let told = away_in(
        &pass.with_extension("bench"),
        &owners,
        "--queue note 2 \"the owner's word\"",
    )
    .fails(16);
    assert!(!told.contains("daemon start"), "{told}");
    reached
        .shop
        .line(&format!("settings set bench-address {address}"))
        .ok();
    let begun = Instant::now();
    while TcpStream::connect(&address).is_err() {
        assert!(begun.elapsed() < PATIENCE, "nobody listens at {address}");
        std::thread::sleep(Duration::from_millis(20));
    }
    away(&pass, "send").ok();
    let history = reached.shop.json("history 2");
    let sent = history
        .iter()
        .filter(|line| line["text"] == "note: typed while nobody answered");
    assert_eq!(sent.count(), 1);
    let owners = history
        .iter()
        .find(|line| line["text"] == "note: the owner's word");
    assert_eq!(owners.map(|line| line["by"].clone()), Some("K".into()));
}

#[test]
fn what_waits_under_a_pair_that_was_revoked_goes_by_the_next_of_that_person() {
    let reached = Reached::open();
    let old = reached.pair("bench-2", "M");
    let home = old.with_extension("bench");
    reached.shop.line("daemon stop").ok();
    for said in ["kept by M", "kept by M as well"] {
        away(&old, &format!("--queue note 2 \"{said}\"")).fails(16);
    }
    reached.shop.line("daemon start").ok();
    reached.shop.line("pair --revoke 1").ok();
    // While nobody made another, it waits; somebody else's line does not wait for it.
    away(&old, "send").fails(14);
    let owners = reached.pair("bench-2", "K");
    let said = away_in(&home, &owners, "note 2 \"the owner's word\"").ok();
    assert!(said.contains("waits for another pair of M"), "{said}");
    assert!(said.contains("lockring send --forget 1"), "{said}");
    let new = reached.pair("bench-4", "M");
    away_in(&home, &new, "note 2 \"by the new pair\"").ok();
    let history = reached.shop.json("history 2");
    for (note, by) in [
        ("kept by M", "M"),
        ("kept by M as well", "M"),
        ("the owner's word", "K"),
        ("by the new pair", "M"),
    ] {
        let line = history
            .iter()
            .find(|line| line["text"] == format!("note: {note}"));
        assert_eq!(line.map(|line| line["by"].clone()), Some(by.into()), "{note}");
    }
}

#[test]
fn an_address_that_cannot_be_had_is_said_and_taken_once_it_can() {
    let shop = Shop::open();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap();
    shop.line("people add K --role owner").ok();
    shop.line(&format!("settings set bench-address {address}")).ok();
    let says = |part: &str, command: &str| {
        let begun = Instant::now();
        let told = || {
            shop.line(command)
                .ok()
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
        };
        while !told().contains(part) {
            assert!(begun.elapsed() < PATIENCE, "`{command}` never says {part:?}");
            std::thread::sleep(Duration::from_millis(50));
        }
    };
    says("cannot be had", "pair");
    says("cannot be had", "doctor");
    drop(taken);
    says(&format!("reach the shop at {address}"), "pair");
}

/// The README's section is typed as it is printed, but for the address, which is this machine's.
#[test]
fn a_second_bench_is_opened_as_the_readme_says() {
    let reached = Reached::open();
    let address = reached.shop.json("settings")[0]["settings"]
        .as_array()
        .unwrap()
        .iter()
        .find(|setting| setting["setting"] == "bench-address")
        .unwrap()["value"]
        .as_str()
        .unwrap()
        .to_owned();
    let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let lines = crate::cli::readme::lines_of(&readme, "A second bench");
    assert_eq!(lines.len(), 5, "{lines:?}");
    for line in lines {
        let line = line.replace("192.168.1.5:7470", &address);
        let mut program = clean(LOCKRING);
        program.current_dir(reached.shop.folder().parent().unwrap());
        if line.contains("--via") {
            program.env_remove("LOCKRING_BY");
        }
        let typed = words(&line).split_off(1);
        crate::support::run_with(program, &reached.shop.folder(), typed).ok();
    }
}

/// Whatever the environment says, the demo plays on its own folder.
#[test]
fn a_folder_of_its_own_is_meant_where_a_line_names_no_way() {
    let shop = Shop::open();
    let said = shop.run(["--via", "/nonexistent/x.pair", "jobs"]).fails(4);
    assert!(said.contains("lockring pair BENCH PERSON"), "{said}");
    shop.run(["--via=", "jobs"]).ok();
}
