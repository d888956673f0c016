//! The vocabulary: codes, runs, checks, ride classes and kinds of part.

use lockring_domain::block::{Family, Whose};
use lockring_domain::check::{Check, Concede};
use lockring_domain::code::{self, Code, Run};
use lockring_domain::field::Shape;
use lockring_domain::part::{Attribute, Need, PartKind, Slot};
use lockring_domain::ride_class::{self, MotorOnly, RideClass, SpeedLimit, Throttle};
use lockring_domain::stage::Stage;
use lockring_domain::{checks, unit};
use lockring_proto::v1;

/// All tables.
pub(in crate::service) fn words() -> v1::WordsReply {
    v1::WordsReply {
        codes: code::all().map(code_row).collect(),
        runs: code::runs().iter().map(run_row).collect(),
        checks: checks::ALL.iter().map(|check| check_row(check)).collect(),
        classes: ride_class::all().iter().map(class_row).collect(),
        kinds: PartKind::ALL.into_iter().map(kind_row).collect(),
        families: owned(Family::ALL.map(Family::word)),
        gates: owned(Stage::GATED.map(Stage::word)),
        movers: owned(Whose::ALL.map(Whose::word)),
    }
}

fn code_row(row: &Code) -> v1::CodeRow {
    v1::CodeRow {
        code: row.key().to_owned(),
        alias: row.alias.to_owned(),
        name: row.field.name.to_owned(),
        group: row.group.word().to_owned(),
        expects: row.field.expected(),
        example: row.example(),
        instrument: row.instrument.to_owned(),
        choices: match row.field.shape {
            Shape::Word(words) => words.iter().map(|word| (*word).to_owned()).collect(),
            Shape::Flag => owned(["yes", "no"]),
            _ => Vec::new(),
        },
    }
}

fn owned<const N: usize>(words: [&str; N]) -> Vec<String> {
    words.map(str::to_owned).to_vec()
}

fn run_row(run: &Run) -> v1::RunRow {
    v1::RunRow {
        run: run.word.to_owned(),
        what: run.what.to_owned(),
        fields: run.fields.iter().map(|(word, _)| (*word).to_owned()).collect(),
    }
}

fn check_row(check: &Check) -> v1::CheckRow {
    v1::CheckRow {
        check: check.id.to_owned(),
        title: check.title.to_owned(),
        gates: check.gates.iter().map(|gate| gate.word().to_owned()).collect(),
        family: check.family.word().to_owned(),
        concedable: check.concede == Concede::Owner,
        source: check.source.to_owned(),
    }
}

fn class_row(class: &RideClass) -> v1::ClassRow {
    v1::ClassRow {
        class: class.id.clone(),
        region: class.region.clone(),
        name: class.name.clone(),
        limits: class_limits(class),
        from_memory: class.limits_from_memory,
    }
}

/// The stored limits of a class in one line.
pub(super) fn class_limits(class: &RideClass) -> String {
    let speed = |limit: SpeedLimit| format!("{} {}", limit.comparator.words(), limit.show());
    let assist = match class.max_assist_speed {
        Some(limit) => format!("assistance {}", speed(limit)),
        None => "no assist speed named".to_owned(),
    };
    let power = match class.max_power {
        Some(limit) => format!("{} {}", class.power_basis.words(), limit.show()),
        None => "no power named".to_owned(),
    };
    let alone = match class.motor_only {
        MotorOnly::Never => "no motor alone".to_owned(),
        MotorOnly::UpTo(limit) => format!("motor alone {}", speed(limit)),
        MotorOnly::Unlimited => "motor alone at any speed".to_owned(),
    };
    let throttle = match class.throttle {
        Throttle::None => "no throttle",
        Throttle::Walk => "throttle for starting and walking",
        Throttle::Full => "throttle",
    };
    let mut parts = vec![assist, power, alone, throttle.to_owned()];
    // What is from memory alone is marked where it stands; the row is where a limit is.
    let remembered = if class.from_memory && !class.limits_from_memory {
        " (from memory: look it up)"
    } else {
        ""
    };
    parts.extend(
        class
            .min_age
            .map(|age| format!("rider at least {age} years{remembered}")),
    );
    parts.extend(class.max_mass.map(|mass| format!("bicycle {}", mass.show())));
    let mm = |mm: f64| unit::with_unit(mm, "mm");
    parts.extend(
        class
            .max_width_mm
            .map(|most| format!("at most {} wide", mm(most))),
    );
    parts.extend(class.wheels.map(|least| {
        let (width, diameter) = (mm(least.width_mm), mm(least.diameter_mm));
        format!("wheels at least {width} wide and {diameter} in diameter")
    }));
    parts.extend(class.assist_ratio.map(|ratio| {
        let (most, from, to) = (ratio.most, ratio.from_kmh, ratio.to_kmh);
        format!("help at most {most} times the rider's power to {from} km/h, falling to nothing at {to} km/h")
    }));
    parts.extend(class.stop.map(|stop| {
        let (from, within) = (
            unit::with_unit(stop.from_kmh, "km/h"),
            unit::with_unit(stop.within_m, "m"),
        );
        format!("stop from {from} within {within}")
    }));
    parts.extend(
        class
            .max_nominal_volts
            .map(|volts| format!("at most {} nominal", unit::with_unit(volts, "V"))),
    );
    parts.extend(
        class
            .built_until
            .map(|day| format!("for bicycles built up to {day}")),
    );
    parts.extend(
        class
            .approval_required
            .then(|| "needs an authority's approval".to_owned()),
    );
    parts.join("; ")
}

