//! Packs as they came: what was read of them once stays with them.

use super::*;

fn pack(serial: &str, volts: &str, spread: &str) -> Command {
    Command::Receive {
        slot: "pack".into(),
        found: Vec::new(),
        details: ReceiptText {
            serial: serial.into(),
            lot: "L-1".into(),
            volts: volts.into(),
            group_spread: spread.into(),
            papers: "transport summary".into(),
            ..ReceiptText::default()
        },
    }
}

/// The pack of the longtail has 13 cells in series: 26 V are 2.0 V a cell and 48 V are 3.69 V; sound are 3.3 to 3.8 V, and
/// groups at most 80 mV apart (common practice, no source).
#[test]
fn a_pack_that_came_dead_is_no_better_for_a_charge() {
    let mut journal = Journal::longtail();
    let read = |journal: &Journal| {
        let receipt = journal.job.build[&Slot::Pack].receipt.clone().unwrap();
        (receipt.volts, receipt.group_spread)
    };
    journal.change(&pack("P3", "26 V", "12 mV"));
    let said = journal.change(&pack("", "48 V", "")).said.join("\n");
    assert!(said.contains("what this pack came with stays: 26 V"), "{said}");
    assert_eq!(read(&journal), (Some(26.0), Some(0.012)));
    // A worse one counts, and so does another pack.
    journal.change(&pack("P3", "25 V", ""));
    assert_eq!(read(&journal).0, Some(25.0));
    let said = journal.change(&pack("P4", "48 V", "95 mV")).said.join("\n");
    assert!(!said.contains("stays"), "{said}");
    assert_eq!(read(&journal).0, Some(48.0));
    let said = journal.change(&pack("P4", "48.1 V", "20 mV")).said.join("\n");
    assert!(
        said.contains("stays: a spread of 95 mV") && !said.contains("48 V;"),
        "{said}"
    );
    assert_eq!(read(&journal), (Some(48.1), Some(0.095)));
    // What balances on its charger is read again.
    journal.change(&pack("P5", "48 V", "40 mV"));
    journal.change(&pack("P5", "48.6 V", "20 mV"));
    assert_eq!(read(&journal), (Some(48.6), Some(0.02)));
}
