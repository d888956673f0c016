//! A job's money on a screen, and as CSV.

use lockring_proto::v1::AccountView;

use crate::command_error::{CommandError, Exit};
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, times};

/// Hundredths as an amount.
pub(crate) fn amount(hundredths: i64) -> String {
    let sign = if hundredths < 0 { "-" } else { "" };
    let size = hundredths.unsigned_abs();
    format!("{sign}{}.{:02}", size / 100, size % 100)
}

/// Minutes as hours and minutes.
fn hours(minutes: i64) -> String {
    format!("{}:{:02} h", minutes / 60, minutes % 60)
}

/// Prints a job's money.
pub(crate) fn print(out: &mut Out<'_>, view: &AccountView) -> Result<(), CommandError> {
    out.heading(&format!("Job {}, {}, at {}", view.job, view.rider, view.stage))?;
    if !view.lines.is_empty() {
        let mut table = Table::new(["line", "kind", "what", "price", "cost"]);
        for line in &view.lines {
            let mark = match line {
                line if line.rework => " (rework)",
                line if line.left_build => " (not in the build)",
                _ => "",
            };
            let time = match line.minutes {
                0 => String::new(),
                minutes => format!(", {}", hours(minutes.into())),
            };
            table.row([
                Cell::from(line.number.to_string()),
                line.kind.clone().into(),
                format!("{}{time}{mark}", line.words).into(),
                amount(line.price).into(),
                amount(line.cost).into(),
            ]);
        }
        table.print(out)?;
    }
    let mut total = format!("total {}", amount(view.total));
    if let Some(ceiling) = view.ceiling {
        total.push_str(&format!(", no call needed up to {}", amount(ceiling)));
    }
    if let Some(agreed) = view.agreed {
        total.push_str(&format!(", rider agreed to {}", amount(agreed)));
    }
    out.wrapped("", "  ", &total)?;
    if let Some(over) = view.over_ceiling {
        let word = out.paint(Paint::Caution, "! over");
        out.line(format_args!(
            "{word} what the rider agreed to by {}",
            amount(over)
        ))?;
    }
    if let Some(budget) = view.budget {
        let word = out.paint(Paint::Caution, "! over");
        out.line(format_args!(
            "{word} the budget of {} by {}",
            amount(budget),
            amount(view.to_pay - budget)
        ))?;
    }
    for payment in &view.payments {
        let how = if payment.how.is_empty() {
            String::new()
        } else {
            format!(", {}", payment.how)
        };
        let when = times::moment(payment.at_us, &out.look.zone.clone());
        let line = format!(
            "{} {}{how} ({when}, {})",
            payment.kind,
            amount(payment.amount),
            payment.by
        );
        out.wrapped("  ", "    ", &line)?;
    }
    // Of a bicycle that was not converted only what was invoiced is owed.
    let is_owed_in_full = view.owed == view.to_pay - view.paid;
    out.line(format_args!(
        "{} {}, paid {}, owed {}{}",
        if is_owed_in_full { "to pay" } else { "quoted" },
        amount(view.to_pay),
        amount(view.paid),
        amount(view.owed),
        if is_owed_in_full {
            ""
        } else {
            " (not converted: what was invoiced is to pay)"
        },
    ))?;
    if let Some(percent) = &view.tax_percent {
        out.line(format_args!(
            "net {}, tax {percent} % {}, together {}",
            amount(view.net),
            amount(view.tax),
            amount(view.net + view.tax)
        ))?;
    }
    if let Some(invoice) = view.invoices.last() {
        out.line(format_args!(
            "invoice {}: {}",
            invoice.number,
            amount(invoice.total)
        ))?;
    }
    print_labour(out, view)?;
    out.wrapped(
        "",
        "  ",
        &format!(
            "contribution {} = {} - parts {} - labour {} - rework {}",
            amount(view.contribution),
            amount(view.net),
            amount(view.parts_cost),
            amount(view.labour_cost),
            amount(view.rework_cost)
        ),
    )?;
    if view.unpriced > 0 {
        let pieces = times::count_of(
            view.unpriced.into(),
            "part that is here has",
            "parts that are here have",
        );
        out.wrapped(
            "",
            "  ",
            &format!("{pieces} no price: what they cost may not be taken off yet"),
        )?;
    }
    if !view.first_check_due.is_empty() {
        let made = if view.first_check_made { " (made)" } else { "" };
        out.line(format_args!(
            "first check: {} or {:.0} km{made}",
            times::day(&view.first_check_due),
            view.first_check_km
        ))?;
    }
    view.after
        .iter()
        .try_for_each(|line| out.wrapped("  ", "    ", line))
}

