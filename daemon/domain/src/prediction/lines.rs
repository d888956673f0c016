//! Where the ring runs beside the frame's centre plane: as measured, in one reading or by the
//! calliper from the tube beside it; or as predicted before there is anything to measure.

use lockring_calc::chainline::{self, GapTo};
use lockring_calc::quantity::Length;

use super::{need, unusable};
use crate::case::{Case, Known};
use crate::finding::{Halt, Missing};
use crate::part::Slot;

/// What a calliper gives of the front line: the tube beside the ring, the gap between them, and
/// the ring's teeth.
const READINGS: [&str; 3] = ["line-tube", "line-gap", "line-ring"];

/// The front line.
#[derive(Debug, Clone, PartialEq)]
pub struct FrontLine {
    /// Middle of the ring's teeth, m from the centre plane.
    pub line: Known,
    /// How it is known, in words, with its arithmetic when it is computed.
    pub how: String,
}

/// The front line as measured, or from the calliper's readings; `None` while neither was taken.
///
/// # Errors
/// [`Halt::Open`] naming those of the three readings that are missing.
pub fn read_front_line(case: &Case<'_>) -> Result<Option<FrontLine>, Halt> {
    if let Some(line) = case.optional_number("chainline-front") {
        return Ok(Some(FrontLine {
            line,
            how: "measured".into(),
        }));
    }
    if !READINGS.iter().any(|key| case.knows(key)) {
        return Ok(None);
    }
    need(case, &READINGS)?;
    let [tube, gap, ring] = [
        case.number(READINGS[0])?,
        case.number(READINGS[1])?,
        case.number(READINGS[2])?,
    ];
    let length = |known: Known| Length::from_si(known.value);
    let line = chainline::front_line(length(tube), length(gap), GapTo::NearFace, length(ring))
        .map_err(|error| unusable(case, "calliper readings at the ring", &error))?;
    Ok(Some(FrontLine {
        line: Known {
            value: line.si(),
            // From D/2 + g + t/2 by each reading (JCGM 100:2008, 5.1.2).
            u: gap.u.hypot(tube.u / 2.0).hypot(ring.u / 2.0),
            ..gap
        },
        how: format!(
            "by calliper: {:.1}/2 + {:.1} + {:.1}/2 = {:.1} mm",
            1e3 * tube.value,
            1e3 * gap.value,
            1e3 * ring.value,
            line.as_millimetres()
        ),
    }))
}

/// The front line before there is anything to measure: the plane of the motor's ring and the spacers
/// push it out, the ring's dish takes it in; `None` where the catalogue does not give that plane. It is no better known than
/// the sheets of motor and ring say it.
///
/// # Errors
/// [`Halt::Open`] when motor, ring or its dish are missing.
pub fn predicted_front_line(case: &Case<'_>) -> Result<Option<FrontLine>, Halt> {
    let Some(plane) = case.part(Slot::Motor)?.optional_number("ring-plane") else {
        return Ok(None);
    };
    let shell = Shoulder::of(case)?;
    let dish = case.part(Slot::Chainring)?.number("dish")?;
    let (spacer, spacer_u) = case
        .optional_number("spacer")
        .map_or((0.0, 0.0), |known| (known.value, known.u));
    let value = chainline::dished(Length::from_si(plane + shell.out + spacer), Length::from_si(dish)).si();
    // Each sheet's figure lies anywhere in its step (JCGM 100:2008, 4.3.7: half of it over the root of three).
    let sheet = case.rule("chainline.sheet-step") / 2.0 / 3f64.sqrt();
    Ok(Some(FrontLine {
        line: Known {
            u: sheet.hypot(sheet).hypot(spacer_u).hypot(shell.u),
            ..Known::stated(value)
        },
        how: format!(
            "predicted: {:.1} mm ring plane{} + {:.1} mm spacers - {:.1} mm dish",
            1e3 * plane,
            shell.said,
            1e3 * spacer,
            1e3 * dish
        ),
    }))
}

/// The motor's shoulder lies against the right-hand face of the shell: half of what this shell is wider than the one that the
/// ring plane is told for pushes the ring out.
struct Shoulder {
    /// Outward, and its standard uncertainty, m.
    out: f64,
    u: f64,
    said: String,
}

