//! Documents and pictures of the demo's jobs: whole, self-contained, and with the same figures as
//! the answers they are made of.

use std::collections::HashMap;
use std::path::PathBuf;

use serde_json::Value;

use crate::support::{LOCKRING, Shop, clean};

mod figures;
mod pages;

const KINDS: [&str; 6] = ["card", "ride", "quote", "build", "handover", "file"];

/// The shop and a folder to print into.
struct Desk {
    shop: Shop,
    papers: tempfile::TempDir,
}

impl Desk {
    fn new(shop: Shop) -> Self {
        let papers = tempfile::TempDir::new().unwrap();
        Self { shop, papers }
    }

    /// Prints a file and gives its path.
    fn file(&self, line: &str, name: &str) -> PathBuf {
        let file = self.papers.path().join(name);
        let path = file.to_str().unwrap();
        self.shop.line(&format!("{line} --out {path}")).ok();
        file
    }

    /// Prints a document as page and as PDF, made once.
    fn both(&self, kind: &str, job: u32) -> (String, Vec<u8>) {
        let mut print = clean(LOCKRING);
        let printed = print
            .current_dir(self.papers.path())
            .env("LOCKRING_DIR", self.shop.folder())
            .args(["print", kind, &job.to_string()]);
        let printed = printed.output().unwrap();
        let said = String::from_utf8_lossy(&printed.stderr);
        assert!(printed.status.success(), "{kind} {job}: {said}");
        let name = |ending: &str| self.papers.path().join(format!("lockring-{kind}-{job}.{ending}"));
        (
            std::fs::read_to_string(name("html")).unwrap(),
            std::fs::read(name("pdf")).unwrap(),
        )
    }

    fn text(&self, line: &str, name: &str) -> String {
        std::fs::read_to_string(self.file(line, name)).unwrap()
    }
}

