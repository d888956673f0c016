//! What goes with the finished bicycle.

use jiff::tz::TimeZone;
use lockring_proto::v1::{
    CheckReply, CompanionsReply, CompareRideReply, ForecastAnswer, JobView, PredictReply, RangeReply,
    SwapView,
};

use super::figures::{about, amount, figure_of, name};
use super::said::{To, cautions, headed};
use super::{NO_RULING, mark, told_at};
use crate::model::{Block, Caution, Column, Document, Sheet, Table, Type, Verdict};
use crate::picture;

/// The answers a handover pack is made of.
#[derive(Debug, Clone, Copy)]
pub struct Handover<'a> {
    /// The job.
    pub view: &'a JobView,
    /// Every gate's checks.
    pub gates: &'a [CheckReply],
    /// Class and cautions.
    pub companions: &'a CompanionsReply,
    /// What was forecast; `None` where it cannot be.
    pub forecast: Option<&'a PredictReply>,
    /// How far the brief's road goes on a charge; `None` where it cannot be ridden.
    pub range: Option<&'a RangeReply>,
    /// Ridden against expected; `None` before a ride.
    pub compare: Option<&'a CompareRideReply>,
    /// The workshop as its papers name it; empty when it did not say.
    pub workshop: &'a str,
    /// The shop's money; empty when it did not say.
    pub currency: &'a str,
}

pub(super) fn title(view: &JobView) -> String {
    let line = view.line.clone().unwrap_or_default();
    let bike = if line.bike.is_empty() {
        String::new()
    } else {
        format!(": {}", line.bike)
    };
    format!("Job {}, {}{bike}", line.job, line.rider)
}

fn document(kind: &str, view: &JobView, blocks: Vec<Block>) -> Document {
    let job = view.line.as_ref().map_or(0, |line| line.job);
    Document {
        kind: kind.to_owned(),
        title: title(view),
        mark: Some(mark(job)),
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: NO_RULING.to_owned(),
        day: None,
    }
}

/// The parts as built, with serials and lots.
pub(super) fn parts(view: &JobView) -> Block {
    let differs = view.build.iter().any(|line| !line.differs.is_empty());
    let mut columns = ["place", "part", "serial", "lot"].map(Column::words).to_vec();
    columns.extend(differs.then(|| Column::words("found to differ")));
    let rows = view
        .build
        .iter()
        .map(|line| {
            let mut cells = vec![
                line.slot.clone(),
                format!("{} ({})", line.name, line.part),
                line.serial.clone(),
                line.lot.clone(),
            ];
            cells.extend(differs.then(|| line.differs.join("; ")));
            cells
        })
        .collect();
    Block::Table(Table { columns, rows })
}

/// The code whose value is money.
const PAID: &str = "paid";

/// Values of some groups; stale ones and those of another kind of bicycle are left out. How a value is known is said where it
/// was not measured; of money, whose it is.
fn values(view: &JobView, groups: &[&str], currency: &str) -> Block {
    Block::Pairs(
        view.facts
            .iter()
            .filter(|fact| groups.contains(&fact.group.as_str()) && fact.stale.is_empty() && !fact.beside)
            .map(|fact| {
                let known = match fact.provenance.as_str() {
                    "measured" => String::new(),
                    other => format!(" ({other})"),
                };
                let value = match fact.value.parse() {
                    Ok(paid) if fact.code == PAID => amount(paid, currency),
                    _ => fact.value.clone(),
                };
                (fact.name.clone(), format!("{value}{known}"))
            })
            .collect(),
    )
}

/// Concessions that stand, in plain words.
pub(super) fn concessions(view: &JobView) -> Vec<Block> {
    let stand: Vec<Block> = view
        .concessions
        .iter()
        .filter(|one| one.stands)
        .filter_map(|one| {
            let given = one.concession.as_ref()?;
            Some(Block::Text(format!(
                "{}. Accepted by {} because: {}",
                given.finding, given.by, given.why
            )))
        })
        .collect();
    if stand.is_empty() {
        return vec![Block::Text(
            "Nothing was accepted that a check did not pass.".to_owned(),
        )];
    }
    stand
}