impl Shoulder {
    fn of(case: &Case<'_>) -> Result<Self, Halt> {
        let motor = case.part(Slot::Motor)?;
        let (told, shell) = (
            motor.optional_number("ring-plane-shell"),
            case.optional_number("shell-width"),
        );
        if let (Some(told), Some(shell)) = (told, shell) {
            let out = (shell.value - told) / 2.0;
            let said = if out == 0.0 {
                String::new()
            } else {
                let sign = if out < 0.0 { '-' } else { '+' };
                format!(
                    " {sign} {:.1} mm for a shell of {:.1} mm, not {:.1} mm,",
                    1e3 * out.abs(),
                    1e3 * shell.value,
                    1e3 * told
                )
            };
            let u = shell.u / 2.0;
            return Ok(Self { out, u, said });
        }
        let band = [
            motor.optional_number("shell-least"),
            motor.optional_number("shell-most"),
        ];
        let [Some(least), Some(most)] = band else {
            return Ok(Self {
                out: 0.0,
                u: 0.0,
                said: String::new(),
            });
        };
        // One of the two shells is any of the kit's band: as far as that lies from the other, either way alike; where neither is
        // known, from another of the band.
        let known = told.or(shell.map(|shell| shell.value));
        let off = known.map_or(most - least, |known| {
            (known - least).abs().max((most - known).abs())
        });
        let why = told.map_or_else(
            || "told for which shell is not known: ring-plane-shell".to_owned(),
            |told| {
                format!(
                    "told for a shell of {:.1} mm, and this one's is not known: lockring donor {} shell-width=MM",
                    1e3 * told,
                    case.job().number
                )
            },
        );
        Ok(Self {
            out: 0.0,
            u: off / 2.0 / 3f64.sqrt(),
            said: format!(" ({why}; up to {:.1} mm either way)", 1e3 * off / 2.0),
        })
    }
}

/// Asks for the front line, by either way of reading it.
pub fn open_front_line(case: &Case<'_>) -> Halt {
    Halt::Open(missing_front_line(case))
}

/// What is missing where the front line was not read.
pub fn missing_front_line(case: &Case<'_>) -> Vec<Missing> {
    let Halt::Open(missing) = case.open("chainline-front") else {
        unreachable!("a code that is asked for is open")
    };
    let either = |one: Missing| Missing {
        what: format!("{}, or {} by calliper", one.what, READINGS.join(", ")),
        ..one
    };
    missing.into_iter().map(either).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail};
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    fn line(bench: &Bench) -> Result<Option<FrontLine>, Halt> {
        let rules = RuleSheet::shipped();
        read_front_line(&Case::new(&bench.job, &rules, Stage::Fitting))
    }

    #[test]
    fn the_calliper_gives_the_line_of_the_worked_example() {
        // Worked example of the trade (forum, read; common practice, no source): tube 30 mm, 27.5
        // mm from its face to the tooth's centre, front line 42.5 mm; with a ring of 3 mm its near
        // face is 26 mm away. Doubt by hand: hypot(0.1, 0.05/2, 0.03/2) = 0.1042 mm.
        let read = longtail().measure(&[("line-tube", "30"), ("line-gap", "26.0"), ("line-ring", "3.0")]);
        let found = line(&read).unwrap().unwrap();
        assert!((found.line.value - 0.0425).abs() < 1e-12, "{found:?}");
        assert!((1e3 * found.line.u - 0.1042).abs() < 5e-5, "{found:?}");
        assert_eq!(found.how, "by calliper: 30.0/2 + 26.0 + 3.0/2 = 42.5 mm");
        // The same in inches.
        let inches = longtail().measure(&[
            ("line-tube", "1.1811023622in"),
            ("line-gap", "1.0236220472in"),
            ("line-ring", "0.1181102362in"),
        ]);
        let in_inches = line(&inches).unwrap().unwrap().line.value;
        assert!((in_inches - found.line.value).abs() < 1e-10);
    }

    #[test]
    fn one_reading_of_the_line_goes_before_the_calliper() {
        let both = longtail().measure(&[
            ("line-tube", "30"),
            ("line-gap", "26"),
            ("line-ring", "3"),
            ("chainline-front", "49.0"),
        ]);
        let found = line(&both).unwrap().unwrap();
        assert_eq!((found.line.value, found.how.as_str()), (0.049, "measured"));
        assert_eq!(line(&longtail()).unwrap(), None);
    }

    #[test]
    fn half_a_set_of_readings_asks_for_the_rest_and_a_spacer_makes_the_gap_stale() {
        let half = longtail().measure(&[("line-tube", "30")]);
        let Err(Halt::Open(missing)) = line(&half) else {
            panic!("the gap and the ring are missing")
        };
        assert_eq!(missing.len(), 2, "{missing:?}");
        assert!(
            missing[0].how.starts_with("lockring measure 21 line-gap"),
            "{missing:?}"
        );
        let spaced = half
            .measure(&[("line-gap", "26"), ("line-ring", "3")])
            .measure(&[("spacer", "2.5")]);
        let Err(Halt::Open(missing)) = line(&spaced) else {
            panic!("the gap was read before the spacer")
        };
        assert_eq!(missing.len(), 1, "{missing:?}");
    }
}
