//! `hill.climb_speed`: predicted speed up the worst hill, its cadence and its heat.

use lockring_calc::doubt::{COVERAGE, Limit};
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, Climb, DriveSystem, Limit as Held, Place, Rider};
use lockring_calc::quantity::{AngularSpeed, Density, Mass, Speed};
use lockring_calc::road::RoadLoad;

use crate::assist::Help;
use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::{Provenance, Value};
use crate::forecast;
use crate::job::Trial;
use crate::judge::{Judged, figure};
use crate::part::Slot;
use crate::prediction::{self, HillGrade};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Best speed at full assist, at every grade the hill is computed at.
pub static CHECK: Check = Check {
    id: "hill.climb_speed",
    title: "predicted speed up the worst hill",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Ride,
    version: 11,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "road load of Martin et al. 1998 with motor, pack and gears; told grades x 1.3, cadence 65 to 85 rpm, \
             1.3 x rated power over 10 min, 2.3 x up to 5 min: common practice, no source; the winding's heat by two \
             nodes of the motor's sheet, or of workshop judgement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(
        case,
        &[
            "hill-speed",
            "hill-length",
            "hill-grade",
            "hill-source",
            "rider-power-hill",
        ],
    )?;
    let ascent = Ascent::of(case)?;
    let mut findings = Vec::new();
    let hills = prediction::hill_grades(case)?;
    for (index, hill) in hills.iter().enumerate() {
        let climb = ascent.climb(&ascent.system, ascent.road.mass, hill.grade.value)?;
        let mut speed = ascent.speed(&ascent.system, hill, climb)?;
        if case.wants_words() {
            // One hill, one chance: it stands where all that may be is told.
            if index + 1 == hills.len() {
                speed.summary.push_str(&ascent.chance(&hills)?);
            }
            speed = ascent.with_cures(speed, hill, climb.limit)?;
        } else {
            forecast::look_for_hill(case)?;
            if speed.verdict != Verdict::Pass && prediction::is_mid(case)? {
                prediction::largest_cog(case);
            }
        }
        findings.push(prediction::in_direct_drive(case, speed));
        if prediction::is_mid(case)? {
            findings.push(ascent.cadence(hill, climb)?);
        }
        findings.extend(ascent.heat(hill, climb)?);
    }
    findings.extend(lost_before(case, ascent.wished));
    Ok(findings)
}

/// The hill was lost with the build as it was, though this check had let that pass: what is computed of the build as it is now
/// is as doubtful.
fn lost_before(case: &Case<'_>, wished: f64) -> Option<Finding> {
    let stall = case
        .outlived("hill-climbed")
        .filter(|fact| fact.value == Value::Flag(false));
    let speed = case.outlived("hill-speed-ridden");
    let (lost, ride) = match (stall, speed) {
        (Some(stall), speed) if speed.is_none_or(|speed| speed.seq <= stall.seq) => {
            ("the hill was not climbed".to_owned(), stall)
        }
        (_, Some(speed)) => {
            let ridden = speed.value.number().filter(|ridden| *ridden < wished)?;
            let shown = unit::show(Kind::Speed, "km/h", ridden);
            (format!("the hill was ridden at {shown}"), speed)
        }
        _ => return None,
    };
    let changed = ride.stale.as_deref()?;
    let job = case.whole_job();
    // A hill that is steeper than the brief has it is no fault of the model.
    let grade = |key: &str| job.facts.get(key).and_then(|fact| fact.value.number());
    if let (Some(ridden), Some(brief)) = (grade("hill-grade-ridden"), grade("hill-grade"))
        && ridden > brief
    {
        return None;
    }
    // Whoever came through a gate of this check before the ride, without a concession, had its pass.
    let passed = |trial: &Trial| trial.passed && CHECK.gates.contains(&trial.gate) && trial.at <= ride.at;
    let conceded = job.concessions.get(CHECK.id);
    let promised = job.trials.iter().any(passed) && conceded.is_none_or(|concession| concession.at > ride.at);
    promised.then(|| {
        let number = case.job().number;
        Finding::new(
            Verdict::Caution,
            format!(
                "{lost} before the {changed} was changed, though more was computed: advice only: the model does not hold here, \
                 and may be as far off now"
            ),
        )
        .with_remedy(format!(
            "find out what the model did not know: lockring ride {number} compare"
        ))
        .with_remedy("or accept it, and ride the hill before anything else is promised")
    })
}

