//! Reports: what the journal says, counted and put in order. Layout is the client's.

pub(crate) mod blocked;
pub(crate) mod classes;
pub(crate) mod days;
pub(crate) mod evening;
pub(crate) mod history;
pub(crate) mod known;
pub(crate) mod money;
pub(crate) mod promises;
pub(crate) mod quantile;
pub(crate) mod recalled;
pub(crate) mod sheet;
pub(crate) mod standing;
pub(crate) mod swapped;
#[cfg(test)]
pub(crate) mod testing;
pub(crate) mod week;
