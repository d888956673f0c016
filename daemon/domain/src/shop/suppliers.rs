//! The shop's suppliers: put on file, changed, and what an order takes from the file.

use jiff::Span;
use jiff::civil::Date;

use super::event::ShopEvent;
use super::{Shop, ShopDraft};
use crate::length;
use crate::nearest::nearest;
use crate::part::Part;
use crate::refusal::{Reason, Refusal};
use crate::supply::supplier::{Supplier, key, lead_words, line};

/// The longest lead time taken, in working days: a year of them (judgement).
const LONGEST_LEAD: u32 = 250;

/// What is said of a supplier, as typed; `None` leaves what is on file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SupplierText {
    /// Name.
    pub name: String,
    /// Lead time in working days.
    pub lead: Option<String>,
    /// Contact.
    pub contact: Option<String>,
    /// Terms.
    pub terms: Option<String>,
}

/// Adds a supplier, or changes one that is known.
///
/// # Errors
/// [`Reason::BadInput`] for an empty name, a lead time that is none, a supplier added twice or
/// a change that says nothing; [`Reason::UnknownWord`] for a change of one that is not known.
pub fn set(draft: &mut ShopDraft, text: &SupplierText, is_new: bool) -> Result<(), Refusal> {
    let name = if is_new {
        length::name("the supplier's name", &text.name)?
    } else {
        text.name.trim().to_owned()
    };
    let name = name.as_str();
    if name.is_empty() {
        return Err(bad(
            "name",
            "the supplier's name is empty; expected some words, for example `lockring suppliers add \"the wholesaler\"`",
        ));
    }
    let known = draft.shop.suppliers.get(&key(name)).cloned();
    let before = match (known, is_new) {
        (Some(known), true) => {
            let message = format!("{} is among the suppliers already", known.name);
            return Err(bad("name", &message).hint(format!(
                "change it with `lockring suppliers change \"{}\" …`",
                known.name
            )));
        }
        (None, false) => return Err(unknown(&draft.shop, name)),
        (known, _) => known.unwrap_or_else(|| Supplier {
            name: name.to_owned(),
            ..Supplier::default()
        }),
    };
    let mut supplier = before.clone();
    if let Some(lead) = &text.lead {
        supplier.lead_days = read_lead(lead)?;
    }
    if let Some(contact) = &text.contact {
        contact.trim().clone_into(&mut supplier.contact);
    }
    if let Some(terms) = &text.terms {
        terms.trim().clone_into(&mut supplier.terms);
    }
    if !is_new && supplier == before {
        return Err(
            bad("supplier", &format!("nothing new is said of {}", before.name))
                .hint("give --lead, --contact or --terms"),
        );
    }
    draft.say(line(&supplier));
    draft.push(ShopEvent::Supplier { supplier });
    Ok(())
}

/// Working days as typed: `5`, `5d`, `5 days`; empty or `-` for none.
fn read_lead(text: &str) -> Result<Option<u32>, Refusal> {
    let text = text.trim();
    if text.is_empty() || text == "-" {
        return Ok(None);
    }
    let digits = text.trim_end_matches(|letter: char| !letter.is_ascii_digit());
    let unit = text[digits.len()..].trim();
    let days = digits.parse().ok().filter(|days| *days <= LONGEST_LEAD);
    match days {
        Some(days) if ["", "d", "day", "days"].contains(&unit) => Ok(Some(days)),
        _ => Err(bad(
            "lead",
            &format!("`{text}` is no lead time; expected 0 to {LONGEST_LEAD} working days, for example `5`"),
        )
        .with("given", text)),
    }
}

/// The refusal for a supplier that is not known.
fn unknown(shop: &Shop, name: &str) -> Refusal {
    Refusal::unknown(
        "supplier on file",
        name,
        &near(shop, name),
        "add one with `lockring suppliers add NAME`",
    )
}

/// The names on file that one may have meant.
fn near<'s>(shop: &'s Shop, name: &str) -> Vec<&'s str> {
    let names = shop.suppliers.values().map(|supplier| supplier.name.as_str());
    nearest(name, names)
}

/// The day a part is due that is ordered today without a day: by its own lead time in the catalogue where it has one, in
/// days of the calendar and on a day that is worked, as the outlook counts it; else by that of its supplier, in working
/// days. With it the words that say so; `None` where nobody knows.
pub fn usual_day(shop: &Shop, name: &str, part: &Part, today: Date) -> Option<(Date, String)> {
    if let Some(days) = part.lead_days() {
        let day = today.checked_add(Span::new().try_days(days).ok()?).ok()?;
        let day = if shop.calendar.is_working(day) {
            day
        } else {
            shop.calendar.next_working_day(day)?
        };
        let takes = match days {
            1 => "a day".to_owned(),
            days => format!("{days} days"),
        };
        let part = part.name();
        let said = format!("due {day}: nobody promised a day, {part} takes {takes} by the catalogue");
        return Some((day, said));
    }
    let supplier = shop.suppliers.get(&key(name))?;
    let days = supplier.lead_days?;
    let day = shop.calendar.add_working_days(today, days)?;
    let said = format!(
        "due {day}: nobody promised a day, {} takes {}",
        supplier.name,
        lead_words(days)
    );
    Some((day, said))
}

