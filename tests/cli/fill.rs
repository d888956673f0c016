//! The sheet of the stand, filled in box by box.

use crate::support::Shop;
use crate::support::terminal::Terminal;

#[test]
fn the_boxes_are_asked_for_in_order_with_skip_back_and_a_refusal_asked_again() {
    let shop = Shop::with_demo_jobs();
    let mut boxes = shop.json("fill 2")[0]["boxes"].as_array().unwrap().clone();
    assert!(boxes.len() > 3, "{boxes:?}");
    // What the gate needs comes first.
    boxes.sort_by_key(|one| one["needed"] == false || one["recorded"] != "");
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
    let boxes = page.split_once("at the stand").unwrap().1;
    // What was not told at the take-in is asked for on the walk too; it has no box on the card.
    let names = walked
        .iter()
        .map(|one| one["name"].as_str().unwrap().replace('\'', "&#39;"));
    let places: Vec<(Option<usize>, String)> = names
        .map(|name| (boxes.find(&format!("<div>{name}")), name))
        .filter(|(place, _)| place.is_some())
        .collect();
    assert!(places.len() > 20, "{places:?}");
    assert!(places.is_sorted_by_key(|(place, _)| *place), "{places:?}");
}
