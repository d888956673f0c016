//! The catalogue.

use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::catalogue;
use lockring_domain::command::{self, Draft, Revised};
use lockring_domain::entry::Entry;
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::part::{Part, PartKind};
use lockring_domain::refusal::{Reason, Refusal};
use lockring_proto::v1;
use lockring_store::{Reader, Size, StorageError, Tx, WriteError};
use tonic::{Request, Response, Status};

use super::decide::{given_before, request_for};
use super::from_proto::{self, CatalogueAsk, ImportAsked};
use super::ledger::Ledger;
use super::reports::open_jobs;
use super::{Daemon, status, to_proto};
use crate::standing::Standing;

/// The service.
pub(super) struct Catalogue(pub(super) Arc<Daemon>);

#[tonic::async_trait]
impl v1::catalogue_server::Catalogue for Catalogue {
    async fn import(&self, request: Request<v1::ImportRequest>) -> Result<Response<v1::ImportReply>, Status> {
        let home = self.0.known_shop().await?.currency().code;
        let asked = from_proto::import(request.into_inner(), Timestamp::now(), &home);
        self.0.change_catalogue(asked).await
    }

    async fn amend(&self, request: Request<v1::AmendRequest>) -> Result<Response<v1::ImportReply>, Status> {
        let asked = from_proto::amend(request.into_inner(), Timestamp::now());
        self.0.change_catalogue(asked).await
    }

    async fn withdraw(
        &self,
        request: Request<v1::WithdrawRequest>,
    ) -> Result<Response<v1::ShopReply>, Status> {
        let request = request.into_inner();
        let id = request.part.trim().to_owned();
        let known = self.0.read(move |_, reader| {
            Ok(match reader.part(&id)? {
                Some(_) => Ok(()),
                None => Err(no_such_part(&id, &reader.part_ids()?)),
            })
        });
        known.await?;
        self.0
            .change_shop(from_proto::withdraw(request, Timestamp::now()))
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
            .read(move |_, reader| {
                let parts = reader.parts(page.kind, &page.after, page.size)?;
                Ok(Ok(to_proto::part_list(&parts, size, &*reader.shop()?)))
            })
            .await?;
        Ok(Response::new(parts))
    }

    async fn get(&self, request: Request<v1::GetPartRequest>) -> Result<Response<v1::PartView>, Status> {
        let id = request.into_inner().id;
        let found = self.0.read(move |_, reader| {
            Ok(match reader.part(&id)? {
                Some(part) => Ok(to_proto::part(&part, &*reader.shop()?)),
                None => Err(no_such_part(&id, &reader.part_ids()?)),
            })
        });
        found.await.map(Response::new)
    }

