//! Pairs: certificates of benches that reach the shop over the network, made and revoked.

use std::sync::Arc;

use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use lockring_domain::entry::Entry;
use lockring_domain::shop::command::ShopCommand;
use lockring_domain::shop::{self, SHOP, pair};
use lockring_proto::v1;
use lockring_store::{Size, Tx, WriteError};
use tonic::{Request, Response, Status};

use super::decide::{given_before, request_for};
use super::from_proto::{self, PairAsked};
use super::{Daemon, status, to_proto};
use crate::network::authority::{Authority, Signed};

/// The service.
pub(super) struct Access(pub(super) Arc<Daemon>);

type Answer<T> = Result<Response<T>, Status>;

#[tonic::async_trait]
impl v1::access_server::Access for Access {
    async fn make_pair(&self, request: Request<v1::MakePairRequest>) -> Answer<v1::MakePairReply> {
        let asked = from_proto::pair(request.into_inner(), Timestamp::now());
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        self.0.make_pair(asked).await
    }

    async fn list_pairs(&self, _: Request<v1::ListPairsRequest>) -> Answer<v1::ListPairsReply> {
        let shop = self.0.known_shop().await?;
        Ok(Response::new(to_proto::pairs(
            &shop,
            self.0.network.standing(),
            Timestamp::now(),
        )))
    }

    async fn revoke_pair(&self, request: Request<v1::RevokePairRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::revoke_pair(request.into_inner(), Timestamp::now());
        let answer = self.0.change_shop(asked).await?;
        let (shop, now) = (self.0.known_shop().await?, Timestamp::now());
        self.0.network.break_off(|print| shop.guest(print, now).is_ok());
        // A backup made before must not let it in again.
        let keeper = self.0.clone();
        let listed = tokio::task::spawn_blocking(move || keeper.store.list_revoked()).await;
        if let Err(error) = listed.map_err(|error| status::broken(&error))? {
            tracing::error!(%error, "the list of revoked pairs beside the backups is not written; the next backup writes it");
        }
        Ok(answer)
    }
}

impl Daemon {
    /// Signs a bench's key and enters the pair: at most once for each request id.
    async fn make_pair(self: &Arc<Self>, asked: PairAsked) -> Answer<v1::MakePairReply> {
        // Who may, before a key is signed; inside the transaction it is decided again.
        let shop = self.known_shop().await?;
        let admitted = shop
            .owner(&asked.origin.by, "pairing a bench")
            .and_then(|_| pair::may_pair(&shop, &asked.person));
        admitted.map_err(|refusal| status::refused(&refusal))?;
        let keeper = self.clone();
        let signing = tokio::task::spawn_blocking(move || {
            let authority = keeper.network.authority()?;
            let now = Timestamp::now();
            let days = Span::new().days(i64::from(asked.days) + 1);
            let until = now.to_zoned_datetime(TimeZone::UTC).date().saturating_add(days);
            let signed = authority.sign(&asked.bench, &asked.person, &asked.public_key, now, until)?;
            let until = until
                .to_zoned_datetime(TimeZone::UTC)
                .map_err(|error| crate::network::authority::Trouble::Broken(error.to_string()))?;
            Ok((asked, authority, signed, until.timestamp()))
        });
        let signed: Result<_, crate::network::authority::Trouble> =
            signing.await.map_err(|error| status::broken(&error))?;
        let (asked, authority, signed, until) = signed.map_err(|trouble| status::no_authority(&trouble))?;
        self.write_and_tell(Size::Any, move |_, tx| {
            write_pair(tx, &asked, &authority, &signed, until)
        })
        .await
    }
}

/// Decides, appends and remembers the answer in one transaction.
fn write_pair(
    tx: &mut Tx<'_>,
    asked: &PairAsked,
    authority: &Authority,
    signed: &Signed,
    until: Timestamp,
) -> Result<(v1::MakePairReply, Vec<Entry>), WriteError> {
    let PairAsked {
        bench,
        person,
        days,
        public_key,
        ..
    } = asked;
    let request = request_for(
        &asked.request_id,
        &asked.origin,
        &(bench, person, days, public_key),
    );
    if let Some(reply) = given_before(tx, &request)? {
        return Ok((reply, Vec::new()));
    }
    let command = ShopCommand::Pair {
        bench: bench.clone(),
        person: person.clone(),
        fingerprint: signed.fingerprint.clone(),
        until,
    };
    let last = tx.last_seq(SHOP)?;
    let draft = shop::command::change(
        Arc::unwrap_or_clone(tx.shop()?),
        last,
        asked.origin.clone(),
        &command,
        &|_| false,
    );
    let draft = draft.map_err(WriteError::Refused)?;
    let reply = to_proto::pair_made(&draft, signed, authority);
    if asked.validate_only {
        // An empty certificate: nothing was entered that it could stand for.
        let tried = v1::MakePairReply {
            certificate: String::new(),
            ..reply
        };
        return Ok((tried, Vec::new()));
    }
    let entries = tx.append_shop(&draft.origin, Timestamp::now(), &draft.events, &draft.shop)?;
    tx.remember(&request, &to_proto::keep(&reply))?;
    Ok((reply, entries))
}
