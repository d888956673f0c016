//! Settings of the shop that are no limits of the rule sheet: each with its word, what may be
//! given, and what holds until somebody sets it.
//!
//! To add one: a variant, its row in [`Setting::row`], and how its text is read in
//! [`Setting::read`].

use core::net::SocketAddr;

use jiff::civil::Time;
use serde::{Deserialize, Serialize};

use crate::tax::TaxRate;

/// A setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Setting {
    /// When the day's work ends.
    ClosingTime,
    /// Where the shop's days begin and end.
    TimeZone,
    /// Hours worked at a bench on a working day.
    DayHours,
    /// Benches.
    Benches,
    /// Most bicycles at fitting at a time.
    FittingsOpen,
    /// Most bicycles at intake and parts at a time.
    IntakeAhead,
    /// The shop's money.
    Currency,
    /// Which unit system stands first.
    Units,
    /// A program that is handed the end-of-day report.
    EveningCommand,
    /// Where the page for the wall is shown.
    WallAddress,
    /// A folder that cameras write into.
    PhotoFolder,
    /// What papers say they come from.
    ShopName,
    /// Where other benches reach the shop.
    BenchAddress,
    /// How long a rider's name and contact are kept after the job ended.
    KeepRiders,
    /// How long a quote stands.
    QuoteDays,
    /// The tax in what a rider pays.
    TaxRate,
    /// Whether prices typed into a quote hold it.
    TypedPrices,
}

/// A setting as people see it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// The word people type.
    pub word: &'static str,
    /// What it is.
    pub about: &'static str,
    /// What may be given.
    pub expects: &'static str,
    /// What holds until somebody sets it; empty for nothing.
    pub shipped: &'static str,
}

/// Which unit system stands first where a value is shown in two.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Units {
    /// Metric.
    #[default]
    Metric,
    /// Imperial.
    Imperial,
}

impl Units {
    /// All.
    pub const ALL: [Self; 2] = [Self::Metric, Self::Imperial];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Imperial => "imperial",
        }
    }

    /// Reads from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        let word = word.trim().to_lowercase();
        Self::ALL.into_iter().find(|units| units.word() == word)
    }

    /// A value shown in two unit systems, `51.5 mm (2.03 in)`, with the wanted one first.
    pub fn first(self, both: String) -> String {
        match (
            self,
            both.strip_suffix(')').and_then(|text| text.split_once(" (")),
        ) {
            (Self::Imperial, Some((metric, imperial))) => format!("{imperial} ({metric})"),
            _ => both,
        }
    }
}

/// The shop's money: its ISO 4217 code and the decimals amounts are printed with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Currency {
    /// Three letters; empty when the shop did not say.
    pub code: String,
    /// 0 or 2.
    pub decimals: u8,
}

/// The program that is handed the end-of-day report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EveningCommand {
    /// The program's path, then what it is given; no shell stands between.
    pub argv: Vec<String>,
}

impl Setting {
    /// All, in the order they are listed.
    pub const ALL: [Self; 17] = [
        Self::ClosingTime,
        Self::TimeZone,
        Self::DayHours,
        Self::Benches,
        Self::FittingsOpen,
        Self::IntakeAhead,
        Self::Currency,
        Self::Units,
        Self::EveningCommand,
        Self::WallAddress,
        Self::PhotoFolder,
        Self::ShopName,
        Self::BenchAddress,
        Self::KeepRiders,
        Self::QuoteDays,
        Self::TaxRate,
        Self::TypedPrices,
    ];

