//! Sheets for the stand and the road: they are written on.

use lockring_proto::v1::{CardReply, RidePlanReply};

use crate::model::{Block, Box, Document, Sheet, Type};

/// The card of a job for the stand.
pub fn card(reply: &CardReply) -> Document {
    let mut blocks = vec![Block::Pairs(
        reply
            .brief
            .iter()
            .map(|line| (line.name.clone(), line.text.clone()))
            .collect(),
    )];
    for group in reply.groups.iter().filter(|group| !group.boxes.is_empty()) {
        blocks.push(Block::Heading(group.title.clone()));
        let boxes = group.boxes.iter().map(|one| {
            let alias = if one.alias.is_empty() {
                &one.code
            } else {
                &one.alias
            };
            Box {
                label: format!("{} [{alias}]", one.name),
                beside: one.allowed.join("; "),
                value: one.recorded.clone(),
            }
        });
        blocks.push(Block::Boxes(boxes.collect()));
    }
    blocks.push(Block::Heading("noticed".to_owned()));
    blocks.push(Block::Boxes(vec![
        Box {
            label: "what else was seen".to_owned(),
            beside: String::new(),
            value: String::new(),
        };
        3
    ]));
    Document {
        kind: format!("Job {}", reply.job),
        title: reply.rider.clone(),
        mark: Some(format!("lockring job {}", reply.job)),
        sheet: Sheet::A5,
        size: Type::Stand,
        blocks,
        foot: format!(
            "lockring measure {} [CODE] VALUE; lockring torque {} BOLT VALUE",
            reply.job, reply.job
        ),
    }
}

/// The sheet for the test ride, with what is expected beside each box.
pub fn ride_sheet(reply: &RidePlanReply) -> Document {
    let mut blocks: Vec<Block> = reply.before.iter().cloned().map(Block::Caution).collect();
    for (number, line) in (1..).zip(&reply.lines) {
        blocks.push(Block::Heading(format!("{number}. {}", line.what)));
        blocks.push(Block::Text(line.how.clone()));
        let boxes = line.boxes.iter().map(|one| Box {
            label: one.name.clone(),
            beside: match one.expected.as_str() {
                "" => String::new(),
                expected => format!("expected {expected}"),
            },
            value: one.recorded.clone(),
        });
        blocks.push(Block::Boxes(boxes.collect()));
        let allowed: Vec<String> = line
            .limits
            .iter()
            // What has no figure is what the box asks.
            .filter(|limit| !limit.limit.is_empty())
            .map(|limit| format!("{} {}", limit.name, limit.limit))
            .collect();
        if !allowed.is_empty() {
            blocks.push(Block::Text(format!("allowed: {}", allowed.join("; "))));
        }
    }
    blocks.push(Block::Signatures(vec![
        "ridden by, date".to_owned(),
        "weather, wind".to_owned(),
    ]));
    Document {
        kind: "Test ride".to_owned(),
        title: format!("Job {}, {}", reply.job, reply.rider),
        mark: Some(format!("lockring job {}", reply.job)),
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: "What is expected comes from the model; what is allowed from the checks of the ride."
            .to_owned(),
    }
}
