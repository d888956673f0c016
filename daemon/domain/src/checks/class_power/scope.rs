//! What few classes ask of the bicycle beyond the motor's rating: volts, mass, width, wheels, the ratio of help, and
//! a certificate of the electrical system as one set, and that the class still takes new bicycles.

use lockring_calc::assist::Taper;
use lockring_calc::quantity::{Length, Speed};
use lockring_calc::wheel;

use crate::case::Case;
use crate::check::{Finding, Halt, Verdict};
use crate::checks::pack_papers;
use crate::part::Slot;
use crate::prediction;
use crate::ride_class::RideClass;
use crate::ride_class::deference::D2;
use crate::stage::Stage;

/// What a class asks beyond the rating and this bicycle does not keep.
pub(super) fn findings(case: &Case<'_>, class: &RideClass) -> Result<Vec<Finding>, Halt> {
    let mut findings = Vec::new();
    findings.extend(volts(case, class)?);
    findings.extend(mass(case, class)?);
    findings.extend(width(case, class));
    findings.extend(wheels(case, class));
    findings.extend(ratio(case, class)?);
    findings.extend(ended(case, class));
    Ok(findings)
}

fn caution(line: String, cure: String) -> Finding {
    Finding::new(Verdict::Caution, line)
        .with_arithmetic(D2)
        .with_remedy(cure)
}

fn volts(case: &Case<'_>, class: &RideClass) -> Result<Option<Finding>, Halt> {
    let Some(most) = class.max_nominal_volts else {
        return Ok(None);
    };
    let nominal = prediction::battery(&case.part(Slot::Pack)?)?.nominal().as_volts();
    Ok((nominal > most + 1e-9).then(|| {
        caution(
            format!(
                "nominal volts of the pack {nominal:.1} V, {} stores at most {most:.0} V",
                class.id
            ),
            format!(
                "a pack of fewer cells in series: lockring build {} pack=PART charger=PART",
                case.job().number
            ),
        )
    }))
}

fn mass(case: &Case<'_>, class: &RideClass) -> Result<Option<Finding>, Halt> {
    let Some(limit) = class.max_mass else {
        return Ok(None);
    };
    let bicycle = prediction::bicycle_mass(case)?.value;
    // A pack of unknown mass is not taken off: no limit is met by leaving it out.
    let pack = case
        .optional_part(Slot::Pack)
        .filter(|_| limit.without_pack)
        .and_then(|pack| pack.optional_number("mass"))
        .unwrap_or(0.0);
    let counted = bicycle - pack;
    let holds = limit.comparator.holds(counted, limit.kilograms);
    Ok((!holds).then(|| {
        caution(
            format!(
                "bicycle with its kit {counted:.1} kg{}, {} stores {}",
                if pack > 0.0 { " without its pack" } else { "" },
                class.id,
                limit.show()
            ),
            format!(
                "a lighter kit: lockring build {} motor=PART pack=PART",
                case.job().number
            ),
        )
    }))
}

/// The handlebar is what is widest on a bicycle; one that was not measured is not asked for.
fn width(case: &Case<'_>, class: &RideClass) -> Option<Finding> {
    let most = class.max_width_mm?;
    let bar = case.optional_number("bar-width")?.value * 1000.0;
    (bar > most).then(|| {
        caution(
            format!(
                "handlebar {bar:.0} mm wide, {} stores at most {most:.0} mm",
                class.id
            ),
            format!(
                "a narrower handlebar, measured: {}",
                prediction::read_again(case, "bar-width", "MM")
            ),
        )
    })
}

/// The wheels by the marks of their tyres; what the marks do not say is not judged.
fn wheels(case: &Case<'_>, class: &RideClass) -> Option<Finding> {
    let least = class.wheels?;
    [Slot::TyreFront, Slot::TyreRear].into_iter().find_map(|slot| {
        let mark = prediction::tyre_mark(case, slot).ok()?;
        let tyre = wheel::parse_tyre(mark).ok()?;
        let width = tyre.width.map(Length::as_millimetres)?;
        let diameter = tyre.bead_seat()?.as_millimetres() + 2.0 * width;
        (width < least.width_mm || diameter < least.diameter_mm).then(|| {
            caution(
                format!(
                    "wheel with tyre {mark}: {width:.0} mm wide and {diameter:.0} mm in diameter, {} stores at least \
                     {:.0} mm and {:.0} mm",
                    class.id, least.width_mm, least.diameter_mm
                ),
                format!(
                    "wider tyres that the rim and the frame take: lockring build {} tyre-front=PART tyre-rear=PART",
                    case.job().number
                ),
            )
        })
    })
}

