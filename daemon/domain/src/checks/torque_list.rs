//! `torque.list`: every bolt that this build touches, recorded and inside its range.

use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;
use lockring_calc::fastener::{self, Fastener, Mark, Published};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::code;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::rules::Basis;
use crate::stage::Stage;
use crate::unit::Kind;

/// Torques of the build.
pub static CHECK: Check = Check {
    id: "torque.list",
    title: "every bolt of the build at its torque",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 6,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the kit's card and the part's mark; stored ranges of fasteners and of the rule sheet, each with its source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    let mut missing = Vec::new();
    for bolt in needed(case)? {
        let row = code::torque_code(bolt).expect("the list names bolts of the table of codes");
        match case.optional_number(row.key()) {
            Some(torque) => findings.push(match prediction::torque_mark(case, bolt)? {
                Some(mark) => marked(case, bolt, torque, mark)?,
                None => judged(case, bolt, torque),
            }),
            None => {
                if let Halt::Open(more) = case.open(row.key()) {
                    missing.extend(more);
                }
            }
        }
    }
    findings.extend(recorded(case)?);
    // A bolt at a wrong torque is told even while others are not recorded yet.
    if !missing.is_empty() {
        findings.push(case.lack_all(missing));
    }
    Ok(findings)
}

/// The bolts this build touches, in the order they are tightened.
fn needed(case: &Case<'_>) -> Result<Vec<&'static str>, Halt> {
    let mid = prediction::is_mid(case)?;
    let chosen = |slot| case.optional_part(slot).is_some();
    let discs = chosen(Slot::BrakeSet)
        && prediction::brake(case, Wheel::Front).is_ok_and(|brake| brake.new && brake.is_disc());
    let (rotor_front, rotor_rear) = (chosen(Slot::RotorFront), chosen(Slot::RotorRear));
    let all = [
        (mid, "lockring"),
        (mid, "reaction"),
        (!mid, "axle"),
        (!mid, "arm-bolt"),
        (mid, "crank"),
        (mid || chosen(Slot::Chainring), "chainring"),
        (chosen(Slot::Cassette), "cassette"),
        (mid, "pedal"),
        (!has_quill(case), "stem"),
        (has_quill(case), "stem-quill"),
        (rotor_front, "rotor-front"),
        (rotor_rear, "rotor-rear"),
        // Another rotor moves the calliper on its mount.
        (discs || rotor_front, "calliper-front"),
        (discs || rotor_rear, "calliper-rear"),
    ];
    Ok(all
        .into_iter()
        .filter(|(touched, _)| *touched)
        .map(|(_, bolt)| bolt)
        .collect())
}

/// Whether one bolt of an old quill stem clamps the handlebar, and no faceplate.
fn has_quill(case: &Case<'_>) -> bool {
    case.optional_word("stem-kind") == Some("quill")
}

/// Bolts that no build asks for, judged where somebody recorded them.
const ALSO: [&str; 14] = [
    "stem-steerer",
    "seatpost",
    "saddle",
    "bottom-bracket",
    "derailleur",
    "cable-anchor",
    "rotor-lockring",
    "rim-brake-pad",
    "rim-brake-arm",
    "brake-cable",
    "coaster-arm",
    "axle-plain",
    "disc-cover",
    "battery-rail",
];

fn recorded(case: &Case<'_>) -> Result<Vec<Finding>, Halt> {
    let mut findings = Vec::new();
    for bolt in ALSO {
        let row = code::torque_code(bolt).expect("the list names bolts of the table of codes");
        if let Some(torque) = case.optional_number(row.key()) {
            findings.push(match prediction::torque_mark(case, bolt)? {
                Some(mark) => marked(case, bolt, torque, mark)?,
                None => judged(case, bolt, torque),
            });
        }
    }
    Ok(findings)
}

/// A torque without a mark on the part: by the stored range, lowered on a part of carbon.
fn judged(case: &Case<'_>, bolt: &str, torque: Known) -> Finding {
    let by_table = by_table(case, bolt, torque);
    match (prediction::clamps_carbon(case, bolt), stored(bolt)) {
        (Some(true), Some(row)) => on_carbon(case, bolt, torque, row, by_table),
        (Some(false), _) => by_table.with_arithmetic("clamps metal, as far as stated"),
        _ => by_table,
    }
}

/// A torque on a part of carbon: less than on metal, by so much as is known from memory alone;
/// more than every read range allows on metal is too much here all the same.
fn on_carbon(case: &Case<'_>, bolt: &str, torque: Known, row: &Fastener, by_table: Finding) -> Finding {
    let most = row
        .ranges
        .iter()
        .fold(0.0_f64, |most, range| most.max(range.max_nm));
    if by_table.verdict == Verdict::Fail && torque.value > most {
        return by_table;
    }
    let name = code::torque_code(bolt).map_or(bolt, |row| row.field.name);
    let mark = format!(
        "read the carbon part's own mark, which rules: lockring measure {} torque-marks \"{bolt} max NM\"",
        case.job().number
    );
    let [off_most, off_least] = fastener::CARBON_LESS_NM;
    let Some(range) = row.ranges[0].on_carbon() else {
        return Finding::new(
            Verdict::Caution,
            format!("{name} on carbon: no stored range is left, only the part's own mark can tell"),
        )
        .with_remedy(mark);
    };
    let what = format!("{name}, on carbon,");
    let finding = Judged::new(&what, Known { u: 0.0, ..torque }, Kind::Torque, "N m")
        .against(range.limit())
        .with_arithmetic(format!(
            "on carbon {off_most:.0} N m off the most and {off_least:.0} off the least of {} to {} N m ({}), with assembly \
             paste: from memory",
            row.ranges[0].min_nm, row.ranges[0].max_nm, row.ranges[0].source
        ))
        .with_remedy(mark)
        .with_remedy(format!(
            "tighten inside the lowered range with assembly paste and record it: lockring torque {} {bolt} NM",
            case.job().number
        ));
    prediction::advise_only(finding, "how much less carbon takes is from memory")
}

fn by_table(case: &Case<'_>, bolt: &str, torque: Known) -> Finding {
    let range = range(case, bolt, torque.value);
    let name = code::torque_code(bolt).map_or(bolt, |row| row.field.name);
    // The ranges are settings of the wrench, which its tolerance belongs to: no guard band.
    let setting = Known {
        value: printed(torque.value, range.least, range.most),
        u: 0.0,
        ..torque
    };
    let what = format!("{name}{}", range.material);
    let job = case.job().number;
    let mut finding = Judged::new(&what, setting, Kind::Torque, "N m")
        .against(Limit::Within(range.least, range.most))
        .with_arithmetic(format!("range: {}", range.source))
        .with_remedy(format!(
            "tighten to the card's or the part's figure and record it: lockring torque {job} {bolt} NM"
        ))
        .with_remedy(format!(
            "or record the part's own mark, which rules: lockring measure {job} torque-marks \"{bolt} LEAST-MOST\""
        ));
    if bolt == "stem" {
        finding = finding.with_remedy(format!(
            "or, of a stem without a faceplate: lockring donor {job} stem-kind=quill, then lockring torque {job} stem-quill NM"
        ));
    }
    for other in range.others {
        finding = finding.with_arithmetic(format!(
            "another source: {} to {} N m, {}",
            other.min_nm, other.max_nm, other.source
        ));
    }
    // Between two sources that differ it is not known who is right, so that the whole span is a
    // matter of advice.
    let lowest = range
        .others
        .iter()
        .fold(range.least, |low, other| low.min(other.min_nm));
    let highest = range
        .others
        .iter()
        .fold(range.most, |high, other| high.max(other.max_nm));
    if !range.others.is_empty() && (lowest..=highest).contains(&torque.value) {
        return prediction::advise_only(finding, "sources disagree, the part's mark decides");
    }
    if range.weak {
        prediction::advise_only(finding, "the range is from memory, the kit's card decides")
    } else {
        finding
    }
}

/// Row of the fasteners' table for a bolt; `None` for the kits' own bolts, which stand in the
/// rule sheet.
fn stored(bolt: &str) -> Option<&'static Fastener> {
    let id = match bolt {
        "lockring" => "motor-lock-ring",
        "crank" => "crank-bolt-m8",
        "chainring" => "chainring-bolt-aluminium",
        "cassette" => "cassette-lockring",
        "pedal" => "pedal",
        "stem" => "stem-faceplate",
        "stem-quill" => "stem-quill-binder",
        "rotor-front" | "rotor-rear" => "rotor-six-bolt",
        "calliper-front" | "calliper-rear" => "disc-caliper-mount",
        "stem-steerer" => "stem-steerer",
        "seatpost" => "seatpost-clamp-one-bolt",
        "saddle" => "saddle-rail-clamp",
        "bottom-bracket" => "bottom-bracket-cup",
        "derailleur" => "rear-derailleur-mount",
        "cable-anchor" => "derailleur-cable-anchor",
        "rotor-lockring" => "rotor-lock-ring",
        "rim-brake-pad" => "rim-brake-pad",
        "rim-brake-arm" => "rim-brake-arm",
        "brake-cable" => "brake-cable-anchor",
        "coaster-arm" => "coaster-arm-clamp",
        "axle-plain" => "axle-nut-plain-rear",
        "disc-cover" => "hub-motor-cover-m5",
        "battery-rail" => "battery-rail-m5-rivet-nut",
        _ => return None,
    };
    Some(fastener::fastener(id).expect("the table has the rows named here"))
}

