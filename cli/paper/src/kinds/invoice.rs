//! What the rider is asked to pay: lines, tax, what was paid and what is owed.

use jiff::tz::TimeZone;
use lockring_proto::v1::{AccountView, JobView, PaymentView, QuoteLineView};

use super::figures::money;
use super::handover::title;
use super::told_at;
use crate::model::{Block, Caution, Column, Document, Sheet, Table, Type};

/// A day on the paper.
const DAY: &str = "%Y-%m-%d";

/// The answers an invoice is made of.
#[derive(Debug, Clone, Copy)]
pub struct Invoice<'a> {
    /// The job.
    pub view: &'a JobView,
    /// The job's money.
    pub account: &'a AccountView,
    /// The shop's money; empty when it did not say.
    pub currency: &'a str,
    /// The workshop as its papers name it; empty when it did not say.
    pub workshop: &'a str,
}

/// The last invoice, with the account as it stands; days are in `zone`. `None` before the first invoice.
pub fn invoice(given: Invoice<'_>, zone: &TimeZone) -> Option<Document> {
    let Invoice {
        view,
        account,
        currency,
        workshop,
    } = given;
    let last = account.invoices.last()?;
    let mut about = vec![
        (
            "invoice".to_owned(),
            format!("{} of job {}", last.number, account.job),
        ),
        ("of".to_owned(), told_at(last.at_us, zone, DAY)),
        ("to".to_owned(), account.rider.clone()),
        ("asked for".to_owned(), money(last.total, currency)),
    ];
    // The one before asks for nothing any more.
    if let [.., before, _] = account.invoices.as_slice() {
        let replaced = format!("invoice {} ({})", before.number, money(before.total, currency));
        about.push(("in place of".to_owned(), replaced));
    }
    if !workshop.is_empty() {
        about.push(("from".to_owned(), workshop.to_owned()));
    }
    let mut blocks = vec![Block::Pairs(about)];
    if last.total != account.to_pay {
        blocks.push(Block::Caution(Caution::plain(
            "What is to pay has changed since this was asked for; as it stands now:",
        )));
    }
    blocks.extend([
        Block::Heading("for".to_owned()),
        Block::Table(lines(account, currency)),
        Block::Heading("to pay".to_owned()),
        Block::Pairs(sums(account, currency, zone)),
    ]);
    Some(Document {
        kind: "Invoice".to_owned(),
        title: title(view),
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: if currency.is_empty() {
            "Amounts in the workshop's own money.".to_owned()
        } else {
            String::new()
        },
        day: None,
    })
}

/// What the rider pays for; what was done again at the shop's cost stands there at nothing.
fn lines(account: &AccountView, currency: &str) -> Table {
    let line =
        |line: &QuoteLineView| vec![line.words.clone(), line.kind.clone(), money(line.price, currency)];
    let mut rows: Vec<Vec<String>> = account.lines.iter().map(line).collect();
    if rows.is_empty() {
        // A total that was typed has no lines.
        rows.push(vec![
            "the conversion".to_owned(),
            String::new(),
            money(account.total, currency),
        ]);
    }
    Table {
        columns: vec![
            Column::words("what"),
            Column::words("kind"),
            Column::numbers("price"),
        ],
        rows,
    }
}

