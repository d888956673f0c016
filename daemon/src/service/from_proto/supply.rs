//! What is asked about suppliers, goods and the shelf.

use jiff::Timestamp;
use lockring_domain::entry::Origin;
use lockring_domain::refusal::Refusal;
use lockring_domain::supply::supplier::SupplierText;
use lockring_proto::v1;

use super::asker;

/// What is asked of the shop's supply.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) enum SupplyAsk {
    /// A supplier added or changed.
    Supplier {
        /// What is said of it.
        text: SupplierText,
        /// It must not be on file yet.
        is_new: bool,
    },
}

/// A change as asked.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) struct SupplyAsked {
    /// Chosen by the client.
    pub(in crate::service) request_id: String,
    /// Who, where, when.
    pub(in crate::service) origin: Origin,
    /// Decide and answer, store nothing.
    pub(in crate::service) validate_only: bool,
    /// What is asked.
    pub(in crate::service) ask: SupplyAsk,
}

fn asks(origin: Option<v1::Origin>, now: Timestamp, ask: SupplyAsk) -> Result<SupplyAsked, Refusal> {
    let asker = asker(origin, now)?;
    Ok(SupplyAsked {
        request_id: asker.request_id,
        origin: asker.origin,
        validate_only: asker.validate_only,
        ask,
    })
}

/// A supplier added or changed.
pub(in crate::service) fn supplier(
    request: v1::SetSupplierRequest,
    now: Timestamp,
) -> Result<SupplyAsked, Refusal> {
    let text = SupplierText {
        name: request.name,
        lead: request.lead,
        contact: request.contact,
        terms: request.terms,
    };
    let is_new = request.is_new;
    asks(request.origin, now, SupplyAsk::Supplier { text, is_new })
}
