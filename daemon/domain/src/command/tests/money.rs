//! Money, labour and clocks as decided; sums are worked by hand beside them.

use super::*;
use crate::account::PayKind;
use crate::command::{MoneyEntry, QuoteAdd};
use crate::labour::{Cause, LONGEST_HOURS};
use crate::money::Money;
use crate::shop::event::ShopEvent;
use crate::shop::setting::Setting;

fn enter(entry: MoneyEntry) -> Command {
    Command::Money(entry)
}

fn pay(kind: &str, amount: &str, how: &str) -> Command {
    enter(MoneyEntry::Pay {
        kind: kind.into(),
        amount: amount.into(),
        how: how.into(),
    })
}

fn line(kind: &str, words: &str, price: &str) -> QuoteAdd {
    QuoteAdd {
        kind: kind.into(),
        words: words.into(),
        price: price.into(),
        ..QuoteAdd::default()
    }
}

/// A job with one part for 200.00 on its quote.
fn quoted() -> Journal {
    let mut journal = Journal::longtail();
    journal.change(&enter(MoneyEntry::QuoteAdd(line("part", "new wheel", "200"))));
    journal
}

/// The longtail's sheet has a budget of 2000 and a total of 1814 without lines.
#[test]
fn a_quote_over_the_budget_says_by_how_much_until_the_rider_agrees() {
    let mut journal = Journal::longtail();
    let said = |journal: &mut Journal, price: &str| {
        journal
            .change(&enter(MoneyEntry::QuoteAdd(line("part", "new wheel", price))))
            .said
            .join("\n")
    };
    assert!(!said(&mut journal, "1900").contains("budget"));
    let over = said(&mut journal, "350.50");
    assert!(
        over.contains("CAUTION: 250.50 over the budget of 2000.00"),
        "{over}"
    );
    journal.change(&enter(MoneyEntry::Agreed {
        total: String::new(),
        how: "by phone".into(),
    }));
    assert!(!said(&mut journal, "1").contains("over the budget"));
}

/// Whoever adds the line is told; the bicycle on the stand stays there.
#[test]
fn a_line_over_the_budget_sends_no_bicycle_back() {
    let mut journal = Journal::longtail();
    journal.pass(Stage::Intake);
    let dear = journal.change(&enter(MoneyEntry::QuoteAdd(line("part", "new wheel", "2350.50"))));
    assert!(
        dear.said.join("\n").contains("over the budget"),
        "{:?}",
        dear.said
    );
    assert_eq!(journal.job.stage, Stage::Parts);
}

fn refused(journal: &mut Journal, command: &Command) -> String {
    journal.try_change("K", command).unwrap_err().to_string()
}

#[test]
fn labour_is_charged_by_the_hour_at_the_shops_rate_or_the_one_given() {
    let mut journal = quoted();
    assert_eq!(labour_rate(&journal.rules), Money(5_800));
    assert_eq!(labour_cost(&journal.rules), Money(2_400));
    let hours = |hours: &str, rate: &str| {
        enter(MoneyEntry::QuoteAdd(QuoteAdd {
            hours: hours.into(),
            rate: rate.into(),
            ..line("labour", "fitting", "")
        }))
    };
    journal.change(&hours("2,5 h", ""));
    journal.change(&hours("90min", "60"));
    let account = &journal.job.account;
    // 2.5 x 58.00, and 1.5 x 60.00.
    assert_eq!(
        (account.lines[1].price, account.lines[1].minutes),
        (Money(14_500), 150)
    );
    assert_eq!(
        (account.lines[2].price, account.lines[2].minutes),
        (Money(9_000), 90)
    );
    assert_eq!(account.total(), Money(43_500));
    for bad in ["", "soon", "0", "0.4min", "60001min"] {
        assert!(
            refused(&mut journal, &hours(bad, "")).contains("no time"),
            "{bad}"
        );
    }
}

#[test]
fn a_line_of_a_slot_takes_name_and_price_of_its_part_and_a_struck_one_counts_no_more() {
    let mut journal = quoted();
    let of_slot = |slot: &str| {
        enter(MoneyEntry::QuoteAdd(QuoteAdd {
            slot: slot.into(),
            ..line("part", "", "")
        }))
    };
    journal.change(&of_slot("motor"));
    let part = journal.job.build[&Slot::Motor].part.clone();
    let Some(Value::Money(price)) = part.get("price").cloned() else {
        panic!("{part:?}")
    };
    let last = journal.job.account.lines[1].clone();
    assert_eq!((last.words.as_str(), last.price), (part.name(), Money(price)));
    let empty = Slot::ALL
        .into_iter()
        .find(|slot| !journal.job.build.contains_key(slot));
    let empty = empty.unwrap().word();
    assert!(refused(&mut journal, &of_slot(empty)).contains(&format!("has no {empty} chosen")));
    let strike = |number| {
        enter(MoneyEntry::QuoteStrike {
            number,
            why: "not needed".into(),
        })
    };
    journal.change(&strike(2));
    assert_eq!(journal.job.account.total(), Money(20_000));
    assert!(refused(&mut journal, &strike(2)).contains("no quote line 2"));
    // A number is not given twice.
    journal.change(&enter(MoneyEntry::QuoteAdd(line("other", "carriage", "9.50"))));
    assert_eq!(journal.job.account.lines.last().unwrap().number, 3);
}

