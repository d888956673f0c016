//! Writing entries of the shelf, and its rows that follow from them.

use lockring_domain::entry::{Entry, Event};
use lockring_domain::origin::Origin;
use lockring_domain::supply::item::Item;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::shelf::{Stock, touched};
use lockring_domain::supply::{mark_key, supplier};

use super::Tx;
use crate::error::StorageError;
use crate::{rows, stock};

impl Tx<'_> {
    pub(super) fn try_append_stock(
        &self,
        origin: &Origin,
        stored: jiff::Timestamp,
        events: &[Event],
        after: &Stock,
    ) -> Result<Vec<Entry>, StorageError> {
        let bad = |told: String| StorageError::unstorable("a change of the shelf", told);
        if events.is_empty() {
            return Err(bad("it has no event; expected at least one".into()));
        }
        let before = stock::present(self.connection)?;
        let mut folded = before.clone();
        for event in events {
            match event {
                Event::Stock(stock) => folded.take(origin, stock),
                other => return Err(bad(format!("`{}` is no entry of the shelf", other.kind()))),
            }
        }
        if folded != *after {
            return Err(bad(
                "the state given with it is not what its entries fold into".into()
            ));
        }
        let entries = self.shop_journal(origin, stored, events)?;
        // A line may be new in these very entries.
        let (mut items, mut lines) = touched(&before, events);
        let (more_items, more_lines) = touched(&folded, events);
        items.extend(more_items);
        lines.extend(more_lines);
        for item in items.iter().filter_map(|number| folded.items.get(number)) {
            self.write_item(item)?;
        }
        for line in lines.iter().filter_map(|number| folded.lines.get(number)) {
            self.write_line(line)?;
        }
        Ok(entries)
    }

    /// Writes every item and line of the stock.
    pub(crate) fn keep_stock(&self, stock: &Stock) -> Result<(), StorageError> {
        stock.items.values().try_for_each(|item| self.write_item(item))?;
        stock.lines.values().try_for_each(|line| self.write_line(line))
    }

    fn write_item(&self, item: &Item) -> Result<(), StorageError> {
        let sql = "INSERT INTO shelf_item
             (number, count, part_id, serial_key, lot_key, supplier_key, came_us, state)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)
             ON CONFLICT (number) DO UPDATE SET count = excluded.count, state = excluded.state";
        self.connection.prepare_cached(sql)?.execute((
            rows::whole(item.number)?,
            item.count,
            &item.goods.part,
            item.serial.as_deref().map(mark_key),
            item.lot.as_deref().map(mark_key),
            item.supplier.as_deref().map(supplier::key),
            item.came.as_microsecond(),
            state(item, "an item of the shelf")?,
        ))?;
        Ok(())
    }

    fn write_line(&self, line: &OrderLine) -> Result<(), StorageError> {
        let sql = "INSERT INTO shelf_line (number, settled, state) VALUES (?1, ?2, ?3)
             ON CONFLICT (number) DO UPDATE SET settled = excluded.settled, state = excluded.state";
        self.connection.prepare_cached(sql)?.execute((
            rows::whole(line.number)?,
            line.is_settled(),
            state(line, "an order line")?,
        ))?;
        Ok(())
    }
}

fn state<T: serde::Serialize>(value: &T, what: &str) -> Result<String, StorageError> {
    serde_json::to_string(value).map_err(|error| StorageError::unstorable(what, error.to_string()))
}
