//! `--json` is a promise: each line reads as the contract's own message, no field more.

use lockring_proto::v1;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::support::{LOCKRING, Shop, clean};

/// What in a value does not fit a schema, as far as ours go: `type`, `anyOf`, `$ref`, `items`,
/// `properties` and `required`.
fn misfit(all: &Value, schema: &Value, value: &Value) -> Option<String> {
    let Some(rules) = schema.as_object() else {
        return Some(format!("no schema for {value}"));
    };
    rules.iter().find_map(|(rule, says)| match rule.as_str() {
        "$ref" => {
            let name = says.as_str()?.strip_prefix("#/$defs/")?;
            misfit(all, &all["$defs"][name], value)
        }
        "anyOf" => {
            let found: Vec<Option<String>> = says
                .as_array()?
                .iter()
                .map(|one| misfit(all, one, value))
                .collect();
            found.iter().all(Option::is_some).then(|| format!("{found:?}"))
        }
        "type" => {
            let is = |name: &Value| match name.as_str() {
                Some("null") => value.is_null(),
                Some("string") => value.is_string(),
                Some("boolean") => value.is_boolean(),
                Some("number") => value.is_number(),
                Some("integer") => value.is_i64() || value.is_u64(),
                Some("array") => value.is_array(),
                Some("object") => value.is_object(),
                _ => false,
            };
            let fits = says.as_array().map_or_else(|| is(says), |any| any.iter().any(is));
            (!fits).then(|| format!("{value} is no {says}"))
        }
        "items" => value.as_array()?.iter().find_map(|item| misfit(all, says, item)),
        "required" => {
            let names = says.as_array()?;
            let missing = names
                .iter()
                .find(|name| value.get(name.as_str().unwrap()).is_none());
            missing.map(|name| format!("{name} is missing"))
        }
        "properties" => value.as_object()?.iter().find_map(|(name, inner)| {
            let inner = misfit(all, &says[name], inner);
            inner.map(|problem| format!("{name}: {problem}"))
        }),
        other => Some(format!("the schema says `{other}`, which nobody here reads")),
    })
}

#[track_caller]
fn reads_as<T: DeserializeOwned>(shop: &Shop, line: &str, at_least: usize) {
    let objects = shop.json(line);
    assert!(
        objects.len() >= at_least,
        "`{line}` gave {} objects",
        objects.len()
    );
    for object in objects {
        if let Err(error) = serde_json::from_value::<T>(object.clone()) {
            panic!("`{line}`: {error}: {object}");
        }
        let name = std::any::type_name::<T>().rsplit("::").next().unwrap();
        let schema: Value = serde_json::from_str(lockring_proto::SCHEMA).unwrap();
        if let Some(problem) = misfit(&schema, &schema["$defs"][name], &object) {
            panic!("`{line}` does not fit {name} of the schema: {problem}");
        }
    }
}

