//! `handover.papers`: what the rider is given and told in writing.

use jiff::civil::Date;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::prediction;
use crate::stage::Stage;

/// Papers and the first check.
pub static CHECK: Check = Check {
    id: "handover.papers",
    title: "instructions, cautions, declaration, first check",
    gates: &[Stage::Handover],
    family: Family::Law,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "EN 15194 instructions, read in TBIS 15194:2019; 16 CFR 1512.19; first check after 30 days: common \
             practice, no source; declaration: machinery law of the EU and of Great Britain, read in restatements",
    run,
};

/// Papers of every job: code, what it is.
const ALWAYS: [(&str, &str); 3] = [
    ("instructions", "written instructions handed over"),
    ("cautions-read", "cautions read out to the rider"),
    ("local-rules", "told in writing to check the rules of the place"),
];

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let mut papers = ALWAYS.to_vec();
    if class.is_of_eu_or_gb() {
        papers.push(("declaration", "maker's declaration on file"));
    }
    let keys: Vec<&str> = papers
        .iter()
        .map(|(key, _)| *key)
        .chain(["first-check"])
        .collect();
    prediction::need(case, &keys)?;
    let mut findings = papers
        .into_iter()
        .map(|(key, what)| paper(case, key, what))
        .collect::<Result<Vec<_>, _>>()?;
    findings.push(first_check(case)?);
    Ok(findings)
}

fn paper(case: &Case<'_>, key: &str, what: &str) -> Result<Finding, Halt> {
    let done = case.flag(key)?;
    let (verdict, remark) = if done {
        (Verdict::Pass, "yes")
    } else {
        (Verdict::Fail, "no")
    };
    Ok(Finding::new(verdict, format!("{what}: {remark}"))
        .with_arithmetic(format!("{what}: {remark}, yes asked"))
        .with_remedy(format!(
            "do it and record it: {}",
            prediction::to_record(case, key)
        )))
}

fn first_check(case: &Case<'_>) -> Result<Finding, Halt> {
    let day = case.day("first-check")?;
    let today = case.today();
    let most = case.rule("after.first-check-days");
    let away = days_between(today, day);
    let (verdict, remark) = if away < 0 {
        (Verdict::Caution, "the day is past".to_owned())
    } else if f64::from(away) > most {
        (Verdict::Caution, format!("later than {most:.0} days"))
    } else {
        (Verdict::Pass, format!("within {most:.0} days"))
    };
    Ok(Finding::new(
        verdict,
        // Days left are for the arithmetic: a concession must not lapse overnight.
        format!("first check on {day}: {remark}"),
    )
    .with_arithmetic(format!("{today} to {day}: {away} days, at most {most:.0}"))
    .with_remedy(format!(
        "agree an earlier day: lockring measure {} first-check YYYY-MM-DD",
        case.job().number
    )))
}

fn days_between(from: Date, to: Date) -> i32 {
    from.duration_until(to)
        .as_hours()
        .div_euclid(24)
        .try_into()
        .expect("days between calendar dates fit 32 bits")
}

#[cfg(test)]
mod tests {
    use jiff::tz::{TimeZone, offset};

    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::rules::RuleSheet;

    fn papers(bench: Bench, first_check: &str) -> Bench {
        bench.measure(&[
            ("instructions", "yes"),
            ("cautions-read", "yes"),
            ("local-rules", "yes"),
            ("declaration", "yes"),
            ("first-check", first_check),
        ])
    }

    #[test]
    fn everything_given_and_a_check_on_the_thirtieth_day_passes() {
        // The bench records on 2 March 2026; 30 days on is 1 April.
        let report = papers(trekking(), "2026-04-01").expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 5);
    }

    #[test]
    fn a_later_or_past_first_check_is_a_caution() {
        papers(trekking(), "2026-04-02").expect(&CHECK, Verdict::Caution);
        papers(trekking(), "2026-03-01").expect(&CHECK, Verdict::Caution);
    }

    /// The bench records at 10:00 in Greenwich and later, which is the next day 14 h east of it: 3 March 2026, and 2 April
    /// is 30 days on.
    #[test]
    fn the_days_are_those_of_the_shop() {
        let report_in = |hours: i8| {
            let rules = RuleSheet::shipped().in_zone(TimeZone::fixed(offset(hours)));
            papers(trekking(), "2026-04-02").report_by(&CHECK, &rules)
        };
        assert_eq!(report_in(14).verdict, Verdict::Pass);
        assert_eq!(report_in(0).verdict, Verdict::Caution);
    }

    #[test]
    fn a_paper_not_given_fails_until_it_is() {
        let silent = papers(trekking(), "2026-04-01").measure(&[("cautions-read", "no")]);
        silent.expect(&CHECK, Verdict::Fail);
        silent
            .measure(&[("cautions-read", "yes")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_declaration_is_asked_in_europe_and_not_in_america() {
        assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 5);
        let american = trekking().state(&[("ride-class", "us-class1")]);
        assert_eq!(american.expect(&CHECK, Verdict::Open).missing.len(), 4);
    }

    #[test]
    fn each_paper_and_an_earlier_day_as_the_remedies_say_clear_it() {
        let silent = papers(trekking(), "2026-04-01").measure(&[("cautions-read", "no")]);
        silent.cured(&CHECK, "lockring measure 20 cautions-read yes", |job| {
            job.measure(&[("cautions-read", "yes")])
        });
        papers(trekking(), "2026-05-01").cured(&CHECK, "lockring measure 20 first-check YYYY-MM-DD", |job| {
            job.measure(&[("first-check", "2026-03-20")])
        });
    }
}
