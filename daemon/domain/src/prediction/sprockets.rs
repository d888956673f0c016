//! Where the sprockets sit beside the frame's centre plane: the centre as measured, or
//! computed from the rear end; each cog from the stored spacing.

use lockring_calc::chainline::{self, Cassette, Family, Spacing};
use lockring_calc::quantity::Length;

use crate::case::{Case, Known};
use crate::fact::Provenance;
use crate::finding::Halt;
use crate::part::Slot;
use crate::prediction;

/// The sprockets of a job.
#[derive(Debug, Clone)]
pub struct Sprockets {
    /// Teeth, smallest first.
    pub cogs: Vec<u32>,
    /// Middle of the stack, m from the centre plane.
    pub centre: Known,
    /// Each cog, m from the centre plane, smallest cog first.
    pub lines: Vec<f64>,
    /// How the centre is known, in words, with its arithmetic when it is computed.
    pub how: String,
    /// The centre is computed with a spacing, or a hub's recess, that is only known from memory.
    pub from_memory: bool,
}

/// Whether the ring or the sprockets are not the bicycle's own: a motor at the crank, or a
/// chosen chainring or cassette.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen.
pub fn drivetrain_changed(case: &Case<'_>) -> Result<bool, Halt> {
    let ring = case.optional_part(Slot::Chainring).is_some();
    let cassette = case.optional_part(Slot::Cassette).is_some();
    Ok(prediction::is_mid(case)? || ring || cassette)
}

/// Teeth of the cogs fitted: the chosen cassette's, or the bicycle's own.
///
/// # Errors
/// [`Halt::Open`] when they are neither chosen nor stated.
pub fn cogs(case: &Case<'_>) -> Result<Vec<u32>, Halt> {
    Ok(match case.optional_part(Slot::Cassette) {
        Some(cassette) => cassette.teeth("cogs")?.to_vec(),
        None => case.teeth("cogs")?.to_vec(),
    })
}

/// Where the sprockets sit.
///
/// The centre is `chainline-rear`; when that was not measured it is computed from the
/// dropout width, the gap to the first cog and the stored spacing, or for a single cog from
/// the gap to it and its thickness. A family that nobody named is taken as the wider stack,
/// where the angles are larger.
///
/// # Errors
/// [`Halt::Open`] when the cogs, or the measurements the centre needs, are missing.
pub fn sprockets(case: &Case<'_>) -> Result<Sprockets, Halt> {
    let cogs = cogs(case)?;
    let measured = case.optional_number("chainline-rear");
    if let [_] = cogs.as_slice() {
        return single(case, cogs, measured);
    }
    let spacing = widest(case, cogs.len());
    let count = u8::try_from(cogs.len()).unwrap_or(u8::MAX);
    let stack = |old: Length, gap: Length| {
        Cassette::new(old, gap, spacing.pitch(), spacing.thickness(), count)
            .map_err(|error| prediction::unusable(case, "cassette", &error))
    };
    if let Some(centre) = measured {
        // Only the distances between the cogs are taken from this stack, so any hub will do.
        let any = stack(Length::millimetres(135.0), Length::millimetres(3.0))?;
        let lines = any
            .positions()
            .into_iter()
            .map(|line| centre.value + (line - any.centre()).si())
            .collect();
        return Ok(Sprockets {
            cogs,
            centre,
            lines,
            how: "measured".into(),
            from_memory: false,
        });
    }
    if case.optional_number("dropout-rear").is_none() || case.optional_number("first-cog-gap").is_none() {
        return Err(case.open("chainline-rear"));
    }
    let (old, gap) = (case.number("dropout-rear")?, case.number("first-cog-gap")?);
    let effective = chainline::effective_old(Length::from_si(old.value))
        .map_err(|error| prediction::unusable(case, "dropouts", &error))?;
    let cassette = stack(effective.length, Length::from_si(gap.value))?;
    let centre = cassette.centre();
    let how = format!(
        "computed: {:.1}/2 - {:.1} - {:.2}/2 - {} x {:.2}/2 = {:.1} mm",
        effective.length.as_millimetres(),
        1e3 * gap.value,
        spacing.thickness_mm,
        count - 1,
        spacing.pitch_mm,
        centre.as_millimetres()
    );
    Ok(Sprockets {
        cogs,
        centre: Known {
            value: centre.si(),
            u: (old.u / 2.0).hypot(gap.u),
            provenance: Provenance::Stated,
        },
        lines: cassette.positions().into_iter().map(Length::si).collect(),
        how,
        from_memory: !(spacing.basis.may_stop() && effective.basis.may_stop()),
    })
}

