//! Values stated and read, and what is said of them.

use std::collections::BTreeSet;

use super::*;
use crate::checks::testing::{longtail, trekking};
use crate::shop::event::ShopEvent;
use crate::shop::setting::Units;

/// A mid motor and a rear-hub motor, with everything measured that can be: what the table gives to one of them alone, checks
/// of the other do not look at.
#[test]
fn what_belongs_to_one_kind_of_motor_no_check_of_the_other_looks_at() {
    let rules = RuleSheet::shipped();
    let marked: BTreeSet<&str> = code::all()
        .filter(|row| !row.places.is_empty())
        .map(|row| row.key())
        .collect();
    let mut looked: BTreeSet<&str> = BTreeSet::new();
    for bench in [longtail(), trekking()] {
        let mut job = bench.receive_all().job;
        let benched = |row: &&code::Code| matches!(row.group, code::Group::Fitting | code::Group::Torque);
        for row in code::all().filter(benched) {
            let event = Event::Recorded {
                run: None,
                readings: [(row.key().to_owned(), row.read(&row.example(), true).unwrap())].into(),
                forced: true,
                anew: false,
            };
            job.take(job.revision, &origin("K", job.touched), &event);
        }
        for glance in Stage::GATED
            .iter()
            .flat_map(|gate| gate::glance(*gate, &job, &rules))
        {
            for row in code::all().filter(|row| glance.uses.contains(row.key())) {
                assert!(
                    row.is_of(job.motor_place()),
                    "{} by {}",
                    row.key(),
                    glance.check.id
                );
                looked.insert(row.key());
            }
        }
    }
    let unused: Vec<&&str> = marked.difference(&looked).collect();
    assert!(unused.is_empty(), "no check looks at {unused:?}");
}

#[test]
fn a_reading_of_another_kind_of_motor_is_asked_about() {
    let mut journal = Journal::longtail();
    let told = said(&mut journal, &torque("axle", "40"));
    let entry = journal.job.revision;
    assert!(
        told.contains("hub-motor axle nuts: job 21 has a mid motor, no check looks at this: wrong job?")
            && told.contains(&format!("--entry {entry}`")),
        "{told}"
    );
    let told = said(&mut journal, &torque("lockring", "40"));
    assert!(!told.contains("wrong job"), "{told}");
}

fn said(journal: &mut Journal, command: &Command) -> String {
    journal.change(command).said.join("\n")
}

#[test]
fn what_a_value_was_is_said_when_it_was_another() {
    let mut journal = Journal::longtail();
    let state = |values: &[(&str, &str)], assumed: bool| Command::State {
        group: None,
        values: values
            .iter()
            .map(|(code, text)| Typed::new(*code, *text))
            .collect(),
        assumed,
    };
    let told = said(&mut journal, &state(&[("hill-grade", "9 %")], false));
    assert!(
        told.contains("9 %") && told.contains("(stated), was 8 %"),
        "{told}"
    );
    let told = said(&mut journal, &state(&[("hill-grade", "9 %")], true));
    assert!(told.contains("(assumed)") && !told.contains("was"), "{told}");
    let told = said(&mut journal, &measure(&[("clf", "51.5")]));
    assert!(!told.contains("was"), "{told}");
    let told = said(&mut journal, &measure(&[("clf", "53")]));
    assert!(
        told.contains("was 51.5 mm") && !told.contains("readings"),
        "{told}"
    );
    // A reading stands against what is told, and nothing more is said of what was told before.
    let told = said(&mut journal, &measure(&[("stay-gap", "2.0")]));
    assert!(told.contains("was 1 mm"), "{told}");
    let told = said(&mut journal, &state(&[("stay-gap", "3 mm")], false));
    assert!(
        told.contains("the measured stay-gap stands") && !told.contains("was"),
        "{told}"
    );
    assert_eq!(journal.job.facts["stay-gap"].value, Value::Number(0.002));
    assert_eq!(journal.refused(&state(&[], false)).reason, Reason::BadInput);
    let twice = journal.refused(&state(&[("hill-grade", "9 %"), ("hill-grade", "8 %")], false));
    assert!(twice.message.contains("twice"), "{twice}");
    assert!(!twice.message.contains("values cannot be taken"), "{twice}");
    let class = journal.refused(&state(&[("ride-class", "eu-epak")], false));
    assert_eq!(class.metadata["nearest"], "eu-epac au-epac");
}

