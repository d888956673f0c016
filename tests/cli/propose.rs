//! Proposals through the real programs.

use lockring_proto::v1;

use crate::support::Shop;

fn proposals(shop: &Shop, job: u32) -> v1::ProposeReply {
    let line = format!("propose {job}");
    serde_json::from_value(shop.json(&line)[0].clone()).unwrap()
}

#[test]
fn a_picked_proposal_becomes_the_build_and_holds_what_was_said_of_it() {
    let shop = Shop::with_demo_jobs();
    let reply = proposals(&shop, 2);
    assert!(!reply.proposals.is_empty(), "{:?}", reply.misses);
    shop.line("propose 2 --pick 1").ok();
    let built: v1::JobView = serde_json::from_value(shop.json("show 2")[0].clone()).unwrap();
    for part in &reply.proposals[0].parts {
        let line = built.build.iter().find(|line| line.slot == part.field);
        match part.value.as_str() {
            "none" => assert!(line.is_none(), "{part:?}"),
            id => assert_eq!(line.map(|line| line.part.as_str()), Some(id), "{part:?}"),
        }
    }
    // What the gate says of the build is what the proposal said of it; but for the purse, which the gate
    // holds against what was quoted.
    let said = reply.proposals[0].short.iter().chain(&reply.everywhere);
    let said = said.filter(|short| short.check != "money.budget");
    let mut said: Vec<(String, String)> = said
        .map(|short| (short.check.clone(), short.verdict.clone()))
        .collect();
    said.sort();
    let mut gate: Vec<(String, String)> = shop
        .json("check 2")
        .into_iter()
        .map(|report| serde_json::from_value::<v1::CheckReport>(report).unwrap())
        .filter(|report| !["pass", "not applicable"].contains(&report.verdict.as_str()))
        .map(|report| (report.check, report.verdict))
        .collect();
    gate.sort();
    assert_eq!(said, gate);
    assert!(gate.iter().all(|(_, verdict)| verdict != "fail"), "{gate:?}");
}

#[test]
fn the_screen_says_why_each_was_kept_and_what_rules_the_others_out() {
    let shop = Shop::with_demo_jobs();
    let shown = shop.line("propose 1").ok();
    for words in [
        "Job 1:",
        "best price",
        "put aside",
        "fail",
        "lockring propose 1 --pick 1",
    ] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    // The same question gets the same answer.
    assert_eq!(shown, shop.line("propose 1").ok());
    let history = shop.json("history 1").len();
    let text = shop.line("propose 1 --pick 99").fails(4);
    assert!(
        text.contains("no proposal 99") && text.contains("lockring propose 1"),
        "{text}"
    );
    assert_eq!(shop.json("history 1").len(), history);
    shop.line("propose 99").fails(7);
}
