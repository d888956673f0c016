//! The jobs: each verb is read, decided and answered in the same way; see
//! [`super::decide`]. To add one: the verb in the contract, its reader in `from_proto`, and a
//! line in the list below.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use lockring_domain::chainline;
use lockring_domain::check;
use lockring_domain::command;
use lockring_domain::fit;
use lockring_domain::gate;
use lockring_domain::hills;
use lockring_domain::job::Job;
use lockring_domain::level::Level;
use lockring_domain::propose;
use lockring_domain::recalled as meant;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::regear;
use lockring_domain::stage::Stage;
use lockring_proto::v1;
use lockring_store::JobFilter;
use tonic::{Request, Response, Status};

use super::decide::{existing_job, no_such_job};
use super::ledger::at_desk;
use super::reports::{recalls_due, swaps_due};
use super::watch::Lines;
use super::{Daemon, from_proto, status, to_proto};
use crate::report::{recalled, swapped};
use crate::standing::Standing;

/// The service.
pub(super) struct Jobs(pub(super) Arc<Daemon>);

type Answer<T> = Result<Response<T>, Status>;

#[tonic::async_trait]
impl v1::jobs_server::Jobs for Jobs {
    async fn take_in(&self, request: Request<v1::TakeInRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::take_in(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn state(&self, request: Request<v1::StateRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::state(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn build(&self, request: Request<v1::BuildRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::build(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn order(&self, request: Request<v1::OrderRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::order(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn receive(&self, request: Request<v1::ReceiveRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::receive(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn record(&self, request: Request<v1::RecordRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::record(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn note(&self, request: Request<v1::NoteRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::note(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn undo(&self, request: Request<v1::UndoRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::undo(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn advance(&self, request: Request<v1::AdvanceRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::advance(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn concede(&self, request: Request<v1::ConcedeRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::concede(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn send_back(&self, request: Request<v1::SendBackRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::send_back(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn open_block(&self, request: Request<v1::OpenBlockRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::open_block(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn clear_block(&self, request: Request<v1::ClearBlockRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::clear_block(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn hold(&self, request: Request<v1::HoldRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::hold(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn release(&self, request: Request<v1::ReleaseRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::release(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn close(&self, request: Request<v1::CloseRequest>) -> Answer<v1::JobReply> {
        self.0
            .change(from_proto::close(request.into_inner(), Timestamp::now()))
            .await
    }

    async fn check(&self, request: Request<v1::CheckRequest>) -> Answer<v1::CheckReply> {
        let v1::CheckRequest { job, gate } = request.into_inner();
        let gate = from_proto::gate(&gate).map_err(|refusal| status::refused(&refusal))?;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = existing_job(reader, job)?;
            Ok(job.and_then(|job| {
                let gate = gate.or_else(|| present_gate(&job)).ok_or_else(|| no_gate(&job))?;
                let reports = gate::run(gate, &job, &at.rules);
                let reports: Vec<_> = reports
                    .into_iter()
                    .map(|report| gate::as_swapped(&job, report))
                    .collect();
                let searches: Vec<_> = meant::searches(&at.shop, &at.zone).collect();
                let held = meant::holding(searches.iter(), &job).filter(|_| gate == job.stage);
                Ok(to_proto::check_reply(&job, gate, &reports, held.as_ref()))
            }))
        });
        answer.await.map(Response::new)
    }

    async fn explain(&self, request: Request<v1::ExplainRequest>) -> Answer<v1::CheckReport> {
        let v1::ExplainRequest { job, check } = request.into_inner();
        let check = command::find_check(&check).map_err(|refusal| status::refused(&refusal))?;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = existing_job(reader, job)?;
            Ok(job.map(|job| {
                let report = check::run(check, &job, &at.rules, check::gate_of(check, job.stage));
                to_proto::check_report(&job, &gate::as_swapped(&job, report), job.stage)
            }))
        });
        answer.await.map(Response::new)
    }

    async fn fit(&self, request: Request<v1::FitRequest>) -> Answer<v1::FitReply> {
        let v1::FitRequest { job, what_if } = request.into_inner();
        let changes = from_proto::typed(what_if);
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = match existing_job(reader, job)? {
                Ok(job) => job,
                Err(refusal) => return Ok(Err(refusal)),
            };
            at_desk(reader, &at, |desk| {
                if changes.is_empty() {
                    let cures = fit::cures(&job, Timestamp::now(), desk);
                    return Ok(to_proto::fit_page(&job, &fit::page(&job, desk), &cures));
                }
                let trial = fit::what_if(&job, &changes, Timestamp::now(), desk)?;
                Ok(to_proto::fit_trial(&job, &trial))
            })
        });
        answer.await.map(Response::new)
    }

    async fn chainline(&self, request: Request<v1::ChainlineRequest>) -> Answer<v1::ChainlineReply> {
        let v1::ChainlineRequest { job } = request.into_inner();
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = existing_job(reader, job)?;
            Ok(job.and_then(|job| {
                chainline::picture(&job, &at.rules).map(|picture| to_proto::chainline(&job, &picture))
            }))
        });
        answer.await.map(Response::new)
    }

    async fn hills(&self, request: Request<v1::HillsRequest>) -> Answer<v1::HillsReply> {
        let v1::HillsRequest { job, grade, assist } = request.into_inner();
        let level = Level::read(&assist).map_err(|refusal| status::refused(&refusal))?;
        let grade = from_proto::grade(&grade).map_err(|refusal| status::refused(&refusal))?;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = existing_job(reader, job)?;
            Ok(job.and_then(|job| {
                hills::hills(&job, &at.rules, grade, level).map(|hills| to_proto::hills(&job, &hills))
            }))
        });
        answer.await.map(Response::new)
    }

    async fn regear(&self, request: Request<v1::RegearRequest>) -> Answer<v1::RegearReply> {
        let v1::RegearRequest { job } = request.into_inner();
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = match existing_job(reader, job)? {
                Ok(job) => job,
                Err(refusal) => return Ok(Err(refusal)),
            };
            at_desk(reader, &at, |desk| {
                let table = regear::table(&job, Timestamp::now(), desk)?;
                Ok(to_proto::regear(&job, &table))
            })
        });
        answer.await.map(Response::new)
    }

    async fn propose(&self, request: Request<v1::ProposeRequest>) -> Answer<v1::ProposeReply> {
        let v1::ProposeRequest { job } = request.into_inner();
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let job = match existing_job(reader, job)? {
                Ok(job) => job,
                Err(refusal) => return Ok(Err(refusal)),
            };
            at_desk(reader, &at, |desk| {
                let proposals = propose::propose(&job, desk)?;
                let tax = job.account.rate(desk.shop.tax_rate());
                Ok(to_proto::propose(&job, &proposals, desk.rules, tax))
            })
        });
        answer.await.map(Response::new)
    }

    async fn list(&self, request: Request<v1::ListJobsRequest>) -> Answer<v1::ListJobsReply> {
        let page =
            from_proto::job_page(&request.into_inner()).map_err(|refusal| status::refused(&refusal))?;
        let answer = self.0.read(move |daemon, reader| {
            let at = daemon.standing(reader)?;
            let filter = if page.all { JobFilter::All } else { JobFilter::Open };
            let jobs = reader.jobs(filter, page.after, page.size)?;
            let mut reply = {
                let searches: Vec<_> = meant::searches(&at.shop, &at.zone).collect();
                to_proto::job_list(&jobs, page.size, &searches, &at.days(Timestamp::now()))
            };
            if page.after == 0 {
                reply.recalls = recalls_due(reader, &at)?;
                reply.swaps = swaps_due(reader, &at)?;
            }
            Ok(Ok(reply))
        });
        answer.await.map(Response::new)
    }

    async fn show(&self, request: Request<v1::ShowJobRequest>) -> Answer<v1::JobView> {
        let asked = from_proto::show(&request.into_inner()).map_err(|refusal| status::refused(&refusal))?;
        let view = |job: &Job, standing: &Standing, at| {
            let recalls = recalled::left_of(standing, job);
            let units = standing.shop.units();
            let searches: Vec<_> = meant::searches(&standing.shop, &standing.zone).collect();
            let days = standing.days(at);
            v1::JobView {
                swapped: swapped::left_of(standing, job),
                ..to_proto::job_view(job, &standing.rules, units, &days, &searches, recalls)
            }
        };
        // What need not be read is answered at once, without a thread that may wait for a disk.
        if let (None, Some((standing, job))) = (asked.at, self.0.at_hand(asked.job)) {
            return Ok(Response::new(view(&job, &standing, Timestamp::now())));
        }
        let answer = self.0.read(move |daemon, reader| {
            let standing = daemon.standing(reader)?;
            let job = existing_job(reader, asked.job)?;
            let job = match (job, asked.at) {
                (Ok(job), Some(at)) => reader
                    .job_as_of(asked.job, just_after(at))?
                    .map(Arc::new)
                    .ok_or_else(|| not_yet(&job)),
                (job, _) => job,
            };
            let at = asked.at.unwrap_or_else(Timestamp::now);
            Ok(job.map(|job| view(&job, &standing, at)))
        });
        answer.await.map(Response::new)
    }

    async fn history(&self, request: Request<v1::HistoryRequest>) -> Answer<v1::HistoryReply> {
        let v1::HistoryRequest { job, after } = request.into_inner();
        // No entry is numbered so high; the store counts with a sign.
        let after = after.min(i64::MAX.unsigned_abs());
        let answer = self.0.read(move |_, reader| {
            let entries = reader.entries(job, after)?;
            Ok(existing_job(reader, job)?.map(|job| to_proto::history(&job, &entries)))
        });
        answer.await.map(Response::new)
    }

    type WatchStream = Lines;

    async fn watch(&self, request: Request<v1::WatchRequest>) -> Answer<Lines> {
        let number = request.into_inner().job;
        // Listening begins before the look, so that no entry falls between.
        let lines = self.0.watch(number);
        if number != 0 {
            let known = self.0.read(move |_, reader| {
                Ok(match reader.job(number)? {
                    Some(_) => Ok(()),
                    None => Err(no_such_job(reader, number)?),
                })
            });
            known.await?;
        }
        Ok(Response::new(lines))
    }
}

/// The moment after this one, as the journal counts.
fn just_after(at: Timestamp) -> Timestamp {
    at.saturating_add(SignedDuration::from_micros(1)).unwrap_or(at)
}

/// The refusal for a job that was not there at a moment.
fn not_yet(job: &Job) -> Refusal {
    let opened = job.opened;
    let message = format!(
        "job {} was not there yet: it was taken in at {opened}",
        job.number
    );
    Refusal::new(Reason::NoSuchJob, message)
        .with("job", job.number)
        .with("opened", opened)
        .hint(format!(
            "`lockring history {}` shows when what was entered",
            job.number
        ))
}

/// The gate a job stands before; a job that is over stands before none.
fn present_gate(job: &Job) -> Option<Stage> {
    Some(job.stage).filter(|stage| !stage.is_end())
}

/// The refusal for a job that stands before no gate.
fn no_gate(job: &Job) -> Refusal {
    let message = format!(
        "job {} is over ({}): it stands before no gate",
        job.number,
        job.stage.word()
    );
    Refusal::new(Reason::JobOver, message)
        .with("job", job.number)
        .with("stage", job.stage.word())
        .hint(format!(
            "name the gate to look at, as in `lockring check {} --gate handover`",
            job.number
        ))
}
