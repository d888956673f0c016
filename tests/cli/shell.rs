//! Completions, man pages and the diagnosis.

use crate::support::{LOCKRING, Shop, clean};

#[test]
fn completions_and_man_pages_go_where_the_shells_look() {
    let home = tempfile::tempdir().unwrap();
    let output = clean(LOCKRING)
        .env("HOME", home.path())
        .arg("setup-shell")
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    for (file, part) in [
        (".local/share/bash-completion/completions/lockring", "measure"),
        (".local/share/zsh/site-functions/_lockring", "#compdef lockring"),
        (".config/fish/completions/lockring.fish", "complete -c lockring"),
        (".local/share/man/man1/lockring.1", "lockring"),
        (
            ".local/share/man/man1/lockring-measure.1",
            "lockring measure 21 chainline",
        ),
    ] {
        let text =
            std::fs::read_to_string(home.path().join(file)).unwrap_or_else(|error| panic!("{file}: {error}"));
        assert!(text.replace('\\', "").contains(part), "{part} in {file}:\n{text}");
    }
    // What bash reads, bash must be able to read.
    let script = home
        .path()
        .join(".local/share/bash-completion/completions/lockring");
    let bash = std::process::Command::new("bash").arg("-n").arg(&script).status();
    if let Ok(status) = bash {
        assert!(status.success());
    }
}

#[test]
fn the_diagnosis_answers_with_and_without_a_daemon() {
    let mut shop = Shop::open();
    let told = shop.line("doctor").ok();
    for part in [
        "lockring: 0.1.0",
        "+ lockringd: lockringd 0.1.0",
        "+ daemon: 0.1.0, schema",
        "! last backup: never",
    ] {
        assert!(told.contains(part), "{part} in\n{told}");
    }
    assert!(
        told.lines()
            .all(|line| line.chars().count() <= 80 || !line.contains(' ')),
        "{told}"
    );
    assert!(shop.json("doctor").len() > 8);
    shop.kill();
    let told = shop.line("doctor").ok();
    assert!(told.contains("! daemon: does not answer"), "{told}");
}
