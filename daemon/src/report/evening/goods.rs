//! The evening page on what is still to come: lines for jobs and for the shelf alike.

use std::collections::BTreeMap;

use jiff::civil::Date;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::supplier;

use crate::report::days::Days;
use crate::report::known::Known;
use crate::report::sheet::Section;

/// A line with the job it is for and the working days it is late.
type Late<'a> = (Option<u32>, &'a OrderLine, u32);

/// Overdue lines by supplier, the worst first.
pub(super) fn overdue(known: &Known, days: &Days<'_>) -> Section {
    let mut section = Section::new(
        "overdue",
        "Overdue by supplier",
        &[
            ("supplier", "supplier", ""),
            ("lines", "lines", ""),
            ("late_most_days", "late, worst", "working days"),
            ("jobs", "for", ""),
        ],
    );
    let mut by_supplier: BTreeMap<String, Vec<Late<'_>>> = BTreeMap::new();
    for (job, line) in known.lines() {
        if let Some(late) = days.late(line) {
            let lines = by_supplier.entry(supplier::key(&line.supplier)).or_default();
            lines.push((job, line, late));
        }
    }
    let worst = |lines: &[Late<'_>]| lines.iter().map(|(_, _, late)| *late).max();
    let mut by_supplier: Vec<_> = by_supplier.into_values().collect();
    by_supplier.sort_by_key(|lines| (std::cmp::Reverse(worst(lines)), lines[0].1.supplier.clone()));
    for lines in by_supplier {
        let mut jobs: Vec<String> = lines
            .iter()
            .map(|(job, _, _)| job.map_or_else(|| "shelf".to_owned(), |job| format!("job {job}")))
            .collect();
        jobs.dedup();
        section.row([
            lines[0].1.supplier.clone(),
            lines.len().to_string(),
            worst(&lines).unwrap_or(0).to_string(),
            jobs.join(", "),
        ]);
    }
    section.or("nothing is overdue")
}

/// Lines due by the next working day, overdue ones first.
pub(super) fn arrivals(known: &Known, days: &Days<'_>) -> Section {
    let mut section = Section::new(
        "arrivals",
        "Arrivals due",
        &[
            ("supplier", "supplier", ""),
            ("due", "due", ""),
            ("late_days", "late", "working days"),
            ("job", "job", ""),
            ("part", "part", ""),
        ],
    );
    let next = days.next_working_day().unwrap_or_else(|| days.today());
    let mut rows: Vec<(Date, &str, Option<u32>, &OrderLine)> = Vec::new();
    for (job, line) in known.lines().filter(|(_, line)| line.is_open()) {
        if let Some(due) = line.due.filter(|due| *due <= next) {
            rows.push((due, &line.supplier, job, line));
        }
    }
    rows.sort_by_key(|(due, supplier, job, line)| {
        (*due, *supplier, job.is_none(), *job, line.slot, line.number)
    });
    for (due, supplier, job, line) in rows {
        let part = match line.slot {
            Some(slot) => slot.word().to_owned(),
            None => format!("{} x {}", line.awaited(), line.goods.name),
        };
        section.row([
            supplier.to_owned(),
            due.to_string(),
            days.late(line).unwrap_or(0).to_string(),
            job.map_or_else(|| "shelf".to_owned(), |job| job.to_string()),
            part,
        ]);
    }
    section.or("nothing is due")
}
