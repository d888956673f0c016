//! The daemon as the commands see it: one checked connection, a deadline on every call, and
//! one retry under the same request id.
//!
//! The first call need not wait for the answer to the handshake: it goes along with it, the daemon
//! does nothing before both agree, and no answer is believed before that of the handshake.

use std::cell::Cell;
use std::future::Future;
use std::io::ErrorKind;
use std::path::Path;
use std::pin::Pin;
use std::rc::Rc;
use std::sync::Mutex;
use std::time::Duration;

use hyper_util::rt::TokioIo;
use lockring_proto::PROTOCOL;
use lockring_proto::paths;
use lockring_proto::units::Units;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{HelloReply, HelloRequest};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::UnixStream;
use tokio::task::JoinHandle;
use tonic::transport::{Channel, Endpoint, Uri};
use tonic::{Code, Request, Response, Status};
use tonic_types::StatusExt as _;

use crate::client::gathered::Gathered;
use crate::command_error::{CommandError, Exit, is_broken};
use crate::folder::Folder;
use crate::output::times::Clock;

mod away;
#[cfg(test)]
pub(crate) mod fake;
mod gathered;
pub(crate) mod iam;
pub(crate) mod moving;
pub(crate) mod origin;
pub(crate) mod pass;
pub(crate) mod start;

/// How long the socket may take to let us in.
const CONNECT: Duration = Duration::from_secs(2);
/// How long an ordinary call may take.
pub(crate) const ORDINARY: Duration = Duration::from_secs(10);
/// How long reading or copying the whole data file may take.
pub(crate) const LONG: Duration = Duration::from_secs(600);
/// Wait before the one retry, so that a restarting daemon can come back.
const BEFORE_RETRY: Duration = Duration::from_millis(200);

/// A checked connection to the daemon of one data folder.
pub(crate) struct Client {
    channel: Channel,
    folder: Folder,
    by: String,
    /// Which unit system whoever is typing reads first, once hands were shaken.
    units: Rc<Cell<Units>>,
    /// The clock the shop looks at, once hands were shaken.
    clock: Clock,
    /// How far the handshake is.
    handshake: tokio::sync::Mutex<Handshake>,
}

/// What a handshake tells of how to speak with whoever is typing.
struct Habits {
    /// Which unit system stands first.
    units: Units,
    /// Name of the shop's time zone; empty where it has none.
    zone: String,
}

/// A handshake.
#[derive(Default)]
enum Handshake {
    /// None is asked for, or both agreed.
    #[default]
    Over,
    /// On its way; what it comes to.
    UnderWay(JoinHandle<Result<Habits, CommandError>>),
    /// They did not agree, which was said.
    Refused,
}

impl Client {
    /// Connects and shakes hands.
    ///
    /// # Errors
    /// [`Exit::NoDaemon`] when nobody serves the folder, [`Exit::Permission`] when the socket's
    /// folder is not private, [`Exit::VersionMismatch`] when the daemon is of another version
    /// or folder, [`Exit::Timeout`].
    pub(crate) async fn connect(folder: &Folder) -> Result<Self, CommandError> {
        let client = Self::approach(folder, "", Rc::default(), Clock::default()).await?;
        client.agreed().await?;
        Ok(client)
    }

    /// Connects and begins to shake hands, saying who is typing; the first call goes along. `units`
    /// and `clock` are told when its answer is there.
    ///
    /// # Errors
    /// As [`Client::connect`], but for the version or folder, which the first call finds.
    pub(crate) async fn approach(
        folder: &Folder,
        by: &str,
        units: Rc<Cell<Units>>,
        clock: Clock,
    ) -> Result<Self, CommandError> {
        let mut client = Self::connect_to_any_version(folder).await?;
        by.clone_into(&mut client.by);
        client.units = units;
        client.clock = clock;
        let handshake = tokio::spawn(client.shake_hands()?);
        client.handshake = tokio::sync::Mutex::new(Handshake::UnderWay(handshake));
        // So that Hello is the first word on the connection.
        tokio::task::yield_now().await;
        if folder.pass().is_some() {
            // From afar the daemon looks up who may call, and one call may overtake another there.
            client.agreed().await?;
        }
        Ok(client)
    }

