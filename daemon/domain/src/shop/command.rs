//! What the owner asks of the shop as a whole, decided purely into entries or a refusal.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;

use super::event::{self, ShopEvent};
use super::people::Role;
use super::setting::{Setting, Units};
use super::{Shop, ShopDraft, pair};
use crate::calendar::WorkingDay;
use crate::entry::{Entry, Event};
use crate::length;
use crate::nearest::nearest;
use crate::origin::Origin;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleError;

#[cfg(test)]
mod tests;
mod undo;

pub use undo::undo;

/// The most days that one range may hold: a year and a day.
const LONGEST_RANGE: i32 = 366;
/// The most letters of initials.
const LONGEST_INITIALS: usize = 8;

/// A change to the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ShopCommand {
    /// These days of the week are worked.
    Days {
        /// Words of days.
        days: Vec<String>,
        /// Why.
        why: String,
    },
    /// The shop is shut.
    Shut {
        /// Days, or ranges as `2026-04-03..2026-04-06`.
        days: Vec<String>,
        /// Why.
        why: String,
    },
    /// The shop is not shut after all.
    Open {
        /// As for shut.
        days: Vec<String>,
        /// Why.
        why: String,
    },
    /// A limit of the rule sheet is the shop's own.
    Rule {
        /// The rule's word.
        key: String,
        /// The value as typed.
        value: String,
        /// Why.
        why: String,
    },
    /// A limit is as shipped again.
    RuleShipped {
        /// The rule's word.
        key: String,
        /// Why.
        why: String,
    },
    /// A setting.
    Set {
        /// Its word.
        key: String,
        /// Its text.
        value: String,
        /// Why.
        why: String,
    },
    /// A setting is as shipped again.
    Unset {
        /// Its word.
        key: String,
        /// Why.
        why: String,
    },
    /// Somebody works here.
    Join {
        /// Initials.
        initials: String,
        /// Name; may be empty.
        name: String,
        /// As what; empty for a mechanic.
        role: String,
    },
    /// Somebody no longer works here.
    Leave {
        /// Initials.
        initials: String,
        /// Why.
        why: String,
    },
    /// Which unit system stands first for somebody.
    Units {
        /// Initials.
        initials: String,
        /// Its word; empty for that of the shop.
        units: String,
    },
    /// A part of the catalogue is offered no more.
    Withdraw {
        /// Its id.
        part: String,
        /// Why.
        why: String,
    },
    /// A part that was withdrawn is offered again.
    Offer {
        /// Its id.
        part: String,
        /// Why; may be empty.
        why: String,
    },
    /// A bench may reach the shop over the network.
    Pair {
        /// The bench.
        bench: String,
        /// Who works with it.
        person: String,
        /// SHA-256 of the certificate that was made, hexadecimal.
        fingerprint: String,
        /// When it ends.
        until: Timestamp,
    },
    /// A bench may no longer.
    RevokePair {
        /// Number of the pair.
        number: u32,
        /// Why.
        why: String,
    },
}

/// Decides a command on the shop; `last` is the number of the last entry of no job, and
/// `known_zone` says whether the machine has a time zone of that name.
///
/// # Errors
/// A [`Refusal`]; nothing is to be stored then. All of these are for the owner, once somebody
/// has been entered; but everybody chooses units for themselves.
pub fn change(
    shop: Shop,
    last: u64,
    origin: Origin,
    command: &ShopCommand,
    known_zone: &dyn Fn(&str) -> bool,
) -> Result<ShopDraft, Refusal> {
    let by = match command {
        ShopCommand::Units { initials, .. } if initials.trim().eq_ignore_ascii_case(origin.by.trim()) => {
            shop.person(&origin.by)?
        }
        // As what it stands in: everybody who works here puts parts into the catalogue.
        ShopCommand::Withdraw { .. } | ShopCommand::Offer { .. } => shop.person(&origin.by)?,
        command => shop.owner(&origin.by, what(command))?,
    };
    let mut draft = ShopDraft::new(shop, last, Origin { by, ..origin });
    match command {
        ShopCommand::Days { days, why } => work_on(&mut draft, days, why)?,
        ShopCommand::Shut { days, why } => shut(&mut draft, days, why)?,
        ShopCommand::Open { days, why } => open(&mut draft, days, why)?,
        ShopCommand::Rule { key, value, why } => set_rule(&mut draft, key, value, why)?,
        ShopCommand::RuleShipped { key, why } => restore_rule(&mut draft, key, why)?,
        ShopCommand::Set { key, value, why } => set(&mut draft, key, value, why, known_zone)?,
        ShopCommand::Unset { key, why } => unset(&mut draft, key, why)?,
        ShopCommand::Join { initials, name, role } => join(&mut draft, initials, name, role)?,
        ShopCommand::Leave { initials, why } => leave(&mut draft, initials, why)?,
        ShopCommand::Units { initials, units } => choose_units(&mut draft, initials, units)?,
        ShopCommand::Withdraw { part, why } => withdraw(&mut draft, part, why)?,
        ShopCommand::Offer { part, why } => offer(&mut draft, part, why)?,
        ShopCommand::Pair {
            bench,
            person,
            fingerprint,
            until,
        } => pair::make(&mut draft, bench, person, fingerprint, *until)?,
        ShopCommand::RevokePair { number, why } => pair::revoke(&mut draft, *number, why)?,
    }
    Ok(draft)
}