/// When the bicycle was handed over; `None` while it is still the shop's.
fn over(view: &JobView) -> Option<i64> {
    let gate = view.gates.iter().find(|gate| gate.gate == "handover")?;
    (gate.state == "passed").then_some(gate.passed_us.unwrap_or_default())
}

/// What is settled while the bicycle is given over: signing does not wait for it.
const GIVEN_OVER: [&str; 2] = ["handover.signature", "handover.balance"];

/// What fails of the gates that are not passed, by its check and in its words. That nobody has signed yet is no fault
/// of what is to be signed.
fn failing<'a>(view: &JobView, gates: &'a [CheckReply]) -> Vec<(&'a str, String)> {
    let is_passed = |name: &str| {
        let mut passed = view.gates.iter().filter(|gate| gate.state == "passed");
        passed.any(|gate| gate.gate == name)
    };
    let reports = gates
        .iter()
        .filter(|gate| !is_passed(&gate.gate))
        .flat_map(|gate| &gate.checks)
        .filter(|report| report.verdict == "fail" && !report.holds && report.check != "handover.signature");
    let mut said: Vec<(&str, String)> = Vec::new();
    for report in reports {
        let findings = report.findings.iter().filter(|finding| finding.verdict == "fail");
        let words: Vec<&str> = findings.map(|finding| finding.summary.as_str()).collect();
        let line = (
            report.check.as_str(),
            format!("{}: {}", report.title, words.join("; ")),
        );
        if !said.contains(&line) {
            said.push(line);
        }
    }
    said
}

/// Said at the top while the bicycle is still the shop's.
fn unfinished(view: &JobView) -> Option<Block> {
    let line = view.line.clone().unwrap_or_default();
    over(view).is_none().then(|| {
        let blocks = match line.blocks {
            1 => ", 1 block".to_owned(),
            0 => String::new(),
            blocks => format!(", {blocks} blocks"),
        };
        Block::Caution(Caution::plain(format!(
            "Not handed over: at {}{blocks}.",
            line.stage
        )))
    })
}

/// Values under a heading; nothing where there are none.
fn section(title: &str, view: &JobView, groups: &[&str], currency: &str) -> Vec<Block> {
    match values(view, groups, currency) {
        Block::Pairs(pairs) if pairs.is_empty() => Vec::new(),
        values => vec![Block::Heading(title.to_owned()), values],
    }
}

/// The build sheet: parts, settings, torques, and what the shop is to do before it signs.
pub fn build_sheet(view: &JobView, companions: &CompanionsReply) -> Document {
    let mut blocks: Vec<Block> = unfinished(view).into_iter().collect();
    blocks.extend([Block::Heading("as built".to_owned()), parts(view)]);
    blocks.extend(section("measured and set", view, &["fitting"], ""));
    blocks.extend(section("torques", view, &["torque"], ""));
    blocks.push(Block::Heading("accepted by the owner".to_owned()));
    blocks.extend(concessions(view));
    let orders = cautions(companions, To::Shop, |caution| {
        ["intake", "parts", "fitting", "electrical", "handover"].contains(&caution.when.as_str())
    });
    blocks.extend(headed("orders to the workshop", orders));
    blocks.push(Block::Signatures(vec![
        "built by, date".to_owned(),
        "looked over by, date".to_owned(),
    ]));
    document("Build sheet", view, blocks)
}

