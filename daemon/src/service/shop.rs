//! The daemon itself: handshake, status, verify, backup, words, stop.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::shop::setting::Units;
use lockring_proto::{PROTOCOL, v1};
use lockring_store::{Reader, StorageError};
use tonic::{Request, Response, Status};

use super::{Daemon, LONG, blocking, from_proto, status, to_proto, within};
use crate::door::Caller;

/// Entries of which so many are named, when a clock was ahead that dated them.
const NAMED: usize = 3;

/// What keeps the daemon from doing its own work in time, a line each: days, backups and entries that lie ahead,
/// because the clock was wrong when they were written, or is.
pub(crate) fn troubles(
    daemon: &Daemon,
    reader: &Reader<'_>,
    now: Timestamp,
) -> Result<Vec<String>, StorageError> {
    let at = daemon.standing(reader)?;
    let today = now.to_zoned_datetime(at.zone.clone()).date();
    let ahead = |what: &str, day: Option<Date>, follows: &str| {
        let day = day.filter(|day| *day > today)?;
        Some(format!(
            "the last {what} is of {day}, and today is {today}: {follows}; was the clock wrong, or is it?"
        ))
    };
    let mut told: Vec<String> = [
        ahead(
            "end-of-day report",
            at.shop.evening,
            "those of days that have not come are written again when each has closed",
        ),
        ahead(
            "morning's look at late orders and promises",
            at.shop.swept,
            "each day has one of its own again as it comes",
        ),
        entries_ahead(reader, &at.zone, now)?,
    ]
    .into_iter()
    .flatten()
    .collect();
    let backups = daemon.store.backups_ahead(now)?;
    told.extend(backups.iter().map(|path| {
        let path = path.display();
        format!("the backup {path} is dated later than now: was the clock wrong, or is it?")
    }));
    if reader.is_uncleaned()? {
        told.push(
            "the data file may still hold bytes of a rider who was removed: it is cleaned tonight".to_owned(),
        );
    }
    Ok(told)
}

/// The entries that are dated later than now, further than a bench's clock may be ahead.
fn entries_ahead(
    reader: &Reader<'_>,
    zone: &TimeZone,
    now: Timestamp,
) -> Result<Option<String>, StorageError> {
    let found = reader.made_after(now + from_proto::AHEAD)?;
    let named = found.iter().take(NAMED).map(|(job, seq, made)| {
        let made = made.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M");
        match job {
            0 => format!("entry {seq} of the shop ({made})"),
            job => format!("entry {seq} of job {job} ({made})"),
        }
    });
    let mut named: Vec<String> = named.collect();
    if found.len() > NAMED {
        named.push(format!("{} more", found.len() - NAMED));
    }
    Ok((!found.is_empty()).then(|| {
        format!(
            "dated later than now: {}; what is entered after them is shown as stored at their time until that has come; was the \
             clock wrong, or is it? `lockring undo JOB --entry NUMBER` takes one of a job back, `lockring settings undo --entry NUMBER` \
             one of the shop",
            named.join(", ")
        )
    }))
}

/// This program's version.
pub(super) const VERSION: &str = env!("CARGO_PKG_VERSION");

/// The service.
pub(super) struct Shop(pub(super) Arc<Daemon>);

impl Shop {
    /// Which unit system whoever is typing reads first, `None` when nobody said who that is; and the
    /// shop's time zone. When the shop cannot be read, a handshake is given all the same, and the next
    /// call says why.
    async fn habits_for(&self, by: &str) -> (Option<Units>, TimeZone) {
        match self.0.known_shop().await {
            Ok(shop) => {
                let units = (!by.is_empty()).then(|| shop.units_of(by));
                (units, crate::standing::zone_of(&shop, &self.0.zone))
            }
            Err(status) => {
                tracing::warn!(%status, "the shop's units and time zone cannot be read");
                (None, self.0.zone.clone())
            }
        }
    }
}

#[tonic::async_trait]
impl v1::shop_server::Shop for Shop {
    async fn hello(&self, request: Request<v1::HelloRequest>) -> Result<Response<v1::HelloReply>, Status> {
        let caller = request.extensions().get::<Caller>().cloned();
        let client = from_proto::hello(request.into_inner());
        // Over the network the certificates say that it is this shop: its folder is its own affair.
        let from_afar = caller
            .as_ref()
            .is_some_and(|caller| caller.fingerprint().is_some());
        let folder = self.0.folder.display().to_string();
        let meant = if from_afar { &client.folder } else { &folder };
        agree(&client, meant)?;
        if let Some(caller) = caller {
            caller.greet();
        }
        let (units, zone) = self.habits_for(&client.by).await;
        Ok(Response::new(to_proto::hello(&self.0, units, &zone)))
    }

    async fn status(&self, _: Request<v1::StatusRequest>) -> Result<Response<v1::StatusReply>, Status> {
        let reply = self.0.read(|daemon, reader| {
            let now = Timestamp::now();
            let mut reply = to_proto::status(daemon, &reader.counts()?, daemon.store.last_backup(now)?);
            reply.troubles = troubles(daemon, reader, now)?;
            Ok(Ok(reply))
        });
        reply.await.map(Response::new)
    }

