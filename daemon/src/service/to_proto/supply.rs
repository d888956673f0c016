//! Suppliers, goods and the shelf.

use std::sync::Arc;

use jiff::tz::TimeZone;
use lockring_domain::job::Job;
use lockring_domain::recalled;
use lockring_domain::shop::Shop;
use lockring_domain::supply::item::Item;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::shelf::Stock;
use lockring_domain::supply::supplier::{self, Supplier};
use lockring_proto::v1;

use super::view::fitting;
use super::{Kept, day};
use crate::report::days::Days;

impl Kept for v1::SupplyReply {
    const KIND: &str = "supply";

    fn repeated(self) -> Self {
        Self {
            repeated: true,
            ..self
        }
    }
}

/// The answer to a change of the shop's supply.
pub(in crate::service) fn supply_reply(said: &[String]) -> v1::SupplyReply {
    v1::SupplyReply {
        said: said.to_vec(),
        repeated: false,
    }
}

/// Every supplier on file, by name.
pub(in crate::service) fn supplier_list(shop: &Shop) -> v1::ListSuppliersReply {
    v1::ListSuppliersReply {
        suppliers: shop.suppliers.values().map(supplier_view).collect(),
    }
}

fn supplier_view(supplier: &Supplier) -> v1::SupplierView {
    v1::SupplierView {
        name: supplier.name.clone(),
        lead_days: supplier.lead_days,
        contact: supplier.contact.clone(),
        terms: supplier.terms.clone(),
    }
}

/// Lines that are asked for, those that are awaited before all others, the longest overdue first, then by the day they are
/// due; so many were given before.
pub(in crate::service) fn order_list(
    request: &v1::ListOrdersRequest,
    skipped: usize,
    jobs: &[Arc<Job>],
    shelf: &[OrderLine],
    days: &Days<'_>,
) -> v1::ListOrdersReply {
    let of_jobs = jobs.iter().flat_map(|job| {
        job.orders.iter().map(|line| v1::OrderLine {
            job: job.number,
            rider: job.rider.clone(),
            unwanted: job.is_unwanted(line),
            ..order_line(line, days)
        })
    });
    let of_shelf = shelf.iter().map(|line| order_line(line, days));
    let wanted = supplier::key(&request.supplier);
    let mut lines: Vec<v1::OrderLine> = of_jobs
        .chain(of_shelf)
        .filter(|line| !request.open || ["ordered", "partly here", "returned"].contains(&line.state.as_str()))
        .filter(|line| wanted.is_empty() || supplier::key(&line.supplier) == wanted)
        .filter(|line| request.job == 0 || line.job == request.job)
        .collect();
    let place = |line: &v1::OrderLine| {
        let undated = line.due.is_empty();
        let is_awaited = ["ordered", "partly here"].contains(&line.state.as_str());
        (
            !is_awaited,
            line.days_late.is_none(),
            undated,
            line.due.clone(),
            line.job,
            line.number,
        )
    };
    lines.sort_by_key(place);
    let (lines, is_cut) = fitting(lines.into_iter().skip(skipped));
    v1::ListOrdersReply {
        day: days.today().to_string(),
        next_page_token: if is_cut {
            (skipped + lines.len()).to_string()
        } else {
            String::new()
        },
        lines,
    }
}

fn order_line(line: &OrderLine, days: &Days<'_>) -> v1::OrderLine {
    let promised_before = line.slips.iter().map(|slip| day(slip.from));
    v1::OrderLine {
        job: 0,
        number: line.number,
        slot: line.slot.map_or("", |slot| slot.word()).to_owned(),
        part: line.goods.part.clone(),
        name: line.goods.name.clone(),
        count: line.count,
        supplier: line.supplier.clone(),
        ordered_us: line.at.as_microsecond(),
        due: day(line.due),
        promised_before: promised_before.filter(|day| !day.is_empty()).collect(),
        price_minor: line.price.map(|price| price.0),
        came: line.came,
        came_us: line.came_at.map(|at| at.as_microsecond()),
        returned: line.returned,
        returned_because: line.returned_because.clone().unwrap_or_default(),
        credited_minor: line.credited.0,
        cancelled_because: line.cancelled.clone().unwrap_or_default(),
        state: line.state().word().to_owned(),
        days_late: days.late(line),
        unwanted: false,
        rider: String::new(),
    }
}

/// What lies on the shelf, by kind and part, the oldest first.
pub(in crate::service) fn shelf_list(stock: &Stock, shop: &Shop, zone: &TimeZone) -> v1::ListShelfReply {
    let mut items: Vec<&Item> = stock.items.values().filter(|item| item.count > 0).collect();
    items.sort_by_key(|item| (item.goods.kind, item.goods.part.clone(), item.number));
    v1::ListShelfReply {
        items: items
            .into_iter()
            .map(|item| shelf_item(item, recalled::on_item(shop, zone, item)))
            .collect(),
    }
}

fn shelf_item(item: &Item, recalls: Vec<String>) -> v1::ShelfItem {
    v1::ShelfItem {
        item: item.number,
        kind: item.goods.kind.word().to_owned(),
        part: item.goods.part.clone(),
        name: item.goods.name.clone(),
        count: item.count,
        serial: item.serial.clone().unwrap_or_default(),
        lot: item.lot.clone().unwrap_or_default(),
        supplier: item.supplier.clone().unwrap_or_default(),
        came_us: item.came.as_microsecond(),
        kept_for: item.kept_for.unwrap_or_default(),
        damage: item.seen.damaged().unwrap_or_default().to_owned(),
        from_job: item.from_job.unwrap_or_default(),
        recalls,
        found: item
            .seen
            .found
            .iter()
            .map(|(key, value)| match item.goods.kind.attribute(key) {
                Some(attribute) => format!("{key} {}", attribute.field.show(value)),
                None => key.clone(),
            })
            .collect(),
    }
}
