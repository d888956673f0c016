//! Tests of the shop's day with a clock that is set by hand. Jobs and suppliers are invented.

use std::collections::BTreeMap;

use jiff::civil::date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use lockring_domain::block::Family;
use lockring_domain::command::{self, Command, Desk, ReceiptText, Typed};
use lockring_domain::entry::Event;
use lockring_domain::origin::Origin;
use lockring_domain::part::{Part, Slot};
use lockring_domain::rules::RuleSheet;
use lockring_domain::shop::event::ShopEvent;
use lockring_domain::shop::setting::Setting;
use lockring_domain::shop::{SHOP, Shop, ShopDraft};
use lockring_proto::v1;
use lockring_proto::v1::figures_server::Figures as _;
use lockring_proto::v1::riders_server::Riders as _;
use lockring_store::Store;
use tempfile::TempDir;

use super::evening::{Due, REPORTS, compose, next_due, page, put, record};
use super::*;
use crate::lifecycle::shutdown::Shutdown;
use crate::network::Network;
use crate::service::{Feed, KnownShop, LastStanding};

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

fn zone(name: &str) -> TimeZone {
    TimeZone::get(name).unwrap()
}

fn origin(made: Timestamp) -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made,
    }
}

fn set(setting: Setting, value: &str) -> ShopEvent {
    ShopEvent::Set {
        setting,
        value: value.into(),
        why: String::new(),
    }
}

/// Looks at the clock every quarter of an hour and says that each due day was done; gives the
/// days with their closing times. `change` may change the shop or the zone before each look.
fn days_done(
    mut shop: Shop,
    mut zone: TimeZone,
    (from, to): (&str, &str),
    mut change: impl FnMut(Timestamp, &mut Shop, &mut TimeZone),
) -> Vec<(String, String)> {
    let (mut now, to) = (at(from), at(to));
    let mut done = Vec::new();
    while now < to {
        change(now, &mut shop, &mut zone);
        while let Some(Due { day, as_of }) = next_due(&shop, shop.evening, &zone, at(from), now) {
            assert!(as_of <= now);
            done.push((day.to_string(), as_of.to_string()));
            let upto = 0;
            shop.take(1, &origin(now), &ShopEvent::EveningWritten { day, as_of, upto });
        }
        now += SignedDuration::from_mins(15);
    }
    done
}

fn pairs(done: &[(String, String)]) -> Vec<(&str, &str)> {
    done.iter().map(|(day, at)| (day.as_str(), at.as_str())).collect()
}

fn nothing(_: Timestamp, _: &mut Shop, _: &mut TimeZone) {}

/// Europe: clocks change on the last Sundays of March and October at 01:00 UTC (Directive
/// 2000/84/EC): in 2026 on 29 March and 25 October.
#[test]
fn in_berlin_each_working_day_is_done_once_across_both_changes() {
    let berlin = || zone("Europe/Berlin");
    let spring = days_done(
        Shop::default(),
        berlin(),
        ("2026-03-26T12:00Z", "2026-03-31T12:00Z"),
        nothing,
    );
    assert_eq!(
        pairs(&spring),
        [
            ("2026-03-26", "2026-03-26T16:30:00Z"),
            ("2026-03-27", "2026-03-27T16:30:00Z"),
            ("2026-03-30", "2026-03-30T15:30:00Z"),
        ]
    );
    let autumn = days_done(
        Shop::default(),
        berlin(),
        ("2026-10-23T12:00Z", "2026-10-27T12:00Z"),
        nothing,
    );
    assert_eq!(
        pairs(&autumn),
        [
            ("2026-10-23", "2026-10-23T15:30:00Z"),
            ("2026-10-26", "2026-10-26T16:30:00Z"),
        ]
    );
}

/// United States: second Sunday of March and first Sunday of November at 02:00 local time (15
/// U.S.C. 260a): in 2026 on 8 March and 1 November.
#[test]
fn in_new_york_each_working_day_is_done_once_across_both_changes() {
    let new_york = || zone("America/New_York");
    let spring = days_done(
        Shop::default(),
        new_york(),
        ("2026-03-06T12:00Z", "2026-03-10T12:00Z"),
        nothing,
    );
    assert_eq!(
        pairs(&spring),
        [
            ("2026-03-06", "2026-03-06T22:30:00Z"),
            ("2026-03-09", "2026-03-09T21:30:00Z"),
        ]
    );
    let autumn = days_done(
        Shop::default(),
        new_york(),
        ("2026-10-30T12:00Z", "2026-11-03T12:00Z"),
        nothing,
    );
    assert_eq!(
        pairs(&autumn),
        [
            ("2026-10-30", "2026-10-30T21:30:00Z"),
            ("2026-11-02", "2026-11-02T22:30:00Z"),
        ]
    );
}