/// The pack that the rider keeps; the day of handover is that of `zone`.
pub fn handover(given: Handover<'_>, zone: &TimeZone) -> Document {
    let Handover {
        view,
        gates,
        companions,
        forecast,
        range,
        compare,
        workshop,
        currency,
    } = given;
    let mut blocks: Vec<Block> = unfinished(view).into_iter().collect();
    let fails = failing(view, gates);
    // What is signed is a bicycle at its last gate of which nothing fails.
    let at_gate = view.line.as_ref().is_some_and(|line| line.stage == "handover");
    let is_whole = fails.iter().all(|(check, _)| GIVEN_OVER.contains(check))
        && view.recalls.is_empty()
        && view.blocks.iter().all(|block| !block.check.is_empty());
    let is_signed = over(view).is_some() || (at_gate && is_whole);
    let caution = |word: &str, text: String| {
        Block::Caution(Caution {
            word: word.to_owned(),
            text,
            source: String::new(),
        })
    };
    blocks.extend(
        view.recalls
            .iter()
            .map(|recall| caution("Recalled", recall.clone())),
    );
    blocks.extend(fails.into_iter().map(|(_, text)| caution("Fails", text)));
    let mut whose = Vec::new();
    whose.extend(over(view).map(|us| ("handed over on".to_owned(), told_at(us, zone, "%Y-%m-%d"))));
    if !workshop.is_empty() {
        whose.push(("workshop: who to call".to_owned(), workshop.to_owned()));
    }
    if !whose.is_empty() {
        blocks.push(Block::Pairs(whose));
    }
    blocks.extend(swapped(view, zone));
    blocks.extend([Block::Heading("your bicycle as built".to_owned()), parts(view)]);
    blocks.push(Block::Heading("ride class it was compared with".to_owned()));
    blocks.push(class(companions));
    blocks.extend(section("measured on the test ride", view, &["ride"], currency));
    blocks.push(measured(gates, currency));
    let pictures = [
        picture::runs(view, gates),
        picture::stops(gates),
        compare.and_then(picture::compared),
    ];
    blocks.extend(pictures.into_iter().flatten().map(Block::Picture));
    let answers = answers(forecast, range);
    if !answers.is_empty() {
        blocks.push(Block::Heading("what to expect".to_owned()));
        blocks.push(expected(&answers));
        let hills = forecast.and_then(picture::hills);
        blocks.extend(hills.map(Block::Picture));
    }
    blocks.extend(section(
        "settings and torques",
        view,
        &["fitting", "torque"],
        currency,
    ));
    blocks.push(Block::Heading("accepted by the owner".to_owned()));
    blocks.extend(concessions(view));
    blocks.extend(section("handed over", view, &["handover"], currency));
    blocks.push(Block::Heading("looking after it".to_owned()));
    blocks.push(Block::Text(
        "The maker's own schedule comes first; where it says nothing, common practice:".to_owned(),
    ));
    let care = companions.care.iter();
    blocks.push(Block::Pairs(
        care.map(|line| (line.every.clone(), line.what.clone())).collect(),
    ));
    let advice = cautions(companions, To::Rider, |_| true);
    blocks.extend(headed("for whoever rides and keeps it: to be read out", advice));
    if is_signed {
        blocks.push(Block::Signatures(vec![
            "rider, date".to_owned(),
            "for the workshop, date".to_owned(),
        ]));
    }
    let kind = match over(view) {
        None if !is_signed => "Handover, draft",
        _ => "Handover",
    };
    document(kind, view, blocks)
}

/// What was swapped since the bicycle was handed over, and what that leaves of the figures below.
fn swapped(view: &JobView, zone: &TimeZone) -> Vec<Block> {
    if view.swaps.is_empty() {
        return Vec::new();
    }
    let swap = |swap: &SwapView| {
        let day = told_at(swap.at_us, zone, "%Y-%m-%d");
        let on = format!("{day}: {} in place of {}", swap.serial_in, swap.serial_out);
        (swap.slot.replace('-', " "), on)
    };
    vec![
        Block::Heading("swapped since".to_owned()),
        Block::Pairs(view.swaps.iter().map(swap).collect()),
        Block::Note(
            "The parts below are those on the bicycle now; what was measured with a part before its swap was measured with the \
             one it took the place of."
                .to_owned(),
        ),
    ]
}

