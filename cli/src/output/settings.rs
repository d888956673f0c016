//! The shop as a whole: settings, rule sheet, people, and what a change of them led to.

use jiff::civil::Date;
use lockring_proto::v1::{
    PersonView, RuleView, Said, SettingView, SettingsReply, ShopEffect, ShopReply, ShutDay,
};

use crate::command_error::CommandError;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, mark, times};

/// Prints the answer to a change of the shop.
pub(crate) fn print_reply(out: &mut Out<'_>, reply: &ShopReply, dry_run: bool) -> Result<(), CommandError> {
    if dry_run {
        out.line("dry run: nothing of this was stored")?;
    }
    if reply.repeated {
        out.line("this was stored before; the answer is the first one's")?;
    }
    for line in &reply.said {
        out.wrapped("", "    ", line)?;
    }
    if reply.effects.is_empty() {
        return Ok(());
    }
    out.blank()?;
    out.heading("Checks of open jobs that say something else")?;
    print_effects(out, &reply.effects)
}

/// Prints what checks say before and after, a line each with what they say.
pub(crate) fn print_effects(out: &mut Out<'_>, effects: &[ShopEffect]) -> Result<(), CommandError> {
    for effect in effects {
        let (symbol, paint) = mark::of_verdict(&effect.after);
        let after = out.paint(paint, &format!("{symbol} {}", effect.after));
        out.line(format_args!(
            "  {}, {}: {}, {} -> {after}",
            effect.job, effect.rider, effect.check, effect.before
        ))?;
        out.wrapped("      ", "      ", &effect.summary)?;
    }
    Ok(())
}

/// Prints everything the shop set.
pub(crate) fn print(out: &mut Out<'_>, told: &SettingsReply) -> Result<(), CommandError> {
    out.heading(&format!(
        "The shop on {}, {}",
        times::day(&told.today),
        told.clock
    ))?;
    out.labelled("time zone", &told.zone)?;
    let days = told.days.iter().map(|day| short(day)).collect::<Vec<_>>();
    let days = if days.is_empty() {
        "no day of the week".to_owned()
    } else {
        days.join(", ")
    };
    let by = said_words(out, told.days_said.as_ref());
    out.labelled("worked", &format!("{days}{by}"))?;
    print_shut(out, told)?;
    if !told.last_evening.is_empty() {
        out.labelled("last end-of-day report", &times::day(&told.last_evening))?;
    }
    out.blank()?;
    print_settings(out, &told.settings)?;
    out.blank()?;
    if told.own_rules.is_empty() {
        out.line("Limits of the rule sheet: all as shipped (`lockring settings rules`).")?;
    } else {
        out.heading("Limits of the shop's own")?;
        print_rules(out, &told.own_rules)?;
    }
    for error in &told.left_out {
        let lead = out.paint(Paint::Bad, "x left out");
        out.wrapped(&format!("{lead}: "), "    ", error)?;
    }
    Ok(())
}

/// Days shut from the present one on, in runs said at once.
fn print_shut(out: &mut Out<'_>, told: &SettingsReply) -> Result<(), CommandError> {
    let coming: Vec<&ShutDay> = told.shut.iter().filter(|shut| shut.day >= told.today).collect();
    let past = told.shut.len() - coming.len();
    let mut at = 0;
    while let Some(first) = coming.get(at) {
        let mut last = at;
        while coming
            .get(last + 1)
            .is_some_and(|next| next.said == first.said && follows(&coming[last].day, &next.day))
        {
            last += 1;
        }
        let days = if last == at {
            times::day(&first.day)
        } else {
            format!("{} to {}", times::day(&first.day), times::day(&coming[last].day))
        };
        let by = said_words(out, first.said.as_ref());
        out.labelled("shut", &format!("{days}{by}"))?;
        at = last + 1;
    }
    if past > 0 {
        let past = times::count_of(past as u64, "day", "days");
        out.line(format_args!("shut before today: {past}"))?;
    }
    Ok(())
}

fn follows(day: &str, next: &str) -> bool {
    match (day.parse::<Date>(), next.parse::<Date>()) {
        (Ok(day), Ok(next)) => day.tomorrow().is_ok_and(|after| after == next),
        _ => false,
    }
}

fn print_settings(out: &mut Out<'_>, settings: &[SettingView]) -> Result<(), CommandError> {
    let mut table = Table::new(["setting", "value", "what it is", "set"]);
    for setting in settings {
        let value = match setting.value.as_str() {
            "" => Cell::painted("not set", Paint::Quiet),
            value => value.into(),
        };
        let set = match &setting.said {
            None => Cell::painted("as shipped", Paint::Quiet),
            Some(said) => set_words(out, said).into(),
        };
        table.row([
            setting.setting.clone().into(),
            value,
            setting.about.clone().into(),
            set,
        ]);
    }
    table.print(out)
}

