//! Tests of entries: each kind as it is stored, as it is told, and what may be done with it.
//!
//! The stored forms are what journals hold: a change that lets one of them no longer read, or
//! writes it otherwise, breaks the journals of shops. Forms and lines are regression values.

use super::*;
use crate::catalogue;
use crate::private;
use crate::removal::Kind;

const CATALOGUE: &str = include_str!("../../../../cli/demo/catalogue.toml");

/// What may be done with an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Undo {
    /// `undo` may retract it.
    Yes,
    /// It may not.
    No,
}
use Undo::{No, Yes};

/// Stored form, kind, line, whether `undo` may retract it, and its private texts.
type Row = (
    &'static str,
    &'static str,
    &'static str,
    Undo,
    &'static [(Kind, &'static str)],
);

/// Entries of a job.
const OF_A_JOB: &[Row] = &[
    (
        r#"{"event":"taken-in","rider":"Ada"}"#,
        "taken-in",
        "taken in for Ada",
        No,
        &[(Kind::Name, "Ada")],
    ),
    (
        r#"{"event":"stated","values":{"contact":{"text":"ada@x.invalid"},"hill-grade":{"number":0.08}},"provenance":"stated"}"#,
        "stated",
        "stated: contact ada@x.invalid, hill-grade 8 %",
        Yes,
        &[(Kind::Contact, "ada@x.invalid")],
    ),
    (
        r#"{"event":"recorded","run":"speed","readings":{"speed-out":{"number":6.0}},"forced":true,"anew":true}"#,
        "recorded",
        "ride speed: speed-out 21.6 km/h (window overruled) (new series)",
        Yes,
        &[],
    ),
    (
        r#"{"event":"recorded","run":null,"readings":{"no-such-code":{"number":6.0}},"forced":false,"anew":false}"#,
        "recorded",
        "no-such-code",
        Yes,
        &[],
    ),
    (
        r#"{"event":"dropped","slot":"light"}"#,
        "dropped",
        "light: empty",
        Yes,
        &[],
    ),
    (
        r#"{"event":"ordered","slot":"motor","supplier":"N","due":"2026-03-10"}"#,
        "ordered",
        "motor ordered from N, due 2026-03-10",
        Yes,
        &[],
    ),
    (
        r#"{"event":"ordered","slot":"motor","supplier":"N","due":null,"price":41050}"#,
        "ordered",
        "motor ordered from N, 410.50",
        Yes,
        &[],
    ),
    (
        r#"{"event":"received","slot":"pack","found":{"mass":{"number":3.1}},"serial":"S1","lot":"L1","volts":36.9,"group_spread":0.012,"papers":"report","damage":"dented"}"#,
        "received",
        "pack received, serial S1, lot L1, 36.90 V, papers report, DAMAGED: dented, read off the part: mass",
        Yes,
        &[],
    ),
    (
        r#"{"event":"received","slot":"pack","found":{},"serial":null,"lot":null,"volts":null,"group_spread":null,"papers":null,"damage":null,"shelf":4,"supplier":"N"}"#,
        "received",
        "pack received, from the shelf, item 4",
        No,
        &[],
    ),
    (
        r#"{"event":"gate-tried","gate":"intake","findings":[],"passed":true}"#,
        "gate-tried",
        "gate intake passed: 0 checks",
        No,
        &[],
    ),
    (
        r#"{"event":"gate-tried","gate":"fitting","findings":[{"check":"a.b","version":1,"verdict":"caution","summary":"s","uses":[],"fingerprint":"f","conceded":true},{"check":"c.d","version":1,"verdict":"pass","summary":"s","uses":[],"fingerprint":"f","conceded":false}],"passed":true}"#,
        "gate-tried",
        "gate fitting passed: 2 checks, 1 by concession",
        No,
        &[],
    ),
    (
        r#"{"event":"gate-tried","gate":"fitting","findings":[{"check":"conceded","version":1,"verdict":"fail","summary":"s","uses":[],"fingerprint":"f","conceded":true},{"check":"held","version":1,"verdict":"pass","summary":"s","uses":[],"fingerprint":"f","conceded":false},{"check":"doubtful","version":1,"verdict":"caution","summary":"s","uses":[],"fingerprint":"f","conceded":false},{"check":"failed","version":1,"verdict":"fail","summary":"s","uses":[],"fingerprint":"f","conceded":false}],"passed":false}"#,
        "gate-tried",
        "gate fitting stays shut: doubtful, failed",
        No,
        &[],
    ),
    (
        r#"{"event":"conceded","check":"a.b","why":"agreed","fingerprint":"f","finding":"3 mm short"}"#,
        "conceded",
        "a.b conceded: agreed (3 mm short)",
        Yes,
        &[],
    ),
    (
        r#"{"event":"sent-back","stage":"parts","why":"wrong"}"#,
        "sent-back",
        "back at parts: wrong",
        No,
        &[],
    ),
    (
        r#"{"event":"blocked","number":2,"family":"fit","check":null,"about":"rubs","whose":"mechanic","chase":"2026-03-09","clears_when":"it turns"}"#,
        "blocked",
        "block 2 (fit, mechanic to move): rubs",
        No,
        &[(Kind::Words, "rubs")],
    ),
    (
        r#"{"event":"blocked","number":3,"family":"power","check":"a.b","about":"dim","whose":"owner","chase":null,"clears_when":"it holds"}"#,
        "blocked",
        "block 3 (power, owner to move): dim",
        No,
        &[],
    ),
    (
        r#"{"event":"restated","number":3,"about":"2 mm","whose":"supplier","clears_when":"it holds"}"#,
        "restated",
        "block 3 (supplier to move) now: 2 mm",
        No,
        &[],
    ),
    (
        r#"{"event":"cleared","number":3,"why":"filed"}"#,
        "cleared",
        "block 3 cleared: filed",
        No,
        &[],
    ),
    (
        r#"{"event":"line-late","number":4,"line":{"slot":"pack","due":"2026-03-02"},"about":"2 days late"}"#,
        "line-late",
        "block 4 (parts, supplier to move): 2 days late",
        No,
        &[],
    ),
    (
        r#"{"event":"chased","number":4,"chase":"2026-03-12","whose":"rider","said":"calls back"}"#,
        "chased",
        "block 4 asked about, calls back, rider to move, again on 2026-03-12",
        Yes,
        &[(Kind::Words, "calls back")],
    ),
    (
        r#"{"event":"chased","number":4,"chase":null,"whose":null,"said":""}"#,
        "chased",
        "block 4 asked about, not to be asked again",
        Yes,
        &[],
    ),
    (
        r#"{"event":"promised","day":"2026-04-01","hard":true,"why":"a fair"}"#,
        "promised",
        "promised for 2026-04-01, hard: a fair",
        Yes,
        &[(Kind::Words, "a fair")],
    ),
    (
        r#"{"event":"promised","day":"2026-04-01","hard":false,"why":""}"#,
        "promised",
        "promised for 2026-04-01, soft",
        Yes,
        &[],
    ),
    (
        r#"{"event":"promised","day":"2026-04-01","hard":null,"why":""}"#,
        "promised",
        "promised for 2026-04-01",
        Yes,
        &[],
    ),
    (
        r#"{"event":"told","words":"a week later"}"#,
        "told",
        "rider told: a week later",
        Yes,
        &[(Kind::Words, "a week later")],
    ),
    (
        r#"{"event":"held","why":"away","until":"2026-05-01"}"#,
        "held",
        "on hold until 2026-05-01: away",
        Yes,
        &[(Kind::Words, "away")],
    ),
    (
        r#"{"event":"held","why":"away","until":null}"#,
        "held",
        "on hold: away",
        Yes,
        &[(Kind::Words, "away")],
    ),
    (r#"{"event":"released"}"#, "released", "hold ended", Yes, &[]),
    (
        r#"{"event":"noted","text":"seen"}"#,
        "noted",
        "note: seen",
        Yes,
        &[(Kind::Words, "seen")],
    ),
    (
        r#"{"event":"noted","text":"has a bad knee","private":true}"#,
        "noted",
        "private note: has a bad knee",
        Yes,
        &[(Kind::PrivateNote, "has a bad knee")],
    ),
    (
        r#"{"event":"retracted","seq":7,"why":"slip"}"#,
        "retracted",
        "entry 7 retracted: slip",
        No,
        &[],
    ),
    (
        r#"{"event":"closed","end":"returned","why":"glued"}"#,
        "closed",
        "returned: glued",
        No,
        &[(Kind::Words, "glued")],
    ),
    (
        r#"{"event":"photographed","number":2,"caption":"left dropout","file":"a.jpg","format":"jpeg","bytes":2048,"sha256":"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad","check":"a.b"}"#,
        "photographed",
        "photo 2: left dropout (a.jpg, JPEG, 2 kB), for a.b",
        Yes,
        &[(Kind::Words, "left dropout"), (Kind::Words, "a.jpg")],
    ),
    (
        r#"{"event":"ride-logged","number":1,"file":"r.fit","columns":"","meter":"crank","packed":{"sha256":"ab","bytes":3,"content":"eA=="},"study":{"format":"FIT","samples":90,"began_s":null,"time_s":5400.0,"moving_s":5000.0,"distance_m":12340.0,"distance_by":"b","speed_derived":false,"climb_m":[81.6,80.0],"top_mps":null,"work_j":null,"motor_work_j":null,"charge":null,"has":[],"mended":[],"stretches":[],"fits":[],"said":[]}}"#,
        "ride-logged",
        "ride log 1: r.fit (FIT, 90 samples, 90 min, 12.34 km, 82 m up)",
        Yes,
        &[(Kind::Words, "r.fit")],
    ),
    (
        r#"{"event":"supply","supply":"order-moved","slot":"pack","due":"2026-03-12","why":"ship late"}"#,
        "order-moved",
        "pack now promised for 2026-03-12: ship late",
        Yes,
        &[],
    ),
    (
        r#"{"event":"supply","supply":"order-cancelled","slot":"pack","why":"not made"}"#,
        "order-cancelled",
        "order of pack cancelled: not made",
        Yes,
        &[],
    ),
    (
        r#"{"event":"supply","supply":"part-returned","slot":"pack","why":"dead"}"#,
        "part-returned",
        "pack returned to the supplier: dead",
        Yes,
        &[],
    ),
    (
        r#"{"event":"supply","supply":"credited","slot":"pack","amount":9850}"#,
        "credited",
        "pack: the supplier credited 98.50",
        Yes,
        &[],
    ),
    (
        r#"{"event":"supply","supply":"put-back","slot":"pack","item":9,"why":"too large"}"#,
        "put-back",
        "pack put onto the shelf as item 9: too large",
        No,
        &[],
    ),
    (
        r#"{"event":"supply","supply":"part-went","slot":"pack","off":{"part":"pack-13s4p","serial":"P7"},"to":"put-back","item":9,"why":"too large"}"#,
        "part-went",
        "pack that was taken off (P7) put onto the shelf as item 9: too large",
        No,
        &[],
    ),
    (
        r#"{"event":"supply","supply":"part-went","slot":"chainring","to":"scrapped","why":"worn"}"#,
        "part-went",
        "chainring scrapped: worn",
        Yes,
        &[],
    ),
    (
        r#"{"event":"supply","supply":"part-went","slot":"chainring","off":{"part":"ring-36-2"},"to":"refitted","why":"on the job again"}"#,
        "part-went",
        "chainring that was taken off (ring-36-2) is on the job again: on the job again",
        No,
        &[],
    ),
    (
        r#"{"event":"account","what":"quoted","number":1,"kind":"part","words":"wheel","price":20000,"cost":15000,"minutes":0,"rework":true}"#,
        "quoted",
        "quote line 1 (part, rework): wheel, 200.00",
        Yes,
        &[],
    ),
    (
        r#"{"event":"account","what":"quoted","number":2,"kind":"labour","words":"fitting","price":5800,"cost":0,"minutes":60,"rework":false}"#,
        "quoted",
        "quote line 2 (labour): fitting (1:00 h), 58.00",
        Yes,
        &[],
    ),
    (
        r#"{"event":"account","what":"taxed","rate":{"percent_hundredths":810}}"#,
        "taxed",
        "prices hold 8.1 % tax",
        Yes,
        &[],
    ),
    (
        r#"{"event":"account","what":"taxed","rate":{"percent_hundredths":1000,"whole_units":true}}"#,
        "taxed",
        "prices hold 10 % tax",
        Yes,
        &[],
    ),
    (
        r#"{"event":"account","what":"struck","number":2,"why":"not needed"}"#,
        "struck",
        "quote line 2 struck: not needed",
        Yes,
        &[],
    ),
    (
        r#"{"event":"account","what":"ceiling","amount":90000}"#,
        "ceiling",
        "no call needed up to 900.00",
        Yes,
        &[],
    ),
    (
        r#"{"event":"account","what":"agreed","total":95000,"how":"by phone"}"#,
        "agreed",
        "rider agreed to 950.00: by phone",
        Yes,
        &[(Kind::Words, "by phone")],
    ),
    (
        r#"{"event":"account","what":"paid","kind":"deposit","amount":8000,"how":""}"#,
        "paid",
        "deposit 80.00",
        Yes,
        &[],
    ),
    (
        r#"{"event":"account","what":"paid","kind":"write-off","amount":100,"how":"rounding"}"#,
        "paid",
        "write-off 1.00: rounding",
        Yes,
        &[(Kind::Words, "rounding")],
    ),
    (
        r#"{"event":"account","what":"invoiced","number":1,"total":95000}"#,
        "invoiced",
        "invoice 1: 950.00",
        Yes,
        &[],
    ),
    (
        r#"{"event":"labour","what":"clocked-on","number":1,"who":"K","stage":"fitting","rework":"our-work"}"#,
        "clocked-on",
        "clock 1: K on at fitting, again because of our-work",
        Yes,
        &[],
    ),
    (
        r#"{"event":"labour","what":"clocked-on","number":1,"who":"K","stage":"fitting","rework":null}"#,
        "clocked-on",
        "clock 1: K on at fitting",
        Yes,
        &[],
    ),
    (
        r#"{"event":"labour","what":"clocked-off","number":1}"#,
        "clocked-off",
        "clock 1 off",
        Yes,
        &[],
    ),
    (
        r#"{"event":"labour","what":"clock-fixed","number":1,"from":"2026-03-03T08:00:00Z","to":"2026-03-03T10:00:00Z","why":"forgot"}"#,
        "clock-fixed",
        "clock 1 put right, 2026-03-03T08:00:00Z to 2026-03-03T10:00:00Z: forgot",
        Yes,
        &[],
    ),
    (
        r#"{"event":"after","what":"visited","symptom":"creaks","odometer_km":150,"found":"loose arm","cause":"our-work","payer":"shop","first_check":false}"#,
        "visited",
        "visit, 150 km, creaks, found: loose arm, because of our-work, paid by shop",
        Yes,
        &[(Kind::Words, "creaks"), (Kind::Words, "loose arm")],
    ),
    (
        r#"{"event":"after","what":"visited","symptom":"","odometer_km":null,"found":"all well","cause":null,"payer":null,"first_check":true}"#,
        "visited",
        "first check, found: all well",
        Yes,
        &[(Kind::Words, "all well")],
    ),
    (
        r#"{"event":"after","what":"claimed","number":1,"against":"supplier","about":"dead controller","amount":11000}"#,
        "claimed",
        "claim 1 against supplier: dead controller, 110.00",
        Yes,
        &[(Kind::Words, "dead controller")],
    ),
    (
        r#"{"event":"after","what":"claim-settled","number":1,"paid":11000,"how":"credit note"}"#,
        "claim-settled",
        "claim 1 settled, 110.00 paid: credit note",
        Yes,
        &[(Kind::Words, "credit note")],
    ),
    (
        r#"{"event":"after","what":"swapped","slot":"pack","serial_out":"S1","serial_in":"S2","lot_in":"","payer":"rider","why":"swollen"}"#,
        "swapped",
        "pack S1 swapped for S2, paid by rider: swollen",
        Yes,
        &[],
    ),
    (
        r#"{"event":"after","what":"replaced","serial_out":"S1","came":{"slot":"pack","found":{"series":{"number":14.0}},"serial":"S2","lot":"L","volts":51.0,"group_spread":0.01,"papers":"summary","damage":"dent"},"payer":"shop","why":"swollen"}"#,
        "replaced",
        "pack S1 swapped for S2, paid by shop: swollen; 51.00 V, papers summary, DAMAGED: dent, read off the part: series",
        Yes,
        &[],
    ),
    (
        r#"{"event":"after","what":"looked-at","slot":"pack","found":{},"serial":"S2","lot":"L","volts":51.0,"group_spread":null,"papers":null,"damage":null}"#,
        "looked-at",
        "pack S2 looked at: 51.00 V",
        Yes,
        &[],
    ),
    (
        r#"{"event":"rider-removed","on":"2027-01-04","why":"asked","who":[1,2],"words":[5],"although":["it is owed 3.00"]}"#,
        "rider-removed",
        "customer removed on 2027-01-04: asked; words removed: entry 5; although it is owed 3.00",
        No,
        &[],
    ),
    (
        r#"{"event":"recatalogued","slot":"controller","part":{"id":"c-1","kind":"controller","attributes":{"max-volts":{"number":40.0}}},"block":2,"about":"c-1: max-volts 40 V"}"#,
        "recatalogued",
        "block 2 (parts, owner to move): the catalogue's controller changed: c-1: max-volts 40 V",
        No,
        &[],
    ),
    (
        r#"{"event":"corrected","slot":"controller","part":{"id":"c-1","kind":"controller","attributes":{"name":{"text":"Controller 14 A"}}}}"#,
        "corrected",
        "controller: Controller 14 A as the catalogue has it now",
        No,
        &[],
    ),
];

/// Entries of no job; none of them is undone by `undo` of a job.
const OF_THE_SHOP: &[(&str, &str, &str)] = &[
    (
        r#"{"event":"stock","stock":"moved","line":2,"due":"2026-03-12","why":"late"}"#,
        "stock-moved",
        "line 2 now promised for 2026-03-12: late",
    ),
    (
        r#"{"event":"stock","stock":"cancelled","line":2,"why":"not made"}"#,
        "stock-cancelled",
        "line 2 no longer awaited: not made",
    ),
    (
        r#"{"event":"stock","stock":"credited","line":2,"amount":1250}"#,
        "stock-credited",
        "line 2: the supplier credited 12.50",
    ),
    (
        r#"{"event":"stock","stock":"taken","item":3,"job":21,"slot":"chain"}"#,
        "stock-taken",
        "item 3: one taken for job 21, chain",
    ),
    (
        r#"{"event":"stock","stock":"returned","item":3,"count":2,"why":"stiff"}"#,
        "stock-returned",
        "item 3: 2 returned: stiff",
    ),
    (
        r#"{"event":"stock","stock":"counted","item":3,"count":4,"why":"counted"}"#,
        "stock-counted",
        "item 3: 4 counted: counted",
    ),
    (
        r#"{"event":"stock","stock":"kept","item":3,"job":21}"#,
        "stock-kept",
        "item 3 kept for job 21",
    ),
    (
        r#"{"event":"stock","stock":"kept","item":3,"job":null}"#,
        "stock-kept",
        "item 3 kept for nobody",
    ),
    (
        r#"{"event":"stock","stock":"ordered","line":{"number":1,"slot":null,"goods":{"part":"chain-9","kind":"chain","name":"chain of nine"},"count":6,"supplier":"N","at":"2026-03-03T08:00:00Z","due":null,"slips":[],"price":null,"came":0,"came_at":null,"returned":0,"returned_because":null,"credited":0,"cancelled":null}}"#,
        "stock-ordered",
        "line 1: 6 x chain of nine ordered for the shelf from N",
    ),
    (
        r#"{"event":"stock","stock":"came","item":{"number":1,"goods":{"part":"chain-9","kind":"chain","name":"chain of nine"},"serial":null,"lot":null,"supplier":"N","line":1,"from_job":null,"came":"2026-03-03T08:00:00Z","count":4,"seen":{"found":{},"volts":null,"group_spread":null,"papers":null,"damage":null},"kept_for":null,"gone":[]}}"#,
        "stock-came",
        "item 1: 4 x chain of nine",
    ),
    (
        r#"{"event":"shop","what":"working-days","days":["monday","friday"],"why":"winter"}"#,
        "working-days",
        "worked: monday, friday: winter",
    ),
    (
        r#"{"event":"shop","what":"shut","days":["2026-03-02","2026-03-03","2026-03-05"],"why":"fair"}"#,
        "shut",
        "shut on 2026-03-02..2026-03-03, 2026-03-05: fair",
    ),
    (
        r#"{"event":"shop","what":"open","days":["2026-03-02"]}"#,
        "open",
        "not shut on 2026-03-02",
    ),
    (
        r#"{"event":"shop","what":"rule-set","key":"a.b","value":"5 mm","why":"tried"}"#,
        "rule-set",
        "a.b is 5 mm: tried",
    ),
    (
        r#"{"event":"shop","what":"rule-restored","key":"a.b","why":"worse"}"#,
        "rule-restored",
        "a.b as shipped: worse",
    ),
    (
        r#"{"event":"shop","what":"set","setting":"benches","value":"2","why":""}"#,
        "set",
        "benches is 2",
    ),
    (
        r#"{"event":"shop","what":"unset","setting":"benches","why":"moved"}"#,
        "unset",
        "benches as shipped: moved",
    ),
    (
        r#"{"event":"shop","what":"joined","initials":"K","name":"Kim","role":"owner"}"#,
        "joined",
        "K (Kim) works here as owner",
    ),
    (
        r#"{"event":"shop","what":"joined","initials":"M","name":"","role":"mechanic"}"#,
        "joined",
        "M works here as mechanic",
    ),
    (
        r#"{"event":"shop","what":"left","initials":"M","why":""}"#,
        "left",
        "M no longer works here",
    ),
    (
        r#"{"event":"shop","what":"units-chosen","initials":"M","units":"imperial"}"#,
        "units-chosen",
        "M reads imperial units first",
    ),
    (
        r#"{"event":"shop","what":"units-chosen","initials":"M","units":null}"#,
        "units-chosen",
        "M reads units as the shop does",
    ),
    (
        r#"{"event":"shop","what":"evening-written","day":"2026-03-02","as_of":"2026-03-02T18:00:00Z","upto":40}"#,
        "evening-written",
        "end-of-day report of 2026-03-02 written",
    ),
    (
        r#"{"event":"shop","what":"swept","day":"2026-03-02","overdue":1,"chase":2,"at_risk":3}"#,
        "swept",
        "looked through on 2026-03-02: overdue lines blocked 1, to ask again 2, promises at risk 3",
    ),
    (
        r#"{"event":"shop","what":"supplier","supplier":{"name":"N","lead_days":1,"contact":"by phone","terms":""}}"#,
        "supplier",
        "supplier N, 1 working day as a rule, by phone",
    ),
    (
        r#"{"event":"shop","what":"recall-opened","number":1,"name":"packs","why":"notice","find":{"marks":["L*"],"supplier":"","part":"","since":null,"until":null}}"#,
        "recall-opened",
        "recall 1 opened, packs: notice",
    ),
    (
        r#"{"event":"shop","what":"recall-called","number":1,"job":21,"state":"tried","note":"no answer"}"#,
        "recall-called",
        "recall 1, job 21: tried: no answer",
    ),
    (
        r#"{"event":"shop","what":"recall-called","number":1,"job":21,"state":"done","note":""}"#,
        "recall-called",
        "recall 1, job 21: done",
    ),
    (
        r#"{"event":"shop","what":"recall-called","number":1,"job":21,"state":"done","note":"","there":[{"part":"pk-1","serial":"S-1"}]}"#,
        "recall-called",
        "recall 1, job 21: done",
    ),
    (
        r#"{"event":"shop","what":"part-withdrawn","part":"pk-1","why":"no papers"}"#,
        "part-withdrawn",
        "pk-1 is offered no more: no papers",
    ),
    (
        r#"{"event":"shop","what":"part-offered","part":"pk-1"}"#,
        "part-offered",
        "pk-1 is offered again",
    ),
    (
        r#"{"event":"shop","what":"paired","number":1,"bench":"b2","person":"K","fingerprint":"0123456789abcdef0123","until":"2027-03-02T00:00:00Z"}"#,
        "paired",
        "pair 1: b2 for K until 2027-03-02, certificate 0123456789abcdef",
    ),
    (
        r#"{"event":"shop","what":"pair-revoked","number":1,"why":"lost"}"#,
        "pair-revoked",
        "pair 1 revoked: lost",
    ),
    (
        r#"{"event":"shop","what":"history-sealed","entries":4,"upto":90,"before":"aa","after":"bb"}"#,
        "history-sealed",
        "names and words of 4 older entries put under seal; entry 90 of the journal had the hash aa and has bb",
    ),
];

fn read(stored: &str) -> Event {
    serde_json::from_str(stored).unwrap_or_else(|error| panic!("{stored}: {error}"))
}

#[test]
fn each_entry_of_a_job_is_stored_told_and_undone_as_it_always_was() {
    for (stored, kind, told, undo, private) in OF_A_JOB {
        let mut event = read(stored);
        assert_eq!(&serde_json::to_string(&event).unwrap(), stored);
        assert_eq!((event.kind(), line(&event).as_str()), (*kind, *told));
        assert_eq!(event.can_be_undone(), *undo == Yes, "{stored}");
        assert!(!event.is_of_the_shop(), "{stored}");
        let back = matches!(event, Event::Retracted { .. } | Event::RiderRemoved(_));
        assert_eq!(event.reaches_back(), back, "{stored}");
        let texts: Vec<_> = private::texts(&mut event)
            .into_iter()
            .map(|private| (private.kind, private.text.clone()))
            .collect();
        let expected: Vec<_> = private
            .iter()
            .map(|(kind, text)| (*kind, (*text).to_owned()))
            .collect();
        assert_eq!(texts, expected, "{stored}");
    }
}

#[test]
fn each_entry_of_the_shop_is_stored_and_told_as_it_always_was() {
    for (stored, kind, told) in OF_THE_SHOP {
        let mut event = read(stored);
        assert_eq!(&serde_json::to_string(&event).unwrap(), stored);
        assert_eq!((event.kind(), line(&event).as_str()), (*kind, *told));
        assert!(
            event.is_of_the_shop() && !event.can_be_undone() && !event.reaches_back(),
            "{stored}"
        );
        assert!(private::texts(&mut event).is_empty(), "{stored}");
        if let Event::Shop(event) = &event {
            let by_itself = [
                "evening-written",
                "swept",
                "paired",
                "pair-revoked",
                "history-sealed",
            ];
            assert_eq!(event.can_be_undone(), !by_itself.contains(kind), "{stored}");
        }
    }
}

#[test]
fn entries_that_hold_parts_come_back_as_they_were_stored() {
    let parts = catalogue::read("catalogue", CATALOGUE).unwrap();
    let part = parts.iter().find(|part| part.id == "chain-9").unwrap().clone();
    let name = part.name().to_owned();
    let all = parts.len();
    for (event, kind, told, of_shop) in [
        (
            Event::Chosen {
                slot: Slot::Chain,
                part,
            },
            "chosen",
            format!("chain: {name}"),
            false,
        ),
        (
            Event::Catalogued { parts },
            "catalogued",
            format!("{all} parts into the catalogue"),
            true,
        ),
    ] {
        let stored = serde_json::to_string(&event).unwrap();
        assert_eq!(read(&stored), event);
        assert_eq!((event.kind(), line(&event)), (kind, told));
        assert_eq!(
            (event.is_of_the_shop(), event.can_be_undone()),
            (of_shop, !of_shop)
        );
    }
}

#[test]
fn what_is_not_known_to_an_entry_is_refused_and_not_passed_over() {
    for stored in [
        r#"{"event":"dropped","slot":"light","why":"x"}"#,
        r#"{"event":"dropped"}"#,
        r#"{"event":"no-such"}"#,
        r#"{"event":"labour","what":"clocked-off","number":1,"who":"K"}"#,
    ] {
        assert!(serde_json::from_str::<Event>(stored).is_err(), "{stored}");
    }
}

#[test]
fn a_receipt_tells_something_when_any_mark_was_read() {
    let bare = || match read(OF_A_JOB[8].0) {
        Event::Received(receipt) => receipt,
        other => panic!("{other:?}"),
    };
    assert!(!bare().tells(), "that it came is all");
    let text = || Some("x".to_owned());
    type Add = fn(&mut Receipt, Option<String>);
    let more: [(&str, Add); 4] = [
        ("serial", |receipt, text| receipt.serial = text),
        ("lot", |receipt, text| receipt.lot = text),
        ("papers", |receipt, text| receipt.papers = text),
        ("damage", |receipt, text| receipt.damage = text),
    ];
    for (what, add) in more {
        let mut receipt = bare();
        add(&mut receipt, text());
        assert!(receipt.tells(), "{what}");
    }
    let mut receipt = bare();
    receipt.volts = Some(36.9);
    assert!(receipt.tells());
    let mut receipt = bare();
    receipt.group_spread = Some(0.01);
    assert!(receipt.tells());
    let mut receipt = bare();
    receipt.found.insert("mass".into(), Value::Number(3.1));
    assert!(receipt.tells());
}

/// The image is documented with [`link`]; the digest was made of it with Python's hashlib
/// (SHA-256, FIPS 180-4).
#[test]
fn a_link_is_the_hash_of_every_column_and_each_of_them_counts() {
    let columns = |change: usize| {
        let number = |at: usize| u64::from(change == at);
        let text = |at: usize| if change == at { "x" } else { "" };
        link(
            &[u8::from(change == 1); 32],
            1 + number(2),
            2 + number(3) as u32,
            3 + number(4),
            4 + number(5) as i64,
            5 + number(6) as i64,
            &format!("K{}", text(7)),
            &format!("bench{}", text(8)),
            &format!("noted{}", text(9)),
            6 + number(10) as u32,
            &format!("{{}}{}", text(11)),
        )
    };
    let hex: String = columns(0).iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(
        hex,
        "08d99be19bf218f5b04afa869654c71f4e7672b56bf1a59808eecf3e88be70ca"
    );
    let links: BTreeSet<Hash> = (0..=11).map(columns).collect();
    assert_eq!(links.len(), 12);
    // A letter that moves from one column to the next is another link.
    let moved = |by: &str, terminal: &str| link(&[0; 32], 1, 2, 3, 4, 5, by, terminal, "noted", 6, "{}");
    assert_ne!(moved("Kb", "ench"), moved("K", "bench"));
}
