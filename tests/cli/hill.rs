//! Hills: predicted grade by grade through the real programs.

use lockring_proto::v1;

use crate::support::Shop;

#[test]
fn the_longtail_as_built_crawls_up_the_hill_that_was_told_as_eight_percent() {
    let shop = Shop::with_demo_jobs();
    let reply: v1::HillsReply = serde_json::from_value(shop.json("hill 2 --grade 10.8%")[0].clone()).unwrap();
    let low = reply.rows[0].low.clone().unwrap();
    // Worked example of the trade (common practice, no source): 6.3 km/h on 42/34.
    assert!(
        (low.speed_kmh - 6.3).abs() < 0.2 && low.cog_teeth == 34,
        "{low:?}"
    );
    let hold = reply.hold.unwrap();
    assert!(
        hold.minutes.is_some_and(|minutes| minutes > 1.0) && !hold.from_sheet,
        "{hold:?}"
    );
    let shown = shop.line("hill 2 --grade 10.8%").ok();
    assert!(shown.contains("the motor holds it for"), "{shown}");
    let shown = shop.line("hill 2").ok();
    assert!(!shown.contains("the motor holds it"), "{shown}");
    assert!(
        shown.contains("stalls") && shown.lines().all(|line| line.chars().count() <= 80),
        "{shown}"
    );
}

#[test]
fn a_grade_may_be_written_three_ways_and_nonsense_is_refused() {
    let shop = Shop::with_demo_jobs();
    let speed = |grade: &str| {
        let answer = shop.run(["hill", "2", "--json", "--grade", grade]).ok();
        let reply: v1::HillsReply = serde_json::from_str(answer.trim()).unwrap();
        reply.rows[0].grade_percent
    };
    assert!((speed("12.5%") - 12.5).abs() < 1e-9);
    assert!((speed("1:8") - 12.5).abs() < 1e-9);
    assert!((speed("12,5") - 12.5).abs() < 1e-9);
    let text = shop.line("hill 2 --grade 8kg").fails(4);
    assert!(text.contains("8kg"), "{text}");
    shop.line("hill 99").fails(7);
    shop.line("build 2 motor=none").ok();
    let text = shop.line("hill 2").fails(4);
    assert!(text.contains("lockring build 2 motor=PART"), "{text}");
}
