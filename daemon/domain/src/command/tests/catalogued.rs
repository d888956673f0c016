//! What the catalogue says of a part where it is ordered and built: its lead time, and that it is offered no more.

use super::supply::{awaited, give_back, order, receive, refused};
use super::*;
use crate::part::PartKind;
use crate::shop::event::ShopEvent;

/// A second order for what is on the bicycle would be awaited by nobody: the line says how a replacement is ordered.
#[test]
fn a_part_that_is_here_is_not_ordered_again_but_what_went_back_is() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["motor"], ""));
    journal.change(&receive("motor", "M-1"));
    let refusal = refused(&mut journal, &order(&["pack", "motor"], ""));
    assert!(
        refusal.message.contains("the motor of job 21 is here (M-1)"),
        "{refusal}"
    );
    let hint = refusal.hint.unwrap();
    for way in [
        "lockring return 21 motor",
        "order substitute 21 motor",
        "order shelf",
    ] {
        assert!(hint.contains(way), "{hint}");
    }
    assert_eq!(awaited(&journal), []);
    journal.change(&give_back("motor"));
    journal.change(&order(&["motor"], ""));
    assert_eq!(awaited(&journal), [Slot::Motor]);
}

/// 3 March 2026 is a Tuesday (Gregorian calendar), and 10 days later a Friday.
#[test]
fn a_part_with_a_lead_time_is_due_by_it_whoever_delivers() {
    let mut journal = Journal::longtail();
    let lead = ("lead-time".to_owned(), Value::Number(10.0 * 86_400.0));
    let motor = journal.job.build[&Slot::Motor].part.id.clone();
    for part in journal.parts.iter_mut().filter(|part| part.id == motor) {
        part.attributes.extend([lead.clone()]);
    }
    journal.change(&Command::Build {
        parts: vec![Typed::new("motor", &motor)],
    });
    let undated = Command::Order {
        slots: vec!["motor".into()],
        supplier: "supplier one".into(),
        due: None,
        price: String::new(),
    };
    let said = journal.change(&undated).said.join("\n");
    let due = journal.job.open_order(Slot::Motor).and_then(|line| line.due);
    assert_eq!(due, Some("2026-03-13".parse().unwrap()));
    assert!(said.contains("takes 10 days by the catalogue"), "{said}");
}

/// Whoever orders a part elsewhere than the catalogue has it from is told so, once for each supplier, with the order that mends it.
#[test]
fn a_part_ordered_from_another_than_the_catalogue_names_is_cautioned() {
    let mut journal = Journal::longtail();
    for (slot, from) in [
        (Slot::Motor, "West trade"),
        (Slot::Display, "West trade"),
        (Slot::Pack, "Cell trade"),
    ] {
        let id = journal.job.build[&slot].part.id.clone();
        let named = ("supplier".to_owned(), Value::Text(from.into()));
        for part in journal.parts.iter_mut().filter(|part| part.id == id) {
            part.attributes.extend([named.clone()]);
        }
        let parts = vec![Typed::new(slot.word(), &id)];
        journal.change(&Command::Build { parts });
    }
    let mut told = |slots: &[&str], supplier: &str| -> Vec<String> {
        let order = Command::Order {
            slots: slots.iter().map(|slot| (*slot).to_owned()).collect(),
            supplier: supplier.into(),
            due: None,
            price: String::new(),
        };
        let said = journal.change(&order).said.into_iter();
        said.filter(|line| line.contains("the catalogue has it from"))
            .collect()
    };
    let all = ["motor", "display", "pack"];
    assert_eq!(
        told(&all, "Nobody Ltd"),
        [
            "CAUTION: the catalogue has it from West trade, not from Nobody Ltd: motor, display; if Nobody Ltd is a slip: \
             `lockring order 21 motor display --from \"West trade\"`",
            "CAUTION: the catalogue has it from Cell trade, not from Nobody Ltd: pack; if Nobody Ltd is a slip: \
             `lockring order 21 pack --from \"Cell trade\"`",
        ]
    );
    assert_eq!(told(&["motor", "display"], "west trade "), [""; 0]);
    assert_eq!(told(&["pack"], "Cell trade"), [""; 0]);
}

/// What is withdrawn is chosen for no job any more, and stays where it is; offered again it is chosen as before.
#[test]
fn a_withdrawn_part_is_refused_with_the_way_out_and_stays_where_it_is() {
    let mut journal = Journal::longtail();
    let build = |slot: &str, part: &str| Command::Build {
        parts: vec![Typed::new(slot, part)],
    };
    let held = journal.job.build[&Slot::Motor].part.id.clone();
    let withdraw = |journal: &mut Journal, part: &str| {
        let by = origin("K", journal.now);
        let event = ShopEvent::PartWithdrawn {
            part: part.into(),
            why: "the maker stopped it".into(),
        };
        journal.shop.take(1, &by, &event);
    };
    let other = {
        let motors = journal.parts.iter().filter(|part| part.kind == PartKind::Motor);
        motors.map(|part| part.id.clone()).find(|id| *id != held).unwrap()
    };
    withdraw(&mut journal, &held);
    withdraw(&mut journal, &other);
    let refusal = refused(&mut journal, &build("motor", &other));
    assert!(refusal.message.contains("the maker stopped it"), "{refusal}");
    let way = format!("lockring catalogue offer {other}");
    assert!(refusal.hint.unwrap().contains(&way));
    journal.change(&build("motor", &held));
    journal.change(&order(&["motor"], ""));
    let by = origin("K", journal.now);
    let offered = ShopEvent::PartOffered {
        part: other.clone(),
        why: String::new(),
    };
    journal.shop.take(2, &by, &offered);
    journal.change(&build("motor", &other));
}
