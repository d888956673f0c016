//! Private texts: sealed in the journal, found when they were tampered with, and really gone once
//! they were removed.

use std::collections::BTreeSet;
use std::fs;
use std::future::{Future as _, poll_fn};
use std::path::Path;
use std::pin::pin;
use std::task::Poll;

use jiff::civil::date;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::fact::Value;
use lockring_domain::finding::{Kept, Verdict};
use lockring_domain::job::Job;
use lockring_domain::private::redact;
use lockring_domain::removal::Removal;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::stage::Stage;
use rusqlite::Connection;

use super::{Bench, PICTURE, at, block_on, note, origin, photographed, request, stated, unstored};
use crate::{BACKUPS, PHOTOS, StorageError, Store, WriteError};

/// Words that stand nowhere else.
pub(super) const NAME: &str = "Quirina Zabel";
const CONTACT: &str = "01234-quirina";
const PRIVATE: &str = "hard of hearing, xylophone";
const WORDS: &str = "told Quirina about the lights";

const ANSWER: &str = "taken in for Quirina Zabel (01234-quirina), Quirina Zabel";

/// Job 1: 1 taken in, 2 contact, 3 a private note, 4 a note, 5 a photo, 6 the end.
pub(super) fn bench() -> Bench {
    let bench = Bench::new();
    let private = Event::Noted {
        text: PRIVATE.into(),
        private: true,
    };
    let events = vec![
        Event::TakenIn { rider: NAME.into() },
        stated("contact", Value::Text(CONTACT.into())),
        private,
        note(WORDS),
        photographed(),
        Event::Closed {
            end: Stage::Returned,
            why: "too dear".into(),
        },
    ];
    bench.add(1, 0, events).unwrap();
    bench.take_in(2, 1);
    bench
        .write(|tx| {
            tx.job(1)?;
            Ok(tx.remember(&request("r"), ANSWER.as_bytes())?)
        })
        .unwrap();
    bench
}

pub(super) fn removal(words: &[u64], pictures: &[u64]) -> Removal {
    Removal {
        on: date(2026, 11, 26),
        why: "asked for it".into(),
        who: BTreeSet::from([1, 2, 3]),
        words: words.iter().copied().collect(),
        pictures: pictures.iter().copied().collect(),
        although: Vec::new(),
    }
}

/// Removes the rider of job 1, as the domain would.
pub(super) fn remove(bench: &Bench, removal: Removal) -> Result<Vec<Entry>, WriteError> {
    bench.write(move |tx| {
        let mut history = tx.entries(1)?;
        redact(&mut history, &removal);
        let event = Event::RiderRemoved(removal);
        let seq = history.len() as u64 + 1;
        history.push(unstored(1, seq, 10, &event));
        let after = Job::fold(&history).unwrap();
        let entries = tx.append(1, &origin(10), at(10), &[event], &after)?;
        tx.redact_answers(&[NAME.into(), CONTACT.into()], |_| b"removed".to_vec())?;
        Ok(entries)
    })
}

/// The files of a folder that hold some bytes, backups left out.
pub(super) fn holding(folder: &Path, words: &str) -> Vec<String> {
    let mut found = Vec::new();
    for item in fs::read_dir(folder).unwrap() {
        let path = item.unwrap().path();
        if path.is_file()
            && fs::read(&path)
                .unwrap()
                .windows(words.len())
                .any(|window| window == words.as_bytes())
        {
            found.push(path.file_name().unwrap().to_string_lossy().into_owned());
        }
    }
    found
}