/// What a command is, in words, for the refusal of who may not do it.
const fn what(command: &ShopCommand) -> &'static str {
    match command {
        ShopCommand::Days { .. } | ShopCommand::Shut { .. } | ShopCommand::Open { .. } => "the calendar",
        ShopCommand::Rule { .. } | ShopCommand::RuleShipped { .. } => "the rule sheet",
        ShopCommand::Set { .. } | ShopCommand::Unset { .. } => "a setting",
        ShopCommand::Join { .. } | ShopCommand::Leave { .. } => "the list of people",
        ShopCommand::Units { .. } => "the units of somebody else",
        ShopCommand::Withdraw { .. } | ShopCommand::Offer { .. } => "the catalogue",
        ShopCommand::Pair { .. } | ShopCommand::RevokePair { .. } => "pairing a bench",
    }
}

fn withdraw(draft: &mut ShopDraft, part: &str, why: &str) -> Result<(), Refusal> {
    if let Some(said) = draft.shop.withdrawn.get(part) {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("`{part}` was withdrawn already: {}", said.why),
        )
        .with("given", part)
        .hint(format!("offer it again with `lockring catalogue offer {part}`")));
    }
    let why = because(why, "--why", "the maker stopped it")?;
    let event = ShopEvent::PartWithdrawn {
        part: part.to_owned(),
        why,
    };
    draft.say(event.line());
    draft.say("jobs that hold it keep it, and what is ordered still comes");
    draft.push(event);
    Ok(())
}

fn offer(draft: &mut ShopDraft, part: &str, why: &str) -> Result<(), Refusal> {
    if draft.shop.offers(part) {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("`{part}` is offered: nobody withdrew it"),
        )
        .with("given", part));
    }
    let event = ShopEvent::PartOffered {
        part: part.to_owned(),
        why: why.trim().to_owned(),
    };
    draft.say(event.line());
    draft.push(event);
    Ok(())
}

fn work_on(draft: &mut ShopDraft, words: &[String], why: &str) -> Result<(), Refusal> {
    let all = || WorkingDay::ALL.map(WorkingDay::word);
    let mut days = BTreeSet::new();
    for word in words {
        let day = WorkingDay::from_word(word.trim()).ok_or_else(|| {
            let near = nearest(&word.to_lowercase(), all());
            let listed = format!("the days are {}", all().join(", "));
            Refusal::unknown("day of the week", word, &near, &listed)
        })?;
        days.insert(day);
    }
    if days.is_empty() {
        return Err(Refusal::new(
            Reason::BadInput,
            "no day is named; expected the days that are worked, for example `mon tue wed thu fri`",
        )
        .hint("for a time without work use `lockring settings shut FIRST..LAST --why …`"));
    }
    let event = ShopEvent::WorkingDays {
        days,
        why: why.trim().to_owned(),
    };
    draft.say(event.line());
    draft.push(event);
    Ok(())
}

fn shut(draft: &mut ShopDraft, words: &[String], why: &str) -> Result<(), Refusal> {
    let why = because(why, "--why", "public holiday")?;
    let days = days(words)?;
    let event = ShopEvent::Shut { days, why };
    draft.say(event.line());
    draft.push(event);
    Ok(())
}

