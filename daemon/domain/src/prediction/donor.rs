//! What several checks ask of the bicycle itself: what holds a hub motor, and its brakes.

use lockring_calc::dropout::{self, ArmQuestion, ArmsAsked, CLOSE_PLAY_MM, FrameMaterial, SlotFit, Wheel};
use lockring_calc::quantity::{Length, Power, Torque};

use super::unusable;
use crate::case::{Case, Known};
use crate::cautions;
use crate::code;
use crate::finding::{Halt, Missing};
use crate::part::Slot;
use crate::unit::{self, Kind};

/// Wheel that the motor sits in; `None` for a motor at the crank.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen.
pub fn driven_hub(case: &Case<'_>) -> Result<Option<Wheel>, Halt> {
    Ok(match case.part(Slot::Motor)?.word("place")? {
        "front-hub" => Some(Wheel::Front),
        "rear-hub" => Some(Wheel::Rear),
        _ => None,
    })
}

/// What the fork, or the frame with its rear dropouts, is made of.
///
/// # Errors
/// [`Halt::Open`] when it is not stated.
pub fn material(case: &Case<'_>, wheel: Wheel) -> Result<FrameMaterial, Halt> {
    let word = case.word(if wheel == Wheel::Front {
        "fork-kind"
    } else {
        "frame-material"
    })?;
    Ok(match word {
        "steel" | "steel-rigid" => FrameMaterial::Steel,
        "aluminium" | "aluminium-rigid" => FrameMaterial::Aluminium,
        "titanium" => FrameMaterial::Titanium,
        "carbon" => FrameMaterial::Carbon,
        // The legs of a suspension fork are cast of aluminium or magnesium.
        _ => FrameMaterial::Other,
    })
}

/// Whether a bolt clamps a part of carbon; unknown parts are taken as metal. `None` for a bolt
/// that clamps none: cups, callipers and hangers sit in metal inserts.
pub fn clamps_carbon(case: &Case<'_>, bolt: &str) -> Option<bool> {
    let said = |key: &str| case.flag(key).ok();
    let of_carbon = |key: &str| case.optional_word(key) == Some("carbon");
    Some(match bolt {
        "stem" | "stem-quill" => said("carbon-bar").unwrap_or(false),
        // A fork of carbon may have a steerer of metal.
        "stem-steerer" => said("carbon-steerer").unwrap_or_else(|| of_carbon("fork-kind")),
        "seatpost" => said("carbon-post").unwrap_or(false) || of_carbon("frame-material"),
        "saddle" => said("carbon-rails").unwrap_or(false),
        _ => return None,
    })
}

/// Torque arms that a hub motor asks for.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen or the material is not stated.
pub fn arms_asked(case: &Case<'_>, wheel: Wheel) -> Result<ArmsAsked, Halt> {
    let motor = case.part(Slot::Motor)?;
    Ok(dropout::arms_asked(&ArmQuestion {
        wheel,
        material: material(case, wheel)?,
        suspension_fork: wheel == Wheel::Front && case.word("fork-kind")? == "suspension",
        peak_torque: Torque::newton_metres(motor.number("peak-torque")?),
        rated_power: Power::watts(motor.number("rated-power")?),
        regeneration: motor.flag("reverse-torque"),
    }))
}

/// Torque arms of the build.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ArmsInBuild {
    /// Sides of the axle that they hold; 0 where there are none, or they do not fit the axle.
    pub sides: u32,
    /// Why they hold nothing, where there are some.
    pub misfit: Option<String>,
    /// What is done or looked at before they hold, where they do hold then.
    pub remark: Option<String>,
}

/// Doubt of the play between two widths that are stated to a tenth, mm: half a tenth of each.
const TWO_TENTHS_MM: f64 = 0.1;

