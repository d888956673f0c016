//! Tests of the words of every table: what people type, what journals hold and what reports print.
//!
//! Regression values all: a word that changes is a word somebody typed yesterday, or one that a
//! journal already holds.

use serde::Serialize;

use crate::account::{LineKind, PayKind};
use crate::after::Payer;
use crate::block::{Family, Whose};
use crate::calendar::WorkingDay;
use crate::cautions::{Audience, Severity};
use crate::code::Group;
use crate::diagnosis::Agreement;
use crate::finding::Verdict;
use crate::labour::Cause;
use crate::part::{PartKind, Slot};
use crate::photo::Format;
use crate::refusal::{Reason, Refusal};
use crate::removal::Kind;
use crate::ride_class::PowerBasis;
use crate::ridelog::{self, study::Meter};
use crate::shop::people::Role;
use crate::shop::setting::{Setting, Units};
use crate::stage::Stage;
use crate::supply::line::LineState;
use crate::supply::piece::Fate;
use crate::supply::recall::{CallState, Whereabouts};

/// The words of a table, in its order.
fn words<T>(all: impl IntoIterator<Item = T>, word: fn(T) -> &'static str) -> String {
    all.into_iter().map(word).collect::<Vec<_>>().join(" ")
}

/// The words of a table whose journals hold the very word people type.
#[track_caller]
fn stored<T: Serialize + Copy>(
    all: impl IntoIterator<Item = T>,
    word: fn(T) -> &'static str,
    expected: &str,
) {
    let all: Vec<T> = all.into_iter().collect();
    assert_eq!(words(all.iter().copied(), word), expected);
    for item in all {
        assert_eq!(serde_json::to_value(item).unwrap(), word(item));
    }
}

/// Each word is read as what it stands for, and nothing else is.
#[track_caller]
fn read<T: Copy + PartialEq + std::fmt::Debug>(
    all: impl IntoIterator<Item = T>,
    word: fn(T) -> &'static str,
    from: fn(&str) -> Option<T>,
) {
    for item in all {
        assert_eq!(from(word(item)), Some(item));
    }
    for none in ["", "xyzzy", "part "] {
        assert_eq!(from(none), None, "{none}");
    }
}

const STAGES: [Stage; 8] = [
    Stage::Intake,
    Stage::Parts,
    Stage::Fitting,
    Stage::TestRide,
    Stage::Handover,
    Stage::HandedOver,
    Stage::Returned,
    Stage::Cancelled,
];

#[test]
fn the_words_of_a_job_are_those_its_journal_holds() {
    stored(
        STAGES,
        Stage::word,
        "intake parts fitting test-ride handover handed-over returned cancelled",
    );
    read(STAGES, Stage::word, Stage::from_word);
    stored(
        Family::ALL,
        Family::word,
        "fit parts power law safe ride rider shop",
    );
    read(Family::ALL, Family::word, Family::from_word);
    stored(Whose::ALL, Whose::word, "mechanic owner supplier rider");
    read(Whose::ALL, Whose::word, Whose::from_word);
    stored(
        PartKind::ALL,
        PartKind::word,
        "motor controller pack charger display chainring cassette chain pedal-sensor shift-sensor \
         brake-set rotor tyre light torque-arm",
    );
    read(PartKind::ALL, PartKind::word, PartKind::from_word);
    stored(
        Slot::ALL,
        Slot::word,
        "motor controller pack charger display chainring cassette chain pedal-sensor shift-sensor \
         brake-set rotor-front rotor-rear tyre-front tyre-rear light torque-arm",
    );
    read(Slot::ALL, Slot::word, Slot::from_word);
}

#[test]
fn stages_follow_each_other_to_three_ends() {
    for pair in STAGES[..6].windows(2) {
        assert_eq!(pair[0].next(), Some(pair[1]));
        assert!(!pair[0].is_end() && pair[0] < pair[1]);
    }
    for end in [Stage::HandedOver, Stage::Returned, Stage::Cancelled] {
        assert!(end.is_end() && end.next().is_none());
    }
    let of: Vec<(Group, Stage)> = vec![
        (Group::Brief, Stage::Intake),
        (Group::Donor, Stage::Intake),
        (Group::Fitting, Stage::Fitting),
        (Group::Torque, Stage::Fitting),
        (Group::Ride, Stage::TestRide),
        (Group::Handover, Stage::Handover),
    ];
    for (group, stage) in &of {
        assert_eq!(group.stage(), *stage);
    }
    assert_eq!(
        words(of.into_iter().map(|(group, _)| group), Group::word),
        "brief donor fitting torque ride handover"
    );
}

