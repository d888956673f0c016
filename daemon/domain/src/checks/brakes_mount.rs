//! `brakes.mount`: rotors that their mounts take, and room between calliper and motor.

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

/// Mounts, adapters and the calliper's room.
pub static CHECK: Check = Check {
    id: "brakes.mount",
    title: "callipers on their mounts, clear of the motor",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "a mount takes its own rotor or a larger one by an adapter, never a smaller: common practice, geometry; flat mount to \
             160 mm from memory; a frame, fork or hub without a seat for calliper or rotor takes none: geometry; calliper 2 mm from a motor's cover: common practice, no source",
    run,
};

/// Sizes sold beside each other that one adapter serves, m: 200 and 203 mm.
const SAME_ROTOR: f64 = 0.004;
/// Largest rotor of a flat mount, m (from memory).
const FLAT_MOST: f64 = 0.160;

/// The codes and the slot of one end.
struct End {
    word: &'static str,
    wheel: Wheel,
    slot: Slot,
    mount: &'static str,
    least: &'static str,
    most: &'static str,
    seat: &'static str,
}

const ENDS: [End; 2] = [
    End {
        word: "front",
        wheel: Wheel::Front,
        slot: Slot::RotorFront,
        mount: "mount-front",
        least: "mount-front-least",
        most: "mount-front-most",
        seat: "rotor-seat-front",
    },
    End {
        word: "rear",
        wheel: Wheel::Rear,
        slot: Slot::RotorRear,
        mount: "mount-rear",
        least: "mount-rear-least",
        most: "mount-rear-most",
        seat: "rotor-seat-rear",
    },
];

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    for end in &ENDS {
        if !prediction::brake(case, end.wheel)?.is_disc() {
            continue;
        }
        let is_first = prediction::is_first_disc(case, end.wheel)?;
        if is_first {
            findings.extend(unseen(case, end)?);
        }
        if case.optional_word(end.mount) == Some("none") {
            findings.push(no_seat(
                case,
                end,
                &format!("no mount for a {} calliper", end.word),
                end.mount,
            )?);
        } else if case.knows(end.least) || (!is_first && (case.knows(end.mount) || case.knows(end.most))) {
            findings.extend(mount(case, end)?);
        }
        findings.extend(seat(case, end)?);
    }
    findings.extend(room(case)?);
    if findings.is_empty() {
        return Halt::not_applicable("no disc mount was looked at and no calliper sits beside a motor");
    }
    Ok(findings)
}

/// What nobody looked at where the bicycle came without a disc brake: whether its frame or fork has a mount, and
/// whether a hub that stays holds a rotor.
fn unseen(case: &Case<'_>, end: &End) -> Result<Option<Finding>, Halt> {
    let mut keys = vec![end.mount];
    if case.optional_word(end.mount) != Some("none") {
        keys.push(end.least);
    }
    if !is_hub_new(case, end)? {
        keys.push(end.seat);
    }
    let missing = prediction::missing(case, &keys);
    if missing.is_empty() {
        return Ok(None);
    }
    let mut finding = case.lack_all(missing);
    finding.summary = format!(
        "{}; the bicycle came with {} there, so look for both before disc brakes are bought",
        finding.summary,
        prediction::brake_that_came(case, end.wheel).unwrap_or("none")
    );
    Ok(Some(finding.with_remedy(format!(
        "or brakes of the kind it came with: lockring build {} brake-set=PART",
        case.job().number
    ))))
}

/// Whether the motor chosen is the hub of this wheel.
fn is_hub_new(case: &Case<'_>, end: &End) -> Result<bool, Halt> {
    Ok(case.optional_part(Slot::Motor).is_some() && prediction::driven_hub(case)? == Some(end.wheel))
}