    /// The setting as people see it.
    pub const fn row(self) -> Row {
        let (word, about, expects, shipped) = match self {
            Self::ClosingTime => (
                "closing-time",
                "when the day's work ends and its report is written",
                "a time of day, for example 17:30",
                "17:30",
            ),
            Self::TimeZone => (
                "time-zone",
                "where the shop's days begin and end",
                "a name of the IANA table, for example Europe/Berlin",
                "",
            ),
            Self::DayHours => (
                "day-hours",
                "hours worked at a bench on a working day",
                "hours from 1 to 24, for example 7.5",
                "7.5",
            ),
            Self::Benches => (
                "benches",
                "benches, each for one bicycle at fitting",
                "a number from 1 to 99",
                "",
            ),
            Self::FittingsOpen => (
                "fittings-open",
                "most bicycles at fitting at a time",
                "a number from 1 to 999",
                "",
            ),
            Self::IntakeAhead => (
                "intake-ahead",
                "most bicycles at intake and parts at a time",
                "a number from 1 to 999",
                "",
            ),
            Self::Currency => (
                "currency",
                "the shop's money",
                "an ISO 4217 code, with 0 behind it for one without decimals: EUR, or JPY 0",
                "",
            ),
            Self::Units => (
                "units",
                "which unit system stands first",
                "metric or imperial",
                "metric",
            ),
            Self::EveningCommand => (
                "evening-command",
                "a program that is handed the end-of-day report; it may do whatever lockringd's user may",
                "the full path of a program and what it is given, for example /usr/local/bin/print-page -2",
                "",
            ),
            Self::WallAddress => (
                "wall-address",
                "where a page of the open jobs is shown to browsers of this machine, read-only; nowhere until set",
                "an address of this machine alone and a port from 1024, for example 127.0.0.1:8090",
                "",
            ),
            Self::PhotoFolder => (
                "photo-folder",
                "a folder that cameras write into; `photo` takes its newest picture",
                "the full path of a folder, for example /home/shop/camera",
                "",
            ),
            Self::ShopName => (
                "shop-name",
                "the workshop's name and address, at the foot of its papers",
                "one line of at most 120 characters, for example Yard Workshop, 1 Mill Lane",
                "",
            ),
            Self::BenchAddress => (
                "bench-address",
                "where other benches reach lockringd, each with a certificate of `pair`; nowhere until set",
                "one address of this computer, never all of them, and a port from 1024: 192.168.1.5:7470",
                "",
            ),
            Self::KeepRiders => (
                "keep-riders",
                "months a rider's name and contact are kept after the job ended; what your place asks for, with where it says so in --why",
                "a number of months from 1 to 600",
                "",
            ),
            Self::QuoteDays => (
                "quote-days",
                "days a printed quote stands, from the day it is printed",
                "a number of days from 1 to 365",
                "14",
            ),
            Self::TaxRate => (
                "tax-rate",
                "percent of tax on what a rider pays, parted out in quote and invoice; look up what holds for you",
                "a percentage from 0.01 to 99.99, for example 19 or 8.1",
                "",
            ),
            Self::TypedPrices => (
                "typed-prices",
                "whether --price and --rate of a quote hold the tax; those of catalogue and rule sheet always do",
                "with-tax or without-tax",
                WITH_TAX,
            ),
        };
        Row {
            word,
            about,
            expects,
            shipped,
        }
    }

    /// The word people type.
    pub const fn word(self) -> &'static str {
        self.row().word
    }

    /// Reads a setting from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|setting| setting.word() == word)
    }

    /// The text as it is kept, or `None` when it cannot be taken. Whether a time zone is known
    /// is not for this page to say.
    pub fn read(self, text: &str) -> Option<String> {
        let text = text.trim();
        match self {
            Self::ClosingTime => clock(text).map(|time| time.strftime("%H:%M").to_string()),
            Self::TimeZone => (!text.is_empty() && text.is_ascii()).then(|| text.to_owned()),
            Self::DayHours => {
                let bare = text.trim_end_matches(['h', ' ']).replace(',', ".");
                let hours: f64 = bare.parse().ok()?;
                (1.0..=24.0).contains(&hours).then(|| hours.to_string())
            }
            Self::Benches => count(text, 99),
            Self::FittingsOpen | Self::IntakeAhead => count(text, 999),
            Self::KeepRiders => count(text, 600),
            Self::QuoteDays => count(text, 365),
            Self::TaxRate => TaxRate::read(text).map(|rate| rate.to_string()),
            Self::TypedPrices => [WITH_TAX, WITHOUT_TAX].contains(&text).then(|| text.to_owned()),
            Self::Currency => currency(text).map(|currency| match currency.decimals {
                2 => currency.code,
                decimals => format!("{} {decimals}", currency.code),
            }),
            Self::Units => Units::from_word(text).map(|units| units.word().to_owned()),
            Self::EveningCommand | Self::PhotoFolder => text.starts_with('/').then(|| text.to_owned()),
            Self::ShopName => {
                (!text.is_empty() && text.chars().count() <= 120 && !text.chars().any(char::is_control))
                    .then(|| text.to_owned())
            }
            Self::WallAddress => loopback(text).map(|address| address.to_string()),
            Self::BenchAddress => bench_address(text).map(|address| address.to_string()),
        }
    }
}