#[test]
fn what_is_paid_and_taken_off_adds_up_and_no_more_goes_than_is_there() {
    let mut journal = quoted();
    let owed = |journal: &Journal| journal.job.balance();
    journal.change(&pay("deposit", "80", ""));
    assert_eq!(
        (journal.job.account.paid(), owed(&journal)),
        (Money(8_000), Money(12_000))
    );
    assert!(refused(&mut journal, &pay("refund", "80.01", "")).contains("more than the 80.00"));
    journal.change(&pay("refund", "30", ""));
    assert_eq!(
        (journal.job.account.paid(), owed(&journal)),
        (Money(5_000), Money(15_000))
    );
    journal.change(&pay("credit", "20", "scratch"));
    assert_eq!(owed(&journal), Money(13_000));
    assert!(refused(&mut journal, &pay("credit", "180.01", "scratch")).contains("more than the 180.00"));
    assert!(
        refused(&mut journal, &pay("write-off", "130.01", "moved away")).contains("more than the 130.00")
    );
    journal.change(&pay("write-off", "130", "moved away"));
    assert_eq!(owed(&journal), Money::ZERO);
    let kinds: Vec<PayKind> = journal
        .job
        .account
        .payments
        .iter()
        .map(|payment| payment.kind)
        .collect();
    assert_eq!(
        kinds,
        [
            PayKind::Deposit,
            PayKind::Refund,
            PayKind::Credit,
            PayKind::WriteOff
        ]
    );
    for (kind, amount, how, says) in [
        ("deposit", "0", "", "nothing was paid"),
        ("deposit", "-5", "", "less than nothing"),
        ("credit", "1", " ", "reason"),
        ("gift", "1", "", "gift"),
    ] {
        let said = refused(&mut journal, &pay(kind, amount, how));
        assert!(said.contains(says), "{kind} {amount}: {said}");
    }
}

#[test]
fn an_invoice_asks_for_what_is_to_be_paid_once_and_not_over_what_was_agreed() {
    let mut journal = quoted();
    let ceiling = |amount: &str| {
        enter(MoneyEntry::Ceiling {
            amount: amount.into(),
        })
    };
    let invoice = enter(MoneyEntry::Invoice);
    journal.change(&ceiling("150"));
    assert!(refused(&mut journal, &invoice).contains("50.00 over"));
    journal.change(&enter(MoneyEntry::Agreed {
        total: String::new(),
        how: "by phone".into(),
    }));
    journal.change(&invoice);
    assert_eq!(journal.job.account.invoices[0].total, Money(20_000));
    assert!(journal.change(&invoice).events.is_empty(), "it stands");
    journal.change(&pay("credit", "10", "late"));
    journal.change(&invoice);
    let invoices: Vec<(u32, Money)> = journal
        .job
        .account
        .invoices
        .iter()
        .map(|invoice| (invoice.number, invoice.total))
        .collect();
    assert_eq!(invoices, [(1, Money(20_000)), (2, Money(19_000))]);
}

/// Two hours pass before each entry.
#[test]
fn a_clock_counts_from_on_to_off_for_one_person_at_a_time() {
    let mut journal = Journal::longtail();
    let on = |stage: &str, rework: &str| {
        enter(MoneyEntry::ClockOn {
            who: String::new(),
            stage: stage.into(),
            rework: rework.into(),
        })
    };
    let off = || enter(MoneyEntry::ClockOff { who: String::new() });
    assert!(refused(&mut journal, &off()).contains("is not on"));
    journal.change(&on("", ""));
    // Two hours to the refusal, two more to the end.
    assert!(refused(&mut journal, &on("fitting", "")).contains("is on at job 21, intake, already"));
    let said = journal.change(&off()).said.join("\n");
    assert!(said.contains("K off at intake: 240 min"), "{said}");
    assert!(said.ends_with("on this job 240 min"), "{said}");
    assert!(refused(&mut journal, &on("fiting", "")).contains("fiting"));
    // No work is done at an end without a handover, nor after a handover that has not come.
    for stage in ["cancelled", "returned", Stage::HandedOver.word()] {
        assert!(refused(&mut journal, &on(stage, "")).contains(stage), "{stage}");
    }
    journal.change(&on("fitting", Cause::ALL[0].word()));
    let said = journal.change(&off()).said.join("\n");
    assert!(
        said.ends_with("on this job 360 min, 120 of them work done again"),
        "{said}"
    );
    assert_eq!(journal.job.labour.minutes(), (240, 120));
    let numbers: Vec<u32> = journal
        .job
        .labour
        .stints
        .iter()
        .map(|stint| stint.number)
        .collect();
    assert_eq!(numbers, [1, 2]);
}

