//! What a job brought in, and what it cost.

use lockring_domain::command::labour_cost;
use lockring_domain::job::Job;
use lockring_domain::labour::at_rate;
use lockring_domain::money::Money;

use crate::standing::Standing;

/// The sums of one job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Sums {
    /// What the rider is to pay, credits and write-offs taken off.
    pub(crate) price: Money,
    /// The tax in it, which is not the shop's.
    pub(crate) tax: Money,
    /// Credits and write-offs.
    pub(crate) taken_off: Money,
    /// Cost of the parts, those of rework left out: as quoted, or as bought where that is more.
    pub(crate) parts: Money,
    /// Minutes of work done for the first time.
    pub(crate) minutes: i64,
    /// Minutes of work done again.
    pub(crate) rework_minutes: i64,
    /// Cost of the work done for the first time.
    pub(crate) labour: Money,
    /// Cost of what was done or bought again.
    pub(crate) rework: Money,
}

impl Sums {
    /// The sums of a job.
    pub(crate) fn of(job: &Job, at: &Standing) -> Self {
        let account = &job.account;
        let tax_rate = account.rate(at.shop.tax_rate());
        let (minutes, rework_minutes) = job.labour.minutes();
        let rate = labour_cost(&at.rules);
        let rework_parts = if job.pays_its_lines() {
            account.rework_parts_cost()
        } else {
            Money::ZERO
        };
        // Of a bicycle that was not converted only what was invoiced comes in.
        let price = job.to_pay();
        Self {
            price,
            tax: price - job.net(tax_rate),
            taken_off: account.total() - account.to_pay(),
            parts: job.parts_cost(),
            minutes,
            rework_minutes,
            labour: at_rate(rate, minutes),
            rework: at_rate(rate, rework_minutes) + rework_parts,
        }
    }

    /// Price less tax, parts, labour and rework.
    pub(crate) fn contribution(&self) -> Money {
        self.price - self.tax - self.parts - self.labour - self.rework
    }
}
