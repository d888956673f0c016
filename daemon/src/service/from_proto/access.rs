//! Requests about pairs of benches and persons.

use jiff::Timestamp;
use lockring_domain::origin::Origin;
use lockring_domain::refusal::Refusal;
use lockring_domain::shop::command::ShopCommand;
use lockring_domain::shop::pair;
use lockring_proto::v1;

use super::desk::asks;
use super::{ShopAsk, ShopAsked, asker, bad};
use crate::network::authority::is_point;

/// A bench and a person to be paired.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) struct PairAsked {
    /// Chosen by the client; a retry carries the same.
    pub(in crate::service) request_id: String,
    /// Who, where, when.
    pub(in crate::service) origin: Origin,
    /// Decide and answer, store nothing.
    pub(in crate::service) validate_only: bool,
    /// The bench.
    pub(in crate::service) bench: String,
    /// Initials.
    pub(in crate::service) person: String,
    /// How many days it lasts.
    pub(in crate::service) days: u32,
    /// The bench's public key.
    pub(in crate::service) public_key: Vec<u8>,
}

/// A bench and a person to be paired.
pub(in crate::service) fn pair(request: v1::MakePairRequest, now: Timestamp) -> Result<PairAsked, Refusal> {
    let v1::MakePairRequest {
        origin,
        bench,
        person,
        days,
        public_key,
    } = request;
    let asker = asker(origin, now)?;
    if !is_point(&public_key) {
        let problem = format!(
            "{} bytes are no public key; expected an uncompressed point of the curve P-256, 65 bytes that \
             begin with 4",
            public_key.len()
        );
        return Err(bad("public_key", &problem));
    }
    Ok(PairAsked {
        request_id: asker.request_id,
        origin: asker.origin,
        validate_only: asker.validate_only,
        bench: pair::bench_name(&bench)?,
        person: person.trim().to_owned(),
        days: pair::days(days)?,
        public_key,
    })
}

/// A pair to be revoked.
pub(in crate::service) fn revoke_pair(
    request: v1::RevokePairRequest,
    now: Timestamp,
) -> Result<ShopAsked, Refusal> {
    let v1::RevokePairRequest { origin, number, why } = request;
    let command = ShopCommand::RevokePair { number, why };
    asks(origin, now, ShopAsk::Change(command))
}