#[test]
fn a_clock_that_was_forgotten_is_put_right_with_a_reason() {
    let mut journal = Journal::longtail();
    journal.change(&enter(MoneyEntry::ClockOn {
        who: String::new(),
        stage: String::new(),
        rework: String::new(),
    }));
    let began = journal.now;
    let off = enter(MoneyEntry::ClockOff { who: String::new() });
    journal.now += SignedDuration::from_hours(LONGEST_HOURS);
    let late = refused(&mut journal, &off);
    assert!(
        late.contains(&format!("more than {LONGEST_HOURS} hours later")),
        "{late}"
    );
    // A clock that was ahead when the work began.
    journal.now = began - SignedDuration::from_hours(24);
    let ahead = refused(&mut journal, &off);
    assert!(ahead.contains("was the computer's clock ahead then?"), "{ahead}");
    journal.now = began + SignedDuration::from_hours(LONGEST_HOURS + 4);
    let fix = |number, minutes: i64, why: &str| {
        enter(MoneyEntry::ClockFix {
            number,
            from: None,
            to: began + SignedDuration::from_mins(minutes),
            why: why.into(),
        })
    };
    for (number, minutes, why, says) in [
        (2, 30, "forgot", "no clock 2"),
        (1, 0, "forgot", "no piece of work"),
        (1, -5, "forgot", "no piece of work"),
        (1, LONGEST_HOURS * 60 + 1, "forgot", "no piece of work"),
        (1, 30, "", "reason"),
    ] {
        let said = refused(&mut journal, &fix(number, minutes, why));
        assert!(said.contains(says), "{number} {minutes}: {said}");
    }
    journal.change(&fix(1, 95, "forgot"));
    assert_eq!(journal.job.labour.minutes(), (95, 0));
    journal.change(&fix(1, LONGEST_HOURS * 60, "forgot"));
    assert_eq!(journal.job.labour.minutes(), (LONGEST_HOURS * 60, 0));
}

#[test]
fn a_clock_is_not_put_over_another_of_the_same_hand() {
    let mut journal = Journal::longtail();
    let on = |who: &str| {
        enter(MoneyEntry::ClockOn {
            who: who.into(),
            stage: String::new(),
            rework: String::new(),
        })
    };
    let off = enter(MoneyEntry::ClockOff { who: String::new() });
    // Every command comes two hours after the one before it: 1 is on for two hours, two hours later 2 is.
    journal.change(&on(""));
    let began = journal.now;
    journal.change(&off);
    journal.change(&on(""));
    let fix = |number, from: Option<i64>, to: i64| {
        enter(MoneyEntry::ClockFix {
            number,
            from: from.map(|hour| began + SignedDuration::from_hours(hour)),
            to: began + SignedDuration::from_hours(to),
            why: "forgot".into(),
        })
    };
    let said = refused(&mut journal, &fix(1, None, 5));
    assert!(
        said.contains("lies over clock 2 of K") && said.contains("still on"),
        "{said}"
    );
    assert!(refused(&mut journal, &fix(2, Some(1), 6)).contains("lies over clock 1 of K"));
    // End to end they stand beside each other.
    journal.change(&fix(1, None, 4));
    journal.change(&fix(2, None, 8));
    assert_eq!(journal.job.labour.minutes().0, 480);
}

/// A bicycle that is not handed over yet has no visits, claims or swaps.
#[test]
fn what_comes_after_handover_is_refused_before_it() {
    let mut journal = Journal::longtail();
    let text = String::new;
    for entry in [
        MoneyEntry::Visit {
            symptom: text(),
            odometer: "12 km".into(),
            found: "spokes tightened".into(),
            cause: text(),
            payer: text(),
            first_check: true,
        },
        MoneyEntry::Claim {
            against: "supplier".into(),
            about: "dead".into(),
            amount: text(),
        },
        MoneyEntry::Swap {
            slot: "motor".into(),
            serial_out: text(),
            payer: "shop".into(),
            why: "dead".into(),
            found: Vec::new(),
            came: ReceiptText {
                serial: "2".into(),
                ..ReceiptText::default()
            },
        },
    ] {
        assert!(refused(&mut journal, &enter(entry)).contains("comes after handover"));
    }
    let settle = enter(MoneyEntry::ClaimSettle {
        number: 1,
        paid: text(),
        how: "refused".into(),
    });
    assert!(refused(&mut journal, &settle).contains("no open claim 1"));
}