/// From the lines' sum to what is owed, each step with its day.
fn sums(account: &AccountView, currency: &str, zone: &TimeZone) -> Vec<(String, String)> {
    let step = |one: &PaymentView| {
        let how = if one.how.is_empty() {
            String::new()
        } else {
            format!(", {}", one.how)
        };
        (
            format!("{} of {}{how}", one.kind, told_at(one.at_us, zone, DAY)),
            money(one.amount, currency),
        )
    };
    let off = |one: &&PaymentView| one.taken_off;
    let mut said = vec![("total".to_owned(), money(account.total, currency))];
    said.extend(account.payments.iter().filter(off).map(step));
    said.push(("to pay".to_owned(), money(account.to_pay, currency)));
    if let Some(percent) = &account.tax_percent {
        said.push((format!("in it: {percent} % tax"), money(account.tax, currency)));
        said.push(("in it: net".to_owned(), money(account.net, currency)));
    }
    said.extend(account.payments.iter().filter(|one| !off(one)).map(step));
    said.push(("paid".to_owned(), money(account.paid, currency)));
    said.push(if account.owed < 0 {
        ("to be given back".to_owned(), money(-account.owed, currency))
    } else {
        ("owed".to_owned(), money(account.owed, currency))
    });
    said
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::InvoiceView;

    use super::*;

    fn account() -> AccountView {
        let payment = |kind: &str, amount| PaymentView {
            kind: kind.into(),
            amount,
            // 2026-03-24T12:00Z, by the calendar.
            at_us: 1_774_353_600_000_000,
            ..PaymentView::default()
        };
        AccountView {
            job: 4,
            rider: "Ines H.".into(),
            lines: vec![QuoteLineView {
                words: "fitting".into(),
                kind: "labour".into(),
                price: 119_000,
                ..QuoteLineView::default()
            }],
            total: 119_000,
            payments: vec![
                payment("deposit", 50_000),
                PaymentView {
                    taken_off: true,
                    ..payment("credit", 0)
                },
            ],
            to_pay: 119_000,
            paid: 50_000,
            owed: 69_000,
            invoices: vec![InvoiceView {
                number: 2,
                total: 119_000,
                at_us: 1_774_353_600_000_000,
            }],
            // 1190 with 19 % in it: 1000 net and 190, by hand.
            tax_percent: Some("19".into()),
            net: 100_000,
            tax: 19_000,
            ..AccountView::default()
        }
    }

    fn made(account: &AccountView) -> Option<Document> {
        let given = Invoice {
            view: &JobView::default(),
            account,
            currency: "EUR",
            workshop: "Workshop",
        };
        invoice(given, &TimeZone::UTC)
    }

    #[test]
    fn lines_tax_payments_and_what_is_owed_stand_in_their_order() {
        let document = made(&account()).unwrap();
        let Block::Pairs(about) = &document.blocks[0] else {
            panic!("{document:?}");
        };
        assert_eq!(about[0].1, "2 of job 4");
        assert_eq!(about[1].1, "2026-03-24");
        let Block::Table(table) = &document.blocks[2] else {
            panic!("{document:?}");
        };
        assert_eq!(table.rows, [["fitting", "labour", "EUR\u{a0}1190.00"]]);
        let Block::Pairs(sums) = &document.blocks[4] else {
            panic!("{document:?}");
        };
        let told: Vec<String> = sums
            .iter()
            .map(|(name, amount)| format!("{name} {}", amount.replace('\u{a0}', " ")))
            .collect();
        assert_eq!(
            told,
            [
                "total EUR 1190.00",
                "credit of 2026-03-24 EUR 0.00",
                "to pay EUR 1190.00",
                "in it: 19 % tax EUR 190.00",
                "in it: net EUR 1000.00",
                "deposit of 2026-03-24 EUR 500.00",
                "paid EUR 500.00",
                "owed EUR 690.00",
            ]
        );
    }

    #[test]
    fn a_later_invoice_says_which_it_takes_the_place_of() {
        let mut account = account();
        let about = |account: &AccountView| match &made(account).unwrap().blocks[0] {
            Block::Pairs(about) => about.clone(),
            other => panic!("{other:?}"),
        };
        assert!(about(&account).iter().all(|(name, _)| name != "in place of"));
        account.invoices.insert(
            0,
            InvoiceView {
                number: 1,
                total: 33_610,
                at_us: 0,
            },
        );
        let replaced = ("in place of".to_owned(), "invoice 1 (EUR\u{a0}336.10)".to_owned());
        assert!(about(&account).contains(&replaced));
    }

    #[test]
    fn without_an_invoice_there_is_none_to_print_and_too_much_paid_is_given_back() {
        let moved = AccountView {
            to_pay: 100_000,
            ..account()
        };
        assert!(matches!(made(&moved).unwrap().blocks[1], Block::Caution(_)));
        let none = AccountView {
            invoices: Vec::new(),
            ..account()
        };
        assert_eq!(made(&none), None);
        let over = AccountView {
            owed: -100,
            ..account()
        };
        let said = sums(&over, "", &TimeZone::UTC);
        assert_eq!(
            said.last().unwrap(),
            &("to be given back".to_owned(), "1.00".to_owned())
        );
    }
}