fn open(draft: &mut ShopDraft, words: &[String], why: &str) -> Result<(), Refusal> {
    let days: BTreeSet<Date> = days(words)?
        .into_iter()
        .filter(|day| draft.shop.calendar.holidays.contains(day))
        .collect();
    if days.is_empty() {
        let shut = event::listed(&draft.shop.calendar.holidays);
        let refusal = Refusal::new(
            Reason::BadInput,
            format!("the shop is not shut on {}", words.join(", ")),
        );
        return Err(if shut.is_empty() {
            refusal
                .hint("it is shut on no day at all; days of the week are set with `lockring settings days`")
        } else {
            refusal.hint(format!("it is shut on {shut}"))
        });
    }
    let event = ShopEvent::Open {
        days,
        why: why.trim().to_owned(),
    };
    draft.say(event.line());
    draft.push(event);
    Ok(())
}

/// Days and ranges of days as typed.
fn days(words: &[String]) -> Result<BTreeSet<Date>, Refusal> {
    let mut days = BTreeSet::new();
    for word in words {
        let bad = |why: &str| {
            Refusal::new(
                Reason::BadInput,
                format!(
                    "`{word}` {why}; expected a day or a range of days, for example `2026-04-03` or \
                     `2026-04-03..2026-04-06`"
                ),
            )
            .with("given", word)
        };
        let (first, last) = word.split_once("..").unwrap_or((word, word));
        let read = |text: &str| text.trim().parse::<Date>().map_err(|_| bad("is no day"));
        let (first, last) = (read(first)?, read(last)?);
        let length = (last - first).get_days();
        if length < 0 {
            return Err(bad("ends before it begins"));
        }
        if length >= LONGEST_RANGE {
            return Err(bad("is longer than a year"));
        }
        days.extend(
            first
                .series(jiff::Span::new().days(1))
                .take_while(|day| *day <= last),
        );
    }
    if days.is_empty() {
        return Err(Refusal::new(
            Reason::BadInput,
            "no day is named; expected a day or a range of days, for example `2026-04-03..2026-04-06`",
        ));
    }
    Ok(days)
}

fn set_rule(draft: &mut ShopDraft, key: &str, value: &str, why: &str) -> Result<(), Refusal> {
    let (sheet, before) = draft.shop.rules();
    let rule = sheet.get(key).map_err(|error| refuse_rule(&error, value))?;
    let (was, key) = (rule.show(), rule.key.clone());
    let why = because(why, "--why", "measured on twenty bicycles of ours, spring 2026")?;
    draft.push(ShopEvent::RuleSet {
        key: key.clone(),
        value: value.trim().to_owned(),
        why,
    });
    let (sheet, refused) = draft.shop.rules();
    if let Some(error) = new_refusal(&before, &refused) {
        return Err(refuse_rule(error, value));
    }
    let rule = sheet.get(&key).map_err(|error| refuse_rule(&error, value))?;
    draft.say(format!("{key} is {} from now on; it was {was}", rule.show()));
    Ok(())
}

fn restore_rule(draft: &mut ShopDraft, key: &str, why: &str) -> Result<(), Refusal> {
    let (sheet, before) = draft.shop.rules();
    let known = draft.shop.own_rules.iter().any(|rule| rule.key == key);
    if !known {
        // A rule that has gone from the shipped sheet may still be taken back.
        let rule = sheet.get(key).map_err(|error| refuse_rule(&error, ""))?;
        return Err(Refusal::new(
            Reason::BadInput,
            format!("{key} is as shipped already: {}", rule.show()),
        )
        .with("key", key));
    }
    draft.push(ShopEvent::RuleRestored {
        key: key.to_owned(),
        why: why.trim().to_owned(),
    });
    let (sheet, refused) = draft.shop.rules();
    if let Some(error) = new_refusal(&before, &refused) {
        return Err(cannot_stand(&format!("{key} as shipped"), error));
    }
    draft.say(match sheet.get(key) {
        Ok(rule) => format!("{key} is as shipped again: {}", rule.show()),
        Err(_) => format!("{key} is gone: no rule has that word now"),
    });
    Ok(())
}

/// The first limit of the shop's own that the sheet takes no longer.
fn new_refusal<'a>(before: &[RuleError], after: &'a [RuleError]) -> Option<&'a RuleError> {
    after.iter().find(|error| !before.contains(error))
}

fn refuse_rule(error: &RuleError, given: &str) -> Refusal {
    let reason = match error {
        RuleError::Unknown { .. } => Reason::UnknownWord,
        _ => Reason::BadInput,
    };
    let refusal = Refusal::new(reason, error.to_string()).with("given", given);
    match error {
        RuleError::Unknown { key, near } => refusal
            .with("key", key)
            .with("nearest", near.join(" "))
            .hint("`lockring settings rules` lists them"),
        _ => refusal.hint("give a number in the rule's unit, for example `1.5 mm`"),
    }
}

