//! Every method of the contract, called by those who may not: each is refused, on the socket and
//! over the network, before anything is stored.

use std::collections::BTreeSet;
use std::time::Duration;

use lockring_proto::v1::Origin;
use prost::Message;
use tonic::transport::Channel;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

use super::Reached;
use crate::support::Shop;
use crate::support::rpc::{block_on, connect};
use crate::support::tls::Carried;

/// Done at the shop's own computer only.
const SOCKET_ONLY: [&str; 11] = [
    "Shop/Verify",
    "Shop/Backup",
    "Shop/Stop",
    "Access/MakePair",
    "Access/RevokePair",
    "Desk/Set",
    "Desk/AddPerson",
    "Desk/PersonLeaves",
    "Desk/UndoShop",
    "Riders/RemoveRider",
    "Riders/SealHistory",
];
/// For the owner.
const OWNERS: [&str; 14] = [
    "Access/MakePair",
    "Access/RevokePair",
    "Desk/SetDays",
    "Desk/Shut",
    "Desk/Reopen",
    "Desk/SetRule",
    "Desk/Set",
    "Desk/AddPerson",
    "Desk/PersonLeaves",
    "Desk/UndoShop",
    "Jobs/Concede",
    "Jobs/Close",
    "Riders/RemoveRider",
    "Riders/SealHistory",
];

/// A request of any kind that names somebody, as far as that goes.
#[derive(Clone, PartialEq, Message)]
struct Named {
    #[prost(message, optional, tag = "1")]
    origin: Option<Origin>,
}

/// The one that names somebody in its head.
#[derive(Clone, PartialEq, Message)]
struct Headed {
    #[prost(message, optional, tag = "1")]
    head: Option<Named>,
}

/// A method, and whether its request names somebody.
struct Method {
    path: String,
    names: bool,
}

impl Method {
    fn is_one_of(&self, list: &[&str]) -> bool {
        list.iter().any(|one| self.path == format!("/lockring.v1.{one}"))
    }

    /// Calls it for somebody; whatever is answered first.
    async fn call(&self, channel: &Channel, by: &str) -> Result<(), Status> {
        let named = Named {
            origin: self.names.then(|| Origin {
                request_id: format!("{by} {}", self.path),
                by: by.into(),
                terminal: "test".into(),
                ..Origin::default()
            }),
        };
        if self.path.ends_with("Photos/AddPhoto") {
            return call(channel, &self.path, Headed { head: Some(named) }).await;
        }
        call(channel, &self.path, named).await
    }
}

async fn call<M: Message + Clone + Default + 'static>(
    channel: &Channel,
    path: &str,
    message: M,
) -> Result<(), Status> {
    let mut client = tonic::client::Grpc::new(channel.clone());
    client
        .ready()
        .await
        .map_err(|error| Status::unknown(error.to_string()))?;
    let codec = tonic_prost::ProstCodec::<M, ()>::default();
    let request = tonic::Request::new(message);
    let answer = client
        .server_streaming(request, path.parse().unwrap(), codec)
        .await?;
    answer.into_inner().message().await.map(|_| ())
}

/// The reason a refusal gives; empty for none.
pub fn reason(status: &Status) -> String {
    let details = status.get_error_details();
    details
        .error_info()
        .map_or_else(String::new, |info| info.reason.clone())
}

/// All methods of the contract, read off it.
fn methods() -> Vec<Method> {
    let set = prost_types::FileDescriptorSet::decode(lockring_proto::DESCRIPTORS).unwrap();
    let messages: Vec<_> = set
        .file
        .iter()
        .flat_map(|file| file.message_type.clone())
        .collect();
    let first_field = |name: &str| {
        let name = name.rsplit('.').next().unwrap();
        let message = messages.iter().find(|message| message.name() == name).unwrap();
        message
            .field
            .iter()
            .find(|field| field.number() == 1)
            .map_or_else(String::new, |field| field.type_name().to_owned())
    };
    let mut found = Vec::new();
    for file in &set.file {
        for service in &file.service {
            for method in &service.method {
                let mut first = first_field(method.input_type());
                if first.ends_with("PhotoHead") {
                    first = first_field(&first);
                }
                found.push(Method {
                    path: format!("/{}.{}/{}", file.package(), service.name(), method.name()),
                    names: first == ".lockring.v1.Origin",
                });
            }
        }
    }
    let paths: BTreeSet<&str> = found.iter().map(|method| method.path.as_str()).collect();
    for listed in SOCKET_ONLY.iter().chain(&OWNERS) {
        assert!(
            paths.contains(&*format!("/lockring.v1.{listed}")),
            "{listed} is no method"
        );
    }
    found
}

/// All entries that people made; the daemon may look through the shop's day meanwhile.
fn entries(shop: &Shop) -> Vec<String> {
    let histories = ["history 1", "history 2", "history 3", "settings history"];
    let all = histories.iter().flat_map(|history| shop.json(history));
    all.filter(|line| line["by"] != "lockringd")
        .map(|line| line.to_string())
        .collect()
}

