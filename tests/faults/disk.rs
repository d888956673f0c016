//! Disks that are full, read-only or fail: what was answered stays, and the daemon says what
//! is wrong.
//!
//! A full or read-only disk is a small file system of its own in a name space of its own
//! (`unshare`); where the system forbids that, the test says so and ends. A write that fails
//! is played with a limit on the length of files, whose signal is ignored so that the write
//! gets an error.

use std::process::{Command, Output};

use crate::support::{LOCKRING, LOCKRINGD, Shop, clean, ends};

/// Functions for the scripts below: `shop` is the command line, `serve` begins a daemon and
/// waits for it, `fill` makes notes until one fails and says how many were answered.
const PREAMBLE: &str = r#"
shop() { "$LOCKRING" --dir "$DIR" "$@"; }
serve() {
    "$LOCKRINGD" --dir "$DIR" 2>>"$LOG" & daemon=$!
    turns=0
    until shop daemon status >/dev/null 2>&1; do
        turns=$((turns + 1)); [ $turns -lt 600 ] || { echo "does not serve"; cat "$LOG"; exit 1; }
        sleep 0.05
    done
}
fill() {
    answered=0
    while [ $answered -lt 3000 ]; do
        code=0; shop note 1 "answered $answered $LONG" >/dev/null 2>"$LOG.err" || code=$?
        [ $code = 0 ] || break
        answered=$((answered + 1))
    done
    echo "failed with $code after $answered"
}
LONG=$(printf '%0900d' 0)
"#;

/// Runs a script with the programs and a folder for data and log.
fn script(shell: &[&str], folder: &std::path::Path, text: &str) -> String {
    let data = folder.join("data");
    std::fs::create_dir_all(&data).unwrap();
    let output: Output = clean(shell[0])
        .args(&shell[1..])
        .arg(format!("{PREAMBLE}{text}"))
        .env("LOCKRING", LOCKRING)
        .env("LOCKRINGD", LOCKRINGD)
        .env("DIR", &data)
        .env("LOG", folder.join("log"))
        .output()
        .unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{out}{err}");
    out
}

fn may_make_file_systems() -> bool {
    let tried = Command::new("unshare").args(["-rm", "true"]).status();
    let may = tried.is_ok_and(|status| status.success());
    if !may {
        eprintln!("not tried: the system lets nobody make a file system here");
    }
    may
}

const OWN: [&str; 4] = ["unshare", "-rm", "sh", "-ec"];

/// The number after a word in what a script said.
fn number_after(out: &str, word: &str) -> usize {
    let rest = out
        .split(word)
        .nth(1)
        .unwrap_or_else(|| panic!("no `{word}` in:\n{out}"));
    let digits: String = rest
        .trim_start()
        .chars()
        .take_while(char::is_ascii_digit)
        .collect();
    digits
        .parse()
        .unwrap_or_else(|_| panic!("no number after `{word}` in:\n{out}"))
}

#[test]
fn a_full_disk_is_said_loses_nothing_and_room_cures_it() {
    if !may_make_file_systems() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let out = script(
        &OWN,
        folder.path(),
        r#"
mount -t tmpfs -o size=4m,mode=700 none "$DIR"
serve
shop take-in Zoe >/dev/null
dd if=/dev/zero of="$DIR/ballast" bs=4k 2>/dev/null || true
truncate -s -400k "$DIR/ballast"
fill
cat "$LOG.err"
rm "$DIR/ballast"
shop note 1 "room again" >/dev/null && echo "cured"
echo "sound $(shop verify --json | grep -c '"sound":true')"
echo "notes $(shop history 1 --json | grep -c 'note: answered')"
shop daemon stop >/dev/null
dd if=/dev/zero of="$DIR/ballast" bs=4k 2>/dev/null || true
code=0; "$LOCKRINGD" --dir "$DIR" 2>"$LOG.err" || code=$?
echo "start $code"
truncate -s -100k "$DIR/ballast"
serve
echo "notes again $(shop history 1 --json | grep -c 'note: answered')"
code=0; shop backup >/dev/null 2>"$LOG.err" || code=$?
echo "backup $code"
ls -A "$DIR/backups"
shop daemon stop >/dev/null
"#,
    );
    assert_eq!(number_after(&out, "failed with"), 12, "{out}");
    assert!(out.contains("disk is full") && out.contains("make room"), "{out}");
    assert!(out.contains("cured"), "{out}");
    assert_eq!(number_after(&out, "sound"), 1, "{out}");
    let answered = number_after(&out, "after");
    assert!(answered > 0, "{out}");
    assert_eq!(number_after(&out, "notes"), answered, "{out}");
    assert_eq!(number_after(&out, "start"), 6, "{out}");
    assert_eq!(number_after(&out, "notes again"), answered, "{out}");
    assert_eq!(number_after(&out, "backup"), 12, "{out}");
    assert!(
        !out.contains("unfinished"),
        "a half backup was left behind:\n{out}"
    );
}

