//! Gearings beside each other: the hill on the left, the chain on the right.

use lockring_proto::v1::{Gearing, RegearReply};

use crate::command_error::CommandError;
use crate::output::table::Table;
use crate::output::{Out, job};

/// Rows shown unless all are asked for.
const DOZEN: usize = 12;

/// Prints the table, what single change is enough, and what holds the best one back.
pub(crate) fn print(out: &mut Out<'_>, reply: &RegearReply, all: bool) -> Result<(), CommandError> {
    let hill = if reply.grade_said.is_empty() {
        "no hill is known".to_owned()
    } else {
        format!("hill of {:.1} %", reply.grade_percent)
    };
    out.heading(&format!("Job {}: gearings, {hill}", reply.job))?;
    if !reply.grade_said.is_empty() {
        out.wrapped("", "", &reply.grade_said)?;
        out.blank()?;
    }
    let shown = if all { reply.gearings.len() } else { DOZEN };
    let gearings = &reply.gearings[..shown.min(reply.gearings.len())];
    let mut table = Table::new(["ring", "cogs", "hill", "start", "top", "climbs", "fits"]);
    for gearing in gearings {
        let [ring, cogs] = told_apart(gearing, gearings);
        table.row([
            ring.into(),
            cogs.into(),
            hill_speed(out, gearing).into(),
            start(gearing).into(),
            top(gearing).into(),
            gearing.climbs.clone().into(),
            gearing.fits.clone().into(),
        ]);
    }
    table.print(out)?;
    out.blank()?;
    takes(out, gearings)?;
    let left = reply.gearings.len().saturating_sub(shown);
    if left > 0 {
        out.line(format_args!("{left} more: lockring regear {} --all", reply.job))?;
    }
    let (speed, length) = (out.value(0.0, "km/h").1, out.value(0.0, "mm").1);
    out.wrapped(
        "",
        "  ",
        &format!(
            "cogs: smallest and largest, and how many, and the gears inside the hub where it is computed with them; hill: {speed} and what holds it down (assist: the assist limit, level: the level of help); \
             start: m/s2 on that grade; top: rpm at the assist limit; fits: by what was measured and computed, the turns \
             back-pedalled come when it is built; chain runs: ring outboard of the cogs' middle in {length}, largest angle in \
             degrees at that cog; stay: gap of ring and chain to it in {length}, not known of a ring larger than the \
             one it was measured with; links: of the chain to order; teeth: what \
             the derailleur takes up, of what it can; to find: not in the catalogue"
        ),
    )?;
    out.blank()?;
    print_advice(out, reply)
}

/// How the chain runs with each of them, and what each takes of frame, chain, derailleur and purse.
fn takes(out: &mut Out<'_>, gearings: &[Gearing]) -> Result<(), CommandError> {
    let mut table = Table::new(["ring", "cogs", "chain runs", "stay", "links", "teeth", "price"]);
    let unknown = || "?".to_owned();
    for gearing in gearings {
        let room = gearing.room.unwrap_or_default();
        let capacity = room.capacity_asked.zip(room.capacity_given);
        let [ring, cogs] = told_apart(gearing, gearings);
        table.row([
            ring.into(),
            cogs.into(),
            run(out, gearing).into(),
            room.stay_gap_mm
                .map_or_else(unknown, |gap| length(out, gap))
                .into(),
            room.chain_links
                .map_or_else(unknown, |links| links.to_string())
                .into(),
            capacity
                .map_or_else(unknown, |(asked, given)| format!("{asked}/{given}"))
                .into(),
            price(gearing).into(),
        ]);
    }
    table.print(out)
}