#[track_caller]
fn refused(answer: Result<(), Status>, method: &Method, code: Code, why: &str) {
    let status = match answer {
        Err(status) => status,
        Ok(()) => panic!("{} was answered", method.path),
    };
    assert_eq!(
        (status.code(), reason(&status).as_str()),
        (code, why),
        "{}: {status}",
        method.path
    );
    let details = status.get_error_details();
    let hint = &details.error_info().unwrap().metadata["hint"];
    assert!(!hint.is_empty(), "{}", method.path);
}

#[test]
fn every_method_is_refused_to_whoever_may_not_call_it() {
    let reached = Reached::open();
    let (mechanics, owners) = (reached.pair("bench-2", "M"), reached.pair("desk", "K"));
    let (mechanics, owners) = (Carried::read(&mechanics), Carried::read(&owners));
    let before = entries(&reached.shop);
    let methods = methods();
    assert!(methods.len() > 80, "only {} methods", methods.len());
    block_on(async {
        let socket = connect(&reached.shop).await;
        let (mechanic, owner) = (mechanics.connect().await, owners.connect().await);
        for method in &methods {
            if method.is_one_of(&SOCKET_ONLY) {
                for bench in [&mechanic, &owner] {
                    let answer = method.call(bench, "K").await;
                    refused(answer, method, Code::PermissionDenied, "SOCKET_ONLY");
                }
            } else if method.names {
                let answer = method.call(&mechanic, "K").await;
                refused(answer, method, Code::PermissionDenied, "ANOTHER_PERSON");
                let answer = method.call(&owner, "X").await;
                refused(answer, method, Code::InvalidArgument, "UNKNOWN_PERSON");
            } else {
                // It reads: whatever it says of an empty request, it is no question of who asks.
                // (A watch says nothing until something happens.)
                let answer = tokio::time::timeout(Duration::from_secs(1), method.call(&mechanic, "")).await;
                if let Ok(Err(status)) = answer {
                    let closed = [Code::PermissionDenied, Code::Unauthenticated, Code::Unimplemented];
                    assert!(!closed.contains(&status.code()), "{}: {status}", method.path);
                }
            }
            if method.names {
                let answer = method.call(&socket, "X").await;
                refused(answer, method, Code::InvalidArgument, "UNKNOWN_PERSON");
            }
            if method.is_one_of(&OWNERS) {
                let answer = method.call(&socket, "M").await;
                refused(answer, method, Code::FailedPrecondition, "OWNER_ONLY");
                if !method.is_one_of(&SOCKET_ONLY) {
                    let answer = method.call(&mechanic, "M").await;
                    refused(answer, method, Code::FailedPrecondition, "OWNER_ONLY");
                }
            } else if method.names && !method.path.ends_with("Desk/ChooseUnits") {
                // (Nobody's units are somebody else's, so the owner's to choose.)
                // A mechanic's request is read, and found to ask for nothing.
                let status = method.call(&socket, "M").await.unwrap_err();
                assert_ne!(reason(&status), "OWNER_ONLY", "{}", method.path);
            }
        }
        // A path that is no method is closed, whoever asks.
        for path in [
            "/lockring.v1.Jobs/Steal",
            "/lockring.v2.Jobs/List",
            "/lockring.v1.Shop/Hello/x",
        ] {
            let status = call(&owner, path, Named::default()).await.unwrap_err();
            assert_eq!(status.code(), Code::Unimplemented, "{path}: {status}");
        }
    });
    assert_eq!(entries(&reached.shop), before, "a refused call stored something");
}

#[test]
fn every_method_is_refused_to_a_revoked_certificate_on_a_connection_already_open() {
    let reached = Reached::open();
    let carried = Carried::read(&reached.pair("bench-2", "M"));
    let methods = methods();
    block_on(async {
        // Broken off, the first of them; each new one is refused call by call.
        let open = carried.connect().await;
        reached.shop.line("pair --revoke 1").ok();
        let list = methods
            .iter()
            .find(|method| method.path.ends_with("Jobs/List"))
            .unwrap();
        list.call(&open, "").await.unwrap_err();
        let channel = carried.connect_silently().await;
        for method in methods
            .iter()
            .filter(|method| method.path.starts_with("/lockring.v1.Shop/"))
        {
            let status = method.call(&channel, "").await.unwrap_err();
            let why = reason(&status);
            assert!(
                ["CERTIFICATE_REVOKED", "NOT_GREETED"].contains(&why.as_str()),
                "{}: {status}",
                method.path
            );
            if method.path.ends_with("Hello")
                || method.path.ends_with("Status")
                || method.path.ends_with("Stop")
            {
                assert_eq!(why, "CERTIFICATE_REVOKED", "{}", method.path);
            }
        }
        // Health and reflection are no way round.
        let path = "/grpc.health.v1.Health/Check";
        let status = call(&channel, path, Named::default()).await.unwrap_err();
        assert_eq!(reason(&status), "CERTIFICATE_REVOKED");
    });
    reached.shop.line("jobs").ok();
}