#[test]
fn a_payment_before_anything_was_quoted_quotes_nothing() {
    let fact = |journal: &Journal, key: &str| journal.job.facts.get(key).map(|fact| fact.value.clone());
    let mut journal = Journal::longtail();
    for entry in &mut journal.entries {
        if let Event::Stated { values, .. } = &mut entry.event {
            values.remove("quote");
        }
    }
    journal.job = Job::fold(&journal.entries).unwrap();
    journal.change(&pay("deposit", "80", ""));
    assert_eq!(
        (fact(&journal, "quote"), fact(&journal, "paid")),
        (None, Some(Value::Money(8_000)))
    );
    let add = |price: &str| enter(MoneyEntry::QuoteAdd(line("part", "new wheel", price)));
    journal.change(&add("200"));
    assert_eq!(fact(&journal, "quote"), Some(Value::Money(20_000)));
    // What is taken off is taken off the figure that lists show; agreeing to it changes none.
    journal.change(&pay("credit", "20", "scratch"));
    assert_eq!(fact(&journal, "quote"), Some(Value::Money(18_000)));
    let strike = enter(MoneyEntry::QuoteStrike {
        number: 1,
        why: "not needed".into(),
    });
    journal.change(&strike);
    assert_eq!(fact(&journal, "quote"), None, "nothing is quoted any more");
    assert_eq!(fact(&journal, "paid"), Some(Value::Money(8_000)));
    // With a total typed instead there is one to invoice; without either there is none.
    let invoice = enter(MoneyEntry::Invoice);
    assert!(refused(&mut journal, &invoice).contains("nothing to invoice"));
    journal.change(&Command::State {
        group: None,
        values: vec![Typed::new("quote", "300")],
        assumed: false,
    });
    assert_eq!(fact(&journal, "quote"), Some(Value::Money(30_000)));
    journal.change(&invoice);
    assert_eq!(journal.job.account.invoices[0].total, Money(28_000));
    // It was invoiced: what is added adds to it.
    journal.change(&add("100"));
    assert_eq!(journal.job.account.total(), Money(40_000));
}

/// 1814 typed by the sheet: agreed to, it stays and 22 make 1836; not agreed to, whoever adds a line is told.
#[test]
fn one_more_line_never_takes_the_agreed_total_away() {
    let add = enter(MoneyEntry::QuoteAdd(line("part", "new chain", "22")));
    let mut journal = Journal::longtail();
    journal.change(&enter(MoneyEntry::Agreed {
        total: String::new(),
        how: "by phone".into(),
    }));
    let said = journal.change(&add).said.join("\n");
    let account = &journal.job.account;
    assert_eq!(account.total(), Money(183_600));
    assert_eq!(account.lines[0].words, "as agreed");
    assert!(
        said.contains("total 1836.00") && said.contains("quote 21 strike 1"),
        "{said}"
    );
    assert!(said.contains("22.00 over what the rider agreed to"), "{said}");
    // Told line by line after all, what was agreed to goes by the word that was offered.
    journal.change(&enter(MoneyEntry::QuoteStrike {
        number: 1,
        why: "told line by line".into(),
    }));
    assert_eq!(journal.job.account.total(), Money(2_200));
    let mut told = Journal::longtail();
    let said = told.change(&add).said.join("\n");
    assert!(
        said.contains("CAUTION: lines stand before the total that was typed"),
        "{said}"
    );
    assert!(said.contains("1814.00 counts no more"), "{said}");
}

/// By hand: 1814 agreed to, 1900 typed anew, 22 more: 1922, of which nobody agreed to 108.
#[test]
fn a_total_typed_anew_is_not_called_agreed() {
    let mut journal = Journal::longtail();
    journal.change(&enter(MoneyEntry::Agreed {
        total: String::new(),
        how: "by phone".into(),
    }));
    journal.change(&Command::State {
        group: None,
        values: vec![Typed::new("quote", "1900")],
        assumed: false,
    });
    let add = enter(MoneyEntry::QuoteAdd(line("part", "new chain", "22")));
    let said = journal.change(&add).said.join("\n");
    let account = &journal.job.account;
    assert_eq!(account.total(), Money(192_200));
    assert_eq!(account.lines[0].words, "as told");
    assert!(
        said.contains("the total typed before stays, as line 1") && !said.contains("agreed total"),
        "{said}"
    );
    assert!(said.contains("108.00 over what the rider agreed to"), "{said}");
}