/// The page's words: without its style, its tags and its entities.
fn words_of(page: &str) -> String {
    let body = page.split("<body>").nth(1).unwrap();
    let mut words = String::new();
    for piece in body.split('<').skip(1) {
        words.push(' ');
        words.push_str(piece.split_once('>').map_or("", |(_, text)| text));
    }
    let words = words
        .replace("&#60;", "<")
        .replace("&#62;", ">")
        .replace("&#34;", "\"")
        .replace("&#39;", "'")
        .replace("&#38;", "&")
        .replace("&amp;", "&");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A PDF says of itself that it is tagged and written to be kept: PDF/UA-1 and PDF/A-2a, in the words of their
/// schemas (ISO 14289-1:2014, 5; ISO 19005-2:2011, 6.6.4).
fn assert_marked(pdf: &[u8], what: &str) {
    let has = |words: &str| pdf.windows(words.len()).any(|at| at == words.as_bytes());
    for words in ["pdfuaid:part", "pdfaid:part", "/StructTreeRoot", "/MarkInfo"] {
        assert!(has(words), "{what} lacks {words}");
    }
}

/// Nothing is fetched and nothing runs.
fn assert_self_contained(page: &str, what: &str) {
    assert!(
        page.starts_with("<!doctype html>") && page.trim_end().ends_with("</html>"),
        "{what}"
    );
    for word in [
        "<script",
        "<link",
        "<img",
        "<iframe",
        "http:",
        "https:",
        "url(",
        "@import",
        "javascript:",
    ] {
        let found = page.replace("http://www.w3.org/2000/svg", "").contains(word);
        assert!(!found, "{what} holds `{word}`");
    }
}

#[test]
fn every_document_of_the_demo_is_a_whole_page_and_a_pdf_with_the_figures_of_the_answers() {
    let desk = Desk::new(Shop::after_the_demo());
    desk.shop.line("settings set currency EUR").ok();
    for job in 1..=3 {
        let mut words = HashMap::new();
        for kind in KINDS {
            if job == 1 && kind == "quote" {
                // It was handed over.
                let refused = desk.shop.line("print quote 1").fails(9);
                assert!(refused.contains("nothing left to quote"), "{refused}");
                continue;
            }
            let (page, pdf) = desk.both(kind, job);
            assert_self_contained(&page, &format!("{kind} {job}"));
            assert!(pdf.starts_with(b"%PDF-") && pdf.len() > 5_000, "{kind} {job}");
            assert_marked(&pdf, &format!("{kind} {job}"));
            words.insert(kind, words_of(&page));
        }
        every_value_is_in_the_file(&desk, job, &words["file"]);
        figures::of_the_file(&desk, job, &words["file"]);
        figures::of_the_ride_sheet(&desk, job, &words["ride"]);
        if job == 2 {
            what_was_ridden_is_in_the_handover(&desk, &words["handover"]);
            figures::of_the_handover(&desk, job, &words["handover"]);
            figures::of_card_and_build_sheet(&desk, job, &words["card"], &words["build"]);
            figures::of_the_quote(&desk, job, &words["quote"]);
            cautions_go_to_whom_they_speak(&desk, &words);
        }
    }
    figures::of_the_reports(&desk);
    figures::of_the_recall(&desk);
    figures::of_the_invoice(&desk);
    photos_are_in_the_technical_file(&desk);
    every_cog_is_drawn_where_it_was_measured(&desk);
    for kind in ["hills", "road", "range", "runs", "stops", "compare"] {
        let svg = desk.text(&format!("picture {kind} 2"), "picture.svg");
        assert!(svg.starts_with("<svg") && svg.contains("aria-label="), "{kind}");
        let png = std::fs::read(desk.file(&format!("picture {kind} 2"), "picture.png")).unwrap();
        assert!(png.starts_with(b"\x89PNG"), "{kind}");
    }
    for kind in ["evening", "week"] {
        let page = desk.text(&format!("print {kind} --on 2026-03-25"), "page.html");
        assert_self_contained(&page, kind);
        let told = &desk.shop.json(&format!(
            "report {} --on 2026-03-25",
            if kind == "week" { "week" } else { "day" }
        ))[0];
        let words = words_of(&page);
        for section in told["sections"].as_array().unwrap() {
            for row in section["rows"].as_array().unwrap() {
                for cell in row["cells"].as_array().unwrap() {
                    let cell = cell
                        .as_str()
                        .unwrap()
                        .split_whitespace()
                        .collect::<Vec<_>>()
                        .join(" ");
                    assert!(words.contains(&cell), "{kind} lacks `{cell}`");
                }
            }
        }
    }
}

/// The technical file shows every value and every figure of every gate, and its data are the
/// answers themselves.
fn every_value_is_in_the_file(desk: &Desk, job: u32, words: &str) {
    let view = &desk.shop.json(&format!("show {job}"))[0];
    let mut seen = 0;
    for fact in view["facts"].as_array().unwrap() {
        let shown = format!(
            "{} {}",
            fact["name"].as_str().unwrap(),
            fact["value"].as_str().unwrap()
        );
        let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(&shown), "job {job}: `{shown}` is not in its file");
        seen += 1;
    }
    assert!(seen > 40, "{seen}");
    // Printed anew: the shop's sweep may have opened a block since the page.
    let data = desk.text(&format!("print file {job}"), "file.json");
    let data: Value = serde_json::from_str(&data).unwrap();
    assert_eq!(data["job"], desk.shop.json(&format!("show {job}"))[0]);
    for gate in data["gates"].as_array().unwrap() {
        for report in gate["checks"].as_array().unwrap() {
            if report["verdict"] == "not applicable" {
                continue;
            }
            for step in report["findings"].as_array().unwrap().iter().flat_map(|finding| {
                finding["arithmetic"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|step| step.as_str().unwrap())
            }) {
                let step = step.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(words.contains(&step), "job {job}: `{step}` is not in its file");
            }
        }
    }
}

