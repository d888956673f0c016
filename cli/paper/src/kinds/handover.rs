//! What goes with the finished bicycle.

use lockring_proto::v1::{CheckReply, CompanionsReply, CompareRideReply, JobView, PredictReply};

use super::NO_RULING;
use super::figures::{about, figure_of, name};
use super::said::{To, cautions, headed};
use crate::model::{Block, Caution, Column, Document, Sheet, Table, Type};
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
    /// Ridden against expected; `None` before a ride.
    pub compare: Option<&'a CompareRideReply>,
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
        mark: Some(format!("lockring job {job}")),
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

/// Values of some groups, stale ones left out. How a value is known is said where it was not measured.
fn values(view: &JobView, groups: &[&str]) -> Block {
    Block::Pairs(
        view.facts
            .iter()
            .filter(|fact| groups.contains(&fact.group.as_str()) && fact.stale.is_empty())
            .map(|fact| {
                let known = match fact.provenance.as_str() {
                    "measured" => String::new(),
                    other => format!(" ({other})"),
                };
                (fact.name.clone(), format!("{}{known}", fact.value))
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

/// Said at the top while the bicycle is still the shop's.
fn unfinished(view: &JobView) -> Option<Block> {
    let is_over = view
        .gates
        .iter()
        .any(|gate| gate.gate == "handover" && gate.state == "passed");
    let line = view.line.clone().unwrap_or_default();
    (!is_over).then(|| {
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
fn section(title: &str, view: &JobView, groups: &[&str]) -> Vec<Block> {
    match values(view, groups) {
        Block::Pairs(pairs) if pairs.is_empty() => Vec::new(),
        values => vec![Block::Heading(title.to_owned()), values],
    }
}

/// The build sheet: parts, settings, torques, and what the shop is to do before it signs.
pub fn build_sheet(view: &JobView, companions: &CompanionsReply) -> Document {
    let mut blocks: Vec<Block> = unfinished(view).into_iter().collect();
    blocks.extend([Block::Heading("as built".to_owned()), parts(view)]);
    blocks.extend(section("measured and set", view, &["fitting"]));
    blocks.extend(section("torques", view, &["torque"]));
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

/// The pack that the rider keeps.
pub fn handover(given: Handover<'_>) -> Document {
    let Handover {
        view,
        gates,
        companions,
        forecast,
        compare,
    } = given;
    let mut blocks: Vec<Block> = unfinished(view).into_iter().collect();
    blocks.extend([Block::Heading("your bicycle as built".to_owned()), parts(view)]);
    blocks.push(Block::Heading("ride class it was compared with".to_owned()));
    blocks.push(class(companions));
    blocks.extend(section("measured on the test ride", view, &["ride"]));
    blocks.push(measured(gates));
    let pictures = [
        picture::runs(view, gates),
        picture::stops(gates),
        compare.and_then(picture::compared),
    ];
    blocks.extend(pictures.into_iter().flatten().map(Block::Picture));
    if let Some(forecast) = forecast {
        blocks.push(Block::Heading("what to expect".to_owned()));
        blocks.push(expected(forecast));
        blocks.extend(picture::hills(forecast).map(Block::Picture));
    }
    blocks.extend(section("settings and torques", view, &["fitting", "torque"]));
    blocks.push(Block::Heading("accepted by the owner".to_owned()));
    blocks.extend(concessions(view));
    blocks.extend(section("handed over", view, &["handover"]));
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
    blocks.push(Block::Signatures(vec![
        "rider, date".to_owned(),
        "for the workshop, date".to_owned(),
    ]));
    document("Handover", view, blocks)
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
fn measured(gates: &[CheckReply]) -> Block {
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
                    figure_of(&report.check, one),
                    one.limit.clone(),
                    if finding.verdict == "pass" {
                        "within".to_owned()
                    } else {
                        finding.verdict.clone()
                    },
                ]);
            }
        }
    }
    Block::Table(Table { columns, rows })
}

/// What the model expects of what the rider can ride, with its spread.
fn expected(forecast: &PredictReply) -> Block {
    let columns = vec![
        Column::words("what"),
        Column::numbers("1 in 10 below"),
        Column::numbers("middle"),
        Column::numbers("1 in 10 above"),
    ];
    let rows = forecast
        .answers
        .iter()
        .filter(|answer| answer.for_rider)
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
