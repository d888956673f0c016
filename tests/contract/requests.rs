//! What every method of the contract takes, by name, and that what can be read of bytes is written
//! and read again as the same. `tests/fuzz/` includes this, too.

use std::fmt::Debug;

use lockring_proto::v1;
use prost::Message;

/// Reads bytes as a message, and holds it to come back the same when it is one.
pub type Reads = fn(&[u8]) -> bool;

fn reads<M: Message + Default + PartialEq + Debug>(bytes: &[u8]) -> bool {
    let Ok(message) = M::decode(bytes) else {
        return false;
    };
    let written = message.encode_to_vec();
    assert_eq!(written.len(), message.encoded_len());
    let again = M::decode(&*written).expect("what was written reads");
    // A number that is none equals nothing, itself included; its bytes do.
    assert_eq!(again.encode_to_vec(), written, "{message:?}");
    true
}

macro_rules! requests {
    ($($name:ident,)*) => {
        /// Every message that a method takes.
        pub const REQUESTS: &[(&str, Reads)] = &[$((stringify!($name), reads::<v1::$name>),)*];
    };
}

requests! {
    AccountRequest,
    AddPersonRequest,
    AddPhotoPart,
    AdvanceRequest,
    AmendRequest,
    BackupRequest,
    BlockedRequest,
    BuildRequest,
    CallRecallRequest,
    CancelOrderRequest,
    CardRequest,
    ChainlineRequest,
    ChangeShelfRequest,
    ChaseRequest,
    CheckRequest,
    ChooseUnitsRequest,
    ClearBlockRequest,
    CloseRequest,
    CompanionsRequest,
    CompareRideRequest,
    ConcedeRequest,
    CreditRequest,
    EnterRequest,
    ExplainRequest,
    ExportRequest,
    FetchPhotoRequest,
    FiguresRequest,
    FindPiecesRequest,
    FitRequest,
    GetPartRequest,
    HelloRequest,
    HillsRequest,
    HistoryRequest,
    HoldRequest,
    ImportRequest,
    ImportRideLogRequest,
    ListJobsRequest,
    ListOrdersRequest,
    ListPairsRequest,
    ListPartsRequest,
    ListPhotosRequest,
    ListRecallsRequest,
    ListRideLogsRequest,
    ListShelfRequest,
    ListSuppliersRequest,
    MakePairRequest,
    MoveOrderRequest,
    NotePrivatelyRequest,
    NoteRequest,
    OpenBlockRequest,
    OpenRecallRequest,
    OrderRequest,
    PeopleRequest,
    PersonLeavesRequest,
    PredictRequest,
    PredictionsRequest,
    PromiseRequest,
    PromisesRequest,
    ProposeRequest,
    PutOnShelfRequest,
    RangeRequest,
    ReceiveRequest,
    RecordRequest,
    RegearRequest,
    ReleaseRequest,
    RemoveRiderRequest,
    ReopenRequest,
    ReturnPartRequest,
    RevokePairRequest,
    RidePlanRequest,
    RulesRequest,
    SealHistoryRequest,
    SendBackRequest,
    SetDaysRequest,
    SetRequest,
    SetRuleRequest,
    SetSupplierRequest,
    SettingsRequest,
    SheetRequest,
    ShopHistoryRequest,
    ShowJobRequest,
    ShowRecallRequest,
    ShowRideLogRequest,
    ShowRiderRequest,
    ShutRequest,
    StateRequest,
    StatusRequest,
    StopRequest,
    SubstituteRequest,
    TakeFromShelfRequest,
    TakeInRequest,
    TellRequest,
    UndoRequest,
    UndoShopRequest,
    VerifyRequest,
    WatchRequest,
    WithdrawRequest,
    WordsRequest,
}