fn what_was_ridden_is_in_the_handover(desk: &Desk, words: &str) {
    let view = &desk.shop.json("show 2")[0];
    let ridden = view["facts"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|fact| fact["group"] == "ride");
    let mut seen = 0;
    for fact in ridden {
        assert!(words.contains(fact["value"].as_str().unwrap()), "{fact}");
        seen += 1;
    }
    assert!(seen > 10, "{seen}");
    for line in ["before each ride", "each 1,000 km"] {
        assert!(words.contains(line), "{line}");
    }
    for word in [" is certified", " is legal", " is safe"] {
        assert!(!words.contains(word), "the handover says `{word}`");
    }
}

/// Advice goes to the rider, orders to the shop; the file holds both, each under its head.
fn cautions_go_to_whom_they_speak(desk: &Desk, words: &HashMap<&str, String>) {
    let data = std::fs::read_to_string(desk.papers.path().join("lockring-file-2.json")).unwrap();
    let data: Value = serde_json::from_str(&data).unwrap();
    let (rider, shop, card) = (&words["handover"], &words["build"], &words["card"]);
    let file = &words["file"];
    let (orders, advice) = file
        .split_once("cautions: orders to the workshop")
        .unwrap()
        .1
        .split_once("cautions: advice to whoever rides and keeps it")
        .unwrap();
    let mut seen = [0, 0];
    for caution in data["companions"]["cautions"].as_array().unwrap() {
        let text = caution["text"].as_str().unwrap();
        let to = |who: &str| caution["audience"] == who || caution["audience"] == "both";
        assert_eq!(rider.contains(text), to("rider"), "handover: {text}");
        assert_eq!(advice.contains(text), to("rider"), "file, advice: {text}");
        assert_eq!(orders.contains(text), to("shop"), "file, orders: {text}");
        if ["intake", "parts", "fitting", "electrical", "handover"]
            .contains(&caution["when"].as_str().unwrap())
        {
            assert_eq!(shop.contains(text), to("shop"), "build: {text}");
        }
        if caution["when"] == "test_ride" {
            assert_eq!(words["ride"].contains(text), to("shop"), "ride: {text}");
        }
        if caution["when"] == "electrical" {
            assert_eq!(
                card.contains(text),
                to("shop") && caution["severity"] == "stop",
                "card: {text}"
            );
        }
        seen[usize::from(to("rider"))] += 1;
    }
    assert!(seen[0] > 20 && seen[1] > 10, "{seen:?}");
}

/// A real picture is shown, one that cannot be read is told with its mark.
fn photos_are_in_the_technical_file(desk: &Desk) {
    let drawn = desk.file("picture chainline 2", "chainline.png");
    let broken = desk.papers.path().join("broken.jpg");
    std::fs::write(&broken, b"\xff\xd8\xff\xe0 and nothing of a picture").unwrap();
    desk.shop
        .line(&format!("photo 2 line from above {}", drawn.display()))
        .ok();
    desk.shop
        .line(&format!("photo 2 torn <b>label</b> {}", broken.display()))
        .ok();
    let page = desk.text("print file 2", "photos.html");
    assert_self_contained(&page, "file with photos");
    assert_eq!(page.matches("data:image/jpeg;base64,").count(), 1);
    let words = words_of(&page);
    assert!(words.contains("Photo 1: line from above"), "{words}");
    assert!(
        words.contains("Photo 2: torn <b>label</b>; the photo cannot be shown"),
        "{words}"
    );
    let told = &desk.shop.json("photo 2")[1];
    assert!(words.contains(told["sha256"].as_str().unwrap()));
    let data: Value = serde_json::from_str(&desk.text("print file 2", "photos.json")).unwrap();
    assert_eq!(&data["photos"][1], told);
    let without = std::fs::read(desk.file("print file 3", "file.pdf")).unwrap();
    let pdf = std::fs::read(desk.file("print file 2", "photos.pdf")).unwrap();
    let images = |pdf: &[u8]| pdf.windows(14).filter(|at| at == b"/Subtype/Image").count();
    assert_eq!((images(&without), images(&pdf)), (0, 1));
}