/// A sum typed beside the entries that make it would count twice.
#[test]
fn a_sum_is_not_typed_beside_the_entries_that_make_it() {
    let mut journal = Journal::longtail();
    let paid = |journal: &mut Journal, sum: &str| journal.try_change("K", &measure(&[("paid", sum)]));
    // Typed first and entered one by one from then on: both count once.
    let typed = paid(&mut journal, "100").unwrap();
    journal.store(&typed);
    journal.change(&pay("balance", "570.50", ""));
    assert_eq!(journal.job.account.paid(), Money(67_050));
    let refusal = paid(&mut journal, "670.50").unwrap_err();
    assert!(
        refusal.hint.unwrap().contains("lockring pay 21"),
        "{}",
        refusal.message
    );
    assert_eq!(journal.job.account.paid(), Money(67_050));
    journal.change(&enter(MoneyEntry::QuoteAdd(line("part", "new wheel", "200"))));
    let quote = Command::State {
        group: None,
        values: vec![Typed::new("quote", "300")],
        assumed: false,
    };
    let refusal = journal.try_change("K", &quote).unwrap_err();
    assert!(refusal.hint.unwrap().contains("lockring quote 21 add"));
}

#[test]
fn what_is_paid_is_asked_for_as_a_payment() {
    let how = code::find("paid").unwrap().how_to_record(21);
    assert_eq!(how, "lockring pay 21 --kind balance …");
}

/// Exactly what is there may go, a hundredth more may not.
#[test]
fn the_last_hundredth_may_be_given_back_and_taken_off() {
    let mut journal = quoted();
    journal.change(&pay("deposit", "80", ""));
    journal.change(&pay("refund", "80", ""));
    assert_eq!(journal.job.account.paid(), Money::ZERO);
    journal.change(&pay("credit", "150", "late"));
    assert!(refused(&mut journal, &pay("credit", "50.01", "late")).contains("more than"));
    journal.change(&pay("credit", "50", "late"));
    assert_eq!(journal.job.account.to_pay(), Money::ZERO);
    assert!(refused(&mut journal, &pay("write-off", "0.01", "late")).contains("more than"));
    let mut journal = quoted();
    let ceiling = |amount: &str| {
        enter(MoneyEntry::Ceiling {
            amount: amount.into(),
        })
    };
    let said = journal.change(&ceiling("200")).said.join("\n");
    assert!(!said.contains("CAUTION"), "{said}");
    let said = journal.change(&ceiling("199.99")).said.join("\n");
    assert!(said.contains("CAUTION: 0.01 over"), "{said}");
}

#[test]
fn a_clock_of_the_longest_day_ends_and_one_second_more_does_not() {
    let on = enter(MoneyEntry::ClockOn {
        who: String::new(),
        stage: String::new(),
        rework: String::new(),
    });
    let off = enter(MoneyEntry::ClockOff { who: String::new() });
    for (seconds, ends) in [(0, true), (1, false)] {
        let mut journal = Journal::longtail();
        journal.change(&on);
        // Two hours pass before each entry.
        journal.now += SignedDuration::from_hours(LONGEST_HOURS - 2) + SignedDuration::from_secs(seconds);
        assert_eq!(journal.try_change("K", &off).is_ok(), ends, "{seconds}");
    }
}

fn set(journal: &mut Journal, setting: Setting, value: &str) {
    let given = ShopEvent::Set {
        setting,
        value: setting.read(value).unwrap(),
        why: String::new(),
    };
    let by = origin("K", journal.now);
    journal.shop.take(1, &by, &given);
}

/// 357.00 holds 57.00 of 19 %; 22.00 and 19 % are 26.18; 0.5 h at 60.00 and 19 % are 35.70; 10.00 off hold 1.60 (10 / 1.19
/// = 8.4034): by hand.
#[test]
fn a_tax_is_parted_out_of_what_is_paid_to_the_hundredth() {
    let mut journal = Journal::longtail();
    let add = |price: &str| enter(MoneyEntry::QuoteAdd(line("part", "wheel", price)));
    let invoice = || enter(MoneyEntry::Invoice);
    set(&mut journal, Setting::TaxRate, "19");
    let said = journal.change(&add("357")).said.join("\n");
    assert!(said.contains("prices hold 19 % tax"), "{said}");
    assert!(
        said.contains("net 300.00, tax 19 % 57.00, to pay 357.00"),
        "{said}"
    );
    // The catalogue's price and the shop's own rate hold it, too: 58.00 an hour.
    set(&mut journal, Setting::TypedPrices, "without-tax");
    journal.change(&add("22"));
    let work = |rate: &str| {
        enter(MoneyEntry::QuoteAdd(QuoteAdd {
            hours: "30min".into(),
            rate: rate.into(),
            ..line("labour", "fitting", "")
        }))
    };
    journal.change(&work("60"));
    journal.change(&work(""));
    let prices: Vec<i64> = journal
        .job
        .account
        .lines
        .iter()
        .map(|line| line.price.0)
        .collect();
    assert_eq!(prices, [35_700, 2_618, 3_570, 2_900]);
    journal.change(&enter(MoneyEntry::Pay {
        kind: "credit".into(),
        amount: "10".into(),
        how: "scratch".into(),
    }));
    // 300.00 + 22.00 + 30.00 + 24.37 (29 / 1.19 = 24.3697) - 8.40.
    let account = &journal.job.account;
    assert_eq!(
        (account.net(account.tax), account.to_pay()),
        (Money(36_797), Money(43_788))
    );
    let said = journal.change(&invoice()).said.join("\n");
    assert!(said.contains("invoice 1: 437.88"), "{said}");
    assert!(
        said.contains("net 367.97, tax 19 % 69.91, to pay 437.88"),
        "{said}"
    );

    // Another rate meanwhile: a quote holds one as long as a line stands.
    set(&mut journal, Setting::TaxRate, "20");
    let said = journal.change(&add("10")).said.join("\n");
    assert!(!said.contains("20 %") && said.contains("19 %"), "{said}");
    for number in 1..=5 {
        journal.change(&enter(MoneyEntry::QuoteStrike {
            number,
            why: "anew".into(),
        }));
    }
    let said = journal.change(&add("10")).said.join("\n");
    assert!(
        said.contains("prices hold 20 % tax") && said.contains("wheel, 12.00"),
        "{said}"
    );
}

