//! The machine's time zone, by which both programs tell days.
//!
//! Read from its one file: asking for it by name has the whole table of zones walked through, some
//! forty folders, which takes longer than most answers do.

use std::env;
use std::fs;
use std::path::Path;

use jiff::tz::TimeZone;

/// Where a system keeps which zone it is in, and where it keeps all zones.
const OWN: &str = "/etc/localtime";
const ALL: &str = "/usr/share/zoneinfo";

/// The time zone of this process: `TZ` where it is set, else that of the machine.
///
/// # Errors
/// When neither says which it is.
pub fn of_machine() -> Result<TimeZone, jiff::Error> {
    let set = env::var("TZ");
    let named = match &set {
        Ok(name) => Some(name.clone()),
        Err(env::VarError::NotPresent) => own_name(Path::new(OWN)),
        Err(env::VarError::NotUnicode(_)) => None,
    };
    // Tables elsewhere and every other way to say a zone are left to those who know them all.
    let found = named.filter(|_| env::var_os("TZDIR").is_none());
    match found.and_then(|name| read(Path::new(ALL), &name)) {
        Some(zone) => Ok(zone),
        None => TimeZone::try_system(),
    }
}

/// A time zone by its name; `None` where this machine does not know it.
pub fn named(name: &str) -> Option<TimeZone> {
    let found = env::var_os("TZDIR").is_none().then(|| read(Path::new(ALL), name));
    found.flatten().or_else(|| TimeZone::get(name).ok())
}

/// The name behind a link into the table of zones.
fn own_name(link: &Path) -> Option<String> {
    let target = fs::canonicalize(link).ok()?;
    let (_, name) = target.to_str()?.split_once("/zoneinfo/")?;
    Some(name.to_owned())
}

/// A zone of the table by its name; `None` for what is no plain name of one.
fn read(table: &Path, name: &str) -> Option<TimeZone> {
    if matches!(name, "UTC" | "Etc/UTC") {
        return Some(TimeZone::UTC);
    }
    let is_plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '/' | '_' | '-' | '+');
    let begins = name.starts_with(|c: char| c.is_ascii_alphabetic());
    if !begins || !name.chars().all(is_plain) {
        return None;
    }
    TimeZone::tzif(name, &fs::read(table.join(name)).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;

    /// As the library finds them by name, summer and winter.
    #[test]
    fn a_zone_read_from_its_file_is_the_zone_of_that_name() {
        let table = Path::new(ALL);
        let mut compared = 0;
        for name in ["Europe/Berlin", "America/New_York", "Asia/Kolkata", "Etc/UTC"] {
            let Some(zone) = read(table, name) else {
                // A machine without a table of its own.
                assert!(!table.join(name).exists(), "{name}");
                continue;
            };
            let known = TimeZone::get(name).unwrap();
            for second in [0, 1_768_478_400, 1_784_116_800] {
                let at = Timestamp::from_second(second).unwrap();
                assert_eq!(zone.to_offset(at), known.to_offset(at), "{name}");
            }
            compared += 1;
        }
        assert!(compared == 4 || !table.exists(), "{compared}");
    }

    #[test]
    fn what_is_no_plain_name_is_left_to_others() {
        for other in [
            "",
            ":Europe/Berlin",
            "../zoneinfo/Europe/Berlin",
            "EST5EDT,M3.2.0,M11.1.0",
            "Nowhere/At_All",
        ] {
            assert!(read(Path::new(ALL), other).is_none(), "{other}");
        }
    }
}
