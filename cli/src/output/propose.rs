//! Proposed builds: what they are compared by in a table, their parts and reasons below.

use lockring_proto::v1::{Assignment, GearingShort, Proposal, ProposeReply};

use crate::command_error::CommandError;
use crate::output::table::Table;
use crate::output::{Out, job};

/// Prints the builds, what they leave to the owner, and the near misses.
pub(crate) fn print(out: &mut Out<'_>, reply: &ProposeReply) -> Result<(), CommandError> {
    let shown = reply.proposals.len();
    out.heading(&format!(
        "Job {}: {shown} of {} builds that nothing beats",
        reply.job, reply.unbeaten
    ))?;
    if shown == 0 {
        out.line("no build of the catalogue fits and meets the brief")?;
    } else {
        if reply.leaves != "nothing" {
            out.line(format_args!("each of them leaves {} to the owner", reply.leaves))?;
        }
        print_table(out, reply)?;
        for (index, proposal) in reply.proposals.iter().enumerate() {
            print_build(out, index + 1, proposal)?;
        }
        out.blank()?;
    }
    for (said, kept) in [
        ("stays, in each price:", &reply.bought),
        ("stays, has no price and is in none:", &reply.stays),
    ] {
        if !kept.is_empty() {
            out.wrapped("", "  ", &format!("{said} {}", parts(kept)))?;
        }
    }
    print_short(out, "with any of them:", &reply.everywhere)?;
    print_misses(out, reply)?;
    if shown > 0 {
        out.line(format_args!("lockring propose {} --pick 1", reply.job))?;
    }
    Ok(())
}

fn print_table(out: &mut Out<'_>, reply: &ProposeReply) -> Result<(), CommandError> {
    let mut table = Table::new(["no", "price", "mass", "range", "hill", "days", "kept for"]);
    for (index, proposal) in reply.proposals.iter().enumerate() {
        let price = proposal.price_minor.map_or_else(|| "?".to_owned(), job::money);
        let days = proposal
            .days
            .map_or_else(|| "?".to_owned(), |days| days.to_string());
        table.row([
            (index + 1).to_string().into(),
            price.into(),
            format!("{:.1} kg", proposal.mass_kg).into(),
            range(out, proposal).into(),
            over(
                out.value(proposal.hill_kmh, "km/h"),
                out.value(proposal.hill_margin_kmh, "km/h"),
                1,
            )
            .into(),
            days.into(),
            proposal.why.join(", ").into(),
        ]);
    }
    table.print(out)?;
    out.wrapped(
        "",
        "  ",
        "mass: the finished bicycle; range, hill: with what is over the brief; days: until the last part is there; \
         ?: the catalogue does not say",
    )
}

/// What a pack plans for; where it is no limit no distance is told.
fn range(out: &Out<'_>, proposal: &Proposal) -> String {
    if proposal.rider_alone {
        return "rider alone".to_owned();
    }
    over(
        out.value(proposal.range_km, "km"),
        out.value(proposal.range_margin_km, "km"),
        0,
    )
}

/// A value with what is over what was asked for, and their unit.
fn over((value, unit): (f64, &str), (margin, _): (f64, &str), digits: usize) -> String {
    format!("{value:.digits$} {margin:+.digits$} {unit}")
}

fn print_build(out: &mut Out<'_>, number: usize, proposal: &Proposal) -> Result<(), CommandError> {
    out.wrapped("", "   ", &format!("{number}. {}", parts(&proposal.parts)))?;
    for short in &proposal.short {
        out.wrapped("   ", "     ", &said(short))?;
    }
    Ok(())
}

fn print_short(out: &mut Out<'_>, heading: &str, short: &[GearingShort]) -> Result<(), CommandError> {
    if short.is_empty() {
        return Ok(());
    }
    out.line(heading)?;
    for short in short {
        out.wrapped("  ", "    ", &said(short))?;
    }
    Ok(())
}

fn print_misses(out: &mut Out<'_>, reply: &ProposeReply) -> Result<(), CommandError> {
    if reply.misses.is_empty() {
        return Ok(());
    }
    out.line("put aside, the cheapest of each:")?;
    for miss in &reply.misses {
        let others = match miss.times {
            0 | 1 => String::new(),
            times => format!(" (and {} more)", times - 1),
        };
        let said = miss.short.as_ref().map(said).unwrap_or_default();
        out.wrapped("  ", "    ", &format!("{}{others}: {said}", parts(&miss.parts)))?;
    }
    Ok(())
}