/// A shop that works on every day and closes at 02:30 at night: on 29 March that time does not
/// exist (02:00 became 03:00) and on 25 October it comes twice (03:00 became 02:00).
#[test]
fn a_closing_time_that_is_skipped_or_comes_twice_is_one_evening() {
    let mut shop = Shop::default();
    shop.take(
        1,
        &origin(at("2026-01-01T00:00Z")),
        &set(Setting::ClosingTime, "02:30"),
    );
    shop.calendar
        .working_days
        .extend(lockring_domain::calendar::WorkingDay::ALL);
    let berlin = || zone("Europe/Berlin");
    let spring = days_done(
        shop.clone(),
        berlin(),
        ("2026-03-27T20:00Z", "2026-03-30T12:00Z"),
        nothing,
    );
    assert_eq!(
        pairs(&spring),
        [
            ("2026-03-28", "2026-03-28T01:30:00Z"),
            ("2026-03-29", "2026-03-29T01:30:00Z"),
            ("2026-03-30", "2026-03-30T00:30:00Z"),
        ]
    );
    let autumn = days_done(
        shop,
        berlin(),
        ("2026-10-24T20:00Z", "2026-10-26T12:00Z"),
        nothing,
    );
    assert_eq!(
        pairs(&autumn),
        [
            ("2026-10-25", "2026-10-25T00:30:00Z"),
            ("2026-10-26", "2026-10-26T01:30:00Z"),
        ]
    );
}

/// 29 February 2028 is a Tuesday (Gregorian calendar).
#[test]
fn the_leap_day_has_its_evening_and_a_chain_of_holidays_has_none() {
    let leap = days_done(
        Shop::default(),
        TimeZone::UTC,
        ("2028-02-28T12:00Z", "2028-03-01T18:00Z"),
        nothing,
    );
    let days: Vec<&str> = leap.iter().map(|(day, _)| day.as_str()).collect();
    assert_eq!(days, ["2028-02-28", "2028-02-29", "2028-03-01"]);
    let mut shop = Shop::default();
    // Thursday 2 to Tuesday 7 April 2026, a weekend among them.
    let shut = ShopEvent::Shut {
        days: (2..=7).map(|day| date(2026, 4, day)).collect(),
        why: "spring".into(),
    };
    shop.take(1, &origin(at("2026-03-01T00:00Z")), &shut);
    let done = days_done(
        shop,
        TimeZone::UTC,
        ("2026-04-01T12:00Z", "2026-04-09T12:00Z"),
        nothing,
    );
    let days: Vec<&str> = done.iter().map(|(day, _)| day.as_str()).collect();
    assert_eq!(days, ["2026-04-01", "2026-04-08"]);
}

/// The shop moves its clock in the middle of a day, westward after closing time and eastward
/// before it, and over the date line and back.
#[test]
fn a_changed_time_zone_gives_no_day_twice_and_leaves_none_out() {
    let moves = [
        ("2026-03-24T18:00:00Z", "America/New_York"),
        ("2026-03-25T17:00:00Z", "Europe/Berlin"),
        ("2026-03-26T11:00:00Z", "Pacific/Kiritimati"),
        ("2026-03-27T04:00:00Z", "Pacific/Pago_Pago"),
        ("2026-03-30T12:00:00Z", "UTC"),
    ];
    let done = days_done(
        Shop::default(),
        zone("Europe/Berlin"),
        ("2026-03-23T12:00Z", "2026-04-02T12:00Z"),
        |now, _, zone_now| {
            for (when, name) in moves {
                if now == at(when) {
                    *zone_now = zone(name);
                }
            }
        },
    );
    let days: Vec<&str> = done.iter().map(|(day, _)| day.as_str()).collect();
    assert_eq!(
        days,
        [
            "2026-03-23",
            "2026-03-24",
            "2026-03-25",
            "2026-03-26",
            "2026-03-27",
            "2026-03-30",
            "2026-03-31",
            "2026-04-01"
        ]
    );
}