/// The bicycle on its way up.
struct Ascent<'c, 'a> {
    case: &'c Case<'a>,
    system: DriveSystem,
    help: Help,
    rider: Rider,
    road: RoadLoad,
    mass_doubt: f64,
    rho: Density,
    wished: f64,
}

impl<'c, 'a> Ascent<'c, 'a> {
    fn of(case: &'c Case<'a>) -> Result<Self, Halt> {
        let gross = prediction::gross_mass(case)?;
        Ok(Self {
            case,
            system: prediction::drive(case, Load::Sustained)?,
            help: Help::of(case, None)?,
            rider: prediction::rider(case, case.number("rider-power-hill")?.value),
            road: prediction::road(case, gross.value)?,
            mass_doubt: gross.u,
            rho: prediction::air_density(case)?,
            wished: case.number("hill-speed")?.value,
        })
    }

    fn climb(&self, system: &DriveSystem, mass: Mass, grade: f64) -> Result<Climb, Halt> {
        let road = RoadLoad { mass, ..self.road };
        let place = Place::still(self.rho, prediction::grade(grade));
        performance::steady_climb_at(system, self.help.assist, Some(&self.rider), &road, place)
            .map_err(|error| prediction::unusable(self.case, "drive", &error))
    }

    /// The speed that was computed up a hill, with its doubt, against the one wished.
    fn speed(&self, system: &DriveSystem, hill: &HillGrade, climb: Climb) -> Result<Finding, Halt> {
        let (mass, grade) = (self.road.mass, hill.grade.value);
        // Where the motor's torque gives out just beyond, a little steeper, heavier or weaker is much slower, and
        // the other way gains little: each input is moved to either end of its expanded uncertainty, the rest of
        // the model as a share (JCGM 100:2008, 5.1.3, note 2, by finite steps). A sheet's peak torque is the most
        // the motor gives: it is only moved down, so that nothing is climbed by a motor better than its sheet.
        let spread = self.case.rule("model.motor-spread");
        let side = |way: f64| -> Result<f64, Halt> {
            let moved = |other: Climb| (other.speed - climb.speed).si();
            let off = way * COVERAGE;
            let by_grade = moved(self.climb(system, mass, grade + off * hill.grade.u)?);
            let heavier = mass + Mass::kilograms(off * self.mass_doubt);
            let by_mass = moved(self.climb(system, heavier, grade)?);
            let by_motor = if off > 0.0 {
                moved(self.climb(&stronger(system, 1.0 - off * spread), mass, grade)?)
            } else {
                0.0
            };
            let by_model = COVERAGE * self.case.rule("model.hill-doubt") * climb.speed.si();
            Ok(by_grade.hypot(by_mass).hypot(by_motor).hypot(by_model))
        };
        let (less, more) = (side(1.0)?, side(-1.0)?);
        let known = Known {
            value: climb.speed.si(),
            u: less / COVERAGE,
            provenance: hill.grade.provenance,
        };
        let gear = self.gear(system, climb);
        let mut finding = Judged::new(
            &format!("hill speed on {}", shown(hill)),
            known,
            Kind::Speed,
            "km/h",
        )
        .uneven(less, more)
        .settled_by("inside the doubt of grade, mass, torque and model: measure the hill, or gear lower")
        .against(Limit::AtLeast(self.wished))
        .with_figure(figure("cadence", Kind::Rotation, "rpm", climb.cadence.si()))
        .with_figure(figure("motor power", Kind::Power, "W", climb.motor_power.si()))
        .with_arithmetic(self.forces(climb, grade))
        .with_arithmetic(format!(
            "at twice the standard uncertainties of grade ({}), mass ({:.1} kg), motor's torque ({:.0} %) and model ({:.0} %)",
            unit::show(Kind::Ratio, "%", hill.grade.u),
            self.mass_doubt,
            100.0 * spread,
            100.0 * self.case.rule("model.hill-doubt")
        ))
        .with_arithmetic(prediction::judged_with(self.case)?)
        .with_arithmetic(format!("help {}", self.help.said))
        .with_arithmetic(format!(
            "motor {:.0} W at {:.1} N m, rider {:.0} W, pack {:.1} A at {:.1} V",
            climb.motor_power.as_watts(),
            climb.motor_torque.as_newton_metres(),
            climb.rider_power.as_watts(),
            climb.battery_current.as_amperes(),
            climb.pack_voltage.as_volts()
        ));
        finding.summary.push_str(&format!(
            "; limited by {}, {gear}",
            prediction::held_by(climb.limit)
        ));
        Ok(finding)
    }

