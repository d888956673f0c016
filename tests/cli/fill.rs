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
