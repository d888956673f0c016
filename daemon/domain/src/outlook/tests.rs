//! Tests of the earliest finish. Jobs and shops are invented; days are counted by hand on the
//! Gregorian calendar, on which 2 March 2026 is a Monday.

use jiff::Timestamp;
use jiff::civil::date;

use super::*;
use crate::entry::{Entry, Event};
use crate::fact::Value;
use crate::labour::{Cause, LabourEvent};
use crate::origin::Origin;
use crate::part::Part;
use crate::receipt::Receipt;
use crate::shop::event::ShopEvent;
use crate::shop::people::Role;

/// Wednesday.
const TODAY: Date = date(2026, 3, 25);
const TOMORROW: Date = date(2026, 3, 26);

fn origin() -> Origin {
    Origin {
        by: "K".into(),
        terminal: "desk".into(),
        made: Timestamp::UNIX_EPOCH,
    }
}

fn job(number: u32) -> Job {
    Job::begin(&Entry {
        id: 1,
        job: number,
        seq: 1,
        origin: origin(),
        stored: Timestamp::UNIX_EPOCH,
        event: Event::TakenIn { rider: "A".into() },
        previous: [0; 32],
        hash: [0; 32],
    })
    .unwrap()
}

fn take(job: &mut Job, event: Event) {
    job.revision += 1;
    job.take(job.revision, &origin(), &event);
}

fn choose(job: &mut Job, slot: Slot, attributes: &[(&str, Value)]) {
    let part = Part {
        id: "p".into(),
        kind: slot.kind(),
        attributes: attributes
            .iter()
            .map(|(key, value)| ((*key).to_owned(), value.clone()))
            .collect(),
    };
    take(job, Event::Chosen { slot, part });
}

fn order(job: &mut Job, slot: Slot, due: Option<Date>) {
    let supplier = "N".into();
    take(
        job,
        Event::Ordered {
            slot,
            supplier,
            due,
            price: None,
        },
    );
}

fn receive(job: &mut Job, slot: Slot) {
    let receipt = Receipt {
        slot,
        found: BTreeMap::new(),
        serial: None,
        lot: None,
        supplier: None,
        shelf: None,
        paid: None,
        volts: None,
        group_spread: None,
        papers: None,
        damage: None,
    };
    take(job, Event::Received(receipt));
}

fn promise(job: &mut Job, day: Date, hard: bool) {
    let why = "moved".into();
    take(
        job,
        Event::Promised {
            day,
            hard: Some(hard),
            why,
        },
    );
}

/// A job whose parts are all here, at a stage.
fn at(number: u32, stage: Stage, promised: Date) -> Job {
    let mut job = job(number);
    choose(&mut job, Slot::Motor, &[("place", Value::Word("mid".into()))]);
    receive(&mut job, Slot::Motor);
    promise(&mut job, promised, false);
    job.stage = stage;
    job
}

fn outlook_of(job: &Job) -> Outlook {
    let rules = RuleSheet::shipped();
    outlooks(
        std::slice::from_ref(job),
        &Shop::default(),
        &rules,
        TODAY,
        TOMORROW,
    )
    .remove(0)
}

/// The scenario "hardtail, mid-drive" of the shop's trade notes: pack on 2 April, shift sensor on
/// 7 April and three working days after it give Friday 10 April, ten working days after the
/// promise of Friday 27 March (30, 31 March, 1, 2, 3, 6, 7, 8, 9, 10 April; no holidays set).
#[test]
fn the_last_part_and_three_working_days_after_it() {
    let mut job = job(3);
    for (slot, due) in [
        (Slot::Pack, date(2026, 4, 2)),
        (Slot::ShiftSensor, date(2026, 4, 7)),
    ] {
        choose(&mut job, slot, &[]);
        order(&mut job, slot, Some(due));
    }
    choose(&mut job, Slot::Motor, &[("place", Value::Word("mid".into()))]);
    receive(&mut job, Slot::Motor);
    promise(&mut job, date(2026, 3, 27), true);
    job.stage = Stage::Parts;
    let seen = outlook_of(&job);
    assert_eq!(seen.finish, Some(date(2026, 4, 10)));
    assert_eq!((seen.late, seen.at_risk), (10, true));
    assert!(
        seen.reasons
            .iter()
            .any(|why| why == "shift-sensor from N due 2026-04-07"),
        "{seen:?}"
    );
    promise(&mut job, date(2026, 4, 14), true);
    let seen = outlook_of(&job);
    assert_eq!((seen.late, seen.at_risk, job.slips()), (0, false, 1));
}

