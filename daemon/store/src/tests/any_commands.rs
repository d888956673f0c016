//! Any sequence of commands: what is stored is what the entries fold into, and no gate passes
//! over a failure that nobody may concede.
//!
//! Jobs of the demo's sheets get commands drawn at random, most of them plausible, each decided
//! by the domain as the daemon does and stored, which refuses a state that its entries do not
//! fold into. What is decided with what checks found before is what is decided without. More with
//! `LOCKRING_COMMANDS`.

use std::sync::Arc;

use jiff::civil::date;
use jiff::tz::TimeZone;
use lockring_domain::catalogue;
use lockring_domain::check::{Concede, Verdict};
use lockring_domain::checks;
use lockring_domain::code::{self, Group};
use lockring_domain::command::{self, Act, Command, Desk, Draft, ReceiptText, SupplyCommand, Typed};
use lockring_domain::entry::Event;
use lockring_domain::gate::Memory;
use lockring_domain::part::{Part, Slot};
use lockring_domain::refusal::Refusal;
use lockring_domain::rules::RuleSheet;
use lockring_domain::sheet;
use lockring_domain::shop::Shop;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::{Bench, at, origin};
use crate::Tx;

const CATALOGUE: &str = include_str!("../../../../cli/demo/catalogue.toml");
const SHEETS: [&str; 3] = [
    include_str!("../../../../cli/demo/trekking.toml"),
    include_str!("../../../../cli/demo/longtail.toml"),
    include_str!("../../../../cli/demo/hardtail.toml"),
];

struct Player {
    bench: Bench,
    parts: Vec<Part>,
    draw: ChaCha8Rng,
    minute: i64,
    /// What checks found of the jobs before.
    memory: Arc<Memory>,
    /// Gates that passed, and gates that a never-conceded failure kept shut.
    passed: u32,
    kept_shut: u32,
    refused: u32,
    /// The last command, for complaints.
    last: String,
}

impl Player {
    fn below(&mut self, bound: usize) -> usize {
        (self.draw.next_u64() % bound as u64) as usize
    }

    fn one<T: Clone>(&mut self, of: &[T]) -> T {
        let at = self.below(of.len());
        of[at].clone()
    }

    /// Decides and stores as the daemon does; a refusal stores nothing.
    fn decide(
        &mut self,
        number: u32,
        decide: impl Fn(&Tx<'_>, &Desk<'_>) -> Result<Draft, Refusal> + Send + 'static,
    ) {
        self.minute += 7;
        let (parts, minute) = (self.parts.clone(), self.minute);
        let memory = self.memory.clone();
        let done = self.bench.write(move |tx| {
            let part = |id: &str| parts.iter().find(|part| part.id == id).cloned();
            let part_ids = || parts.iter().map(|part| part.id.clone()).collect();
            let (rules, shop) = (RuleSheet::shipped(), Shop::default());
            let holders = |serial_key: &str| tx.holders(serial_key).unwrap();
            let history = |job: u32| tx.entries(job).unwrap();
            let clocks = |who: &str| tx.clocks(who).unwrap();
            let desk = Desk {
                rules: &rules,
                shop: &shop,
                zone: &TimeZone::UTC,
                holders: &holders,
                history: &history,
                clocks: &clocks,
                part: &part,
                part_ids: &part_ids,
                memory: Some(&memory),
            };
            let decided = decide(tx, &desk);
            let anew = decide(tx, &Desk { memory: None, ..desk });
            assert_eq!(format!("{decided:?}"), format!("{anew:?}"), "minute {minute}");
            let draft = decided?;
            if !draft.events.is_empty() {
                tx.append(number, &draft.origin, at(minute), &draft.events, &draft.job)?;
            }
            Ok(draft)
        });
        match done {
            Ok(draft) => self.look(&draft),
            Err(crate::WriteError::Refused(_)) => self.refused += 1,
            Err(error) => panic!("minute {minute}: {error}, last asked: {}", self.last),
        }
    }

