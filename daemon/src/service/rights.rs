//! Who may call what, and from where: the one table, for every method of the contract.
//!
//! A method that is not in it is closed. Some requests ask for more than their row says, such as
//! money that is written off: that is decided where the request is, in the domain.

use Place::{Everywhere, Socket};
use Who::{Anybody, Owner, Person};

/// Who may call a method.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Who {
    /// Whoever was let in: it reads, or is the handshake.
    Anybody,
    /// Somebody who works here, named in the request.
    Person,
    /// The owner, named in the request; with what it is, in words.
    Owner(&'static str),
}

/// From where a method may be called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// Also by other benches.
    Everywhere,
    /// At the shop's own computer only.
    Socket,
}

/// What a method asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Right {
    /// Who.
    pub(super) who: Who,
    /// From where.
    pub(super) place: Place,
}

const fn everywhere(method: &'static str, who: Who) -> (&'static str, Right) {
    let place = Everywhere;
    (method, Right { who, place })
}

const fn socket(method: &'static str, who: Who) -> (&'static str, Right) {
    let place = Socket;
    (method, Right { who, place })
}

/// Services with their methods.
pub(super) const TABLE: &[(&str, &[(&str, Right)])] = &[
    (
        "grpc.health.v1.Health",
        &[everywhere("Check", Anybody), everywhere("Watch", Anybody)],
    ),
    (
        "grpc.reflection.v1.ServerReflection",
        &[everywhere("ServerReflectionInfo", Anybody)],
    ),
    (
        "grpc.reflection.v1alpha.ServerReflection",
        &[everywhere("ServerReflectionInfo", Anybody)],
    ),
    (
        "lockring.v1.Shop",
        &[
            everywhere("Hello", Anybody),
            everywhere("Status", Anybody),
            everywhere("Words", Anybody),
            // They keep the disk busy, write files where they are told, or end everything.
            socket("Verify", Anybody),
            socket("Backup", Anybody),
            socket("Stop", Anybody),
        ],
    ),
    (
        "lockring.v1.Access",
        &[
            everywhere("ListPairs", Anybody),
            socket("MakePair", Owner("pairing a bench")),
            socket("RevokePair", Owner("pairing a bench")),
        ],
    ),
    ("lockring.v1.Bench", &[everywhere("Sheet", Anybody)]),
    (
        "lockring.v1.Desk",
        &[
            everywhere("Promise", Person),
            everywhere("Tell", Person),
            everywhere("Chase", Person),
            everywhere("Promises", Anybody),
            everywhere("Settings", Anybody),
            everywhere("Rules", Anybody),
            everywhere("SetDays", Owner("the calendar")),
            everywhere("Shut", Owner("the calendar")),
            everywhere("Reopen", Owner("the calendar")),
            everywhere("SetRule", Owner("the rule sheet")),
            everywhere("People", Anybody),
            everywhere("ChooseUnits", Person),
            everywhere("ShopHistory", Anybody),
            // A setting names programs to run and addresses to open; the list says who is who.
            socket("Set", Owner("a setting")),
            socket("AddPerson", Owner("the list of people")),
            socket("PersonLeaves", Owner("the list of people")),
            socket("UndoShop", Owner("the undoing of a setting")),
        ],
    ),
    (
        "lockring.v1.Figures",
        &[
            everywhere("Day", Anybody),
            everywhere("Week", Anybody),
            everywhere("Classes", Anybody),
        ],
    ),
    (
        "lockring.v1.Forecasts",
        &[
            everywhere("Predict", Anybody),
            everywhere("Range", Anybody),
            everywhere("RidePlan", Anybody),
        ],
    ),
    (
        "lockring.v1.Jobs",
        &[
            everywhere("TakeIn", Person),
            everywhere("State", Person),
            everywhere("Build", Person),
            everywhere("Order", Person),
            everywhere("Receive", Person),
            everywhere("Record", Person),
            everywhere("Note", Person),
            everywhere("Undo", Person),
            everywhere("Advance", Person),
            everywhere("Concede", Owner("a concession")),
            everywhere("SendBack", Person),
            everywhere("OpenBlock", Person),
            everywhere("ClearBlock", Person),
            everywhere("Hold", Person),
            everywhere("Release", Person),
            everywhere("Close", Owner("ending a job without a handover")),
            everywhere("Check", Anybody),
            everywhere("Explain", Anybody),
            everywhere("Fit", Anybody),
            everywhere("Chainline", Anybody),
            everywhere("Hills", Anybody),
            everywhere("Regear", Anybody),
            everywhere("Propose", Anybody),
            everywhere("List", Anybody),
            everywhere("Show", Anybody),
            everywhere("History", Anybody),
            everywhere("Watch", Anybody),
        ],
    ),
    (
        "lockring.v1.Money",
        &[everywhere("Enter", Person), everywhere("Account", Anybody)],
    ),
    (
        "lockring.v1.Papers",
        &[everywhere("Card", Anybody), everywhere("Companions", Anybody)],
    ),
    (
        "lockring.v1.Photos",
        &[
            everywhere("AddPhoto", Person),
            everywhere("ListPhotos", Anybody),
            everywhere("FetchPhoto", Anybody),
        ],
    ),
    (
        "lockring.v1.RideLogs",
        &[
            everywhere("ImportRideLog", Person),
            everywhere("ListRideLogs", Anybody),
            everywhere("ShowRideLog", Anybody),
        ],
    ),
    (
        "lockring.v1.Riders",
        &[
            everywhere("NotePrivately", Person),
            everywhere("ShowRider", Anybody),
            // What is taken out does not come back.
            socket("RemoveRider", Owner("removing a rider")),
            socket("SealHistory", Owner("sealing the history")),
        ],
    ),
    (
        "lockring.v1.Rides",
        &[
            everywhere("CompareRide", Anybody),
            everywhere("Predictions", Anybody),
        ],
    ),
    (
        "lockring.v1.Catalogue",
        &[
            everywhere("Import", Person),
            everywhere("Amend", Person),
            everywhere("Withdraw", Person),
            everywhere("List", Anybody),
            everywhere("Get", Anybody),
            everywhere("Export", Anybody),
        ],
    ),
    ("lockring.v1.Reports", &[everywhere("Blocked", Anybody)]),
    (
        "lockring.v1.Supply",
        &[
            everywhere("SetSupplier", Person),
            everywhere("ListSuppliers", Anybody),
            everywhere("MoveOrder", Person),
            everywhere("CancelOrder", Person),
            everywhere("ReturnPart", Person),
            everywhere("Credit", Person),
            everywhere("Substitute", Person),
            everywhere("ListOrders", Anybody),
            everywhere("ListShelf", Anybody),
            everywhere("ChangeShelf", Person),
            everywhere("TakeFromShelf", Person),
            everywhere("PutOnShelf", Person),
            everywhere("FindPieces", Anybody),
            everywhere("OpenRecall", Person),
            everywhere("CallRecall", Person),
            everywhere("ListRecalls", Anybody),
            everywhere("ShowRecall", Anybody),
        ],
    ),
];