/// Prices hold the tax.
const WITH_TAX: &str = "with-tax";
/// It comes on top of them.
pub(super) const WITHOUT_TAX: &str = "without-tax";

pub(super) fn clock(text: &str) -> Option<Time> {
    let (hour, minute) = text.split_once(':')?;
    let digits = |part: &str| part.len() <= 2 && part.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(hour) || minute.len() != 2 || !digits(minute) {
        return None;
    }
    Time::new(hour.parse().ok()?, minute.parse().ok()?, 0, 0).ok()
}

fn count(text: &str, most: u32) -> Option<String> {
    let number: u32 = text.parse().ok()?;
    (1..=most).contains(&number).then(|| number.to_string())
}

pub(super) fn currency(text: &str) -> Option<Currency> {
    let mut words = text.split_whitespace();
    let code = words.next()?.to_uppercase();
    let decimals = match words.next() {
        None | Some("2") => 2,
        Some("0") => 0,
        Some(_) => return None,
    };
    let is_code = code.len() == 3 && code.bytes().all(|byte| byte.is_ascii_uppercase());
    (is_code && words.next().is_none()).then_some(Currency { code, decimals })
}

/// An address that only this machine can reach, with a port that needs no rights.
pub(super) fn loopback(text: &str) -> Option<SocketAddr> {
    let address: SocketAddr = text.parse().ok()?;
    (address.ip().is_loopback() && address.port() >= 1024).then_some(address)
}

