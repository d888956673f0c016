//! The catalogue.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::catalogue;
use lockring_domain::entry::Entry;
use lockring_domain::origin::Origin;
use lockring_domain::part::Part;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_proto::v1;
use lockring_store::{Size, Tx, WriteError};
use tonic::{Request, Response, Status};

use super::decide::{given_before, request_for};
use super::from_proto::{self, ImportAsked};
use super::ledger::Ledger;
use super::{Daemon, status, to_proto};

/// The service.
pub(super) struct Catalogue(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::catalogue_server::Catalogue for Catalogue {
    async fn import(&self, request: Request<v1::ImportRequest>) -> Result<Response<v1::ImportReply>, Status> {
        let home = self.0.known_shop().await?.currency().code;
        let asked = from_proto::import(request.into_inner(), Timestamp::now(), &home)
            .map_err(|refusal| status::refused(&refusal))?;
        if asked.validate_only {
            let tally = self
                .0
                .read(move |_, reader| Ok(Ok(compare(reader, asked.parts)?.0)));
            return tally.await.map(Response::new);
        }
        self.0
            .write_and_tell(Size::Any, move |_, tx| write_import(tx, asked))
            .await
    }

    async fn list(
        &self,
        request: Request<v1::ListPartsRequest>,
    ) -> Result<Response<v1::ListPartsReply>, Status> {
        let page =
            from_proto::part_page(&request.into_inner()).map_err(|refusal| status::refused(&refusal))?;
        let size = page.size;
        let parts = self
            .0
            .read(move |_, reader| reader.parts(page.kind, &page.after, page.size).map(Ok))
            .await?;
        Ok(Response::new(to_proto::part_list(&parts, size)))
    }

    async fn get(&self, request: Request<v1::GetPartRequest>) -> Result<Response<v1::PartView>, Status> {
        let id = request.into_inner().id;
        let found = self.0.read(move |_, reader| {
            Ok(match reader.part(&id)? {
                Some(part) => Ok(part),
                None => Err(no_such_part(&id, &reader.part_ids()?)),
            })
        });
        found.await.map(|part| Response::new(to_proto::part(&part)))
    }

    async fn export(&self, request: Request<v1::ExportRequest>) -> Result<Response<v1::ExportReply>, Status> {
        let kind =
            from_proto::kind(&request.into_inner().kind).map_err(|refusal| status::refused(&refusal))?;
        let written = self.0.read(move |_, reader| {
            let mut parts: Vec<Part> = Vec::new();
            for id in reader.part_ids()? {
                parts.extend(
                    reader
                        .part(&id)?
                        .filter(|part| kind.is_none_or(|kind| part.kind == kind)),
                );
            }
            Ok(Ok(to_proto::export(catalogue::write(&parts), parts.len())))
        });
        written.await.map(Response::new)
    }
}

/// Puts the parts in, but only those that are new or changed, and remembers the answer.
fn write_import(tx: &mut Tx<'_>, asked: ImportAsked) -> Result<(v1::ImportReply, Vec<Entry>), WriteError> {
    let request = request_for(&asked.request_id, &asked.origin, &asked.parts);
    if let Some(reply) = given_before(tx, &request)? {
        return Ok((reply, Vec::new()));
    }
    let by = tx.shop()?.person(&asked.origin.by).map_err(WriteError::Refused)?;
    let origin = Origin { by, ..asked.origin };
    let (reply, changed) = compare(tx, asked.parts)?;
    let entries = if changed.is_empty() {
        Vec::new()
    } else {
        tx.catalogue(&origin, Timestamp::now(), &changed)?
    };
    tx.remember(&request, &to_proto::keep(&reply))?;
    Ok((reply, entries))
}

/// Counts what an import would do, and gives the parts that are new or changed.
fn compare(
    ledger: &impl Ledger,
    parts: Vec<Part>,
) -> Result<(v1::ImportReply, Vec<Part>), lockring_store::StorageError> {
    let (mut added, mut unchanged) = (0, 0);
    let mut changed = Vec::new();
    for part in parts {
        match ledger.part(&part.id)? {
            Some(old) if old == part => unchanged += 1,
            Some(_) => changed.push(part),
            None => {
                added += 1;
                changed.push(part);
            }
        }
    }
    Ok((
        to_proto::imported(added, changed.len() - added, unchanged),
        changed,
    ))
}

fn no_such_part(id: &str, all: &[String]) -> Refusal {
    let near = lockring_domain::nearest::nearest(id, all.iter().map(String::as_str));
    let refusal = Refusal::new(Reason::NoSuchPart, format!("`{id}` is not in the catalogue"))
        .with("given", id)
        .with("nearest", near.join(" "));
    let list = "`lockring catalogue list` lists the parts";
    match near.as_slice() {
        [] => refusal.hint(list),
        near => refusal.hint(format!("did you mean {}? {list}", near.join(" or "))),
    }
}
