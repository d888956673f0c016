//! The owner's desk: settings, rule sheet and people of the shop.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_domain::entry::Entry;
use lockring_domain::refusal::Refusal;
use lockring_domain::shop::effect::{self, Effect};
use lockring_domain::shop::{self, SHOP, ShopDraft};
use lockring_proto::v1;
use lockring_store::{Reader, Size, StorageError, Tx, WriteError};
use tonic::{Request, Response, Status};

use super::decide::{given_before, request_for};
use super::from_proto::{self, ShopAsk, ShopAsked};
use super::ledger::Ledger;
use super::reports::open_jobs;
use super::{Daemon, status, to_proto};
use crate::report::promises;
use crate::standing::zone_of;

/// The service.
pub(super) struct Desk(pub(super) Arc<Daemon>);

type Answer<T> = Result<Response<T>, Status>;

#[tonic::async_trait]
impl v1::desk_server::Desk for Desk {
    async fn promise(&self, request: Request<v1::PromiseRequest>) -> Answer<v1::JobReply> {
        let asked = from_proto::promise(request.into_inner(), Timestamp::now());
        self.0.change(asked).await
    }

    async fn tell(&self, request: Request<v1::TellRequest>) -> Answer<v1::JobReply> {
        let asked = from_proto::tell(request.into_inner(), Timestamp::now());
        self.0.change(asked).await
    }

    async fn chase(&self, request: Request<v1::ChaseRequest>) -> Answer<v1::JobReply> {
        let asked = from_proto::chase(request.into_inner(), Timestamp::now());
        self.0.change(asked).await
    }

    async fn promises(&self, request: Request<v1::PromisesRequest>) -> Answer<v1::PromisesReply> {
        let all = request.into_inner().all;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let told = promises::report(&open_jobs(reader)?, &at, Timestamp::now());
            Ok(Ok(to_proto::promises(&told, all)))
        });
        answer.await.map(Response::new)
    }

    async fn settings(&self, _: Request<v1::SettingsRequest>) -> Answer<v1::SettingsReply> {
        let answer = self.0.read(|daemon, reader| {
            let at = daemon.standing(reader)?;
            Ok(Ok(to_proto::settings(&at, Timestamp::now())))
        });
        answer.await.map(Response::new)
    }

    async fn rules(&self, request: Request<v1::RulesRequest>) -> Answer<v1::RulesReply> {
        let word = request.into_inner().word;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            Ok(Ok(to_proto::rules(&at, &word)))
        });
        answer.await.map(Response::new)
    }

    async fn set_days(&self, request: Request<v1::SetDaysRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::days(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn shut(&self, request: Request<v1::ShutRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::shut(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn reopen(&self, request: Request<v1::ReopenRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::reopen(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn set_rule(&self, request: Request<v1::SetRuleRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::rule(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn set(&self, request: Request<v1::SetRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::set(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn people(&self, _: Request<v1::PeopleRequest>) -> Answer<v1::PeopleReply> {
        let answer = self.0.read(|_, reader| {
            let shop = reader.shop()?;
            Ok(Ok(to_proto::people(&shop)))
        });
        answer.await.map(Response::new)
    }

    async fn add_person(&self, request: Request<v1::AddPersonRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::join(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn person_leaves(&self, request: Request<v1::PersonLeavesRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::leave(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn choose_units(&self, request: Request<v1::ChooseUnitsRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::choose_units(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn undo_shop(&self, request: Request<v1::UndoShopRequest>) -> Answer<v1::ShopReply> {
        let asked = from_proto::undo_shop(request.into_inner(), Timestamp::now());
        self.0.change_shop(asked).await
    }

    async fn shop_history(&self, request: Request<v1::ShopHistoryRequest>) -> Answer<v1::ShopHistoryReply> {
        let after = request.into_inner().after;
        let answer = self.0.read(move |_, reader| {
            let all = reader.entries(SHOP, 0)?;
            Ok(Ok(to_proto::shop_history(&all, after)))
        });
        answer.await.map(Response::new)
    }
}

/// The answer a change of the shop would get, and which checks of open jobs it changes.
type Tried = (v1::ShopReply, Vec<Effect>);

/// Decides what is asked of the shop, on the ledger as it stands.
fn decide(ledger: &impl Ledger, asked: &ShopAsked) -> Result<Result<ShopDraft, Refusal>, StorageError> {
    let origin = asked.origin.clone();
    Ok(match &asked.ask {
        ShopAsk::Change(command) => {
            let known_zone = |name: &str| TimeZone::get(name).is_ok();
            let last = ledger.last_seq(SHOP)?;
            let shop = Arc::unwrap_or_clone(ledger.shop()?);
            shop::command::change(shop, last, origin, command, &known_zone)
        }
        ShopAsk::Undo { seq, why } => shop::command::undo(&ledger.entries(SHOP)?, origin, *seq, why),
    })
}

impl Daemon {
    /// Does what is asked of the shop: at most once for each request id.
    pub(super) async fn change_shop(
        self: &Arc<Self>,
        asked: Result<ShopAsked, Refusal>,
    ) -> Answer<v1::ShopReply> {
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        let looked = asked.clone();
        let looked = self.look_first(asked.validate_only, move |daemon, reader| {
            daemon.try_shop(reader, &looked)
        });
        let (preview, effects) = looked.await?;
        if let Some(reply) = preview {
            return Ok(Response::new(reply));
        }
        self.write_and_tell(Size::Any, move |_, tx| write_shop(tx, &asked, &effects))
            .await
    }

    /// The answer a change of the shop would get, and which checks of open jobs it changes.
    fn try_shop(
        &self,
        reader: &Reader<'_>,
        asked: &ShopAsked,
    ) -> Result<Result<Tried, Refusal>, StorageError> {
        let at = self.standing(reader)?;
        let draft = match decide(reader, asked)? {
            Ok(draft) => draft,
            Err(refusal) => return Ok(Err(refusal)),
        };
        let (after, _) = draft.shop.rules();
        let after = after.in_zone(zone_of(&draft.shop, &self.zone));
        let mut effects = Vec::new();
        if after != at.rules {
            for job in open_jobs(reader)? {
                effects.extend(effect::effects(&job, &at.rules, &after));
            }
        }
        Ok(Ok((to_proto::shop_reply(&draft, &effects), effects)))
    }
}

/// Decides, appends and remembers the answer in one transaction.
fn write_shop(
    tx: &mut Tx<'_>,
    asked: &ShopAsked,
    effects: &[Effect],
) -> Result<(v1::ShopReply, Vec<Entry>), WriteError> {
    let request = request_for(&asked.request_id, &asked.origin, &asked.ask);
    if let Some(reply) = given_before(tx, &request)? {
        return Ok((reply, Vec::new()));
    }
    let draft = decide(tx, asked)?.map_err(WriteError::Refused)?;
    let entries = tx.append_shop(&draft.origin, Timestamp::now(), &draft.events, &draft.shop)?;
    let reply = to_proto::shop_reply(&draft, effects);
    tx.remember(&request, &to_proto::keep(&reply))?;
    Ok((reply, entries))
}