#[test]
fn a_read_only_disk_is_said_at_the_start_and_nothing_is_written() {
    if !may_make_file_systems() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let out = script(
        &OWN,
        folder.path(),
        r#"
mount -t tmpfs -o size=4m,mode=700 none "$DIR"
serve
shop take-in Zoe >/dev/null
shop daemon stop >/dev/null
before=$(cksum <"$DIR/lockring.db")
mount -o remount,ro "$DIR"
code=0; "$LOCKRINGD" --dir "$DIR" 2>"$LOG.err" || code=$?
echo "ended with $code"
cat "$LOG.err"
[ "$before" = "$(cksum <"$DIR/lockring.db")" ] && echo "untouched"
mount -o remount,rw "$DIR"
serve
echo "jobs $(shop jobs --json | wc -l)"
shop daemon stop >/dev/null
"#,
    );
    assert_eq!(number_after(&out, "ended with"), 6, "{out}");
    assert!(out.contains("Hint: ") && out.contains("untouched"), "{out}");
    assert_eq!(number_after(&out, "jobs"), 1, "{out}");
}

/// The log of the database may grow no further: every write fails from some moment on.
#[test]
fn a_write_that_fails_is_an_error_and_what_was_answered_is_there_after_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let out = script(
        &["sh", "-ec"],
        folder.path(),
        r#"
chmod 700 "$DIR"
limited=$(mktemp "$DIR/../limited.XXXXXX"); chmod 700 "$limited"
printf '#!/bin/sh\ntrap "" XFSZ\nulimit -f 1600\nexec "%s" "$@"\n' "$LOCKRINGD" >"$limited"
plain=$LOCKRINGD; LOCKRINGD=$limited
serve
shop take-in Zoe >/dev/null
fill
cat "$LOG.err"
shop jobs --json >/dev/null && echo "still reads"
kill -9 $daemon; wait $daemon || true
LOCKRINGD=$plain
serve
shop note 1 "goes on" >/dev/null && echo "goes on"
echo "sound $(shop verify --json | grep -c '"sound":true')"
echo "notes $(shop history 1 --json | grep -c 'note: answered')"
shop daemon stop >/dev/null
"#,
    );
    assert_eq!(number_after(&out, "failed with"), 12, "{out}");
    assert!(out.contains("disk failed") || out.contains("full"), "{out}");
    assert!(out.contains("still reads") && out.contains("goes on"), "{out}");
    let answered = number_after(&out, "after");
    assert!(answered > 10, "{out}");
    assert_eq!(number_after(&out, "notes"), answered, "{out}");
    assert_eq!(number_after(&out, "sound"), 1, "{out}");
}

/// Lengths at which a file may have been cut: in its header, at and between pages.
#[test]
fn a_data_file_cut_short_is_refused_at_the_start_explained_and_left_alone() {
    let mut shop = Shop::with_demo_jobs();
    shop.line("daemon stop").ok();
    shop.forget();
    let file = shop.folder().join("lockring.db");
    let whole = std::fs::read(&file).unwrap();
    for length in [
        0,
        50,
        99,
        100,
        4095,
        4096,
        whole.len() / 2,
        whole.len() - 4096,
        whole.len() - 1,
    ] {
        std::fs::write(&file, &whole[..length]).unwrap();
        let mut daemon = clean(LOCKRINGD);
        daemon.arg("--dir").arg(shop.folder());
        let output = ends(daemon);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(8), "{length} bytes: {said}");
        assert!(said.contains("lockring.db is damaged"), "{length} bytes: {said}");
        assert!(
            std::fs::read(&file).unwrap() == whole[..length],
            "{length} bytes: it was written to"
        );
    }
}