/// A data folder with a daemon on it that serves nobody.
struct Bench {
    _folder: TempDir,
    daemon: Arc<Daemon>,
}

impl Bench {
    fn open() -> Self {
        let folder = TempDir::new().unwrap();
        let store = Arc::new(Store::open(folder.path()).unwrap());
        let daemon = Arc::new(Daemon {
            store,
            last_standing: LastStanding::default(),
            known_shop: KnownShop::default(),
            network: Network::of(folder.path()),
            zone: TimeZone::UTC,
            feed: Feed::after(0),
            shutdown: Shutdown::new(),
            folder: folder.path().to_path_buf(),
            socket: folder.path().join("socket"),
            started: Timestamp::UNIX_EPOCH,
        });
        Self {
            _folder: folder,
            daemon,
        }
    }

    /// A job with a motor ordered for a day.
    async fn job(&self, made: &str, due: jiff::civil::Date) {
        let made = at(made);
        let motor = |id: &str| {
            Some(Part {
                id: id.into(),
                kind: Slot::Motor.kind(),
                attributes: BTreeMap::new(),
            })
        };
        self.daemon
            .store
            .write(move |tx| {
                let desk = Desk {
                    rules: &RuleSheet::shipped(),
                    shop: &Shop::default(),
                    zone: &TimeZone::UTC,
                    holders: &|_| Vec::new(),
                    history: &|_| Vec::new(),
                    clocks: &|_| Vec::new(),
                    part: &motor,
                    part_ids: &Vec::new,
                    memory: None,
                };
                let number = tx.next_job_number()?;
                let build = [Typed::new("motor", "mid")];
                let draft = command::take_in(number, origin(made), "Ada N.", &[], &build, &desk)
                    .map_err(lockring_store::WriteError::Refused)?;
                tx.append(number, &draft.origin, made, &draft.events, &draft.job)?;
                let order = Command::Order {
                    slots: vec!["motor".into()],
                    supplier: "N".into(),
                    due: Some(due),
                    price: String::new(),
                };
                let draft = command::change(draft.job, None, origin(made), &order, &desk)
                    .map_err(lockring_store::WriteError::Refused)?;
                tx.append(number, &draft.origin, made, &draft.events, &draft.job)?;
                Ok(())
            })
            .await
            .unwrap();
    }

    async fn ask(&self, made: &str, stored: &str, command: Command) {
        let (made, stored) = (at(made), at(stored));
        self.daemon
            .store
            .write(move |tx| {
                let desk = Desk {
                    rules: &RuleSheet::shipped(),
                    shop: &Shop::default(),
                    zone: &TimeZone::UTC,
                    holders: &|_| Vec::new(),
                    history: &|_| Vec::new(),
                    clocks: &|_| Vec::new(),
                    part: &|_| None,
                    part_ids: &Vec::new,
                    memory: None,
                };
                let job = tx.job(1)?.expect("job 1 was taken in");
                let draft = command::change(job, None, origin(made), &command, &desk)
                    .map_err(lockring_store::WriteError::Refused)?;
                tx.append(1, &draft.origin, stored, &draft.events, &draft.job)?;
                Ok(())
            })
            .await
            .unwrap();
    }

    async fn say(&self, now: &str, event: ShopEvent) {
        let now = at(now);
        self.daemon
            .store
            .write(move |tx| {
                let mut draft =
                    ShopDraft::new(Arc::unwrap_or_clone(tx.shop()?), tx.last_seq(SHOP)?, origin(now));
                draft.push(event);
                tx.append_shop(&draft.origin, now, &draft.events, &draft.shop)?;
                Ok(())
            })
            .await
            .unwrap();
    }

    async fn look(&self, now: &str) {
        look(&self.daemon, at(now)).await.unwrap();
    }

    fn evenings(&self) -> Vec<String> {
        let entries = self.daemon.store.read(|reader| reader.entries(SHOP, 0)).unwrap();
        let days = entries.into_iter().filter_map(|entry| match entry.event {
            Event::Shop(ShopEvent::EveningWritten { day, .. }) => Some(day.to_string()),
            _ => None,
        });
        days.collect()
    }

    fn sweeps(&self) -> Vec<String> {
        let entries = self.daemon.store.read(|reader| reader.entries(SHOP, 0)).unwrap();
        let days = entries.into_iter().filter_map(|entry| match entry.event {
            Event::Shop(ShopEvent::Swept { day, .. }) => Some(day.to_string()),
            _ => None,
        });
        days.collect()
    }