/// The rotor on a hub that stays. A rotor of six bolts goes on a splined hub by an adapter, the other way round nothing
/// helps.
fn seat(case: &Case<'_>, end: &End) -> Result<Option<Finding>, Halt> {
    let Some(seat) = case.optional_word(end.seat) else {
        return Ok(None);
    };
    if is_hub_new(case, end)? {
        return Ok(None);
    }
    if seat == "none" {
        return no_seat(
            case,
            end,
            &format!("no seat for a rotor on the {} hub", end.word),
            end.seat,
        )
        .map(Some);
    }
    let rotor = case
        .optional_part(end.slot)
        .and_then(|rotor| rotor.optional_word("mount"));
    let Some(rotor) = rotor else { return Ok(None) };
    let line = format!("{} rotor {rotor} on a {seat} hub", end.word);
    let verdict = match (seat, rotor) {
        ("six-bolt", "splined") => Verdict::Fail,
        ("splined", "six-bolt") => Verdict::Caution,
        _ => return Ok(Some(Finding::new(Verdict::Pass, line))),
    };
    let finding = if verdict == Verdict::Caution {
        Finding::new(verdict, format!("{line}: by an adapter alone, which no line has"))
    } else {
        Finding::new(verdict, format!("{line}: it does not go on")).never_conceded()
    };
    Ok(Some(finding.with_remedy(format!(
        "a rotor of the hub's kind: lockring build {} {}=PART",
        case.job().number,
        end.slot.word()
    ))))
}

/// What holds nothing. Where the bicycle came with a disc brake, brakes of its kind would hang there no better.
fn no_seat(case: &Case<'_>, end: &End, what: &str, code: &str) -> Result<Finding, Halt> {
    let job = case.job().number;
    let finding = Finding::new(
        Verdict::Fail,
        format!("{what}: a disc brake has nothing to sit on"),
    );
    let (finding, or) = if prediction::is_first_disc(case, end.wheel)? {
        let kept = format!("brakes of the kind it came with: lockring build {job} brake-set=PART");
        (finding.with_remedy(kept), "or ")
    } else {
        (finding, "")
    };
    let finding = finding.with_remedy(format!(
        "{or}another {}, priced apart, then: {}",
        if code == end.seat {
            "wheel"
        } else if end.wheel == Wheel::Front {
            "fork"
        } else {
            "frame"
        },
        prediction::to_record(case, code)
    ));
    Ok(finding.never_conceded())
}