/// The refusal of what would leave the rule sheet or the list of people broken.
fn cannot_stand(what: &str, error: &impl ToString) -> Refusal {
    Refusal::new(
        Reason::CannotStand,
        format!("{what} cannot stand: {}", error.to_string()),
    )
    .hint("change what it collides with first; `lockring settings` shows what the shop set")
}

fn set(
    draft: &mut ShopDraft,
    key: &str,
    value: &str,
    why: &str,
    known_zone: &dyn Fn(&str) -> bool,
) -> Result<(), Refusal> {
    let setting = find_setting(key)?;
    let row = setting.row();
    let refuse = || {
        Refusal::new(
            Reason::BadInput,
            format!(
                "{}: `{}` cannot be taken; expected {}",
                row.word,
                value.trim(),
                row.expects
            ),
        )
        .with("field", row.word)
        .with("given", value.trim())
    };
    let value = setting.read(value).ok_or_else(refuse)?;
    if setting == Setting::TimeZone && !known_zone(&value) {
        return Err(refuse());
    }
    let why = why.trim().to_owned();
    let was = draft.shop.text(setting).to_owned();
    draft.say(match was.as_str() {
        "" => format!("{} is {value} from now on", row.word),
        was => format!("{} is {value} from now on; it was {was}", row.word),
    });
    let code = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
    if setting == Setting::Currency && !was.is_empty() && code(&was) != code(&value) {
        draft.say(format!(
            "CAUTION: nothing is converted: prices and quotes that are on file keep their figures and read as {} from now on",
            code(&value)
        ));
    }
    if setting == Setting::EveningCommand {
        draft.say(
            "it is run by lockringd after each end-of-day report, without a shell, and may do whatever \
             lockringd's user may; its output goes to lockringd's log",
        );
    }
    if setting == Setting::WallAddress {
        draft.say(format!(
            "http://{value}/ shows riders' names and what their jobs wait for to everybody with an account on \
             this machine; nothing can be changed there"
        ));
    }
    if setting == Setting::BenchAddress {
        draft.say(
            "whoever is in that network can knock there; only certificates of `lockring pair` are let in. \
             A workshop's network is not private: revoke the pair of a computer that is lost",
        );
    }
    draft.push(ShopEvent::Set { setting, value, why });
    Ok(())
}

fn unset(draft: &mut ShopDraft, key: &str, why: &str) -> Result<(), Refusal> {
    let setting = find_setting(key)?;
    if !draft.shop.settings.contains_key(&setting) {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("{} is as shipped already", setting.word()),
        ));
    }
    draft.push(ShopEvent::Unset {
        setting,
        why: why.trim().to_owned(),
    });
    draft.say(match setting.row().shipped {
        "" => format!("{} is not set any more", setting.word()),
        shipped => format!("{} is as shipped again: {shipped}", setting.word()),
    });
    Ok(())
}

fn find_setting(word: &str) -> Result<Setting, Refusal> {
    Setting::from_word(&word.trim().to_lowercase()).ok_or_else(|| {
        let all = Setting::ALL.map(Setting::word);
        let near = nearest(&word.to_lowercase(), all);
        Refusal::unknown(
            "setting",
            word,
            &near,
            &format!("the settings are {}", all.join(", ")),
        )
    })
}

fn choose_units(draft: &mut ShopDraft, initials: &str, word: &str) -> Result<(), Refusal> {
    let initials = draft.shop.person(initials)?;
    let initials = draft
        .shop
        .units
        .keys()
        .find(|known| known.eq_ignore_ascii_case(&initials))
        .map_or(initials.clone(), Clone::clone);
    if initials.is_empty() {
        return Err(Refusal::new(
            Reason::BadInput,
            "the initials are empty; expected whose units they are, for example `K`",
        ));
    }
    let units = match word.trim() {
        "" => None,
        word => Some(Units::from_word(word).ok_or_else(|| {
            let all = Units::ALL.map(Units::word);
            let near = nearest(&word.to_lowercase(), all);
            Refusal::unknown(
                "unit system",
                word,
                &near,
                &format!("it can be {}", all.join(" or ")),
            )
        })?),
    };
    let event = ShopEvent::UnitsChosen { initials, units };
    draft.say(event.line());
    draft.push(event);
    Ok(())
}