    /// How likely the wish is reached with everything that may be off, the model's inputs among
    /// them, and a told hill anywhere from what was told to as steep as such hills turn out.
    fn chance(&self, hills: &[HillGrade]) -> Result<String, Halt> {
        let chance = forecast::chance_on_hill(self.case, &self.system, self.wished)?;
        let grade = |hill: &HillGrade| unit::show(Kind::Ratio, "%", hill.grade.value);
        let anywhere = match hills {
            [told, .., steepest] => {
                format!(", the hill anywhere from {} to {}", grade(told), grade(steepest))
            }
            _ => String::new(),
        };
        Ok(format!(
            "; {} or more with probability {}{anywhere}",
            unit::show(Kind::Speed, "km/h", self.wished),
            forecast::shown_probability(chance)
        ))
    }

    fn forces(&self, climb: Climb, grade: f64) -> String {
        let force = |speed| {
            self.road
                .resistance(speed, prediction::grade(grade), Speed::ZERO, self.rho)
                .as_newtons()
        };
        format!(
            "{:.1} kg on {:.1} %: {:.1} N standing, {:.1} N at {:.1} km/h",
            self.road.mass.as_kilograms(),
            100.0 * grade,
            force(Speed::ZERO),
            force(climb.speed),
            climb.speed.as_kilometres_per_hour()
        )
    }

    fn gear(&self, system: &DriveSystem, climb: Climb) -> String {
        let gear = prediction::gear_named(system.gears.at(climb.gear).unwrap_or_default());
        format!("{gear} at {:.0} rpm", climb.cadence.as_rpm())
    }

    fn with_cures(&self, mut finding: Finding, hill: &HillGrade, held: Held) -> Result<Finding, Halt> {
        if finding.verdict == Verdict::Pass {
            return Ok(finding);
        }
        let job = self.case.job().number;
        if let Some(remedy) = hill.measure_first(job) {
            finding = finding.with_remedy(remedy);
        }
        if held == Held::LowVoltage {
            finding = finding.with_remedy(prediction::lower_cutoff(job));
        }
        if !prediction::is_mid(self.case)? {
            return Ok(finding.with_remedy(format!(
                "a motor wound for more pull, or a mid motor: lockring build {job} motor=PART; it costs top speed or money"
            )));
        }
        let does = |system: &DriveSystem| {
            self.climb(system, self.road.mass, hill.grade.value)
                .and_then(|climb| self.speed(system, hill, climb))
                .is_ok_and(|tried| tried.verdict == Verdict::Pass)
        };
        let easier = prediction::easier_gearings(self.case, &self.system, does);
        if easier.is_empty() {
            let more = format!(
                "more current or another motor, or less load: it is limited by {}",
                prediction::held_by(held)
            );
            finding = finding.with_remedy(prediction::no_easier_gearing(self.case, &self.system, &more));
        }
        for system in easier {
            let climb = self.climb(&system, self.road.mass, hill.grade.value)?;
            let largest = system.gears.cogs.iter().max().copied().unwrap_or_default();
            finding = finding.with_remedy(format!(
                "a ring of {} with a largest cog of {largest}: {:.1} km/h, {}: lockring build {job} chainring=PART \
                 cassette=PART; look at chainline, chain length and top cadence again",
                system.gears.ring_teeth,
                climb.speed.as_kilometres_per_hour(),
                self.gear(&system, climb)
            ));
        }
        Ok(finding)
    }

