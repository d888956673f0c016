//! Benches that reach the shop over the network: each certificate stands for one bench and one
//! person, until a day or until it is revoked.
//!
//! The journal keeps a certificate's fingerprint, never a key. What a certificate may do is what
//! its person may do, looked at anew for each call.

use core::net::SocketAddr;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::event::ShopEvent;
use super::people::{Person, Role};
use super::setting::{Setting, bench_address};
use super::{Said, Shop, ShopDraft};
use crate::refusal::{Reason, Refusal};

/// The most letters of a bench's name.
pub const LONGEST_BENCH: usize = 24;
/// The most days a certificate may last: a lost one that nobody noticed ends by itself.
pub const MOST_DAYS: u32 = 730;
/// How many days it lasts when nobody says.
pub const USUAL_DAYS: u32 = 365;

/// A certificate that was made for a bench and a person.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// The bench, or the computer that stands there.
    pub bench: String,
    /// Initials of who works with it.
    pub person: String,
    /// SHA-256 of the certificate, hexadecimal.
    pub fingerprint: String,
    /// From this moment on it counts no longer.
    pub until: Timestamp,
    /// By whom it was made.
    pub by: String,
    /// When.
    pub made: Timestamp,
    /// Who revoked it, when and why.
    pub revoked: Option<Said>,
}

/// Who calls over the network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Guest<'s> {
    /// Number of the pair.
    pub number: u32,
    /// The bench.
    pub bench: &'s str,
    /// Initials of the person.
    pub person: &'s str,
    /// What the person is now.
    pub role: Role,
}

impl Shop {
    /// Where other benches reach the shop; `None` for nowhere.
    pub fn bench_address(&self) -> Option<SocketAddr> {
        bench_address(self.text(Setting::BenchAddress))
    }

    /// Whom the certificate with this fingerprint stands for, at a moment.
    ///
    /// # Errors
    /// [`Reason::CertificateUnknown`], [`Reason::CertificateRevoked`],
    /// [`Reason::CertificateExpired`], and [`Reason::PersonLeft`].
    pub fn guest(&self, fingerprint: &str, now: Timestamp) -> Result<Guest<'_>, Refusal> {
        let found = self
            .pairs
            .iter()
            .find(|(_, pair)| pair.fingerprint == fingerprint);
        let Some((number, pair)) = found else {
            return Err(Refusal::new(
                Reason::CertificateUnknown,
                "this shop knows no pair with this certificate",
            )
            .with("fingerprint", fingerprint)
            .hint("the owner makes a new one with `lockring pair BENCH PERSON`"));
        };
        let anew = format!(
            "the owner makes another with `lockring pair {} {}`",
            pair.bench, pair.person
        );
        if let Some(said) = &pair.revoked {
            return Err(Refusal::new(
                Reason::CertificateRevoked,
                format!("pair {number} ({}) was revoked by {}", named(pair), said.by),
            )
            .with("pair", number)
            .hint(anew));
        }
        if pair.until <= now {
            return Err(Refusal::new(
                Reason::CertificateExpired,
                format!("the certificate of pair {number} ({}) has expired", named(pair)),
            )
            .with("pair", number)
            .with("until", pair.until)
            .hint(anew));
        }
        let role = match self.people.get(&pair.person) {
            Some(Person { left: None, role, .. }) => *role,
            _ => {
                return Err(Refusal::new(
                    Reason::PersonLeft,
                    format!(
                        "{} no longer works here; pair {number} opens nothing",
                        pair.person
                    ),
                )
                .with("pair", number)
                .with("person", &pair.person)
                .hint("the owner pairs the bench for somebody who does"));
            }
        };
        Ok(Guest {
            number: *number,
            bench: &pair.bench,
            person: &pair.person,
            role,
        })
    }
}

impl Guest<'_> {
    /// Whether this guest may act as the one a call names: oneself, or for an owner anybody.
    ///
    /// # Errors
    /// [`Reason::AnotherPerson`].
    pub fn may_act_as(&self, by: &str) -> Result<(), Refusal> {
        if self.role == Role::Owner || self.person.eq_ignore_ascii_case(by.trim()) {
            return Ok(());
        }
        Err(Refusal::new(
            Reason::AnotherPerson,
            format!(
                "the certificate of {} is {}'s; `{by}` types elsewhere",
                self.bench, self.person
            ),
        )
        .with("given", by)
        .with("person", self.person)
        .hint("leave --by out; another person needs a pair of their own, or the shop's own computer"))
    }
}

/// Bench and person in words.
fn named(pair: &Pair) -> String {
    format!("{} of {}", pair.bench, pair.person)
}

/// The name of a bench as it is kept.
///
/// # Errors
/// [`Reason::BadInput`].
pub fn bench_name(text: &str) -> Result<String, Refusal> {
    let name = text.trim();
    let fits = (1..=LONGEST_BENCH).contains(&name.chars().count())
        && name
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || "-_.".contains(c))
        && name.starts_with(|c: char| c.is_ascii_alphanumeric());
    if fits {
        return Ok(name.to_owned());
    }
    Err(Refusal::new(
        Reason::BadInput,
        format!(
            "`{name}` is no name of a bench; expected 1 to {LONGEST_BENCH} letters, digits, `-`, `_` or `.`, \
             for example `bench-2`"
        ),
    )
    .with("field", "bench")
    .with("given", name))
}