    /// No gate is passed over a failure that nobody may concede.
    fn look(&mut self, draft: &Draft) {
        for event in &draft.events {
            let Event::GateTried {
                gate,
                findings,
                passed,
            } = event
            else {
                continue;
            };
            let never: Vec<&str> = findings
                .iter()
                .filter(|kept| kept.verdict == Verdict::Fail && must_never_be_conceded(&kept.check))
                .map(|kept| kept.check.as_str())
                .collect();
            assert!(
                !passed || never.is_empty(),
                "gate {} was passed over {never:?}",
                gate.word()
            );
            assert!(
                findings.iter().all(|kept| !kept.conceded
                    || !must_never_be_conceded(&kept.check)
                    || kept.verdict != Verdict::Fail),
                "a failure that nobody may concede stands as conceded"
            );
            self.passed += u32::from(*passed);
            self.kept_shut += u32::from(!never.is_empty());
        }
    }

    fn take_in(&mut self, number: u32) {
        let (mut values, mut build) = (Vec::new(), Vec::new());
        let text = self.one(&SHEETS);
        for table in sheet::tables("sheet", text).unwrap() {
            match table.name.as_str() {
                "brief" | "donor" => values.extend(table.values),
                "build" => build = table.values,
                _ => {}
            }
        }
        let minute = self.minute;
        self.decide(number, move |_, desk| {
            command::take_in(number, origin(minute), "Zoe", &values, &build, desk)
        });
    }

    fn command(&mut self, number: u32) -> Command {
        let slot = self.one(&Slot::ALL).word().to_owned();
        let codes: Vec<_> = code::all().collect();
        let code = self.one(&codes);
        let value = Typed::new(code.key(), code.example());
        let why = "because".to_owned();
        match self.below(16) {
            0 | 1 => Command::State {
                group: None,
                values: vec![value],
                assumed: self.below(2) == 0,
            },
            2 | 3 if code.group == Group::Torque => Command::Record {
                act: Act::Torque,
                values: vec![value],
                force: false,
                anew: false,
            },
            2 | 3 => Command::Record {
                act: Act::Measure,
                values: vec![value],
                force: true,
                anew: self.below(2) == 0,
            },
            4 => {
                let part = self.one(&self.parts.clone()).id;
                let id = if self.below(4) == 0 { "none".into() } else { part };
                Command::Build {
                    parts: vec![Typed::new(slot, id)],
                }
            }
            5 if self.below(3) == 0 => Command::Supply(self.supply(slot, why)),
            5 => Command::Order {
                slots: Vec::new(),
                supplier: "supplier one".into(),
                due: None,
                price: String::new(),
            },
            6 | 7 => Command::Receive {
                slot,
                found: Vec::new(),
                details: ReceiptText {
                    serial: "S-1".into(),
                    lot: "L-1".into(),
                    papers: "UN 38.3 summary".into(),
                    volts: "40 V".into(),
                    damage: if self.below(4) == 0 {
                        "dented".into()
                    } else {
                        String::new()
                    },
                    ..ReceiptText::default()
                },
            },
            8 => {
                let job = self.bench.job(number);
                let stages = ["intake", "parts", "fitting", "test-ride", job.stage.word()];
                Command::SendBack {
                    stage: self.one(&stages).into(),
                    why,
                }
            }
            9 => Command::OpenBlock {
                family: self.one(&["fit", "parts", "rider", "shop"]).into(),
                about: "something".into(),
                whose: String::new(),
                chase: None,
                clears_when: "it is done".into(),
            },
            10 => Command::ClearBlock {
                number: 1 + self.below(6) as u32,
                why,
            },
            11 if self.below(3) == 0 => Command::Hold { why, until: None },
            11 => Command::Release,
            12 => {
                let check = self.one(checks::ALL).id.to_owned();
                Command::Concede { check, why }
            }
            13 if self.below(40) == 0 => Command::Close {
                end: "returned".into(),
                why,
            },
            13 => Command::Note {
                text: "a word".into(),
                private: self.below(2) == 0,
            },
            _ => Command::Advance,
        }
    }

