//! A daemon killed at any moment loses nothing it has answered for.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::support::{Shop, run_in};

/// Rounds of killing; more with `LOCKRING_KILL_ROUNDS`.
fn rounds() -> u32 {
    std::env::var("LOCKRING_KILL_ROUNDS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(4)
}

#[test]
fn every_answered_note_is_there_after_a_kill_and_no_half_one() {
    let mut shop = Shop::with_demo_jobs();
    let mut answered: Vec<String> = Vec::new();
    for round in 0..rounds() {
        let stop = AtomicBool::new(false);
        let begun = AtomicBool::new(false);
        let folder = shop.folder();
        let noted: Vec<String> = std::thread::scope(|scope| {
            let writers: Vec<_> = (0..4)
                .map(|writer| {
                    let (stop, begun, folder) = (&stop, &begun, &folder);
                    scope.spawn(move || {
                        let mut mine = Vec::new();
                        for number in 0.. {
                            if stop.load(Ordering::Relaxed) {
                                break;
                            }
                            let text = format!("round {round} writer {writer} note {number}");
                            if run_in(folder, ["note", "1", &text]).code == 0 {
                                begun.store(true, Ordering::Relaxed);
                                mine.push(text);
                            }
                        }
                        mine
                    })
                })
                .collect();
            // A busy machine answers late: the kill comes a while after the first answer.
            let patience = std::time::Instant::now() + std::time::Duration::from_secs(20);
            while !begun.load(Ordering::Relaxed) && std::time::Instant::now() < patience {
                std::thread::sleep(std::time::Duration::from_millis(5));
            }
            std::thread::sleep(std::time::Duration::from_millis(60 + u64::from(round) * 37));
            shop.kill();
            stop.store(true, Ordering::Relaxed);
            writers
                .into_iter()
                .flat_map(|writer| writer.join().unwrap())
                .collect()
        });
        answered.extend(noted);
        shop.serve();
        let verified = shop.json("verify")[0].clone();
        assert_eq!(verified["sound"], true, "{verified}");
        let lines: Vec<String> = shop
            .json("history 1")
            .iter()
            .map(|line| line["text"].as_str().unwrap().to_owned())
            .collect();
        for note in &answered {
            let found = lines.iter().filter(|line| line.ends_with(note)).count();
            assert_eq!(found, 1, "`{note}` is there {found} times");
        }
    }
    assert!(
        !answered.is_empty(),
        "nothing was answered: the test proves nothing"
    );
}
