//! Pages in a browser and PDFs in a reader, which a machine need not have: run with `--ignored`
//! where `chromium` and `pdftotext` (poppler) are. With `LOCKRING_AXE` naming the file `axe.min.js` of the npm
//! package `axe-core` every page is also looked at for what shuts readers out.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use super::{Desk, KINDS, words_of};
use crate::support::Shop;

/// The page with a script that says whether anything sticks out of the window, whether anything was fetched,
/// and what `axe` finds serious.
fn measured(page: &str, axe: Option<&str>) -> String {
    let axe = axe.map_or_else(String::new, |axe| {
        format!("<script>{}</script>", axe.replace("</script>", "<\\/script>"))
    });
    let script = "<script>addEventListener('load', async () => parent.postMessage(JSON.stringify({\
         barred: window.axe ? (await axe.run(document)).violations.filter(v => ['serious', 'critical'].includes(v.impact))\
         .map(v => v.id) : [], fetched: performance.getEntriesByType('resource').length, out: [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1 \
         && !e.closest('.scroll') && !e.closest('svg')).length, small: [...document.querySelectorAll('figure svg text')]\
         .filter(e => { const r = e.getBoundingClientRect(); return r.width > 0 && Math.min(r.width, r.height) < 8.5 }).map(e => e.textContent), wide: document.documentElement.scrollWidth, \
         window: innerWidth}), '*'))</script></body>";
    page.replace(
        "default-src 'none'; ",
        "default-src 'none'; script-src 'unsafe-inline'; ",
    )
    .replace("</body>", &(axe + script))
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('"', "&quot;")
}

#[test]
#[ignore = "needs chromium and pdftotext"]
fn nothing_sticks_out_of_a_telephone_or_a_sheet_and_pdfs_say_what_pages_say() {
    let desk = Desk::new(Shop::after_the_demo());
    let axe = std::env::var_os("LOCKRING_AXE").map(|path| std::fs::read_to_string(path).unwrap());
    let jobs = (1..=3).flat_map(|job| KINDS.map(|kind| format!("print {kind} {job}")));
    for line in jobs.chain([
        "print evening --on 2026-03-25".to_owned(),
        "print week --on 2026-03-25".to_owned(),
    ]) {
        let page = desk.text(&line, "page.html");
        for width in [390, 794] {
            let frame = desk.papers.path().join("frame.html");
            let around = format!(
                "<!doctype html><body><script>addEventListener('message', e => {{ const p = document.createElement('pre'); \
                 p.id = 'said'; p.textContent = e.data; document.body.append(p) }})</script>\
                 <iframe style=\"width:{width}px;height:900px;border:0\" srcdoc=\"{}\"></iframe>",
                escaped(&measured(&page, axe.as_deref()))
            );
            std::fs::write(&frame, around).unwrap();
            let shown = Command::new("chromium")
                .args([
                    "--headless",
                    "--no-sandbox",
                    "--disable-gpu",
                    "--window-size=900,1000",
                ])
                .args([
                    "--virtual-time-budget=20000",
                    "--dump-dom",
                    "--enable-logging=stderr",
                ])
                .arg(&frame)
                .output()
                .unwrap();
            let errors = String::from_utf8_lossy(&shown.stderr).into_owned();
            assert!(!errors.contains("CONSOLE"), "{line}: {errors}");
            let dom = String::from_utf8(shown.stdout).unwrap();
            let said = dom
                .split("<pre id=\"said\">")
                .nth(1)
                .unwrap()
                .split("</pre>")
                .next()
                .unwrap();
            let said: serde_json::Value = serde_json::from_str(said).unwrap();
            assert_eq!(said["out"], 0, "{line} at {width}: {said}");
            // Letters of a drawing are some 9 px high at least, on a telephone too.
            assert_eq!(said["small"], serde_json::json!([]), "{line} at {width}");
            assert_eq!(said["fetched"], 0, "{line} at {width}: {said}");
            assert_eq!(said["barred"], serde_json::json!([]), "{line} at {width}");
            assert!(
                said["wide"].as_u64() <= said["window"].as_u64(),
                "{line} at {width}: {said}"
            );
        }
        let pdf = desk.file(&line, "page.pdf");
        assert_is_tagged(&pdf, &line);
        let read = Command::new("pdftotext")
            .arg("-layout")
            .arg(&pdf)
            .arg("-")
            .output()
            .unwrap();
        let read: String = String::from_utf8(read.stdout).unwrap();
        // Lines break at other places on paper; the figures are the same.
        let printed: BTreeSet<String> = figures(&read).collect();
        let told = words_of(&as_on_paper(&page));
        let missing: Vec<String> = figures(&told).filter(|one| !printed.contains(one)).collect();
        assert_eq!(
            missing, [""; 0],
            "{line}: figures of the page that are not in the PDF"
        );
    }
}

/// Poppler finds headings, and a figure's words, in the structure of the file.
fn assert_is_tagged(pdf: &Path, what: &str) {
    let read = Command::new("pdfinfo")
        .arg("-struct-text")
        .arg(pdf)
        .output()
        .unwrap();
    let read = String::from_utf8_lossy(&read.stdout).into_owned();
    assert!(read.contains("H1") && read.contains("H2"), "{what}: {read}");
    let tables = read.matches("Table").count();
    assert!(tables == 0 || read.contains("TH"), "{what}: a table has no heads");
}

/// The page without what telephones alone show: their axes have other numbers.
fn as_on_paper(page: &str) -> String {
    let mut pieces = page.split("<div class=\"slim\">");
    let mut kept = pieces.next().unwrap().to_owned();
    for piece in pieces {
        kept.push_str(piece.split_once("</svg>").unwrap().1);
    }
    kept
}

/// Numbers of a text.
fn figures(text: &str) -> impl Iterator<Item = String> {
    text.split(|sign: char| !(sign.is_ascii_digit() || sign == '.'))
        .map(|one| one.trim_matches('.').to_owned())
        .filter(|one| !one.is_empty())
}