#[test]
fn without_a_rate_no_tax_is_told_and_nothing_comes_on_top() {
    let mut journal = Journal::longtail();
    set(&mut journal, Setting::TypedPrices, "without-tax");
    let said = journal
        .change(&enter(MoneyEntry::QuoteAdd(line("part", "wheel", "22"))))
        .said
        .join("\n");
    assert!(said.contains("total 22.00") && !said.contains("tax"), "{said}");
    let account = &journal.job.account;
    assert_eq!((account.tax, account.net(None)), (None, Money(2_200)));
    // A total typed without lines is parted when it is asked for.
    let mut journal = Journal::longtail();
    journal.change(&Command::State {
        group: None,
        values: vec![Typed::new("quote", "119")],
        assumed: false,
    });
    set(&mut journal, Setting::TaxRate, "19");
    let said = journal.change(&enter(MoneyEntry::Invoice)).said.join("\n");
    assert!(
        said.contains("net 100.00, tax 19 % 19.00, to pay 119.00"),
        "{said}"
    );
}

/// 119.00 holds 19.00 of 19 %: by hand.
#[test]
fn what_was_quoted_before_a_rate_was_named_holds_it_unless_it_was_asked_for_without() {
    let strike = |number| {
        enter(MoneyEntry::QuoteStrike {
            number,
            why: "anew".into(),
        })
    };
    let rate = |journal: &Journal| {
        let rate = journal.job.account.rate(journal.shop.tax_rate());
        rate.map(|rate| rate.to_string())
    };
    let named = Some("19".to_owned());
    let mut journal = Journal::longtail();
    journal.change(&enter(MoneyEntry::QuoteAdd(line("part", "wheel", "119"))));
    assert_eq!(rate(&journal), None);
    set(&mut journal, Setting::TaxRate, "19");
    // The account tells what its invoice will.
    assert_eq!(rate(&journal), named);
    let said = journal.change(&enter(MoneyEntry::Invoice)).said.join("\n");
    assert!(
        said.contains("net 100.00, tax 19 % 19.00, to pay 119.00"),
        "{said}"
    );
    // No line stands: neither does its rate.
    let said = journal.change(&strike(1)).said.join("\n");
    assert_eq!(journal.job.account.tax, None, "{said}");

    // Asked for without a tax it stays without one, a line that joins it also.
    let mut journal = Journal::longtail();
    journal.change(&enter(MoneyEntry::QuoteAdd(line("part", "wheel", "119"))));
    journal.change(&enter(MoneyEntry::Invoice));
    set(&mut journal, Setting::TaxRate, "19");
    assert_eq!(rate(&journal), None);
    let said = journal
        .change(&enter(MoneyEntry::QuoteAdd(line("part", "bell", "9"))))
        .said
        .join("\n");
    assert!(!said.contains("tax"), "{said}");
    assert_eq!(rate(&journal), None);
    journal.change(&enter(MoneyEntry::Invoice));
    assert_eq!(rate(&journal), None);

    // A total typed without lines holds the rate of its invoice, whatever line came and went.
    let mut journal = Journal::longtail();
    set(&mut journal, Setting::TaxRate, "19");
    journal.change(&enter(MoneyEntry::Invoice));
    set(&mut journal, Setting::TaxRate, "20");
    assert_eq!(rate(&journal), named);
    journal.change(&enter(MoneyEntry::QuoteAdd(line("part", "bell", "9"))));
    // The total itself stood as a line beside it.
    journal.change(&strike(2));
    journal.change(&strike(1));
    assert_eq!(rate(&journal), named);
    journal.change(&enter(MoneyEntry::Pay {
        kind: "credit".into(),
        amount: "10".into(),
        how: "scratch".into(),
    }));
    assert_eq!(rate(&journal), named);
}