/// The help at its strongest against a ratio that falls with the speed.
fn ratio(case: &Case<'_>, class: &RideClass) -> Result<Option<Finding>, Halt> {
    let Some(rule) = class.assist_ratio else {
        return Ok(None);
    };
    let asked = format!(
        "{} stores at most {} times the rider's power to {:.0} km/h, falling to nothing at {:.0} km/h",
        class.id, rule.most, rule.from_kmh, rule.to_kmh
    );
    let job = case.job().number;
    let senses = case
        .optional_part(Slot::PedalSensor)
        .and_then(|sensor| sensor.optional_word("senses"));
    if senses == Some("cadence") {
        // First principles: what does not know the rider's power cannot answer with a share of it; with soft legs any
        // help is over any ratio.
        return Ok(Some(
            Finding::new(
                Verdict::Fail,
                format!("a cadence sensor knows nothing of the rider's power, so that no ratio holds: {asked}: over stored limit"),
            )
            .with_arithmetic(D2)
            .with_remedy(format!(
                "a pedal sensor that senses torque: lockring build {job} pedal-sensor=PART"
            )),
        ));
    }
    let controller = case.part(Slot::Controller)?;
    let (Some("torque"), Some(high)) = (senses, controller.optional_number("high-ratio")) else {
        return Ok(Some(caution(
            format!("no ratio of the help is known: {asked}: not checked"),
            format!(
                "a torque sensor and a controller whose sheet gives its ratio at high: lockring build {job} \
                 pedal-sensor=PART controller=PART"
            ),
        )));
    };
    let taper = match (
        prediction::assist_limit(case)?,
        controller.optional_number("taper"),
    ) {
        (Some(limit), Some(band)) => Taper::new(limit, Speed::from_si(band)).ok(),
        _ => None,
    };
    let line = |kmh: f64, over: &str| {
        format!(
            "help of {:.1} times the rider's power at {kmh:.0} km/h, {asked}: {over} stored limit",
            high * left(taper, kmh)
        )
    };
    Ok(Some(match rule.first_over(high, taper) {
        None => Finding::new(Verdict::Pass, line(rule.from_kmh, "within")).with_arithmetic(D2),
        Some(kmh) => Finding::new(Verdict::Fail, line(kmh, "over"))
            .with_arithmetic(format!(
                "at {kmh:.0} km/h at most {:.2} times",
                rule.at(kmh)
            ))
            .with_arithmetic(D2)
            .with_remedy(if case.gate() == Stage::Intake {
                format!("a controller that helps less and fades earlier: lockring build {job} controller=PART")
            } else {
                format!(
                    "set it to less and to fade from {:.0} km/h, and record it: lockring receive {job} controller \
                     high-ratio=RATIO taper={:.0}km/h",
                    rule.from_kmh,
                    rule.to_kmh - rule.from_kmh
                )
            }),
    }))
}

/// A class that wants motor, controller, pack and charger certified as one set. Before parts are there it is said while
/// nothing is bought; then the papers of the pack have to name the standard.
pub(super) fn certified_set(case: &Case<'_>, class: &RideClass) -> Option<Finding> {
    let number = class.set_standard?;
    let standard = pack_papers::name(number);
    let papers = prediction::receipt(case, Slot::Pack).and_then(|receipt| receipt.papers.as_deref());
    if pack_papers::of_set_are_by(papers.unwrap_or_default(), number) {
        return None;
    }
    let job = case.job().number;
    let asked = format!(
        "{} asks that the whole electrical system be certified to {standard} as one set; a mixed kit will not qualify",
        class.id
    );
    let line = match papers {
        None => format!("{asked}: nothing on file shows it"),
        Some(papers) => format!("{asked}: the pack's papers do not show it: {papers}"),
    };
    let verdict = if case.gate() == Stage::Intake {
        Verdict::Caution
    } else {
        Verdict::Fail
    };
    Some(
        Finding::new(verdict, line)
            .with_arithmetic(prediction::caution("pt-nyc"))
            .with_arithmetic(D2)
            .with_remedy(format!(
                "motor, controller, pack and charger of one set with that certificate, asked for before anything is \
                 ordered and filed with the pack: lockring receive {job} pack --papers …"
            ))
            .with_remedy(format!(
                "another class, for use outside such a city: lockring brief {job} ride-class=CLASS"
            )),
    )
}

/// Share of the help that a taper leaves at a speed, km/h.
fn left(taper: Option<Taper>, kmh: f64) -> f64 {
    taper.map_or(1.0, |taper| taper.share(Speed::kilometres_per_hour(kmh)))
}

/// A class that takes no new bicycles, or none at all any more, by the shop's day. A class without an end asks for no day.
fn ended(case: &Case<'_>, class: &RideClass) -> Option<Finding> {
    class.built_until.or(class.valid_until)?;
    let today = case.today();
    let (verdict, line) = if let Some(end) = class.built_until.filter(|end| today > *end) {
        let until = class
            .valid_until
            .map_or_else(String::new, |until| format!(", which it tolerates until {until}"));
        let line = format!(
            "{} takes bicycles built up to {end}{until}: no new ones",
            class.id
        );
        (Verdict::Fail, line)
    } else {
        let end = class.valid_until.filter(|end| today > *end)?;
        let line = format!(
            "{} is of use for bicycles built up to {end}: the day is past",
            class.id
        );
        (Verdict::Caution, line)
    };
    Some(
        Finding::new(verdict, line)
            .with_arithmetic(D2)
            .with_remedy(format!(
                "a class that holds today: lockring brief {} ride-class=CLASS",
                case.job().number
            )),
    )
}
