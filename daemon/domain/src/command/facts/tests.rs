//! Tests of values stated and recorded.

use super::*;
use crate::checks::testing::{longtail, with_desk};
use crate::command::{self, Act, Command};
use crate::origin::Origin;

fn typed(values: &[(&str, &str)]) -> Vec<Typed> {
    values
        .iter()
        .map(|(field, text)| Typed::new(*field, *text))
        .collect()
}

fn origin() -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made: longtail().job.touched,
    }
}

fn state(job: Job, values: &[(&str, &str)]) -> Result<Draft, Refusal> {
    let command = Command::State {
        group: None,
        values: typed(values),
        assumed: false,
    };
    with_desk(|desk: &Desk<'_>| command::change(job, None, origin(), &command, desk))
}

/// A cassette is named by its first and last cog; typed so, the example must not make a bicycle of two cogs of it.
#[test]
fn a_range_of_cogs_is_answered_with_as_many_as_there_are() {
    let refusal = state(longtail().job, &[("speeds", "9"), ("cogs", "11-34")]).unwrap_err();
    let (_, example) = refusal.message.split_once("`speeds=9 cogs=").unwrap();
    let cogs: Vec<u32> = example
        .trim_end_matches('`')
        .split('-')
        .map(|teeth| teeth.parse().unwrap())
        .collect();
    assert_eq!((cogs.len(), cogs[0], cogs[8]), (9, 11, 34), "{}", refusal.message);
    assert!(cogs.is_sorted_by(|a, b| a < b), "{cogs:?}");
    assert!(
        refusal.message.contains("names the first and the last"),
        "{}",
        refusal.message
    );
    // Narrower than there are cogs: still in rising order.
    assert!(stepped(11, 13, 5).is_sorted_by(|a, b| a < b));
}

/// 34 for 3.4: out of the window; and within it where the gap before says so. A gap that was cured may grow tenfold.
#[test]
fn a_gap_that_slipped_a_decimal_is_asked_about() {
    let gap = |job: Job, code: &str, text: &str, force: bool| {
        let command = Command::Record {
            act: Act::Measure,
            values: typed(&[(code, text)]),
            force,
            anew: false,
        };
        with_desk(|desk: &Desk<'_>| command::change(job, None, origin(), &command, desk))
    };
    for (code, text) in [("ring-gap", "34 mm"), ("motor-gap", "35"), ("chain-gap", "30")] {
        let refusal = gap(longtail().job, code, text, false).unwrap_err();
        assert_eq!(refusal.reason, Reason::OutsideWindow, "{code}");
        assert!(refusal.hint.unwrap().contains("did you mean 3"), "{code}");
    }
    let known = longtail()
        .measure(&[("ring-gap", "2.1 mm"), ("motor-gap", "0.3 mm")])
        .job;
    let refusal = gap(known.clone(), "ring-gap", "22 mm", false).unwrap_err();
    assert_eq!(
        refusal.message,
        "ring and chain to chainstay: 22 mm is 10 times the 2.1 mm that it was"
    );
    assert!(refusal.hint.unwrap().starts_with("did you mean 2.2 mm?"));
    assert!(gap(known.clone(), "ring-gap", "22 mm", true).is_ok());
    assert!(gap(known.clone(), "ring-gap", "22 mm!", false).is_ok());
    assert!(gap(known.clone(), "ring-gap", "12 mm", false).is_ok());
    assert!(gap(known, "motor-gap", "3 mm", false).is_ok());
    // The template showed 1 mm.
    let refusal = gap(longtail().job, "motor-gap", "11 mm", false).unwrap_err();
    assert!(
        refusal.message.contains("that the template showed"),
        "{}",
        refusal.message
    );
}

#[test]
fn what_is_measured_though_it_is_stated_is_handed_back_with_its_value() {
    for (code, text, hint) in [
        (
            "assist-level",
            "high",
            "state it with `lockring brief 21 assist-level=high`",
        ),
        (
            "rider-mass",
            "84 kg",
            "state it with `lockring brief 21 rider-mass=\"84 kg\"`",
        ),
    ] {
        let command = Command::Record {
            act: Act::Measure,
            values: typed(&[(code, text)]),
            force: false,
            anew: false,
        };
        let refusal = with_desk(|desk: &Desk<'_>| {
            command::change(longtail().job, None, origin(), &command, desk).unwrap_err()
        });
        assert_eq!(refusal.hint.as_deref(), Some(hint));
    }
}

#[test]
fn nine_cogs_with_the_teeth_of_ten_are_refused_together_and_one_after_the_other() {
    let ten = "11-13-15-17-19-21-24-28-32-34";
    let together = [("speeds", "9"), ("cogs", ten)];
    let refusal = state(longtail().job, &together).unwrap_err();
    assert_eq!(refusal.reason, Reason::BadInput);
    assert!(
        refusal.message.contains("9 cogs and the teeth of 10")
            && refusal.message.contains("`speeds=10 cogs=11-13"),
        "{}",
        refusal.message
    );
    let taken_in = with_desk(|desk| command::take_in(7, origin(), "R", &typed(&together), &[], desk));
    assert_eq!(taken_in.unwrap_err().reason, Reason::BadInput);
    let first = state(longtail().job, &[("speeds", "9")]).unwrap();
    assert!(state(first.job.clone(), &[("cogs", ten)]).is_err());
    // Eight gears in the hub behind one cog.
    assert!(state(longtail().job, &[("speeds", "8"), ("cogs", "19")]).is_ok());
    // Another value does not bring it up again, and both together put it right.
    assert!(state(first.job.clone(), &[("stay-length", "470 mm")]).is_ok());
    assert!(state(first.job, &[("speeds", "10"), ("cogs", ten)]).is_ok());
}

#[test]
fn a_line_that_was_assumed_comes_back_as_assumed() {
    let command = Command::State {
        group: Some(Group::Donor),
        values: typed(&[("permitted-mass", "130"), ("fork", "rubber")]),
        assumed: true,
    };
    let refusal = with_desk(|desk: &Desk<'_>| {
        command::change(longtail().job, None, origin(), &command, desk).unwrap_err()
    });
    let hint = refusal.hint.unwrap();
    assert!(
        hint.ends_with("`lockring donor 21 permitted-mass=130 --assumed`"),
        "{hint}"
    );
}

