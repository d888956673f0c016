//! Units of each person: kept in the shop, obeyed by echoes and pages, never by programs.

use crate::support::Shop;

/// A shop in which M reads imperial units and K does not.
fn shop() -> Shop {
    let shop = Shop::with_demo_jobs();
    shop.line("people add K --role owner").ok();
    shop.line("people add M").ok();
    let said = shop.line("--by M people units M imperial").ok();
    assert!(said.contains("M reads imperial units first"), "{said}");
    shop
}

#[test]
fn an_echo_has_the_units_of_whoever_types_first() {
    let shop = shop();
    let said = shop.line("--by M measure 2 clf 51,5").ok();
    // 51.5 mm / 25.4 mm = 2.0276 in, by hand.
    assert!(said.contains("2.03 in (51.5 mm)"), "{said}");
    let said = shop.line("--by K measure 2 clf 51,5 --anew").ok();
    assert!(said.contains("51.5 mm (2.03 in)"), "{said}");
    // A value without a unit is read in the code's own unit, whoever types.
    let said = shop.line("--by M measure 2 clf 52").ok();
    assert!(said.contains("(52 mm)"), "{said}");
    // It is the shop that remembers, not the terminal.
    let people = shop.line("people --plain").ok();
    assert!(
        people.contains("who: M\n") && people.contains("units: imperial\n"),
        "{people}"
    );
}

#[test]
fn every_page_obeys_and_commands_files_and_programs_stay_as_they_are() {
    let shop = shop();
    for page in [
        "show 2",
        "check 2",
        "fit 2",
        "hill 2",
        "predict 2",
        "range 2",
        "regear 2",
        "ride 2 plan",
    ] {
        let metric = shop.line(&format!("--by K {page}")).ok();
        let imperial = shop.line(&format!("--by M {page}")).ok();
        assert_ne!(metric, imperial, "{page}");
        // Every speed, distance on the road and mass has its imperial unit.
        for line in imperial.lines() {
            for unit in ["km/h", "kg", "km"] {
                let bare = line.match_indices(&format!(" {unit}")).any(|(at, found)| {
                    let number = line[..at].ends_with(|letter: char| letter.is_ascii_digit());
                    let rest = &line[at + found.len()..];
                    number && !rest.starts_with([')', '/', ' ']) && !rest.is_empty()
                });
                assert!(!bare || line.contains('('), "{page}: {line}");
            }
            assert!(
                line.chars().count() <= 80 || line.contains("lockring "),
                "{page}: {line}"
            );
        }
        let json = |by: &str| shop.line(&format!("--by {by} {page} --json")).ok();
        assert_eq!(json("K"), json("M"), "{page}");
    }
    let told = shop.line("--by M hill 2").ok();
    assert!(told.contains("mph") && told.contains(" lb in all"), "{told}");
    // The arithmetic is shown as it was done; the command to type is one that can be typed.
    let explained = shop.line("--by M explain 2 hill.restart").ok();
    assert!(explained.contains("    = "), "{explained}");
    for line in explained.lines().filter(|line| line.starts_with("    = ")) {
        assert!(!line.contains(" lb") && !line.contains(" mph"), "{line}");
    }
}

#[test]
fn units_are_chosen_by_oneself_or_by_the_owner_and_undone_like_a_setting() {
    let shop = shop();
    shop.line("--by M people units K imperial").fails(9);
    shop.line("--by K people units M --as-shop").ok();
    let said = shop.line("--by M measure 2 clf 51,5").ok();
    assert!(said.contains("51.5 mm (2.03 in)"), "{said}");
    shop.line("--by K settings undo").ok();
    let said = shop.line("--by M measure 2 clf 51,5 --anew").ok();
    assert!(said.contains("2.03 in (51.5 mm)"), "{said}");
    let odd = shop.line("people units K metrik").fails(6);
    assert!(odd.contains("metric"), "{odd}");
    shop.line("verify").ok();
}