/// A torque against the mark on the part, which stands before every table.
fn marked(case: &Case<'_>, bolt: &str, torque: Known, mark: Mark) -> Result<Finding, Halt> {
    let range = mark
        .range()
        .map_err(|error| prediction::unusable(case, "mark on the part", &error))?;
    let (said, most_only) = match mark {
        Mark::Between(..) => ("the part's own mark", false),
        Mark::Single(_) => ("the part's own mark, a tenth either way (judgement)", false),
        Mark::UpTo(_) => (
            "the part marks the most; the least is four fifths of it (judgement)",
            true,
        ),
    };
    let name = code::torque_code(bolt).map_or(bolt, |row| row.field.name);
    let mut finding = Judged::new(name, Known { u: 0.0, ..torque }, Kind::Torque, "N m")
        .against(range.limit())
        .with_arithmetic(format!("range: {said}"))
        .with_remedy(format!(
            "tighten to the mark and record it: lockring torque {} {bolt} NM",
            case.job().number
        ));
    let (least, most) = (range.min.as_newton_metres(), range.max.as_newton_metres());
    if most_only && torque.value < least {
        // A mark that names only the most says nothing of the least.
        finding = prediction::advise_only(finding, "the least is judgement");
    }
    if matches!(mark, Mark::Single(_)) && !outside_tables_too(case, bolt, torque.value, (least, most)) {
        finding = prediction::advise_only(finding, "how far off one figure a torque may be is judgement");
    }
    Ok(finding)
}