/// The name to write down for one that was typed, and what to say about it and the day that was promised.
///
/// A name that is not on file is taken as it is: the first order is often typed before the
/// supplier is put on file.
pub fn ordered_from(shop: &Shop, name: &str, due: Option<Date>) -> (String, Vec<String>) {
    let mut said: Vec<String> = due
        .and_then(|due| shop.calendar.shut_words(due))
        .into_iter()
        .collect();
    let Some(supplier) = shop.suppliers.get(&key(name)) else {
        if !shop.suppliers.is_empty() {
            let meant = match near(shop, name).as_slice() {
                [] => String::new(),
                near => format!(" (did you mean {}?)", near.join(" or ")),
            };
            said.push(format!("{name} is not among the suppliers on file{meant}"));
        }
        return (name.to_owned(), said);
    };
    (supplier.name.clone(), said)
}

/// Who delivers a part by the catalogue, where that is not the one named; `None` also where the catalogue names nobody.
pub fn elsewhere<'p>(part: &'p Part, name: &str) -> Option<&'p str> {
    part.supplier().filter(|from| key(from) != key(name))
}

fn bad(field: &str, message: &str) -> Refusal {
    Refusal::new(Reason::BadInput, message).with("field", field)
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use jiff::civil::date;

    use super::*;
    use crate::fact::Value;
    use crate::origin::Origin;
    use crate::part::PartKind;

    fn draft(shop: Shop) -> ShopDraft {
        let origin = Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: Timestamp::UNIX_EPOCH,
        };
        ShopDraft::new(shop, 0, origin)
    }

    fn text(name: &str, lead: &str) -> SupplierText {
        SupplierText {
            name: name.into(),
            lead: Some(lead.into()),
            ..SupplierText::default()
        }
    }

    #[test]
    fn a_supplier_is_added_once_and_changed_by_any_case_of_its_name() {
        let mut draft = draft(Shop::default());
        set(&mut draft, &text("Wholesaler N", "5 days"), true).unwrap();
        let twice = set(&mut draft, &text("wholesaler n", "6"), true).unwrap_err();
        assert!(twice.hint.unwrap().contains("suppliers change"));
        let terms = SupplierText {
            name: "WHOLESALER N".into(),
            terms: Some("claims within 24 h".into()),
            ..SupplierText::default()
        };
        set(&mut draft, &terms, false).unwrap();
        let kept = &draft.shop.suppliers["wholesaler n"];
        assert_eq!(
            (kept.lead_days, kept.terms.as_str()),
            (Some(5), "claims within 24 h")
        );
        assert_eq!(
            set(&mut draft, &terms, false).unwrap_err().reason,
            Reason::BadInput
        );
        let near = set(&mut draft, &text("wholesaler m", "6"), false).unwrap_err();
        assert!(near.hint.unwrap().contains("Wholesaler N"));
    }

    #[test]
    fn a_lead_time_is_a_count_of_days() {
        assert_eq!(read_lead(" 12d ").unwrap(), Some(12));
        assert_eq!(read_lead("-").unwrap(), None);
        for wrong in ["soon", "5 weeks", "251", "-3"] {
            assert!(read_lead(wrong).unwrap_err().message.contains(wrong));
        }
    }

    /// 2 April 2026 is a Thursday (Gregorian calendar); Good Friday and Easter Monday shut.
    #[test]
    fn the_usual_lead_time_counts_the_shops_working_days() {
        let mut shop = Shop::default();
        shop.calendar.holidays = [date(2026, 4, 3), date(2026, 4, 6)].into();
        let supplier = Supplier {
            name: "N".into(),
            lead_days: Some(2),
            ..Supplier::default()
        };
        shop.suppliers.insert("n".into(), supplier);
        let part = |lead: Option<f64>| Part {
            id: "chain-9".into(),
            kind: PartKind::Chain,
            attributes: lead
                .map(|days| ("lead-time".to_owned(), Value::Number(86_400.0 * days)))
                .into_iter()
                .collect(),
        };
        let day = |name: &str, lead: Option<f64>| {
            usual_day(&shop, name, &part(lead), date(2026, 4, 2)).map(|(day, _)| day)
        };
        assert_eq!(ordered_from(&shop, "n", None), ("N".to_owned(), Vec::new()));
        assert_eq!(day("n", None), Some(date(2026, 4, 8)));
        // The part's own stands before the supplier's, whoever that is, and no day that is not worked.
        assert_eq!(day("n", Some(10.0)), Some(date(2026, 4, 13)));
        assert_eq!(day("M", Some(1.0)), Some(date(2026, 4, 7)));
        assert_eq!(day("M", None), None);
        let (_, said) = usual_day(&shop, "n", &part(Some(10.0)), date(2026, 4, 2)).unwrap();
        assert_eq!(
            said,
            "due 2026-04-13: nobody promised a day, chain-9 takes 10 days by the catalogue"
        );
        let (name, said) = ordered_from(&shop, "M", None);
        assert_eq!(name, "M");
        assert!(said[0].contains("not among the suppliers"));
    }
}
