//! Expectations against rides over all jobs: a row for each figure, and the constants offered.

use lockring_proto::v1::{PredictionError, PredictionsReport, Sheet};

use crate::command_error::CommandError;
use crate::output::Out;
use crate::output::sheet::section;
use crate::output::table::Table;

/// The errors and offers as sections, for CSV.
pub(crate) fn as_sheet(report: &PredictionsReport) -> Sheet {
    let errors = report.errors.iter().map(|error| {
        [
            error.kind.clone(),
            error.code.clone(),
            error.name.clone(),
            error.rides.to_string(),
            format!("{:.1}", error.mean_percent),
            format!("{:.1}", error.spread_percent),
            error.above.to_string(),
        ]
    });
    let offers = report.offers.iter().map(|offer| {
        [
            offer.rule.clone(),
            offer.stands.clone(),
            offer.offered.clone(),
            offer.rides.to_string(),
            offer.why.clone(),
            offer.command.clone(),
        ]
    });
    let errors_of = [
        "kind",
        "code",
        "name",
        "rides",
        "mean_percent",
        "spread_percent",
        "above",
    ];
    let offers_of = ["rule", "stands", "offered", "rides", "why", "command"];
    Sheet {
        sections: vec![
            section("errors", errors_of, errors.collect()),
            section("offers", offers_of, offers.collect()),
        ],
        ..Sheet::default()
    }
}

/// Prints the report.
pub(crate) fn print(out: &mut Out<'_>, report: &PredictionsReport) -> Result<(), CommandError> {
    out.heading(&format!("Expected against measured, {} jobs ridden", report.jobs))?;
    let mut kind = "";
    let mut table = Table::new(HEADINGS);
    for error in &report.errors {
        if error.kind != kind {
            finish(out, kind, &table)?;
            (kind, table) = (&error.kind, Table::new(HEADINGS));
        }
        table.row([
            error.name.clone().into(),
            error.rides.to_string().into(),
            format!("{:+.1} %", error.mean_percent).into(),
            scatter(error).into(),
            format!("{} of {}", error.above, error.rides).into(),
        ]);
    }
    finish(out, kind, &table)?;
    out.blank()?;
    if report.offers.is_empty() {
        out.line("No constant is offered.")?;
    } else {
        out.heading("Constants the rides ask for")?;
    }
    for offer in &report.offers {
        let words = format!(
            "{}: {} instead of {}; {}",
            offer.rule, offer.offered, offer.stands, offer.why
        );
        out.wrapped("", "  ", &words)?;
        out.line(format_args!("  {}", offer.command))?;
    }
    out.wrapped("rule: ", "    ", &report.rule)
}

const HEADINGS: [&str; 5] = ["figure", "rides", "off by", "one ride", "above"];

/// The rows of one kind of bicycle, under its name.
fn finish(out: &mut Out<'_>, kind: &str, table: &Table<'_>) -> Result<(), CommandError> {
    if table.is_empty() {
        return Ok(());
    }
    out.blank()?;
    out.heading(kind)?;
    table.print(out)
}

fn scatter(error: &PredictionError) -> String {
    if error.rides < 2 {
        return "-".to_owned();
    }
    format!("± {:.1} %", error.spread_percent)
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::OfferedConstant;

    use super::*;
    use crate::output::samples::text;

    fn report() -> PredictionsReport {
        let error = |kind: &str, name: &str, rides| PredictionError {
            kind: kind.into(),
            name: name.into(),
            rides,
            mean_percent: 6.0,
            spread_percent: 2.5,
            above: rides,
            ..PredictionError::default()
        };
        PredictionsReport {
            jobs: 7,
            errors: vec![
                error("cargo, mid motor", "energy drawn on the energy run", 6),
                error("trekking, hub motor", "speed up the hill", 1),
            ],
            offers: Vec::new(),
            rule: "a constant is offered from 5 rides".into(),
        }
    }

    #[test]
    fn each_kind_has_its_rows_and_one_ride_has_no_scatter() {
        let shown = text(80, |out| print(out, &report()));
        for words in [
            "cargo, mid motor",
            "+6.0 %",
            "± 2.5 %",
            "6 of 6",
            "No constant",
            "rule: ",
        ] {
            assert!(shown.contains(words), "{words}: {shown}");
        }
        assert_eq!(shown.matches("± ").count(), 1, "{shown}");
    }

    #[test]
    fn an_offer_stands_with_its_command() {
        let command = "lockring settings rule model.drive-efficiency-mid 0.7 --why \"mean of 6 rides\"";
        let offered = PredictionsReport {
            offers: vec![OfferedConstant {
                rule: "model.drive-efficiency-mid".into(),
                stands: "0.741".into(),
                offered: "0.7".into(),
                rides: 6,
                why: "6 of 6 rides lie below it".into(),
                command: command.into(),
            }],
            ..report()
        };
        let shown = text(80, |out| print(out, &offered));
        assert!(
            shown.contains(command) && shown.contains("0.7 instead of 0.741"),
            "{shown}"
        );
        assert!(!shown.contains("No constant"));
    }
}