/// How many days a certificate lasts; 0 for the usual number.
///
/// # Errors
/// [`Reason::BadInput`].
pub fn days(given: u32) -> Result<u32, Refusal> {
    match given {
        0 => Ok(USUAL_DAYS),
        1..=MOST_DAYS => Ok(given),
        _ => Err(Refusal::new(
            Reason::BadInput,
            format!("{given} days are too many; expected 1 to {MOST_DAYS}, for example `--days 90`"),
        )
        .with("field", "days")
        .with("given", given)),
    }
}

/// Whether a bench and a person can be paired as the shop stands; gives the person's initials.
///
/// # Errors
/// [`Reason::CannotStand`] while nobody has been entered or no address is set;
/// [`Reason::UnknownPerson`].
pub fn may_pair(shop: &Shop, person: &str) -> Result<String, Refusal> {
    if shop.present().next().is_none() {
        return Err(Refusal::new(
            Reason::CannotStand,
            "nobody has been entered yet: over a network, everybody who may do everything is too many",
        )
        .hint("enter the owner first, as in `lockring people add K --role owner`"));
    }
    if shop.bench_address().is_none() {
        return Err(Refusal::new(
            Reason::CannotStand,
            format!(
                "{} is not set: no other bench could reach the shop",
                Setting::BenchAddress.word()
            ),
        )
        .hint("`lockring settings set bench-address 192.168.1.5:7470`, with this computer's own address"));
    }
    shop.person(person)
}

/// Enters a pair whose certificate was made.
pub(super) fn make(
    draft: &mut ShopDraft,
    bench: &str,
    person: &str,
    fingerprint: &str,
    until: Timestamp,
) -> Result<(), Refusal> {
    let person = may_pair(&draft.shop, person)?;
    let number = draft.shop.pairs.keys().last().map_or(1, |last| last + 1);
    let event = ShopEvent::Paired {
        number,
        bench: bench_name(bench)?,
        person,
        fingerprint: fingerprint.to_owned(),
        until,
    };
    draft.say(event.line());
    draft.push(event);
    Ok(())
}

