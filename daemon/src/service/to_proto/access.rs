//! Pairs of benches and persons, in the contract's words.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_domain::shop::{Shop, ShopDraft};
use lockring_proto::v1;

use super::desk::said;
use crate::network::Standing;
use crate::network::authority::{Authority, Signed};

/// A pair that was made: the last of the draft's shop.
pub(in crate::service) fn pair_made(
    draft: &ShopDraft,
    signed: &Signed,
    authority: &Authority,
) -> v1::MakePairReply {
    let address = draft.shop.bench_address();
    let made = draft.shop.pairs.last_key_value();
    let (number, bench, person, until_us) = made.map_or_else(Default::default, |(number, pair)| {
        (
            *number,
            pair.bench.clone(),
            pair.person.clone(),
            pair.until.as_microsecond(),
        )
    });
    v1::MakePairReply {
        number,
        bench,
        person,
        until_us,
        address: address.map_or_else(String::new, |address| address.to_string()),
        server_name: authority.server_name().to_owned(),
        certificate: signed.pem.clone(),
        authority: authority.pem().to_owned(),
        said: draft.said.clone(),
        repeated: false,
    }
}

/// All pairs, oldest first.
pub(in crate::service) fn pairs(shop: &Shop, standing: Standing, now: Timestamp) -> v1::ListPairsReply {
    let day = |at: Timestamp| at.to_zoned_datetime(TimeZone::UTC).date();
    let is_here = |person: &str| {
        shop.people
            .get(person)
            .is_some_and(|person| person.left.is_none())
    };
    let views = shop.pairs.iter().map(|(number, pair)| v1::PairView {
        number: *number,
        bench: pair.bench.clone(),
        person: pair.person.clone(),
        fingerprint: pair.fingerprint.clone(),
        made_us: pair.made.as_microsecond(),
        by: pair.by.clone(),
        until_us: pair.until.as_microsecond(),
        // It ends as its last day does.
        days_left: (day(pair.until) - day(now)).get_days() - 1,
        revoked: pair.revoked.as_ref().map(said),
        person_left: !is_here(&pair.person),
    });
    v1::ListPairsReply {
        address: shop
            .bench_address()
            .map_or_else(String::new, |address| address.to_string()),
        pairs: views.collect(),
        served: matches!(standing, Standing::Served(_)),
        trouble: match standing {
            Standing::Trouble(why) => why,
            _ => String::new(),
        },
    }
}
