//! Torques marked on the parts of a case.

use lockring_calc::fastener::Mark;

use crate::case::Case;
use crate::code::marks::{EXAMPLE, read_marks};
use crate::finding::{Halt, Missing};

/// The mark of a bolt, if one was recorded.
///
/// # Errors
/// [`Halt::Open`] when the recorded text cannot be read.
pub fn torque_mark(case: &Case<'_>, bolt: &str) -> Result<Option<Mark>, Halt> {
    let Some(text) = case.optional_word("torque-marks") else {
        return Ok(None);
    };
    let marks = read_marks(text).map_err(|why| {
        Halt::Open(vec![Missing {
            what: why,
            how: format!(
                "lockring measure {} torque-marks \"{EXAMPLE}\"",
                case.job().number
            ),
        }])
    })?;
    Ok(marks.get(bolt).copied())
}