/// Revokes a pair for good.
pub(super) fn revoke(draft: &mut ShopDraft, number: u32, why: &str) -> Result<(), Refusal> {
    let Some(pair) = draft.shop.pairs.get(&number) else {
        return Err(
            Refusal::new(Reason::NoSuchPair, format!("there is no pair {number}"))
                .with("pair", number)
                .hint("`lockring pair` lists them"),
        );
    };
    if let Some(said) = &pair.revoked {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("pair {number} was revoked already, by {}", said.by),
        )
        .with("pair", number));
    }
    let event = ShopEvent::PairRevoked {
        number,
        why: why.trim().to_owned(),
    };
    draft.say(format!(
        "pair {number} ({}) is revoked: its certificate opens nothing any more",
        named(pair)
    ));
    draft.push(event);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::origin::Origin;
    use crate::shop::command::{ShopCommand, change};

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    fn asked(shop: Shop, by: &str, command: ShopCommand) -> Result<Shop, Refusal> {
        let origin = Origin {
            by: by.into(),
            terminal: "desk".into(),
            made: at("2026-03-13T10:00Z"),
        };
        let last = shop.revision;
        change(shop, last, origin, &command, &|_| true).map(|draft| draft.shop)
    }

    fn join(shop: Shop, initials: &str, role: &str) -> Shop {
        let command = ShopCommand::Join {
            initials: initials.into(),
            name: String::new(),
            role: role.into(),
        };
        asked(shop, "K", command).unwrap()
    }

    fn pair(bench: &str, person: &str, fingerprint: &str) -> ShopCommand {
        ShopCommand::Pair {
            bench: bench.into(),
            person: person.into(),
            fingerprint: fingerprint.into(),
            until: at("2027-03-13T00:00Z"),
        }
    }

    fn reachable() -> Shop {
        let shop = join(join(Shop::default(), "K", "owner"), "M", "mechanic");
        let set = ShopCommand::Set {
            key: "bench-address".into(),
            value: "192.168.1.5:7470".into(),
            why: String::new(),
        };
        asked(shop, "K", set).unwrap()
    }

    #[test]
    fn a_pair_stands_for_its_person_until_it_is_revoked_expires_or_the_person_leaves() {
        let shop = asked(reachable(), "K", pair("bench-2", "m", "ab12")).unwrap();
        let now = at("2026-06-01T00:00Z");
        let guest = shop.guest("ab12", now).unwrap();
        assert_eq!(
            (guest.number, guest.bench, guest.person, guest.role),
            (1, "bench-2", "M", Role::Mechanic)
        );
        let reason = |shop: &Shop, print: &str, now| shop.guest(print, now).unwrap_err().reason;
        assert_eq!(reason(&shop, "cd34", now), Reason::CertificateUnknown);
        assert_eq!(
            reason(&shop, "ab12", at("2027-03-13T00:00Z")),
            Reason::CertificateExpired
        );
        assert!(shop.guest("ab12", at("2027-03-12T23:59:59Z")).is_ok());
        let left = ShopCommand::Leave {
            initials: "M".into(),
            why: String::new(),
        };
        let gone = asked(shop.clone(), "K", left).unwrap();
        assert_eq!(reason(&gone, "ab12", now), Reason::PersonLeft);
        let revoke = |number| ShopCommand::RevokePair {
            number,
            why: "left on the train".into(),
        };
        let revoked = asked(shop.clone(), "K", revoke(1)).unwrap();
        assert_eq!(reason(&revoked, "ab12", now), Reason::CertificateRevoked);
        assert_eq!(
            asked(revoked, "K", revoke(1)).unwrap_err().reason,
            Reason::BadInput
        );
        assert_eq!(
            asked(shop, "K", revoke(2)).unwrap_err().reason,
            Reason::NoSuchPair
        );
    }

    /// Whoever comes back is told which benches come back along.
    #[test]
    fn a_pair_that_opens_again_with_its_person_is_named() {
        let shop = asked(reachable(), "K", pair("bench-2", "M", "ab12")).unwrap();
        let again = |shop: Shop| {
            let origin = Origin {
                by: "K".into(),
                terminal: "desk".into(),
                made: at("2026-03-14T10:00Z"),
            };
            let command = ShopCommand::Join {
                initials: "m".into(),
                name: String::new(),
                role: String::new(),
            };
            let last = shop.revision;
            change(shop, last, origin, &command, &|_| true).unwrap().said
        };
        let told = |said: &[String]| {
            said.iter()
                .filter(|line| line.contains("pair 1 (bench-2 of M)"))
                .count()
        };
        assert_eq!(told(&again(shop.clone())), 0, "it was open all the time");
        let leave = ShopCommand::Leave {
            initials: "M".into(),
            why: String::new(),
        };
        let left = asked(shop, "K", leave).unwrap();
        assert_eq!(told(&again(left.clone())), 1);
        let revoke = ShopCommand::RevokePair {
            number: 1,
            why: "lost".into(),
        };
        assert_eq!(told(&again(asked(left, "K", revoke).unwrap())), 0);
    }

    #[test]
    fn pairing_needs_the_owner_people_and_an_address() {
        let shop = reachable();
        let refused = |shop: &Shop, by: &str, command| asked(shop.clone(), by, command).unwrap_err();
        assert_eq!(refused(&shop, "M", pair("b", "M", "1")).reason, Reason::OwnerOnly);
        assert_eq!(
            refused(&shop, "K", pair("b", "X", "1")).reason,
            Reason::UnknownPerson
        );
        for bench in ["", "two words", "../up", "-b", &"x".repeat(25)] {
            assert_eq!(
                refused(&shop, "K", pair(bench, "M", "1")).reason,
                Reason::BadInput,
                "{bench}"
            );
        }
        let nobody = refused(&Shop::default(), "K", pair("b", "K", "1"));
        assert_eq!(nobody.reason, Reason::CannotStand);
        assert!(nobody.hint.unwrap().contains("people add"));
        let nowhere = join(Shop::default(), "K", "owner");
        let refusal = refused(&nowhere, "K", pair("b", "K", "1"));
        assert_eq!(refusal.reason, Reason::CannotStand);
        assert!(refusal.hint.unwrap().contains("bench-address"));
    }

    #[test]
    fn a_mechanic_acts_for_oneself_alone_and_an_owner_for_anybody() {
        let guest = |role| Guest {
            number: 1,
            bench: "bench-2",
            person: "M",
            role,
        };
        assert!(guest(Role::Mechanic).may_act_as("m").is_ok());
        let refusal = guest(Role::Mechanic).may_act_as("K").unwrap_err();
        assert_eq!(refusal.reason, Reason::AnotherPerson);
        assert!(guest(Role::Owner).may_act_as("K").is_ok());
    }

    #[test]
    fn an_address_is_one_of_a_computer_and_never_all_of_them() {
        for fine in ["192.168.1.5:7470", "127.0.0.1:7470", "[fd00::5]:7470"] {
            assert!(bench_address(fine).is_some(), "{fine}");
        }
        for refused in [
            "0.0.0.0:7470",
            "[::]:7470",
            "224.0.0.1:7470",
            "255.255.255.255:7470",
            "192.168.1.5:80",
            "192.168.1.5",
            ":7470",
            "*:7470",
            "bench:7470",
        ] {
            assert!(bench_address(refused).is_none(), "{refused}");
        }
    }

    #[test]
    fn days_have_a_usual_number_and_an_end() {
        assert_eq!((days(0), days(90), days(730)), (Ok(365), Ok(90), Ok(730)));
        assert_eq!(days(731).unwrap_err().reason, Reason::BadInput);
    }
}
