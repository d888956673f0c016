//! What may still be told of a job although nothing new is entered.

use super::Job;
use crate::money::Money;
use crate::stage::Stage;

impl Job {
    /// What the rider owes for what was quoted, negative when the shop owes it; `None` without a
    /// quote.
    pub fn owed(&self) -> Option<Money> {
        let account = &self.account;
        let is_quoted = !account.lines.is_empty() || account.typed_quote.is_some();
        is_quoted.then(|| account.owed())
    }

    /// What the shop has to give back: what was paid over the total, and of a bicycle that was not
    /// converted all that was paid and not invoiced.
    pub fn refund_due(&self) -> Option<Money> {
        let due = match self.stage {
            Stage::Returned | Stage::Cancelled => self.account.paid() - self.account.invoiced(),
            _ => -self.owed()?,
        };
        (due > Money::ZERO).then_some(due)
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
