//! Riders: what is stored about one, and taking it out of the history of all their jobs.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::command::{self, Against, Person, RemoveRider};
use lockring_domain::entry::{self, Entry, Event};
use lockring_domain::job::Job;
use lockring_domain::origin::Origin;
use lockring_domain::private::{self, CAUTIONS};
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::removal::{self, Kind, Removal};
use lockring_domain::supply::recall::{CallState, Find, Spot};
use lockring_proto::v1;
use lockring_store::{BACKUPS, Reader, StorageError, Tx, WriteError};
use tokio::sync::Mutex;
use tonic::{Request, Response, Status};

use super::decide::{existing_job, given_before, request_for};
use super::from_proto::{self, Pick, RiderAsked, Who};
use super::ledger::{Ledger, at_desk};
use super::{Daemon, LONG, ORDINARY, blocking, status, to_proto, within};
use crate::standing::Standing;

mod named;
mod traces;

use named::{fast, found, names, removals, who_texts};
use traces::Mark;

/// The service.
pub(crate) struct Riders(pub(crate) Arc<Daemon>);

#[tonic::async_trait]
impl v1::riders_server::Riders for Riders {
    async fn note_privately(
        &self,
        request: Request<v1::NotePrivatelyRequest>,
    ) -> Result<Response<v1::JobReply>, Status> {
        let asked = from_proto::note_privately(request.into_inner(), Timestamp::now());
        self.0.change(asked).await
    }

    async fn show_rider(
        &self,
        request: Request<v1::ShowRiderRequest>,
    ) -> Result<Response<v1::RiderView>, Status> {
        let who = from_proto::who(&request.into_inner().who).map_err(|refusal| status::refused(&refusal))?;
        let answer = self.0.read(move |daemon, reader| view(daemon, reader, &who));
        answer.await.map(Response::new)
    }

    async fn remove_rider(
        &self,
        request: Request<v1::RemoveRiderRequest>,
    ) -> Result<Response<v1::RemoveRiderReply>, Status> {
        let asked = from_proto::remove_rider(request.into_inner(), Timestamp::now())
            .map_err(|refusal| status::refused(&refusal))?;
        if asked.validate_only {
            let preview = self.0.read(move |daemon, reader| {
                let at = daemon.standing(reader)?;
                Ok(decide(reader, &at, &asked)?.map(|decided| decided.reply))
            });
            return preview.await.map(Response::new);
        }
        let daemon = self.0.clone();
        // A task of its own, as for any change: what is stored is to be seen through.
        let task = tokio::spawn(async move {
            let _alone = ONE.lock().await;
            let folder = daemon.folder.clone();
            let mark = blocking(ORDINARY, move || Mark::lay(&folder)).await?;
            let mark = mark.map_err(|error| status::stored(&error.into()))?;
            let writer = daemon.clone();
            let done = daemon.store.write(move |tx| write(&writer, tx, &asked)).await;
            let Done {
                reply,
                entries,
                texts,
            } = match done {
                Ok(done) => done,
                Err(error) => {
                    if !matches!(error, WriteError::Storage(StorageError::Unsure { .. })) {
                        mark.take_away_if_new();
                    }
                    return Err(status::unwritten(&error));
                }
            };
            daemon.feed.publish(entries);
            blocking(LONG, move || traces::follow(&daemon, mark, reply, &texts)).await?
        });
        match within(LONG, task).await? {
            Ok(reply) => Ok(Response::new(reply?)),
            Err(error) => Err(status::broken(&error)),
        }
    }

    async fn seal_history(
        &self,
        request: Request<v1::SealHistoryRequest>,
    ) -> Result<Response<v1::SealHistoryReply>, Status> {
        let (origin, is_trial) = from_proto::seal_history(request.into_inner(), Timestamp::now())
            .map_err(|refusal| status::refused(&refusal))?;
        match within(LONG, tokio::spawn(seal(self.0.clone(), origin, is_trial))).await? {
            Ok(reply) => Ok(Response::new(reply?)),
            Err(error) => Err(status::broken(&error)),
        }
    }
}

/// One removal at a time, and what follows it: each may find what another left to do.
static ONE: Mutex<()> = Mutex::const_new(());