/// Sums by hand: 1884 quoted, 700 and 1184 paid, 1184 once more.
#[test]
fn what_was_paid_too_much_is_said_and_goes_back_in_the_words_that_were_printed() {
    let mut journal = Journal::longtail();
    journal.change(&enter(MoneyEntry::QuoteAdd(line("other", "all of it", "1884"))));
    let fair = journal.change(&pay("deposit", "700", "card")).said.join("\n");
    assert!(!fair.contains("CAUTION"), "{fair}");
    let fair = journal.change(&pay("balance", "1184", "card")).said.join("\n");
    assert!(!fair.contains("CAUTION"), "{fair}");
    let said = journal.change(&pay("balance", "1184", "card")).said.join("\n");
    assert!(
        said.contains("CAUTION: 1184.00 more than there is to pay")
            && said.contains("`lockring pay 21 1184.00 --kind refund`")
            && said.contains(&format!("`lockring undo 21 --entry {}`", journal.job.revision)),
        "{said}"
    );
    assert_eq!(journal.job.refund_due(), Some(Money(118_400)));
    let said = journal.change(&pay("refund", "1184.00", "")).said.join("\n");
    assert!(!said.contains("CAUTION"), "{said}");
    assert_eq!(journal.job.refund_due(), None);
}

#[test]
fn a_bicycle_that_is_not_converted_leaves_what_was_paid_to_give_back() {
    for end in ["returned", "cancelled"] {
        let mut journal = Journal::longtail();
        journal.change(&pay("deposit", "500", "card"));
        let close = Command::Close {
            end: end.into(),
            why: "rider bought another".into(),
        };
        let said = journal.change(&close).said.join("\n");
        assert!(
            said.contains("refund due, 500.00 of the 500.00 paid")
                && said.contains("`lockring pay 21 500.00 --kind refund`"),
            "{said}"
        );
        // What the shop keeps for its work is invoiced; the rest goes back.
        journal.change(&enter(MoneyEntry::QuoteAdd(line("other", "inspection", "60"))));
        journal.change(&enter(MoneyEntry::Invoice));
        assert_eq!(journal.job.refund_due(), Some(Money(44_000)), "{end}");
        journal.change(&pay("refund", "440", ""));
        assert_eq!(journal.job.refund_due(), None, "{end}");
        assert!(!journal.job.is_outstanding(), "{end}");
    }
}

/// By hand: 1000 quoted, 300 paid and returned: 300 go back. 60 invoiced: 240 go back. 10 taken off it since: 250.
#[test]
fn of_a_bicycle_given_up_every_place_says_the_same_of_who_owes_whom() {
    let zone = TimeZone::UTC;
    for end in ["returned", "cancelled"] {
        let mut journal = Journal::longtail();
        journal.change(&enter(MoneyEntry::QuoteAdd(line("part", "conversion", "1000"))));
        journal.change(&Command::Close {
            end: end.into(),
            why: "rider bought another".into(),
        });
        assert_eq!(
            (journal.job.owed(), journal.job.to_pay()),
            (Some(Money::ZERO), Money::ZERO)
        );
        let said = journal.change(&pay("deposit", "300", "card")).said.join("\n");
        assert!(said.contains("paid 300.00 of 0.00, owed -300.00"), "{said}");
        assert!(
            said.contains("CAUTION: 300.00 more than there is to pay"),
            "{said}"
        );
        let today = zone.to_datetime(journal.now).date();
        let against = journal.at_desk(|desk| against(&journal.job, &[], today, desk));
        let against: Vec<&str> = against.iter().map(|one| one.why.as_str()).collect();
        assert!(
            against.contains(&"the shop owes 300.00 for job 21"),
            "{against:?}"
        );
        // Nothing more than what was asked for is written off.
        let refusal = journal.refused(&pay("write-off", "700", "will not come"));
        assert!(
            refusal.message.contains("more than the 0.00 to pay"),
            "{}",
            refusal.message
        );

        let strike = MoneyEntry::QuoteStrike {
            number: 1,
            why: "not converted".into(),
        };
        journal.change(&enter(strike));
        journal.change(&enter(MoneyEntry::QuoteAdd(line("other", "inspection", "60"))));
        let said = journal.change(&enter(MoneyEntry::Invoice)).said.join("\n");
        assert!(said.contains("paid 300.00, owed -240.00"), "{said}");
        journal.change(&pay("credit", "10", "long wait"));
        assert_eq!(journal.job.refund_due(), Some(Money(25_000)));
        // Invoiced anew the credit is in the invoice, and comes off once.
        journal.change(&enter(MoneyEntry::Invoice));
        assert_eq!(journal.job.refund_due(), Some(Money(25_000)));
    }
}

