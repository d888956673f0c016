//! Suppliers, order lines of the shelf, goods, the shelf and recalls.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_domain::entry::Entry;
use lockring_domain::refusal::Refusal;
use lockring_domain::shop::{SHOP, ShopDraft};
use lockring_domain::supply::recall::{self, Find, FindText, Found};
use lockring_domain::supply::supplier;
use lockring_proto::v1;
use lockring_store::{Reader, StorageError, Tx, WriteError};
use tonic::{Request, Response, Status};

use super::decide::no_such_job;
use super::from_proto::supply::{self as asked, SupplyAsk, SupplyAsked};
use super::ledger::Ledger;
use super::{Daemon, ORDINARY, status, to_proto, within};

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
        let list = self
            .0
            .read(|_, reader| Ok(Ok(to_proto::supplier_list(&reader.shop()?))));
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
        let list = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let jobs = reader.jobs_with_orders(request.open)?;
            let days = at.days(Timestamp::now());
            Ok(Ok(to_proto::order_list(&request, &jobs, &[], &days)))
        });
        list.await.map(Response::new)
    }

    async fn find_pieces(&self, request: Request<v1::FindPiecesRequest>) -> Answer<v1::FindPiecesReply> {
        let text = asked::find(request.into_inner()).map_err(|refusal| status::refused(&refusal))?;
        let found = self
            .0
            .read(move |daemon, reader| Ok(daemon.find(reader, &text)?.map(to_proto::found)));
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
        let list = self.0.read(|_, reader| {
            let recalls = reader.shop()?.recalls;
            let lines = recalls
                .iter()
                .map(|(number, recall)| to_proto::recall_line(*number, recall));
            Ok(Ok(v1::ListRecallsReply {
                recalls: lines.collect(),
            }))
        });
        list.await.map(Response::new)
    }

    async fn show_recall(&self, request: Request<v1::ShowRecallRequest>) -> Answer<v1::RecallSheet> {
        let number = request.into_inner().recall;
        let sheet = self.0.read(move |daemon, reader| {
            let shop = reader.shop()?;
            let recall = match recall::find_recall(&shop, number) {
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

/// Decides what is asked, on the ledger as it stands.
fn decide(
    ledger: &impl Ledger,
    zone: &TimeZone,
    asked: SupplyAsked,
) -> Result<Result<ShopDraft, Refusal>, StorageError> {
    let mut draft = ShopDraft::new(ledger.shop()?, ledger.last_seq(SHOP)?, asked.origin);
    let decision = match asked.ask {
        SupplyAsk::Supplier { text, is_new } => supplier::set(&mut draft, &text, is_new),
        SupplyAsk::OpenRecall { name, why, find } => recall::open(&mut draft, &name, &why, find, zone),
        SupplyAsk::CallRecall {
            recall,
            job,
            state,
            note,
        } => match ledger.job(job)? {
            Some(_) => recall::call(&mut draft, recall, job, &state, &note),
            None => Err(no_such_job(ledger, job)?),
        },
    };
    Ok(decision.map(|()| draft))
}

impl Daemon {
    /// Does what is asked: at most once for each request id, whatever becomes of the client.
    async fn supply(self: &Arc<Self>, asked: Result<SupplyAsked, Refusal>) -> Answer<v1::SupplyReply> {
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        if asked.validate_only {
            let preview = self.read(move |daemon, reader| {
                Ok(decide(reader, &daemon.zone, asked)?.map(|draft| to_proto::supply_reply(&draft)))
            });
            return preview.await.map(Response::new);
        }
        let daemon = self.clone();
        let task = tokio::spawn(async move {
            let zone = daemon.zone.clone();
            let (reply, entries) = daemon.store.write(move |tx| write(tx, &zone, asked)).await?;
            daemon.feed.publish(entries);
            Ok::<_, WriteError>(reply)
        });
        match within(ORDINARY, task).await? {
            Ok(Ok(reply)) => Ok(Response::new(reply)),
            Ok(Err(error)) => Err(status::unwritten(&error)),
            Err(error) => Err(status::broken(&error)),
        }
    }
}

/// Decides, appends and remembers the answer in one transaction.
fn write(
    tx: &mut Tx<'_>,
    zone: &TimeZone,
    asked: SupplyAsked,
) -> Result<(v1::SupplyReply, Vec<Entry>), WriteError> {
    if let Some(kept) = tx.answer(&asked.request_id)? {
        let reply: v1::SupplyReply = to_proto::recall(&kept).map_err(WriteError::Refused)?;
        return Ok((
            v1::SupplyReply {
                repeated: true,
                ..reply
            },
            Vec::new(),
        ));
    }
    let request_id = asked.request_id.clone();
    let draft = decide(tx, zone, asked)?.map_err(WriteError::Refused)?;
    let entries = tx.append_shop(&draft.origin, Timestamp::now(), &draft.events, &draft.shop)?;
    let reply = to_proto::supply_reply(&draft);
    tx.remember(&request_id, &to_proto::keep(&reply))?;
    Ok((reply, entries))
}
