//! `money.budget`: what the rider is to pay against what the rider has for it.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::labour::at_rate;
use crate::money::Money;
use crate::outlook;
use crate::part::Slot;
use crate::stage::Stage;

/// The quote, or before there is one the prices of the parts with planned work and what turns up.
pub static CHECK: Check = Check {
    id: "money.budget",
    title: "price within the rider's budget",
    gates: &[Stage::Parts],
    family: Family::Rider,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::NotApplicable, Verdict::Pass, Verdict::Caution],
    source: "common practice, no source: parts, planned hours and 5 % for what turns up within the budget of the brief",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let Ok(budget) = case.money("budget") else {
        return Halt::not_applicable("the brief names no budget");
    };
    let budget = Money(budget);
    let account = &case.whole_job().account;
    let quoted = account.to_pay();
    let (asked, what) = if quoted > Money::ZERO {
        (quoted, format!("the quote comes to {quoted}"))
    } else {
        let Some(sum) = sum(case) else {
            return Halt::not_applicable("nothing is quoted, and no part chosen has a price");
        };
        sum
    };
    let purse = account.purse(budget);
    if asked <= purse {
        let line = if asked > budget {
            format!("{what}: the rider agreed to {purse} since the budget of {budget}")
        } else {
            format!("{what}: within the budget of {budget}")
        };
        return Ok(vec![Finding::new(Verdict::Pass, line)]);
    }
    let over = asked - budget;
    let job = case.job().number;
    let line = format!("{what}: {over} over the budget of {budget}");
    Ok(vec![
        Finding::new(Verdict::Caution, line)
            .with_remedy(format!(
                "look for a cheaper build, or do it in steps: lockring propose {job}"
            ))
            .with_remedy(format!(
                "ask the rider for more: lockring brief {job} budget=AMOUNT"
            )),
    ])
}

/// What parts, planned work and the share for what turns up come to, and how; `None` where no part has
/// a price.
fn sum(case: &Case<'_>) -> Option<(Money, String)> {
    let chosen: Vec<Option<i64>> = Slot::ALL
        .into_iter()
        .filter_map(|slot| case.optional_part(slot))
        .map(|part| part.optional_money("price"))
        .collect();
    let parts: Money = chosen.iter().flatten().copied().map(Money).sum();
    if parts == Money::ZERO {
        return None;
    }
    let motor = case.optional_part(Slot::Motor);
    let is_hub = motor
        .and_then(|motor| motor.optional_word("place"))
        .is_some_and(|place| place != "mid");
    let place = if is_hub { "hub" } else { "mid" };
    let is_cargo = case.optional_word("posture") == Some("cargo");
    let of = |stage| outlook::plan_hours_of(place, is_cargo, stage, |key| case.rule(key));
    let hours: f64 = Stage::GATED.into_iter().map(of).sum();
    // A rate has two decimals, planned hours some tens of minutes: exact.
    let rate = Money((100.0 * case.rule("money.labour-rate")).round() as i64);
    let work = at_rate(rate, (60.0 * hours).round() as i64);
    let share = case.rule("money.contingency");
    let turns_up = (parts + work).share((10_000.0 * share).round() as i64, 10_000);
    let sum = parts + work + turns_up;
    let unpriced = match chosen.iter().filter(|price| price.is_none()).count() {
        0 => String::new(),
        1 => " (one more has no price)".to_owned(),
        more => format!(" ({more} more have no price)"),
    };
    let what = format!(
        "parts {parts}{unpriced}, {hours:.1} h of work {work} and {:.0} % for what turns up make {sum}",
        100.0 * share
    );
    Some((sum, what))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Report;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::{Command, MoneyEntry, QuoteAdd};

    fn quoted(bench: Bench, price: &str) -> Bench {
        bench.change(&Command::Money(MoneyEntry::QuoteAdd(QuoteAdd {
            kind: "other".into(),
            words: "conversion".into(),
            price: price.into(),
            ..QuoteAdd::default()
        })))
    }

    /// Without the quote that the sheet of this bicycle comes with.
    fn unquoted() -> Bench {
        let mut bench = trekking();
        bench.job.account = crate::account::Account::default().into();
        bench
    }

    fn line(report: &Report) -> &str {
        report.summary()
    }

    #[test]
    fn without_a_quote_parts_work_and_what_turns_up_are_added() {
        // 6.7 planned hours on a hub motor (common practice, no source) at 58 an hour are 388.60.
        let report = unquoted()
            .state(&[("budget", "450")])
            .expect(&CHECK, Verdict::Caution);
        assert!(
            line(&report).contains("6.7 h of work 388.60"),
            "{}",
            line(&report)
        );
        assert!(
            line(&report).contains("over the budget of 450.00"),
            "{}",
            line(&report)
        );
        unquoted()
            .state(&[("budget", "9000")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_quote_stands_before_the_sum_and_what_was_agreed_before_the_budget() {
        let poor = unquoted().state(&[("budget", "450")]);
        let over = quoted(poor, "1526.50");
        let report = over.expect(&CHECK, Verdict::Caution);
        assert_eq!(
            line(&report),
            "the quote comes to 1526.50: 1076.50 over the budget of 450.00"
        );
        let agreed = Command::Money(MoneyEntry::Agreed {
            total: String::new(),
            how: "by phone".into(),
        });
        over.change(&agreed).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn no_budget_and_no_price_concern_nobody() {
        unquoted().forget("budget").expect(&CHECK, Verdict::NotApplicable);
        let mut nothing_chosen = unquoted().state(&[("budget", "450")]);
        nothing_chosen.job.build.clear();
        nothing_chosen.expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_larger_budget_as_the_remedy_says_clears_it() {
        unquoted()
            .state(&[("budget", "450")])
            .cured(&CHECK, "budget=AMOUNT", |job| job.state(&[("budget", "2500")]));
    }
}
