//! Entries about money, labour and the time after handover, to play with.

use lockring_domain::account::{AccountEvent, LineKind, PayKind, QuoteLine};
use lockring_domain::after::{AfterEvent, Payer, Visit};
use lockring_domain::entry::Event;
use lockring_domain::labour::{Cause, LabourEvent};
use lockring_domain::money::Money;
use lockring_domain::part::Slot;
use lockring_domain::receipt::Receipt;
use lockring_domain::stage::Stage;
use lockring_domain::tax::TaxRate;

use super::{at, receipt};

/// One of each kind.
pub(super) fn money_events() -> Vec<Event> {
    let account = [
        AccountEvent::Quoted(QuoteLine {
            number: 1,
            kind: LineKind::Labour,
            words: "fitting".into(),
            price: Money(31_320),
            cost: Money(7),
            minutes: 324,
            rework: true,
            of: None,
        }),
        AccountEvent::Struck {
            number: 1,
            why: "twice".into(),
        },
        AccountEvent::Ceiling { amount: Money(9) },
        AccountEvent::Agreed {
            total: Money(10),
            how: "by phone".into(),
        },
        AccountEvent::Paid {
            kind: PayKind::WriteOff,
            amount: Money(3),
            how: "moved away".into(),
        },
        AccountEvent::Invoiced {
            number: 1,
            total: Money(-3),
        },
        AccountEvent::Taxed {
            rate: TaxRate::read("8.1").unwrap(),
        },
    ];
    let labour = [
        LabourEvent::ClockedOn {
            number: 1,
            who: "K".into(),
            stage: Stage::Fitting,
            rework: Some(Cause::OurWork),
        },
        LabourEvent::ClockedOff { number: 1 },
        LabourEvent::ClockFixed {
            number: 1,
            from: at(1),
            to: at(2),
            why: "forgot it".into(),
        },
    ];
    let seen = Receipt {
        volts: Some(36.5),
        papers: Some("UN 38.3 summary".into()),
        ..receipt(Slot::Pack, "3", "L")
    };
    let after = [
        AfterEvent::Visited(Visit {
            symptom: "creaks".into(),
            odometer_km: Some(140),
            found: "lock ring loose".into(),
            cause: Some(Cause::Wear),
            payer: Some(Payer::Shop),
            first_check: true,
        }),
        AfterEvent::Claimed {
            number: 1,
            against: Payer::Supplier,
            about: "controller".into(),
            amount: None,
        },
        AfterEvent::ClaimSettled {
            number: 1,
            paid: Money(5),
            how: "credit note".into(),
        },
        AfterEvent::Swapped {
            slot: Slot::Pack,
            serial_out: "1".into(),
            serial_in: "2".into(),
            lot_in: "L".into(),
            payer: Payer::Rider,
            why: "dropped".into(),
        },
        AfterEvent::Replaced {
            serial_out: "2".into(),
            came: seen.clone(),
            payer: Payer::Supplier,
            why: "recalled".into(),
        },
        AfterEvent::LookedAt(seen),
    ];
    let account = account.into_iter().map(Event::Account);
    let labour = labour.into_iter().map(Event::Labour);
    let after = after.into_iter().map(Event::After);
    account.chain(labour).chain(after).collect()
}
