//! The sheet of the stand, filled in box by box.

use crate::support::Shop;
use crate::support::terminal::Terminal;

#[test]
fn the_boxes_are_asked_for_in_order_with_skip_back_and_a_refusal_asked_again() {
    let shop = Shop::with_demo_jobs();
    let boxes = shop.json("fill 2")[0]["boxes"].as_array().unwrap().clone();
    assert!(boxes.len() > 3, "{boxes:?}");
    let name = |at: usize| boxes[at]["name"].as_str().unwrap().to_owned();
    let mut terminal = Terminal::run(&shop.folder(), 80, &["fill", "2"], &[]);
    terminal
        .shows(&format!("1/{} {}", boxes.len(), name(0)))
        .shows("> ")
        .keys("\r");
    terminal
        .shows(&format!("2/{} ", boxes.len()))
        .shows("> ")
        .keys("-\r");
    terminal
        .shows("1/")
        .shows("> ")
        .keys("?\r")
        .shows("such as")
        .shows("> ")
        .keys("\x04");
    let (code, shown) = terminal.ends();
    assert_eq!(code, 0, "{shown}");
    assert!(shown.contains("0 boxes filled in"), "{shown}");
}

#[test]
fn the_printed_card_has_the_boxes_in_the_order_in_which_they_are_walked() {
    let shop = Shop::after_the_demo();
    shop.line("back 2 fitting --why \"another chainring\"").ok();
    let card = shop.folder().join("card.html");
    shop.line(&format!("print card 2 --out {}", card.display())).ok();
    let page = std::fs::read_to_string(card).unwrap();
    let walked = shop.json("fill 2")[0]["boxes"].as_array().unwrap().clone();
    assert!(walked.len() > 20, "{walked:?}");
    // What was not told at the take-in is asked for at the stand too, before the card's own boxes.
    let is_taken = |one: &&serde_json::Value| one["words"][0] != "donor" && one["words"][0] != "brief";
    let mut rest = page.split_once("<main").unwrap().1;
    for one in walked.iter().filter(is_taken) {
        let name = one["name"].as_str().unwrap().replace('\'', "&#39;");
        let found = rest.find(&name);
        let at = found.unwrap_or_else(|| panic!("`{name}` does not stand after the box before it"));
        rest = &rest[at + name.len()..];
    }
}