/// Bore and width as the shell table has them; a wrong word beside good ones.
#[test]
fn a_line_with_a_wrong_word_comes_back_with_the_rest_of_it() {
    let line = [("axle", "QR"), ("fork", "rubber"), ("rider-mass", "84 kg")];
    let refusal = state(longtail().job, &line).unwrap_err();
    let hint = refusal.hint.unwrap();
    assert!(
        hint.ends_with(
            "nothing of the line was kept; without what cannot be taken it reads: `lockring brief 21 axle=QR \
             rider-mass=\"84 kg\"`"
        ),
        "{hint}"
    );
    let taken_in = with_desk(|desk| command::take_in(7, origin(), "Ines H.", &typed(&line), &[], desk));
    let hint = taken_in.unwrap_err().hint.unwrap();
    assert!(
        hint.ends_with("lockring take-in \"Ines H.\" axle=QR rider-mass=\"84 kg\"`"),
        "{hint}"
    );
    // What came from a file is mended there.
    let sheet: Vec<Typed> = typed(&line)
        .into_iter()
        .map(|typed| Typed {
            line: Some(3),
            ..typed
        })
        .collect();
    let taken_in = with_desk(|desk| command::take_in(7, origin(), "Ines H.", &sheet, &[], desk));
    assert!(
        taken_in
            .unwrap_err()
            .hint
            .is_none_or(|hint| !hint.contains("it reads"))
    );
}

#[test]
fn a_pressed_shell_is_told_by_the_bore_and_width_beside_it() {
    let pressed = ("shell", "pressfit");
    let told = state(longtail().job, &[pressed, ("shell-bore", "41"), ("bbw", "92 mm")]).unwrap();
    assert_eq!(told.job.text("shell-standard"), Some("press-41x92"));
    let refusal = state(longtail().job, &[pressed]).unwrap_err();
    assert!(
        refusal.message.contains("several bores are pressed"),
        "{}",
        refusal.message
    );
    // No shell of that bore and width is stored.
    assert!(state(longtail().job, &[pressed, ("shell-bore", "40"), ("bbw", "92 mm")]).is_err());
}

#[test]
fn a_tyre_name_of_several_sizes_is_refused_with_them() {
    let refusal = state(longtail().job, &[("tyre-size", "28 inch")]).unwrap_err();
    for words in ["28 inch", "622 or 635 mm", "-622 or -635", "42-622"] {
        assert!(refusal.message.contains(words), "{words}: {}", refusal.message);
    }
}