#[test]
fn readings_that_differ_ask_for_a_third_and_the_middle_one_stands() {
    let mut journal = Journal::longtail();
    let mut again = |text: &str| {
        let told = said(&mut journal, &measure(&[("clf", text)]));
        journal.now -= SignedDuration::from_mins(115);
        told
    };
    let agree = code::find("clf").unwrap().agree_si() * 1e3;
    assert!(agree > 0.0 && agree < 3.0);
    again("51.0");
    let told = again(&format!("{:.3}", 51.0 + 1.01 * agree));
    assert!(
        told.contains("mean of 2 readings") && told.contains("take a third"),
        "{told}"
    );
    let told = again("51.2");
    assert!(
        told.contains("middle of 3 readings") && !told.contains("take a third"),
        "{told}"
    );
    let mut journal = Journal::longtail();
    journal.change(&measure(&[("clf", "51.0")]));
    journal.now -= SignedDuration::from_mins(115);
    let told = said(
        &mut journal,
        &measure(&[("clf", &format!("{:.3}", 51.0 + 0.99 * agree))]),
    );
    assert!(!told.contains("take a third"), "{told}");
}

/// 0.28 in are 7.1 mm: with no unit it may be either, which 51.5 may not.
#[test]
fn who_reads_inches_is_asked_for_the_unit_of_a_length_that_may_be_either() {
    let mut journal = Journal::longtail();
    let imperial = ShopEvent::UnitsChosen {
        initials: "K".into(),
        units: Some(Units::Imperial),
    };
    let by = origin("K", journal.now);
    journal.shop.take(1, &by, &imperial);
    let refusal = journal.refused(&measure(&[("tyre-gap", "0.28")]));
    assert_eq!(refusal.metadata["meant"], "0.28in");
    let hint = refusal.hint.unwrap();
    assert_eq!(
        hint,
        "with its unit: lockring measure 21 tyre-gap 0.28in, or lockring measure 21 tyre-gap 0.28mm"
    );
    journal.change(&measure(&[("tyre-gap", "0.28in")]));
    assert!((journal.job.facts["tyre-gap"].value.number().unwrap() - 7.112e-3).abs() < 1e-9);
    journal.change(&measure(&[("clf", "51.5")]));
}

/// Both sides at three places are gone over with the wall calliper (common practice, no source): the thinnest counts.
#[test]
fn of_what_is_read_at_its_worst_place_the_worst_reading_stands_until_it_begins_anew() {
    let mut journal = Journal::longtail();
    let stands = |journal: &Journal, key: &str| journal.job.facts[key].value.number().unwrap() * 1e3;
    let read = |journal: &mut Journal, key: &str, text: &str| {
        let told = said(journal, &measure(&[(key, text)]));
        journal.now -= SignedDuration::from_mins(115);
        told
    };
    read(&mut journal, "rim-wall", "0.9");
    let told = read(&mut journal, "rim-wall", "1.3");
    assert!(
        told.contains("least of 2 readings (0.9 mm, 1.3 mm)")
            && told.contains("--anew")
            && !told.contains("third"),
        "{told}"
    );
    assert!((stands(&journal, "rim-wall") - 0.9).abs() < 1e-9);
    read(&mut journal, "rim-wall", "1.4");
    assert!((stands(&journal, "rim-wall") - 0.9).abs() < 1e-9);
    assert_eq!(journal.job.facts["rim-wall"].spread, 0.0);
    read(&mut journal, "rotor-runout", "0.3");
    let told = read(&mut journal, "rotor-runout", "0.1");
    assert!(told.contains("greatest of 2 readings"), "{told}");
    assert!((stands(&journal, "rotor-runout") - 0.3).abs() < 1e-9);
    let anew = Command::Record {
        act: Act::Measure,
        values: vec![Typed::new("rim-wall", "1.3")],
        force: false,
        anew: true,
    };
    journal.change(&anew);
    assert!((stands(&journal, "rim-wall") - 1.3).abs() < 1e-9);
}

