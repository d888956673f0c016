//! A made-up year of a made-up shop, driven through the real daemon, against figures computed
//! apart from the same log (`tests/reference/shop_year/figures.py`).

use std::collections::BTreeMap;

use jiff::Timestamp;
use lockring_proto::v1;
use lockring_proto::v1::change_shelf_request::Change;
use lockring_proto::v1::desk_client::DeskClient;
use lockring_proto::v1::enter_request::Entry;
use lockring_proto::v1::figures_client::FiguresClient;
use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::money_client::MoneyClient;
use lockring_proto::v1::supply_client::SupplyClient;
use tonic::transport::Channel;

use crate::support::{Shop, demo_file, rpc};

const LOG: &str = include_str!("../reference/shop_year/log.csv");
/// Evenings whose report is read on the evening and again at the end.
const EVENINGS: usize = 30;

/// One line of the log.
struct Line<'a> {
    at: &'a str,
    job: u32,
    by: &'a str,
    event: &'a str,
    x: &'a str,
    y: &'a str,
    z: &'a str,
}

fn log(first: u32) -> Vec<Line<'static>> {
    let lines = LOG.lines().skip(1).map(|line| {
        let cells: Vec<&str> = line.splitn(7, ',').collect();
        let [at, job, by, event, x, y, z] = cells[..] else {
            panic!("{line}");
        };
        let job = job.parse().unwrap();
        Line {
            at,
            job,
            by,
            event,
            x,
            y,
            z,
        }
    });
    lines.filter(|line| line.job <= first).collect()
}

fn values(pairs: &str) -> Vec<v1::Assignment> {
    let pairs = pairs.split(';').filter(|pair| !pair.is_empty());
    pairs
        .map(|pair| {
            let (field, value) = pair.split_once('=').unwrap_or(("", pair));
            v1::Assignment {
                field: field.into(),
                value: value.into(),
            }
        })
        .collect()
}

fn money(hundredths: &str) -> String {
    let amount: i64 = hundredths.parse().unwrap();
    format!("{}.{:02}", amount / 100, amount % 100)
}

/// Drives the log, a line at a time.
struct Driver {
    jobs: JobsClient<Channel>,
    desk: DeskClient<Channel>,
    supply: SupplyClient<Channel>,
    money: MoneyClient<Channel>,
    sheet: String,
    calls: u32,
}

impl Driver {
    fn origin(&mut self, line: &Line<'_>) -> Option<v1::Origin> {
        self.calls += 1;
        let at: Timestamp = line.at.parse().unwrap();
        Some(v1::Origin {
            request_id: format!("year-{}", self.calls),
            by: line.by.into(),
            terminal: "test".into(),
            made_at_us: Some(at.as_microsecond()),
            expected_revision: None,
            validate_only: false,
        })
    }

    async fn record(&mut self, line: &Line<'_>, act: &str, run: &str, typed: &str, anew: bool) {
        let request = v1::RecordRequest {
            origin: self.origin(line),
            job: line.job,
            act: act.into(),
            run: run.into(),
            values: values(typed),
            force: false,
            anew,
        };
        let told = self.jobs.record(request).await;
        told.unwrap_or_else(|status| panic!("{} job {} {act} {run}: {status}", line.at, line.job));
    }

    async fn enter(&mut self, line: &Line<'_>, entry: Entry) {
        let request = v1::EnterRequest {
            origin: self.origin(line),
            job: line.job,
            entry: Some(entry),
        };
        let told = self.money.enter(request).await;
        told.unwrap_or_else(|status| panic!("{} job {} {}: {status}", line.at, line.job, line.event));
    }

    async fn receive(&mut self, line: &Line<'_>, slot: &str, papers: bool) {
        let job = line.job;
        let has_serial = matches!(slot, "motor" | "controller" | "pack" | "charger");
        let tag = |letter: &str| {
            if has_serial {
                format!("{letter}-{slot}-{job}")
            } else {
                String::new()
            }
        };
        let is_pack = slot == "pack";
        let only_pack = |text: &str| if is_pack { text.to_owned() } else { String::new() };
        let request = v1::ReceiveRequest {
            origin: self.origin(line),
            job,
            slot: slot.into(),
            found: Vec::new(),
            serial: tag("S"),
            lot: tag("L"),
            volts: only_pack("36.9V"),
            group_spread: only_pack("12mV"),
            papers: if papers {
                only_pack("UN 38.3 summary, EN 50604-1 report")
            } else {
                String::new()
            },
            damage: only_pack("none"),
        };
        self.jobs.receive(request).await.unwrap();
    }

