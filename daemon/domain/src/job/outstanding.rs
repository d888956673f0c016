//! What may still be told of a job although nothing new is entered.

use super::Job;
use crate::account::QuoteLine;
use crate::money::Money;
use crate::stage::Stage;
use crate::tax::TaxRate;

impl Job {
    /// Whether its bicycle went back, or was never begun: of what was quoted only what was invoiced is to be paid.
    pub fn is_given_up(&self) -> bool {
        matches!(self.stage, Stage::Returned | Stage::Cancelled)
    }

    /// What there is to pay in all: what was quoted less what was taken off; of a bicycle that was not converted what
    /// was invoiced.
    pub fn to_pay(&self) -> Money {
        if self.is_given_up() {
            self.account.still_invoiced()
        } else {
            self.account.to_pay()
        }
    }

    /// Whether it is the lines as they stand that the rider pays for: of a bicycle that was not converted, where they are what
    /// was invoiced.
    pub fn pays_its_lines(&self) -> bool {
        !self.is_given_up() || self.account.invoice_stands()
    }

    /// Whether a line of the quote asks for a part that is no longer in the slot it was quoted for. Of a line that names no
    /// slot nobody knows.
    pub fn asks_for_what_left(&self, line: &QuoteLine) -> bool {
        line.of.as_ref().is_some_and(|of| {
            let held = self.build.get(&of.slot);
            held.is_none_or(|held| held.part.id != of.part)
        })
    }

    /// What of [`Job::to_pay`] is the shop's once a tax is out: parted line by line as the invoice was. Where the lines are no
    /// longer those that were invoiced, what was asked for is parted as one amount.
    pub fn net(&self, rate: Option<TaxRate>) -> Money {
        if self.pays_its_lines() {
            return self.account.net(rate);
        }
        let price = self.to_pay();
        rate.map_or(price, |rate| rate.net_in(price))
    }

    /// What there is to pay less what is paid; negative when the shop has more of the rider's money.
    pub fn balance(&self) -> Money {
        self.to_pay() - self.account.paid()
    }

    /// The balance where it can be told: `None` while nothing is quoted to pay for.
    pub fn owed(&self) -> Option<Money> {
        let account = &self.account;
        let is_quoted = !account.lines.is_empty() || account.typed_quote.is_some();
        let is_told = is_quoted || (self.is_given_up() && self.balance() != Money::ZERO);
        is_told.then(|| self.balance())
    }

    /// What the shop has to give back.
    pub fn refund_due(&self) -> Option<Money> {
        self.owed().filter(|owed| owed.is_negative()).map(|owed| -owed)
    }

    /// Whether somebody may still have to act on it: while it is open, and afterwards for a clock
    /// that runs, goods or credit that are awaited, parts that went nowhere, money to collect or to
    /// give back, a first check to make. A part that an old entry swapped went to whoever paid: nobody was asked. What is not outstanding is told again only when something is entered.
    pub fn is_outstanding(&self) -> bool {
        let runs = || self.labour.stints.iter().any(|stint| stint.to.is_none());
        let awaits = || self.orders.iter().any(|line| !line.is_settled());
        let owes = || self.owed().is_some_and(|owed| owed > Money::ZERO);
        let to_check = || self.day("first-check").is_some() && !self.after.first_check_made();
        let afterwards = || self.stage == Stage::HandedOver && (owes() || to_check());
        let lies = || self.loose().next().is_some() || self.left_over().next().is_some();
        let gives_back = || self.refund_due().is_some();
        !self.stage.is_end() || runs() || awaits() || lies() || gives_back() || afterwards()
    }
}
