//! Who types, where, and when it was done.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;
use lockring_proto::v1::Origin;

use crate::args::Global;
use crate::client::iam;
use crate::command_error::{CommandError, Exit};
use crate::folder::Folder;

/// The origin of a command. The request id is made once and stays through a retry.
///
/// # Errors
/// [`Exit::Usage`] when nobody says who is typing, or `--at` is no time.
pub(crate) fn origin(
    global: &Global,
    folder: &Folder,
    request_id: &str,
    zone: &TimeZone,
) -> Result<Origin, CommandError> {
    let terminal = terminal(global, folder);
    let by = by(global, folder).ok_or_else(|| {
        CommandError::new(Exit::Usage, "it is not known who is typing")
            .hint("say so with `--by INITIALS`, or once for this terminal with `lockring iam INITIALS`")
    })?;
    let made_at_us = global.at.as_deref().map(|text| time(text, zone)).transpose()?;
    Ok(Origin {
        request_id: request_id.to_owned(),
        by,
        terminal,
        made_at_us,
        expected_revision: global.expect,
        validate_only: global.dry_run,
    })
}

/// Who is typing, if anything says so.
pub(crate) fn by(global: &Global, folder: &Folder) -> Option<String> {
    first([
        global.by.clone(),
        iam::kept(folder, &terminal(global, folder), || session(global, folder)),
        folder.pass().map(|pass| pass.person.clone()),
        std::env::var("USER").ok(),
        std::env::var("LOGNAME").ok(),
    ])
}

/// The terminal a command is typed at.
pub(crate) fn terminal(global: &Global, folder: &Folder) -> String {
    named_terminal(global, folder).unwrap_or_else(this_terminal)
}

/// The name that somebody gave to the terminal.
fn named_terminal(global: &Global, folder: &Folder) -> Option<String> {
    let bench = folder.pass().map(|pass| pass.bench.clone());
    first([global.terminal.clone(), bench])
}

/// What tells a session at a terminal from the next one at a terminal of the same name: the boot, the
/// process that leads the session and when it began. Empty for a terminal that somebody named, which
/// is the same one every day, and where there is none.
pub(crate) fn session(global: &Global, folder: &Folder) -> String {
    if named_terminal(global, folder).is_some() || device().is_none() {
        return String::new();
    }
    let Ok(leader) = rustix::process::getsid(None) else {
        return String::new();
    };
    let leader = leader.as_raw_nonzero();
    let boot = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").unwrap_or_default();
    // The 22nd field, counted behind the program's name, which may hold anything (proc_pid_stat(5)).
    let stat = std::fs::read_to_string(format!("/proc/{leader}/stat")).unwrap_or_default();
    let fields = stat.rsplit_once(')').map_or("", |(_, fields)| fields);
    let began = fields.split_whitespace().nth(19).unwrap_or_default();
    format!("{} {leader} {began}", boot.trim())
}

/// The first of several names that says something.
fn first<const N: usize>(names: [Option<String>; N]) -> Option<String> {
    names
        .into_iter()
        .flatten()
        .map(|name| name.trim().to_owned())
        .find(|name| !name.is_empty())
}

/// Computer and terminal in short, such as `bench pts/3`.
fn this_terminal() -> String {
    let system = rustix::system::uname();
    let computer = system.nodename().to_string_lossy().into_owned();
    let computer = computer.split('.').next().unwrap_or_default().to_owned();
    match device() {
        Some(device) => format!("{computer} {device}"),
        None => computer,
    }
}

/// The terminal that standard input is, such as `pts/3`. What is none (a script, a test) has no name
/// worth keeping.
fn device() -> Option<String> {
    let path = std::fs::read_link("/proc/self/fd/0").ok()?;
    let device = path.strip_prefix("/dev").ok()?.to_str()?;
    (device.starts_with("pts/") || device.starts_with("tty")).then(|| device.to_owned())
}

/// A time as typed, in microseconds since 1970-01-01T00:00Z: `2026-03-13T10:00` in the zone,
/// `2026-03-13` for the start of that day, or with an offset as in `2026-03-13T10:00Z`.
///
/// # Errors
/// [`Exit::Usage`] for anything else.
pub(crate) fn time(text: &str, zone: &TimeZone) -> Result<i64, CommandError> {
    let refuse = || {
        CommandError::usage(
            format!("`{text}` is no time"),
            "lockring --at 2026-03-13T10:00 note 21 rang",
        )
    };
    if let Ok(instant) = text.parse::<Timestamp>() {
        return Ok(instant.as_microsecond());
    }
    let civil = match text.parse::<DateTime>() {
        Ok(civil) => civil,
        Err(_) => text.parse::<Date>().map_err(|_| refuse())?.at(0, 0, 0, 0),
    };
    let zoned = civil
        .to_zoned_datetime(zone.clone())
        .map_err(|error| refuse().caused_by(&error))?;
    Ok(zoned.timestamp().as_microsecond())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_read_in_the_zone_and_a_day_is_its_start() {
        let zone = TimeZone::fixed(jiff::tz::offset(1));
        // 2026-03-13T09:00Z is 1773392400 s: 20525 days of 86400 s and 9 h, counted by hand.
        let nine_utc = (20_525 * 86_400 + 9 * 3600) * 1_000_000;
        assert_eq!(time("2026-03-13T10:00", &zone).unwrap(), nine_utc);
        assert_eq!(time("2026-03-13T09:00Z", &zone).unwrap(), nine_utc);
        assert_eq!(time("2026-03-13", &zone).unwrap(), nine_utc - 10 * 3_600_000_000);
        let error = time("Friday", &zone).unwrap_err();
        assert_eq!(error.kind, Exit::Usage);
        assert!(error.message.contains("`Friday`"));
    }

    #[test]
    fn empty_names_do_not_count() {
        assert_eq!(
            first([Some("  ".to_owned()), None, Some(" IH ".to_owned())]),
            Some("IH".to_owned())
        );
        assert_eq!(first([Some(String::new())]), None);
    }
}