#[test]
fn every_reading_command_prints_the_contracts_messages() {
    let shop = Shop::with_demo_jobs();
    shop.line("advance 2").fails(8);
    reads_as::<v1::JobLine>(&shop, "jobs", 3);
    reads_as::<v1::JobView>(&shop, "show 2", 1);
    reads_as::<v1::HistoryLine>(&shop, "history 2", 10);
    reads_as::<v1::CheckReport>(&shop, "check 2", 10);
    reads_as::<v1::CheckReport>(&shop, "explain 2 hill.climb_speed", 1);
    reads_as::<v1::FitReply>(&shop, "fit 2", 1);
    reads_as::<v1::ChainlineReply>(&shop, "chainline 2", 1);
    reads_as::<v1::HillsReply>(&shop, "hill 2", 1);
    reads_as::<v1::RegearReply>(&shop, "regear 2", 1);
    reads_as::<v1::ProposeReply>(&shop, "propose 2", 1);
    reads_as::<v1::PredictReply>(&shop, "predict 2 --draws 20", 1);
    reads_as::<v1::RangeReply>(&shop, "range 2 --draws 10", 1);
    reads_as::<v1::RidePlanReply>(&shop, "ride 2 plan", 1);
    shop.line("ride 2 hill 6.0km/h volts=44.9V").ok();
    reads_as::<v1::CompareRideReply>(&shop, "ride 2 compare", 1);
    reads_as::<v1::PredictionsReport>(&shop, "report predictions", 1);
    reads_as::<v1::BlockedReport>(&shop, "report blocked", 1);
    reads_as::<v1::Sheet>(&shop, "report day", 1);
    reads_as::<v1::Sheet>(&shop, "report week", 1);
    reads_as::<v1::Sheet>(&shop, "report class", 1);
    reads_as::<v1::AccountView>(&shop, "money 1", 1);
    reads_as::<v1::PartView>(&shop, "catalogue list", 20);
    reads_as::<v1::PartView>(&shop, "catalogue show mid-48-250", 1);
    reads_as::<v1::StatusReply>(&shop, "status", 1);
    shop.line("suppliers add N --lead 5").ok();
    shop.line("order 2 pack --from N").ok();
    shop.line("receive 2 pack --serial P1 --lot L1").ok();
    shop.line("shelf receive pack-13s4p --serial P2 --lot L1").ok();
    shop.line("recall open packs L1 --why notice").ok();
    reads_as::<v1::SupplierView>(&shop, "suppliers", 1);
    reads_as::<v1::OrderLine>(&shop, "order list", 1);
    reads_as::<v1::ShelfItem>(&shop, "shelf", 1);
    reads_as::<v1::FindPiecesReply>(&shop, "lot L1", 1);
    reads_as::<v1::FindPiecesReply>(&shop, "where P1", 1);
    reads_as::<v1::RecallLine>(&shop, "recall", 1);
    reads_as::<v1::RecallSheet>(&shop, "recall show 1", 1);
    reads_as::<v1::SupplyReply>(&shop, "suppliers change N --lead 6", 1);
    reads_as::<v1::VerifyReply>(&shop, "verify", 1);
    reads_as::<v1::SettingsReply>(&shop, "settings", 1);
    reads_as::<v1::PromisesReply>(&shop, "promises", 1);
    reads_as::<v1::RuleView>(&shop, "settings rules", 100);
    reads_as::<v1::ShopReply>(&shop, "people add K --role owner", 1);
    reads_as::<v1::PersonView>(&shop, "people", 1);
    shop.line("settings set bench-address 127.0.0.1:17470").ok();
    let file = shop.folder().join("bench-2-K.pair");
    let line = format!("pair bench-2 K --out {}", file.display());
    reads_as::<v1::MakePairReply>(&shop, &line, 1);
    reads_as::<v1::PairView>(&shop, "pair", 1);
    reads_as::<v1::HistoryLine>(&shop, "settings history", 1);
    reads_as::<v1::JobReply>(&shop, "note 2 seen", 1);
    let picture = shop.folder().join("left.jpg");
    std::fs::write(&picture, b"\xff\xd8\xff\xe0").unwrap();
    shop.line(&format!("photo 2 left {}", picture.display())).ok();
    reads_as::<v1::PhotoView>(&shop, "photo 2", 1);
}

#[test]
fn a_field_the_contract_does_not_know_is_refused() {
    let shop = Shop::with_demo_jobs();
    let mut line = shop.json("jobs")[0].clone();
    line["colour"] = "red".into();
    assert!(serde_json::from_value::<v1::JobLine>(line).is_err());
}