    async fn ride(&mut self, line: &Line<'_>) {
        let (hill, codes) = match line.x {
            "hill" => ("9km/h", "none"),
            "codes" => ("18.9km/h", "E07"),
            _ => ("18.9km/h", "none"),
        };
        let hill = format!("{hill};grade=6%;volts=34.9V");
        for (run, typed) in [
            ("conditions", "mass=78kg;wind=1m/s;air=11C"),
            ("stop", "4.9m;speed=25km/h"),
            ("stop", "4.8m;speed=25km/h"),
            ("stop", "4.9m;speed=25km/h"),
            ("stop-rear", "9.1m"),
            ("cutoff", "out=24.6;back=24.7"),
            ("speed", "out=24.7;back=24.8"),
            ("run-on", "pedal=1.5m;lever=0.8m"),
            ("hill", &hill),
            ("soak", "38C"),
            ("energy", "distance=12.4km;charge=2.31Ah;volts=37.1V"),
            ("codes", codes),
            ("recheck", "yes"),
        ] {
            self.record(line, "ride", run, typed, false).await;
        }
    }

    async fn fix(&mut self, line: &Line<'_>) {
        let donor = match line.x {
            "mass" => "permitted-mass=130kg",
            "pads" => "pad-lining=3mm",
            "nopapers" => return self.receive(line, "pack", true).await,
            "cutoff" => return self.record(line, "measure", "", "cut-left=3/3", true).await,
            "magnet" => return self.record(line, "measure", "", "mag=1.5", true).await,
            "codes" => return self.record(line, "ride", "codes", "none", true).await,
            "hill" => {
                let typed = "18.9km/h;grade=6%;volts=34.9V";
                return self.record(line, "ride", "hill", typed, true).await;
            }
            other => panic!("no cure for {other}"),
        };
        let request = v1::StateRequest {
            origin: self.origin(line),
            job: line.job,
            group: "donor".into(),
            values: values(donor),
            assumed: false,
        };
        self.jobs.state(request).await.unwrap();
    }

    async fn pay(&mut self, line: &Line<'_>) {
        let (kind, amount) = match line.x {
            "all" => {
                let request = v1::AccountRequest { job: line.job };
                let owed = self.money.account(request).await.unwrap().into_inner().owed;
                ("balance", money(&owed.to_string()))
            }
            kind => (kind, money(line.y)),
        };
        let how = if kind == "credit" { "scratch" } else { "" };
        let pay = v1::Pay {
            kind: kind.into(),
            amount,
            how: how.into(),
        };
        self.enter(line, Entry::Pay(pay)).await;
    }

    async fn quote(&mut self, line: &Line<'_>) {
        let mut add = v1::QuoteAdd {
            words: "a line".into(),
            price: money(line.y),
            ..v1::QuoteAdd::default()
        };
        if line.x == "labour" {
            add.kind = "labour".into();
            add.hours = format!("{}min", line.z);
        } else {
            add.kind = "part".into();
            add.cost = money(line.z);
            add.rework = line.x == "part-rework";
        }
        self.enter(line, Entry::QuoteAdd(add)).await;
    }

    async fn take_in(&mut self, line: &Line<'_>) {
        let fault = match line.z {
            "mass" => ";permitted-mass=103kg",
            "pads" => ";pad-lining=1mm",
            _ => "",
        };
        let request = v1::TakeInRequest {
            origin: self.origin(line),
            rider: line.x.into(),
            // The program apart knows of no purse.
            values: values(&format!("promise={}{fault};budget=9000", line.y)),
            build: Vec::new(),
            sheet: Some(v1::SheetFile {
                name: "trekking.toml".into(),
                content: self.sheet.clone(),
            }),
        };
        let reply = self.jobs.take_in(request).await.unwrap().into_inner();
        assert_eq!(reply.job, line.job);
    }

    async fn bench(&mut self, line: &Line<'_>) {
        let left = if line.x == "cutoff" { "1/3" } else { "3/3" };
        let magnet = if line.x == "magnet" { "3.5" } else { "1.5" };
        let typed = format!(
            "torque-arm=yes;torque-arms=2;steering-free=yes;mag={magnet};tyre-gap=7;spoke=11%;circ=2171;\
             circset=2170;limit=25km/h;cut-left={left};cut-right=3/3;fuse=20A;fuse-volts=60V;\
             fuse-breaks=1000A;fuse-distance=120mm;mass-after=22.0kg"
        );
        self.record(line, "measure", "", &typed, false).await;
        let torques = "axle=40;arm-bolt=6;stem=5;pedal=37;crank=40";
        self.record(line, "torque", "", torques, false).await;
    }