fn print_advice(out: &mut Out<'_>, reply: &RegearReply) -> Result<(), CommandError> {
    let holds = |gearing: &&Gearing| gearing.short.is_empty();
    if let Some(present) = reply
        .gearings
        .iter()
        .find(|gearing| gearing.changes == 0)
        .filter(holds)
    {
        return out.wrapped(
            "",
            "  ",
            &format!("as built it climbs and fits: {} {}", ring(present), cogs(present)),
        );
    }
    let single: Vec<&str> = reply
        .gearings
        .iter()
        .filter(|gearing| gearing.changes == 1 && gearing.short.is_empty())
        .map(|gearing| gearing.change.as_str())
        .collect();
    if let Some(first) = single.first() {
        out.wrapped(
            "",
            "  ",
            &format!("one change is enough: {}", single.join(" or ")),
        )?;
        return out.line(format_args!("lockring fit {} --what-if {first}", reply.job));
    }
    let Some(best) = reply.gearings.first() else {
        return Ok(());
    };
    if best.short.is_empty() {
        out.wrapped(
            "",
            "  ",
            &format!("no single change is enough; both together are: {}", best.change),
        )?;
        return out.line(format_args!(
            "lockring fit {} --what-if {}",
            reply.job, best.change
        ));
    }
    let change = if best.change.is_empty() {
        "as built"
    } else {
        &best.change
    };
    out.wrapped(
        "",
        "  ",
        &format!("none does everything; the nearest is {change}, short of:"),
    )?;
    for short in &best.short {
        out.wrapped(
            "  ",
            "    ",
            &format!("{} {}: {}", short.verdict, short.check, short.summary),
        )?;
    }
    Ok(())
}

/// Ring and cogs of a row, with their parts where another row has the same teeth by other parts.
fn told_apart(gearing: &Gearing, all: &[Gearing]) -> [String; 2] {
    let (ring_said, cogs_said) = (ring(gearing), cogs(gearing));
    let alike = || {
        all.iter()
            .filter(|other| ring(other) == ring_said && cogs(other) == cogs_said)
    };
    let with_part = |said: &str, part: &str, differs: bool| match (differs, part) {
        (false, _) => said.to_owned(),
        (true, "") => format!("{said} own"),
        (true, part) => format!("{said} {part}"),
    };
    let (rings, cassettes) = (
        alike().any(|other| other.ring_part != gearing.ring_part),
        alike().any(|other| other.cassette_part != gearing.cassette_part),
    );
    [
        with_part(&ring_said, &gearing.ring_part, rings),
        with_part(&cogs_said, &gearing.cassette_part, cassettes),
    ]
}

fn ring(gearing: &Gearing) -> String {
    match (gearing.dish_mm, gearing.least_ring_teeth) {
        (Some(dish), _) => format!("{}/{dish:.0}", gearing.ring_teeth),
        (None, Some(least)) => format!("{}+{least}", gearing.ring_teeth),
        (None, None) => gearing.ring_teeth.to_string(),
    }
}

fn cogs(gearing: &Gearing) -> String {
    match (gearing.cog_teeth.first(), gearing.cog_teeth.last()) {
        (Some(first), Some(last)) if first != last => {
            let hub = match gearing.hub_gears {
                0 => String::new(),
                gears => format!(" hub {gears}"),
            };
            format!("{first}-{last} {}s{hub}", gearing.cog_teeth.len())
        }
        (Some(only), _) if gearing.hub_gears > 0 => format!("{only} hub {}", gearing.hub_gears),
        (Some(only), _) => only.to_string(),
        _ => String::new(),
    }
}

fn hill_speed(out: &Out<'_>, gearing: &Gearing) -> String {
    let shown = |ride: &lockring_proto::v1::GearingRide| {
        if ride.hill_kmh > 0.0 {
            let held_by = match ride.held_by.as_str() {
                "the assist limit" => "assist",
                "the level of help" => "level",
                other => other,
            };
            format!("{:.1} {held_by}", out.value(ride.hill_kmh, "km/h").0)
        } else {
            "stalls".to_owned()
        }
    };
    gearing.ride.as_ref().map_or_else(|| "?".to_owned(), shown)
}

