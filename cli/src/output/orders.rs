//! Order lines: what is awaited, from whom, how late.

use lockring_proto::v1::{ListOrdersReply, OrderLine};

use crate::command_error::CommandError;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, job, times};

/// Prints order lines as they come.
pub(crate) fn print(out: &mut Out<'_>, reply: &ListOrdersReply) -> Result<(), CommandError> {
    if reply.lines.is_empty() {
        return out.line("No such order lines");
    }
    let mut table = Table::new(["for", "what", "supplier", "due", "stands"]);
    for line in &reply.lines {
        table.row([
            whom(line).into(),
            what(line).into(),
            supplier(line).into(),
            due(line),
            stands(line),
        ]);
    }
    table.print(out)?;
    let late = reply.lines.iter().filter(|line| line.days_late.is_some()).count();
    let lines = times::count_of(reply.lines.len() as u64, "line", "lines");
    out.line(format!("{lines}, {late} overdue on {}", times::day(&reply.day)))
}

fn whom(line: &OrderLine) -> String {
    if line.job == 0 {
        format!("shelf\nline {}", line.number)
    } else {
        format!("job {}\n{}", line.job, line.slot)
    }
}

fn what(line: &OrderLine) -> String {
    match line.count {
        1 => line.name.clone(),
        count => format!("{count} x {}", line.name),
    }
}

fn supplier(line: &OrderLine) -> String {
    match line.price_minor {
        Some(price) => {
            let each = if line.count > 1 { " each" } else { "" };
            format!("{}\n{}{each}", line.supplier, job::money(price))
        }
        None => line.supplier.clone(),
    }
}

fn due(line: &OrderLine) -> Cell<'static> {
    if line.due.is_empty() {
        return "no day promised".into();
    }
    let moved = match line.promised_before.len() {
        0 => String::new(),
        1 => "\nmoved once".to_owned(),
        count => format!("\nmoved {count} times"),
    };
    match line.days_late {
        Some(late) => Cell::painted(
            format!(
                "{}\n{} late{moved}",
                times::day(&line.due),
                times::working_days(late)
            ),
            Paint::Bad,
        ),
        None => format!("{}{moved}", times::day(&line.due)).into(),
    }
}

fn stands(line: &OrderLine) -> Cell<'static> {
    let mut words = vec![line.state.clone()];
    if line.state == "partly here" {
        words.push(format!("{} of {}", line.came, line.count));
    }
    if line.returned > 0 {
        words.push(line.returned_because.clone());
    }
    if line.credited_minor > 0 {
        words.push(format!("credited {}", job::money(line.credited_minor)));
    }
    if !line.cancelled_because.is_empty() {
        words.push(line.cancelled_because.clone());
    }
    if line.unwanted {
        words.push("! the build wants another part".to_owned());
        return Cell::painted(words.join("\n"), Paint::Caution);
    }
    words.join("\n").into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    #[test]
    fn lines_say_how_late_they_are_and_what_became_of_them() {
        let late = OrderLine {
            job: 23,
            number: 1,
            slot: "pack".into(),
            name: "pack 48 V 17.5 Ah, frame mount, long name of a part".into(),
            count: 1,
            supplier: "wholesaler N".into(),
            due: "2026-03-17".into(),
            promised_before: vec!["2026-03-12".into()],
            price_minor: Some(39_500),
            state: "ordered".into(),
            days_late: Some(6),
            unwanted: true,
            ..OrderLine::default()
        };
        let shelf = OrderLine {
            number: 4,
            name: "display 60 V".into(),
            count: 6,
            came: 4,
            state: "partly here".into(),
            supplier: "S".into(),
            price_minor: Some(990),
            ..OrderLine::default()
        };
        let reply = ListOrdersReply {
            day: "2026-03-25".into(),
            lines: vec![late, shelf],
            next_page_token: String::new(),
        };
        let shown = text(80, |out| print(out, &reply));
        for part in [
            "6 working days",
            "moved once",
            "395.00",
            "9.90 each",
            "6 x display 60 V",
            "4 of 6",
            "no day promised",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert!(
            shown.ends_with("2 lines, 1 overdue on Wed 25 Mar 2026\n"),
            "{shown}"
        );
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }
}