#[test]
fn the_journal_holds_no_private_text_and_reads_back_all_of_them() {
    let bench = bench();
    let raw = Connection::open(bench.file()).unwrap();
    let mut statement = raw
        .prepare("SELECT version, payload FROM journal WHERE job = 1 ORDER BY seq")
        .unwrap();
    let rows: Vec<(u32, String)> = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    for (version, payload) in &rows {
        assert_eq!(*version, 2);
        for text in [NAME, CONTACT, PRIVATE, WORDS, "dropout, left", "too dear"] {
            assert!(!payload.contains(text), "{payload}");
        }
    }
    assert!(rows[0].1.contains("\"rider\":\"sealed:"), "{}", rows[0].1);
    assert_eq!(bench.job(1).rider, NAME);
    assert_eq!(bench.job(1).text("contact"), Some(CONTACT));
    assert_eq!(bench.entries(1)[3].event, note(WORDS));
    // The same text is never sealed to the same hash.
    let hashes: BTreeSet<&String> = rows.iter().map(|(_, payload)| payload).collect();
    assert_eq!(hashes.len(), rows.len());
}

/// The first version of the check on the signature named the signer in what a gate keeps.
#[test]
fn what_a_gate_kept_of_the_signer_goes_with_the_rider() {
    let bench = bench();
    let signed = format!("signed for by {NAME}");
    let tried = Event::GateTried {
        gate: Stage::Handover,
        findings: vec![Kept {
            check: "handover.signature".into(),
            version: 1,
            verdict: Verdict::Pass,
            summary: signed.clone(),
            uses: vec!["signed-by".into()],
            fingerprint: "00ff00ff".into(),
            conceded: false,
        }],
        passed: true,
    };
    bench.add(1, 5, vec![tried.clone()]).unwrap();
    assert_eq!(bench.entries(1)[6].event, tried);
    assert_eq!(bench.store.verify().unwrap().problems, [""; 0]);
    let mut all = removal(&[], &[]);
    all.who.insert(7);
    remove(&bench, all).unwrap();
    assert_eq!(bench.store.verify().unwrap().problems, [""; 0]);
    assert_eq!(holding(bench.folder.path(), NAME), [""; 0]);
    let Event::GateTried { findings, .. } = &bench.entries(1)[6].event else {
        panic!("{:?}", bench.entries(1)[6]);
    };
    assert_eq!(findings[0].summary, "removed on 2026-11-26");
}

#[test]
fn a_kept_answer_holds_no_private_text_and_is_given_again_as_it_was() {
    let bench = bench();
    let raw = Connection::open(bench.file()).unwrap();
    let answer = |id: &str| -> String {
        let sql = "SELECT answer FROM answered WHERE request_id = ?1";
        let bytes = raw.query_row(sql, [id], |row| row.get(0)).unwrap();
        String::from_utf8(bytes).unwrap()
    };
    let again = |id: &'static str| {
        let kept = bench.write(move |tx| tx.answer(&request(id))).unwrap().unwrap();
        String::from_utf8(kept).unwrap()
    };
    assert_eq!(
        answer("r"),
        "taken in for ------------- (-------------), -------------"
    );
    assert_eq!(again("r"), ANSWER);
    // What a caller writes and answers with in one go is known as well.
    bench
        .write(|tx| {
            let rider = "Xaver Yps".into();
            super::add(tx, 3, 5, &[Event::TakenIn { rider }])?;
            Ok(tx.remember(&request("s"), b"taken in for Xaver Yps")?)
        })
        .unwrap();
    assert_eq!(answer("s"), "taken in for ---------");
    assert_eq!(again("s"), "taken in for Xaver Yps");
    assert_eq!(bench.problems(), [""; 0]);
    raw.execute("UPDATE answered SET places = '[]' WHERE request_id = 's'", [])
        .unwrap();
    assert_eq!(
        bench.problems(),
        ["the answer to request `s` is not as it was kept"]
    );
}

