//! Suppliers, order lines, the shelf and recalls through the real programs. All names invented.

use crate::support::Shop;

#[test]
fn suppliers_are_kept_and_changed_by_any_case_of_their_name() {
    let shop = Shop::open();
    let said = shop.line("suppliers").ok();
    assert!(said.contains("lockring suppliers add NAME"), "{said}");
    shop.line("suppliers add \"Wholesaler N\" --lead 5 --contact \"orders desk\"")
        .ok();
    shop.line("suppliers change \"wholesaler n\" --terms \"claims within 24 h\"")
        .ok();
    let kept = shop.json("suppliers");
    assert_eq!(kept.len(), 1);
    assert_eq!(kept[0]["name"], "Wholesaler N");
    assert_eq!(kept[0]["lead_days"], 5);
    assert_eq!(kept[0]["contact"], "orders desk");
    assert_eq!(kept[0]["terms"], "claims within 24 h");
    let text = shop.line("suppliers change \"Wholesaler M\" --lead 3").fails(6);
    assert!(text.contains("did you mean `Wholesaler N`"), "{text}");
    let text = shop.line("suppliers add N2 --lead soon").fails(4);
    assert!(
        text.contains("soon") && text.contains("for example `5`"),
        "{text}"
    );
    let text = shop.line("suppliers add \"WHOLESALER N\"").fails(4);
    assert!(text.contains("suppliers change"), "{text}");
    assert_eq!(shop.json("verify")[0]["sound"], true);
}