/// Prints rules of the rule sheet with what stands behind them.
pub(crate) fn print_rules(out: &mut Out<'_>, rules: &[RuleView]) -> Result<(), CommandError> {
    if rules.is_empty() {
        return out.line("No rule has such a word.");
    }
    for rule in rules {
        out.wrapped("", "    ", &format!("{} {}", rule.rule, rule.value))?;
        if let Some(said) = &rule.said {
            let by = set_words(out, said);
            out.wrapped(
                "    ",
                "      ",
                &format!("the shop's own, {by}; as shipped: {}", rule.shipped),
            )?;
        }
        // Most sources name their basis themselves.
        let source = if rule.source.contains(&rule.basis) {
            rule.source.clone()
        } else {
            format!("{}: {}", rule.basis, rule.source)
        };
        out.wrapped("    ", "      ", &source)?;
    }
    Ok(())
}

/// Prints the people.
pub(crate) fn print_people(out: &mut Out<'_>, people: &[PersonView]) -> Result<(), CommandError> {
    if people.is_empty() {
        return out.words_and_command(
            "",
            "Nobody has been entered: everybody may do everything",
            "lockring people add K --role owner",
        );
    }
    let mut table = Table::new(["who", "name", "role", "units", "since", "entered by"]);
    for person in people {
        let since = match person.left_us {
            None => times::moment(person.since_us, &out.look.zone),
            Some(left) => format!("left {}", times::moment(left, &out.look.zone)),
        };
        table.row([
            person.initials.clone().into(),
            person.name.clone().into(),
            person.role.clone().into(),
            person.units.clone().into(),
            since.into(),
            person.by.clone().into(),
        ]);
    }
    table.print(out)
}

/// `K, Wed 25 Mar 2026 14:05: why`.
fn set_words(out: &Out<'_>, said: &Said) -> String {
    let why = if said.why.is_empty() {
        String::new()
    } else {
        format!(": {}", said.why)
    };
    format!("{}, {}{why}", said.by, times::moment(said.at_us, &out.look.zone))
}

/// The same in brackets; as shipped when nobody said so.
fn said_words(out: &Out<'_>, said: Option<&Said>) -> String {
    match said {
        None => " (as shipped)".to_owned(),
        Some(said) => format!(" ({})", set_words(out, said)),
    }
}

/// The first three letters of a day of the week.
fn short(day: &str) -> &str {
    day.get(..3).unwrap_or(day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    fn said(why: &str) -> Option<Said> {
        // 25 March 2026 is day 20537 of the calendar that begins on 1 January 1970.
        Some(Said {
            by: "K".into(),
            at_us: 20_537 * 86_400_000_000,
            why: why.into(),
        })
    }

    fn shut(day: &str, why: &str) -> ShutDay {
        ShutDay {
            day: day.into(),
            said: said(why),
        }
    }

    #[test]
    fn days_shut_at_once_stand_in_one_line_and_past_ones_are_counted() {
        let told = SettingsReply {
            days: vec!["monday".into(), "friday".into()],
            shut: vec![
                shut("2026-03-20", "ill"),
                shut("2026-04-03", "spring"),
                shut("2026-04-04", "spring"),
                shut("2026-04-05", "fair"),
            ],
            settings: vec![SettingView {
                setting: "closing-time".into(),
                about: "when the day's work ends and its report is written".into(),
                value: "17:30".into(),
                ..SettingView::default()
            }],
            zone: "Europe/Berlin".into(),
            today: "2026-03-25".into(),
            clock: "09:05".into(),
            ..SettingsReply::default()
        };
        let shown = text(80, |out| print(out, &told));
        for part in [
            "The shop on Wed 25 Mar 2026, 09:05\n",
            "worked: mon, fri (as shipped)\n",
            "shut: Fri 3 Apr 2026 to Sat 4 Apr 2026 (K, Wed 25 Mar 2026 00:00: spring)\n",
            "shut: Sun 5 Apr 2026 (K, Wed 25 Mar 2026 00:00: fair)\n",
            "shut before today: 1 day\n",
            "all as shipped",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }

    #[test]
    fn a_changed_limit_names_the_checks_that_say_something_else() {
        let reply = ShopReply {
            seq: 3,
            said: vec!["chainline.centre-good is 1.5 mm from now on; it was 3 mm".into()],
            effects: vec![ShopEffect {
                job: 21,
                rider: "Ines H.".into(),
                check: "chainline.centre".into(),
                before: "pass".into(),
                after: "caution".into(),
                summary: "2.1 mm to the middle of the cogs; good is up to 1.5 mm".into(),
            }],
            repeated: false,
        };
        let shown = text(80, |out| print_reply(out, &reply, false));
        assert!(
            shown.contains("  21, Ines H.: chainline.centre, pass -> ! caution\n"),
            "{shown}"
        );
    }

    #[test]
    fn an_empty_list_of_people_says_what_it_means() {
        let shown = text(80, |out| print_people(out, &[]));
        assert!(shown.contains("everybody may do everything") && shown.contains("people add K --role owner"));
    }
}
