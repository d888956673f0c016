//! The evening page on what is still to come: lines for jobs and for the shelf alike.

use std::collections::BTreeMap;

use jiff::civil::Date;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::supplier;

use crate::report::days::Days;
use crate::report::known::Known;
use crate::report::sheet::Section;

/// The job a line is for, as people read it.
fn whose(job: Option<u32>) -> String {
    job.map_or_else(|| "shelf".to_owned(), |job| job.to_string())
}

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
    let mut late: BTreeMap<String, (&str, u32, u32, Vec<Option<u32>>)> = BTreeMap::new();
    for (job, line) in known.lines() {
        let Some(by) = days.late(line) else { continue };
        let entry = late
            .entry(supplier::key(&line.supplier))
            .or_insert((&line.supplier, 0, 0, Vec::new()));
        entry.1 += 1;
        entry.2 = entry.2.max(by);
        if !entry.3.contains(&job) {
            entry.3.push(job);
        }
    }
    let mut late: Vec<_> = late.into_values().collect();
    late.sort_by_key(|(name, _, worst, _)| (std::cmp::Reverse(*worst), *name));
    for (name, lines, worst, jobs) in late {
        let jobs: Vec<String> = jobs
            .into_iter()
            .map(|job| job.map_or_else(|| whose(None), |job| format!("job {job}")))
            .collect();
        section.row([
            name.to_owned(),
            lines.to_string(),
            worst.to_string(),
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
            whose(job),
            part,
        ]);
    }
    section.or("nothing is due")
}
