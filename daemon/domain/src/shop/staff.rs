//! Who works in the shop, and what only its owner may do.
//!
//! As long as nobody has been entered, everybody may do everything: a shop begins with the
//! bench, not with a list. From the first person on, initials that are not in the list are
//! refused.

use super::Shop;
use super::people::{Person, Role};
use crate::refusal::{Reason, Refusal};

impl Shop {
    /// Those who work here, by initials.
    pub fn present(&self) -> impl Iterator<Item = (&str, &Person)> {
        self.people
            .iter()
            .filter(|(_, person)| person.left.is_none())
            .map(|(initials, person)| (initials.as_str(), person))
    }

    /// Owners who work here.
    pub fn owners(&self) -> impl Iterator<Item = &str> {
        self.present()
            .filter(|(_, person)| person.role == Role::Owner)
            .map(|(initials, _)| initials)
    }

    /// The initials as they stand in the list; those given while nobody has been entered.
    ///
    /// # Errors
    /// [`Reason::UnknownPerson`], with the list, for anybody who is not in it.
    pub fn person(&self, by: &str) -> Result<String, Refusal> {
        let by = by.trim();
        if self.present().next().is_none() {
            return Ok(by.to_owned());
        }
        let known = self
            .present()
            .map(|(initials, _)| initials)
            .find(|initials| initials.eq_ignore_ascii_case(by));
        known.map(str::to_owned).ok_or_else(|| {
            let list: Vec<String> = self
                .present()
                .map(|(initials, person)| format!("{initials} ({})", person.role.word()))
                .collect();
            let list = list.join(", ");
            Refusal::new(
                Reason::UnknownPerson,
                format!("`{by}` is nobody of this shop; it has {list}"),
            )
            .with("given", by)
            .with("people", list)
            .hint(
                "say who you are once with `lockring iam INITIALS`, or for one line with --by; \
                 the owner enters people with `lockring people add`",
            )
        })
    }

    /// The initials as they stand in the list, of an owner.
    ///
    /// # Errors
    /// [`Reason::UnknownPerson`]; [`Reason::OwnerOnly`] for anybody but an owner.
    pub fn owner(&self, by: &str, what: &str) -> Result<String, Refusal> {
        let initials = self.person(by)?;
        let may = self.present().next().is_none() || self.owners().any(|owner| owner == initials);
        if may {
            return Ok(initials);
        }
        let owners: Vec<&str> = self.owners().collect();
        let owners = owners.join(" or ");
        Err(Refusal::new(
            Reason::OwnerOnly,
            format!("{what} is for the owner ({owners}); {initials} is a mechanic"),
        )
        .with("by", &initials)
        .with("owners", &owners)
        .hint(format!(
            "ask {owners} to type it: with --by at the shop's own computer, or at a bench of their own"
        )))
    }
}