/// Does what a removal left to do that was cut off after it was stored.
///
/// # Errors
/// What the store or a file says.
pub(crate) async fn finish_removals(daemon: &Arc<Daemon>) -> Result<(), String> {
    let _alone = ONE.lock().await;
    let daemon = daemon.clone();
    let finished = tokio::task::spawn_blocking(move || traces::finish(&daemon));
    finished
        .await
        .map_err(|error| error.to_string())?
        .map_err(|error| error.to_string())
}

/// Seals what is left to seal, after a backup. Asked again it finds nothing to do, so that a retry
/// needs no memory.
async fn seal(daemon: Arc<Daemon>, origin: Origin, is_trial: bool) -> Result<v1::SealHistoryReply, Status> {
    let by = origin.by.clone();
    let fine = daemon.read(move |_, reader| {
        let owner = reader.shop()?.owner(&by, "the sealing of the history");
        Ok(match owner {
            Ok(by) => Ok((by, reader.entries_in_clear()?)),
            Err(refusal) => Err(refusal),
        })
    });
    let (by, left) = fine.await?;
    let mut reply = v1::SealHistoryReply::default();
    if left == 0 || is_trial {
        reply.said.push(format!("entries to put under seal: {left}"));
        return Ok(reply);
    }
    let now = Timestamp::now();
    let folder = daemon.folder.join(BACKUPS);
    let backup = daemon.store.backup(&folder, now).await;
    reply.backup = backup
        .map_err(|error| status::stored(&error))?
        .path
        .display()
        .to_string();
    let origin = Origin { by, ..origin };
    let sealed = daemon
        .store
        .write(move |tx| Ok(tx.seal_history(&origin, now)?))
        .await;
    let entries = sealed.map_err(|error| status::unwritten(&error))?;
    reply
        .said
        .extend(entries.iter().map(|entry| entry::line(&entry.event)));
    daemon.feed.publish(entries);
    let is_uncleaned = daemon.store.read(|reader| reader.is_uncleaned());
    reply.cleaned = !is_uncleaned.map_err(|error| status::stored(&error))?;
    Ok(reply)
}

/// The jobs of the rider who is meant.
fn theirs(ledger: &impl Ledger, who: &Who) -> Result<Result<Person, Refusal>, StorageError> {
    match who {
        Who::Job(number) => {
            let job = match existing_job(ledger, *number)? {
                Ok(job) => job,
                Err(refusal) => return Ok(Err(refusal)),
            };
            if job.rider_removed.is_some() {
                return Ok(Ok(Person {
                    jobs: vec![Arc::unwrap_or_clone(job)],
                    others: Vec::new(),
                }));
            }
            let of_name = ledger.jobs_of_rider(&job.rider)?;
            Ok(command::person(of_name, Some(*number)))
        }
        Who::Name(name) => {
            let mut of_name = ledger.jobs_of_rider(name)?;
            of_name.retain(|job| job.rider_removed.is_none());
            if of_name.is_empty() {
                let message = format!("no job is under the name `{name}`");
                return Ok(Err(Refusal::new(Reason::NoSuchJob, message)
                    .with("given", name)
                    .hint("write the name as it was taken in, or a job's number; `lockring jobs --all` lists them")));
            }
            Ok(command::person(of_name, None))
        }
    }
}

/// Recalls about which a job's rider is still to be called.
fn recalls(ledger: &impl Ledger, at: &Standing, job: u32) -> Result<Vec<u32>, StorageError> {
    let mut found = Vec::new();
    for (number, recall) in &at.shop.recalls {
        let Ok(find) = Find::read(&recall.find, &at.zone) else {
            continue;
        };
        let on_it = |spot: &Spot| matches!(spot, Spot::Job(bearer) if bearer.job == job);
        let pieces = ledger.find_pieces(&find)?;
        if pieces
            .iter()
            .any(|piece| piece.left.is_none() && on_it(&piece.at))
            && recall.state_of(job, &pieces) < CallState::Done
        {
            found.push(*number);
        }
    }
    Ok(found)
}