    /// Waits for the end of the handshake.
    pub(crate) async fn agreed(&self) -> Result<(), CommandError> {
        let mut handshake = self.handshake.lock().await;
        let answer = match &mut *handshake {
            Handshake::Over => return Ok(()),
            Handshake::UnderWay(answer) => answer.await,
            Handshake::Refused => {
                let told = "lockring and lockringd did not agree; nothing is asked of it";
                return Err(CommandError::new(Exit::VersionMismatch, told));
            }
        };
        *handshake = Handshake::Refused;
        let broke_down =
            |error| CommandError::new(Exit::Unexpected, "the handshake broke down").caused_by(&error);
        let habits = answer.map_err(broke_down)??;
        self.units.set(habits.units);
        self.clock.set(&habits.zone);
        *handshake = Handshake::Over;
        Ok(())
    }

    /// Connects without shaking hands: for stopping and looking at a daemon of another version.
    ///
    /// # Errors
    /// As [`Client::connect`], but for the version.
    pub(crate) async fn connect_to_any_version(folder: &Folder) -> Result<Self, CommandError> {
        let opened = match folder.pass() {
            Some(pass) => channel_over(away::open(pass).await?).await,
            None => channel_over(open(folder).await?).await,
        };
        let channel = opened.map_err(|error| {
            if went_away(&error) {
                return nobody(folder);
            }
            CommandError::new(Exit::Unexpected, "what answers for lockringd speaks no gRPC").caused_by(&error)
        })?;
        Ok(Self {
            channel,
            folder: folder.clone(),
            by: String::new(),
            units: Rc::default(),
            clock: Clock::default(),
            handshake: tokio::sync::Mutex::default(),
        })
    }

    /// The channel, for calls that manage their own deadline.
    ///
    /// # Errors
    /// As [`Client::connect`].
    pub(crate) async fn channel(&self) -> Result<Channel, CommandError> {
        self.agreed().await?;
        Ok(self.channel.clone())
    }

    /// The channel, whether or not hands were shaken.
    pub(crate) fn open_channel(&self) -> Channel {
        self.channel.clone()
    }

    /// Sends a request within a deadline; when the connection breaks, connects anew and sends
    /// the same request once more. The request id inside makes the repetition harmless.
    ///
    /// # Errors
    /// What the daemon answered, as a [`CommandError`]; [`Exit::Timeout`]; as
    /// [`Client::connect`] when the retry finds nobody.
    pub(crate) async fn call<R, T, F, S>(
        &self,
        deadline: Duration,
        request: R,
        send: S,
    ) -> Result<T, CommandError>
    where
        R: Clone,
        F: Future<Output = Result<Response<T>, Status>>,
        S: Fn(Channel, Request<R>) -> F,
    {
        let send = |channel| -> Sent<'_, T> { Box::pin(send(channel, timed(deadline, request.clone()))) };
        self.insist(deadline, &send).await
    }

