//! What is taken and asked about: figures after handover that cannot well be.

use super::after::handed_over;
use super::*;
use crate::command::MoneyEntry;

fn ridden(odometer: &str) -> Command {
    Command::Money(MoneyEntry::Visit {
        symptom: String::new(),
        odometer: odometer.into(),
        found: "arm was loose".into(),
        cause: String::new(),
        payer: String::new(),
        first_check: false,
    })
}

/// Workshop judgement: 200 km a day since the handover. 305 claimed, and 3050 typed for it.
#[test]
fn what_cannot_well_be_is_taken_and_asked_about() {
    let mut journal = handed_over();
    let said = |journal: &mut Journal, command: &Command| journal.change(command).said.join("\n");
    let absurd = said(&mut journal, &ridden("14000 km"));
    let entry = journal.job.revision;
    assert!(
        absurd.contains("14000 km since the handover is more than 200 km")
            && absurd.contains(&format!("lockring undo 21 --entry {entry}")),
        "{absurd}"
    );
    let less = said(&mut journal, &ridden("90 km"));
    assert!(
        less.contains("90 km is less than the 14000 km of a visit before"),
        "{less}"
    );
    let mut journal = handed_over();
    assert!(!said(&mut journal, &ridden("90 km")).contains("CAUTION"));
    let claim = |amount: &str| {
        Command::Money(MoneyEntry::Claim {
            against: "supplier".into(),
            about: "dead after rain".into(),
            amount: amount.into(),
        })
    };
    let settle = |number: u32, paid: &str| {
        Command::Money(MoneyEntry::ClaimSettle {
            number,
            paid: paid.into(),
            how: "credit note".into(),
        })
    };
    journal.change(&claim("305"));
    let told = said(&mut journal, &settle(1, "3050"));
    assert!(
        told.contains("3050.00 paid is more than the 305.00 that were claimed"),
        "{told}"
    );
    journal.change(&claim("305"));
    assert!(!said(&mut journal, &settle(2, "305")).contains("CAUTION"));
}
