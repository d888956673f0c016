//! Sheets for the stand and the road: they are written on.

use lockring_proto::v1::{CardBox, CardReply, CautionView, CompanionsReply, RidePlanLine, RidePlanReply};

use super::mark;
use super::said::{To, cautions, headed};
use crate::model::{Block, Box, Caution, Document, Room, Sheet, Type};

/// Lines of the brief on a card.
const BRIEF: usize = 6;
/// Limits that stand in large type beside a box; others are written small.
const LIMITS: usize = 2;

/// The card of a job for the stand.
pub fn card(reply: &CardReply, companions: &CompanionsReply) -> Document {
    let brief = reply.brief.iter().take(BRIEF);
    let mut blocks = vec![Block::Brief(
        brief.map(|line| (line.name.clone(), line.text.clone())).collect(),
    )];
    // Before any work: a piece that is meant is neither charged nor ridden.
    blocks.extend(reply.recalls.iter().map(|recall| {
        Block::Caution(Caution {
            word: "Recalled".to_owned(),
            text: recall.clone(),
            source: String::new(),
        })
    }));
    // Before the work that they concern.
    blocks.extend(headed(
        "at this stand",
        orders(companions, |caution| {
            ["fitting", "electrical"].contains(&caution.when.as_str()) && caution.severity == "stop"
        }),
    ));
    for group in reply.groups.iter().filter(|group| !group.boxes.is_empty()) {
        blocks.push(Block::Heading(group.title.clone()));
        blocks.push(Block::Boxes(group.boxes.iter().map(to_fill).collect()));
    }
    blocks.push(Block::Heading("noticed".to_owned()));
    blocks.push(Block::Room(Room {
        label: "anything seen, heard or felt that no box asks for".to_owned(),
        lines: 6,
        grows: true,
    }));
    Document {
        kind: format!("Job {}", reply.job),
        title: reply.rider.clone(),
        mark: Some(mark(reply.job)),
        sheet: Sheet::A5,
        size: Type::Stand,
        blocks,
        foot: format!(
            "lockring measure {} CODE VALUE; lockring torque {} BOLT VALUE.",
            reply.job, reply.job
        ),
        day: None,
    }
}

/// What the shop is told. The sources stand in the technical file; here is room for orders alone.
fn orders(companions: &CompanionsReply, at: impl Fn(&CautionView) -> bool) -> Vec<Block> {
    let told = cautions(companions, To::Shop, at);
    let bare = told.into_iter().map(|block| match block {
        Block::Caution(caution) => Block::Caution(Caution {
            source: String::new(),
            ..caution
        }),
        block => block,
    });
    bare.collect()
}

fn to_fill(one: &CardBox) -> Box {
    let code = if one.alias.is_empty() {
        &one.code
    } else {
        &one.alias
    };
    let more = one.allowed.get(LIMITS..).unwrap_or_default();
    Box {
        label: one.name.clone(),
        beside: one.allowed[..one.allowed.len().min(LIMITS)].join("; "),
        value: one.recorded.clone(),
        code: std::iter::once(code)
            .chain(more)
            .cloned()
            .collect::<Vec<_>>()
            .join("; "),
    }
}

/// The sheet for the test ride, with what is expected beside each box.
pub fn ride_sheet(reply: &RidePlanReply, companions: &CompanionsReply) -> Document {
    let before = reply.before.iter();
    let mut blocks: Vec<Block> = before.map(|line| Block::Caution(Caution::plain(line))).collect();
    blocks.extend(orders(companions, |caution| caution.when == "test_ride"));
    for (number, line) in (1..).zip(&reply.lines) {
        // What is typed stands between marks on a screen.
        blocks.push(Block::Heading(format!(
            "{number}. {}{}",
            line.what.replace('`', ""),
            if line.is_asked {
                ""
            } else {
                " (not asked by the gate)"
            }
        )));
        blocks.push(Block::Text(line.how.clone()));
        let allowed = allowed(line);
        if !allowed.is_empty() {
            blocks.push(Block::Text(format!("allowed: {}", allowed.join("; "))));
        }
        let boxes = line.boxes.iter().map(|one| Box {
            label: match one.unit.as_str() {
                "" => one.name.clone(),
                unit => format!("{}, {unit}", one.name),
            },
            beside: match one.expected.as_str() {
                "" => String::new(),
                expected => format!("expected {expected}"),
            },
            value: one.recorded.clone(),
            code: String::new(),
        });
        blocks.push(Block::Boxes(boxes.collect()));
    }
    blocks.push(Block::Room(Room {
        label: "weather, wind, surface, anything noticed".to_owned(),
        lines: 2,
        grows: true,
    }));
    blocks.push(Block::Signatures(vec![
        "ridden by".to_owned(),
        "date, time".to_owned(),
    ]));
    Document {
        kind: "Test ride".to_owned(),
        title: format!("Job {}, {}", reply.job, reply.rider),
        mark: Some(mark(reply.job)),
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: "What is expected comes from the model; what is allowed from the checks of the ride."
            .to_owned(),
        day: None,
    }
}

/// What is allowed in a run, a limit each.
fn allowed(line: &RidePlanLine) -> Vec<String> {
    // What has no figure is what the box asks.
    let limits = line.limits.iter().filter(|limit| !limit.limit.is_empty());
    limits
        .map(|limit| format!("{} {}", limit.name, limit.limit))
        .collect()
}