    /// [`Client::call`], compiled once for every kind of answer, not for every call.
    async fn insist<'c, T>(
        &self,
        deadline: Duration,
        send: &dyn Fn(Channel) -> Sent<'c, T>,
    ) -> Result<T, CommandError> {
        match within(deadline, send(self.open_channel())).await {
            Err(status) if status.code() == Code::Unavailable || is_broken(&status) => {
                tokio::time::sleep(BEFORE_RETRY).await;
                let unsure = |error: CommandError| match error.kind {
                    Exit::NoDaemon => error.maybe_stored(),
                    _ => error,
                };
                let fresh =
                    Self::approach(&self.folder, &self.by, self.units.clone(), self.clock.clone()).await;
                let fresh = fresh.map_err(unsure)?.channel().await.map_err(unsure)?;
                let second = within(deadline, send(fresh)).await;
                second.map_err(|status| unsure(CommandError::from_status(&status)))
            }
            answer => {
                self.agreed().await?;
                let answer = match answer {
                    // Hello was answered only after this was looked at; nothing of it was done.
                    Err(status) if is_ungreeted(&status) => within(deadline, send(self.open_channel())).await,
                    answer => answer,
                };
                answer.map_err(|status| CommandError::from_status(&status))
            }
        }
    }

    /// Both sides say who they are; each refuses what it does not match. Gives how to speak with
    /// whoever is typing.
    fn shake_hands(
        &self,
    ) -> Result<impl Future<Output = Result<Habits, CommandError>> + Send + 'static, CommandError> {
        let ours = self
            .folder
            .canonical()?
            .unwrap_or_else(|| self.folder.named().to_path_buf());
        let request = HelloRequest {
            program_version: env!("CARGO_PKG_VERSION").to_owned(),
            protocol: PROTOCOL,
            // Away, the certificates say which shop it is.
            data_folder: match self.folder.pass() {
                Some(_) => String::new(),
                None => ours.display().to_string(),
            },
            by: self.by.clone(),
        };
        let ours = self.folder.pass().is_none().then_some(ours);
        let mut shop = ShopClient::new(self.open_channel());
        Ok(async move {
            let hello = shop.hello(timed(ORDINARY, request)).await;
            let reply = hello
                .map_err(|status| CommandError::from_status(&status))?
                .into_inner();
            agree(&reply, ours.as_deref())?;
            let units = match reply.units.as_str() {
                "imperial" => Units::Imperial,
                _ => Units::Metric,
            };
            let zone = reply.zone;
            Ok(Habits { units, zone })
        })
    }
}

/// A request on its way. On the heap, so that what waits for it is compiled once for every kind of
/// answer, not for every call.
pub(crate) type Sent<'c, T> = Pin<Box<dyn Future<Output = Result<Response<T>, Status>> + 'c>>;

/// A request that tells the daemon how long it has.
pub(crate) fn timed<R>(deadline: Duration, message: R) -> Request<R> {
    // Made empty, so that the deadline is put into words once, not for every kind of message.
    let mut request = Request::new(());
    request.set_timeout(deadline);
    request.map(|()| message)
}

/// Waits for an answer no longer than the deadline, whatever the daemon does.
pub(crate) async fn within<T>(deadline: Duration, answer: Sent<'_, T>) -> Result<T, Status> {
    match tokio::time::timeout(deadline, answer).await {
        Ok(answer) => answer.map(Response::into_inner),
        Err(_) => Err(Status::deadline_exceeded("no answer")),
    }
}

/// Whether a call was refused because it came before Hello.
fn is_ungreeted(status: &Status) -> bool {
    let details = status.get_error_details();
    details
        .error_info()
        .is_some_and(|info| info.reason == "NOT_GREETED")
}

/// Opens the socket of the folder's daemon.
async fn open(folder: &Folder) -> Result<UnixStream, CommandError> {
    if folder.canonical()?.is_none() {
        return Err(nobody(folder));
    }
    let socket = paths::socket_path(folder.named())?;
    let Some(run) = socket.parent() else {
        return Err(CommandError::new(
            Exit::Unexpected,
            format!("{} lies in no folder", socket.display()),
        ));
    };
    match run.symlink_metadata() {
        Err(error) if error.kind() == ErrorKind::NotFound => return Err(nobody(folder)),
        _ => paths::check_private_folder(run)?,
    }
    match tokio::time::timeout(CONNECT, UnixStream::connect(&socket)).await {
        Err(_) => Err(CommandError::new(
            Exit::Timeout,
            format!(
                "lockringd did not let us in within {} s at {}",
                CONNECT.as_secs(),
                socket.display()
            ),
        )),
        Ok(Ok(stream)) => Ok(stream),
        Ok(Err(error)) => Err(match error.kind() {
            ErrorKind::NotFound | ErrorKind::ConnectionRefused | ErrorKind::ConnectionReset => nobody(folder),
            ErrorKind::PermissionDenied => {
                CommandError::new(Exit::Permission, format!("{} lets us not in", socket.display()))
                    .caused_by(&error)
            }
            _ => CommandError::new(Exit::Unexpected, format!("{} cannot be opened", socket.display()))
                .caused_by(&error),
        }),
    }
}