/// The rotor on its mount; `None` where there is no rotor, which brakes.size says.
fn mount(case: &Case<'_>, end: &End) -> Result<Option<Finding>, Halt> {
    let job = case.job().number;
    let native = case.number(end.least)?.value;
    let Some(rotor) = prediction::rotor(case, end.wheel)? else {
        return Ok(None);
    };
    let known = Known {
        value: rotor,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let most = case.optional_number(end.most).map(|known| known.value);
    let what = format!("{} rotor on its mount", end.word);
    let highest = most.unwrap_or(f64::INFINITY).max(native);
    let judged = Judged::new(&what, known, Kind::Length, "mm");
    let mut finding = if highest.is_finite() {
        judged.against(Limit::Within(native, highest))
    } else {
        judged.against(Limit::AtLeast(native))
    };
    let step = rotor - native;
    finding = finding.with_arithmetic(if step.abs() <= SAME_ROTOR {
        "calliper straight on the mount".to_owned()
    } else {
        format!(
            "{:.0} mm - {:.0} mm = {:+.0} mm of rotor: an adapter of that step, its bolts as long as asked",
            1e3 * rotor,
            1e3 * native,
            1e3 * step
        )
    });
    if case.optional_word(end.mount) == Some("flat-mount") && rotor > FLAT_MOST + 1e-9 {
        finding.verdict = finding.verdict.max(Verdict::Caution);
        finding.summary = format!(
            "{}; a flat mount takes up to {:.0} mm (from memory)",
            finding.summary,
            1e3 * FLAT_MOST
        );
    }
    let wanted = if rotor < native {
        format!("of {:.0} mm or more", 1e3 * native)
    } else {
        format!("of {:.0} mm, which the mount takes bare", 1e3 * native)
    };
    let finding = finding
        .with_remedy(format!(
            "a rotor {wanted}: lockring build {job} {}=PART; brakes.size says what the mass asks",
            end.slot.word()
        ))
        // A calliper goes further out on an adapter and never further in.
        .not_into_metal(rotor - native, SAME_ROTOR);
    Ok(Some(finding))
}

/// The calliper beside a hub motor: touching fails, near is a caution.
fn room(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let Some(wheel) = prediction::driven_hub(case)? else {
        return Ok(None);
    };
    if !prediction::brake(case, wheel)?.is_disc() {
        return Ok(None);
    }
    // At intake nothing stands beside the motor yet.
    if case.gate() < Stage::Fitting {
        return Ok(None);
    }
    let gap = case.number("calliper-gap")?;
    let finding = Judged::new("brake calliper to the motor's cover", gap, Kind::Length, "mm")
        .between(
            Limit::AtLeast(case.rule("stay.calliper-gap")),
            Limit::AtLeast(0.0),
        )
        .with_remedy(format!(
            "a spacer under the rotor and the calliper out by as much, or a slimmer calliper: {}",
            prediction::read_again(case, "calliper-gap", "VALUE")
        ))
        .never_conceded();
    Ok(Some(finding))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn mounted(least: &str) -> Bench {
        longtail().state(&[("mount-front", "post-mount"), ("mount-front-least", least)])
    }

    #[test]
    fn a_mount_goes_up_and_never_down() {
        // Common practice, no source: 203 mm of rotor on a mount of 160 or 180 mm takes an adapter;
        // on one of 220 mm it cannot go.
        for (least, verdict) in [
            ("160 mm", Verdict::Pass),
            ("203 mm", Verdict::Pass),
            ("204 mm", Verdict::Fail),
            ("220 mm", Verdict::Fail),
        ] {
            mounted(least).expect(&CHECK, verdict);
        }
        let report = mounted("180 mm").expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[0].arithmetic[0].contains("+23 mm"),
            "{:?}",
            report.findings[0]
        );
        let bare = mounted("200 mm").expect(&CHECK, Verdict::Pass);
        assert!(
            bare.findings[0].arithmetic[0].contains("straight on"),
            "{:?}",
            bare.findings[0]
        );
    }

    #[test]
    fn the_largest_marked_is_held_to_and_a_smaller_rotor_clears_it() {
        let small = mounted("160 mm").state(&[("mount-front-most", "180 mm")]);
        let report = small.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].contains("rotor-front=PART"),
            "{:?}",
            report.findings[0]
        );
        small.cured(&CHECK, "rotor-front=PART", |job| {
            job.build(&[("rotor-front", "rotor-180")])
        });
        mounted("160 mm")
            .state(&[("mount-front-most", "203 mm")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_flat_mount_is_small() {
        let flat = longtail().state(&[("mount-rear", "flat-mount"), ("mount-rear-least", "140 mm")]);
        flat.expect(&CHECK, Verdict::Caution);
        longtail()
            .build(&[("rotor-rear", "none")])
            .state(&[
                ("mount-rear", "flat-mount"),
                ("mount-rear-least", "140 mm"),
                ("rotor-rear", "160 mm"),
            ])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_calliper_beside_the_motor_wants_two_millimetres() {
        // Common practice, no source: 2 mm; contact is geometry. Feeler 0.1 mm: doubt 0.2 mm.
        let disc = trekking().state(&[("brake-rear", "hydraulic-disc")]);
        disc.expect(&CHECK, Verdict::Open);
        for (gap, verdict) in [
            ("2.3 mm", Verdict::Pass),
            ("2.1 mm", Verdict::Caution),
            ("1 mm", Verdict::Caution),
            ("-0.3 mm", Verdict::Fail),
        ] {
            disc.clone()
                .measure(&[("calliper-gap", gap)])
                .expect(&CHECK, verdict);
        }
        disc.measure(&[("calliper-gap", "1 mm")]).cured(
            &CHECK,
            "lockring measure 20 calliper-gap VALUE --anew",
            |job| job.again(&[("calliper-gap", "2.5 mm")]),
        );
    }

    /// A trekking bicycle with rim brakes and a motor at the crank, disc brakes and rotors chosen.
    fn first_discs() -> Bench {
        trekking().build(&[
            ("motor", "mid-48-250"),
            ("brake-set", "brakes-disc-2"),
            ("rotor-front", "rotor-180"),
            ("rotor-rear", "rotor-180"),
        ])
    }

    const LOOKED: [(&str, &str); 6] = [
        ("mount-front", "post-mount"),
        ("mount-front-least", "160 mm"),
        ("rotor-seat-front", "six-bolt"),
        ("mount-rear", "tab"),
        ("mount-rear-least", "160 mm"),
        ("rotor-seat-rear", "six-bolt"),
    ];

    #[test]
    fn disc_brakes_in_the_place_of_rim_brakes_are_open_until_mounts_and_hubs_were_looked_at() {
        // Geometry: what came with rim brakes may have neither mount nor seat.
        let report = first_discs().expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 6, "{:?}", report.missing);
        assert!(report.summary().contains("rim-linear"), "{}", report.summary());
        first_discs().state(&LOOKED).expect(&CHECK, Verdict::Pass);
        for left in 0..LOOKED.len() {
            let mut some = LOOKED.to_vec();
            some.remove(left);
            first_discs().state(&some).expect(&CHECK, Verdict::Open);
        }
        // A motor in the rear wheel is that wheel's hub.
        let hub = first_discs()
            .build(&[("motor", "hub-36-250")])
            .state(&LOOKED[..5]);
        assert!(
            !hub.report(&CHECK)
                .missing
                .iter()
                .any(|one| one.how.contains("rotor-seat")),
            "{:?}",
            hub.report(&CHECK).missing
        );
        first_discs().cured(&CHECK, "lockring build 20 brake-set=PART", |job| {
            job.build(&[("brake-set", "none")])
        });
    }

    #[test]
    fn a_fork_or_hub_without_a_seat_takes_no_disc_brake() {
        for code in ["mount-front", "rotor-seat-rear"] {
            let without = || first_discs().state(&LOOKED).state(&[(code, "none")]);
            let report = without().expect(&CHECK, Verdict::Fail);
            assert!(report.findings.iter().any(|finding| finding.never), "{report:?}");
            without().cured(&CHECK, "lockring build 20 brake-set=PART", |job| {
                job.build(&[("brake-set", "none")])
            });
            without().cured(&CHECK, &format!("lockring donor 20 {code}="), |job| {
                job.state(&LOOKED)
            });
        }
    }

    #[test]
    fn a_bicycle_that_came_with_disc_brakes_is_not_told_to_keep_their_kind() {
        let without = longtail().state(&[("mount-front", "none"), ("brake-front", "hydraulic-disc")]);
        let report = without.expect(&CHECK, Verdict::Fail);
        let remedies: Vec<&String> = report
            .findings
            .iter()
            .flat_map(|finding| &finding.remedies)
            .collect();
        assert!(
            !remedies.iter().any(|remedy| remedy.contains("it came with")),
            "{remedies:?}"
        );
        assert!(
            remedies.iter().any(|remedy| remedy.starts_with("another fork")),
            "{remedies:?}"
        );
    }

    /// Common practice, no source: an adapter takes a rotor of six bolts onto a splined hub, none does the reverse.
    #[test]
    fn a_rotor_goes_on_a_hub_of_its_own_kind() {
        let on = |hub: &str, rotor: &str| {
            first_discs()
                .state(&LOOKED)
                .state(&[("rotor-seat-front", hub)])
                .receive(
                    "rotor-front",
                    &[("mount", rotor)],
                    crate::command::ReceiptText::default(),
                )
        };
        on("six-bolt", "six-bolt").expect(&CHECK, Verdict::Pass);
        on("splined", "six-bolt").expect(&CHECK, Verdict::Caution);
        on("six-bolt", "splined").expect(&CHECK, Verdict::Fail);
        on("splined", "splined").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn rim_brakes_and_mounts_nobody_looked_at_are_not_concerned() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        longtail().expect(&CHECK, Verdict::NotApplicable);
        longtail()
            .state(&[("mount-front", "tab")])
            .expect(&CHECK, Verdict::Open);
    }
}
