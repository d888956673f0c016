//! The shop as a whole: settings, rule sheet, people, and what a change of them led to.

use std::collections::BTreeSet;

use jiff::Timestamp;
use lockring_domain::calendar::WorkingDay;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::rules::{Rule, RuleSheet};
use lockring_domain::shop::effect::Effect;
use lockring_domain::shop::people::Person;
use lockring_domain::shop::setting::Setting;
use lockring_domain::shop::{OwnRule, Said, Shop, ShopDraft};
use lockring_proto::v1;

use super::view::{fitting, history_line, next_after};
use super::{Kept, day};
use crate::standing::Standing;

impl Kept for v1::ShopReply {
    const KIND: &str = "shop";

    fn repeated(self) -> Self {
        Self {
            repeated: true,
            ..self
        }
    }
}

/// The answer to a change of the shop.
pub(in crate::service) fn shop_reply(draft: &ShopDraft, effects: &[Effect]) -> v1::ShopReply {
    v1::ShopReply {
        seq: draft.last(),
        said: draft.said.clone(),
        effects: effects.iter().map(effect).collect(),
        repeated: false,
    }
}

pub(super) fn effect(effect: &Effect) -> v1::ShopEffect {
    v1::ShopEffect {
        job: effect.job,
        rider: effect.rider.clone(),
        check: effect.check.to_owned(),
        before: effect.before.word().to_owned(),
        after: effect.after.word().to_owned(),
        summary: effect.summary.clone(),
    }
}

pub(super) fn said(said: &Said) -> v1::Said {
    v1::Said {
        by: said.by.clone(),
        at_us: said.at.as_microsecond(),
        why: said.why.clone(),
    }
}

/// Everything the shop set.
pub(in crate::service) fn settings(at: &Standing, now: Timestamp) -> v1::SettingsReply {
    let shop = &at.shop;
    let clock = now.to_zoned_datetime(at.zone.clone());
    let worked = WorkingDay::ALL
        .into_iter()
        .filter(|day| shop.calendar.working_days.contains(day));
    let (_, left_out) = shop.rules();
    v1::SettingsReply {
        days: worked.map(|day| day.word().to_owned()).collect(),
        days_said: shop.days_said.as_ref().map(said),
        shut: shop
            .shut
            .iter()
            .map(|(day, by)| v1::ShutDay {
                day: day.to_string(),
                said: Some(said(by)),
            })
            .collect(),
        settings: Setting::ALL
            .into_iter()
            .map(|setting| setting_view(shop, setting))
            .collect(),
        own_rules: at.rules.overridden().map(|rule| rule_view(rule, shop)).collect(),
        left_out: left_out.iter().map(ToString::to_string).collect(),
        zone: at.zone.iana_name().unwrap_or("that of the machine").to_owned(),
        today: clock.date().to_string(),
        clock: clock.strftime("%H:%M").to_string(),
        last_evening: day(shop.evening),
    }
}

fn setting_view(shop: &Shop, setting: Setting) -> v1::SettingView {
    let row = setting.row();
    v1::SettingView {
        setting: row.word.to_owned(),
        about: row.about.to_owned(),
        expects: row.expects.to_owned(),
        value: shop.text(setting).to_owned(),
        said: shop.settings.get(&setting).map(|given| said(&given.said)),
    }
}

/// The rules whose word holds a text.
pub(in crate::service) fn rules(at: &Standing, word: &str) -> v1::RulesReply {
    let wanted = |rule: &&Rule| rule.key.contains(word.trim());
    v1::RulesReply {
        rules: at
            .rules
            .rules()
            .filter(wanted)
            .map(|rule| rule_view(rule, &at.shop))
            .collect(),
    }
}

