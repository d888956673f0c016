//! Suppliers, goods and the shelf.

use lockring_domain::shop::{Shop, ShopDraft};
use lockring_domain::supply::supplier::Supplier;
use lockring_proto::v1;

use super::Kept;

impl Kept for v1::SupplyReply {
    const KIND: &str = "supply";
}

/// The answer to a change of the shop's supply.
pub(in crate::service) fn supply_reply(draft: &ShopDraft) -> v1::SupplyReply {
    v1::SupplyReply {
        said: draft.said.clone(),
        repeated: false,
    }
}

/// Every supplier on file, by name.
pub(in crate::service) fn supplier_list(shop: &Shop) -> v1::ListSuppliersReply {
    v1::ListSuppliersReply {
        suppliers: shop.suppliers.values().map(supplier).collect(),
    }
}

fn supplier(supplier: &Supplier) -> v1::SupplierView {
    v1::SupplierView {
        name: supplier.name.clone(),
        lead_days: supplier.lead_days,
        contact: supplier.contact.clone(),
        terms: supplier.terms.clone(),
    }
}
