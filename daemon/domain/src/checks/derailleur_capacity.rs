//! `derailleur.capacity`: largest cog and total capacity the rear derailleur takes.

use lockring_calc::chain::{self, DerailleurLimits};
use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Cogs against the derailleur.
pub static CHECK: Check = Check {
    id: "derailleur.capacity",
    title: "cogs inside what the derailleur takes",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 5,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the maker's figures of the derailleur; capacity is ring difference plus cog difference, common practice; what the \
             travel of a sprung rear end takes of it, geometry that only advises; shifter and derailleur index one number of \
             cogs, common practice, no source; a cassette takes the place of a hub with gears inside, and so does a motor in the \
             rear wheel: geometry",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let (ring, cogs) = prediction::teeth(case)?;
    let (Some(smallest), Some(largest)) = (cogs.first().copied(), cogs.last().copied()) else {
        return Err(case.open("cogs"));
    };
    let mut findings: Vec<Finding> = gears_lost(case)?.into_iter().collect();
    if cogs.len() == 1 {
        return if findings.is_empty() {
            Halt::not_applicable("a single cog has no derailleur")
        } else {
            Ok(findings)
        };
    }
    if prediction::chooses_several_cogs(case) && prediction::came_without_derailleur(case) {
        let figures = prediction::missing(case, &["derailleur-cog", "derailleur-capacity"]);
        findings.push(another_wheel(case, cogs.len()));
        findings.push(case.lack_all(figures));
        return Ok(findings);
    }
    prediction::need(case, &["derailleur-cog", "derailleur-capacity"])?;
    let (cog, capacity) = (
        case.number("derailleur-cog")?.value,
        case.number("derailleur-capacity")?.value,
    );
    // Counts inside the windows of their codes.
    let limits = DerailleurLimits {
        capacity: capacity.round() as u32,
        largest_cog: cog.round() as u32,
        smallest_cog: None,
    };
    let least = prediction::least_ring(case)?.unwrap_or(ring);
    let fit = chain::derailleur_fit(&[ring, least], &cogs, limits)
        .map_err(|error| prediction::unusable(case, "derailleur", &error))?;
    let teeth = |count: u32| Known {
        value: f64::from(count),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let job = case.job().number;
    let cassette = format!("a cassette inside both limits: lockring build {job} cassette=PART");
    let reach = Judged::new("largest cog in teeth", teeth(largest), Kind::Count, "")
        .against(Limit::AtMost(cog))
        .with_arithmetic(format!("{largest} against {cog:.0}: {:+} teeth left", fit.largest_margin))
        .with_remedy(cassette.clone())
        .with_remedy(format!(
            "a derailleur for a larger cog: lockring donor {job} derailleur-cog={largest} derailleur-capacity={}",
            fit.need.max(limits.capacity)
        ));
    let span = Judged::new(
        "capacity asked of the derailleur in teeth",
        teeth(fit.need),
        Kind::Count,
        "",
    )
    .against(Limit::AtMost(capacity))
    .with_arithmetic(format!(
        "{} = {} against {capacity:.0}: {:+} teeth left",
        if fit.front_need == 0 {
            format!("single ring: {largest} - {smallest}")
        } else {
            format!(
                "({} - {}) + ({largest} - {smallest})",
                ring.max(least),
                ring.min(least)
            )
        },
        fit.need,
        fit.capacity_margin
    ))
    .with_remedy(cassette)
    .with_remedy(format!(
        "a longer cage: lockring donor {job} derailleur-capacity={}",
        fit.need
    ));
    findings.extend([reach, span]);
    findings.extend(indexed(case, &cogs));
    if case.knows("stay-longest") {
        findings.extend(travel(case, fit.need, capacity)?);
    }
    Ok(findings)
}

/// Several cogs on a bicycle that came without a derailleur: what they go on is bought with them.
fn another_wheel(case: &Case<'_>, cogs: usize) -> Finding {
    let job = case.job().number;
    let came = match prediction::stated_hub_gears(case) {
        Some(gears) => format!("{gears} gears inside its rear hub, which go"),
        None => "one cog".to_owned(),
    };
    Finding::new(
        Verdict::Caution,
        format!(
            "{cogs} cogs on a bicycle that came with {came}: rear wheel, derailleur and shifter go with the cogs, and their \
             price stands in no line"
        ),
    )
    .with_remedy(format!(
        "the cog and the hub it came with: lockring build {job} cassette=none"
    ))
    .with_remedy(format!(
        "rear wheel, derailleur and shifter for {cogs} cogs, priced apart: lockring donor {job} speeds={cogs} \
         derailleur-cog=VALUE derailleur-capacity=VALUE"
    ))
}

/// A motor in the rear wheel of a bicycle with gears inside its hub; `None` of any other.
fn gears_lost(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let Some(gears) = prediction::stated_hub_gears(case) else {
        return Ok(None);
    };
    // Without a motor nothing takes the hub's place.
    if case.optional_part(Slot::Motor).is_none() || prediction::driven_hub(case)? != Some(Wheel::Rear) {
        return Ok(None);
    }
    Ok(Some(
        Finding::new(
            Verdict::Caution,
            format!(
                "the motor takes the place of the rear hub: its {gears} gears and their shifter go, and hills and speeds are \
                 computed without them"
            ),
        )
        .with_remedy(format!(
            "a motor that leaves the hub in, at the crank or in the front wheel: lockring build {} motor=PART",
            case.job().number
        )),
    ))
}

/// Another number of cogs than the bicycle came with: its shifter and derailleur step from cog to cog of the old
/// spacing. `None` where the number is kept, or nobody stated the old one.
fn indexed(case: &Case<'_>, cogs: &[u32]) -> Option<Finding> {
    let count = cogs.len();
    let own = match case.optional_number("speeds") {
        // A count inside the window of its code.
        Some(speeds) => speeds.value.round() as usize,
        None if case.knows("cogs") => case.teeth("cogs").ok()?.len(),
        None => return None,
    };
    if own == count {
        return None;
    }
    let job = case.job().number;
    // The number alone is refused beside the teeth of another.
    let is_listed = case.knows("cogs") && case.teeth("cogs").is_ok_and(|came| came.len() > 1);
    let listed = if is_listed {
        let teeth: Vec<String> = cogs.iter().map(u32::to_string).collect();
        format!(" cogs={}", teeth.join("-"))
    } else {
        String::new()
    };
    Some(
        Finding::new(
            Verdict::Caution,
            format!(
                "{count} cogs on a bicycle shifted for {own}: shifter and derailleur go with the number of cogs, and their \
                 price stands in no line"
            ),
        )
        .with_remedy(format!("a cassette of {own} cogs: lockring build {job} cassette=PART"))
        .with_remedy(format!(
            "shifter and derailleur for {count} cogs, priced apart: lockring donor {job} speeds={count}{listed}"
        )),
    )
}

/// The chain is cut for the longest stay; at rest the cage takes up what it is too long by as well.
/// A tooth of capacity is half a link. The makers' figures leave a margin nobody states, so that
/// it is advice. `None` where the stay does not grow.
fn travel(case: &Case<'_>, need: u32, capacity: f64) -> Result<Option<Finding>, Halt> {
    let stay = prediction::stay(case)?;
    if stay.growth() <= 0.0 {
        return Ok(None);
    }
    let links = 2.0 * 1e3 * stay.growth() / chain::PITCH_MM;
    let asked = Known {
        value: f64::from(need) + 2.0 * links,
        u: 0.0,
        ..stay.longest
    };
    let finding = Judged::new("capacity asked with the travel, in teeth", asked, Kind::Count, "")
        .against(Limit::AtMost(capacity))
        .with_arithmetic(stay.said(case.job().number))
        .with_arithmetic(format!(
            "{need} teeth of the gears, and 2 x {:.0} mm of travel are {links:.1} links or {:.1} teeth",
            1e3 * stay.growth(),
            2.0 * links
        ))
        .with_remedy(format!(
            "a longer cage: lockring donor {} derailleur-capacity={:.0}",
            case.job().number,
            asked.value.ceil()
        ));
    Ok(Some(prediction::advise_only(
        finding,
        "what the maker leaves for travel is not stated",
    )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking, with_desk};
    use crate::command::{self, Command, Typed};
    use crate::origin::Origin;
    use lockring_calc::quantity::Length;

    #[test]
    fn the_demo_bicycles_fit_their_derailleurs() {
        // Worked example of the trade (common practice, no source): 34 <= 36 and 34 - 11 = 23
        // <= 39; after re-gearing 36 <= 36 and 25 <= 39.
        let report = longtail().expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 23.0).abs() < 1e-9);
        let report = longtail()
            .build(&[("cassette", "cassette-9-11-36")])
            .expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 25.0).abs() < 1e-9);
        hardtail().expect(&CHECK, Verdict::Pass);
        trekking().expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn another_number_of_cogs_than_came_takes_shifter_and_derailleur_with_it() {
        // Common practice, no source: indexed shifting is made for one number of cogs.
        let came_with = |speeds: &str| longtail().state(&[("speeds", speeds)]);
        came_with("9").expect(&CHECK, Verdict::Pass);
        let report = came_with("12").expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().starts_with("9 cogs on a bicycle shifted for 12"),
            "{}",
            report.summary()
        );
        came_with("12").cured(&CHECK, "lockring donor 21 speeds=9", |job| {
            job.state(&[("speeds", "9")])
        });
        // Where nobody counted, the cogs that came say it.
        let cogs = "10-12-14-16-18-21-24-28-33-39-45-51";
        let report = longtail()
            .state(&[("cogs", cogs)])
            .expect(&CHECK, Verdict::Caution);
        // The way out is one that stating it takes, with the teeth beside their number.
        let remedies = &report
            .findings
            .iter()
            .find(|f| f.verdict == Verdict::Caution)
            .unwrap()
            .remedies;
        let line = remedies
            .iter()
            .find(|line| line.contains("speeds="))
            .unwrap()
            .to_string();
        let (_, typed) = line.split_once("lockring donor 21 ").unwrap();
        let pairs: Vec<(&str, &str)> = typed
            .split(' ')
            .map(|pair| pair.split_once('=').unwrap())
            .collect();
        assert_eq!(pairs.len(), 2, "{line}");
        let values: Vec<Typed> = pairs
            .iter()
            .map(|(field, text)| Typed::new(*field, *text))
            .collect();
        let came = longtail().state(&[("cogs", cogs)]);
        let origin = Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: came.job.touched,
        };
        let command = Command::State {
            group: None,
            values,
            assumed: false,
        };
        with_desk(|desk| command::change(came.job.clone(), None, origin, &command, desk)).unwrap();
        came.cured(&CHECK, &line, |job| job.state(&pairs));
    }

    /// A longtail that came with gears inside its hub and one cog, and no derailleur.
    fn hub_geared() -> Bench {
        longtail()
            .forget("derailleur-cog")
            .forget("derailleur-capacity")
            .state(&[("hub-gears", "8"), ("cogs", "20")])
    }

    #[test]
    fn several_cogs_in_the_place_of_a_gear_hub_take_wheel_derailleur_and_shifter_with_them() {
        // Geometry: the cogs sit on another hub than the gears.
        let report = hub_geared().expect(&CHECK, Verdict::Open);
        let caution = &report.findings[0];
        assert_eq!(caution.verdict, Verdict::Caution);
        for words in ["9 cogs", "8 gears", "rear wheel, derailleur and shifter", "price"] {
            assert!(caution.summary.contains(words), "{}", caution.summary);
        }
        hub_geared().cured(&CHECK, "lockring build 21 cassette=none", |job| {
            job.build(&[("cassette", "none")])
        });
        let bought = [
            ("speeds", "9"),
            ("derailleur-cog", "36"),
            ("derailleur-capacity", "39"),
        ];
        hub_geared().cured(
            &CHECK,
            "lockring donor 21 speeds=9 derailleur-cog=VALUE derailleur-capacity=VALUE",
            |job| job.state(&bought),
        );
    }

    #[test]
    fn a_motor_in_the_rear_wheel_says_that_the_gears_of_the_hub_go() {
        let geared = || {
            trekking()
                .forget("derailleur-cog")
                .forget("derailleur-capacity")
                .state(&[("hub-gears", "8"), ("cogs", "20")])
        };
        let report = geared().expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("its 8 gears"), "{}", report.summary());
        geared().cured(&CHECK, "lockring build 20 motor=PART", |job| {
            job.build(&[("motor", "mid-48-250")])
        });
    }

    #[test]
    fn a_cog_too_large_fails_and_a_smaller_cassette_clears_it() {
        let large = longtail()
            .state(&[("derailleur-cog", "35")])
            .build(&[("cassette", "cassette-9-11-36")]);
        let report = large.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[0].verdict, Verdict::Fail);
        assert_eq!(
            report.findings[1].verdict,
            Verdict::Pass,
            "the capacity is enough"
        );
        large
            .build(&[("cassette", "cassette-9-11-34")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn travel_takes_of_the_cage_and_only_advises() {
        // By hand: 480 to 500 mm is 2 x 20 / 12.7 = 3.15 links, 6.3 teeth; 23 + 6.3 = 29.3.
        let sprung = |capacity: &str, longest: &str| {
            longtail()
                .state(&[("derailleur-capacity", capacity)])
                .measure(&[("stay-longest", longest)])
        };
        let report = sprung("30", "500").expect(&CHECK, Verdict::Pass);
        assert!(
            (report.findings[2].figures[0].value - 29.3).abs() < 0.01,
            "{report:?}"
        );
        sprung("29", "500").expect(&CHECK, Verdict::Caution);
        assert_eq!(
            sprung("29", "480").expect(&CHECK, Verdict::Pass).findings.len(),
            2
        );
        // The chain round both circles, cut at the longest and hanging at rest, says the same.
        let links = |stay: f64, cog| chain::links_exact(Length::millimetres(stay), 42, cog).unwrap();
        let taken_up = links(500.0, 34) - links(480.0, 34);
        assert!((2.0 * taken_up - 6.3).abs() < 0.01, "{taken_up}");
        sprung("29", "500").cured(&CHECK, "derailleur-capacity=30", |job| {
            job.state(&[("derailleur-capacity", "30")])
        });
    }

    #[test]
    fn a_short_cage_fails_by_a_tooth() {
        hardtail()
            .state(&[("derailleur-capacity", "31")])
            .expect(&CHECK, Verdict::Pass);
        let report = hardtail()
            .state(&[("derailleur-capacity", "30")])
            .expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[1].arithmetic[0].contains("42 - 11 = 31"),
            "{:?}",
            report.findings[1].arithmetic
        );
    }

    #[test]
    fn a_triple_that_is_kept_asks_for_its_rings_too() {
        // Glossary of the trade, read: 44-32-24 with 12 to 34 asks for 42.
        let triple = trekking().state(&[
            ("ring-teeth", "44"),
            ("ring-teeth-least", "24"),
            ("cogs", "12-14-16-18-20-24-28-34"),
            ("derailleur-cog", "34"),
            ("derailleur-capacity", "42"),
        ]);
        let report = triple.expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[1].arithmetic[0].starts_with("(44 - 24) + (34 - 12) = 42 against 42"),
            "{:?}",
            report.findings[1].arithmetic
        );
        let short = triple.state(&[("derailleur-capacity", "41")]);
        short.expect(&CHECK, Verdict::Fail);
        // One ring of the build in place of the triple asks for 22.
        let ringed = short.build(&[("chainring", "ring-42-6")]);
        let report = ringed.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 22.0).abs() < 1e-9);
    }

    #[test]
    fn both_figures_are_asked_for_and_a_single_cog_needs_none() {
        let report = longtail()
            .forget("derailleur-cog")
            .forget("derailleur-capacity")
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
        trekking()
            .state(&[("cogs", "19")])
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn the_derailleur_the_remedy_names_clears_it() {
        let large = longtail()
            .state(&[("derailleur-cog", "35")])
            .build(&[("cassette", "cassette-9-11-36")]);
        large.cured(
            &CHECK,
            "lockring donor 21 derailleur-cog=36 derailleur-capacity=39",
            |job| job.state(&[("derailleur-cog", "36"), ("derailleur-capacity", "39")]),
        );
    }
}
