//! The chainstay where the chain needs it longest: a sprung rear end lengthens it in its travel.

use super::{need, unusable};
use crate::case::{Case, Known};
use crate::finding::Halt;

/// The chainstay at rest and at its longest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stay {
    /// As it stands, m.
    pub rest: Known,
    /// At its longest in the travel of a sprung rear end, m; as it stands where none was measured.
    pub longest: Known,
}

impl Stay {
    /// How much it grows in the travel, m.
    pub fn growth(&self) -> f64 {
        self.longest.value - self.rest.value
    }

    /// What is said of the length a chain is cut to.
    pub fn said(&self, job: u32) -> String {
        if self.growth() > 0.0 {
            format!(
                "the chainstay grows from {:.0} to {:.0} mm in the travel, and the chain is cut for its longest",
                1e3 * self.rest.value,
                1e3 * self.longest.value
            )
        } else {
            format!(
                "for a rear end that does not spring; of one that does record the longest: lockring measure {job} \
                 stay-longest MM"
            )
        }
    }
}

/// The chainstay at rest and at its longest.
///
/// # Errors
/// [`Halt::Open`] when it was not measured, or its longest is shorter than it is at rest.
pub fn stay(case: &Case<'_>) -> Result<Stay, Halt> {
    need(case, &["stay-length"])?;
    let rest = case.number("stay-length")?;
    let Some(longest) = case.optional_number("stay-longest") else {
        return Ok(Stay { rest, longest: rest });
    };
    let doubt = rest.expanded().hypot(longest.expanded());
    if longest.value < rest.value - doubt {
        let shorter = format!(
            "its longest is {:.0} mm and it stands at {:.0} mm",
            1e3 * longest.value,
            1e3 * rest.value
        );
        return Err(unusable(case, "chainstay", &shorter));
    }
    let longest = if longest.value < rest.value { rest } else { longest };
    Ok(Stay { rest, longest })
}
