//! The fit page and the chainline picture, and changes that are only tried.

use lockring_proto::v1;

use crate::support::Shop;

fn measured() -> Shop {
    let shop = Shop::with_demo_jobs();
    shop.line("measure 2 gapm 0").ok();
    shop.line("measure 2 gapc=4 clf=49.0 clr=45.0 drops=20/20").ok();
    shop
}

#[test]
fn a_tried_spacer_shows_the_cure_and_its_price_and_stores_nothing() {
    let shop = measured();
    let before = shop.json("history 2").len();
    let shown = shop.line("fit 2 --what-if spacer=2.5mm").ok();
    // Worked example of the trade (common practice, no source): gap 0 to 2.5 mm, line 49 to 51.5.
    assert!(shown.contains("51.5 mm") && shown.contains("2.5 mm"), "{shown}");
    assert!(shown.contains("+ pass  clearance.motor_and_ring"), "{shown}");
    assert!(shown.contains("! caution  chainline.centre"), "{shown}");
    assert_eq!(shop.json("history 2").len(), before);
    let tried: v1::FitReply =
        serde_json::from_value(shop.json("fit 2 --what-if ring=38T-dish5,spacer=2.5mm")[0].clone()).unwrap();
    assert!(tried.changed.len() >= 4, "{:?}", tried.changed);
}

#[test]
fn the_page_without_a_trial_shows_what_fits_and_what_does_not() {
    let shop = measured();
    let page: v1::FitReply = serde_json::from_value(shop.json("fit 2")[0].clone()).unwrap();
    assert!(page.changed.is_empty() && page.differs.is_empty());
    let reports: Vec<_> = page.topics.iter().flat_map(|topic| &topic.checks).collect();
    let gap = reports
        .iter()
        .find(|report| report.check == "clearance.motor_and_ring")
        .unwrap();
    assert_eq!(gap.verdict, "fail");
}

#[test]
fn the_chainline_is_drawn_and_given_in_numbers() {
    let shop = Shop::with_demo_jobs();
    shop.line("measure 2 clf=51.5 clr=45.0").ok();
    let drawn = shop.line("chainline 2").ok();
    assert!(
        drawn
            .lines()
            .any(|line| line.trim_start().starts_with("34") && line.ends_with('+')),
        "{drawn}"
    );
    let numbers: v1::ChainlineReply = serde_json::from_value(shop.json("chainline 2")[0].clone()).unwrap();
    let last = numbers.cogs.last().unwrap();
    // Worked example of the trade (common practice, no source): atan(23.9/480) = 2.85 degrees.
    assert!((last.angle_deg - 2.85).abs() < 0.01, "{}", last.angle_deg);
}

#[test]
fn what_cannot_be_tried_or_drawn_says_why() {
    let shop = Shop::with_demo_jobs();
    shop.line("fit 2 --what-if spacer").fails(2);
    let text = shop.line("fit 2 --what-if ring=38").fails(4);
    assert!(text.contains("38T-dish5"), "{text}");
    let text = shop.line("fit 2 --what-if chainring=ring-38-6").fails(7);
    assert!(text.contains("ring-38-5"), "{text}");
    shop.line("fit 99").fails(7);
    let text = shop.line("chainline 1").fails(4);
    assert!(text.contains("lacks") && text.contains("Hint"), "{text}");
}
