//! Hand-made messages and outputs for the tests of the layout.

use std::rc::Rc;

use lockring_proto::v1::{CheckReport, Figure, Finding, Missing};

use crate::command_error::CommandError;
use crate::output::{Look, Out};

/// The look of tests: no colour, UTC.
pub(crate) fn look(width: usize) -> Look {
    Look {
        width,
        colour: false,
        plain: false,
        json: false,
        zone: Default::default(),
        units: Rc::default(),
        charset: crate::output::charset::Charset::Utf8,
    }
}

/// What printing at a width gives.
pub(crate) fn text(width: usize, print: impl FnOnce(&mut Out<'_>) -> Result<(), CommandError>) -> String {
    shown(look(width), print)
}

/// What printing without tables gives.
pub(crate) fn plain_text(print: impl FnOnce(&mut Out<'_>) -> Result<(), CommandError>) -> String {
    shown(
        Look {
            plain: true,
            ..look(80)
        },
        print,
    )
}

/// What printing in a look gives.
pub(crate) fn shown(look: Look, print: impl FnOnce(&mut Out<'_>) -> Result<(), CommandError>) -> String {
    let mut bytes = Vec::new();
    print(&mut Out::new(&mut bytes, look)).unwrap();
    String::from_utf8(bytes).unwrap()
}

/// A check that fails and may be conceded.
pub(crate) fn failing() -> CheckReport {
    let summary = "chain angle on the largest cog 3.4°, at most 3.0°: over stored limit";
    CheckReport {
        check: "chainline.cog_angles".to_owned(),
        title: "Chain angle on the largest cog".to_owned(),
        gate: "fitting".to_owned(),
        family: "fit".to_owned(),
        verdict: "fail".to_owned(),
        summary: summary.to_owned(),
        holds: false,
        concedable: true,
        version: 1,
        source: "common practice, no source".to_owned(),
        limits: vec!["chainline.angle-good 3 deg (common practice, no source)".to_owned()],
        findings: vec![Finding {
            verdict: "fail".to_owned(),
            summary: summary.to_owned(),
            figures: vec![Figure {
                name: "chain angle".to_owned(),
                value: 3.4,
                unit: "°".to_owned(),
                limit: "at most 3.0 °".to_owned(),
                margin: Some(-0.4),
                uncertainty: Some(0.1),
            }],
            arithmetic: vec!["atan((51.5 - 25.0) / 445)".to_owned()],
            remedies: vec!["a chainring 2 mm further in".to_owned()],
        }],
        uses: vec!["chainline-front".to_owned(), "chainline-rear".to_owned()],
        ..CheckReport::default()
    }
}

/// A check that waits for a value.
pub(crate) fn open() -> CheckReport {
    CheckReport {
        check: "chainline.centre".to_owned(),
        title: "Chainline against the middle of the cassette".to_owned(),
        verdict: "open".to_owned(),
        missing: vec![Missing {
            what: "rear chainline".to_owned(),
            how: "lockring measure 21 chainline-rear 45.0".to_owned(),
        }],
        ..CheckReport::default()
    }
}

/// A check that passes.
pub(crate) fn passing() -> CheckReport {
    CheckReport {
        check: "shell.width".to_owned(),
        title: "Shell width against the motor".to_owned(),
        verdict: "pass".to_owned(),
        summary: "shell 73.0 mm, motor takes 68.0 to 73.0 mm: within stored limit".to_owned(),
        holds: true,
        ..CheckReport::default()
    }
}

/// A check that does not concern the job.
pub(crate) fn beside() -> CheckReport {
    CheckReport {
        check: "spoke.spread".to_owned(),
        verdict: "not applicable".to_owned(),
        summary: "the wheel was not built here".to_owned(),
        holds: true,
        ..CheckReport::default()
    }
}