    fn report(&self, name: &str) -> String {
        std::fs::read_to_string(self.daemon.folder.join(REPORTS).join(name)).unwrap()
    }

    fn files(&self) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(self.daemon.folder.join(REPORTS))
            .unwrap()
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    fn is_sound(&self) -> bool {
        self.daemon.store.verify().unwrap().problems.is_empty()
    }
}

fn block(about: &str) -> Command {
    Command::OpenBlock {
        family: Family::Rider.word().into(),
        about: about.into(),
        whose: String::new(),
        chase: None,
        clears_when: String::new(),
    }
}

/// Monday 23 to Thursday 26 March 2026; the machine is off from Monday night to Thursday.
#[tokio::test]
async fn after_the_machine_was_off_each_day_is_told_as_it_was_known_then() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench.look("2026-03-23T17:29Z").await;
    assert_eq!(bench.evenings(), [""; 0]);
    bench.look("2026-03-23T17:30Z").await;
    bench.look("2026-03-23T17:31Z").await;
    assert_eq!(bench.evenings(), ["2026-03-23"]);
    bench
        .ask("2026-03-24T09:00Z", "2026-03-24T09:00Z", block("deposit open"))
        .await;
    bench
        .ask(
            "2026-03-26T09:00Z",
            "2026-03-26T09:00Z",
            block("colour of the lights"),
        )
        .await;
    bench.look("2026-03-26T18:00Z").await;
    assert_eq!(
        bench.evenings(),
        ["2026-03-23", "2026-03-24", "2026-03-25", "2026-03-26"]
    );
    assert!(bench.report("2026-03-23.txt").contains("  nothing is blocked\n"));
    let (tuesday, thursday) = (bench.report("2026-03-24.txt"), bench.report("2026-03-26.txt"));
    assert!(tuesday.starts_with("Evening, Tue 24 Mar 2026\n"), "{tuesday}");
    assert!(
        tuesday.contains("deposit open") && !tuesday.contains("colour"),
        "{tuesday}"
    );
    assert!(
        thursday.lines().all(|line| line.chars().count() <= 80),
        "{thursday}"
    );
    let json: serde_json::Value = serde_json::from_str(&bench.report("2026-03-26.json")).unwrap();
    let blocked: Vec<(&str, &str)> = json["sections"][1]["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            (
                row["cells"][6].as_str().unwrap(),
                row["cells"][3].as_str().unwrap(),
            )
        })
        .collect();
    assert_eq!(blocked, [("deposit open", "2"), ("colour of the lights", "0")]);
    assert_eq!(json["to"], "2026-03-26");
    assert_eq!(bench.files().len(), 8, "{:?}", bench.files());
    assert!(bench.is_sound());
}

#[tokio::test]
async fn a_crash_between_the_files_and_the_entry_writes_the_same_words_again() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench
        .ask("2026-03-23T09:00Z", "2026-03-23T09:00Z", block("deposit open"))
        .await;
    let now = at("2026-03-23T17:45Z");
    let (due, _, told) = compose(&bench.daemon, now).await.unwrap().unwrap();
    put(&bench.daemon.folder.join(REPORTS), due.day, &told).unwrap();
    assert_eq!(
        bench.evenings(),
        [""; 0],
        "the daemon ended before it could say so"
    );
    let before = bench.report("2026-03-23.txt");
    // The next daemon looks an hour later, when more has been entered.
    bench
        .ask("2026-03-23T18:30Z", "2026-03-23T18:30Z", block("colour"))
        .await;
    bench.look("2026-03-23T18:45Z").await;
    assert_eq!(bench.report("2026-03-23.txt"), before);
    assert_eq!(bench.evenings(), ["2026-03-23"]);
    assert_eq!(bench.files(), ["2026-03-23.json", "2026-03-23.txt"]);
}

/// The files may be put in place twice; the journal says it once.
#[tokio::test]
async fn a_day_that_two_daemons_found_due_is_recorded_once() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    let now = at("2026-03-23T20:00Z");
    let (due, upto, _) = compose(&bench.daemon, now).await.unwrap().unwrap();
    let store = &bench.daemon.store;
    let (one, other) = tokio::join!(
        store.write(move |tx| record(tx, due, upto, now)),
        store.write(move |tx| record(tx, due, upto, now)),
    );
    assert_eq!(one.unwrap().len() + other.unwrap().len(), 1);
    assert_eq!(bench.evenings(), ["2026-03-23"]);
    assert!(bench.is_sound());
}

