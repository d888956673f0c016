//! A line of values of which some cannot be taken: given back with the others, ready to be typed again.

use crate::code;
use crate::command::Typed;
use crate::refusal::Refusal;
use crate::shell_word::quoted;

/// The refusal of a line, with what of it would be taken and the flag it was typed with. Values of a file stay in the file,
/// where each complaint names its line.
pub(super) fn line(command: &str, values: &[Typed], flag: &str, refusal: Refusal) -> Refusal {
    let is_bad = |typed: &Typed| refusal.violations.iter().any(|bad| bad.field == typed.field);
    let good: Vec<&Typed> = values.iter().filter(|typed| !is_bad(typed)).collect();
    if values.len() < 2 || values.iter().any(|typed| typed.line.is_some()) {
        return refusal;
    }
    let kept = match good.as_slice() {
        [] => "nothing of the line was kept".to_owned(),
        good => {
            let pairs = good
                .iter()
                .map(|typed| format!(" {}={}", typed.field, quoted(&typed.text)));
            format!(
                "nothing of the line was kept; without what cannot be taken it reads: `{command}{}{flag}`",
                pairs.collect::<String>()
            )
        }
    };
    let hint = match &refusal.hint {
        Some(hint) => format!("{hint}; {kept}"),
        None => kept,
    };
    refusal.hint(hint)
}

/// The values, with a shell of which only that it is pressed was typed named by the bore and width beside it.
pub(super) fn pressed_by_measure(values: &[Typed]) -> Vec<Typed> {
    let mm = |key: &str| {
        let typed = values
            .iter()
            .find(|typed| code::find(&typed.field).is_some_and(|row| row.key() == key))?;
        let si = code::find(key)?.read(&typed.text, false).ok()?.number()?;
        Some(((si * 1e4).round() / 10.0).to_string())
    };
    let measured = || Some(format!("press-{}x{}", mm("shell-bore")?, mm("shell-width")?));
    let named = |typed: &Typed| {
        let is_shell = code::find(&typed.field).is_some_and(|row| row.key() == "shell-standard");
        let text = Some(typed).filter(|typed| is_shell && code::is_pressed_alone(&typed.text));
        Typed {
            text: text
                .and_then(|_| measured())
                .unwrap_or_else(|| typed.text.clone()),
            ..typed.clone()
        }
    };
    values.iter().map(named).collect()
}