fn join(draft: &mut ShopDraft, initials: &str, name: &str, role: &str) -> Result<(), Refusal> {
    let initials = initials.trim();
    let letters = initials.chars().count();
    if !(1..=LONGEST_INITIALS).contains(&letters) || !initials.chars().all(char::is_alphanumeric) {
        return Err(Refusal::new(
            Reason::BadInput,
            format!(
                "`{initials}` are no initials; expected 1 to {LONGEST_INITIALS} letters, for example `K`"
            ),
        )
        .with("given", initials));
    }
    let role = match role.trim().to_lowercase().as_str() {
        "" => Role::Mechanic,
        word => Role::from_word(word).ok_or_else(|| {
            let all = Role::ALL.map(Role::word);
            Refusal::unknown(
                "role",
                word,
                &nearest(word, all),
                &format!("it can be {}", all.join(", ")),
            )
        })?,
    };
    if draft.shop.present().next().is_none() && role != Role::Owner {
        return Err(Refusal::new(
            Reason::CannotStand,
            format!(
                "{initials} would be the only one here, and a mechanic: the first to be entered is the owner"
            ),
        )
        .hint(format!(
            "enter the owner first, as in `lockring people add {initials} --role owner`"
        )));
    }
    // The same initials in other letters are the same person.
    let known = draft
        .shop
        .people
        .keys()
        .find(|known| known.eq_ignore_ascii_case(initials));
    let initials = known.map_or_else(|| initials.to_owned(), Clone::clone);
    let given = length::name("the name", name)?;
    let name = match given.as_str() {
        "" => draft
            .shop
            .people
            .get(&initials)
            .map_or("", |person| person.name.as_str()),
        name => name,
    };
    let open_before = open_pairs(draft, &initials);
    let event = ShopEvent::Joined {
        name: name.to_owned(),
        role,
        initials: initials.clone(),
    };
    draft.say(event.line());
    draft.push(event);
    // Who comes back finds the bench paired as it was left, wherever its file is by now.
    for (number, bench) in open_pairs(draft, &initials) {
        if !open_before.iter().any(|(open, _)| *open == number) {
            draft.say(format!(
                "pair {number} ({bench} of {initials}) opens the shop again; if its file is not with {initials}: \
                 `lockring pair --revoke {number}`"
            ));
        }
    }
    must_have_an_owner(&draft.shop)
}

/// The pairs that open the shop for somebody when this is said: number and bench.
fn open_pairs(draft: &ShopDraft, initials: &str) -> Vec<(u32, String)> {
    let pairs = draft.shop.pairs.iter().filter(|(_, pair)| {
        pair.person == initials && draft.shop.guest(&pair.fingerprint, draft.origin.made).is_ok()
    });
    pairs
        .map(|(number, pair)| (*number, pair.bench.clone()))
        .collect()
}

fn leave(draft: &mut ShopDraft, initials: &str, why: &str) -> Result<(), Refusal> {
    if draft.shop.present().next().is_none() {
        return Err(Refusal::new(Reason::UnknownPerson, "nobody has been entered yet")
            .hint("enter the owner with `lockring people add INITIALS --role owner`"));
    }
    let initials = draft.shop.person(initials)?;
    let event = ShopEvent::Left {
        initials,
        why: why.trim().to_owned(),
    };
    draft.say(event.line());
    draft.push(event);
    must_have_an_owner(&draft.shop)
}

/// A shop with people has an owner among them.
fn must_have_an_owner(shop: &Shop) -> Result<(), Refusal> {
    if shop.people.is_empty() || shop.owners().next().is_some() {
        return Ok(());
    }
    Err(
        Refusal::new(Reason::CannotStand, "the shop would have no owner left")
            .hint("enter another owner first: `lockring people add INITIALS --role owner`"),
    )
}

fn because(why: &str, option: &str, example: &str) -> Result<String, Refusal> {
    match why.trim() {
        "" => Err(Refusal::new(
            Reason::BadInput,
            format!("the reason ({option}) is empty; expected some words, for example `{example}`"),
        )
        .with("field", "why")),
        why => length::words(&format!("the reason ({option})"), why),
    }
}

/// Whether an entry of no job is one that a person made and may retract.
fn may_be_undone(entry: &Entry) -> bool {
    matches!(&entry.event, Event::Shop(event) if event.can_be_undone())
}