/// How an opening sits on flats.
enum Grip {
    /// Closely.
    Holds,
    /// Once something was done or looked at.
    After(String),
    /// Never.
    Not(&'static str),
}

fn grip(fit: SlotFit) -> Grip {
    match fit {
        SlotFit::Close { .. } => Grip::Holds,
        SlotFit::Loose { play } if play.as_millimetres() <= CLOSE_PLAY_MM + TWO_TENTHS_MM + 1e-9 => Grip::After(
            "no closer than common practice's play with the doubt of both widths: try it for rock on the axle".to_owned(),
        ),
        SlotFit::Loose { .. } => Grip::Not("the axle turns in it"),
        SlotFit::File { remove } => Grip::After(format!(
            "file {:.2} mm off the arm to a template, no further",
            remove.as_millimetres()
        )),
        SlotFit::BeyondFiling { .. } => Grip::Not("it does not go on"),
    }
}

/// Sides of the axle that torque arms of the build hold. Where both widths are known, an arm holds flats that sit closely in
/// it, as they must in a dropout's slot, or do so after filing as a slot may be filed; one made for flats holds no through axle.
///
/// # Errors
/// [`Halt::Open`] when the data of arm or motor are incomplete, or outside the ranges of a slot.
pub fn arms_in_build(case: &Case<'_>) -> Result<ArmsInBuild, Halt> {
    let Some(arm) = case.optional_part(Slot::TorqueArm) else {
        return Ok(ArmsInBuild {
            sides: 0,
            misfit: None,
            remark: None,
        });
    };
    let motor = case.part(Slot::Motor)?;
    let mut remark = None;
    let misfit = match (arm.optional_number("flats"), motor.word("axle-kind")?) {
        (None, _) => None,
        (Some(_), "thru-axle") => Some("the arm is made for flats, and a through axle has none".to_owned()),
        (Some(taken), _) => match motor.optional_number("axle-flats") {
            None => None,
            Some(flats) => {
                let fit = dropout::fit_slot(Length::metres(taken), Length::metres(flats))
                    .map_err(|error| unusable(case, "torque arm and axle", &error))?;
                let say = |why: &str| {
                    format!(
                        "the arm takes flats of {}, the axle has {}: {why}",
                        unit::show(Kind::Length, "mm", taken),
                        unit::show(Kind::Length, "mm", flats)
                    )
                };
                match grip(fit) {
                    Grip::Holds => None,
                    Grip::After(what) => {
                        remark = Some(say(&what));
                        None
                    }
                    Grip::Not(why) => Some(say(why)),
                }
            }
        },
    };
    let sides = if misfit.is_some() { 0 } else { arm.count("sides")? };
    Ok(ArmsInBuild {
        sides,
        misfit,
        remark,
    })
}

/// The brake of one wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Brake {
    /// Kind, as the codes name it; `none` where there is none.
    pub kind: &'static str,
    /// It is part of the build rather than of the bicycle as it came in.
    pub new: bool,
}

impl Brake {
    /// Whether it grips a rotor.
    pub fn is_disc(self) -> bool {
        self.kind.ends_with("-disc")
    }

    /// Whether it grips the rim.
    pub fn is_rim(self) -> bool {
        self.kind.starts_with("rim-")
    }

    /// Whether it is part of the hub.
    pub fn is_in_hub(self) -> bool {
        matches!(self.kind, "drum" | "coaster")
    }
}

/// Kinds of brake, as codes and parts name them.
const KINDS: [&str; 8] = [
    "none",
    "hydraulic-disc",
    "mechanical-disc",
    "rim-linear",
    "rim-caliper",
    "rim-cantilever",
    "drum",
    "coaster",
];

/// The brake a wheel will have: of the build's set, or of the bicycle as it came in.
///
/// # Errors
/// [`Halt::Open`] when neither is known.
pub fn brake(case: &Case<'_>, wheel: Wheel) -> Result<Brake, Halt> {
    let set = match case.optional_part(Slot::BrakeSet) {
        Some(set) => Some(set.word("type")?),
        None => None,
    };
    // A coaster brake is in the rear hub; the front wheel keeps what it has.
    let fitted = set.filter(|kind| *kind != "coaster" || wheel == Wheel::Rear);
    let word = match fitted {
        Some(kind) => kind,
        None => case.word(if wheel == Wheel::Front {
            "brake-front"
        } else {
            "brake-rear"
        })?,
    };
    let kind = KINDS
        .into_iter()
        .find(|kind| *kind == word)
        .expect("codes and attributes take only these words");
    Ok(Brake {
        kind,
        new: fitted.is_some(),
    })
}

/// Whether a toothed belt turns the rear wheel: the bicycle came with one, and no chain of the build takes its place.
pub fn is_belt(case: &Case<'_>) -> bool {
    case.optional_word("drive-kind") == Some("belt") && case.optional_part(Slot::Chain).is_none()
}