/// Whether a torque beyond a mark's band is beyond every stored range on the same side, one of
/// which was read.
fn outside_tables_too(case: &Case<'_>, bolt: &str, torque: f64, (least, most): (f64, f64)) -> bool {
    let held = range(case, bolt, torque);
    let lowest = held
        .others
        .iter()
        .fold(held.least, |low, other| low.min(other.min_nm));
    let highest = held
        .others
        .iter()
        .fold(held.most, |high, other| high.max(other.max_nm));
    !held.weak && ((torque < least && torque < lowest) || (torque > most && torque > highest))
}

/// A torque as far off an end of a stored range as its print is rounded stands at that end:
/// 300 lbf in are 33.895 N m and printed as 33.9.
fn printed(torque: f64, least: f64, most: f64) -> f64 {
    let nearest = torque.clamp(least, most);
    if (torque - nearest).abs() <= fastener::PRINTED_NM {
        nearest
    } else {
        torque
    }
}

/// The range a bolt is held to.
struct Held<'a> {
    least: f64,
    most: f64,
    source: &'a str,
    /// Memory or judgement alone.
    weak: bool,
    /// What other sources say.
    others: &'static [Published],
    /// Which bolt it is taken for.
    material: &'static str,
}

/// The range of a bolt, and which bolt it is taken for: steel chainring bolts take more than
/// aluminium ones and go by the same name.
fn range<'a>(case: &Case<'a>, bolt: &str, torque: f64) -> Held<'a> {
    let of = |row: &'static Fastener, material| {
        let work = &row.ranges[0];
        Held {
            least: work.min_nm,
            most: work.max_nm,
            source: work.source,
            weak: !work.basis.may_stop(),
            others: &row.ranges[1..],
            material,
        }
    };
    if bolt == "chainring" {
        let steel = fastener::fastener("chainring-bolt-steel").expect("the table has this row");
        let held = of(steel, " (of steel)");
        if (held.least..=held.most).contains(&torque) {
            return held;
        }
    }
    if let Some(row) = stored(bolt) {
        return of(row, "");
    }
    let least = format!("torque.{bolt}.min");
    let rule = case.rules().get(&least).ok();
    Held {
        least: case.rule(&least),
        most: case.rule(&format!("torque.{bolt}.max")),
        source: rule.map_or("", |rule| &rule.source),
        weak: rule.is_some_and(|rule| matches!(rule.basis, Basis::Memory | Basis::Judgement)),
        others: &[],
        material: "",
    }
}

#[cfg(test)]
mod tests;
