//! What all checks of a gate cost.

use lockring_domain::job::Job;
use lockring_domain::rules::RuleSheet;
use lockring_domain::stage::Stage;
use lockring_domain::{check, checks, gate};
use lockring_store::Store;

use super::board::{Amount, Bar, Board, median, timed};
use crate::support::Shop;

/// Every gate of the demo's jobs; the dearest one is told. The floor is reading the job from its
/// text, which every call does before.
pub fn figures(board: &mut Board, rounds: usize) {
    let mut shop = Shop::after_the_demo();
    shop.run(["daemon", "stop"]).ok();
    shop.forget();
    let store = Store::open(&shop.folder()).unwrap();
    let rules = RuleSheet::shipped();
    for stage in Stage::GATED {
        let mut dearest = None;
        for number in 1..=3 {
            let job = store.read(|reader| reader.job(number)).unwrap().unwrap();
            let text = serde_json::to_string(&*job).unwrap();
            let (mut runs, mut reads) = (Vec::new(), Vec::new());
            for _ in 0..rounds {
                let (took, reports) = timed(|| gate::run(stage, &job, &rules));
                assert!(!reports.is_empty());
                runs.push(took);
                let (took, read) = timed(|| serde_json::from_str::<Job>(&text));
                assert_eq!(read.unwrap().number, number);
                reads.push(took);
            }
            dearest = dearest.max(Some((median(runs), median(reads), number)));
        }
        let (run, read, number) = dearest.unwrap();
        board.show(
            &format!("all checks of gate {}, job {number} of the demo", stage.word()),
            Amount::ms(run),
            ("reading that job from its text", Amount::ms(read)),
            Bar::Most(1.0),
        );
        let job = store.read(|reader| reader.job(number)).unwrap().unwrap();
        println!("    dearest: {}", dearest_checks(stage, &job, &rules));
    }
}

/// The three checks of a gate that take longest.
fn dearest_checks(stage: Stage, job: &Job, rules: &RuleSheet) -> String {
    let of_gate = checks::ALL.iter().filter(|check| check.gates.contains(&stage));
    let mut took: Vec<_> = of_gate
        .map(|check| {
            let runs = (0..20).map(|_| timed(|| check::run(check, job, rules, stage)).0);
            (median(runs.collect()), check.id)
        })
        .collect();
    took.sort_unstable_by(|a, b| b.cmp(a));
    let words = took
        .iter()
        .take(3)
        .map(|(took, id)| format!("{id} {}", Amount::ms(*took)));
    words.collect::<Vec<_>>().join(", ")
}
