//! The sums of an account, against a worked example and by hand.

use super::*;

fn origin() -> Origin {
    Origin {
        by: "O".to_owned(),
        terminal: "desk".to_owned(),
        made: "2026-03-05T10:00Z".parse().unwrap(),
    }
}

fn line(number: u32, kind: LineKind, price: i64, cost: i64, rework: bool) -> AccountEvent {
    AccountEvent::Quoted(QuoteLine {
        number,
        kind,
        words: "a line".to_owned(),
        price: Money(price),
        cost: Money(cost),
        minutes: 0,
        rework,
        of: None,
    })
}

fn account(events: &[AccountEvent]) -> Account {
    let mut account = Account::default();
    for event in events {
        account.take(1, &origin(), event);
    }
    account
}

fn paid(kind: PayKind, amount: i64) -> AccountEvent {
    AccountEvent::Paid {
        kind,
        amount: Money(amount),
        how: String::new(),
    }
}

/// A worked example of the trade (common practice, no source): parts sell 1,292 and cost 864,
/// labour 522, quote 1,814, deposit 725.60; 70 of parts bought again are charged at cost, the
/// invoice is 1,884 and the balance 1,158.40.
#[test]
fn a_quote_grows_by_what_had_to_be_bought_again() {
    let mut events = vec![
        line(1, LineKind::Part, 129_200, 86_400, false),
        line(2, LineKind::Labour, 52_200, 0, false),
        paid(PayKind::Deposit, 72_560),
    ];
    assert_eq!(account(&events).total(), Money(181_400));
    events.push(line(3, LineKind::Part, 7_000, 7_000, true));
    let account = account(&events);
    assert_eq!(account.total(), Money(188_400));
    assert_eq!(account.to_pay() - account.paid(), Money(115_840));
    assert_eq!(account.parts_margin(None), Money(42_800));
    assert_eq!(account.rework_parts_cost(), Money(7_000));
}

#[test]
fn the_ceiling_holds_until_the_rider_agrees_to_more() {
    let mut events = vec![
        AccountEvent::Ceiling {
            amount: Money(100_000),
        },
        line(1, LineKind::Part, 100_000, 60_000, false),
    ];
    assert_eq!(account(&events).over_ceiling(), None);
    events.push(line(2, LineKind::Other, 1, 0, false));
    assert_eq!(account(&events).over_ceiling(), Some(Money(1)));
    events.push(AccountEvent::Agreed {
        total: Money(100_001),
        how: "by phone".to_owned(),
    });
    assert_eq!(account(&events).over_ceiling(), None);
    assert_eq!(
        account(&[line(1, LineKind::Part, 5, 0, false)]).over_ceiling(),
        None
    );
}

#[test]
fn a_struck_line_is_not_owed_and_numbers_are_not_used_again() {
    let account = account(&[
        line(1, LineKind::Part, 500, 0, false),
        line(2, LineKind::Part, 700, 0, false),
        AccountEvent::Struck {
            number: 2,
            why: "not needed".to_owned(),
        },
    ]);
    assert_eq!((account.total(), account.last_line), (Money(500), 2));
}

#[test]
fn refunds_go_back_and_credits_and_write_offs_come_off() {
    let mut account = account(&[
        line(1, LineKind::Part, 10_000, 0, false),
        paid(PayKind::Deposit, 8_000),
        paid(PayKind::Refund, 3_000),
        paid(PayKind::Credit, 1_000),
        paid(PayKind::WriteOff, 500),
    ]);
    assert_eq!((account.to_pay(), account.paid()), (Money(8_500), Money(5_000)));
    // All that is paid, typed as one figure, stands for what was not entered one by one.
    account.take_typed_paid(Money(8_500));
    assert_eq!(account.paid(), Money(8_500));
    account.take(1, &origin(), &paid(PayKind::Balance, 1));
    assert_eq!(account.to_pay() - account.paid(), Money(-1));
}

#[test]
fn entries_read_as_they_were_written() {
    for event in [
        line(1, LineKind::Labour, 5, 0, false),
        AccountEvent::Struck {
            number: 1,
            why: "twice".to_owned(),
        },
        paid(PayKind::WriteOff, 7),
    ] {
        let event = crate::entry::Event::Account(event);
        let text = serde_json::to_string(&event).unwrap();
        assert_eq!(serde_json::from_str::<crate::entry::Event>(&text).unwrap(), event);
    }
}
