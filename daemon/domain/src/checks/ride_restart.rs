//! `ride.restart`: starts on the steepest part of the hill.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Figure, Finding, Halt, Outcome, Verdict};
use crate::prediction;
use crate::stage::Stage;

/// Starts on the hill.
pub static CHECK: Check = Check {
    id: "ride.restart",
    title: "starts on the steepest part of the hill",
    gates: &[Stage::TestRide],
    family: Family::Ride,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: three starts of three, seated",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !case.flag("hill-restart")? {
        return Halt::not_applicable("the brief asks for no start on the hill");
    }
    let (good, tried) = case.tally("hill-restart-done")?;
    // A count of a few starts.
    let asked = case.rule("hill.restart-tries").round() as u32;
    let (verdict, remark) = if good == 0 && tried > 0 {
        (Verdict::Fail, "it does not start there")
    } else if good < tried {
        (Verdict::Fail, "it does not start every time")
    } else if tried < asked {
        (Verdict::Caution, "too few tries")
    } else {
        (Verdict::Pass, "every start")
    };
    let cure = if prediction::is_mid(case)? {
        format!(
            "a larger cog or a smaller ring: lockring build {} chainring=PART cassette=PART; it costs top cadence and chainline",
            case.job().number
        )
    } else {
        "a hub motor of more torque, or less load".to_owned()
    };
    let finding = Finding::new(
        verdict,
        format!("{good} of {tried} starts on the hill, {asked} of {asked} asked: {remark}"),
    )
    .with_figure(Figure {
        name: "starts".to_owned(),
        value: f64::from(good),
        unit: String::new(),
        limit: format!("{asked} of {asked}"),
        margin: None,
        uncertainty: None,
    })
    .with_arithmetic(format!("{good} good of {tried} tried"))
    .with_remedy(cure)
    .with_remedy(format!(
        "start three times more: lockring ride {} restart starts=…/3{}",
        case.job().number,
        prediction::anew(good, tried)
    ));
    Ok(vec![finding])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    #[test]
    fn none_of_three_is_not_called_some() {
        let said = |starts: &str| {
            let ridden = longtail().ride("restart", &[("starts", starts)]);
            ridden.expect(&CHECK, Verdict::Fail).summary().to_owned()
        };
        assert!(
            said("0/3").ends_with("it does not start there"),
            "{}",
            said("0/3")
        );
        assert!(said("1/3").ends_with("it does not start every time"));
    }

    fn starts(bench: Bench, count: &str) -> Bench {
        bench.ride("restart", &[("starts", count)])
    }

    #[test]
    fn three_of_three_pass_none_of_three_fails() {
        // Worked example of the trade (common practice, no source): 0/3 as built, 3/3 re-geared.
        starts(longtail(), "0/3").expect(&CHECK, Verdict::Fail);
        starts(longtail(), "2/3").expect(&CHECK, Verdict::Fail);
        starts(starts(longtail(), "0/3"), "3/3").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn two_of_two_are_too_few() {
        starts(longtail(), "2/2").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn open_until_tried_and_not_applicable_when_not_wanted() {
        longtail().expect(&CHECK, Verdict::Open);
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn three_starts_more_as_the_remedy_says_clear_it() {
        starts(longtail(), "2/3").cured(&CHECK, "lockring ride 21 restart starts=…/3", |job| {
            starts(job, "3/3")
        });
    }
}
