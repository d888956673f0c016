//! `pack.papers`: papers of the pack on file, and the pack whole.
//!
//! What is on file is told in words, a clause for each paper. A clause is one paper: a report of the
//! transport tests is no report on the pack, which it does not prove safe in use or charging.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction;
use crate::receipt::Receipt;
use crate::ride_class::RideClass;
use crate::stage::Stage;

/// Standards a report on a pack may be by: the number papers are known by, and its name.
const STANDARDS: [(&str, &str); 5] = [
    ("50604", "EN 50604-1"),
    ("62133", "IEC 62133-2"),
    ("2271", "UL 2271"),
    ("2849", "UL 2849"),
    ("15194", "EN 15194"),
];
/// Words by which a clause names a report where it gives no standard.
const REPORT: [&str; 6] = [
    "report",
    "reports",
    "certificate",
    "certificates",
    "certified",
    "certification",
];
/// The paper of the transport tests.
const TRANSPORT: &str = "transport test summary (UN 38.3)";
/// What a report may be on instead of the pack.
const ANOTHER: [&str; 5] = ["cell", "cells", "charger", "motor", "controller"];
/// What a report on the pack calls it.
const PACK: [&str; 2] = ["pack", "battery"];
/// Words that say nothing of a paper.
const FILLING: [&str; 8] = ["the", "a", "an", "its", "of", "for", "on", "with"];
/// Words that say a paper is not there.
const LACKING: [&str; 8] = [
    "no", "not", "none", "without", "missing", "lacking", "awaited", "pending",
];

/// No pack is connected without papers, and none that is damaged.
pub static CHECK: Check = Check {
    id: "pack.papers",
    title: "transport summary and pack report on file, pack undamaged",
    gates: &[Stage::Parts],
    family: Family::Law,
    version: 5,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "UN Manual of Tests and Criteria, 38.3.5 (test summary), from memory; report on the pack: EN \
             15194:2017+A1:2023 (EN 50604-1), California HSC 26300 ff and New York GBS 495-a (UL 2849, UL 2271 or EN \
             15194), elsewhere common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    case.part(Slot::Pack)?;
    let class = prediction::ride_class(case)?;
    let Some(receipt) = prediction::receipt(case, Slot::Pack) else {
        return Err(Halt::Open(vec![Missing {
            what: format!(
                "papers of the pack, a {TRANSPORT} and a report{}, and whether it is damaged",
                asked(class).map_or_else(String::new, |asked| format!(" by {asked}"))
            ),
            how: format!("{} --damage …", how(case)),
        }]));
    };
    let papers = receipt.papers.as_deref().unwrap_or_default();
    Ok(vec![
        transport(case, papers),
        report(case, class, papers),
        whole(case, receipt),
    ])
}

/// One paper of those on file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Paper {
    /// The summary of the transport tests.
    Transport,
    /// A report on the pack by a standard, by its number.
    By(&'static str),
    /// A report on the pack that names no standard.
    Report,
}

/// The papers that are on file, a clause each; what is said to be lacking is not.
fn on_file(papers: &str) -> Vec<Paper> {
    clauses(papers)
        .iter()
        .filter_map(|clause| paper(clause))
        .collect()
}

/// A clause for each paper. A list of what a paper is on goes on over its commas.
fn clauses(papers: &str) -> Vec<String> {
    let papers = papers
        .to_lowercase()
        .replace("38,3", "38.3")
        .replace(" and ", ",")
        .replace(" & ", ",")
        .replace(" + ", ",");
    let mut clauses: Vec<String> = Vec::new();
    for clause in papers.split([',', ';', '\n']) {
        match clauses.last_mut() {
            Some(last) if names_a_subject(last) && is_only_subjects(clause) => {
                last.push(',');
                last.push_str(clause);
            }
            _ => clauses.push(clause.to_owned()),
        }
    }
    clauses
}

fn names_a_subject(clause: &str) -> bool {
    words(clause).any(|word| ANOTHER.contains(&word) || PACK.contains(&word))
}

/// Whether a clause names what a paper is on and no paper of its own.
fn is_only_subjects(clause: &str) -> bool {
    let known = |word: &str| {
        [&ANOTHER[..], &PACK, &LACKING, &FILLING]
            .iter()
            .any(|known| known.contains(&word))
    };
    names_a_subject(clause) && words(clause).all(known)
}

fn words(clause: &str) -> impl Iterator<Item = &str> {
    let all = clause.split(|letter: char| !letter.is_alphanumeric());
    all.filter(|word| !word.is_empty())
}

fn paper(clause: &str) -> Option<Paper> {
    let words: Vec<&str> = words(clause).collect();
    let says = |known: &[&str]| words.iter().any(|word| known.contains(word));
    if is_lacking(&words) {
        return None;
    }
    if is_on_transport(clause) {
        return Some(Paper::Transport);
    }
    if says(&ANOTHER) && !says(&PACK) {
        return None;
    }
    match standard(&words) {
        Some(number) => Some(Paper::By(number)),
        None if says(&REPORT) => Some(Paper::Report),
        None => None,
    }
}

fn is_on_transport(clause: &str) -> bool {
    clause.contains("38.3") || clause.contains("transport")
}

/// The standard that a clause names, by its number.
fn standard(words: &[&str]) -> Option<&'static str> {
    let number = |word: &&str| word.trim_start_matches(char::is_alphabetic).to_owned();
    let numbers: Vec<String> = words.iter().map(number).collect();
    let known = STANDARDS
        .iter()
        .find(|(number, _)| numbers.iter().any(|known| known == number));
    known.map(|(number, _)| *number)
}