/// What every command prints with --json: how it is typed, and which message each line is. The
/// shop is the one the demo leaves, at which nothing is stored where `--dry-run` will do.
const PRINTS: &[(&str, &str, &str)] = &[
    ("advance", "advance 2 --dry-run", "JobReply"),
    ("back", "back 2 fitting --why trial --dry-run", "JobReply"),
    ("backup", "backup", "BackupReply"),
    ("block", "block 2 rider unpaid --dry-run", "JobReply"),
    ("brief", "brief 3 budget=1500 --dry-run", "JobReply"),
    ("build", "build 3 pack=pack-13s4p --dry-run", "JobReply"),
    ("catalogue export", "catalogue export --kind motor", "ExportReply"),
    ("catalogue form", "catalogue form pack", "ExportReply"),
    (
        "catalogue import",
        "catalogue import {catalogue} --dry-run",
        "ImportReply",
    ),
    ("catalogue list", "catalogue list motor", "PartView"),
    (
        "catalogue set",
        "catalogue set mid-48-250 mass=3.1kg --dry-run",
        "ImportReply",
    ),
    ("catalogue show", "catalogue show mid-48-250", "PartView"),
    (
        "catalogue withdraw",
        "catalogue withdraw mid-48-250 --why trial",
        "ShopReply",
    ),
    ("catalogue offer", "catalogue offer mid-48-250", "ShopReply"),
    ("chainline", "chainline 2", "ChainlineReply"),
    (
        "chase",
        "chase 3 2 he calls --again 2026-12-01 --dry-run",
        "JobReply",
    ),
    ("check", "check 2", "CheckReport"),
    (
        "claim",
        "claim 1 supplier \"controller dead\" --amount 98 --dry-run",
        "JobReply",
    ),
    ("clear", "clear 3 {block} --why trial --dry-run", "JobReply"),
    ("clock on", "clock on 2 fitting", "JobReply"),
    ("clock off", "clock off 2", "JobReply"),
    (
        "clock fix",
        "clock fix 3 1 --to 2026-03-25T10:30 --why trial",
        "JobReply",
    ),
    ("close", "close 3 --cancelled --why trial --dry-run", "JobReply"),
    (
        "concede",
        "concede 3 pack.c_rate --why trial --dry-run",
        "JobReply",
    ),
    ("daemon start", "daemon start", "ServingView"),
    ("daemon status", "daemon status", "StatusReply"),
    ("doctor", "doctor", "DiagnosisLine"),
    ("donor", "donor 3 damage=none --dry-run", "JobReply"),
    ("explain", "explain 2 chainline.centre", "CheckReport"),
    ("export", "export --to {new}", "Moved"),
    ("fill", "fill 2 --list", "SheetReply"),
    ("fit", "fit 2", "FitReply"),
    ("handover", "handover 2 --dry-run", "JobReply"),
    ("help", "help exit-codes", "ExitCodeRow"),
    ("hill", "hill 2", "HillsReply"),
    ("history", "history 2", "HistoryLine"),
    ("hold", "hold 2 --why trial --dry-run", "JobReply"),
    ("iam", "iam", "TypingView"),
    ("import", "import {new} --to {newer}", "Moved"),
    ("invoice", "invoice 2 --dry-run", "JobReply"),
    ("jobs", "jobs", "JobLine"),
    ("lot", "lot PK-2511-C", "FindPiecesReply"),
    ("measure", "measure 2 gapm 3 --dry-run", "JobReply"),
    ("money", "money 2", "AccountView"),
    ("note", "note 2 trial --dry-run", "JobReply"),
    ("order", "order 3 shift-sensor --from N --dry-run", "JobReply"),
    ("pay", "pay 2 20 --kind deposit --how card --dry-run", "JobReply"),
    ("people add", "people add M --dry-run", "ShopReply"),
    ("people leave", "people leave M", "ShopReply"),
    ("rider", "rider 2", "RiderView"),
    ("people units", "people units K metric --dry-run", "ShopReply"),
    ("people", "people", "PersonView"),
    ("photo", "photo 2 left {picture} --dry-run", "JobReply"),
    ("picture", "picture chainline 2 --out {svg}", "WrittenFile"),
    ("predict", "predict 2 --draws 20", "PredictReply"),
    ("print", "print card 2 --out {html}", "WrittenFile"),
    (
        "promise",
        "promise 3 2026-12-24 --why trial --dry-run",
        "JobReply",
    ),
    ("promises", "promises --all", "PromisesReply"),
    ("propose", "propose 3", "ProposeReply"),
    (
        "order cancel",
        "order cancel 3 shift-sensor --why trial --dry-run",
        "JobReply",
    ),
    ("order credit", "order credit 3 display 20 --dry-run", "JobReply"),
    ("order list", "order list", "OrderLine"),
    (
        "order moved",
        "order moved 3 shift-sensor 2026-12-24 --why late --dry-run",
        "JobReply",
    ),
    (
        "order shelf",
        "order shelf chain-9 --from N --dry-run",
        "SupplyReply",
    ),
    (
        "order substitute",
        "order substitute 3 motor mid-48-250",
        "JobReply",
    ),
    (
        "quote agreed",
        "quote 2 agreed --how signed --dry-run",
        "JobReply",
    ),
    ("quote ceiling", "quote 2 ceiling 1900 --dry-run", "JobReply"),
    (
        "quote strike",
        "quote 2 strike 1 --why trial --dry-run",
        "JobReply",
    ),
    ("recall", "recall", "RecallLine"),
    (
        "recall call",
        "recall call 1 1 reached stops using it --dry-run",
        "SupplyReply",
    ),
    (
        "recall open",
        "recall open chargers CG-2509 --why trial --dry-run",
        "SupplyReply",
    ),
    ("recall show", "recall show 1", "RecallSheet"),
    ("return", "return 3 pack --why trial --dry-run", "JobReply"),
    ("shelf", "shelf", "ShelfItem"),
    (
        "shelf cancel",
        "shelf cancel 1 --why trial --dry-run",
        "SupplyReply",
    ),
    (
        "shelf count",
        "shelf count 1 1 --why counted --dry-run",
        "SupplyReply",
    ),
    ("shelf credit", "shelf credit 3 5 --dry-run", "SupplyReply"),
    ("shelf keep", "shelf keep 1 3 --dry-run", "SupplyReply"),
    (
        "shelf moved",
        "shelf moved 2 2026-12-24 --why late --dry-run",
        "SupplyReply",
    ),
    ("shelf put", "shelf put 3 motor --why trial --dry-run", "JobReply"),
    ("shelf receive", "shelf receive chain-9 --dry-run", "SupplyReply"),
    (
        "shelf scrap",
        "shelf scrap 3 motor --why trial --dry-run",
        "JobReply",
    ),
    (
        "shelf return",
        "shelf return 1 --why trial --dry-run",
        "SupplyReply",
    ),
    ("shelf take", "shelf take 3 display --dry-run", "JobReply"),
    ("suppliers", "suppliers", "SupplierView"),
    (
        "suppliers add",
        "suppliers add Q --lead 5 --dry-run",
        "SupplyReply",
    ),
    (
        "suppliers change",
        "suppliers change N --lead 6 --dry-run",
        "SupplyReply",
    ),
    (
        "swap",
        "swap 1 pack --in 40999 --lot L-2 --payer supplier --why recall --dry-run",
        "JobReply",
    ),
    ("quote", "quote 2", "AccountView"),
    (
        "quote add",
        "quote 2 add part chain --price 22 --dry-run",
        "JobReply",
    ),
    ("range", "range 2 --draws 10", "RangeReply"),
    (
        "receive",
        "receive 3 pack --serial X1 --lot L1 --dry-run",
        "JobReply",
    ),
    ("regear", "regear 2", "RegearReply"),
    ("release", "release 3 --dry-run", "JobReply"),
    ("report blocked", "report blocked", "BlockedReport"),
    ("report class", "report class", "Sheet"),
    ("report day", "report day", "Sheet"),
    ("report predictions", "report predictions", "PredictionsReport"),
    ("report week", "report week", "Sheet"),
    ("restore", "restore --to {newest}", "Moved"),
    ("ride", "ride 2 compare", "CompareRideReply"),
    ("send", "send", "SentView"),
    ("setup-shell", "setup-shell", "WrittenFile"),
    ("settings", "settings", "SettingsReply"),
    ("settings days", "settings days mon tue --dry-run", "ShopReply"),
    ("settings history", "settings history", "HistoryLine"),
    ("settings open", "settings open 2026-04-03 --dry-run", "ShopReply"),
    (
        "settings rule",
        "settings rule frame.gross-margin 8kg --why trial --dry-run",
        "ShopReply",
    ),
    ("settings rules", "settings rules chainline", "RuleView"),
    (
        "settings set",
        "settings set units imperial --dry-run",
        "ShopReply",
    ),
    (
        "settings shut",
        "settings shut 2026-04-03 --why trial",
        "ShopReply",
    ),
    ("settings undo", "settings undo --dry-run", "ShopReply"),
    ("show", "show 2", "JobView"),
    ("status", "status", "StatusReply"),
    ("take-in", "take-in Trial --dry-run", "JobReply"),
    ("told", "told 3 new day agreed --dry-run", "JobReply"),
    ("torque", "torque 2 stem 5 --dry-run", "JobReply"),
    ("undo", "undo 2 --entry 2 --dry-run", "JobReply"),
    ("verify", "verify", "VerifyReply"),
    (
        "visit",
        "visit 1 noise --found \"loose bolt\" --payer shop",
        "JobReply",
    ),
    ("where", "where 40117", "FindPiecesReply"),
    ("words", "words codes", "CodeRow"),
];