#[test]
fn two_masses_of_one_line_are_asked_about_together() {
    let measure = |values: &[(&str, &str)], force: bool| {
        let command = Command::Record {
            act: Act::Measure,
            values: typed(values),
            force,
            anew: false,
        };
        with_desk(|desk: &Desk<'_>| command::change(longtail().job, None, origin(), &command, desk))
    };
    let both = [("mass-before", "22"), ("mass-after", "20 kg")];
    let hint = measure(&both, false).unwrap_err().hint.unwrap();
    assert!(
        hint.ends_with("lockring measure 21 mass-before=22 mass-after=\"20 kg\" --force"),
        "{hint}"
    );
    assert!(measure(&both, true).is_ok());
    // In whatever order they came, it is the one that slipped its unit (the international pound is 0.45359237 kg).
    for slipped in [
        [("mass-before", "14.1 kg"), ("mass-after", "24.5lb")],
        [("mass-after", "24.5lb"), ("mass-before", "14.1 kg")],
    ] {
        let refusal = measure(&slipped, false).unwrap_err();
        assert_eq!(refusal.metadata["meant"], "24.5 kg");
    }
}

/// Measured of eight bicycles on dry asphalt: 0.71 g at most, 6.96 m/s². By hand: (32.2/3.6)² / (2 x 3.9) = 10.26.
#[test]
fn a_stop_harder_than_any_measured_is_asked_about() {
    let told = |distance: &str, speed: &str, force: bool, anew: bool| {
        let command = Command::Record {
            act: Act::Ride("stop".into()),
            values: typed(&[("distance", distance), ("speed", speed)]),
            force,
            anew,
        };
        with_desk(|desk: &Desk<'_>| command::change(longtail().job, None, origin(), &command, desk))
    };
    let stop = |distance: &str, speed: &str, force: bool| told(distance, speed, force, false);
    let refusal = stop("3.9 m", "32.2 km/h", false).unwrap_err();
    assert!(refusal.message.contains("10.3 m/s²"), "{}", refusal.message);
    let hint = refusal.hint.unwrap();
    assert!(
        hint.ends_with("lockring ride 21 stop distance=3.9m speed=32.2km/h --force"),
        "{hint}"
    );
    // A stop typed to begin anew is typed so again.
    let anew = told("3.9 m", "32.2 km/h", false, true).unwrap_err().hint.unwrap();
    assert!(anew.ends_with("speed=32.2km/h --anew --force"), "{anew}");
    assert!(stop("3.9 m", "32.2 km/h", true).is_ok());
    // (25/3.6)² / (2 x 3.5) = 6.89, and 3.4 m would be 7.09.
    assert!(stop("3.5 m", "25 km/h", false).is_ok());
    assert!(stop("3.4 m", "25 km/h", false).is_err());
    // A mark of emphasis takes the one value out of its window, and says it is meant.
    assert!(stop("3.4 m!", "25 km/h", false).is_ok());
}

/// The longtail's pack holds 17.5 Ah by its sheet at most: 25.2 Ah are 2.52 Ah with a slipped mark.
#[test]
fn more_charge_than_the_pack_holds_is_asked_about() {
    let ridden = |charge: &str, force: bool| {
        let command = Command::Record {
            act: Act::Ride("energy".into()),
            values: typed(&[("distance", "9.6 km"), ("charge", charge), ("volts", "46.1 V")]),
            force,
            anew: false,
        };
        with_desk(|desk: &Desk<'_>| command::change(longtail().job, None, origin(), &command, desk))
    };
    let refusal = ridden("25.2 Ah", false).unwrap_err();
    assert_eq!(refusal.metadata["meant"], "2.52 Ah");
    assert!(
        refusal.message.contains("that the pack holds"),
        "{}",
        refusal.message
    );
    assert!(refusal.hint.unwrap().ends_with("charge=25.2 Ah --force"));
    assert!(ridden("25.2 Ah", true).is_ok() && ridden("2.52 Ah", false).is_ok());
}

#[test]
fn a_worst_hill_that_is_none_is_asked_about() {
    let refusal = state(longtail().job, &[("hill-grade", "0.09")]).unwrap_err();
    assert_eq!(refusal.metadata["meant"], "9 %");
    let hint = refusal.hint.unwrap();
    assert!(hint.contains("lockring brief 21 hill-grade=0.09%,"), "{hint}");
    // Flat country, told with its sign; and a hundred times as much as 0.8 is no hill anybody rides.
    for flat in ["0", "1 %", "0.8 %", "0.09 %", "0.09%", "0.8"] {
        assert!(state(longtail().job, &[("hill-grade", flat)]).is_ok(), "{flat}");
    }
}

#[test]
fn a_hub_of_three_gears_with_the_ratios_of_two_is_refused_together_and_one_after_the_other() {
    let (three, two) = ("0.75,1,1.33", "1-1.36");
    let together = [("hub-gears", "3"), ("hub-ratios", two)];
    let first = state(longtail().job, &[("hub-gears", "3")]).unwrap();
    let then = state(first.job.clone(), &[("hub-ratios", two)]);
    for refused in [state(longtail().job, &together), then] {
        let said = refused.unwrap_err().message;
        assert!(
            said.contains("3 gears inside the hub and the ratios of 2"),
            "{said}"
        );
        assert!(said.contains("`hub-gears=2 hub-ratios=1-1.36`"), "{said}");
    }
    let known = state(first.job, &[("hub-ratios", three)]).unwrap();
    let hub = known.job.facts.get("hub-ratios").map(|fact| &fact.value);
    assert_eq!(hub, Some(&Value::Ratios(vec![0.75, 1.0, 1.33])));
    assert!(
        known
            .said
            .iter()
            .any(|line| line.contains("0.75-1-1.33 (stated)")),
        "{:?}",
        known.said
    );
    let fewer = state(known.job, &[("hub-gears", "2")]).unwrap_err();
    assert!(
        fewer.message.contains("2 gears inside the hub"),
        "{}",
        fewer.message
    );
    // The ratios alone give the number.
    assert!(state(longtail().job, &[("hub-ratios", three)]).is_ok());
}