    fn supply(&mut self, slot: String, why: String) -> SupplyCommand {
        match self.below(5) {
            0 => SupplyCommand::MoveOrder {
                slots: Vec::new(),
                due: date(2027, 3, 1),
                why,
            },
            1 => SupplyCommand::CancelOrder {
                slots: vec![slot],
                why,
            },
            2 => SupplyCommand::ReturnPart { slot, why },
            3 => SupplyCommand::Credit {
                slot,
                amount: "12.50".into(),
            },
            _ => SupplyCommand::Substitute {
                slot,
                part: self.one(&self.parts.clone()).id,
                supplier: "supplier one".into(),
                due: None,
                price: String::new(),
            },
        }
    }

    /// Concedes whatever the owner may of the gate's last try, and tries again.
    fn push(&mut self, number: u32) {
        let entries = self.bench.entries(number);
        let tried = entries.iter().rev().find_map(|entry| match &entry.event {
            Event::GateTried {
                findings,
                passed: false,
                ..
            } => Some(findings.clone()),
            _ => None,
        });
        for kept in tried
            .unwrap_or_default()
            .into_iter()
            .filter(|kept| kept.verdict > Verdict::Pass)
        {
            self.play(
                number,
                Command::Concede {
                    check: kept.check,
                    why: "pushed".into(),
                },
            );
        }
        self.play(number, Command::Advance);
    }

    fn play(&mut self, number: u32, command: Command) {
        let minute = self.minute;
        self.last = format!("{command:?}");
        self.decide(number, move |tx, desk| {
            let job = tx.job(number).unwrap().expect("the job is there");
            command::change(job, None, origin(minute), &command, desk)
        });
    }

    fn undo(&mut self, number: u32) {
        let (minute, last) = (self.minute, self.bench.job(number).revision as usize);
        let seq = (self.below(2) == 0).then(|| 1 + self.below(last) as u64);
        self.decide(number, move |tx, desk| {
            let entries = tx.entries(number).unwrap();
            command::undo(&entries, None, origin(minute), seq, "", desk)
        });
    }
}

fn must_never_be_conceded(id: &str) -> bool {
    let check = checks::ALL.iter().find(|check| check.id == id).unwrap();
    check.concede == Concede::Never
}

#[test]
fn any_commands_leave_tables_as_their_entries_fold_and_no_gate_passes_what_nobody_may_concede() {
    let steps: u32 = std::env::var("LOCKRING_COMMANDS").map_or(640, |text| text.parse().unwrap());
    let mut player = Player {
        bench: Bench::new(),
        parts: catalogue::read("catalogue", CATALOGUE).unwrap(),
        draw: ChaCha8Rng::seed_from_u64(20_260_302),
        minute: 0,
        memory: Arc::new(Memory::of(&RuleSheet::shipped())),
        passed: 0,
        kept_shut: 0,
        refused: 0,
        last: String::new(),
    };
    let mut number = 0;
    for step in 0..steps {
        if step % 40 == 0 {
            number += 1;
            player.take_in(number);
        }
        match player.below(8) {
            0 => player.undo(number),
            1 => player.push(number),
            _ => {
                let command = player.command(number);
                player.play(number, command);
            }
        }
    }
    assert_eq!(player.bench.problems(), [""; 0]);
    let Player {
        passed,
        kept_shut,
        refused,
        ..
    } = player;
    let entries: usize = (1..=number).map(|job| player.bench.entries(job).len()).sum();
    assert!(
        passed > 0 && kept_shut > 0 && refused > 0 && entries > steps as usize / 2,
        "{passed} gates passed, {kept_shut} kept shut, {refused} refused, {entries} entries: this proves little"
    );
}