/// By hand: 313.20 and 22.90 are 263.19 and 19.24 without 19 %, 282.43 together; 336.10 as one amount would be 282.44.
#[test]
fn an_invoice_parts_its_tax_as_before_and_its_lines_cost_what_they_did_once_the_bicycle_is_given_up() {
    let mut journal = Journal::longtail();
    set(&mut journal, Setting::TaxRate, "19");
    journal.change(&enter(MoneyEntry::QuoteAdd(QuoteAdd {
        hours: "5.4h".into(),
        ..line("labour", "fitting", "313.20")
    })));
    journal.change(&enter(MoneyEntry::QuoteAdd(QuoteAdd {
        cost: "12".into(),
        ..line("part", "chain", "22.90")
    })));
    journal.change(&enter(MoneyEntry::Invoice));
    let told = |journal: &Journal| {
        let job = &journal.job;
        (job.net(job.account.tax), job.parts_cost())
    };
    assert_eq!(told(&journal), (Money(28_243), Money(1_200)));
    journal.change(&Command::Close {
        end: "returned".into(),
        why: "rider bought another".into(),
    });
    assert_eq!(told(&journal), (Money(28_243), Money(1_200)));
    // Lines that were never asked for are not paid, and nobody knows which of the others were.
    journal.change(&enter(MoneyEntry::QuoteAdd(line("other", "carriage", "10"))));
    assert_eq!(told(&journal), (Money(28_244), Money::ZERO));
}

/// The motor costs 610 by the catalogue of the tests.
#[test]
fn parts_of_the_build_that_no_line_asks_for_are_named_when_ordered_and_invoiced() {
    let mut journal = Journal::longtail();
    let prices = journal
        .job
        .build
        .values()
        .filter_map(|line| match line.part.get("price") {
            Some(Value::Money(minor)) => Some(Money(*minor)),
            _ => None,
        });
    let (count, sum) = (prices.clone().count(), prices.sum::<Money>());
    let order = Command::Order {
        slots: vec!["motor".into()],
        supplier: "M".into(),
        due: None,
        price: String::new(),
    };
    let said = |journal: &mut Journal, command: &Command| {
        let said = journal.try_change("K", command).unwrap().said;
        said.into_iter()
            .find(|line| line.contains("in no quote line"))
            .unwrap_or_default()
    };
    // A total typed without lines is for all of it.
    assert_eq!(said(&mut journal, &order), "");
    journal.change(&enter(MoneyEntry::QuoteAdd(QuoteAdd {
        kind: "labour".into(),
        words: "fitting".into(),
        hours: "6".into(),
        ..QuoteAdd::default()
    })));
    for command in [&order, &enter(MoneyEntry::Invoice)] {
        let told = said(&mut journal, command);
        assert!(
            told.starts_with(&format!(
                "CAUTION: {count} parts of the build stand in no quote line (catalogue {sum}): motor, "
            )) && told.ends_with("`lockring quote 21 add part --slot motor`"),
            "{told}"
        );
    }
    // As it says, each by itself.
    journal.change(&enter(MoneyEntry::QuoteAdd(QuoteAdd {
        kind: "part".into(),
        slot: "motor".into(),
        ..QuoteAdd::default()
    })));
    let told = said(&mut journal, &order);
    assert!(
        told.starts_with(&format!("CAUTION: {} parts", count - 1)) && !told.contains(": motor, "),
        "{told}"
    );
    // Or by one line for all of them.
    journal.change(&enter(MoneyEntry::QuoteAdd(line(
        "part",
        "everything else",
        &(sum - Money(61_000)).to_string(),
    ))));
    assert_eq!(said(&mut journal, &order), "");
}

/// An amount of another currency is nobody's to turn into the shop's: each place that books one refuses it and stores nothing.
#[test]
fn an_amount_in_another_currency_is_refused_with_the_shops_own() {
    let mut journal = quoted();
    set(&mut journal, Setting::Currency, "EUR");
    let add = |price: &str, cost: &str| {
        let mut line = line("part", "wheel", price);
        line.cost = cost.into();
        enter(MoneyEntry::QuoteAdd(line))
    };
    let order = |price: &str| supply::order(&["motor"], price);
    let budget = |text: &str| Command::State {
        group: Some(code::Group::Brief),
        values: vec![Typed::new("budget", text)],
        assumed: false,
    };
    for command in [
        order("520 USD"),
        add("30 CHF", ""),
        add("30", "300 USD"),
        pay("deposit", "$100", ""),
        budget("2000 GBP"),
        enter(MoneyEntry::Ceiling {
            amount: "£2000".into(),
        }),
    ] {
        let entries = journal.entries.len();
        let refusal = journal.try_change("K", &command).unwrap_err();
        assert!(
            refusal.message.contains("the shop counts in EUR"),
            "{command:?}: {refusal}"
        );
        assert_eq!(journal.entries.len(), entries);
    }
    for command in [order("520 EUR"), add("€30", "12 eur"), budget("2000")] {
        journal.change(&command);
    }
}
