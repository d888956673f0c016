//! Parts carried between the shelf and a job: both histories in one transaction.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::command::{self, Command, Draft, SupplyCommand};
use lockring_domain::entry::Entry;
use lockring_domain::origin::Origin;
use lockring_domain::refusal::Refusal;
use lockring_domain::supply::event::StockEvent;
use lockring_domain::supply::shelf::StockDraft;
use lockring_domain::supply::stocking;
use lockring_proto::v1::JobReply;
use lockring_store::{Size, StorageError, Tx, WriteError};
use tonic::{Response, Status};

use super::decide::{existing_job, given_before, request_for};
use super::from_proto::supply::{Carried, Way};
use super::ledger::{Ledger, at_desk};
use super::{Daemon, status, to_proto};
use crate::standing::Standing;

/// Decides both sides on the ledger as it stands.
fn decide(
    ledger: &impl Ledger,
    at: &Standing,
    asked: Carried,
) -> Result<Result<(Draft, StockDraft), Refusal>, StorageError> {
    let job = match existing_job(ledger, asked.job)? {
        Ok(job) => job,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let by = match ledger.shop()?.person(&asked.origin.by) {
        Ok(by) => by,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let origin = Origin { by, ..asked.origin };
    let mut shelf = StockDraft::new(ledger.stock()?, origin.clone());
    let slot = match command::find_slot(&asked.slot) {
        Ok(slot) => slot,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let planned = match asked.way {
        Way::ToJob(wanted) => at_desk(ledger, at, |desk| {
            stocking::to_take(&shelf.stock, &job, slot, wanted, desk)
        })?
        .map(|item| {
            let taken = StockEvent::Taken {
                item: item.number,
                job: job.number,
                slot,
            };
            let item = Box::new(item);
            (taken, SupplyCommand::TakeFromShelf { item, slot })
        }),
        Way::OntoShelf { piece, why } => {
            let entries = ledger.entries(job.number)?;
            let put = at_desk(ledger, at, |desk| {
                stocking::put_back(&shelf.stock, (&job, &entries), slot, &piece, &origin, desk)
            })?;
            put.map(|(item, off)| {
                let number = item.number;
                let came = StockEvent::Came { item };
                let put = match off {
                    None => SupplyCommand::PutBack {
                        slot,
                        item: number,
                        why,
                    },
                    Some(off) => SupplyCommand::PutOffBack {
                        slot,
                        off,
                        item: number,
                        why,
                    },
                };
                (came, put)
            })
        }
    };
    let (event, command) = match planned {
        Ok(planned) => planned,
        Err(refusal) => return Ok(Err(refusal)),
    };
    shelf.push(event);
    let command = Command::Supply(command);
    let decision = at_desk(ledger, at, |desk| {
        command::change(
            Arc::unwrap_or_clone(job),
            asked.expected_revision,
            origin,
            &command,
            desk,
        )
    })?;
    Ok(decision.map(|draft| (draft, shelf)))
}

impl Daemon {
    /// Carries a part: at most once for each request id, whatever becomes of the client.
    pub(super) async fn carry(
        self: &Arc<Self>,
        asked: Result<Carried, Refusal>,
    ) -> Result<Response<JobReply>, Status> {
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        if asked.validate_only {
            let preview = self.read(move |daemon, reader| {
                let at = daemon.standing(reader)?;
                let decision = decide(reader, &at, asked)?;
                Ok(decision.map(|(draft, _)| to_proto::job_reply(&draft, &at.days(Timestamp::now()))))
            });
            return preview.await.map(Response::new);
        }
        self.write_and_tell(Size::Any, move |daemon, tx| daemon.write_carried(tx, asked))
            .await
    }

    fn write_carried(&self, tx: &mut Tx<'_>, asked: Carried) -> Result<(JobReply, Vec<Entry>), WriteError> {
        let what = (asked.job, &asked.slot, &asked.way, asked.expected_revision);
        let request = request_for(&asked.request_id, &asked.origin, &what);
        if let Some(reply) = given_before(tx, &request)? {
            return Ok((reply, Vec::new()));
        }
        let at = self.standing(tx)?;
        let (draft, shelf) = decide(tx, &at, asked)?.map_err(WriteError::Refused)?;
        let now = Timestamp::now();
        let mut entries = tx.append_stock(&shelf.origin, now, &shelf.events, &shelf.stock)?;
        entries.extend(tx.append(draft.job.number, &draft.origin, now, &draft.events, &draft.job)?);
        let reply = to_proto::job_reply(&draft, &at.days(now));
        tx.remember(&request, &to_proto::keep(&reply))?;
        Ok((reply, entries))
    }
}