#[tokio::test]
async fn a_past_evening_comes_out_as_it_was_written_whatever_is_entered_late() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench
        .ask("2026-03-23T09:00Z", "2026-03-23T09:00Z", block("deposit open"))
        .await;
    bench.look("2026-03-23T17:30Z").await;
    bench
        .ask(
            "2026-03-23T10:00Z",
            "2026-03-24T08:00Z",
            block("noticed on Monday, typed on Tuesday"),
        )
        .await;
    let day = date(2026, 3, 23);
    let again = bench.daemon.store.read(|reader| {
        let (as_of, upto) = reader.evening(day, Timestamp::MAX)?.expect("it was written");
        page(reader, &TimeZone::UTC, Due { day, as_of }, upto, Timestamp::MAX)
    });
    let again = again.unwrap();
    assert_eq!(again.text, bench.report("2026-03-23.txt"));
    assert_eq!(again.json, bench.report("2026-03-23.json"));
    assert!(!again.text.contains("typed on Tuesday"));
    let none = bench
        .daemon
        .store
        .read(|reader| reader.evening(date(2026, 3, 22), Timestamp::MAX))
        .unwrap();
    assert_eq!(none, None);
}

#[tokio::test]
async fn an_evening_that_told_of_a_rider_is_written_again_when_they_are_removed() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench.look("2026-03-23T17:30Z").await;
    bench.look("2026-03-24T17:30Z").await;
    let told = bench.report("2026-03-23.txt");
    assert!(told.contains("Ada N."));
    let end = Command::Close {
        end: "returned".into(),
        why: "too dear".into(),
    };
    bench.ask("2026-03-25T09:00Z", "2026-03-25T09:00Z", end).await;
    let request = v1::RemoveRiderRequest {
        origin: Some(v1::Origin {
            request_id: "r".into(),
            by: "K".into(),
            made_at_us: Some(at("2026-03-26T09:00Z").as_microsecond()),
            ..Default::default()
        }),
        who: "Ada N.".into(),
        why: "asked for it".into(),
        ..Default::default()
    };
    let riders = crate::service::Riders(bench.daemon.clone());
    let remove = || riders.remove_rider(tonic::Request::new(request.clone()));
    let reply = remove().await.unwrap().into_inner();
    assert_eq!((reply.files.len(), reply.left.len(), reply.cleaned), (0, 0, true));
    let day = date(2026, 3, 23);
    let again = bench.daemon.store.read(|reader| {
        let (as_of, upto) = reader.evening(day, Timestamp::MAX)?.expect("it was written");
        page(reader, &TimeZone::UTC, Due { day, as_of }, upto, Timestamp::MAX)
    });
    let again = again.unwrap();
    assert_eq!(again.text, bench.report("2026-03-23.txt"));
    assert_eq!(again.json, bench.report("2026-03-23.json"));
    for name in bench.files() {
        assert!(!bench.report(&name).contains("Ada"), "{name}");
    }
    assert!(again.text.contains("customer removed") || again.text.contains("removed on"));
    assert!(bench.is_sound());

    // As a crash after the commit leaves it; found by the next look, or by whoever asks again.
    let mark = bench.daemon.folder.join("removal-to-finish");
    let typed = bench.daemon.folder.join("prompt-history");
    assert!(!mark.exists(), "nothing was left to do");
    for is_asked_again in [false, true] {
        let report = bench.daemon.folder.join(REPORTS).join("2026-03-23.txt");
        std::fs::write(&report, &told).unwrap();
        std::fs::write(&typed, "note 1 Ada rang\n").unwrap();
        std::fs::write(&mark, "").unwrap();
        if is_asked_again {
            let reply = remove().await.unwrap().into_inner();
            assert!(reply.repeated && reply.said.iter().any(|said| said.contains("not known any more")));
        } else {
            bench.look("2026-03-26T10:00Z").await;
        }
        assert_eq!(again.text, bench.report("2026-03-23.txt"));
        assert!(!typed.exists() && !mark.exists());
    }
    assert!(remove().await.unwrap().into_inner().repeated);
    assert!(!mark.exists(), "a repeated request leaves nothing to do");
}