/// Positions parsed back from the drawing equal the measured ones to 0.1 mm.
fn every_cog_is_drawn_where_it_was_measured(desk: &Desk) {
    let svg = desk.text("picture chainline 2", "chainline.svg");
    let told = &desk.shop.json("chainline 2")[0];
    let number = |text: &str, key: &str| -> f64 {
        let rest = &text[text.find(key).unwrap() + key.len()..];
        rest.split('"').next().unwrap().parse().unwrap()
    };
    let across = number(&svg, "data-across=\"");
    let middle = |piece: &str| number(piece, " y=\"") + number(piece, "height=\"") / 2.0;
    let ring = middle(svg.split("class=\"ring\"").nth(1).unwrap());
    let cogs: Vec<&str> = svg.split("class=\"cog\"").skip(1).collect();
    let measured = told["cogs"].as_array().unwrap();
    assert_eq!(cogs.len(), measured.len());
    for (piece, cog) in cogs.iter().zip(measured) {
        let outboard = (ring - middle(piece)) / across + told["front_mm"].as_f64().unwrap();
        let line = cog["line_mm"].as_f64().unwrap();
        assert!((outboard - line).abs() < 0.1, "{outboard} {cog}");
    }
}

#[test]
fn hostile_words_neither_break_nor_inject_anything() {
    let desk = Desk::new(Shop::open());
    let hostile = "<script>alert(1)</script><b onclick=x>\u{202e}gnirts\u{202c} \u{1f6b2} & \"quoted\" 'too' {{7*7}} \u{7}\u{200f}end";
    let long = "wide".repeat(1000);
    desk.shop.run(["take-in", "Ines <b>bold</b> & Co"]).ok();
    desk.shop.run(["note", "1", hostile]).ok();
    desk.shop.run(["note", "1", &long]).ok();
    desk.shop
        .run(["block", "1", "rider", hostile, "--clears", hostile])
        .ok();
    let lines = [
        "print file 1",
        "print card 1",
        "print build 1",
        "print handover 1",
        "print evening",
    ];
    for line in lines {
        let page = desk.text(line, "page.html");
        let body = page.split("<body>").nth(1).unwrap();
        for word in [
            "<script",
            "<b onclick",
            "<b>bold",
            "\u{202e}",
            "\u{200f}",
            "\u{7}",
        ] {
            assert!(!body.contains(word), "{line} holds {word:?}");
        }
        let pdf = std::fs::read(desk.file(line, "page.pdf")).unwrap();
        assert!(pdf.starts_with(b"%PDF-"), "{line}");
        assert_marked(&pdf, line);
    }
    let words = words_of(&desk.text("print file 1", "page.html"));
    assert!(
        ["<script>alert(1)</script>", "{{7*7}}", &long]
            .iter()
            .all(|kept| words.contains(*kept)),
        "the words themselves are kept"
    );
}

#[test]
fn what_cannot_be_printed_says_what_could() {
    let desk = Desk::new(Shop::with_demo_jobs());
    let out = desk.papers.path().join("card.docx");
    let told = desk
        .shop
        .line(&format!("print card 1 --out {}", out.display()))
        .fails(2);
    assert!(told.contains(".html") && told.contains(".pdf"), "{told}");
    assert!(!out.exists());
    assert!(
        desk.shop
            .line("print card")
            .fails(2)
            .contains("lockring print card 21")
    );
    assert!(desk.shop.line("print evening 3").fails(2).contains("whole shop"));
    desk.shop.line("print card 9").fails(7);
    desk.shop.line("print quote 1 --builds 99 --out q.pdf").fails(7);
    let told = desk.shop.line("picture runs 1 --out runs.svg").fails(9);
    assert!(told.contains("nothing to draw"), "{told}");
    desk.shop.line("picture hills 1 --out hills.gif").fails(2);
    let nowhere = desk.papers.path().join("nowhere").join("card.pdf");
    let told = desk
        .shop
        .line(&format!("print card 1 --out {}", nowhere.display()));
    assert!(
        told.code != 0 && told.err.contains("cannot be written"),
        "{told:?}"
    );
}