/// Whether a clause says that its paper is not there. A "no" between a paper and a figure is its number.
fn is_lacking(words: &[&str]) -> bool {
    let is_number = |at: usize| {
        let begins = |word: &&&str| word.starts_with(|letter: char| letter.is_ascii_digit());
        let follows = words[at + 1..].iter().find(|word| !word.is_empty());
        let is_paper = |word: &str| word == "summary" || REPORT.contains(&word);
        at > 0 && is_paper(words[at - 1]) && follows.is_some_and(|word| begins(&word))
    };
    let lacks = |(at, word): (usize, &&str)| LACKING.contains(word) && !(*word == "no" && is_number(at));
    words.iter().enumerate().any(lacks)
}

fn transport(case: &Case<'_>, papers: &str) -> Finding {
    let paper = TRANSPORT;
    if on_file(papers).contains(&Paper::Transport) {
        return Finding::new(Verdict::Pass, format!("{paper} on file: {papers}"));
    }
    lacking(case, &format!("no {paper} among"), papers)
}

fn report(case: &Case<'_>, class: &RideClass, papers: &str) -> Finding {
    let found = on_file(papers);
    let accepted = match class.pack_standards {
        [] => found.iter().any(|paper| *paper != Paper::Transport),
        asked => asked.iter().any(|number| found.contains(&Paper::By(number))),
    };
    if accepted {
        let line = format!("report on the pack on file: {papers}");
        let more = class.set_standard.filter(|number| !of_set_are_by(papers, number));
        return match more {
            None => Finding::new(Verdict::Pass, line),
            Some(number) => Finding::new(
                Verdict::Pass,
                format!(
                    "{line}; {} asks for more than the pack's, {} for the whole electrical system: see class.power",
                    class.id,
                    name(number)
                ),
            ),
        };
    }
    let asked = asked(class).map_or_else(String::new, |asked| format!(" by {asked}, as {} asks,", class.id));
    let finding = lacking(case, &format!("no report on the pack{asked} among"), papers);
    if found.contains(&Paper::Report) {
        return finding.with_remedy(
            "a report is on file that names no standard: read off it which one it is by, and file that",
        );
    }
    finding
}

/// Whether a report by a standard for a whole set is among papers. It is on motor, controller and charger as on the pack, and
/// may name any of them.
pub(crate) fn of_set_are_by(papers: &str, number: &'static str) -> bool {
    clauses(papers).iter().any(|clause| {
        let words: Vec<&str> = words(clause).collect();
        !is_lacking(&words) && !is_on_transport(clause) && standard(&words) == Some(number)
    })
}

/// What is missing among the papers of a pack whatever class it will be in, for one that no job has yet.
pub(crate) fn lacking_anywhere(papers: &str) -> Vec<&'static str> {
    let found = on_file(papers);
    let transport = !found.contains(&Paper::Transport);
    let report = found.iter().all(|paper| *paper == Paper::Transport);
    [
        (transport, TRANSPORT),
        (report, "report on the pack by a standard"),
    ]
    .into_iter()
    .filter_map(|(lacks, paper)| lacks.then_some(paper))
    .collect()
}

/// The standards of which a class asks one, in words.
fn asked(class: &RideClass) -> Option<String> {
    let names: Vec<&str> = class.pack_standards.iter().copied().map(name).collect();
    match names.as_slice() {
        [] => None,
        [only] => Some((*only).to_owned()),
        [first @ .., last] => Some(format!("{} or {last}", first.join(", "))),
    }
}

/// The name of a standard, by its number.
pub(crate) fn name(number: &'static str) -> &'static str {
    let known = STANDARDS.iter().find(|(known, _)| *known == number);
    known.map_or(number, |(_, name)| name)
}

fn lacking(case: &Case<'_>, what: &str, papers: &str) -> Finding {
    let on_file = if papers.is_empty() {
        "no papers on file"
    } else {
        papers
    };
    Finding::new(Verdict::Fail, format!("{what} the pack's papers: {on_file}"))
        .with_remedy(format!(
            "ask the supplier for it and file it, a comma after each paper: {}",
            how(case)
        ))
        .with_remedy("a pack without it goes back; it is not connected meanwhile")
}

fn whole(case: &Case<'_>, receipt: &Receipt) -> Finding {
    match receipt.damaged() {
        // That nobody told of damage does not say that anybody looked.
        None if receipt.damage.is_none() => case.lack_all(vec![Missing {
            what: "whether the pack is damaged: none, or what is seen".into(),
            how: format!("lockring receive {} pack --damage …", case.job().number),
        }]),
        None => Finding::new(Verdict::Pass, "no damage seen on the pack"),
        Some(damage) => Finding::new(Verdict::Fail, format!("the pack is damaged: {damage}"))
            .with_remedy("put it outdoors, away from anything that burns, and neither charge nor ship it")
            .with_remedy(format!(
                "another pack, once this one went back (lockring return {job} pack --why damaged): lockring order {job} pack \
                 --from SUPPLIER --due DAY",
                job = case.job().number
            )),
    }
}

fn how(case: &Case<'_>) -> String {
    format!("lockring receive {} pack --papers …", case.job().number)
}

#[cfg(test)]
mod tests;