#[test]
fn after_a_removal_no_byte_of_it_is_left_and_the_chain_holds() {
    let bench = bench();
    let before = bench.store.verify().unwrap();
    let hashes: Vec<_> = bench.entries(1).iter().map(|entry| entry.hash).collect();
    assert_ne!(holding(bench.folder.path(), NAME), [""; 0]);
    remove(&bench, removal(&[4], &[])).unwrap();
    for text in [NAME, CONTACT, PRIVATE, WORDS, "Quirina", "quirina", "xylophone"] {
        assert_eq!(holding(bench.folder.path(), text), [""; 0], "{text}");
    }
    let after = bench.store.verify().unwrap();
    assert_eq!(after.problems, [""; 0]);
    assert_eq!(after.entries, before.entries + 1);
    assert_eq!(after.removed, ["job 1: customer removed on 2026-11-26"]);
    let entries = bench.entries(1);
    assert_eq!(
        entries[..6].iter().map(|entry| entry.hash).collect::<Vec<_>>(),
        hashes
    );
    let gone = "removed on 2026-11-26".to_owned();
    assert_eq!(bench.job(1).rider, format!("customer {gone}"));
    assert_eq!(bench.job(1).text("contact"), Some(gone.as_str()));
    assert_eq!(entries[3].event, note(&gone));
    // What was not named stays.
    assert_eq!(bench.job(1).photos[0].photo.caption, "dropout, left");
    assert_eq!(bench.job(1).closed_because.as_deref(), Some("too dear"));
    assert_eq!(bench.job(2).rider, "rider 2");
    assert!(!bench.store.read(|reader| reader.is_uncleaned()).unwrap());
    // The retry of what named the rider is still known as one.
    let kept = bench.write(|tx| tx.answer(&request("r"))).unwrap();
    assert_eq!(kept, Some(b"removed".to_vec()));
    // As it stood earlier, the job has no rider either.
    let earlier = bench
        .store
        .read(|reader| reader.job_as_of(1, at(5)))
        .unwrap()
        .unwrap();
    assert_eq!(earlier.rider, format!("customer {gone}"));
    bench.store.close().unwrap();
    let again = Store::open(bench.folder.path()).unwrap();
    assert_eq!(again.verify().unwrap().problems, [""; 0]);
}

#[test]
fn a_removal_that_was_cut_off_before_the_cleaning_is_cleaned_at_the_next_start() {
    let bench = bench();
    remove(&bench, removal(&[], &[])).unwrap();
    bench.store.close().unwrap();
    // As a kill between the commit and the cleaning leaves it: remains in the file, and the mark.
    let raw = Connection::open(bench.file()).unwrap();
    raw.execute_batch(&format!(
        "PRAGMA secure_delete = OFF; CREATE TABLE remains (a); INSERT INTO remains VALUES ('{NAME}');
         DROP TABLE remains; INSERT INTO uncleaned VALUES (1);"
    ))
    .unwrap();
    drop(raw);
    assert_eq!(holding(bench.folder.path(), NAME), ["lockring.db"]);
    let again = Store::open(bench.folder.path()).unwrap();
    assert_eq!(holding(bench.folder.path(), NAME), [""; 0]);
    assert!(!again.read(|reader| reader.is_uncleaned()).unwrap());
    assert_eq!(again.verify().unwrap().problems, [""; 0]);
}

#[test]
fn tampering_with_a_private_text_is_found() {
    let seal = "(SELECT hash FROM private WHERE entry = 1)";
    for (sql, said) in [
        (
            "UPDATE private SET text = 'Mallory' WHERE entry = 1",
            "entry 1 (job 1, entry 1): a text of it (name) is not as it was kept",
        ),
        (
            "UPDATE private SET salt = randomblob(32) WHERE entry = 2",
            "entry 2 (job 1, entry 2): a text of it (contact) is not as it was kept",
        ),
        (
            "DELETE FROM private WHERE entry = 3",
            "entry 3 (job 1, entry 3): a text of it (private note) is lost, and no entry says that it was removed",
        ),
        (
            "UPDATE private SET salt = NULL, text = NULL, removed = '2026-11-26' WHERE entry = 4",
            "entry 4 (job 1, entry 4): a text of it (words) was removed on 2026-11-26, and no entry says so",
        ),
        (
            &format!("INSERT INTO private VALUES (7, {seal}, randomblob(32), 'x', NULL)"),
            "private texts: 1 belong to no entry",
        ),
    ] {
        let bench = bench();
        Connection::open(bench.file())
            .unwrap()
            .execute_batch(sql)
            .unwrap();
        let problems = bench.problems();
        assert!(problems.iter().any(|line| line == said), "{sql}: {problems:?}");
    }
}