/// A wall does not grow back in an hour: the window of repeats neither ends the worst reading nor slides past it.
#[test]
fn the_worst_reading_stands_after_the_hour_as_well() {
    for minutes in [&[0, 65][..], &[0, 50, 70], &[0, 65, 24 * 60, 24 * 60 + 5]] {
        let mut journal = Journal::longtail();
        let begun = journal.now;
        for (turn, minute) in minutes.iter().enumerate() {
            journal.now = begun + SignedDuration::from_mins(*minute);
            let wall = if turn == 0 { "0.9" } else { "1.3" };
            journal.change(&measure(&[("rim-wall", wall), ("rotor-runout", wall)]));
        }
        for (key, worst) in [("rim-wall", 0.9e-3), ("rotor-runout", 1.3e-3)] {
            let fact = &journal.job.facts[key];
            assert_eq!(fact.readings.len(), minutes.len(), "{key} {minutes:?}");
            let stands = fact.value.number().unwrap();
            assert!((stands - worst).abs() < 1e-12, "{key} {minutes:?}: {stands}");
        }
    }
}

#[test]
fn the_play_of_a_chain_stands_as_it_was_set_last() {
    let mut journal = Journal::longtail();
    for slack in ["25", "25.4"] {
        journal.change(&measure(&[("chain-slack", slack)]));
    }
    let told = said(&mut journal, &measure(&[("chain-slack", "12")]));
    assert!(told.contains("12 mm") && !told.contains("readings"), "{told}");
    assert_eq!(journal.job.facts["chain-slack"].value, Value::Number(0.012));
}

fn recorded(act: Act, values: &[(&str, &str)], force: bool) -> Command {
    let values = values.iter().map(|(field, text)| Typed::new(*field, *text));
    Command::Record {
        act,
        values: values.collect(),
        force,
        anew: true,
    }
}

/// The international pound is 0.45359237 kg: 24.5 lb are 11.11 kg.
#[test]
fn a_bicycle_that_lost_mass_with_its_kit_is_asked_for_again_with_the_unit_that_was_meant() {
    let mut journal = Journal::longtail();
    journal.change(&measure(&[("mass-before", "14.06 kg")]));
    let weighed = |text: &str, force| recorded(Act::Measure, &[("mass-after", text)], force);
    let refusal = journal.refused(&weighed("24.5lb", false));
    assert_eq!(refusal.reason, Reason::OutsideWindow);
    assert_eq!(refusal.metadata["meant"], "24.5 kg");
    assert!(
        refusal.message.contains("11.11 kg") && refusal.message.contains("14.06 kg"),
        "{refusal}"
    );
    let hint = refusal.hint.unwrap();
    assert!(
        hint.contains("did you mean 24.5 kg?")
            && hint.contains("lockring measure 21 mass-after 24.5lb --anew --force"),
        "{hint}"
    );
    // In kilograms there is nothing to guess.
    let refusal = journal.refused(&weighed("11 kg", false));
    assert!(!refusal.metadata.contains_key("meant"), "{refusal}");
    // Both in one line, and the other way round.
    let both = [("mass-before", "24 kg"), ("mass-after", "14 kg")];
    journal.refused(&recorded(Act::Measure, &both, false));
    journal.change(&weighed("24.5 kg", false));
    let before = |text| recorded(Act::Measure, &[("mass-before", text)], false);
    journal.refused(&before("31 kg"));
    journal.change(&before("24.5 kg"));
    journal.change(&weighed("11 kg", true));
    assert!((journal.job.facts["mass-after"].value.number().unwrap() - 11.0).abs() < 1e-9);
}