    async fn export(&self, request: Request<v1::ExportRequest>) -> Result<Response<v1::ExportReply>, Status> {
        let v1::ExportRequest { kind, form } = request.into_inner();
        let kind = from_proto::kind(&kind).map_err(|refusal| status::refused(&refusal))?;
        if form {
            let parts = kind.map_or(PartKind::ALL.len(), |_| 1);
            return Ok(Response::new(to_proto::export(catalogue::form(kind), parts)));
        }
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

/// The answer a change of the catalogue would get, and the jobs that hold one of its parts otherwise.
type Looked = (v1::ImportReply, Vec<u32>);

impl Daemon {
    /// Does what is asked of the catalogue: at most once for each request id.
    async fn change_catalogue(
        self: &Arc<Self>,
        asked: Result<ImportAsked, Refusal>,
    ) -> Result<Response<v1::ImportReply>, Status> {
        let asked = asked.map_err(|refusal| status::refused(&refusal))?;
        let looked = asked.clone();
        let looked = self.look_first(asked.validate_only, move |daemon, reader| {
            daemon.look_at_catalogue(reader, &looked)
        });
        let (preview, holders) = looked.await?;
        if let Some(reply) = preview {
            return Ok(Response::new(reply));
        }
        self.write_and_tell(Size::Any, move |daemon, tx| {
            daemon.write_catalogue(tx, &asked, &holders)
        })
        .await
    }

    /// The answer a change of the catalogue would get, and the numbers of the jobs that hold one of its parts otherwise.
    fn look_at_catalogue(
        &self,
        reader: &Reader<'_>,
        asked: &ImportAsked,
    ) -> Result<Result<Looked, Refusal>, StorageError> {
        let at = self.standing(reader)?;
        let parts = match parts(reader, &at, &asked.ask)? {
            Ok(parts) => parts,
            Err(refusal) => return Ok(Err(refusal)),
        };
        let jobs = open_jobs(reader)?;
        let told = |job: Arc<Job>| {
            command::recatalogue(Arc::unwrap_or_clone(job), &parts, asked.origin.clone(), &at.rules)
        };
        let held: Vec<(Draft, Vec<Revised>)> = jobs.into_iter().filter_map(told).collect();
        let holders = held.iter().map(|(draft, _)| draft.job.number).collect();
        let (unchanged, changed) = compare(reader, parts)?;
        let reply = to_proto::imported(unchanged, &changed, &held);
        Ok(Ok((reply, holders)))
    }

    /// Puts the parts in, but only those that are new or changed, tells the jobs that hold one as it was, and remembers the
    /// answer.
    fn write_catalogue(
        &self,
        tx: &mut Tx<'_>,
        asked: &ImportAsked,
        holders: &[u32],
    ) -> Result<(v1::ImportReply, Vec<Entry>), WriteError> {
        let request = request_for(&asked.request_id, &asked.origin, &asked.ask);
        if let Some(reply) = given_before(tx, &request)? {
            return Ok((reply, Vec::new()));
        }
        let at = self.standing(tx)?;
        let by = at.shop.person(&asked.origin.by).map_err(WriteError::Refused)?;
        let origin = Origin {
            by,
            ..asked.origin.clone()
        };
        let parts = parts(tx, &at, &asked.ask)?.map_err(WriteError::Refused)?;
        let now = Timestamp::now();
        let mut entries = Vec::new();
        let (unchanged, changed) = compare(tx, parts.clone())?;
        if !changed.is_empty() {
            let new: Vec<Part> = changed.iter().map(|(_, part)| part.clone()).collect();
            entries.extend(tx.catalogue(&origin, now, &new)?);
        }
        let mut held = Vec::new();
        for number in holders {
            let told = tx
                .job(*number)?
                .and_then(|job| command::recatalogue(job, &parts, origin.clone(), &at.rules));
            if let Some((draft, revised)) = told {
                entries.extend(tx.append(*number, &draft.origin, now, &draft.events, &draft.job)?);
                held.push((draft, revised));
            }
        }
        let reply = to_proto::imported(unchanged, &changed, &held);
        tx.remember(&request, &to_proto::keep(&reply))?;
        Ok((reply, entries))
    }
}

/// The parts as the catalogue is to have them.
fn parts(
    ledger: &impl Ledger,
    at: &Standing,
    ask: &CatalogueAsk,
) -> Result<Result<Vec<Part>, Refusal>, StorageError> {
    Ok(match ask {
        CatalogueAsk::Import(parts) => Ok(parts.clone()),
        CatalogueAsk::Amend { part, values } => match ledger.part(part)? {
            Some(part) => catalogue::amend(&part, values, &at.shop.currency().code).map(|part| vec![part]),
            None => Err(no_such_part(part, &ledger.part_ids()?)),
        },
    })
}

/// How many parts are as before; and those that are new or changed, each with what it was.
type Compared = (usize, Vec<(Option<Part>, Part)>);

fn compare(ledger: &impl Ledger, parts: Vec<Part>) -> Result<Compared, StorageError> {
    let mut unchanged = 0;
    let mut changed = Vec::new();
    for part in parts {
        match ledger.part(&part.id)? {
            Some(old) if old == part => unchanged += 1,
            before => changed.push((before, part)),
        }
    }
    Ok((unchanged, changed))
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