    /// The cadence in the gear a rider would take: the fastest within the good window that
    /// still makes the wished speed, or else the fastest of all. A gear that would turn faster than the
    /// window is ridden at its end.
    fn cadence(&self, hill: &HillGrade, best: Climb) -> Result<Finding, Halt> {
        let (least, most) = (
            self.case.rule("hill.cadence-least"),
            self.case.rule("hill.cadence-most"),
        );
        let place = Place::still(self.rho, prediction::grade(hill.grade.value));
        let gears = performance::speed_by_gear_at(
            &self.system,
            self.help.assist,
            Some(&self.rider),
            &self.road,
            place,
        )
        .map_err(|error| prediction::unusable(self.case, "drive", &error))?;
        let eased = |gear: Climb| {
            if gear.cadence.si() <= most {
                return gear;
            }
            Climb {
                speed: gear.speed * (most / gear.cadence.si()),
                cadence: AngularSpeed::from_si(most),
                ..gear
            }
        };
        let taken = gears
            .into_iter()
            .map(eased)
            .filter(|gear| gear.speed.si() >= self.wished && (least..=most).contains(&gear.cadence.si()))
            .max_by(|a, b| a.speed.si().total_cmp(&b.speed.si()))
            .unwrap_or(best);
        let known = Known {
            value: taken.cadence.si(),
            u: 0.0,
            provenance: Provenance::Stated,
        };
        let finding = Judged::new(&format!("cadence on {}", shown(hill)), known, Kind::Rotation, "rpm")
            .against(Limit::Within(least, most))
            .with_arithmetic(format!(
                "{} makes {:.1} km/h",
                self.gear(&self.system, taken),
                taken.speed.as_kilometres_per_hour()
            ))
            .with_remedy(format!(
                "another ring or cassette: lockring build {} chainring=PART; chainline and top cadence move with it",
                self.case.job().number
            ));
        Ok(prediction::advise_only(
            finding,
            "it is climbed all the same, with a hotter motor or tired legs",
        ))
    }

    /// What the climb does to the motor: its power against what its rating stands for so long, and its winding's own
    /// heat, which decides; nothing on a stall. A cut-off that takes current back as the pack empties spares the motor
    /// nothing while it is full: the heat is that of the whole current.
    fn heat(&self, hill: &HillGrade, held: Climb) -> Result<Vec<Finding>, Halt> {
        let whole = DriveSystem {
            fold: None,
            ..self.system.clone()
        };
        let climb = self.climb(&whole, self.road.mass, hill.grade.value)?;
        if climb.speed <= Speed::ZERO {
            return Ok(Vec::new());
        }
        let seconds = self.case.number("hill-length")?.value / climb.speed.si();
        let mut findings = vec![self.rated(hill, climb, seconds)?];
        findings.extend(self.winding(hill, climb, seconds)?);
        if climb.battery_current > held.battery_current {
            findings = findings
                .into_iter()
                .map(|finding| {
                    finding.with_arithmetic(
                        "with the current of a fuller pack, of which the cut-off takes nothing",
                    )
                })
                .collect();
        }
        Ok(findings)
    }

