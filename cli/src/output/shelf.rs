//! What lies on the shelf.

use lockring_proto::v1::ShelfItem;

use crate::command_error::CommandError;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, times};

/// Prints what lies on the shelf.
pub(crate) fn print(out: &mut Out<'_>, items: &[ShelfItem]) -> Result<(), CommandError> {
    if items.is_empty() {
        return out.words_and_command(
            "",
            "Nothing lies on the shelf",
            "lockring order shelf PART --from SUPPLIER",
        );
    }
    let mut table = Table::new(["item", "count", "what", "marks", "came", "kept for"]);
    for item in items {
        let marks = [&item.serial, &item.lot]
            .into_iter()
            .filter(|mark| !mark.is_empty());
        let marks: Vec<&str> = marks.map(String::as_str).collect();
        let from = match (item.from_job, item.supplier.as_str()) {
            (0, "") => String::new(),
            (0, supplier) => format!("\nfrom {supplier}"),
            (job, _) => format!("\nfrom job {job}"),
        };
        let kept = match item.kept_for {
            0 => String::new(),
            job => format!("job {job}"),
        };
        table.row([
            item.item.to_string().into(),
            item.count.to_string().into(),
            what(item),
            marks.join("\n").into(),
            format!("{}{from}", times::date(item.came_us, &out.look.zone)).into(),
            kept.into(),
        ]);
    }
    table.print(out)
}

fn what(item: &ShelfItem) -> Cell<'static> {
    let mut lines = vec![item.name.clone(), item.part.clone()];
    if !item.damage.is_empty() {
        lines.push(format!("x damaged: {}", item.damage));
    }
    lines.extend(item.recalls.iter().map(|recall| format!("x {recall}")));
    let paint = match (lines.len(), item.found.is_empty()) {
        (2, true) => return lines.join("\n").into(),
        (2, false) => Paint::Caution,
        _ => Paint::Bad,
    };
    lines.extend(item.found.iter().map(|found| format!("! read off it: {found}")));
    Cell::painted(lines.join("\n"), paint)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    #[test]
    fn each_item_says_what_it_is_whence_and_for_whom() {
        let item = ShelfItem {
            item: 17,
            part: "pack-13s4p".into(),
            name: "pack 48 V 13.0 Ah, frame mount, with a long name".into(),
            count: 1,
            serial: "40117".into(),
            lot: "PK-2511-C".into(),
            supplier: "wholesaler N".into(),
            came_us: 1_773_400_000_000_000,
            kept_for: 21,
            damage: "dent at a corner".into(),
            found: vec!["series 14".into()],
            recalls: vec!["recall 2 (cells overheat)".into()],
            ..ShelfItem::default()
        };
        let shown = text(80, |out| print(out, &[item]));
        for part in [
            "17",
            "PK-2511-C",
            "job 21",
            "x damaged: dent",
            "x recall 2",
            "! read off it: series 14",
            "2026-03-13",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
        assert!(text(80, |out| print(out, &[])).contains("lockring order shelf"));
    }
}