#[test]
fn a_climb_faster_than_help_reaches_or_far_from_the_others_is_asked_for_again() {
    let mut journal = Journal::longtail();
    let hill = |speed: &str, force| Command::Record {
        act: Act::Ride("hill".into()),
        values: vec![Typed::new("speed", speed), Typed::new("grade", "11 %")],
        force,
        anew: false,
    };
    let ride = |journal: &mut Journal, command: &Command| {
        journal.change(command);
        journal.now -= SignedDuration::from_mins(115);
    };
    ride(&mut journal, &hill("9.1", false));
    ride(&mut journal, &hill("10.4", false));
    let soon = |journal: &mut Journal| journal.now -= SignedDuration::from_mins(115);
    let beyond = journal.refused(&hill("31", false));
    soon(&mut journal);
    assert_eq!(beyond.reason, Reason::OutsideWindow);
    assert!(
        beyond.message.contains("31 km/h") && beyond.message.contains("25 km/h"),
        "{beyond}"
    );
    assert!(beyond.hint.unwrap().contains("--force"));
    // 2 km/h is less than a third of either.
    let slow = journal.refused(&hill("2", false));
    soon(&mut journal);
    assert!(slow.message.contains("9.1 km/h and 10.4 km/h"), "{slow}");
    journal.change(&hill("24", true));
    // One that is near any of them is one of them.
    journal.change(&hill("9.6", false));
}

#[test]
fn a_refused_reading_says_how_to_insist_and_one_mark_behind_it_does() {
    let mut journal = Journal::longtail();
    let record = |act: Act, field: &str, text: &str| Command::Record {
        act,
        values: vec![Typed::new(field, text)],
        force: false,
        anew: false,
    };
    for (act, field, text, retry) in [
        (
            Act::Measure,
            "clf",
            "515",
            "lockring measure 21 chainline-front 515 --force",
        ),
        (Act::Torque, "stem", "500", "lockring torque 21 stem 500 --force"),
        (
            Act::Ride("hill".into()),
            "speed",
            "900km/h",
            "lockring ride 21 hill speed=900km/h --force",
        ),
        (
            Act::Ride("hill".into()),
            "",
            "900km/h",
            "lockring ride 21 hill speed=900km/h --force",
        ),
    ] {
        let refusal = journal.refused(&record(act.clone(), field, text));
        assert_eq!(refusal.reason, Reason::OutsideWindow);
        assert!(refusal.hint.as_ref().unwrap().contains(retry), "{refusal:?}");
        let insisted = journal.change(&record(act, field, &format!("{text}!")));
        assert!(matches!(insisted.events[0], Event::Recorded { forced: true, .. }));
    }
    let ride = |values: &[(&str, &str)]| Command::Record {
        act: Act::Ride("cutoff".into()),
        values: values
            .iter()
            .map(|(field, text)| Typed::new(*field, *text))
            .collect(),
        force: false,
        anew: false,
    };
    // Values without a word are taken in the order of the run's fields, and no more than it has.
    journal.change(&ride(&[("", "24 km/h"), ("", "25 km/h")]));
    let kmh = |journal: &Journal, key: &str| 3.6 * journal.job.facts[key].value.number().unwrap();
    assert!((kmh(&journal, "cutoff-out") - 24.0).abs() < 1e-9);
    assert!((kmh(&journal, "cutoff-back") - 25.0).abs() < 1e-9);
    let many: Vec<(&str, &str)> = vec![("", "24 km/h"); 9];
    assert!(journal.refused(&ride(&many)).message.contains("more were given"));
    assert!(
        journal
            .refused(&ride(&[("out", "24 km/h"), ("cutoff-out", "25 km/h")]))
            .message
            .contains("twice")
    );
    assert_eq!(
        journal.refused(&ride(&[("oat", "24 km/h")])).metadata["nearest"],
        "out"
    );
    assert_eq!(journal.refused(&ride(&[])).reason, Reason::BadInput);
    let brief = journal.refused(&measure(&[("hill-grade", "9 %")]));
    assert!(brief.message.contains("stated, not measured"), "{brief}");
    let wrong = Command::State {
        group: Some(code::Group::Donor),
        values: vec![Typed::new("hill-grade", "9 %")],
        assumed: false,
    };
    assert!(
        journal
            .refused(&wrong)
            .message
            .contains("belongs to brief, not to donor")
    );
}