fn start(gearing: &Gearing) -> String {
    let ride = gearing.ride.as_ref();
    ride.map_or_else(|| "?".to_owned(), |ride| format!("{:+.2}", ride.start_mps2))
}

fn top(gearing: &Gearing) -> String {
    let rpm = gearing.ride.as_ref().and_then(|ride| ride.top_rpm);
    rpm.map_or_else(|| "?".to_owned(), |rpm| format!("{rpm:.0}"))
}

fn run(out: &Out<'_>, gearing: &Gearing) -> String {
    let shown = |run: &lockring_proto::v1::GearingRun| {
        let sign = if run.offset_mm < 0.0 { "-" } else { "+" };
        let offset = length(out, run.offset_mm.abs());
        format!("{sign}{offset} {:+.1}@{}", run.worst_deg, run.worst_cog)
    };
    gearing.run.as_ref().map_or_else(|| "?".to_owned(), shown)
}

/// A length of some millimetres in the unit of whoever reads, without it.
fn length(out: &Out<'_>, millimetres: f64) -> String {
    let (value, unit) = out.value(millimetres, "mm");
    let digits = if unit == "mm" { 1 } else { 2 };
    format!("{value:.digits$}")
}

/// What the new parts cost, or why that is not known.
fn price(gearing: &Gearing) -> String {
    match (gearing.changes, gearing.cost_minor, gearing.ring_part.is_empty()) {
        (0, _, _) => "as built".to_owned(),
        (_, Some(minor), _) => job::money(minor),
        (_, None, true) => "to find".to_owned(),
        (_, None, false) => "no price".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{GearingRide, GearingRun, GearingShort};

    use super::*;
    use crate::output::samples::{plain_text, text};

    fn gearing(ring: u32, largest: u32, change: &str, short: &[(&str, &str)]) -> Gearing {
        Gearing {
            ring_teeth: ring,
            dish_mm: Some(5.0),
            ring_part: "ring".into(),
            cog_teeth: vec![11, 15, largest],
            changes: u32::from(!change.is_empty()) + u32::from(change.contains(',')),
            ride: Some(GearingRide {
                hill_kmh: 10.2,
                held_by: "torque".into(),
                start_mps2: 0.23,
                top_rpm: Some(57.4),
            }),
            run: Some(GearingRun {
                offset_mm: 6.5,
                worst_deg: 2.96,
                worst_cog: largest,
            }),
            cost_minor: (!change.is_empty()).then_some(3_400),
            climbs: "pass".into(),
            fits: if short.is_empty() { "pass" } else { "fail" }.into(),
            short: short
                .iter()
                .map(|(check, summary)| GearingShort {
                    check: (*check).into(),
                    verdict: "fail".into(),
                    summary: (*summary).into(),
                })
                .collect(),
            change: change.into(),
            ..Gearing::default()
        }
    }

    fn reply(gearings: Vec<Gearing>) -> RegearReply {
        RegearReply {
            job: 21,
            grade_percent: 10.8,
            grade_said: "as measured".into(),
            gearings,
        }
    }

    #[test]
    fn hill_and_verdicts_stand_in_one_row_and_the_chain_below() {
        let reply = reply(vec![
            gearing(38, 36, "chainring=ring-38", &[]),
            gearing(42, 34, "", &[("hill.climb_speed", "6.3")]),
        ]);
        let shown = text(100, |out| print(out, &reply, false));
        assert!(
            shown.starts_with("Job 21: gearings, hill of 10.8 %\nas measured\n\nring"),
            "{shown}"
        );
        let mut rows = shown.lines().filter(|line| line.starts_with("38/5"));
        let (hill, chain) = (rows.next().unwrap(), rows.next().unwrap());
        for part in ["11-36 3s", "10.2 torque", "+0.23", "57", "pass"] {
            assert!(hill.contains(part), "{part}: {hill}");
        }
        for part in ["11-36 3s", "+6.5 +3.0@36", "34.00"] {
            assert!(chain.contains(part), "{part}: {chain}");
        }
        assert!(
            shown.contains("one change is enough: chainring=ring-38\n"),
            "{shown}"
        );
        assert!(
            shown.contains("lockring fit 21 --what-if chainring=ring-38\n"),
            "{shown}"
        );
    }

    #[test]
    fn rows_of_the_same_teeth_are_told_apart_by_their_parts() {
        let kept = gearing(38, 32, "", &[]);
        let bought = Gearing {
            cassette_part: "k8-32".into(),
            ..gearing(38, 32, "cassette=k8-32", &[])
        };
        let shown = text(100, |out| print(out, &reply(vec![kept, bought]), false));
        for row in ["38/5  11-32 3s own ", "38/5  11-32 3s k8-32 "] {
            assert_eq!(shown.matches(row).count(), 2, "{row}: {shown}");
        }
    }

    #[test]
    fn the_advice_tells_as_built_from_both_and_from_none() {
        let as_built = reply(vec![gearing(38, 36, "", &[])]);
        assert!(text(100, |out| print(out, &as_built, false)).contains("as built it climbs and fits"));
        let both = reply(vec![
            gearing(38, 36, "chainring=a,cassette=b", &[]),
            gearing(42, 34, "", &[("x.y", "z")]),
        ]);
        assert!(
            text(100, |out| print(out, &both, false)).contains("both together are: chainring=a,cassette=b")
        );
        let none = reply(vec![gearing(
            38,
            36,
            "chainring=a",
            &[("chain.length", "too short")],
        )]);
        let shown = text(100, |out| print(out, &none, false));
        assert!(
            shown.contains("the nearest is chainring=a") && shown.contains("fail chain.length: too short"),
            "{shown}"
        );
        assert!(!text(100, |out| print(out, &reply(Vec::new()), false)).contains("nearest"));
    }

    #[test]
    fn each_gearing_takes_one_line_of_a_narrow_terminal_and_is_told_from_its_neighbour() {
        let mut at_the_limit = gearing(28, 34, "chainring=a,cassette=b", &[("x.y", "z")]);
        at_the_limit.climbs = "caution".into();
        at_the_limit.fits = "caution".into();
        if let Some(ride) = &mut at_the_limit.ride {
            (ride.hill_kmh, ride.held_by) = (25.0, "the assist limit".into());
        }
        let mut wider = at_the_limit.clone();
        wider.cog_teeth = vec![11, 13, 15, 17, 34];
        let shown = text(60, |out| print(out, &reply(vec![at_the_limit, wider]), false));
        let rows: Vec<&str> = shown.lines().filter(|line| line.starts_with("28/5")).collect();
        assert_eq!(rows.len(), 4, "{shown}");
        assert!(
            rows[0].contains("11-34 3s") && rows[1].contains("11-34 5s"),
            "{shown}"
        );
        assert!(
            rows[0].contains("25.0 assist") && rows[0].ends_with("caution"),
            "{shown}"
        );
        assert!(rows[2].ends_with("34.00"), "{shown}");
    }

    #[test]
    fn a_dozen_is_shown_and_the_rest_counted() {
        let many = reply(
            (0..15)
                .map(|_| gearing(38, 36, "ring=38T", &[("x.y", "z")]))
                .collect(),
        );
        let shown = text(100, |out| print(out, &many, false));
        assert!(shown.contains("3 more: lockring regear 21 --all"), "{shown}");
        assert!(!text(100, |out| print(out, &many, true)).contains("more:"));
    }

    #[test]
    fn what_is_not_known_is_a_question_mark_also_without_tables() {
        let bare = Gearing {
            ring_teeth: 38,
            changes: 1,
            ..Gearing::default()
        };
        let shown = plain_text(|out| print(out, &reply(vec![bare]), false));
        assert!(shown.contains('?') && shown.contains("to find"), "{shown}");
    }
}