fn parts(parts: &[Assignment]) -> String {
    let pairs: Vec<String> = parts
        .iter()
        .map(|part| format!("{}={}", part.field, part.value))
        .collect();
    pairs.join(" ")
}

fn said(short: &GearingShort) -> String {
    format!("{} {}: {}", short.verdict, short.check, short.summary)
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::NearMiss;

    use super::*;
    use crate::output::samples::{plain_text, text};

    fn part(field: &str, value: &str) -> Assignment {
        Assignment {
            field: field.into(),
            value: value.into(),
        }
    }

    fn short(check: &str) -> GearingShort {
        GearingShort {
            check: check.into(),
            verdict: "caution".into(),
            summary: "1 mm".into(),
        }
    }

    fn reply(proposals: Vec<Proposal>) -> ProposeReply {
        ProposeReply {
            job: 21,
            unbeaten: 9,
            leaves: "cautions".into(),
            proposals,
            everywhere: vec![short("stay.predicted_gap")],
            misses: vec![NearMiss {
                parts: vec![part("motor", "hub-36")],
                times: 3,
                short: Some(short("dropout.fit")),
            }],
            stays: vec![part("brake-set", "brakes-2")],
            bought: vec![part("rotor-front", "rotor-203")],
            ..ProposeReply::default()
        }
    }

    fn proposal() -> Proposal {
        Proposal {
            parts: vec![part("motor", "mid-48"), part("pack", "pack-13s")],
            price_minor: Some(123_400),
            mass_kg: 39.21,
            range_km: 42.4,
            range_margin_km: 12.4,
            hill_kmh: 10.26,
            hill_margin_kmh: 1.26,
            days: Some(5),
            why: vec!["best price".into(), "lightest".into()],
            short: vec![short("mass.margin")],
            rider_alone: false,
            tax_minor: None,
            planned_minutes: 402,
            planned_labour: 38_860,
            planned_labour_tax: 0,
        }
    }

    #[test]
    fn where_the_rider_alone_holds_the_pace_no_distance_is_told() {
        let alone = Proposal {
            rider_alone: true,
            ..proposal()
        };
        let shown = text(100, |out| print(out, &reply(vec![alone])));
        assert!(
            shown.contains("rider alone") && !shown.contains("42 +12"),
            "{shown}"
        );
    }

    #[test]
    fn a_build_stands_with_what_it_is_compared_by_its_parts_and_its_reasons() {
        let shown = text(100, |out| print(out, &reply(vec![proposal()])));
        let row = shown.lines().find(|line| line.starts_with('1')).unwrap();
        for words in [
            "1234.00",
            "39.2",
            "42 +12",
            "10.3 +1.3",
            "5",
            "best price, lightest",
        ] {
            assert!(row.contains(words), "{words}: {row}");
        }
        for words in [
            "Job 21: 1 of 9 builds that nothing beats\n",
            "each of them leaves cautions to the owner\n",
            "1. motor=mid-48 pack=pack-13s\n",
            "caution mass.margin: 1 mm\n",
            "stays, in each price: rotor-front=rotor-203\nstays, has no price and is in none: brake-set=brakes-2\n",
            "with any of them:\n  caution stay.predicted_gap: 1 mm\n",
            "motor=hub-36 (and 2 more): caution dropout.fit: 1 mm\n",
            "lockring propose 21 --pick 1\n",
        ] {
            assert!(shown.contains(words), "{words}: {shown}");
        }
    }

    #[test]
    fn what_is_not_known_is_a_question_mark_and_nothing_found_is_said() {
        let bare = Proposal {
            price_minor: None,
            days: None,
            ..proposal()
        };
        let shown = plain_text(|out| print(out, &reply(vec![bare])));
        assert_eq!(shown.matches('?').count(), 3, "{shown}");
        let none = text(80, |out| print(out, &reply(Vec::new())));
        assert!(none.contains("no build of the catalogue fits"), "{none}");
        assert!(none.contains("hub-36") && !none.contains("--pick"), "{none}");
    }
}