/// A single cog, of a hub gear or alone: as measured, or by calliper from the locknut's face.
fn single(case: &Case<'_>, cogs: Vec<u32>, measured: Option<Known>) -> Result<Sprockets, Halt> {
    if let Some(centre) = measured {
        return Ok(Sprockets {
            cogs,
            centre,
            lines: vec![centre.value],
            how: "measured".into(),
            from_memory: false,
        });
    }
    if !case.knows("single-cog-gap") {
        return Err(case.open("chainline-rear"));
    }
    let keys = ["dropout-rear", "single-cog-gap", "cog-thickness"];
    prediction::need(case, &keys)?;
    let [old, gap, tooth] = [
        case.number(keys[0])?,
        case.number(keys[1])?,
        case.number(keys[2])?,
    ];
    let length = |known: Known| Length::from_si(known.value);
    let unusable = |error: &dyn std::fmt::Display| prediction::unusable(case, "dropouts and cog", error);
    let effective = chainline::effective_old(length(old)).map_err(|error| unusable(&error))?;
    let line = chainline::rear_single(effective.length, length(gap) + length(tooth) / 2.0)
        .map_err(|error| unusable(&error))?;
    Ok(Sprockets {
        cogs,
        centre: Known {
            value: line.si(),
            u: (old.u / 2.0).hypot(gap.u).hypot(tooth.u / 2.0),
            provenance: Provenance::Stated,
        },
        lines: vec![line.si()],
        how: format!(
            "computed: {:.1}/2 - {:.1} - {:.1}/2 = {:.1} mm",
            effective.length.as_millimetres(),
            1e3 * gap.value,
            1e3 * tooth.value,
            line.as_millimetres()
        ),
        from_memory: !effective.basis.may_stop(),
    })
}

/// The stored spacings for a number of cogs: of the cassette's family, or of all families
/// where nobody named it; the nearest number's, as an assumption, where none is stored.
/// Never empty.
pub fn spacings(case: &Case<'_>, count: usize) -> Vec<&'static Spacing> {
    let family = case
        .optional_part(Slot::Cassette)
        .and_then(|cassette| cassette.optional_word("spacing"));
    let named = |row: &&Spacing| match family {
        Some("b") => row.family == Family::B,
        Some(_) => row.family == Family::A,
        None => true,
    };
    let apart = |row: &Spacing| usize::from(row.speeds).abs_diff(count);
    let nearest = chainline::SPACINGS.iter().map(apart).min().unwrap_or(0);
    if nearest > 0 {
        case.assume(format!("spacing of {count} cogs as of the nearest stored number"));
    }
    let all: Vec<_> = chainline::SPACINGS
        .iter()
        .filter(|row| apart(row) == nearest)
        .collect();
    let own: Vec<_> = all.iter().copied().filter(named).collect();
    if own.is_empty() { all } else { own }
}

/// Millimetres of a length in m, rounded up to a tenth: what a remedy asks for clears the
/// limit once it is done.
pub fn enough_mm(metres: f64) -> f64 {
    // The small amount keeps 1.6 mm, as a binary fraction, from becoming 1.7.
    // Adding nought turns a nought below zero into one that is written without a sign.
    (1e4 * metres.max(0.0) - 1e-6).ceil().max(0.0) / 10.0 + 0.0
}

fn widest(case: &Case<'_>, count: usize) -> &'static Spacing {
    spacings(case, count)
        .into_iter()
        .max_by(|a, b| a.pitch_mm.total_cmp(&b.pitch_mm))
        .expect("spacings are never empty")
}
