//! Order lines: what was ordered, from whom, for when, and what became of it.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::calendar::Calendar;
use crate::money::Money;
use crate::part::{Part, PartKind, Slot};

/// A line of an order: for a slot of a job, or for the shelf.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderLine {
    /// Number within the job, or among the lines for the shelf.
    pub number: u64,
    /// The slot it is for; `None` for the shelf.
    pub slot: Option<Slot>,
    /// The part.
    pub goods: Goods,
    /// How many were ordered.
    pub count: u32,
    /// Supplier.
    pub supplier: String,
    /// When it was ordered.
    pub at: Timestamp,
    /// Promised day of arrival, as it stands now.
    pub due: Option<Date>,
    /// Days that were promised before, oldest first.
    pub slips: Vec<Slip>,
    /// Price of one.
    pub price: Option<Money>,
    /// How many arrived.
    pub came: u32,
    /// When the last of them arrived.
    pub came_at: Option<Timestamp>,
    /// How many of them went back.
    pub returned: u32,
    /// Why they went back, the last reason.
    pub returned_because: Option<String>,
    /// What the supplier paid back.
    pub credited: Money,
    /// Why the rest is no longer awaited.
    pub cancelled: Option<String>,
}

/// A part as order lines, pieces and the shelf name it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Goods {
    /// Id in the catalogue.
    pub part: String,
    /// Kind.
    pub kind: PartKind,
    /// What it is called.
    pub name: String,
}

impl From<&Part> for Goods {
    fn from(part: &Part) -> Self {
        Self {
            part: part.id.clone(),
            kind: part.kind,
            name: part.name().to_owned(),
        }
    }
}

/// A promised day that was moved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slip {
    /// The day promised before.
    pub from: Option<Date>,
    /// When that was told.
    pub at: Timestamp,
    /// Why.
    pub why: String,
}

/// Where a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineState {
    /// Nothing arrived yet.
    Ordered,
    /// Some of it arrived.
    Partly,
    /// All of it is here, or the rest was cancelled.
    Here,
    /// What came went back; the supplier has paid nothing for it yet.
    Returned,
    /// What came went back and was paid for.
    Credited,
    /// Nothing came and nothing is awaited.
    Cancelled,
}

impl LineState {
    /// The word people read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ordered => "ordered",
            Self::Partly => "partly here",
            Self::Here => "here",
            Self::Returned => "returned",
            Self::Credited => "credited",
            Self::Cancelled => "cancelled",
        }
    }
}

impl OrderLine {
    /// A line just ordered: nothing came of it yet, and neither day nor price is told.
    pub fn new(
        number: u64,
        slot: Option<Slot>,
        goods: Goods,
        count: u32,
        supplier: String,
        at: Timestamp,
    ) -> Self {
        Self {
            number,
            slot,
            goods,
            count,
            supplier,
            at,
            due: None,
            slips: Vec::new(),
            price: None,
            came: 0,
            came_at: None,
            returned: 0,
            returned_because: None,
            credited: Money::ZERO,
            cancelled: None,
        }
    }

    /// The day of arrival that was promised first.
    pub fn first_due(&self) -> Option<Date> {
        self.slips.first().map_or(self.due, |slip| slip.from)
    }

    /// How many are still awaited.
    pub fn awaited(&self) -> u32 {
        if self.cancelled.is_some() {
            0
        } else {
            self.count.saturating_sub(self.came)
        }
    }

    /// Whether something is still awaited.
    pub fn is_open(&self) -> bool {
        self.awaited() > 0
    }

    /// Whether the supplier owes money for what went back.
    pub fn awaits_credit(&self) -> bool {
        self.state() == LineState::Returned
    }

    /// Whether nothing is awaited and the supplier owes nothing.
    pub fn is_settled(&self) -> bool {
        !self.is_open() && !self.awaits_credit()
    }

    /// Where it stands.
    pub fn state(&self) -> LineState {
        if self.is_open() {
            return if self.came == 0 {
                LineState::Ordered
            } else {
                LineState::Partly
            };
        }
        match (self.came, self.returned) {
            (0, _) => LineState::Cancelled,
            (_, 0) => LineState::Here,
            _ if self.is_credited() => LineState::Credited,
            _ => LineState::Returned,
        }
    }

    /// Whether each piece that went back may have been paid for: a supplier may give less than the price of one, never more,
    /// so that what was credited tells of how many pieces it is at the least. Where no price is on file nobody can tell
    /// more than that something was paid.
    fn is_credited(&self) -> bool {
        let paid = self.price.filter(|price| *price > Money::ZERO);
        let of_others = paid.map_or(Money::ZERO, |price| price.times(self.returned.saturating_sub(1)));
        self.credited > of_others
    }

    /// The day it was promised for, when that is past and something is still awaited.
    pub fn missed(&self, today: Date) -> Option<Date> {
        self.due.filter(|due| self.is_open() && *due < today)
    }

    /// Working days past the promised day; `None` when it is not late or nothing is awaited.
    pub fn days_late(&self, calendar: &Calendar, today: Date) -> Option<u32> {
        let due = self.missed(today)?;
        Some(calendar.working_days_between(due, today))
    }

    /// Another day is promised.
    pub fn moved(&mut self, due: Date, at: Timestamp, why: &str) {
        let slip = Slip {
            from: self.due,
            at,
            why: why.to_owned(),
        };
        self.slips.push(slip);
        self.due = Some(due);
    }

    /// So many arrived.
    pub fn arrived(&mut self, count: u32, at: Timestamp) {
        self.came += count;
        self.came_at = Some(at);
    }

