//! `--json` is a promise: each line reads as the contract's own message, no field more.

use lockring_proto::v1;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::support::Shop;

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
