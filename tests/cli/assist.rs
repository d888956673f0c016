//! Levels of help and ways of counting climbs, through the real programs.

use lockring_proto::v1;

use crate::support::{Shop, reference_file};

#[test]
fn less_help_is_slower_and_goes_further_and_every_answer_says_what_it_took() {
    let shop = Shop::with_demo_jobs();
    let hill = |level: &str| -> v1::HillsReply {
        let line = format!("hill 2 --grade 4% {level}");
        serde_json::from_value(shop.json(&line)[0].clone()).unwrap()
    };
    let speed = |level: &str| hill(level).rows[0].full.clone().unwrap().speed_kmh;
    let (full, low, off) = (speed(""), speed("--assist low"), speed("--assist off"));
    assert!(full > low && low > off, "{full} {low} {off}");
    assert!(hill("").assist.starts_with("full: "));
    assert!(
        hill("--assist low")
            .assist
            .starts_with("low: torque sensor, 0.5 times")
    );

    let range = |level: &str| -> v1::RangeReply {
        let line = format!("range 2 --draws 10 {level}");
        serde_json::from_value(shop.json(&line)[0].clone()).unwrap()
    };
    let best = |reply: &v1::RangeReply| reply.cases[0].answer.clone().unwrap().best.unwrap();
    let (full, low) = (range(""), range("--assist low"));
    assert!(best(&low) > best(&full));
    shop.line("brief 2 assist-level=low").ok();
    let told = range("");
    assert_eq!((best(&told), &told.assist), (best(&low), &low.assist));

    let shown = shop.line("predict 2 --draws 10 --assist high").ok();
    assert!(shown.contains("\nassist high: torque sensor"), "{shown}");
    let text = shop.line("predict 2 --assist hihg").fails(6);
    assert!(text.contains("`hihg`") && text.contains("`high`"), "{text}");
}

#[test]
fn climbing_is_counted_the_way_that_is_asked_for() {
    let shop = Shop::with_demo_jobs();
    let town = reference_file("gpx/town.gpx");
    let by = |recipe: &str| -> v1::RangeReply {
        let mut line = vec!["range", "2", "--draws", "10", "--json", "--route", &town];
        if !recipe.is_empty() {
            line.extend(["--climb-by", recipe]);
        }
        serde_json::from_str(shop.run(line).ok().trim()).unwrap()
    };
    let ascent = |recipe: &str| by(recipe).road.unwrap().ascent_m;
    // Reference: tests/reference/gpx/ascent.csv for this track.
    for (recipe, metres) in [("", 18.7), ("band:2m", 18.7), ("band:5m", 10.9)] {
        assert!(
            (ascent(recipe) - metres).abs() < 0.05,
            "{recipe}: {}",
            ascent(recipe)
        );
    }
    assert!(ascent("raw") > 25.0);
    assert!(by("band:5m").road.unwrap().recipe.contains("a band of 5 m"));
    let line = ["range", "2", "--route", &town, "--climb-by", "bend:5m"];
    let text = shop.run(line).fails(4);
    assert!(text.contains("`bend:5m`") && text.contains("turns:10m"), "{text}");
}