/// What kind of brake the bicycle came with at a wheel; `None` where nobody said.
pub fn brake_that_came<'a>(case: &Case<'a>, wheel: Wheel) -> Option<&'a str> {
    case.optional_word(if wheel == Wheel::Front {
        "brake-front"
    } else {
        "brake-rear"
    })
}

/// Whether a disc brake of the build goes where the bicycle came with another kind or with none: it then has no mount, hub
/// or rotor for one unless somebody looked.
pub fn is_first_disc(case: &Case<'_>, wheel: Wheel) -> Result<bool, Halt> {
    let brake = brake(case, wheel)?;
    Ok(brake.new
        && brake.is_disc()
        && brake_that_came(case, wheel).is_some_and(|kind| !kind.ends_with("-disc")))
}

/// Whether the bicycle came without a disc brake at a wheel and nobody found a mount for one there.
pub fn came_without_disc_mounts(case: &Case<'_>) -> bool {
    [(Wheel::Front, "mount-front"), (Wheel::Rear, "mount-rear")]
        .into_iter()
        .any(|(wheel, mount)| {
            brake_that_came(case, wheel).is_some_and(|kind| !kind.ends_with("-disc"))
                && case.optional_word(mount).is_none_or(|mount| mount == "none")
        })
}

/// Diameter of the rotor that a disc brake of a wheel grips, m: of the build, or of the bicycle as it came in; `None` where
/// it came without a disc brake and the build has no rotor.
///
/// # Errors
/// [`Halt::Open`] when nobody stated the rotor it came with.
pub fn rotor(case: &Case<'_>, wheel: Wheel) -> Result<Option<f64>, Halt> {
    let (slot, word) = if wheel == Wheel::Front {
        (Slot::RotorFront, "front")
    } else {
        (Slot::RotorRear, "rear")
    };
    if let Some(rotor) = case.optional_part(slot) {
        return rotor.number("diameter").map(Some);
    }
    if is_first_disc(case, wheel)? {
        return Ok(None);
    }
    let missing = Missing {
        what: format!("{word} rotor diameter"),
        how: format!("lockring donor {} {}=160mm", case.job().number, slot.word()),
    };
    let stated = case.optional_number(slot.word());
    stated
        .map(|known| Some(known.value))
        .ok_or(Halt::Open(vec![missing]))
}

/// What a command that tries something again ends in: tries add up, so that after a failed one
/// they begin anew with the cure.
pub const fn anew(good: u32, tried: u32) -> &'static str {
    if good < tried { " --anew" } else { "" }
}

/// The command that reads a code again after a cure. What the cure did away with stands beside the new reading, as its
/// worst or in a mean with it, until a reading begins anew; what is stated is stated again.
///
/// # Panics
/// For a code that is not in the table.
pub fn read_again(case: &Case<'_>, key: &str, value: &str) -> String {
    let row = code::find(key).expect("checks name only codes of the table");
    let words = row.words_before_value(case.job().number).join(" ");
    let gap = if words.ends_with('=') { "" } else { " " };
    let reads = !row.instrument.is_empty() && row.gathers();
    format!(
        "lockring {words}{gap}{value}{}",
        if reads { " --anew" } else { "" }
    )
}

/// The command that records a code, its value left to whoever looks.
///
/// # Panics
/// For a code that is not in the table.
pub fn to_record(case: &Case<'_>, key: &str) -> String {
    let row = code::find(key).expect("checks name only codes of the table");
    row.how_to_record(case.job().number)
}

/// Text of a stored caution, to be shown with a check of its subject.
pub fn caution(id: &str) -> String {
    cautions::find(id)
        .map(|caution| format!("caution: {}", caution.text))
        .expect("checks name only stored cautions")
}

/// The sum behind a gross mass, with the numbers put in.
///
/// # Errors
/// [`Halt::Open`] when a mass is missing.
pub fn mass_sum(case: &Case<'_>, gross: Known) -> Result<String, Halt> {
    let (rider, load) = (case.number("rider-mass")?.value, case.number("load-mass")?.value);
    let bicycle = gross.value - rider - load;
    Ok(format!(
        "{bicycle:.1} kg bicycle with kit + {rider:.1} kg rider + {load:.1} kg load = {:.1} kg",
        gross.value
    ))
}