#[test]
fn a_text_that_came_back_after_its_removal_is_found() {
    let bench = bench();
    let (salt, text): (Vec<u8>, String) = Connection::open(bench.file())
        .unwrap()
        .query_row("SELECT salt, text FROM private WHERE entry = 1", [], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .unwrap();
    remove(&bench, removal(&[], &[])).unwrap();
    let raw = Connection::open(bench.file()).unwrap();
    let sql = "UPDATE private SET removed = NULL, salt = ?1, text = ?2 WHERE entry = 1";
    raw.execute(sql, (salt, text)).unwrap();
    let said = "entry 8 (job 1, entry 7): what it removed from entry 1 is there";
    let problems = bench.problems();
    assert!(problems.iter().any(|line| line == said), "{problems:?}");
}

#[test]
fn a_removal_whose_state_does_not_follow_is_refused_whole() {
    let bench = bench();
    let refused = bench.write(|tx| {
        let after = tx.job(1)?.unwrap();
        let event = Event::RiderRemoved(removal(&[], &[]));
        Ok(tx.append(1, &origin(10), at(10), &[event], &after)?)
    });
    assert!(
        matches!(refused, Err(WriteError::Storage(StorageError::Unstorable { .. }))),
        "{refused:?}"
    );
    assert_eq!(bench.job(1).rider, NAME);
    assert_eq!(bench.problems(), [""; 0]);
}

#[test]
fn a_picture_that_was_removed_is_deleted_and_verify_tells_it_from_a_lost_one() {
    let bench = bench();
    block_on(bench.store.backup(&bench.folder.path().join(BACKUPS), at(3))).unwrap();
    let here = fs::read_dir(bench.folder.path().join(PHOTOS))
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let there = bench
        .folder
        .path()
        .join(BACKUPS)
        .join(PHOTOS)
        .join(here.file_name().unwrap());
    assert_eq!(fs::read(&there).unwrap(), PICTURE);
    remove(&bench, removal(&[], &[5])).unwrap();
    assert!(!here.exists() && !there.exists());
    let found = bench.store.verify().unwrap();
    assert_eq!(found.problems, [""; 0]);
    assert_eq!(
        found.removed,
        [
            "job 1: customer removed on 2026-11-26",
            "entry 5 (job 1, entry 5): the picture of photo 1 was removed on 2026-11-26",
        ]
    );
    fs::write(&here, PICTURE).unwrap();
    let problems = bench.problems();
    assert!(
        problems[0].contains("was removed on 2026-11-26 and still is there"),
        "{problems:?}"
    );
}

#[test]
fn a_picture_that_another_job_keeps_stays() {
    let bench = bench();
    bench.add(2, 4, vec![photographed()]).unwrap();
    remove(&bench, removal(&[], &[5])).unwrap();
    let found = bench.store.verify().unwrap();
    assert_eq!(found.problems, [""; 0]);
    assert_eq!(fs::read_dir(bench.folder.path().join(PHOTOS)).unwrap().count(), 1);
}

#[test]
fn an_older_backup_holds_the_rider_and_restoring_it_removes_them_again() {
    let bench = bench();
    let backups = bench.folder.path().join(BACKUPS);
    let made = block_on(bench.store.backup(&backups, at(3))).unwrap().path;
    remove(&bench, removal(&[4], &[5])).unwrap();
    let job = bench.job(1);
    assert_eq!(
        bench.store.backups_with_rider(&job).unwrap().as_slice(),
        std::slice::from_ref(&made)
    );
    let later = block_on(bench.store.backup(&backups, at(20))).unwrap().path;
    assert_eq!(
        bench.store.backups_with_rider(&job).unwrap().as_slice(),
        std::slice::from_ref(&made)
    );

    let to = bench.folder.path().join("restored");
    let moved = crate::restore(&made, &to).unwrap();
    assert_eq!(
        moved.removed,
        ["job 1: customer removed on 2026-11-26, and removed again from this copy"]
    );
    for text in [NAME, CONTACT, PRIVATE, WORDS] {
        assert_eq!(holding(&to, text), [""; 0], "{text}");
    }
    assert!(!to.join(PHOTOS).exists() || fs::read_dir(to.join(PHOTOS)).unwrap().count() == 0);
    let store = Store::open(&to).unwrap();
    let found = store.verify().unwrap();
    assert_eq!((found.problems.len(), found.head), (0, moved.head));
    let job = store.read(|reader| reader.job(1)).unwrap().unwrap();
    assert_eq!(job.rider, "customer removed on 2026-11-26");
    // The newest of the folder needs nothing of the kind.
    let newest = crate::restore(&backups, &bench.folder.path().join("newest")).unwrap();
    assert_eq!((newest.from, newest.removed.len()), (later, 0));
}

#[test]
fn the_list_of_another_shop_removes_nothing() {
    let bench = bench();
    let backups = bench.folder.path().join(BACKUPS);
    block_on(bench.store.backup(&backups, at(3))).unwrap();
    remove(&bench, removal(&[], &[])).unwrap();
    let other = Bench::new();
    other.take_in(1, 77);
    let theirs = other.folder.path().join(BACKUPS);
    block_on(other.store.backup(&theirs, at(78))).unwrap();
    fs::copy(backups.join("removed.jsonl"), theirs.join("removed.jsonl")).unwrap();
    let moved = crate::restore(&theirs, &other.folder.path().join("restored")).unwrap();
    assert_eq!((moved.removed.len(), moved.problems.len()), (0, 0));
    let text = fs::read_to_string(backups.join("removed.jsonl")).unwrap();
    assert!(
        text.contains("asked for it") && !text.contains("Quirina"),
        "{text}"
    );
}

#[test]
fn open_files_carry_private_texts_and_removals_and_lead_to_the_same_hash() {
    for is_removed in [false, true] {
        let bench = bench();
        if is_removed {
            remove(&bench, removal(&[4], &[])).unwrap();
        }
        let head = bench.store.verify().unwrap().head;
        let (open, to) = (
            bench.folder.path().join("open"),
            bench.folder.path().join("again"),
        );
        assert_eq!(crate::export(bench.folder.path(), &open).unwrap().head, head);
        assert_eq!(holding(&open, NAME).len(), usize::from(!is_removed));
        let moved = crate::import(&open, &to).unwrap();
        assert_eq!(moved.head, head);
        let store = Store::open(&to).unwrap();
        assert_eq!(store.verify().unwrap().problems, [""; 0]);
        assert_eq!(
            *store.read(|reader| reader.job(1)).unwrap().unwrap(),
            bench.job(1)
        );
    }
}

#[test]
fn private_texts_that_were_changed_or_left_out_are_not_imported() {
    let bench = bench();
    let open = bench.folder.path().join("open");
    crate::export(bench.folder.path(), &open).unwrap();
    let path = open.join("private.jsonl");
    let whole = fs::read_to_string(&path).unwrap();
    let refused = |content: &str| {
        fs::write(&path, content).unwrap();
        crate::import(&open, &bench.folder.path().join("again"))
            .unwrap_err()
            .to_string()
    };
    let changed = refused(&whole.replace(NAME, "Mallory"));
    assert!(
        changed.contains("line 1: entry 1: its hash is not that of salt and text"),
        "{changed}"
    );
    let cut = refused(whole.split_once('\n').unwrap().1);
    assert!(cut.contains("a text of it (name) is lost"), "{cut}");
    fs::remove_file(&path).unwrap();
    let missing = crate::import(&open, &bench.folder.path().join("again")).unwrap_err();
    assert!(missing.to_string().contains("private.jsonl"), "{missing}");
}

#[test]
fn riders_are_found_by_name() {
    let bench = bench();
    let numbers = |name| -> Vec<u32> {
        let jobs = bench.store.read(|reader| reader.jobs_of_rider(name)).unwrap();
        jobs.iter().map(|job| job.number).collect()
    };
    assert_eq!(numbers("quirina ZABEL"), [1]);
    assert_eq!(numbers(" Quirina \u{a0}Zabel "), [1]);
    assert_eq!(numbers("Quirina"), [0; 0]);
    remove(&bench, removal(&[], &[])).unwrap();
    assert_eq!(numbers(NAME), [0; 0]);
}

/// What a payload of the journal says, by number.
fn payloads(folder: &Path) -> Vec<String> {
    let raw = Connection::open(folder.join("lockring.db")).unwrap();
    let mut statement = raw.prepare("SELECT payload FROM journal ORDER BY id").unwrap();
    let rows = statement.query_map([], |row| row.get(0)).unwrap();
    rows.map(Result::unwrap).collect()
}

#[test]
fn an_old_history_is_sealed_once_and_its_rider_can_be_removed_then() {
    for schema in 1..crate::SCHEMA {
        let folder = super::opening::old(schema);
        let bench = Bench {
            store: Store::open(folder.path()).unwrap(),
            folder,
        };
        let removal = || Removal {
            who: BTreeSet::from([1]),
            words: BTreeSet::from([9]),
            ..removal(&[], &[])
        };
        // 1 taken in, 9 a note.
        assert_eq!(
            bench.store.read(|reader| reader.in_clear(1)).unwrap(),
            BTreeSet::from([1, 9])
        );
        let refused = remove(&bench, removal()).unwrap_err().to_string();
        assert!(
            refused.contains("before private texts were kept apart"),
            "{refused}"
        );
        let backups = bench.folder.path().join(BACKUPS);
        let backup = block_on(bench.store.backup(&backups, at(2_000))).unwrap().path;

        // What was just written is known to the writer, and sealed with everything before it.
        bench.add(1, 2_000, vec![note("before sealing")]).unwrap();
        let before = bench.store.verify().unwrap();
        let job = bench.job(1);
        let told = bench
            .write(|tx| Ok(tx.seal_history(&origin(2_001), at(2_001))?))
            .unwrap();
        let after = bench.store.verify().unwrap();
        assert_eq!(after.problems, [""; 0], "schema {schema}");
        assert_eq!(after.entries, before.entries + 1);
        assert_eq!(bench.job(1), job);
        let Event::Shop(ShopEvent::HistorySealed {
            entries,
            upto,
            before: from,
            after: to,
        }) = &told[0].event
        else {
            panic!("{told:?}");
        };
        let hexadecimal = crate::digits::hexadecimal;
        assert_eq!((*entries, *upto), (2, before.entries));
        assert_eq!(*from, hexadecimal(&before.head));
        assert_eq!(*to, hexadecimal(&told[0].previous));
        let said = payloads(bench.folder.path()).concat();
        assert!(!said.contains("rider 1") && !said.contains("a note"), "{said}");
        // Once is enough.
        assert_eq!(
            bench
                .write(|tx| Ok(tx.seal_history(&origin(2_002), at(2_002))?))
                .unwrap(),
            []
        );
        assert_eq!(bench.store.read(|reader| reader.entries_in_clear()).unwrap(), 0);

        remove(&bench, removal()).unwrap();
        assert_eq!(bench.problems(), [""; 0]);
        assert_eq!(holding(bench.folder.path(), "rider 1"), [""; 0]);
        // Restored, the old backup is sealed and the rider removed again.
        let to = bench.folder.path().join("restored");
        let moved = crate::restore(&backup, &to).unwrap();
        assert_eq!(moved.removed.len(), 2, "{:?}", moved.removed);
        assert_eq!(holding(&to, "rider 1"), [""; 0]);
        assert_eq!(Store::open(&to).unwrap().verify().unwrap().problems, [""; 0]);
    }
}

#[test]
fn a_chain_that_does_not_hold_is_not_sealed_over() {
    let folder = super::opening::old(3);
    let bench = Bench {
        store: Store::open(folder.path()).unwrap(),
        folder,
    };
    super::tampering::tamper(
        &bench,
        "UPDATE journal SET payload = replace(payload, 'a note', 'no note') WHERE id = 10",
    );
    let before = payloads(bench.folder.path());
    let refused = bench
        .write(|tx| Ok(tx.seal_history(&origin(2_001), at(2_001))?))
        .unwrap_err()
        .to_string();
    assert!(
        refused.contains("entry 10 (job 1, entry 9): the chain of hashes does not hold here"),
        "{refused}"
    );
    assert_eq!(payloads(bench.folder.path()), before);
    let problems = bench.problems();
    assert!(problems[0].contains("its hash does not match"), "{problems:?}");
    assert!(
        !problems.iter().any(|line| line.contains("trigger")),
        "{problems:?}"
    );
}

/// Answers kept before texts were blanked out in them hold names as plain bytes.
#[test]
fn an_answer_that_names_a_rider_is_cut_down_and_no_other_is() {
    let bench = Bench::new();
    let kept = [
        ("first", "for Ines H. by K"),
        ("second", "for Ina H."),
        ("third", "H"),
    ];
    bench
        .write(move |tx| {
            for (id, answer) in kept {
                tx.remember(&request(id), answer.as_bytes())?;
            }
            let cut = tx.redact_answers(&["Ines H.".into(), String::new()], |answer| {
                format!("cut {}", answer.len()).into_bytes()
            })?;
            assert_eq!(cut, 1, "an empty name is in every answer and names nobody");
            Ok(())
        })
        .unwrap();
    let answer = |id: &'static str| {
        let given = bench.write(move |tx| tx.answer(&request(id))).unwrap();
        String::from_utf8(given.unwrap()).unwrap()
    };
    assert_eq!(answer("first"), "cut 16");
    assert_eq!(
        (answer("second"), answer("third")),
        ("for Ina H.".into(), "H".into())
    );
    assert_eq!(bench.problems(), [""; 0]);
}

