//! The catalogue and the daemon itself.

use std::fmt::Write as _;

use jiff::tz::TimeZone;
use lockring_domain::command::{Draft, Revised};
use lockring_domain::entry::Hash;
use lockring_domain::part::Part;
use lockring_domain::shop::Shop;
use lockring_domain::shop::setting::Units;
use lockring_proto::{PROTOCOL, v1};
use lockring_store::{BackupDone, Counts, LastBackup, Moved, Verification};

use super::desk::effect;
use crate::service::Daemon;
use crate::service::shop::VERSION;

/// The daemon's side of the handshake.
pub(in crate::service) fn hello(daemon: &Daemon, units: Option<Units>, zone: &TimeZone) -> v1::HelloReply {
    v1::HelloReply {
        program_version: VERSION.to_owned(),
        protocol: PROTOCOL,
        schema: daemon.store.schema(),
        data_folder: daemon.folder.display().to_string(),
        units: units.map_or_else(String::new, |units| units.word().to_owned()),
        zone: zone.iana_name().unwrap_or_default().to_owned(),
    }
}

/// How the daemon stands.
pub(in crate::service) fn status(
    daemon: &Daemon,
    counts: &Counts,
    last_backup: Option<LastBackup>,
) -> v1::StatusReply {
    v1::StatusReply {
        program_version: VERSION.to_owned(),
        protocol: PROTOCOL,
        schema: daemon.store.schema(),
        data_folder: daemon.folder.display().to_string(),
        socket: daemon.socket.display().to_string(),
        pid: std::process::id(),
        started_us: daemon.started.as_microsecond(),
        entries: counts.entries,
        jobs_open: few(counts.jobs_open),
        jobs_over: few(counts.jobs_over),
        parts: few(counts.parts),
        last_backup_us: last_backup.map(|backup| backup.at.as_microsecond()),
        troubles: Vec::new(),
    }
}

/// What verifying found.
pub(in crate::service) fn verification(found: Verification) -> v1::VerifyReply {
    v1::VerifyReply {
        sound: found.problems.is_empty(),
        entries: found.entries,
        jobs: few(found.jobs),
        head: hexadecimal(&found.head),
        problems: found.problems,
        removed: found.removed,
    }
}

/// A shop that was made new or written out.
pub(in crate::service) fn moved(moved: &Moved) -> v1::Moved {
    v1::Moved {
        from: moved.from.display().to_string(),
        to: moved.to.display().to_string(),
        entries: moved.entries,
        jobs: moved.jobs,
        head: hexadecimal(&moved.head),
        photos: moved.photos,
        problems: moved.problems.clone(),
        removed: moved.removed.clone(),
        revoked: moved.revoked.clone(),
        pairs: moved.pairs.clone(),
        passed_over: moved.passed_over.clone(),
    }
}

fn hexadecimal(hash: &Hash) -> String {
    hash.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("a String takes everything");
        text
    })
}

/// A backup that was made.
pub(in crate::service) fn backed_up(done: &BackupDone) -> v1::BackupReply {
    v1::BackupReply {
        path: done.path.display().to_string(),
        bytes: done.bytes,
        entries: done.entries,
        photos: done.photos,
        problems: done.problems.clone(),
    }
}

/// What an import did: how many parts were as before, those that were not, each with what it was before, and the open jobs
/// that hold one as it was.
pub(in crate::service) fn imported(
    unchanged: usize,
    changed: &[(Option<Part>, Part)],
    held: &[(Draft, Vec<Revised>)],
) -> v1::ImportReply {
    let added = changed.iter().filter(|(before, _)| before.is_none()).count();
    let change = |(before, part): &(Option<Part>, Part)| v1::PartChange {
        id: part.id.clone(),
        kind: part.kind.word().to_owned(),
        is_new: before.is_none(),
        changes: before
            .as_ref()
            .map_or_else(Vec::new, |before| before.changes(part)),
    };
    v1::ImportReply {
        added: few(added as u64),
        replaced: few((changed.len() - added) as u64),
        unchanged: few(unchanged as u64),
        changes: changed.iter().map(change).collect(),
        held: held
            .iter()
            .flat_map(|(draft, revised)| revised.iter().map(|revised| held_part(draft, revised)))
            .collect(),
    }
}

fn held_part(draft: &Draft, revised: &Revised) -> v1::PartHeld {
    let (job, slot) = (draft.job.number, revised.slot.word());
    let opened = draft.opened.iter();
    let mut of_slot = opened.filter(|block| block.part == Some(revised.slot));
    v1::PartHeld {
        job,
        rider: draft.job.rider.clone(),
        slot: slot.to_owned(),
        part: revised.part.clone(),
        as_chosen: revised.is_as_chosen,
        block: of_slot.next().map(|block| block.number),
        build: format!("lockring build {job} {slot}={}", revised.part),
        effects: revised.effects.iter().map(effect).collect(),
    }
}

/// A page of parts; `size` is how many were asked for.
pub(in crate::service) fn part_list(parts: &[Part], size: u32, shop: &Shop) -> v1::ListPartsReply {
    let last = parts.last().filter(|_| parts.len() >= size as usize);
    v1::ListPartsReply {
        parts: parts.iter().map(|one| part(one, shop)).collect(),
        next_page_token: last.map_or_else(String::new, |part| part.id.clone()),
    }
}

/// A part with the attributes it has, in the order of its kind's table.
pub(in crate::service) fn part(part: &Part, shop: &Shop) -> v1::PartView {
    let attributes = part.kind.attributes().filter_map(|attribute| {
        let value = part.get(attribute.field.key)?;
        Some(v1::AttributeView {
            key: attribute.field.key.to_owned(),
            name: attribute.field.name.to_owned(),
            value: attribute.field.show_both(value),
        })
    });
    v1::PartView {
        id: part.id.clone(),
        kind: part.kind.word().to_owned(),
        name: part.name().to_owned(),
        attributes: attributes.collect(),
        withdrawn_because: shop
            .withdrawn
            .get(&part.id)
            .map_or_else(String::new, |said| said.why.clone()),
    }
}

/// The catalogue as a file.
pub(in crate::service) fn export(content: String, parts: usize) -> v1::ExportReply {
    v1::ExportReply {
        content,
        parts: few(parts as u64),
    }
}

/// Counts of the contract have 32 bits, more than any shop fills.
fn few(count: u64) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
