//! Photos through the real programs: kept, listed, given back, moved with the shop, and missed
//! when they are gone.

use std::fs;
use std::path::{Path, PathBuf};

use crate::support::{Shop, run_in};

/// A made-up picture of a kind that begins as JPEG files do; nothing ever looks further in.
fn picture(folder: &Path, name: &str, bytes: usize) -> PathBuf {
    let path = folder.join(name);
    let mut content = b"\xff\xd8\xff\xe0".to_vec();
    content.extend((content.len()..bytes).map(|at| (at * 31 % 251) as u8 ^ name.as_bytes()[0]));
    fs::write(&path, content).unwrap();
    path
}

fn kept_files(folder: &Path) -> Vec<PathBuf> {
    let Ok(items) = fs::read_dir(folder.join("photos")) else {
        return Vec::new();
    };
    items.map(|item| item.unwrap().path()).collect()
}

#[test]
fn a_photo_is_kept_listed_and_given_back_byte_for_byte() {
    let shop = Shop::with_demo_jobs();
    let place = tempfile::tempdir().unwrap();
    // The largest there may be, which goes through in many pieces.
    let path = picture(place.path(), "left.jpg", 16 * 1024 * 1024);
    let said = shop
        .line(&format!("photo 2 dropout cracked on the left {}", path.display()))
        .ok();
    let first = "photo 1: dropout cracked on the left (left.jpg, JPEG, 16.8 MB)";
    assert!(said.contains(first), "{said}");
    let out = place.path().join("back.jpg");
    shop.line(&format!("photo 2 --get 1 --to {}", out.display())).ok();
    assert_eq!(fs::read(&out).unwrap(), fs::read(&path).unwrap());
    let twice = shop
        .line(&format!("photo 2 --get 1 --to {}", out.display()))
        .fails(4);
    assert!(twice.contains("nothing is ever written over"), "{twice}");
    for line in ["photo 2", "show 2"] {
        let text = shop.line(line).ok();
        assert!(text.contains("16.8 MB"), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }
    let history = shop.json("history 2");
    let last = history.last().unwrap();
    assert_eq!(
        (last["kind"].as_str(), last["text"].as_str()),
        (Some("photographed"), Some(first))
    );
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn what_cannot_be_kept_is_refused_and_a_dry_run_keeps_nothing() {
    let shop = Shop::with_demo_jobs();
    let place = tempfile::tempdir().unwrap();
    let good = picture(place.path(), "a.jpg", 5_000);
    let said = shop
        .line(&format!("photo 2 seen {} --dry-run", good.display()))
        .ok();
    assert!(said.contains("photo 1: seen"), "{said}");
    assert_eq!(kept_files(&shop.folder()), Vec::<PathBuf>::new());
    let text = place.path().join("b.jpg");
    fs::write(&text, "no picture").unwrap();
    let refused = shop.line(&format!("photo 2 seen {}", text.display())).fails(4);
    assert!(refused.contains("expected JPEG, PNG, WebP, HEIC"), "{refused}");
    let large = picture(place.path(), "c.jpg", 16 * 1024 * 1024 + 1);
    let refused = shop.line(&format!("photo 2 seen {}", large.display())).fails(4);
    assert!(refused.contains("16 MiB at most"), "{refused}");
    shop.line(&format!("photo 2 {}", good.display())).fails(2);
    shop.line("photo 2 seen nowhere.jpg").fails(4);
    shop.line("photo 2 --get 1").fails(4);
    shop.line(&format!("photo 2 seen {} --queue", good.display()))
        .ok();
    let twin = shop.line(&format!("photo 2 again {}", good.display())).fails(4);
    assert!(twin.contains("it is photo 1 of job 2 (seen)"), "{twin}");
    // One job's picture may be another's too, and is kept once.
    shop.line(&format!("photo 1 the same {}", good.display())).ok();
    assert_eq!(kept_files(&shop.folder()).len(), 1);
    // Taken back it is off the list, and can be kept anew.
    shop.line("undo 2").ok();
    assert!(shop.line("photo 2").ok().contains("none; keep one with"));
    shop.line(&format!("photo 2 again {}", good.display())).ok();
}

#[test]
fn the_newest_picture_of_the_watched_folder_is_taken() {
    let shop = Shop::with_demo_jobs();
    let refused = shop.line("photo 2 pack label").fails(4);
    assert!(refused.contains("settings set photo-folder"), "{refused}");
    let camera = tempfile::tempdir().unwrap();
    let set = format!("settings set photo-folder {}", camera.path().display());
    shop.line(&set).ok();
    let refused = shop.line("photo 2 pack label").fails(4);
    assert!(refused.contains("holds no picture"), "{refused}");
    let first = picture(camera.path(), "first.jpg", 2_000);
    let hour_ago = std::time::SystemTime::now() - std::time::Duration::from_secs(3_600);
    fs::File::options()
        .write(true)
        .open(first)
        .unwrap()
        .set_modified(hour_ago)
        .unwrap();
    picture(camera.path(), "newest.jpg", 3_000);
    let said = shop.line("photo 2 pack label").ok();
    assert!(
        said.contains("newest picture: ") && said.contains("newest.jpg"),
        "{said}"
    );
    assert_eq!(shop.json("photo 2")[0]["bytes"], 3_000);
}

#[test]
fn photos_go_wherever_the_shop_goes_and_a_lost_one_is_missed() {
    let shop = Shop::with_demo_jobs();
    let place = tempfile::tempdir().unwrap();
    let sound = |folder: &Path| {
        // Served for one question, by a daemon of its own.
        let answer = run_in(folder, ["verify", "--json"]).ok();
        run_in(folder, ["daemon", "stop"]).ok();
        answer.contains("\"sound\":true")
    };
    for (name, words) in [("a.jpg", "dropout left"), ("b.jpg", "dropout right")] {
        let path = picture(place.path(), name, 40_000);
        shop.line(&format!("photo 2 {words} {}", path.display())).ok();
    }
    // One that was taken back is part of the history all the same.
    shop.line("undo 2").ok();
    let backups = place.path().join("stick");
    let said = shop.line(&format!("backup --to {}", backups.display())).ok();
    assert!(said.contains("with 2 photos"), "{said}");
    let restored = place.path().join("restored");
    let said = shop
        .line(&format!(
            "restore {} --to {}",
            backups.display(),
            restored.display()
        ))
        .ok();
    assert!(said.contains("with 2 photos"), "{said}");
    let (open, made) = (place.path().join("open"), place.path().join("made"));
    shop.line(&format!("export --to {}", open.display())).ok();
    shop.line(&format!("import {} --to {}", open.display(), made.display()))
        .ok();
    for folder in [&restored, &made] {
        run_in(folder, ["daemon", "start"]).ok();
        assert!(sound(folder), "{}", folder.display());
    }

    let mut files = kept_files(&shop.folder());
    files.sort();
    fs::remove_file(&files[0]).unwrap();
    fs::write(&files[1], b"\xff\xd8\xff something else").unwrap();
    let problems = shop.line("verify").fails(12);
    assert!(
        problems.contains("is missing") && problems.contains("is not what was kept"),
        "{problems}"
    );
    // The history still goes into the backup, which says what it lacks.
    let fresh = place.path().join("fresh");
    let said = shop.line(&format!("backup --to {}", fresh.display())).ok();
    assert!(said.contains("without: "), "{said}");
    // The old stick still has them: what it had is not replaced by what is broken.
    let said = shop.line(&format!("backup --to {}", backups.display())).ok();
    assert!(said.contains("with 2 photos"), "{said}");
}

#[test]
fn a_photo_stands_beside_the_check_it_is_for_and_changes_no_verdict() {
    let shop = Shop::with_demo_jobs();
    let place = tempfile::tempdir().unwrap();
    let path = picture(place.path(), "weld.jpg", 2000);
    let verdict = |shop: &Shop| shop.json("explain 2 frame.soundness")[0]["verdict"].clone();
    let before = verdict(&shop);
    let shown = path.display().to_string();
    let odd = shop
        .line(&format!("photo 2 weld {shown} --for frame.soundnes"))
        .fails(6);
    assert!(odd.contains("frame.soundness"), "{odd}");
    assert!(
        kept_files(&shop.folder()).is_empty(),
        "a refused photo leaves no file"
    );
    let said = shop
        .line(&format!("photo 2 weld from below {shown} --for frame.soundness"))
        .ok();
    assert!(said.contains(", for frame.soundness"), "{said}");
    assert_eq!(kept_files(&shop.folder()).len(), 1);
    let explained = shop.line("explain 2 frame.soundness").ok();
    assert!(
        explained.contains("evidence: photo 1: weld from below (K, "),
        "{explained}"
    );
    let fit = shop.line("fit 2").ok();
    assert!(fit.contains("(photo 1)"), "{fit}");
    let evidence = shop.json("explain 2 frame.soundness")[0]["evidence"].clone();
    assert_eq!(evidence[0]["caption"], "weld from below");
    assert_eq!(verdict(&shop), before);
    // It goes with its entry, and so does what stood beside the check.
    shop.line("undo 2").ok();
    assert!(
        !shop
            .line("explain 2 frame.soundness")
            .ok()
            .contains("evidence: photo")
    );
    assert_eq!(shop.json("verify")[0]["sound"], true);
}

#[test]
fn a_photo_of_a_job_that_is_not_there_leaves_no_file() {
    let shop = Shop::with_demo_jobs();
    let place = tempfile::tempdir().unwrap();
    let path = picture(place.path(), "left.jpg", 2000);
    shop.line(&format!("photo 9 left {}", path.display())).fails(7);
    assert!(kept_files(&shop.folder()).is_empty());
    // The same request twice gets the same answer, and one file.
    let line = format!("--request-id once photo 2 left {}", path.display());
    let (first, second) = (shop.line(&line).ok(), shop.line(&line).ok());
    assert!(
        second.contains("stored before") && second.contains("photo 1") && first.contains("photo 1"),
        "{second}"
    );
    assert_eq!(kept_files(&shop.folder()).len(), 1);
}