/// Six weeks with a chain of holidays, both changes of the shop's calendar and of its clock, work after
/// closing time and on Saturdays, and lines typed days late: each evening asked for at the end is, in
/// text and JSON, the one that was written, and what was done after closing time stands on the next.
#[tokio::test]
async fn thirty_past_evenings_come_out_as_they_were_written() {
    let bench = Bench::open();
    let first = date(2025, 3, 3);
    bench.job("2025-03-03T06:00Z", date(2025, 3, 12)).await;
    bench
        .say("2025-03-03T06:30Z", set(Setting::TimeZone, "Europe/Berlin"))
        .await;
    let shut = ShopEvent::Shut {
        days: [date(2025, 3, 20), date(2025, 3, 21), date(2025, 3, 24)].into(),
        why: "fair".into(),
    };
    bench.say("2025-03-10T08:00Z", shut).await;
    for (place, day) in first.series(jiff::Span::new().days(1)).take(47).enumerate() {
        let at = |time: &str| format!("{day}T{time}Z");
        let work = format!("work of {day}");
        bench.ask(&at("09:00"), &at("09:00"), block(&work)).await;
        let late = format!("after closing on {day}");
        bench.look(&at("10:00")).await;
        bench.look(&at("16:59")).await;
        bench.ask(&at("18:00"), &at("18:00"), block(&late)).await;
        if place == 1 {
            bench.job(&at("18:10"), date(2025, 5, 2)).await;
        }
        if place == 20 {
            bench
                .say(&at("19:00"), set(Setting::TimeZone, "America/New_York"))
                .await;
        }
        // Done in the morning, typed at night, after the report.
        bench.ask(&at("08:00"), &at("23:30"), block("typed late")).await;
        bench.look(&at("23:45")).await;
    }
    let days = bench.evenings();
    assert!(days.len() >= 30, "{days:?}");
    assert!(!days.contains(&"2025-03-21".to_owned()));
    assert!(!bench.report("2025-03-04.txt").contains("taken in"));
    assert!(bench.report("2025-03-05.txt").contains("taken in"));
    let figures = crate::service::Figures(bench.daemon.clone());
    for day in &days {
        let request = v1::FiguresRequest { on: day.clone() };
        let told = figures
            .day(tonic::Request::new(request))
            .await
            .unwrap()
            .into_inner();
        assert_eq!(
            lockring_proto::page::text(&told),
            bench.report(&format!("{day}.txt")),
            "{day}"
        );
        let json = serde_json::to_string(&told).unwrap() + "\n";
        assert_eq!(json, bench.report(&format!("{day}.json")), "{day}");
    }
    assert!(bench.is_sound());
}

#[tokio::test]
async fn the_shops_own_zone_and_closing_time_rule() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench
        .say("2026-03-23T08:00Z", set(Setting::TimeZone, "America/New_York"))
        .await;
    bench
        .say("2026-03-23T08:00Z", set(Setting::ClosingTime, "16:00"))
        .await;
    bench.look("2026-03-23T19:59Z").await;
    assert_eq!(bench.evenings(), [""; 0]);
    // 16:00 EDT is 20:00 UTC.
    bench.look("2026-03-23T20:00Z").await;
    assert_eq!(bench.evenings(), ["2026-03-23"]);
}