/// What the method at a path asks for; `None` for a path that is no method.
pub(super) fn of(path: &str) -> Option<Right> {
    let (service, method) = path.strip_prefix('/')?.split_once('/')?;
    let (_, methods) = TABLE.iter().find(|(name, _)| *name == service)?;
    let found = methods.iter().find(|(name, _)| *name == method);
    found.map(|(_, right)| *right)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use prost::Message as _;
    use prost_types::{DescriptorProto, FileDescriptorSet};

    use super::*;

    /// Methods of the contract and of health, each with the message it takes. Reflection brings no
    /// description of itself; its one method is in the table by hand.
    fn described() -> Vec<(String, String, Vec<DescriptorProto>)> {
        let mut found = Vec::new();
        for set in [lockring_proto::DESCRIPTORS, tonic_health::pb::FILE_DESCRIPTOR_SET] {
            let set = FileDescriptorSet::decode(set).unwrap();
            let messages: Vec<DescriptorProto> = set
                .file
                .iter()
                .flat_map(|file| file.message_type.clone())
                .collect();
            for file in &set.file {
                for service in &file.service {
                    for method in &service.method {
                        let path = format!("/{}.{}/{}", file.package(), service.name(), method.name());
                        found.push((path, method.input_type().to_owned(), messages.clone()));
                    }
                }
            }
        }
        found
    }

    #[test]
    fn every_method_of_the_contract_is_in_the_table_and_nothing_else() {
        let described: BTreeSet<String> = described().into_iter().map(|(path, _, _)| path).collect();
        assert!(described.len() > 80, "{}", described.len());
        let listed: Vec<String> = TABLE
            .iter()
            .flat_map(|(service, methods)| {
                methods
                    .iter()
                    .map(move |(method, _)| format!("/{service}/{method}"))
            })
            .filter(|path| !path.starts_with("/grpc.reflection."))
            .collect();
        let once: BTreeSet<String> = listed.iter().cloned().collect();
        assert_eq!(once.len(), listed.len(), "a method is listed twice");
        let apart: Vec<&String> = once.symmetric_difference(&described).collect();
        assert!(apart.is_empty(), "in one of table and contract only: {apart:?}");
        assert_eq!(of("/lockring.v1.Jobs/NoteAndMore"), None);
        assert_eq!(of("lockring.v1.Jobs/Note"), None);
    }

    /// Whoever is to be named in a request stands in its first field, directly or in a head.
    #[test]
    fn a_request_names_somebody_exactly_where_the_table_asks_for_it() {
        for (path, input, messages) in described() {
            let message = |name: &str| {
                let name = name.rsplit('.').next().unwrap();
                messages
                    .iter()
                    .find(|message| message.name() == name)
                    .unwrap()
                    .clone()
            };
            let first = |of: &DescriptorProto| of.field.iter().find(|field| field.number() == 1).cloned();
            let mut field = first(&message(&input));
            if path == super::super::guard::HEADED {
                field = first(&message(field.unwrap().type_name()));
            }
            let named = field.is_some_and(|field| field.type_name() == ".lockring.v1.Origin");
            assert_eq!(named, of(&path).unwrap().who != Anybody, "{path}");
        }
    }
}