    /// A line of which all came and went back: what came by way of a job or the shelf has none of its own there, and its
    /// supplier owes for it all the same.
    #[must_use]
    pub fn owed(mut self, price: Option<Money>, why: &str) -> Self {
        let (count, at) = (self.count, self.at);
        self.price = price;
        self.arrived(count, at);
        self.went_back(count, why);
        self
    }

    /// Whether it only says what a supplier owes for what came by way of a job or the shelf: no delivery is told by it.
    pub fn is_owed_only(&self) -> bool {
        self.came_at == Some(self.at) && self.returned == self.came && self.due.is_none()
    }

    /// Whether it costs the shop something: some of it is awaited, or came and did not go back.
    pub fn is_to_be_paid(&self) -> bool {
        self.is_open() || self.came > self.returned
    }

    /// What may still be credited at the most: the price of what went back less what was credited for it. `None` where no
    /// price is on file, or none was paid, as for a sample: what its supplier gives for it nobody knows before.
    pub fn open_credit(&self) -> Option<Money> {
        let paid = self.price.filter(|price| *price > Money::ZERO);
        paid.map(|price| price.times(self.returned) - self.credited)
    }

    /// Whether something went back for which the supplier may still pay, as far as anybody can tell: without a price that is
    /// known of one piece only.
    pub fn may_be_credited(&self) -> bool {
        let is_open = match self.open_credit() {
            Some(open) => open > Money::ZERO,
            None => self.returned > 1 || self.credited == Money::ZERO,
        };
        self.returned > 0 && is_open
    }

    /// So many went back.
    pub fn went_back(&mut self, count: u32, why: &str) {
        self.returned += count;
        self.returned_because = Some(why.to_owned());
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use jiff::civil::date;

    use super::*;

    /// Six displays from an invented supplier, due on Friday 13 March 2026.
    pub(crate) fn line() -> OrderLine {
        let goods = Goods {
            part: "disp-1".into(),
            kind: PartKind::Display,
            name: "display".into(),
        };
        OrderLine {
            due: Some(date(2026, 3, 13)),
            price: Some(Money(7_400)),
            ..OrderLine::new(1, None, goods, 6, "N".into(), Timestamp::UNIX_EPOCH)
        }
    }

    #[test]
    fn a_line_goes_through_its_states_in_the_words_of_the_trade() {
        let mut line = line();
        assert_eq!((line.state(), line.awaited()), (LineState::Ordered, 6));
        line.arrived(4, Timestamp::UNIX_EPOCH);
        assert_eq!((line.state(), line.awaited()), (LineState::Partly, 2));
        line.arrived(2, Timestamp::UNIX_EPOCH);
        assert_eq!((line.state(), line.is_open()), (LineState::Here, false));
        line.went_back(1, "dead on arrival");
        assert!(line.awaits_credit());
        line.credited = Money(7_400);
        assert_eq!(line.state(), LineState::Credited);
        // A second one goes back: the credit for the first settles nothing of it.
        line.went_back(1, "dead on arrival");
        assert_eq!((line.state(), line.is_settled()), (LineState::Returned, false));
        assert!(line.awaits_credit() && line.may_be_credited());
        // The supplier keeps 10.00 of 74.00 for its trouble.
        line.credited = Money(7_400 + 6_400);
        assert_eq!((line.state(), line.is_settled()), (LineState::Credited, true));
        let mut never = self::line();
        never.cancelled = Some("not made any more".into());
        assert_eq!((never.state(), never.awaited()), (LineState::Cancelled, 0));
        // What came before the rest was cancelled is here.
        never.came = 2;
        assert_eq!(never.state(), LineState::Here);
    }

    #[test]
    fn what_is_owed_for_a_piece_of_the_shelf_is_no_delivery_and_what_went_back_is_not_paid_for() {
        let at = "2026-03-10T09:00:00Z".parse().unwrap();
        let mut bought = OrderLine { at, ..line() };
        assert!(bought.is_to_be_paid() && !bought.is_owed_only());
        bought.arrived(6, "2026-03-13T09:00:00Z".parse().unwrap());
        assert!(bought.is_to_be_paid() && !bought.is_owed_only());
        bought.went_back(6, "dead on arrival");
        assert!(!bought.is_to_be_paid() && !bought.is_owed_only());
        let mut never = line();
        never.cancelled = Some("not made any more".into());
        assert!(!never.is_to_be_paid());
        let owed = OrderLine::new(2, None, bought.goods, 1, "N".into(), at);
        let owed = owed.owed(Some(Money(7_400)), "dead on arrival");
        assert!(owed.is_owed_only() && !owed.is_to_be_paid());
    }

    /// 13 March 2026 is a Friday (Gregorian calendar).
    #[test]
    fn lateness_counts_working_days_after_the_day_as_it_stands() {
        let calendar = Calendar::default();
        let mut line = line();
        assert_eq!(line.days_late(&calendar, date(2026, 3, 13)), None);
        assert_eq!(line.days_late(&calendar, date(2026, 3, 15)), Some(0));
        assert_eq!(line.days_late(&calendar, date(2026, 3, 17)), Some(2));
        line.moved(date(2026, 3, 16), Timestamp::UNIX_EPOCH, "ship late");
        assert_eq!(line.days_late(&calendar, date(2026, 3, 17)), Some(1));
        assert_eq!(line.slips[0].from, Some(date(2026, 3, 13)));
        line.arrived(6, Timestamp::UNIX_EPOCH);
        assert_eq!(line.days_late(&calendar, date(2026, 3, 17)), None);
    }
}