    /// Motor power over the climb against its rating.
    fn rated(&self, hill: &HillGrade, climb: Climb, seconds: f64) -> Result<Finding, Halt> {
        let rated = self.case.part(Slot::Motor)?.number("rated-power")?;
        let (short, through) = (
            self.case.rule("motor.short-time"),
            self.case.rule("motor.sustained-time"),
        );
        let (strong, sustained) = (
            self.case.rule("motor.short-power"),
            self.case.rule("motor.sustained-power"),
        );
        // Between the two times in a straight line (workshop judgement).
        let heated = ((seconds - short) / (through - short).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        let factor = strong + (sustained - strong) * heated;
        let known = Known {
            value: climb.motor_power.si(),
            u: 0.0,
            provenance: Provenance::Stated,
        };
        let finding = Judged::new(
            &format!("motor power for {} on {}", minutes(seconds), shown(hill)),
            known,
            Kind::Power,
            "W",
        )
        .against(Limit::AtMost(factor * rated))
        .with_arithmetic(format!(
            "{factor:.2} x {rated:.0} W rated = {:.0} W: {strong} x up to {:.0} min, {sustained} x from {:.0} min on; power \
             given, not heat: a motor that turns slowly heats up while it gives little",
            factor * rated,
            short / 60.0,
            through / 60.0
        ));
        let finding = finding.with_remedy(format!(
            "a lower current limit, at less speed: lockring measure {} current-limit AMPERES",
            self.case.job().number
        ));
        Ok(cooled(
            finding,
            "a motor of more rated power, or a rest on the way",
        ))
    }

    /// How long the winding stands the climb against how long it takes. The same heat as `predict`, `hill` and `range`
    /// ride with.
    fn winding(&self, hill: &HillGrade, climb: Climb, seconds: f64) -> Result<Option<Finding>, Halt> {
        let Some(stands) = forecast::stands(self.case, &self.system, &climb)? else {
            return Ok(None);
        };
        let celsius = |kelvins: f64| unit::show(Kind::Temperature, "C", kelvins);
        let enough = stands.holds.is_none_or(|holds| holds >= seconds);
        let holds = stands.holds.map_or_else(
            || "for ever".to_owned(),
            |holds| format!("for {}", minutes(holds)),
        );
        let line = format!(
            "winding on {}: stands it {holds} from cold at {}, to {}, and the climb takes {}",
            shown(hill),
            celsius(stands.air),
            celsius(stands.limit),
            minutes(seconds)
        );
        let finding = if enough {
            Finding::new(Verdict::Pass, format!("{line}: within stored limit"))
        } else {
            Finding::new(
                Verdict::Fail,
                format!("{line}: it is to be walked in part or the motor rests on the way"),
            )
        };
        let rests = if stands.from_sheet {
            "heat paths and limit by the motor's sheet"
        } else {
            "heat paths or limit guessed: the motor's sheet gives not all of them"
        };
        // Less current is no cure to be named untried: the climb gets slower by it, and the motor is hot for longer.
        let cure = if prediction::is_mid(self.case)? {
            "a rest on the way, an easier gear, or a motor of more rated power"
        } else {
            "a rest on the way, or a motor of more rated power"
        };
        let finding = finding.with_arithmetic(format!(
            "{:.0} W lost in the motor; {rests}",
            climb.motor_loss.as_watts()
        ));
        Ok(Some(cooled(finding, cure)))
    }
}

/// What the climb does to the motor is a word of advice with its cure.
fn cooled(finding: Finding, cure: &str) -> Finding {
    prediction::advise_only(finding.with_remedy(cure), "the soak on the test ride decides")
}

/// A time in minutes, with a tenth where it is short.
fn minutes(seconds: f64) -> String {
    let minutes = seconds / 60.0;
    if minutes < 9.95 {
        format!("{minutes:.1} min")
    } else {
        format!("{minutes:.0} min")
    }
}

/// The drive with a motor of so much of its torque.
fn stronger(system: &DriveSystem, share: f64) -> DriveSystem {
    let mut system = system.clone();
    if let Some(motor) = &mut system.motor {
        motor.phase_limit = motor.phase_limit * share;
    }
    system
}

fn shown(hill: &HillGrade) -> String {
    format!(
        "{} ({})",
        unit::show(Kind::Ratio, "%", hill.grade.value),
        hill.said
    )
}

#[cfg(test)]
mod tests;