/// Who usually has to move, and which parts a recall must find: common practice, no source.
#[test]
fn each_family_has_its_side_and_each_slot_its_kind() {
    let sides = words(Family::ALL.map(Family::usual_move), Whose::word);
    assert_eq!(
        sides,
        "mechanic supplier owner owner mechanic mechanic rider owner"
    );
    let two_of_a_kind = ["rotor-front", "rotor-rear", "tyre-front", "tyre-rear"];
    for slot in Slot::ALL {
        let is_own = slot.word() == slot.kind().word();
        assert_eq!(is_own, !two_of_a_kind.contains(&slot.word()), "{slot:?}");
    }
    let traced = Slot::ALL.into_iter().filter(|slot| slot.is_traced());
    assert_eq!(words(traced, Slot::word), "motor controller pack charger");
}

#[test]
fn the_words_of_money_and_labour_are_those_journals_hold() {
    stored(LineKind::ALL, LineKind::word, "part labour other");
    stored(
        PayKind::ALL,
        PayKind::word,
        "deposit balance refund credit write-off",
    );
    stored(Payer::ALL, Payer::word, "shop supplier rider");
    stored(
        Cause::ALL,
        Cause::word,
        "brief fit part our-work supplier rider wear",
    );
}

#[test]
fn the_words_of_supply_are_those_journals_hold() {
    stored(
        Fate::ALL,
        Fate::word,
        "swapped returned put-back scrapped refitted gone",
    );
    read(Fate::ALL, Fate::word, Fate::from_word);
    stored(
        CallState::ALL,
        CallState::word,
        "to-call tried reached inspected done",
    );
    for state in CallState::ALL {
        assert_eq!(CallState::read(&state.word().to_uppercase()).unwrap(), state);
    }
    let refusal = CallState::read("reeched").unwrap_err();
    assert_eq!(refusal.metadata["nearest"], "reached");
    use LineState::{Cancelled, Credited, Here, Ordered, Partly, Returned};
    assert_eq!(
        [Ordered, Partly, Here, Returned, Credited, Cancelled].map(LineState::word),
        [
            "ordered",
            "partly here",
            "here",
            "returned",
            "credited",
            "cancelled"
        ]
    );
    use Whereabouts as At;
    assert_eq!(
        [
            At::HandedOver,
            At::Bench,
            At::Ended,
            At::Shelf,
            At::Swapped,
            At::Scrapped,
            At::Returned,
            At::Moved
        ]
        .map(At::word),
        [
            "handed-over",
            "bench",
            "ended",
            "shelf",
            "swapped",
            "scrapped",
            "returned",
            "moved"
        ]
    );
}

#[test]
fn the_words_of_the_shop_are_those_journals_hold() {
    stored(Role::ALL, Role::word, "owner mechanic");
    read(Role::ALL, Role::word, Role::from_word);
    stored(Units::ALL, Units::word, "metric imperial");
    read(Units::ALL, Units::word, Units::from_word);
    stored(
        Setting::ALL,
        Setting::word,
        "closing-time time-zone day-hours benches fittings-open intake-ahead currency units \
         evening-command wall-address photo-folder shop-name bench-address keep-riders quote-days \
         tax-rate typed-prices",
    );
    read(Setting::ALL, Setting::word, Setting::from_word);
    stored(
        WorkingDay::ALL,
        WorkingDay::word,
        "monday tuesday wednesday thursday friday saturday sunday",
    );
    read(WorkingDay::ALL, WorkingDay::word, WorkingDay::from_word);
}

#[test]
fn the_words_of_checks_and_papers_are_those_people_read() {
    use Verdict::{Caution, Fail, NotApplicable, Open, Pass};
    let all = [NotApplicable, Pass, Caution, Open, Fail];
    assert_eq!(
        all.map(Verdict::word),
        ["not applicable", "pass", "caution", "open", "fail"]
    );
    assert_eq!(all.map(Verdict::is_good), [true, true, false, false, false]);
    assert!(all.is_sorted(), "from best to worst");
    use Agreement::{Agrees, AtTheEdge, Differs, OverLimit, TooDoubtful};
    assert_eq!(
        [Agrees, AtTheEdge, Differs, TooDoubtful, OverLimit].map(Agreement::word),
        [
            "agrees",
            "at the edge",
            "differs",
            "too doubtful to tell",
            "over the limit"
        ]
    );
    assert_eq!(
        [Severity::Info, Severity::Warn, Severity::Stop].map(Severity::word),
        ["info", "warn", "stop"]
    );
    assert_eq!(Audience::ALL.map(Audience::word), ["shop", "rider", "both"]);
    let kinds = [Kind::Name, Kind::Contact, Kind::PrivateNote, Kind::Words];
    assert_eq!(
        kinds.map(Kind::word),
        ["name", "contact", "private note", "words"]
    );
    assert_eq!(kinds.map(Kind::tells_who), [true, true, true, false]);
    let day = "2027-01-04".parse().unwrap();
    assert_eq!(
        kinds.map(|kind| kind.removed(day)),
        [
            "customer removed on 2027-01-04",
            "removed on 2027-01-04",
            "removed on 2027-01-04",
            "removed on 2027-01-04"
        ]
    );
}