fn print_labour(out: &mut Out<'_>, view: &AccountView) -> Result<(), CommandError> {
    for stint in &view.stints {
        let zone = out.look.zone.clone();
        let length = match stint.to_us {
            Some(_) => hours(stint.minutes),
            None => "still on".to_owned(),
        };
        let mut words = vec![format!(
            "clock {} {} at {}, {length} from {}",
            stint.number,
            stint.who,
            stint.stage,
            times::moment(stint.from_us, &zone)
        )];
        words.extend(Some(format!("again because of {}", stint.rework)).filter(|_| !stint.rework.is_empty()));
        words.extend(Some(format!("put right: {}", stint.fixed)).filter(|_| !stint.fixed.is_empty()));
        out.wrapped("  ", "    ", &words.join(", "))?;
    }
    if view.minutes + view.rework_minutes > 0 {
        out.line(format_args!(
            "on the clock {}, done again {}",
            hours(view.minutes),
            hours(view.rework_minutes)
        ))?;
    }
    Ok(())
}

/// Prints lines and payments as CSV (RFC 4180).
pub(crate) fn print_csv(out: &mut Out<'_>, view: &AccountView) -> Result<(), CommandError> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::error::Error| {
        CommandError::new(Exit::Unexpected, format!("the CSV cannot be written: {error}"))
    };
    let job = view.job.to_string();
    let mut records = vec![["job", "entry", "kind", "what", "price", "cost", "minutes"].map(str::to_owned)];
    for line in &view.lines {
        let kind = if line.rework {
            format!("{}-rework", line.kind)
        } else {
            line.kind.clone()
        };
        records.push([
            job.clone(),
            "line".to_owned(),
            kind,
            line.words.clone(),
            amount(line.price),
            amount(line.cost),
            line.minutes.to_string(),
        ]);
    }
    for payment in &view.payments {
        records.push([
            job.clone(),
            "payment".to_owned(),
            payment.kind.clone(),
            payment.how.clone(),
            amount(payment.amount),
            String::new(),
            String::new(),
        ]);
    }
    for record in records {
        writer.write_record(record).map_err(|error| failed(&error))?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(&error))?;
    let text = String::from_utf8(bytes).map_err(|error| failed(&error))?;
    out.raw(&text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_without_a_price_are_told_beside_the_contribution() {
        let shown = |unpriced: u32| {
            let view = AccountView {
                unpriced,
                ..AccountView::default()
            };
            crate::output::samples::text(100, |out| print(out, &view))
        };
        assert!(
            shown(11).contains("11 parts that are here have no price"),
            "{}",
            shown(11)
        );
        assert!(
            shown(1).contains("1 part that is here has no price"),
            "{}",
            shown(1)
        );
        assert!(!shown(0).contains("no price"));
    }

    #[test]
    fn a_total_over_the_budget_says_by_how_much() {
        let shown = |budget: Option<i64>| {
            let view = AccountView {
                total: 152_650,
                to_pay: 152_650,
                budget,
                ..AccountView::default()
            };
            crate::output::samples::text(100, |out| print(out, &view))
        };
        let over = shown(Some(45_000));
        assert!(over.contains("! over the budget of 450.00 by 1076.50"), "{over}");
        assert!(!shown(None).contains("budget"));
    }

    #[test]
    fn amounts_and_hours_are_written_out() {
        assert_eq!(
            [0, 7, -1_205, 188_400].map(amount),
            ["0.00", "0.07", "-12.05", "1884.00"]
        );
        assert_eq!([0, 59, 402].map(hours), ["0:00 h", "0:59 h", "6:42 h"]);
    }
}