    async fn verify(&self, _: Request<v1::VerifyRequest>) -> Result<Response<v1::VerifyReply>, Status> {
        let store = self.0.store.clone();
        let found = blocking(LONG, move || store.verify())
            .await?
            .map_err(|error| status::stored(&error))?;
        for problem in &found.problems {
            tracing::error!(problem, "verify found a problem");
        }
        Ok(Response::new(to_proto::verification(found)))
    }

    async fn backup(&self, request: Request<v1::BackupRequest>) -> Result<Response<v1::BackupReply>, Status> {
        let request = request.into_inner();
        let is_chosen = !request.to_folder.is_empty();
        let folder = from_proto::backup_folder(request, &self.0.folder)
            .map_err(|refusal| status::refused(&refusal))?;
        let store = self.0.store.clone();
        let task = tokio::spawn(async move { store.backup(&folder, Timestamp::now()).await });
        match within(LONG, task).await? {
            Ok(Ok(done)) => Ok(Response::new(to_proto::backed_up(&done))),
            // The folder was typed: it is looked at before the disk is.
            Ok(Err(StorageError::Io { detail })) if is_chosen => Err(status::refused(
                &Refusal::new(
                    Reason::BadInput,
                    format!("no backup could be made there: {detail}"),
                )
                .with("field", "to_folder")
                .hint("name another folder with --to; if it is the right one, look at its disk"),
            )),
            Ok(Err(error)) => Err(status::stored(&error)),
            Err(error) => Err(status::broken(&error)),
        }
    }

    async fn words(&self, _: Request<v1::WordsRequest>) -> Result<Response<v1::WordsReply>, Status> {
        Ok(Response::new(to_proto::words()))
    }

    async fn stop(&self, _: Request<v1::StopRequest>) -> Result<Response<v1::StopReply>, Status> {
        tracing::info!("a client asked the daemon to end");
        self.0.shutdown.ask();
        Ok(Response::new(v1::StopReply {}))
    }
}

/// Protocol, major and minor version, and data folder must agree.
fn agree(client: &from_proto::Client, our_folder: &str) -> Result<(), Status> {
    if !lockring_proto::understand(client.protocol, &client.version, VERSION) {
        let message = format!(
            "lockring {} (protocol {}) does not match lockringd {VERSION} (protocol {PROTOCOL})",
            client.version, client.protocol
        );
        let hint = "end this daemon with `lockring daemon stop`, install both programs from one version, and start it again with `lockring daemon start`";
        let sides = [
            (
                "client",
                format!("{} protocol {}", client.version, client.protocol),
            ),
            ("daemon", format!("{VERSION} protocol {PROTOCOL}")),
        ];
        return Err(status::mismatch("VERSION_MISMATCH", &message, hint, sides));
    }
    if client.folder != our_folder {
        let message = format!(
            "this daemon serves {our_folder}; the client means {}",
            client.folder
        );
        let hint = "name the same folder with --dir or LOCKRING_DIR; if the folder was moved while the daemon ran, stop the daemon and start it again";
        let sides = [
            ("client", client.folder.clone()),
            ("daemon", our_folder.to_owned()),
        ];
        return Err(status::mismatch("FOLDER_MISMATCH", &message, hint, sides));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use tonic::Code;
    use tonic_types::StatusExt;

    use super::*;

    fn client(version: &str, protocol: u32, folder: &str) -> from_proto::Client {
        from_proto::Client {
            version: version.into(),
            protocol,
            folder: folder.into(),
            by: String::new(),
        }
    }

    #[test]
    fn a_client_of_this_series_and_folder_is_let_in() {
        assert!(agree(&client(VERSION, PROTOCOL, "/d"), "/d").is_ok());
        assert!(agree(&client("", PROTOCOL, "/d"), "/d").is_err());
    }

    #[test]
    fn a_mismatch_names_both_sides_and_the_cure() {
        for (client, reason, ours) in [
            (client("99.1.0", PROTOCOL, "/d"), "VERSION_MISMATCH", "99.1.0"),
            (
                client(VERSION, PROTOCOL + 1, "/d"),
                "VERSION_MISMATCH",
                &format!("protocol {}", PROTOCOL + 1),
            ),
            (
                client(VERSION, PROTOCOL, "/elsewhere"),
                "FOLDER_MISMATCH",
                "/elsewhere",
            ),
        ] {
            let refused = agree(&client, "/d").unwrap_err();
            assert_eq!(refused.code(), Code::FailedPrecondition);
            let details = refused.get_error_details();
            let info = details.error_info().unwrap();
            assert_eq!(info.reason, reason);
            assert!(info.metadata["client"].contains(ours), "{:?}", info.metadata);
            assert!(!info.metadata["daemon"].is_empty() && !info.metadata["hint"].is_empty());
            assert!(refused.message().contains(ours), "{}", refused.message());
        }
    }
}