fn kind_row(kind: PartKind) -> v1::KindRow {
    let slots = Slot::ALL.into_iter().filter(|slot| slot.kind() == kind);
    v1::KindRow {
        kind: kind.word().to_owned(),
        slots: slots.map(|slot| slot.word().to_owned()).collect(),
        attributes: kind.attributes().map(attribute_row).collect(),
    }
}

fn attribute_row(attribute: &Attribute) -> v1::AttributeRow {
    let expects = match attribute.need {
        Need::When(key, words) => {
            format!(
                "{}; required when {key} is {}",
                attribute.field.expected(),
                words.join(" or ")
            )
        }
        Need::Always | Need::Optional => attribute.field.expected(),
    };
    v1::AttributeRow {
        key: attribute.field.key.to_owned(),
        name: attribute.field.name.to_owned(),
        expects,
        required: attribute.need == Need::Always,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_is_there_and_every_slot_belongs_to_one_kind() {
        let words = words();
        assert!(
            words
                .codes
                .iter()
                .any(|row| row.code == "chainline-front" && row.alias == "clf")
        );
        assert!(
            words
                .runs
                .iter()
                .any(|row| row.run == "stop" && row.fields == ["distance", "speed"])
        );
        assert_eq!(words.checks.len(), checks::ALL.len());
        let slots: Vec<&String> = words.kinds.iter().flat_map(|row| &row.slots).collect();
        assert_eq!(slots.len(), Slot::ALL.len());
    }

    /// Regulation (EU) 168/2013, article 2(2)(h): at most 250 W continuous rated power, output
    /// cut off before 25 km/h (cited in the table of ride classes).
    #[test]
    fn a_class_says_its_limits_in_one_line() {
        let row = words()
            .classes
            .into_iter()
            .find(|row| row.class == "eu-epac")
            .unwrap();
        assert!(row.limits.contains("assistance below 25 km/h"), "{}", row.limits);
        assert!(
            row.limits.contains("continuous rated power at most 250 W"),
            "{}",
            row.limits
        );
    }

    /// Where only the age is from memory, only the age says so.
    #[test]
    fn what_is_from_memory_is_marked_where_it_stands() {
        let all = words().classes;
        let row = |id: &str| all.iter().find(|row| row.class == id).unwrap();
        for id in ["eu-l1e-a", "cn-ebike"] {
            let limits = &row(id).limits;
            assert!(
                limits.contains("rider at least 16 years (from memory: look it up);"),
                "{limits}"
            );
            assert!(!row(id).from_memory, "{id}");
        }
        assert!(row("no-elsykkel").from_memory && !row("no-elsykkel").limits.contains("memory"));
        assert!(
            row("ca-on").limits.contains("wheels at least 35 mm wide"),
            "{}",
            row("ca-on").limits
        );
        assert!(
            row("ca-on").limits.contains("stop from 30 km/h within 9 m"),
            "{}",
            row("ca-on").limits
        );
    }
}
