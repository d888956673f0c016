//! The money of a job.

use lockring_domain::after;
use lockring_domain::command::labour_rate;
use lockring_domain::fact::Value;
use lockring_domain::job::Job;
use lockring_domain::labour::at_rate;
use lockring_domain::money::Money;
use lockring_domain::outlook::planned_minutes;
use lockring_domain::stage::Stage;
use lockring_proto::v1;

use crate::report::money::Sums;
use crate::standing::Standing;

/// How a job stands: lines, payments, labour, contribution, visits.
pub(in crate::service) fn account(job: &Job, at: &Standing) -> v1::AccountView {
    let account = &job.account;
    let sums = Sums::of(job, at);
    let planned = planned_minutes(job, &at.rules);
    let planned_labour = at_rate(labour_rate(&at.rules), planned);
    let tax = account.rate(at.shop.tax_rate());
    let tax_in = |price: Money| tax.map_or(Money::ZERO, |rate| rate.tax_in(price));
    let lines = account.lines.iter().map(|line| v1::QuoteLineView {
        number: line.number,
        kind: line.kind.word().to_owned(),
        words: line.words.clone(),
        price: line.price.0,
        cost: line.cost.0,
        minutes: line.minutes,
        rework: line.rework,
        tax: tax_in(line.price).0,
        slot: line
            .of
            .as_ref()
            .map_or_else(String::new, |of| of.slot.word().to_owned()),
        left_build: job.asks_for_what_left(line),
    });
    let payments = account.payments.iter().map(|payment| v1::PaymentView {
        kind: payment.kind.word().to_owned(),
        amount: payment.amount.0,
        how: payment.how.clone(),
        by: payment.by.clone(),
        at_us: payment.at.as_microsecond(),
        taken_off: payment.kind.takes_off(),
    });
    let invoices = account.invoices.iter().map(|invoice| v1::InvoiceView {
        number: invoice.number,
        total: invoice.total.0,
        at_us: invoice.at.as_microsecond(),
    });
    // Without lines the total was typed in one sum.
    let total_tax = if account.lines.is_empty() {
        tax_in(account.total())
    } else {
        account.lines.iter().map(|line| tax_in(line.price)).sum()
    };
    v1::AccountView {
        total_tax: total_tax.0,
        tax_percent: tax.map(|rate| rate.to_string()),
        net: (sums.price - sums.tax).0,
        tax: sums.tax.0,
        job: job.number,
        rider: job.rider.clone(),
        stage: job.stage.word().to_owned(),
        lines: lines.collect(),
        total: account.total().0,
        ceiling: account.ceiling.map(|amount| amount.0),
        agreed: account.agreed.map(|amount| amount.0),
        over_ceiling: account.over_ceiling().map(|amount| amount.0),
        payments: payments.collect(),
        to_pay: account.to_pay().0,
        paid: account.paid().0,
        owed: job.balance().0,
        invoices: invoices.collect(),
        stints: stints(job),
        minutes: sums.minutes,
        rework_minutes: sums.rework_minutes,
        parts_cost: sums.parts.0,
        parts_margin: (account.parts_margin(tax) + account.parts_cost() - sums.parts).0,
        labour_cost: sums.labour.0,
        rework_cost: sums.rework.0,
        contribution: sums.contribution().0,
        first_check_due: first_check(job, at),
        first_check_km: at.rules.number("after.first-check-distance").unwrap_or(0.0) / 1000.0,
        first_check_made: job.after.first_check_made(),
        after: after_lines(job, at),
        planned_minutes: u32::try_from(planned).unwrap_or_default(),
        planned_labour: planned_labour.0,
        unpriced: unpriced(job),
        budget: match job.facts.get("budget").map(|fact| &fact.value) {
            Some(Value::Money(minor)) if account.to_pay() > account.purse(Money(*minor)) => Some(*minor),
            _ => None,
        },
    }
}

/// Pieces that were bought and are here, and nobody typed a price for.
fn unpriced(job: &Job) -> u32 {
    let pieces = job.bought_and_here();
    let unpriced = pieces.filter(|piece| job.paid_for(piece).is_none()).count();
    u32::try_from(unpriced).unwrap_or(u32::MAX)
}

fn stints(job: &Job) -> Vec<v1::StintView> {
    let view = |stint: &lockring_domain::labour::Stint| v1::StintView {
        number: stint.number,
        who: stint.who.clone(),
        stage: stint.stage.word().to_owned(),
        rework: stint
            .rework
            .map_or_else(String::new, |cause| cause.word().to_owned()),
        from_us: stint.from.as_microsecond(),
        to_us: stint.to.map(|to| to.as_microsecond()),
        minutes: stint.minutes(),
        fixed: stint.fixed.clone().unwrap_or_default(),
    };
    job.labour.stints.iter().map(view).collect()
}

fn first_check(job: &Job, at: &Standing) -> String {
    if job.stage != Stage::HandedOver {
        return String::new();
    }
    let handed_over = job.stage_since.to_zoned_datetime(at.zone.clone()).date();
    let days = at.rules.number("after.first-check-days").unwrap_or(30.0);
    // A rule of days is a small whole number.
    after::first_check_due(job.day("first-check"), handed_over, days.round() as u32).to_string()
}

fn after_lines(job: &Job, at: &Standing) -> Vec<String> {
    let day = |moment: jiff::Timestamp| moment.to_zoned_datetime(at.zone.clone()).date();
    let mut lines: Vec<(jiff::Timestamp, String)> = Vec::new();
    for visited in &job.after.visits {
        let words = after::AfterEvent::Visited(visited.visit.clone()).line();
        lines.push((
            visited.at,
            format!("{} {words} ({})", day(visited.at), visited.by),
        ));
    }
    for claim in &job.after.claims {
        let end = match &claim.settled {
            Some((at, paid, how)) => format!("settled {}, {paid} paid: {how}", day(*at)),
            None => "open".to_owned(),
        };
        let asked = claim
            .amount
            .map_or_else(String::new, |amount| format!(", {amount}"));
        lines.push((
            claim.opened,
            format!(
                "{} claim {} against {}: {}{asked}; {end}",
                day(claim.opened),
                claim.number,
                claim.against.word(),
                claim.about
            ),
        ));
    }
    for swap in &job.after.swaps {
        lines.push((
            swap.at,
            format!(
                "{} {} {} swapped for {}, paid by {}: {}",
                day(swap.at),
                swap.slot.word(),
                swap.serial_out,
                swap.serial_in,
                swap.payer.word(),
                swap.why
            ),
        ));
    }
    lines.sort();
    lines.into_iter().map(|(_, line)| line).collect()
}