/// Due on Wednesday 25 March: overdue from Thursday on.
#[tokio::test]
async fn an_overdue_line_opens_a_block_once_and_its_arrival_clears_it() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 3, 25)).await;
    let blocks = |bench: &Bench| {
        let job = bench.daemon.store.read(|reader| reader.job(1)).unwrap().unwrap();
        job.blocks
            .iter()
            .map(|block| block.about.clone())
            .collect::<Vec<_>>()
    };
    bench.look("2026-03-25T12:00Z").await;
    assert_eq!(blocks(&bench), [""; 0]);
    for hour in ["06", "07", "12"] {
        bench.look(&format!("2026-03-26T{hour}:00Z")).await;
    }
    bench.look("2026-03-27T06:00Z").await;
    assert_eq!(blocks(&bench), ["motor from N was due on 2026-03-25"]);
    let clear = Command::ClearBlock {
        number: 1,
        why: "no".into(),
    };
    let job = bench.daemon.store.read(|reader| reader.job(1)).unwrap().unwrap();
    let desk = Desk {
        rules: &RuleSheet::shipped(),
        shop: &Shop::default(),
        zone: &TimeZone::UTC,
        holders: &|_| Vec::new(),
        history: &|_| Vec::new(),
        clocks: &|_| Vec::new(),
        part: &|_| None,
        part_ids: &Vec::new,
        memory: None,
    };
    let refusal = command::change(
        Arc::unwrap_or_clone(job),
        None,
        origin(at("2026-03-27T07:00Z")),
        &clear,
        &desk,
    )
    .unwrap_err();
    assert!(refusal.message.contains("clears by itself"), "{refusal}");
    let receive = Command::Receive {
        slot: "motor".into(),
        found: Vec::new(),
        details: ReceiptText::default(),
    };
    bench.ask("2026-03-27T09:00Z", "2026-03-27T09:00Z", receive).await;
    assert_eq!(blocks(&bench), [""; 0]);
    let swept: Vec<(String, u32)> = bench
        .daemon
        .store
        .read(|reader| reader.entries(SHOP, 0))
        .unwrap()
        .into_iter()
        .filter_map(|entry| match entry.event {
            Event::Shop(ShopEvent::Swept { day, overdue, .. }) => Some((day.to_string(), overdue)),
            _ => None,
        })
        .collect();
    let expected = [("2026-03-25", 0), ("2026-03-26", 1), ("2026-03-27", 0)];
    assert_eq!(swept, expected.map(|(day, overdue)| (day.to_owned(), overdue)));
    assert!(bench.is_sound());
}

#[tokio::test]
async fn a_line_with_another_day_is_late_no_longer() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 3, 25)).await;
    bench.look("2026-03-26T06:00Z").await;
    let order = Command::Order {
        slots: vec!["motor".into()],
        supplier: "N".into(),
        due: Some(date(2026, 4, 2)),
        price: String::new(),
    };
    bench.ask("2026-03-26T09:00Z", "2026-03-26T09:00Z", order).await;
    let job = bench.daemon.store.read(|reader| reader.job(1)).unwrap().unwrap();
    assert!(job.blocks.is_empty(), "{:?}", job.blocks);
}

#[tokio::test]
async fn an_empty_shop_reports_nothing() {
    let bench = Bench::open();
    bench.look("2026-03-23T18:00Z").await;
    assert!(!bench.daemon.folder.join(REPORTS).exists());
    assert_eq!(bench.evenings(), [""; 0]);
}

/// From 2 March on 65 working days have closed by 29 May 2026, a Friday: thirteen weeks of five. They are told
/// once somebody has worked for an hour.
#[tokio::test]
async fn after_a_long_time_the_reports_come_a_month_at_a_look() {
    let bench = Bench::open();
    bench.job("2026-03-02T08:00Z", date(2026, 4, 7)).await;
    bench
        .ask("2026-05-29T16:30Z", "2026-05-29T16:30Z", block("deposit open"))
        .await;
    bench.look("2026-05-29T17:30Z").await;
    assert_eq!(bench.evenings(), [""; 0]);
    for written in [23, 46, 65, 65] {
        bench.look("2026-05-29T17:31Z").await;
        assert_eq!(bench.evenings().len(), written);
    }
}

#[tokio::test]
async fn what_lies_ahead_of_today_is_told() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench.look("2026-03-23T17:30Z").await;
    let store = &bench.daemon.store;
    let backups = bench.daemon.folder.join(lockring_store::BACKUPS);
    let told = |now: &str| {
        let now = at(now);
        store
            .read(|reader| crate::service::troubles(&bench.daemon, reader, now))
            .unwrap()
    };
    store.backup(&backups, at("2026-03-23T18:00Z")).await.unwrap();
    assert_eq!(told("2026-03-23T18:00Z"), [""; 0]);
    // The same moment by a clock that was a year ahead when all that was written.
    let told = told("2025-03-23T18:00Z");
    assert_eq!(told.len(), 4, "{told:?}");
    assert!(told[0].contains("end-of-day report is of 2026-03-23, and today is 2025-03-23"));
    assert!(told[1].contains("morning's look") && told[3].contains("is dated later than now"));
    assert!(
        told[2].starts_with("dated later than now: entry 1 of job 1 (2026-03-23 08:00), "),
        "{told:?}"
    );
}