/// The class as stored, with the day the stored text was looked at.
pub(super) fn class(companions: &CompanionsReply) -> Block {
    if companions.ride_class.is_empty() {
        return Block::Text("No ride class was asked for.".to_owned());
    }
    Block::Pairs(vec![
        (
            "class".to_owned(),
            format!("{}, {}", companions.class_name, companions.class_region),
        ),
        ("stored limits".to_owned(), companions.class_limits.clone()),
        (
            "to be marked on the bicycle".to_owned(),
            companions.class_label.clone(),
        ),
        ("source".to_owned(), companions.class_source.clone()),
        (
            "stored text looked at on".to_owned(),
            companions.rules_as_of.clone(),
        ),
    ])
}

/// Figures of the gates of test ride and handover that have a limit; the technical file has all.
fn measured(gates: &[CheckReply], currency: &str) -> Block {
    let columns = vec![
        Column::words("check"),
        Column::words("figure"),
        Column::numbers("value"),
        Column::words("stored limit"),
        Column::words("verdict"),
    ];
    let mut rows = Vec::new();
    for report in gates
        .iter()
        .filter(|gate| ["test-ride", "handover"].contains(&gate.gate.as_str()))
        .flat_map(|gate| &gate.checks)
    {
        let mut title = report.title.as_str();
        for finding in &report.findings {
            for one in finding.figures.iter().filter(|one| !one.limit.is_empty()) {
                rows.push(vec![
                    // Said once for all its figures.
                    std::mem::take(&mut title).to_owned(),
                    name(one),
                    figure_of(&report.check, one, currency),
                    one.limit.clone(),
                    if finding.verdict == "pass" {
                        "within".to_owned()
                    } else {
                        told(&finding.verdict)
                    },
                ]);
            }
        }
    }
    Block::Table(Table { columns, rows })
}

/// A verdict's word behind its sign, so that what fails does not read as one word among others.
fn told(word: &str) -> String {
    let verdict = Verdict {
        word: word.to_owned(),
        title: String::new(),
        check: String::new(),
    };
    format!("{} {word}", verdict.sign())
}

/// What is forecast of what the rider can ride, then how far a charge goes.
fn answers<'a>(forecast: Option<&'a PredictReply>, range: Option<&'a RangeReply>) -> Vec<&'a ForecastAnswer> {
    let speeds = forecast.map_or(&[][..], |reply| &reply.answers).iter();
    let cases = range.map_or(&[][..], |reply| &reply.cases).iter();
    speeds
        .filter(|answer| answer.for_rider)
        .chain(cases.filter_map(|case| case.answer.as_ref()))
        .collect()
}