fn rule_view(rule: &Rule, shop: &Shop) -> v1::RuleView {
    let shipped = RuleSheet::shipped();
    let own = shop.own_rules.iter().find(|own| own.key == rule.key);
    v1::RuleView {
        rule: rule.key.clone(),
        value: rule.show(),
        basis: rule.basis.to_string(),
        source: rule.source.clone(),
        shipped: shipped.get(&rule.key).map_or_else(|_| String::new(), Rule::show),
        said: own.map(rule_said),
    }
}

fn rule_said(own: &OwnRule) -> v1::Said {
    v1::Said {
        by: own.by.clone(),
        at_us: own.at.as_microsecond(),
        why: own.why.clone(),
    }
}

/// The people, those who work here first.
pub(in crate::service) fn people(shop: &Shop) -> v1::PeopleReply {
    let mut people: Vec<(&String, &Person)> = shop.people.iter().collect();
    people.sort_by_key(|(initials, person)| (person.left.is_some(), person.role, *initials));
    v1::PeopleReply {
        people: people
            .into_iter()
            .map(|(initials, person)| v1::PersonView {
                initials: initials.clone(),
                name: person.name.clone(),
                role: person.role.word().to_owned(),
                since_us: person.since.as_microsecond(),
                by: person.by.clone(),
                left_us: person.left.map(Timestamp::as_microsecond),
                units: shop.units_of(initials).word().to_owned(),
            })
            .collect(),
    }
}

/// Entries of the shop, oldest first; `all` are those that may retract one of them.
pub(in crate::service) fn shop_history(all: &[Entry], after: u64) -> v1::ShopHistoryReply {
    let retracted: BTreeSet<u64> = all
        .iter()
        .filter_map(|entry| match entry.event {
            Event::Retracted { seq, .. } => Some(seq),
            _ => None,
        })
        .collect();
    let lines = all
        .iter()
        .filter(|entry| entry.seq > after)
        .map(|entry| history_line(entry, retracted.contains(&entry.seq)));
    let (lines, is_cut) = fitting(lines);
    v1::ShopHistoryReply {
        next_after: next_after(&lines, is_cut),
        lines,
    }
}

#[cfg(test)]
mod tests {
    use lockring_domain::unit;
    use lockring_proto::units::PAIRS;

    /// What the screen shows beside a metric value is what an echo of the daemon says.
    #[test]
    fn units_shown_are_those_that_values_are_read_in() {
        for pair in PAIRS {
            let kind = unit::kind_of(pair.metric).expect(pair.metric);
            for metric in [-40.0, 0.0, 1.0, 51.5, 2170.0] {
                let si = unit::to_si(kind, pair.metric, metric).unwrap();
                let imperial = unit::from_si(kind, pair.imperial, si);
                let shown = pair.convert(metric);
                assert!(
                    (shown - imperial).abs() <= 1e-9 * imperial.abs().max(1.0),
                    "{pair:?} {shown} {imperial}"
                );
                let echo = unit::show_both(kind, pair.metric, si);
                let told = format!("({} {})", lockring_proto::units::digits(shown), pair.imperial);
                assert!(echo.ends_with(&told), "{echo} ends with {told}");
            }
        }
        // Every metric unit of the table that an echo puts another beside is in the list.
        for kind in [
            unit::Kind::Length,
            unit::Kind::Mass,
            unit::Kind::Speed,
            unit::Kind::Pressure,
            unit::Kind::Torque,
            unit::Kind::Temperature,
            unit::Kind::EnergyPerDistance,
            unit::Kind::Area,
        ] {
            for symbol in unit::symbols(kind) {
                let imperial = PAIRS.iter().any(|pair| pair.imperial == symbol);
                let listed = PAIRS.iter().any(|pair| pair.metric == symbol);
                let echoed = unit::show_both(kind, symbol, 1.0).contains('(');
                let spelled_otherwise = ["yd", "st", "lbf ft", "kgf cm", "kgf m", "kWh/mi", "atm"];
                assert!(
                    listed || imperial || !echoed || spelled_otherwise.contains(&symbol),
                    "{symbol} is echoed in two units and stands in no pair"
                );
            }
        }
    }
}