#[test]
fn what_is_left_is_laid_on_working_days_only() {
    // Thursday 26, Friday 27 March, Monday 30 March.
    assert_eq!(
        outlook_of(&at(1, Stage::Fitting, TODAY)).finish,
        Some(date(2026, 3, 30))
    );
    assert_eq!(
        outlook_of(&at(1, Stage::TestRide, TODAY)).finish,
        Some(date(2026, 3, 27))
    );
    assert_eq!(outlook_of(&at(1, Stage::Handover, TODAY)).finish, Some(TOMORROW));
    // 5.4 h of fitting are two days of 3 h: one more day.
    let mut shop = Shop::default();
    let set = |value: &str| ShopEvent::Set {
        setting: Setting::DayHours,
        value: value.into(),
        why: String::new(),
    };
    shop.take(1, &origin(), &set("3"));
    shop.calendar
        .holidays
        .extend([date(2026, 3, 27), date(2026, 3, 30)]);
    let jobs = [at(1, Stage::Fitting, TODAY)];
    let seen = outlooks(&jobs, &shop, &RuleSheet::shipped(), TODAY, TOMORROW).remove(0);
    // 26 March, 31 March (27 and 30 shut), then 1 and 2 April.
    assert_eq!(seen.finish, Some(date(2026, 4, 2)));
}

/// 5.4 h of a mid motor's fitting are two days of 3 h, and one when 2.5 h of it are done; hours
/// worked again count for nothing that was planned.
#[test]
fn hours_on_the_clock_are_not_planned_again() {
    let mut shop = Shop::default();
    let event = ShopEvent::Set {
        setting: Setting::DayHours,
        value: "3".into(),
        why: String::new(),
    };
    shop.take(1, &origin(), &event);
    let clocked = |hours: i64, rework: Option<Cause>| {
        let mut job = at(1, Stage::Fitting, TODAY);
        let mut origin = origin();
        let on = LabourEvent::ClockedOn {
            number: 1,
            who: "K".into(),
            stage: Stage::Fitting,
            rework,
        };
        job.take(8, &origin, &Event::Labour(on));
        origin.made += jiff::SignedDuration::from_mins(hours * 30);
        job.take(9, &origin, &Event::Labour(LabourEvent::ClockedOff { number: 1 }));
        outlooks(&[job], &shop, &RuleSheet::shipped(), TODAY, TOMORROW).remove(0)
    };
    // 26 and 27 March, 30 and 31 March; with one day of fitting it is the 30th.
    assert_eq!(clocked(0, None).finish, Some(date(2026, 3, 31)));
    assert_eq!(clocked(5, Some(Cause::Fit)).finish, Some(date(2026, 3, 31)));
    let seen = clocked(5, None);
    assert_eq!(seen.finish, Some(date(2026, 3, 30)));
    assert!(
        seen.reasons.iter().any(|why| why.contains("fitting 2.9 h, 1 d")),
        "{:?}",
        seen.reasons
    );
    assert_eq!(
        clocked(20, None).finish,
        Some(date(2026, 3, 30)),
        "a day of its own it still is"
    );
}

#[test]
fn fittings_wait_for_a_bench_and_somebody_at_it_hard_promises_first() {
    let mut shop = Shop::default();
    let joined = ShopEvent::Joined {
        initials: "K".into(),
        name: String::new(),
        role: Role::Owner,
    };
    shop.take(1, &origin(), &joined);
    let mut hard = at(2, Stage::Parts, date(2026, 4, 20));
    promise(&mut hard, date(2026, 4, 21), true);
    let jobs = [
        at(1, Stage::Parts, date(2026, 3, 30)),
        hard,
        at(3, Stage::Fitting, date(2026, 5, 1)),
    ];
    let seen = outlooks(&jobs, &shop, &RuleSheet::shipped(), TODAY, TOMORROW);
    let days: Vec<Option<Date>> = seen.iter().map(|outlook| outlook.finish).collect();
    // One person: job 3 is on the bench on Thursday 26, job 2 on Friday, job 1 on Monday; each
    // is ridden and handed over on the two working days after.
    let expected = [date(2026, 4, 1), date(2026, 3, 31), date(2026, 3, 30)].map(Some);
    assert_eq!(days, expected);
    assert!(seen[0].reasons[0].contains("from 2026-03-30"), "{:?}", seen[0]);
    // Whoever is on a bench waits for none.
    assert!(
        !seen[2]
            .reasons
            .iter()
            .any(|why| why.contains("a bench and somebody")),
        "{:?}",
        seen[2]
    );
    assert_eq!((seen[0].late, seen[0].at_risk), (2, true));
}

#[test]
fn what_nobody_can_say_leaves_the_finish_open() {
    let mut job = at(1, Stage::Parts, date(2026, 6, 1));
    choose(&mut job, Slot::Pack, &[]);
    let seen = outlook_of(&job);
    assert_eq!((seen.finish, seen.at_risk), (None, true));
    assert!(seen.reasons[0].contains("pack not ordered"), "{seen:?}");
    order(&mut job, Slot::Pack, None);
    assert_eq!(outlook_of(&job).finish, None);
    // An overdue part may come any day: not before tomorrow's work.
    order(&mut job, Slot::Pack, Some(date(2026, 3, 20)));
    let seen = outlook_of(&job);
    assert_eq!(seen.finish, Some(date(2026, 3, 30)));
    assert!(
        seen.reasons[0].contains(", due 2026-03-20 and not here"),
        "{seen:?}"
    );
}