/// Monday 23 March 2026: a note is stored with the clock ten days ahead, and the daemon works on by it for a
/// while; then the clock is right again. Every day is told in the evening as it was.
#[tokio::test]
async fn what_a_clock_ahead_wrote_of_days_to_come_is_written_again_when_they_have_closed() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench
        .ask(
            "2026-04-02T09:00Z",
            "2026-04-02T09:00Z",
            block("by a wrong clock"),
        )
        .await;
    bench.look("2026-04-02T10:30Z").await;
    let wrong = bench.evenings().len();
    assert_eq!(wrong, 8, "{:?}", bench.evenings());
    bench
        .ask("2026-03-23T11:00Z", "2026-03-23T11:00Z", block("deposit open"))
        .await;
    bench.look("2026-03-23T17:29Z").await;
    assert_eq!(bench.evenings().len(), wrong, "the day has not closed");
    bench.look("2026-03-23T17:30Z").await;
    bench.look("2026-03-23T17:31Z").await;
    assert_eq!(bench.evenings()[wrong..], ["2026-03-23"]);
    let monday = bench.report("2026-03-23.txt");
    assert!(
        monday.contains("deposit open") && !monday.contains("by a wrong clock"),
        "{monday}"
    );
    bench.look("2026-03-24T17:31Z").await;
    assert_eq!(bench.evenings()[wrong..], ["2026-03-23", "2026-03-24"]);
    assert!(bench.is_sound());
}

/// On Monday morning the clock says Tuesday, and is right again an hour later. Nobody looks until after the
/// moment at which Monday's page was written: it counts no more, and the work of the day is told.
#[tokio::test]
async fn a_page_a_clock_ahead_wrote_does_not_count_when_its_moment_has_come() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench.look("2026-03-24T09:00Z").await;
    assert_eq!(bench.evenings(), ["2026-03-23"]);
    bench
        .ask("2026-03-23T11:00Z", "2026-03-23T11:00Z", block("deposit open"))
        .await;
    bench.look("2026-03-24T09:30Z").await;
    bench.look("2026-03-24T09:31Z").await;
    assert_eq!(bench.evenings(), ["2026-03-23", "2026-03-23"]);
    let monday = bench.report("2026-03-23.txt");
    assert!(monday.contains("deposit open"), "{monday}");
    // What is stored after the page, or was made after the closing time, lets it stand.
    bench.look("2026-03-24T17:30Z").await;
    bench
        .ask("2026-03-24T10:00Z", "2026-03-24T17:40Z", block("told late"))
        .await;
    bench.look("2026-03-24T17:41Z").await;
    assert_eq!(bench.evenings()[2..], ["2026-03-24"]);
    assert!(bench.is_sound());
}

/// The sweeps of days a clock ahead swept are done again as they come.
#[tokio::test]
async fn a_day_swept_by_a_clock_ahead_is_swept_when_it_comes() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench.look("2026-04-02T10:30Z").await;
    bench.look("2026-03-24T08:00Z").await;
    bench.look("2026-03-24T08:01Z").await;
    assert_eq!(bench.sweeps(), ["2026-04-02", "2026-03-24"]);
    assert!(bench.is_sound());
}

/// A clock that leaps months ahead is not believed before somebody has worked by it for an hour.
#[tokio::test]
async fn a_moment_with_the_clock_far_ahead_writes_no_page() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench
        .ask(
            "2026-07-01T09:00Z",
            "2026-07-01T09:00Z",
            block("by a wrong clock"),
        )
        .await;
    bench.look("2026-07-01T09:30Z").await;
    assert_eq!((bench.evenings(), bench.sweeps()), (vec![], vec![]));
    bench.look("2026-03-23T17:31Z").await;
    assert_eq!(bench.evenings(), ["2026-03-23"]);
    assert_eq!(bench.sweeps(), ["2026-03-23"]);
}

/// What the daemon enters by such a clock is no work: however long it goes on, no page is written.
#[tokio::test]
async fn the_daemon_alone_makes_no_leap_believed() {
    let bench = Bench::open();
    bench.job("2026-03-23T08:00Z", date(2026, 4, 7)).await;
    bench.look("2026-07-01T09:30Z").await;
    bench.look("2026-07-01T10:31Z").await;
    bench.look("2026-07-02T17:31Z").await;
    assert_eq!((bench.evenings(), bench.sweeps()), (vec![], vec![]));
}