/// Commands whose output under --json is looked at elsewhere, and why.
const ELSEWHERE: &[(&str, &str)] = &[
    ("daemon", "says nothing without a command below it"),
    ("daemon stop", "ends what the others ask; below"),
    ("catalogue", "says nothing without a command below it"),
    ("clock", "says nothing without a command below it"),
    ("report", "says nothing without a command below it"),
    ("demo", "plays other commands; each prints its own"),
    ("prompt", "performs other commands; each prints its own"),
    (
        "pair",
        "makes a certificate for an address; tests/access reads it",
    ),
    ("watch", "has no end; below"),
];

#[test]
fn every_command_prints_a_message_of_the_schema() {
    let shop = Shop::after_the_demo();
    let schema: Value = serde_json::from_str(lockring_proto::SCHEMA).unwrap();
    let fits = |line: &str, message: &str, out: &str| -> Result<(), String> {
        if out.is_empty() {
            return Err(format!("`{line}` prints nothing"));
        }
        let known = schema["$defs"][message]["properties"].as_object();
        let known = known.ok_or_else(|| format!("{message} is no message"))?;
        for printed in out.lines() {
            let object = serde_json::from_str::<Value>(printed)
                .map_err(|_| format!("`{line}` prints no JSON: {printed}"))?;
            if let Some(problem) = misfit(&schema, &schema["$defs"][message], &object) {
                return Err(format!(
                    "`{line}` does not fit {message} of the schema: {problem}"
                ));
            }
            let fields = object.as_object().into_iter().flat_map(|object| object.keys());
            if let Some(field) = fields.clone().find(|field| !known.contains_key(*field)) {
                return Err(format!("`{line}`: {field} is no field of {message}"));
            }
        }
        Ok(())
    };

    let commands = super::every::commands(&super::every::Trap::set());
    for command in commands.keys() {
        let listed = PRINTS.iter().any(|(name, _, _)| name == command);
        let elsewhere = ELSEWHERE.iter().any(|(name, _)| name == command);
        assert!(listed != elsewhere, "{command}: what does it print with --json?");
    }

    // What some lines are about.
    for line in [
        "suppliers add N --lead 5",
        "shelf receive pack-13s4p --serial P2 --lot L2",
        "order shelf chain-9 --from N",
        "recall open packs PK-2511-C --why notice",
        "people add K --role owner",
        "people add M",
        "settings shut 2026-04-03 --why trial",
        "--at 2026-03-25T09:00 clock on 3 fitting",
        "--at 2026-03-25T11:00 clock off 3",
        "shelf receive display-60 --count 2",
        "order shelf chain-9 --from N",
        "block 3 rider unpaid",
        "quote 2 add part chain --price 22",
        "order shelf display-55 --from N",
        "shelf receive 3",
        "shelf return 3 --why dead",
        "shelf receive display-55",
        "hold 3 --why trial",
        "return 3 display --why dead",
    ] {
        shop.line(line).ok();
    }
    let blocks = shop.json("show 3")[0]["blocks"].as_array().unwrap().clone();
    let block = blocks.iter().find(|block| block["about"] == "unpaid").unwrap()["number"].to_string();
    let space = tempfile::tempdir().unwrap();
    let at = |name: &str| space.path().join(name).display().to_string();
    std::fs::write(at("left.jpg"), b"\xff\xd8\xff\xe0").unwrap();
    let mut failed = Vec::new();
    for (command, line, message) in PRINTS {
        let line = line
            .replace("{block}", &block)
            .replace("{catalogue}", &crate::support::demo_file("catalogue.toml"))
            .replace("{picture}", &at("left.jpg"))
            .replace("{svg}", &at("a.svg"))
            .replace("{html}", &at("a.html"))
            .replace("{newest}", &at("newest"))
            .replace("{newer}", &at("newer"))
            .replace("{new}", &at("new"));
        let mut words = crate::support::words(&line);
        words.push("--json".into());
        let mut program = clean(LOCKRING);
        program
            .arg("--dir")
            .arg(shop.folder())
            .args(&words)
            .env("HOME", space.path());
        let output = program.output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        // A gate that stays shut is an answer too.
        if matches!(output.status.code(), Some(0 | 8)) {
            let fitted = fits(&line, message, &String::from_utf8(output.stdout).unwrap());
            failed.extend(fitted.err().map(|problem| format!("{problem}\n{said}")));
        } else {
            failed.push(format!("{command}: `{line}`: {said}"));
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
    let mut shop = shop;
    fits(
        "daemon stop",
        "ServingView",
        &shop.line("daemon stop --json").ok(),
    )
    .unwrap();
    shop.forget();
    let kept = shop.line("--queue note 2 later --json");
    assert_eq!(kept.code, 16, "{}", kept.err);
    fits("--queue note", "WaitingLine", &kept.out).unwrap();
    fits(
        "send --list",
        "WaitingLine",
        &shop.line("send --list --json").ok(),
    )
    .unwrap();
}