    async fn finish(&mut self, line: &Line<'_>) {
        let typed = format!(
            "full-charge=41.9V;charger-used=S-charger-{};limit-readback=25km/h;circumference-readback=2170;\
             label=yes;label-text=EPAC, 25 km/h, 250 W, 130 kg;instructions=yes;cautions=yes;\
             local-rules=yes;declaration=yes;first-check={};signature=the rider",
            line.job, line.x
        );
        self.record(line, "measure", "", &typed, false).await;
    }

    async fn play(&mut self, line: &Line<'_>) {
        match line.event {
            "take-in" => self.take_in(line).await,
            "quote" => self.quote(line).await,
            "pay" => self.pay(line).await,
            "gate" => {
                let request = v1::AdvanceRequest {
                    origin: self.origin(line),
                    job: line.job,
                    not_the_last: false,
                };
                let reply = self.jobs.advance(request).await.unwrap().into_inner();
                let failing: Vec<&str> = reply
                    .checks
                    .iter()
                    .filter(|check| !check.holds)
                    .map(|check| check.check.as_str())
                    .collect();
                let expected: Vec<&str> = Some(line.z)
                    .filter(|check| !check.is_empty())
                    .into_iter()
                    .collect();
                assert_eq!(failing, expected, "{} job {} {}", line.at, line.job, line.x);
                assert_eq!(reply.passed, line.y == "pass");
            }
            "fix" => self.fix(line).await,
            "order" => {
                let request = v1::OrderRequest {
                    origin: self.origin(line),
                    job: line.job,
                    slots: Vec::new(),
                    supplier: line.x.into(),
                    due: line.y.into(),
                    price: String::new(),
                };
                self.jobs.order(request).await.unwrap();
            }
            "receive" => {
                for slot in [
                    "motor",
                    "controller",
                    "pack",
                    "charger",
                    "display",
                    "pedal-sensor",
                    "torque-arm",
                ] {
                    self.receive(line, slot, line.x.is_empty()).await;
                }
            }
            "bench" => self.bench(line).await,
            "ride" => self.ride(line).await,
            "final" => self.finish(line).await,
            "on" => {
                let on = v1::ClockOn {
                    who: String::new(),
                    stage: line.x.into(),
                    rework: line.y.into(),
                };
                self.enter(line, Entry::ClockOn(on)).await;
            }
            "off" => self.enter(line, Entry::ClockOff(v1::ClockOff::default())).await,
            "fixclock" => {
                let to: Timestamp = line.y.parse().unwrap();
                let fix = v1::ClockFix {
                    number: line.x.parse().unwrap(),
                    from_us: 0,
                    to_us: to.as_microsecond(),
                    why: "forgot it".into(),
                };
                self.enter(line, Entry::ClockFix(fix)).await;
            }
            "visit" => {
                let visit = v1::VisitEntry {
                    symptom: line.z.into(),
                    odometer: String::new(),
                    found: "seen to".into(),
                    cause: line.x.into(),
                    payer: line.y.into(),
                    first_check: false,
                };
                self.enter(line, Entry::Visit(visit)).await;
            }
            "close" => {
                let request = v1::CloseRequest {
                    origin: self.origin(line),
                    job: line.job,
                    end: line.x.into(),
                    why: "the made-up shop says so".into(),
                };
                self.jobs.close(request).await.unwrap();
            }
            "shut" | "open" => self.calendar(line).await,
            "promise" => {
                let request = v1::PromiseRequest {
                    origin: self.origin(line),
                    job: line.job,
                    day: line.x.into(),
                    kind: String::new(),
                    why: "parts were late".into(),
                };
                self.desk.promise(request).await.unwrap();
            }
            "told" => {
                let request = v1::TellRequest {
                    origin: self.origin(line),
                    job: line.job,
                    words: "agreed".into(),
                };
                self.desk.tell(request).await.unwrap();
            }
            "shelf-order" | "shelf-move" | "shelf-come" => self.shelf(line).await,
            other => panic!("{other} is not played"),
        }
    }

    async fn calendar(&mut self, line: &Line<'_>) {
        let (origin, why) = (self.origin(line), "the made-up shop rests".to_owned());
        if line.event == "shut" {
            let days = vec![format!("{}..{}", line.x, line.y)];
            self.desk
                .shut(v1::ShutRequest { origin, days, why })
                .await
                .unwrap();
        } else {
            let days = vec![line.x.to_owned()];
            self.desk
                .reopen(v1::ReopenRequest { origin, days, why })
                .await
                .unwrap();
        }
    }

