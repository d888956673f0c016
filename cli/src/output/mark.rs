//! The symbols: one beside every verdict and state, so that colour never stands alone.

use lockring_proto::v1::CheckReport;

use crate::output::{Out, Paint};

/// Symbol and stress of a verdict. A verdict this version does not know gets `*`.
pub(crate) fn of_verdict(verdict: &str) -> (char, Paint) {
    match verdict {
        "pass" => ('+', Paint::Good),
        "caution" => ('!', Paint::Caution),
        "fail" => ('x', Paint::Bad),
        "open" => ('?', Paint::Open),
        "not applicable" | "not-applicable" => ('-', Paint::Quiet),
        _ => ('*', Paint::Strong),
    }
}

/// Symbol and stress of the state of a gate.
pub(crate) fn of_gate(state: &str) -> (char, Paint) {
    match state {
        "passed" => ('+', Paint::Good),
        "here" => ('>', Paint::Strong),
        "blocked" => ('x', Paint::Bad),
        "ahead" => ('.', Paint::Quiet),
        _ => ('*', Paint::Strong),
    }
}

/// Symbol and word of a check's verdict, with what a concession makes of it.
pub(crate) fn label(report: &CheckReport, out: &Out<'_>) -> String {
    let (symbol, paint) = of_verdict(&report.verdict);
    let word = report.verdict.replace('-', " ");
    let conceded = if report.concession.is_some() && report.holds {
        ", conceded"
    } else {
        ""
    };
    out.paint(paint, &format!("{symbol} {word}{conceded}"))
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn every_verdict_has_a_symbol_of_its_own() {
        let symbols: HashSet<char> = [
            "pass",
            "caution",
            "fail",
            "open",
            "not applicable",
            "from the future",
        ]
        .into_iter()
        .map(|verdict| of_verdict(verdict).0)
        .collect();
        assert_eq!(symbols.len(), 6);
        let gates: HashSet<char> = ["passed", "here", "blocked", "ahead"]
            .into_iter()
            .map(|state| of_gate(state).0)
            .collect();
        assert_eq!(gates.len(), 4);
    }
}