/// An address that somebody meant: one of a computer, never all of them, and a port that needs
/// no rights.
pub(super) fn bench_address(text: &str) -> Option<SocketAddr> {
    let address: SocketAddr = text.parse().ok()?;
    let ip = address.ip();
    let broadcast = matches!(ip, core::net::IpAddr::V4(ip) if ip.is_broadcast());
    let one = !ip.is_unspecified() && !ip.is_multicast() && !broadcast;
    (one && address.port() >= 1024).then_some(address)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_kept_in_one_form_or_not_at_all() {
        for (setting, given, kept) in [
            (Setting::ClosingTime, "7:05", Some("07:05")),
            (Setting::ClosingTime, "17:30", Some("17:30")),
            (Setting::ClosingTime, "24:00", None),
            (Setting::ClosingTime, "17:3", None),
            (Setting::ClosingTime, "+7:30", None),
            (Setting::ClosingTime, "five", None),
            (Setting::DayHours, "7,5 h", Some("7.5")),
            (Setting::DayHours, "8", Some("8")),
            (Setting::DayHours, "0", None),
            (Setting::DayHours, "25", None),
            (Setting::DayHours, "NaN", None),
            (Setting::Benches, "2", Some("2")),
            (Setting::Benches, "0", None),
            (Setting::Benches, "two", None),
            (Setting::Currency, "eur", Some("EUR")),
            (Setting::Currency, "EUR 2", Some("EUR")),
            (Setting::Currency, "jpy 0", Some("JPY 0")),
            (Setting::Currency, "BHD 3", None),
            (Setting::Currency, "euro", None),
            (Setting::Units, "Imperial", Some("imperial")),
            (Setting::Units, "feet", None),
            (Setting::EveningCommand, "/bin/lp -n 2", Some("/bin/lp -n 2")),
            (Setting::EveningCommand, "lp", None),
            (Setting::TimeZone, "", None),
            (Setting::WallAddress, "127.0.0.1:8090", Some("127.0.0.1:8090")),
            (Setting::WallAddress, "[::1]:8090", Some("[::1]:8090")),
            (Setting::WallAddress, "0.0.0.0:8090", None),
            (Setting::WallAddress, "192.168.1.5:8090", None),
            (Setting::WallAddress, "127.0.0.1:80", None),
            (Setting::WallAddress, "localhost", None),
            (
                Setting::PhotoFolder,
                "/home/shop/camera",
                Some("/home/shop/camera"),
            ),
            (Setting::PhotoFolder, "camera", None),
            (
                Setting::BenchAddress,
                "192.168.1.5:7470",
                Some("192.168.1.5:7470"),
            ),
            (Setting::BenchAddress, "0.0.0.0:7470", None),
            (Setting::ShopName, " Yard Workshop ", Some("Yard Workshop")),
            (Setting::ShopName, "", None),
            (Setting::ShopName, "two\nlines", None),
            (Setting::DayHours, "1", Some("1")),
            (Setting::DayHours, "24", Some("24")),
            (Setting::DayHours, "24.1", None),
            (Setting::Benches, "99", Some("99")),
            (Setting::Benches, "100", None),
            (Setting::FittingsOpen, "999", Some("999")),
            (Setting::FittingsOpen, "1000", None),
            (Setting::IntakeAhead, "1", Some("1")),
            (Setting::QuoteDays, "365", Some("365")),
            (Setting::QuoteDays, "366", None),
            (Setting::KeepRiders, "600", Some("600")),
            (Setting::KeepRiders, "601", None),
            (Setting::WallAddress, "127.0.0.1:1024", Some("127.0.0.1:1024")),
            (Setting::WallAddress, "127.0.0.1:1023", None),
            (Setting::Currency, "EUR 2 x", None),
            (Setting::Currency, "EU1", None),
            (Setting::TimeZone, "Europe/Berlin", Some("Europe/Berlin")),
            (Setting::TimeZone, "Europe/Köln", None),
            (Setting::KeepRiders, "120", Some("120")),
            (Setting::KeepRiders, "ten years", None),
            (Setting::TaxRate, "8,10 %", Some("8.1")),
            (Setting::TaxRate, "0", None),
            (Setting::TaxRate, "100", None),
            (Setting::TypedPrices, "without-tax", Some("without-tax")),
            (Setting::TypedPrices, "net", None),
        ] {
            assert_eq!(setting.read(given).as_deref(), kept, "{setting:?} {given}");
        }
    }

    #[test]
    fn the_wanted_unit_system_stands_first() {
        let both = || "51.5 mm (2.03 in)".to_owned();
        assert_eq!(Units::Metric.first(both()), both());
        assert_eq!(Units::Imperial.first(both()), "2.03 in (51.5 mm)");
        assert_eq!(Units::Imperial.first("36 V".into()), "36 V");
    }

    #[test]
    fn what_is_shipped_can_be_read() {
        for setting in Setting::ALL {
            let shipped = setting.row().shipped;
            assert!(shipped.is_empty() || setting.read(shipped).as_deref() == Some(shipped));
            assert_eq!(Setting::from_word(setting.word()), Some(setting));
            let kept = serde_json::to_string(&setting).unwrap();
            assert_eq!(kept, format!("\"{}\"", setting.word()));
        }
    }

    #[test]
    fn a_name_of_a_line_is_taken_up_to_its_length_in_letters() {
        let (fits, longer) = ("ä".repeat(120), "ä".repeat(121));
        assert_eq!(Setting::ShopName.read(&fits), Some(fits));
        assert_eq!(Setting::ShopName.read(&longer), None);
    }
}
