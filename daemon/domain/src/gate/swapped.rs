//! What checks say of a job that was handed over, where a part was swapped since.

use std::collections::BTreeSet;

use crate::check::Report;
use crate::job::Job;
use crate::part::Slot;
use crate::stage::Stage;

/// What a check says, with the command that still takes what was seen on a part swapped after handover: it arrived then,
/// and `receive` is over.
pub fn as_swapped(job: &Job, mut report: Report) -> Report {
    if job.stage != Stage::HandedOver {
        return report;
    }
    let slots: BTreeSet<Slot> = job.after.swaps.iter().map(|swap| swap.slot).collect();
    for slot in slots {
        let of = |verb: &str| format!("lockring {verb} {} {}", job.number, slot.word());
        let (receive, swap) = (of("receive"), of("swap"));
        // No other part is chosen any more: it is swapped.
        let choose = format!("lockring build {} {}=PART", job.number, slot.word());
        let other = format!("{swap} --in SERIAL --lot LOT --payer WHO --why TEXT");
        let remedies = report
            .findings
            .iter_mut()
            .flat_map(|finding| &mut finding.remedies);
        let hows = report.missing.iter_mut().map(|missing| &mut missing.how);
        for text in remedies.chain(hows) {
            *text = in_place_of(&in_place_of(text, &receive, &swap), &choose, &other);
        }
    }
    report
}

/// A text with a command in place of another wherever that ends there: `receive 21 chain` is none of the chainring's.
fn in_place_of(text: &str, command: &str, other: &str) -> String {
    let goes_on = |next: char| next.is_alphanumeric() || matches!(next, '-' | '_');
    let mut pieces = text.split(command);
    let mut told = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        told.push_str(if piece.starts_with(goes_on) {
            command
        } else {
            other
        });
        told.push_str(piece);
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_is_replaced_only_where_it_ends() {
        let told = |text: &str| in_place_of(text, "lockring receive 21 chain", "lockring swap 21 chain");
        for text in [
            "lockring receive 21 chainring --lot L",
            "lockring receive 210 chain",
            "none",
        ] {
            assert_eq!(told(text), text);
        }
        assert_eq!(
            told(
                "`lockring receive 21 chain`, lockring receive 21 chainring teeth=42, lockring receive 21 chain"
            ),
            "`lockring swap 21 chain`, lockring receive 21 chainring teeth=42, lockring swap 21 chain"
        );
    }
}