#[test]
fn files_are_called_by_their_kind() {
    assert_eq!(Format::ALL.map(Format::word), ["JPEG", "PNG", "WebP", "HEIC"]);
    assert_eq!(Format::ALL.map(Format::extension), ["jpg", "png", "webp", "heic"]);
    use ridelog::Format as Log;
    assert_eq!(
        [Log::Fit, Log::Tcx, Log::Gpx, Log::Csv].map(Log::word),
        ["FIT", "TCX", "GPX", "CSV"]
    );
    let meters = [Meter::Crank, Meter::Wheel];
    stored(meters, Meter::word, "crank wheel");
    read(meters, Meter::word, Meter::from_word);
}

#[test]
fn a_part_states_its_power_with_one_of_four_words() {
    let read = ["nominal", "continuous", "thirty-minute", "peak", "gross"].map(PowerBasis::from_word);
    let words = read.map(|basis| basis.map(PowerBasis::words));
    assert_eq!(
        words,
        [
            Some("nominal power"),
            Some("continuous rated power"),
            Some("30-minute power"),
            Some("maximum output"),
            None
        ]
    );
}

#[test]
fn each_reason_has_the_code_of_the_contract() {
    for (reason, code) in [
        (Reason::BadInput, "BAD_INPUT"),
        (Reason::OutsideWindow, "OUTSIDE_WINDOW"),
        (Reason::UnknownWord, "UNKNOWN_WORD"),
        (Reason::NoSuchJob, "NO_SUCH_JOB"),
        (Reason::NoSuchPart, "NO_SUCH_PART"),
        (Reason::NoSuchBlock, "NO_SUCH_BLOCK"),
        (Reason::JobOver, "JOB_OVER"),
        (Reason::OnHold, "ON_HOLD"),
        (Reason::GateClosed, "GATE_CLOSED"),
        (Reason::NeverConceded, "NEVER_CONCEDED"),
        (Reason::NothingToConcede, "NOTHING_TO_CONCEDE"),
        (Reason::NotEarlier, "NOT_EARLIER"),
        (Reason::LaterStands, "LATER_STANDS"),
        (Reason::NothingToUndo, "NOTHING_TO_UNDO"),
        (Reason::SlotEmpty, "SLOT_EMPTY"),
        (Reason::RevisionChanged, "REVISION_CHANGED"),
        (Reason::NotOnHold, "NOT_ON_HOLD"),
        (Reason::RequestIdReused, "REQUEST_ID_REUSED"),
        (Reason::UnknownPerson, "UNKNOWN_PERSON"),
        (Reason::OwnerOnly, "OWNER_ONLY"),
        (Reason::CannotStand, "CANNOT_STAND"),
        (Reason::ElsewhereAlready, "ELSEWHERE_ALREADY"),
        (Reason::NoSuchLine, "NO_SUCH_LINE"),
        (Reason::NotOnShelf, "NOT_ON_SHELF"),
        (Reason::Reserved, "RESERVED"),
        (Reason::NoSuchPair, "NO_SUCH_PAIR"),
        (Reason::CertificateUnknown, "CERTIFICATE_UNKNOWN"),
        (Reason::CertificateRevoked, "CERTIFICATE_REVOKED"),
        (Reason::CertificateExpired, "CERTIFICATE_EXPIRED"),
        (Reason::PersonLeft, "PERSON_LEFT"),
        (Reason::AnotherPerson, "ANOTHER_PERSON"),
        (Reason::SocketOnly, "SOCKET_ONLY"),
        (Reason::RiderStays, "RIDER_STAYS"),
        (Reason::Recalled, "RECALLED"),
    ] {
        assert_eq!(reason.code(), code);
    }
    let with = |near: &[&str]| Refusal::unknown("slot", "chian", near, "all").hint.unwrap();
    assert_eq!(with(&[]), "all");
    assert_eq!(with(&["chain"]), "did you mean `chain`? all");
    assert_eq!(
        with(&["chain", "chainring"]),
        "did you mean one of chain, chainring? all"
    );
}