#[test]
fn days_to_arrival_of_the_catalogue_stand_in_for_a_promise() {
    let mut job = at(1, Stage::Intake, date(2026, 6, 1));
    choose(
        &mut job,
        Slot::Pack,
        &[("lead-time", Value::Number(7.0 * 86_400.0))],
    );
    // Ordered on Thursday 26 March, here on 2 April; Friday 3, Monday 6, Tuesday 7 April.
    assert_eq!(outlook_of(&job).finish, Some(date(2026, 4, 7)));
    let until = Some(date(2026, 4, 9));
    take(
        &mut job,
        Event::Held {
            why: "away".into(),
            until,
        },
    );
    // Work begins on Friday 10: 10, 13, 14 April.
    assert_eq!(outlook_of(&job).finish, Some(date(2026, 4, 14)));
}

/// Hours by place, and more for cargo: rules `plan.*`.
#[test]
fn planned_hours_follow_the_motor_and_the_bicycle() {
    let rules = RuleSheet::shipped();
    let mut job = job(1);
    choose(
        &mut job,
        Slot::Motor,
        &[("place", Value::Word("rear-hub".into()))],
    );
    assert!((plan_hours(&job, Stage::Fitting, &rules) - 4.3).abs() < 1e-9);
    let values = BTreeMap::from([("posture".to_owned(), Value::Word("cargo".into()))]);
    let provenance = crate::fact::Provenance::Stated;
    take(&mut job, Event::Stated { values, provenance });
    assert!((plan_hours(&job, Stage::Fitting, &rules) - 6.3).abs() < 1e-9);
    let whole: f64 = Stage::GATED
        .into_iter()
        .map(|stage| plan_hours(&job, stage, &rules))
        .sum();
    assert!((whole - 8.7).abs() < 1e-9, "6.7 h and 2 h for cargo");
}

#[test]
fn a_promise_keeps_the_days_before_it_and_what_the_rider_heard() {
    let mut job = job(1);
    let values = BTreeMap::from([("promise".to_owned(), Value::Day(date(2026, 3, 24)))]);
    let provenance = crate::fact::Provenance::Stated;
    take(&mut job, Event::Stated { values, provenance });
    assert!(job.promises.is_empty());
    promise(&mut job, date(2026, 3, 27), false);
    promise(&mut job, date(2026, 3, 26), true);
    let days: Vec<Date> = job.promises.iter().map(|promise| promise.day).collect();
    assert_eq!(days, [date(2026, 3, 24), date(2026, 3, 27), date(2026, 3, 26)]);
    assert_eq!(
        (job.slips(), job.is_hard(), job.promised()),
        (1, true, Some(date(2026, 3, 26)))
    );
    assert_eq!(job.told_of_promise(), None);
    take(
        &mut job,
        Event::Told {
            words: "agreed".into(),
        },
    );
    assert_eq!(
        job.told_of_promise().map(|told| told.words.as_str()),
        Some("agreed")
    );
    let later = Origin {
        made: Timestamp::from_second(60).unwrap(),
        ..origin()
    };
    let moved = Event::Promised {
        day: date(2026, 4, 1),
        hard: None,
        why: "pack late".into(),
    };
    job.take(9, &later, &moved);
    assert_eq!(job.told_of_promise(), None, "told of an earlier day");
    assert!(job.is_hard());
}

/// Work of three days from Thursday on ends on Monday 30 March: promised for that day it is in time, for
/// the day before (a Sunday) or the Friday it is not; a promise of today stands until the day is over.
#[test]
fn a_promise_is_kept_on_its_very_day() {
    for (promised, late, at_risk) in [
        (date(2026, 3, 31), 0, false),
        (date(2026, 3, 30), 0, false),
        (date(2026, 3, 29), 1, true),
        (date(2026, 3, 27), 1, true),
        (date(2026, 3, 26), 2, true),
    ] {
        let seen = outlook_of(&at(1, Stage::Parts, promised));
        assert_eq!(seen.finish, Some(date(2026, 3, 30)), "{promised}");
        assert_eq!((seen.late, seen.at_risk), (late, at_risk), "{promised}");
    }
    // Handed over on the day itself: only a promise that is past is at risk.
    let on_the_last_day = |promised: Date| {
        let job = at(1, Stage::Handover, promised);
        let shop = Shop::default();
        outlooks(&[job], &shop, &RuleSheet::shipped(), TODAY, TODAY).remove(0)
    };
    let seen = on_the_last_day(TODAY);
    assert_eq!((seen.finish, seen.late, seen.at_risk), (Some(TODAY), 0, false));
    let seen = on_the_last_day(date(2026, 3, 24));
    assert_eq!((seen.late, seen.at_risk), (1, true));
}