/// A reader keeps the log from being emptied, so that the cleaning lasts; every file is large here.
#[test]
fn while_a_large_file_is_cleaned_callers_are_told_and_afterwards_served() {
    let bench = bench().opened_as_large();
    bench.store.look_through().unwrap();
    // Asks once, and does not wait where there is a queue to wait in.
    let ask = || {
        block_on(poll_fn(|context| {
            let asked = pin!(bench.store.write(|_| Ok(()))).poll(context);
            Poll::Ready(match asked {
                Poll::Ready(Err(error)) => Some(error),
                Poll::Ready(Ok(())) | Poll::Pending => None,
            })
        }))
    };
    let (held, let_go) = std::sync::mpsc::channel::<()>();
    let (reading, begun) = std::sync::mpsc::channel();
    std::thread::scope(|scope| {
        let store = &bench.store;
        scope.spawn(move || {
            store.read(|reader| {
                // The state is fixed by the first look.
                reader.counts()?;
                reading.send(()).unwrap();
                let _released = let_go.recv();
                Ok(())
            })
        });
        begun.recv().unwrap();
        let removing = scope.spawn(|| remove(&bench, removal(&[], &[])));
        let told = std::iter::from_fn(|| {
            std::thread::sleep(std::time::Duration::from_millis(1));
            (!removing.is_finished()).then(ask)
        });
        let told = told.flatten().next();
        drop(held);
        assert_eq!(told, Some(WriteError::Storage(StorageError::Cleaning)));
        removing.join().unwrap().unwrap();
    });
    bench.write(|_| Ok(())).unwrap();
    assert_eq!(bench.problems(), [""; 0]);
    assert_eq!(holding(bench.folder.path(), NAME), [""; 0]);
}