fn view(
    daemon: &Daemon,
    reader: &Reader<'_>,
    who: &Who,
) -> Result<Result<v1::RiderView, Refusal>, StorageError> {
    let at = daemon.standing(reader)?;
    let Person { jobs, others } = match theirs(reader, who)? {
        Ok(person) => person,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let histories: Vec<Vec<Entry>> = jobs
        .iter()
        .map(|job| reader.entries(job.number, 0))
        .collect::<Result<_, _>>()?;
    let told: Vec<(Kind, String)> = histories.iter().flat_map(|entries| who_texts(entries)).collect();
    let of_shop = reader.shop_words()?;
    let mut view = to_proto::rider_view(&jobs, &others, &at.shop);
    let lines = of_shop.iter().map(|entry| to_proto::history_line(entry, false));
    view.shop_lines = lines.filter(|line| names(&line.text, &told)).collect();
    let numbers: Vec<u32> = jobs.iter().map(|job| job.number).collect();
    let elsewhere = elsewhere(reader, &numbers, &told)?;
    view.other_lines = elsewhere
        .iter()
        .map(|entry| to_proto::history_line(entry, false))
        .collect();
    view.cautions = CAUTIONS.map(str::to_owned).to_vec();
    for (job, entries) in jobs.iter().zip(&histories) {
        let removals = removals(entries);
        let mut one = to_proto::rider_job(job, entries);
        let in_clear = reader.in_clear(job.number)?;
        for entry in entries {
            let mut event = entry.event.clone();
            one.texts.extend(private::texts(&mut event).iter().map(|private| {
                v1::RiderText {
                    entry: entry.seq,
                    kind: private.kind.word().to_owned(),
                    text: private.text.clone(),
                    goes: private.kind.tells_who(),
                    names: names(private.text, &told),
                    removed: removals
                        .iter()
                        .any(|removal| removal.takes(entry.seq, private.kind)),
                    fixed: in_clear.contains(&entry.seq),
                }
            }));
        }
        let all: BTreeSet<u64> = entries.iter().map(|entry| entry.seq).collect();
        let everything = Removal {
            on: Date::ZERO,
            why: String::new(),
            who: all.clone(),
            words: all,
            pictures: BTreeSet::new(),
            although: Vec::new(),
        };
        let fast = fast(entries, &everything, &told);
        let stays = entries.iter().filter(|entry| fast.contains(&entry.seq));
        one.texts.extend(stays.map(|entry| v1::RiderText {
            entry: entry.seq,
            kind: entry.event.kind().to_owned(),
            text: entry::line(&entry.event),
            names: true,
            fixed: true,
            ..Default::default()
        }));
        view.jobs.push(one);
        view.against.extend(
            against(reader, &at, job)?
                .into_iter()
                .map(to_proto::rider_against),
        );
        for path in daemon.store.backups_with_rider(job)? {
            let path = path.display().to_string();
            if !view.backups.contains(&path) {
                view.backups.push(path);
            }
        }
    }
    let texts: Vec<String> = told
        .into_iter()
        .filter(|(kind, _)| *kind != Kind::PrivateNote)
        .map(|(_, text)| text)
        .collect();
    view.files = traces::files_holding(&daemon.folder, &texts)?;
    Ok(Ok(view))
}

/// Entries of jobs that are not this rider's whose words hold the name or the contact.
fn elsewhere(
    ledger: &impl Ledger,
    jobs: &[u32],
    told: &[(Kind, String)],
) -> Result<Vec<Entry>, StorageError> {
    if told.is_empty() {
        return Ok(Vec::new());
    }
    let mut entries = ledger.words_holding(&|text| names(text, told))?;
    entries
        .retain(|entry| !jobs.contains(&entry.job) && !found(std::slice::from_ref(entry), told).is_empty());
    Ok(entries)
}

fn against(ledger: &impl Ledger, at: &Standing, job: &Job) -> Result<Vec<Against>, StorageError> {
    if job.rider_removed.is_some() {
        return Ok(Vec::new());
    }
    let recalls = recalls(ledger, at, job.number)?;
    let today = Timestamp::now().to_zoned_datetime(at.zone.clone()).date();
    at_desk(ledger, at, |desk| command::against(job, &recalls, today, desk))
}

/// What was decided about all jobs of a rider.
struct Decided {
    drafts: Vec<command::Draft>,
    reply: v1::RemoveRiderReply,
    /// What goes.
    texts: Vec<String>,
}

fn decide(
    ledger: &impl Ledger,
    at: &Standing,
    asked: &RiderAsked,
) -> Result<Result<Decided, Refusal>, StorageError> {
    let jobs = match theirs(ledger, &asked.who)? {
        Ok(person) => person.jobs,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let numbers: Vec<u32> = jobs.iter().map(|job| job.number).collect();
    let histories: Vec<Vec<Entry>> = jobs
        .iter()
        .map(|job| ledger.entries(job.number))
        .collect::<Result<_, _>>()?;
    let told: Vec<(Kind, String)> = histories.iter().flat_map(|entries| who_texts(entries)).collect();
    let mut elsewhere: BTreeSet<(u32, u64)> = elsewhere(ledger, &numbers, &told)?
        .iter()
        .map(|entry| (entry.job, entry.seq))
        .collect();
    // Nobody knows any more which words hold the name of a rider who was removed: whoever takes some out
    // that the removal left names them.
    let is_gone = jobs.iter().all(|job| job.rider_removed.is_some());
    let named: BTreeSet<(u32, u64)> = asked
        .words
        .iter()
        .filter_map(|pick| match pick {
            Pick::One {
                job: Some(job),
                number,
            } if !numbers.contains(job) => Some((*job, *number)),
            _ => None,
        })
        .collect();
    if is_gone {
        for (job, _) in &named {
            if let Err(refusal) = existing_job(ledger, *job)? {
                return Ok(Err(refusal));
            }
        }
        elsewhere.extend(&named);
    }
    if let Err(refusal) = from_proto::picks_fit(asked, &numbers, &elsewhere) {
        return Ok(Err(refusal));
    }
    let mut decided = Decided {
        drafts: Vec::new(),
        reply: v1::RemoveRiderReply {
            jobs: numbers,
            cautions: CAUTIONS.map(str::to_owned).to_vec(),
            ..Default::default()
        },
        texts: Vec::new(),
    };
    for (job, entries) in jobs.iter().zip(&histories) {
        if is_gone && picks_only(asked, &named) {
            continue;
        }
        let ask = RemoveRider {
            why: asked.why.clone(),
            words: asked
                .words
                .iter()
                .flat_map(|pick| match pick {
                    Pick::All => found(entries, &told),
                    Pick::One { job: of, number } if of.is_none_or(|of| of == job.number) => {
                        BTreeSet::from([*number])
                    }
                    Pick::One { .. } => BTreeSet::new(),
                })
                .collect(),
            photos: asked
                .photos
                .iter()
                .filter_map(|pick| match pick {
                    Pick::One { job: of, number } if of.is_none_or(|of| of == job.number) => {
                        u32::try_from(*number).ok()
                    }
                    _ => None,
                })
                .collect(),
            all_photos: asked.photos.contains(&Pick::All),
            anyway: asked.anyway,
        };
        let recalls = recalls(ledger, at, job.number)?;
        let draft = at_desk(ledger, at, |desk| {
            command::remove_rider(entries, asked.origin.clone(), &ask, &recalls, desk)
        })?;
        let draft = match draft {
            Ok(draft) => draft,
            Err(refusal) => return Ok(Err(refusal)),
        };
        if let Some(refusal) = fixed(ledger, job.number, &draft)? {
            return Ok(Err(refusal));
        }
        decided.take(job.number, entries, draft, &told);
    }
    // Words about this rider in somebody else's history: only those that are named, one by one, go.
    let picked = |at: &(u32, u64)| {
        let is_it =
            |pick: &Pick| matches!(pick, Pick::One { job: Some(job), number } if (*job, *number) == *at);
        asked.words.iter().any(is_it)
    };
    let go: BTreeSet<_> = elsewhere.iter().copied().filter(picked).collect();
    let stay = elsewhere.difference(&go);
    for job in go.iter().map(|(job, _)| *job).collect::<BTreeSet<u32>>() {
        let entries = ledger.entries(job)?;
        let of_job = go.iter().filter(|(of, _)| *of == job);
        let words: BTreeSet<u64> = of_job.map(|(_, number)| *number).collect();
        let draft = at_desk(ledger, at, |desk| {
            command::remove_words(&entries, asked.origin.clone(), &asked.why, &words, desk)
        })?;
        let draft = match draft {
            Ok(draft) => draft,
            Err(refusal) => return Ok(Err(refusal)),
        };
        if let Some(refusal) = fixed(ledger, job, &draft)? {
            return Ok(Err(refusal));
        }
        decided.take(job, &entries, draft, &[]);
    }
    decided.reply.left.extend(stay.map(|(job, number)| {
        format!("job {job}, entry {number}, another rider's: --words {job}:{number} takes its words out")
    }));
    let of_shop = ledger.shop_words()?;
    let lines = of_shop.iter().map(|entry| to_proto::history_line(entry, false));
    decided
        .reply
        .left
        .extend(lines.filter(|line| names(&line.text, &told)).map(|line| {
            format!(
                "the shop's history, entry {}: it cannot be taken out of there",
                line.seq
            )
        }));
    Ok(Ok(decided))
}

/// Whether all that is asked for is words of other riders' jobs.
fn picks_only(asked: &RiderAsked, others: &BTreeSet<(u32, u64)>) -> bool {
    let is_other = |pick: &Pick| matches!(pick, Pick::One { job: Some(job), number } if others.contains(&(*job, *number)));
    !asked.words.is_empty() && asked.photos.is_empty() && asked.words.iter().all(is_other)
}

impl Decided {
    fn take(&mut self, job: u32, entries: &[Entry], draft: command::Draft, told: &[(Kind, String)]) {
        self.reply.said.extend(draft.said.iter().cloned());
        for event in &draft.events {
            let Event::RiderRemoved(removal) = event else {
                continue;
            };
            let left = found(entries, told);
            let stays = fast(entries, removal, told);
            self.reply.left.extend(stays.difference(&left).map(|seq| {
                format!("job {job}, entry {seq}: it stays, because gates, concessions or papers rest on it")
            }));
            self.reply.left.extend(
                left.difference(&removal.words)
                    .map(|seq| format!("job {job}, entry {seq}: --words {job}:{seq} takes its words out")),
            );
            for entry in entries {
                let mut event = entry.event.clone();
                let gone = private::texts(&mut event).into_iter();
                self.texts.extend(
                    gone.filter(|private| removal.takes(entry.seq, private.kind))
                        .map(|private| std::mem::take(private.text)),
                );
            }
        }
        self.drafts.push(draft);
    }
}

/// The refusal for texts that stand in the journal itself.
fn fixed(ledger: &impl Ledger, job: u32, draft: &command::Draft) -> Result<Option<Refusal>, StorageError> {
    let in_clear = ledger.in_clear(job)?;
    let touched: BTreeSet<u64> = draft
        .events
        .iter()
        .flat_map(|event| match event {
            Event::RiderRemoved(removal) => removal.who.union(&removal.words).copied().collect(),
            _ => BTreeSet::new(),
        })
        .filter(|seq| in_clear.contains(seq))
        .collect();
    if touched.is_empty() {
        return Ok(None);
    }
    let entries = removal::listed(&touched);
    let message = format!(
        "job {job}: {entries} stem from a version that wrote names into the journal itself, which is never changed"
    );
    Ok(Some(
        Refusal::new(Reason::RiderStays, message)
            .with("job", job)
            .with("entries", &entries)
            .hint("put such entries under seal once, with `lockring rider --seal-history`"),
    ))
}

/// What a removal came to, for what follows it.
struct Done {
    reply: v1::RemoveRiderReply,
    entries: Vec<Entry>,
    texts: Vec<String>,
}

fn write(daemon: &Daemon, tx: &mut Tx<'_>, asked: &RiderAsked) -> Result<Done, WriteError> {
    // A name is left out: a hash of it, kept with the answer, could be tried out.
    let job = match &asked.who {
        Who::Job(number) => Some(*number),
        Who::Name(_) => None,
    };
    let what = (job, &asked.why, &asked.words, &asked.photos, asked.anyway);
    let request = request_for(&asked.request_id, &asked.origin, &what);
    if let Some(reply) = given_before(tx, &request)? {
        return Ok(Done {
            reply,
            entries: Vec::new(),
            texts: Vec::new(),
        });
    }
    let at = daemon.standing(tx)?;
    let decided = decide(tx, &at, asked)?.map_err(WriteError::Refused)?;
    let now = Timestamp::now();
    let mut entries = Vec::new();
    for draft in &decided.drafts {
        entries.extend(tx.append(draft.job.number, &draft.origin, now, &draft.events, &draft.job)?);
    }
    tx.redact_answers(&decided.texts, to_proto::cut)?;
    tx.remember(&request, &to_proto::keep(&decided.reply))?;
    Ok(Done {
        reply: decided.reply,
        entries,
        texts: decided.texts,
    })
}