/// What the model expects, with its spread.
fn expected(answers: &[&ForecastAnswer]) -> Block {
    let columns = vec![
        Column::words("what"),
        Column::numbers("1 in 10 below"),
        Column::numbers("middle"),
        Column::numbers("1 in 10 above"),
    ];
    let rows = answers
        .iter()
        .map(|answer| {
            let cell = |value: Option<f64>| {
                value.map_or_else(|| "stalls".to_owned(), |value| about(value, &answer.unit))
            };
            vec![
                answer.name.clone(),
                cell(answer.p10),
                cell(answer.p50),
                cell(answer.p90),
            ]
        })
        .collect();
    Block::Table(Table { columns, rows })
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{CheckReport, FactView, Finding, GateView, JobLine, RangeCase};

    use super::*;

    fn at(stage: &str, state: &str) -> JobView {
        JobView {
            line: Some(JobLine {
                job: 4,
                stage: stage.into(),
                ..JobLine::default()
            }),
            gates: vec![GateView {
                gate: "handover".into(),
                state: state.into(),
                // 2026-03-24T12:00Z, by the calendar.
                passed_us: (state == "passed").then_some(1_774_353_600_000_000),
                ..GateView::default()
            }],
            ..JobView::default()
        }
    }

    fn failing_check(id: &str) -> CheckReply {
        CheckReply {
            held: String::new(),
            gate: "handover".into(),
            checks: vec![CheckReport {
                check: id.into(),
                title: "stopping distance".into(),
                verdict: "fail".into(),
                findings: vec![Finding {
                    verdict: "fail".into(),
                    summary: "9 m, at most 5.5 m".into(),
                    ..Finding::default()
                }],
                ..CheckReport::default()
            }],
            ..CheckReply::default()
        }
    }

    fn made(view: &JobView, gates: &[CheckReply]) -> Document {
        let given = Handover {
            view,
            gates,
            companions: &CompanionsReply::default(),
            forecast: None,
            range: None,
            compare: None,
            workshop: "Workshop, telephone 0000 123456",
            currency: "EUR",
        };
        handover(given, &TimeZone::UTC)
    }

    fn is_signed(document: &Document) -> bool {
        let mut blocks = document.blocks.iter();
        blocks.any(|block| matches!(block, Block::Signatures(_)))
    }

    #[test]
    fn nobody_signs_for_a_bicycle_that_fails_or_is_not_at_its_last_gate() {
        let stopping = [failing_check("ride.stopping")];
        let draft = made(&at("handover", "here"), &stopping);
        assert!(!is_signed(&draft) && draft.kind.contains("draft"));
        assert!(matches!(
            &draft.blocks[1],
            Block::Caution(caution)
                if caution.word == "Fails" && caution.text == "stopping distance: 9 m, at most 5.5 m"
        ));
        assert!(!is_signed(&made(&at("test-ride", "ahead"), &[])));
        assert!(is_signed(&made(&at("handover", "here"), &[])));
        // Paid and signed for while it is given over.
        let balance = [failing_check("handover.balance")];
        assert!(is_signed(&made(&at("handover", "here"), &balance)));
        // A gate that was passed is not gone into again.
        assert!(is_signed(&made(&at("handed-over", "passed"), &stopping)));
    }

    #[test]
    fn the_day_of_handover_and_who_to_call_stand_in_running_type() {
        let document = made(&at("handed-over", "passed"), &[]);
        let said = [
            ("handed over on", "2026-03-24"),
            ("workshop: who to call", "Workshop, telephone 0000 123456"),
        ];
        let said = said.map(|(name, value)| (name.to_owned(), value.to_owned()));
        assert_eq!(document.blocks[0], Block::Pairs(said.to_vec()));
    }

    #[test]
    fn what_was_swapped_since_is_told_with_its_day_before_the_parts_and_money_says_whose_it_is() {
        let mut view = at("handed-over", "passed");
        view.swaps.push(SwapView {
            slot: "pack".into(),
            serial_out: "9001".into(),
            serial_in: "70001".into(),
            // 2026-03-24T12:00Z, by the calendar.
            at_us: 1_774_353_600_000_000,
        });
        view.facts.push(FactView {
            code: PAID.into(),
            name: "paid so far".into(),
            group: "handover".into(),
            value: "1202.00".into(),
            provenance: "measured".into(),
            ..FactView::default()
        });
        let document = made(&view, &[]);
        assert_eq!(document.blocks[1], Block::Heading("swapped since".to_owned()));
        let on = ("pack".to_owned(), "2026-03-24: 70001 in place of 9001".to_owned());
        assert_eq!(document.blocks[2], Block::Pairs(vec![on]));
        let paid = ("paid so far".to_owned(), "EUR\u{a0}1202.00".to_owned());
        assert!(
            document.blocks.contains(&Block::Pairs(vec![paid])),
            "{document:?}"
        );
    }

    #[test]
    fn how_far_a_charge_goes_is_part_of_what_to_expect() {
        let range = RangeReply {
            cases: vec![RangeCase {
                answer: Some(ForecastAnswer {
                    name: "new pack".into(),
                    unit: "km".into(),
                    p10: Some(30.0),
                    p50: Some(40.0),
                    p90: Some(50.0),
                    ..ForecastAnswer::default()
                }),
                ..RangeCase::default()
            }],
            ..RangeReply::default()
        };
        let Block::Table(table) = expected(&answers(None, Some(&range))) else {
            panic!("a table");
        };
        assert_eq!(table.rows, [["new pack", "30 km", "40 km", "50 km"]]);
    }
}
