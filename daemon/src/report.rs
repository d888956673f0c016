//! Reports: what the journal says, counted and put in order. Layout is the client's.

pub(crate) mod blocked;
pub(crate) mod days;
pub(crate) mod page;
pub(crate) mod promises;
pub(crate) mod standing;

#[cfg(test)]
pub(crate) mod testing;
