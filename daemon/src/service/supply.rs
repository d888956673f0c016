//! Suppliers, order lines of the shelf, goods, the shelf and recalls.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::entry::Entry;
use lockring_domain::origin::Origin;
use lockring_domain::recalled;
use lockring_domain::refusal::Refusal;
use lockring_domain::shop::{SHOP, ShopDraft};
use lockring_domain::shop::{recalls, suppliers};
use lockring_domain::supply::recall::{Find, FindText, Found};
use lockring_domain::supply::shelf::StockDraft;
use lockring_domain::supply::stocking::{self, Shelving};
use lockring_proto::v1;
use lockring_store::{Reader, Size, StorageError, Tx, WriteError};
use tonic::{Request, Response, Status};

use super::decide::{given_before, no_such_job, request_for};
use super::from_proto::supply::{self as asked, SupplyAsk, SupplyAsked};
use super::ledger::{Ledger, at_desk};
use super::{Daemon, status, to_proto};
use crate::standing::Standing;

/// The service.
pub(super) struct Supply(pub(super) Arc<Daemon>);

type Answer<T> = Result<Response<T>, Status>;

#[tonic::async_trait]
impl v1::supply_server::Supply for Supply {
    async fn set_supplier(&self, request: Request<v1::SetSupplierRequest>) -> Answer<v1::SupplyReply> {
        self.0
            .supply(asked::supplier(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn list_suppliers(&self, _: Request<v1::ListSuppliersRequest>) -> Answer<v1::ListSuppliersReply> {
        let list = self.0.read(|_, reader| {
            let shop = reader.shop()?;
            Ok(Ok(to_proto::supplier_list(&shop)))
        });
        list.await.map(Response::new)
    }

    async fn move_order(&self, request: Request<v1::MoveOrderRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(asked::move_order(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn cancel_order(&self, request: Request<v1::CancelOrderRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(asked::cancel_order(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn return_part(&self, request: Request<v1::ReturnPartRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(asked::return_part(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn credit(&self, request: Request<v1::CreditRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(asked::credit(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn substitute(&self, request: Request<v1::SubstituteRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(asked::substitute(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn list_orders(&self, request: Request<v1::ListOrdersRequest>) -> Answer<v1::ListOrdersReply> {
        let request = request.into_inner();
        let skipped = asked::lines_skipped(&request).map_err(|refusal| status::refused(&refusal))?;
        let list = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let jobs = reader.jobs_with_orders(request.open)?;
            let stock = if request.open {
                reader.stock()?
            } else {
                reader.whole_stock()?
            };
            let shelf: Vec<_> = stock.lines.into_values().collect();
            let days = at.days(Timestamp::now());
            Ok(Ok(to_proto::order_list(&request, skipped, &jobs, &shelf, &days)))
        });
        list.await.map(Response::new)
    }

    async fn list_shelf(&self, _: Request<v1::ListShelfRequest>) -> Answer<v1::ListShelfReply> {
        let list = self.0.read(|daemon, reader| {
            let at = daemon.standing(reader)?;
            Ok(Ok(to_proto::shelf_list(&reader.stock()?, &at.shop, &at.zone)))
        });
        list.await.map(Response::new)
    }

    async fn change_shelf(&self, request: Request<v1::ChangeShelfRequest>) -> Answer<v1::SupplyReply> {
        self.0
            .supply(asked::shelf(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn take_from_shelf(&self, request: Request<v1::TakeFromShelfRequest>) -> Answer<v1::JobReply> {
        self.0
            .carry(asked::take_from_shelf(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn put_on_shelf(&self, request: Request<v1::PutOnShelfRequest>) -> Answer<v1::JobReply> {
        self.0
            .carry(asked::put_on_shelf(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn find_pieces(&self, request: Request<v1::FindPiecesRequest>) -> Answer<v1::FindPiecesReply> {
        let text = asked::find(request.into_inner()).map_err(|refusal| status::refused(&refusal))?;
        let found = self.0.read(move |daemon, reader| {
            let frames = match text.marks.as_slice() {
                [mark] => reader.jobs_of_frame(mark)?,
                _ => Vec::new(),
            };
            let found = daemon.find(reader, &text)?;
            Ok(found.map(|pieces| to_proto::found(pieces, &frames)))
        });
        found.await.map(Response::new)
    }

    async fn open_recall(&self, request: Request<v1::OpenRecallRequest>) -> Answer<v1::SupplyReply> {
        self.0
            .supply(asked::open_recall(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn call_recall(&self, request: Request<v1::CallRecallRequest>) -> Answer<v1::SupplyReply> {
        self.0
            .supply(asked::call_recall(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn list_recalls(&self, _: Request<v1::ListRecallsRequest>) -> Answer<v1::ListRecallsReply> {
        let list = self.0.read(|daemon, reader| {
            let at = daemon.standing(reader)?;
            let told: BTreeMap<u32, String> = recalled::unreadable(&at.shop, &at.zone).collect();
            let mut recalls = Vec::with_capacity(at.shop.recalls.len());
            for (number, recall) in &at.shop.recalls {
                // What cannot be read any more finds nothing, and is told as such.
                let found = daemon.find(reader, &recall.find)?.unwrap_or_default();
                recalls.push(v1::RecallLine {
                    unreadable: told.get(number).cloned().unwrap_or_default(),
                    ..to_proto::recall_line(*number, recall, &found)
                });
            }
            Ok(Ok(v1::ListRecallsReply { recalls }))
        });
        list.await.map(Response::new)
    }

    async fn show_recall(&self, request: Request<v1::ShowRecallRequest>) -> Answer<v1::RecallSheet> {
        let number = request.into_inner().recall;
        let sheet = self.0.read(move |daemon, reader| {
            let shop = reader.shop()?;
            let recall = match recalls::find_recall(&shop, number) {
                Ok(recall) => recall,
                Err(refusal) => return Ok(Err(refusal)),
            };
            let found = daemon.find(reader, &recall.find)?;
            Ok(found.map(|pieces| to_proto::recall_sheet(number, recall, pieces)))
        });
        sheet.await.map(Response::new)
    }
}

impl Daemon {
    /// Every piece that is meant.
    fn find(
        &self,
        reader: &Reader<'_>,
        text: &FindText,
    ) -> Result<Result<Vec<Found>, Refusal>, StorageError> {
        match Find::read(text, &self.zone) {
            Ok(find) => Ok(Ok(reader.find_pieces(&find)?)),
            Err(refusal) => Ok(Err(refusal)),
        }
    }
}

/// What a decision leads to, on whichever of the two it is.
enum Decided {
    /// On the shop.
    Shop(Box<ShopDraft>),
    /// On the shelf.
    Shelf(StockDraft),
}

impl Decided {
    fn reply(&self) -> v1::SupplyReply {
        match self {
            Self::Shop(draft) => to_proto::supply_reply(&draft.said),
            Self::Shelf(draft) => to_proto::supply_reply(&draft.said),
        }
    }
}

/// Decides what is asked, on the ledger as it stands.
fn decide(
    ledger: &impl Ledger,
    at: &Standing,
    asked: SupplyAsked,
) -> Result<Result<Decided, Refusal>, StorageError> {
    let by = match ledger.shop()?.person(&asked.origin.by) {
        Ok(by) => by,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let origin = Origin { by, ..asked.origin };
    let ask = match asked.ask {
        SupplyAsk::Shelf(Shelving::Keep { job: Some(job), .. }) if ledger.job(job)?.is_none() => {
            return Ok(Err(no_such_job(ledger, job)?));
        }
        SupplyAsk::Shelf(change) => {
            let mut draft = StockDraft::new(ledger.stock()?, origin);
            let decision = at_desk(ledger, at, |desk| stocking::decide(&mut draft, &change, desk))?;
            return Ok(decision.map(|()| Decided::Shelf(draft)));
        }
        ask => ask,
    };
    let shop = Arc::unwrap_or_clone(ledger.shop()?);
    let mut draft = ShopDraft::new(shop, ledger.last_seq(SHOP)?, origin);
    let decision = match ask {
        SupplyAsk::Shelf(_) => Ok(()),
        SupplyAsk::Supplier { text, is_new } => suppliers::set(&mut draft, &text, is_new),
        SupplyAsk::OpenRecall { name, why, find } => {
            let meant = match Find::read(&find, &at.zone) {
                Ok(read) => ledger.find_pieces(&read)?,
                Err(refusal) => return Ok(Err(refusal)),
            };
            recalls::open(&mut draft, &name, &why, find, &meant, &at.zone)
        }
        SupplyAsk::CallRecall {
            recall,
            job,
            state,
            note,
        } => match ledger.job(job)? {
            Some(bearer) => {
                let mut searches = recalled::searches(&at.shop, &at.zone);
                let search = searches.find(|search| search.number == recall);
                let there = search.and_then(|search| search.there(&bearer, draft.origin.made));
                let called = recalls::call(&mut draft, recall, job, there, &state, &note);
                // What stands for the name of a rider who was removed names nobody.
                if called.is_ok() && bearer.rider_removed.is_none() {
                    recalled::say_what_stays(&mut draft, &bearer.rider, &note);
                }
                called
            }
            None => Err(no_such_job(ledger, job)?),
        },
    };
    Ok(decision.map(|()| Decided::Shop(Box::new(draft))))
}

impl Daemon {
    /// Does what is asked: at most once for each request id, whatever becomes of the client.
    async fn supply(self: &Arc<Self>, asked: Result<SupplyAsked, Refusal>) -> Answer<v1::SupplyReply> {
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        if asked.validate_only {
            let preview = self.read(move |daemon, reader| {
                let at = daemon.standing(reader)?;
                Ok(decide(reader, &at, asked)?.map(|decided| decided.reply()))
            });
            return preview.await.map(Response::new);
        }
        self.write_and_tell(Size::Any, move |daemon, tx| daemon.write_supply(tx, asked))
            .await
    }

    /// Decides, appends and remembers the answer in one transaction.
    fn write_supply(
        &self,
        tx: &mut Tx<'_>,
        asked: SupplyAsked,
    ) -> Result<(v1::SupplyReply, Vec<Entry>), WriteError> {
        let request = request_for(&asked.request_id, &asked.origin, &asked.ask);
        if let Some(reply) = given_before(tx, &request)? {
            return Ok((reply, Vec::new()));
        }
        let at = self.standing(tx)?;
        let decided = decide(tx, &at, asked)?.map_err(WriteError::Refused)?;
        let now = Timestamp::now();
        let entries = match &decided {
            Decided::Shop(draft) => tx.append_shop(&draft.origin, now, &draft.events, &draft.shop)?,
            Decided::Shelf(draft) => tx.append_stock(&draft.origin, now, &draft.events, &draft.stock)?,
        };
        let reply = decided.reply();
        tx.remember(&request, &to_proto::keep(&reply))?;
        Ok((reply, entries))
    }
}