    async fn shelf(&mut self, line: &Line<'_>) {
        let change = match line.event {
            "shelf-order" => Change::Order(v1::ShelfOrder {
                part: "display-60".into(),
                count: line.z.parse().unwrap(),
                supplier: line.x.into(),
                due: line.y.into(),
                price: String::new(),
            }),
            "shelf-move" => Change::Line(v1::ShelfLineChange {
                line: line.x.parse().unwrap(),
                act: "move".into(),
                due: line.y.into(),
                amount: String::new(),
                why: "ship late".into(),
            }),
            _ => Change::Receipt(v1::ShelfReceipt {
                what: line.x.into(),
                count: line.y.parse().unwrap(),
                ..v1::ShelfReceipt::default()
            }),
        };
        let request = v1::ChangeShelfRequest {
            origin: self.origin(line),
            change: Some(change),
        };
        let told = self.supply.change_shelf(request).await;
        told.unwrap_or_else(|status| panic!("{} {} {}: {status}", line.at, line.event, line.x));
    }
}

async fn day(figures: &mut FiguresClient<Channel>, on: &str) -> v1::Sheet {
    let request = v1::FiguresRequest { on: on.into() };
    figures.day(request).await.unwrap().into_inner()
}

/// Week, section, row, column and value.
type Cells = BTreeMap<(String, String, String, String), String>;

fn expected(text: &str) -> Cells {
    let lines = text.lines().skip(1).map(|line| {
        let cells: Vec<String> = line
            .splitn(5, ',')
            .map(|cell| cell.trim_matches('"').to_owned())
            .collect();
        let [week, section, row, column, value] = <[String; 5]>::try_from(cells).unwrap();
        ((week, section, row, column), value)
    });
    lines.collect()
}

/// The rides behind the figure that most of them have; the sizes of the errors have tests of their own.
fn most_rides(section: &v1::Section) -> String {
    let place = section.columns.iter().position(|column| column.key == "rides");
    let place = place.expect("a column of rides");
    let rides = section
        .rows
        .iter()
        .map(|row| row.cells[place].parse::<u32>().unwrap());
    rides.max().unwrap_or(0).to_string()
}

async fn weeks(figures: &mut FiguresClient<Channel>, expected: &Cells) -> Cells {
    let mut mondays: Vec<&String> = expected.keys().map(|(week, ..)| week).collect();
    mondays.dedup();
    let mut told = Cells::new();
    for monday in mondays {
        let request = v1::FiguresRequest { on: monday.clone() };
        let sheet = figures.week(request).await.unwrap().into_inner();
        for section in sheet.sections {
            if section.key == "predictions" {
                let place = (monday.clone(), "ridden".into(), "1".into(), "rides".into());
                told.insert(place, most_rides(&section));
                continue;
            }
            for (number, row) in section.rows.into_iter().enumerate() {
                for (column, cell) in section.columns.iter().zip(row.cells) {
                    let row = (number + 1).to_string();
                    told.insert(
                        (monday.clone(), section.key.clone(), row, column.key.clone()),
                        cell,
                    );
                }
            }
        }
    }
    told
}

fn year(first: u32, figures_of_the_log: &str) {
    let shop = Shop::open();
    shop.run(["catalogue", "import", &demo_file("catalogue.toml")])
        .ok();
    let sheet = std::fs::read_to_string(demo_file("trekking.toml")).unwrap();
    rpc::block_on(async {
        let channel = rpc::connect(&shop).await;
        let mut figures = FiguresClient::new(channel.clone());
        let mut driver = Driver {
            jobs: JobsClient::new(channel.clone()),
            desk: DeskClient::new(channel.clone()),
            supply: SupplyClient::new(channel.clone()),
            money: MoneyClient::new(channel),
            sheet,
            calls: 0,
        };
        let lines = log(first);
        let mut evenings: Vec<(String, v1::Sheet)> = Vec::new();
        for (place, line) in lines.iter().enumerate() {
            driver.play(line).await;
            let is_last_of_day = lines
                .get(place + 1)
                .is_none_or(|next| next.at[..10] != line.at[..10]);
            if is_last_of_day && evenings.len() < EVENINGS && place > 100 {
                let on = line.at[..10].to_owned();
                let told = day(&mut figures, &on).await;
                evenings.push((on, told));
            }
        }
        assert_eq!(evenings.len(), EVENINGS);
        for (on, told) in &evenings {
            assert_eq!(&day(&mut figures, on).await, told, "the evening of {on}");
        }
        let expected = expected(figures_of_the_log);
        let told = weeks(&mut figures, &expected).await;
        for (place, value) in &expected {
            assert_eq!(told.get(place), Some(value), "{place:?}");
        }
        assert_eq!(told.len(), expected.len());
    });
}

#[test]
fn the_figures_of_thirty_jobs_are_those_computed_apart() {
    year(30, include_str!("../reference/shop_year/expected-30.csv"));
}

#[test]
#[ignore = "takes minutes; run it when reports or the fold change"]
fn the_figures_of_a_year_are_those_computed_apart() {
    year(300, include_str!("../reference/shop_year/expected-300.csv"));
}