/// A channel over exactly this stream: when it breaks, the channel is at its end, so that no
/// connection goes without its handshake.
async fn channel_over<S>(stream: S) -> Result<Channel, tonic::transport::Error>
where
    S: AsyncRead + AsyncWrite + Send + Unpin + 'static,
{
    let once = Mutex::new(Some(TokioIo::new(Gathered::new(stream))));
    let connector = tower::service_fn(move |_: Uri| {
        let stream = once.lock().map_or(None, |mut stream| stream.take());
        async move { stream.ok_or_else(|| std::io::Error::new(ErrorKind::NotConnected, "the connection broke")) }
    });
    Endpoint::from_static("http://localhost")
        .connect_timeout(CONNECT)
        .connect_with_connector(connector)
        .await
}

/// Whether the other end closed the connection under our hand, as a daemon does that ends.
fn went_away(error: &tonic::transport::Error) -> bool {
    let first: &(dyn std::error::Error + 'static) = error;
    std::iter::successors(Some(first), |error| error.source())
        .filter_map(|error| error.downcast_ref::<std::io::Error>())
        .any(|error| {
            matches!(
                error.kind(),
                ErrorKind::ConnectionReset | ErrorKind::BrokenPipe | ErrorKind::UnexpectedEof
            )
        })
}

/// Nobody serves the folder.
fn nobody(folder: &Folder) -> CommandError {
    if let Some(pass) = folder.pass() {
        return CommandError::new(
            Exit::NoDaemon,
            format!("no lockringd answers at {}", pass.address),
        )
        .hint("at the shop's computer, `lockring status` says whether it serves");
    }
    let serving = format!("no lockringd is serving {}", folder.named().display());
    if folder.named().join(paths::SUSPECT).exists() {
        let damaged = format!("{serving}: damage was found in its data file");
        return CommandError::new(Exit::NoDaemon, damaged).hint(
            "`lockring daemon start` says what is damaged; `lockring restore --to NEW-FOLDER` makes a new folder of the newest backup",
        );
    }
    CommandError::new(Exit::NoDaemon, serving).hint("start it with `lockring daemon start`, or add --start")
}

/// Compares what the daemon says of itself with what we are, and with the folder we mean.
fn agree(theirs: &HelloReply, our_folder: Option<&Path>) -> Result<(), CommandError> {
    let ours = env!("CARGO_PKG_VERSION");
    if !lockring_proto::understand(theirs.protocol, &theirs.program_version, ours) {
        return Err(CommandError::new(
            Exit::VersionMismatch,
            format!(
                "lockring {ours} (protocol {PROTOCOL}) does not match lockringd {} (protocol {})",
                theirs.program_version, theirs.protocol
            ),
        )
        .hint(match our_folder {
            Some(_) => {
                "end the old daemon with `lockring daemon stop` and begin again with `lockring daemon start`"
            }
            None => "install the same version on this computer and on the one that keeps the shop",
        }));
    }
    if let Some(our_folder) = our_folder
        && theirs.data_folder != our_folder.display().to_string()
    {
        return Err(CommandError::new(
            Exit::VersionMismatch,
            format!(
                "this daemon serves {}, not {}",
                theirs.data_folder,
                our_folder.display()
            ),
        )
        .hint("was the data folder moved while it ran? end the daemon and start it again"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::DirBuilderExt as _;
    use std::sync::Arc;

    use lockring_proto::v1::{BackupRequest, StatusRequest, WordsRequest};

    use super::*;
    use crate::client::fake::{Fake, serve};

    fn theirs(version: &str, protocol: u32, folder: &str) -> HelloReply {
        HelloReply {
            program_version: version.to_owned(),
            protocol,
            schema: 1,
            data_folder: folder.to_owned(),
            units: String::new(),
            zone: String::new(),
        }
    }

    #[test]
    fn version_protocol_and_folder_must_agree() {
        let ours = env!("CARGO_PKG_VERSION");
        assert!(agree(&theirs(ours, PROTOCOL, "/data"), Some(Path::new("/data"))).is_ok());
        for (reply, said) in [
            (theirs("99.0.0", PROTOCOL, "/data"), "lockringd 99.0.0"),
            (theirs(ours, PROTOCOL + 1, "/data"), "protocol 3"),
            (theirs(ours, PROTOCOL, "/other"), "serves /other, not /data"),
        ] {
            let error = agree(&reply, Some(Path::new("/data"))).unwrap_err();
            assert_eq!(error.kind, Exit::VersionMismatch);
            assert!(error.message.contains(said), "{}", error.message);
            assert_eq!(error.hints.len(), 1);
        }
    }

    async fn refused(folder: &Path) -> CommandError {
        match Client::connect(&Folder::find(Some(folder)).unwrap()).await {
            Err(error) => error,
            Ok(_) => panic!("somebody answered at {}", folder.display()),
        }
    }

    #[tokio::test]
    async fn nobody_at_home_is_said_the_same_way_whatever_is_left_over() {
        let base = tempfile::tempdir().unwrap();
        let data = base.path().join("data");
        let missing = refused(&data).await;
        assert_eq!(missing.kind, Exit::NoDaemon);
        assert!(missing.message.ends_with("data"), "{}", missing.message);
        assert!(missing.hints[0].contains("--start"));

        std::fs::create_dir(&data).unwrap();
        assert_eq!(refused(&data).await.kind, Exit::NoDaemon);

        // A socket that a killed daemon left behind: there, but it refuses.
        let run = data.join("run");
        std::fs::DirBuilder::new().mode(0o700).create(&run).unwrap();
        drop(std::os::unix::net::UnixListener::bind(run.join("lockringd.sock")).unwrap());
        assert_eq!(refused(&data).await.kind, Exit::NoDaemon);
    }

    #[tokio::test]
    async fn a_socket_in_an_open_folder_is_not_trusted() {
        let data = tempfile::tempdir().unwrap();
        std::fs::DirBuilder::new()
            .mode(0o755)
            .create(data.path().join("run"))
            .unwrap();
        let error = refused(data.path()).await;
        assert_eq!(error.kind, Exit::Permission);
        assert!(error.hints[0].contains("chmod 700"), "{:?}", error.hints);
    }

    fn folder(path: &Path) -> Folder {
        Folder::find(Some(path)).unwrap()
    }

    #[tokio::test]
    async fn a_broken_answer_is_asked_for_once_more_on_a_new_connection() {
        let data = tempfile::tempdir().unwrap();
        let fake = Arc::new(Fake::new(data.path()));
        let _serving = serve(data.path(), fake.clone());
        let client = Client::connect(&folder(data.path())).await.unwrap();
        fake.unavailable.store(1, std::sync::atomic::Ordering::SeqCst);
        let send = |channel, request| async move { ShopClient::new(channel).status(request).await };
        let status = client.call(ORDINARY, StatusRequest {}, send).await.unwrap();
        assert_eq!(status.pid, 77);
        assert_eq!(
            fake.hellos.load(std::sync::atomic::Ordering::SeqCst),
            2,
            "each connection shakes hands"
        );

        fake.unavailable.store(2, std::sync::atomic::Ordering::SeqCst);
        let error = client.call(ORDINARY, StatusRequest {}, send).await.unwrap_err();
        assert_eq!(
            error.kind,
            Exit::NoDaemon,
            "a second failure is told, not tried a third time"
        );
    }

    /// A daemon that is killed over a call leaves a connection that breaks without a word.
    #[tokio::test]
    async fn a_connection_that_breaks_is_no_daemon_and_is_said_to_be_unsure() {
        let data = tempfile::tempdir().unwrap();
        // Connections end with the runtime they are served on.
        let place = data.path().to_path_buf();
        let (bound, is_bound) = tokio::sync::oneshot::channel();
        let (end, is_ended) = tokio::sync::oneshot::channel();
        let daemon = std::thread::spawn(move || {
            let theirs = tokio::runtime::Builder::new_current_thread().enable_all().build();
            theirs.unwrap().block_on(async {
                let _serving = serve(&place, Arc::new(Fake::new(&place)));
                bound.send(()).unwrap();
                is_ended.await
            })
        });
        is_bound.await.unwrap();
        let client = Client::connect(&folder(data.path())).await.unwrap();
        let send = |channel, request| async move { ShopClient::new(channel).backup(request).await };
        let call = client.call(ORDINARY, BackupRequest::default(), send);
        let kill = async {
            tokio::time::sleep(Duration::from_millis(50)).await;
            end.send(()).unwrap();
        };
        let (answer, ()) = tokio::join!(call, kill);
        let error = answer.unwrap_err();
        assert_eq!(error.kind, Exit::NoDaemon, "{}", error.text(false));
        let hints = error.hints.join(" ");
        assert!(hints.contains("may have been stored"), "{hints}");
        assert!(hints.contains("daemon start"), "{hints}");
        daemon.join().unwrap().unwrap();
    }

    #[tokio::test]
    async fn an_answer_that_never_comes_ends_at_the_deadline() {
        let data = tempfile::tempdir().unwrap();
        let _serving = serve(data.path(), Arc::new(Fake::new(data.path())));
        let client = Client::connect(&folder(data.path())).await.unwrap();
        let send = |channel, request| async move { ShopClient::new(channel).backup(request).await };
        let deadline = Duration::from_millis(60);
        let error = client
            .call(deadline, BackupRequest::default(), send)
            .await
            .unwrap_err();
        assert_eq!(error.kind, Exit::Timeout);
    }

    #[tokio::test]
    async fn a_daemon_of_another_version_is_refused_but_can_be_stopped() {
        let data = tempfile::tempdir().unwrap();
        let fake = Fake {
            version: "99.0.0".to_owned(),
            ..Fake::new(data.path())
        };
        let _serving = serve(data.path(), Arc::new(fake));
        assert_eq!(refused(data.path()).await.kind, Exit::VersionMismatch);
        let client = Client::connect_to_any_version(&folder(data.path()))
            .await
            .unwrap();
        let send = |channel, request| async move { ShopClient::new(channel).status(request).await };
        assert_eq!(
            client.call(ORDINARY, StatusRequest {}, send).await.unwrap().pid,
            77
        );
    }

    /// The first call goes along with Hello; an answer to it is worth nothing when they do not agree.
    #[tokio::test]
    async fn no_answer_is_believed_of_a_daemon_that_is_not_agreed_with() {
        let data = tempfile::tempdir().unwrap();
        let fake = Fake {
            version: "99.0.0".to_owned(),
            ..Fake::new(data.path())
        };
        let _serving = serve(data.path(), Arc::new(fake));
        let client = Client::approach(&folder(data.path()), "K", Rc::default(), Clock::default())
            .await
            .unwrap();
        let send = |channel, request| async move { ShopClient::new(channel).status(request).await };
        for _ in 0..2 {
            let error = client.call(ORDINARY, StatusRequest {}, send).await.unwrap_err();
            assert_eq!(error.kind, Exit::VersionMismatch);
            assert_eq!(client.channel().await.unwrap_err().kind, Exit::VersionMismatch);
        }
    }

    #[tokio::test]
    async fn the_first_call_goes_along_with_the_handshake() {
        let data = tempfile::tempdir().unwrap();
        let fake = Arc::new(Fake::new(data.path()));
        let _serving = serve(data.path(), fake.clone());
        let client = Client::approach(&folder(data.path()), "K", Rc::default(), Clock::default())
            .await
            .unwrap();
        let send = |channel, request| async move { ShopClient::new(channel).status(request).await };
        for _ in 0..2 {
            assert_eq!(
                client.call(ORDINARY, StatusRequest {}, send).await.unwrap().pid,
                77
            );
        }
        assert_eq!(fake.hellos.load(std::sync::atomic::Ordering::SeqCst), 1);
    }

    #[tokio::test]
    async fn a_refusal_carries_its_reason_through() {
        let data = tempfile::tempdir().unwrap();
        let _serving = serve(data.path(), Arc::new(Fake::new(data.path())));
        let client = Client::connect(&folder(data.path())).await.unwrap();
        let send = |channel, request| async move { ShopClient::new(channel).words(request).await };
        let error = client.call(ORDINARY, WordsRequest {}, send).await.unwrap_err();
        assert_eq!(error.kind, Exit::Storage);
        assert_eq!(error.text(false), "Error: the disk is full\nHint: make room\n");
    }
}
