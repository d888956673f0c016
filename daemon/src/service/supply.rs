//! Suppliers, order lines of the shelf, goods, the shelf and recalls.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::entry::Entry;
use lockring_domain::refusal::Refusal;
use lockring_domain::shop::{SHOP, ShopDraft};
use lockring_domain::supply::supplier;
use lockring_proto::v1;
use lockring_store::{StorageError, Tx, WriteError};
use tonic::{Request, Response, Status};

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
}

/// Decides what is asked, on the ledger as it stands.
fn decide(ledger: &impl Ledger, asked: SupplyAsked) -> Result<Result<ShopDraft, Refusal>, StorageError> {
    let mut draft = ShopDraft::new(ledger.shop()?, ledger.last_seq(SHOP)?, asked.origin);
    let decision = match asked.ask {
        SupplyAsk::Supplier { text, is_new } => supplier::set(&mut draft, &text, is_new),
    };
    Ok(decision.map(|()| draft))
}

impl Daemon {
    /// Does what is asked: at most once for each request id, whatever becomes of the client.
    async fn supply(self: &Arc<Self>, asked: Result<SupplyAsked, Refusal>) -> Answer<v1::SupplyReply> {
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        if asked.validate_only {
            let preview = self.read(move |_, reader| {
                Ok(decide(reader, asked)?.map(|draft| to_proto::supply_reply(&draft)))
            });
            return preview.await.map(Response::new);
        }
        let daemon = self.clone();
        let task = tokio::spawn(async move {
            let (reply, entries) = daemon.store.write(move |tx| write(tx, asked)).await?;
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
fn write(tx: &mut Tx<'_>, asked: SupplyAsked) -> Result<(v1::SupplyReply, Vec<Entry>), WriteError> {
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
    let draft = decide(tx, asked)?.map_err(WriteError::Refused)?;
    let entries = tx.append_shop(&draft.origin, Timestamp::now(), &draft.events, &draft.shop)?;
    let reply = to_proto::supply_reply(&draft);
    tx.remember(&request_id, &to_proto::keep(&reply))?;
    Ok((reply, entries))
}
