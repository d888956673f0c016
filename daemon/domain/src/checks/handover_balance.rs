//! `handover.balance`: what is paid against what was quoted.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Figure, Finding, Outcome, Verdict};
use crate::code;
use crate::fact::Value;
use crate::prediction;
use crate::stage::Stage;

/// Balance of the job.
pub static CHECK: Check = Check {
    id: "handover.balance",
    title: "quote paid",
    gates: &[Stage::Handover],
    family: Family::Rider,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "the quote",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["quote", "paid"])?;
    let (quote, paid) = (case.money("quote")?, case.money("paid")?);
    let owed = quote - paid;
    let (verdict, remark) = match owed {
        0 => (Verdict::Pass, "nothing owed".to_owned()),
        over if over < 0 => (Verdict::Pass, format!("{} to give back", shown(-over))),
        owed => (Verdict::Fail, format!("{} owed", shown(owed))),
    };
    let finding = Finding::new(
        verdict,
        format!("paid {} of {}: {remark}", shown(paid), shown(quote)),
    )
    .with_figure(Figure {
        name: "owed".to_owned(),
        // Minor units to major: exact for any amount a workshop charges.
        value: owed as f64 / 100.0,
        unit: String::new(),
        limit: "at most 0".to_owned(),
        margin: Some(-(owed as f64) / 100.0),
        uncertainty: None,
    })
    .with_arithmetic(format!("{} - {} = {}", shown(quote), shown(paid), shown(owed)))
    .with_remedy(format!(
        "collect it: lockring pay {} {} --kind balance",
        case.job().number,
        shown(owed)
    ));
    Ok(vec![finding])
}

fn shown(minor: i64) -> String {
    code::find("paid").map_or_else(|| minor.to_string(), |row| row.field.show(&Value::Money(minor)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;
    use crate::command::{Command, MoneyEntry};

    #[test]
    fn the_deposit_alone_leaves_the_balance_owed_until_it_is_paid() {
        // Worked example of the trade (common practice, no source): quote 1,202, deposit
        // 480.80, balance 721.20.
        let owing = trekking().measure(&[("paid", "480.80")]);
        let report = owing.expect(&CHECK, Verdict::Fail);
        assert!((report.findings[0].figures[0].value - 721.20).abs() < 1e-9);
        assert!(report.summary().contains("721.20 owed"), "{}", report.summary());
        owing.measure(&[("paid", "1202")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_cent_short_is_short_and_too_much_is_given_back() {
        trekking()
            .measure(&[("paid", "1201.99")])
            .expect(&CHECK, Verdict::Fail);
        let report = trekking()
            .measure(&[("paid", "1210")])
            .expect(&CHECK, Verdict::Pass);
        assert!(report.summary().contains("to give back"), "{}", report.summary());
    }

    #[test]
    fn open_until_something_is_recorded() {
        trekking().expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn paying_as_the_remedy_says_clears_it() {
        trekking().measure(&[("paid", "480.80")]).cured(
            &CHECK,
            "lockring pay 20 721.20 --kind balance",
            |job| {
                job.change(&Command::Money(MoneyEntry::Pay {
                    kind: "balance".into(),
                    amount: "721.20".into(),
                    how: String::new(),
                }))
            },
        );
    }
}
