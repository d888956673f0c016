//! `lockring pair`: benches that reach the shop over the network.

use std::path::PathBuf;

use lockring_proto::v1::access_client::AccessClient;
use lockring_proto::v1::{ListPairsReply, ListPairsRequest, MakePairRequest, PairView, RevokePairRequest};

use crate::args;
use crate::client::ORDINARY;
use crate::client::pass::{Pass, Place};
use crate::command_error::{CommandError, Exit};
use crate::commands::{change_shop, first_what_waits};
use crate::desk::Desk;
use crate::output::{Out, reply, times};

/// A pair that ends within so many days is marked.
pub(super) const SOON: i32 = 30;

/// Show, make or revoke the files with which other benches reach the shop
///
/// Each file stands for one bench and one person, who types as at the shop's own computer; what
/// touches keys, settings, people, backups and the daemon itself stays there. The owner makes it
/// at the shop's computer, after `lockring settings set bench-address`, and carries it over on a
/// stick: whoever has the file types as that person. A workshop's network is not private, and a
/// computer gets lost: then revoke its pair. The shop keeps no bench's key.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring pair\n  \
    lockring pair bench-2 M --out /media/stick/bench-2-M.pair\n  \
    lockring pair --revoke 2 --why \"left on the train\"\n\
    At the other bench:\n  \
    lockring --via bench-2-M.pair jobs")]
pub(crate) struct Pair {
    /// Name of the bench, or of the computer that stands there
    #[arg(value_parser = args::text, requires = "person")]
    bench: Option<String>,
    /// Initials of who works with it
    #[arg(value_parser = args::text)]
    person: Option<String>,
    /// Days until it ends [default: 365]
    #[arg(long, value_name = "DAYS", requires = "bench", value_parser = clap::value_parser!(u32).range(1..))]
    days: Option<u32>,
    /// The file to make [default: BENCH-PERSON.pair, here]
    #[arg(long, value_name = "FILE", requires = "bench", value_parser = args::path())]
    out: Option<PathBuf>,
    /// A pair that opens nothing any more, by its number
    #[arg(long, value_name = "NUMBER", conflicts_with = "bench")]
    revoke: Option<u32>,
    /// Why it is revoked
    #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text, requires = "revoke")]
    why: String,
}

/// A call of the service of pairs.
macro_rules! of_access {
    ($method:ident) => {
        |channel, request| async move { AccessClient::new(channel).$method(request).await }
    };
}

impl Pair {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match (self.bench, self.person, self.revoke) {
            (Some(bench), Some(person), _) => make(desk, bench, person, self.days.unwrap_or(0), self.out).await,
            (_, _, Some(number)) => {
                desk.waits_not("a pair is revoked at once or not at all");
                let request = RevokePairRequest { origin: Some(desk.origin()?), number, why: self.why };
                change_shop(desk, request, of_access!(revoke_pair)).await
            }
            _ => show(desk).await,
        }
    }
}

/// Makes a key, has it signed, and writes both into the file.
async fn make(
    desk: &mut Desk<'_>,
    bench: String,
    person: String,
    days: u32,
    out: Option<PathBuf>,
) -> Result<Exit, CommandError> {
    desk.waits_not("the file to carry away is made with the shop's answer");
    first_what_waits(desk).await?;
    let out = out.unwrap_or_else(|| PathBuf::from(format!("{}-{}.pair", plain(&bench), plain(&person))));
    let dry_run = desk.global.dry_run;
    // Made first, so that nobody is paired for a file that cannot be written.
    let place = if dry_run { None } else { Some(Place::make(out)?) };
    let key = rcgen::KeyPair::generate_for(&rcgen::PKCS_ECDSA_P256_SHA256)
        .map_err(|error| CommandError::new(Exit::Unexpected, "no key can be made").caused_by(&error))?;
    let public_key = key.public_key_raw().to_vec();
    let request = MakePairRequest { origin: Some(desk.origin()?), bench, person, days, public_key };
    let answer = desk.client().await?.call(ORDINARY, request, of_access!(make_pair)).await?;
    let pass = Pass {
        lockring_pair: Pass::FORM,
        number: answer.number,
        bench: answer.bench.clone(),
        person: answer.person.clone(),
        until_us: answer.until_us,
        address: answer.address.clone(),
        server_name: answer.server_name.clone(),
        authority: answer.authority.clone(),
        certificate: answer.certificate.clone(),
        key: key.serialize_pem(),
    };
    let path = place.as_ref().map(|place| place.path().display().to_string());
    if let Some(place) = place {
        place.fill(&pass)?;
    }
    if desk.out.look.json {
        desk.out.json(&answer)?;
        return Ok(Exit::Ok);
    }
    reply::print_said(&mut desk.out, &answer.said, dry_run, answer.repeated)?;
    if let Some(path) = path {
        desk.out.wrapped("written: ", "    ", &format!("{path}, readable by you alone"))?;
        let caution = format!(
            "carry it over and remove it here: whoever has it types as {}. Lost? lockring pair --revoke {}",
            answer.person, answer.number
        );
        desk.out.wrapped("! ", "    ", &caution)?;
        desk.out.wrapped("there: ", "    ", &format!("lockring --via {path} jobs"))?;
    }
    Ok(Exit::Ok)
}

/// A word as part of a file's name.
fn plain(word: &str) -> String {
    word.trim().chars().map(|c| if c.is_alphanumeric() || "-_.".contains(c) { c } else { '_' }).collect()
}

async fn show(desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
    let answer = desk.client().await?.call(ORDINARY, ListPairsRequest {}, of_access!(list_pairs)).await?;
    if desk.out.look.json {
        answer.pairs.iter().try_for_each(|pair| desk.out.json(pair))?;
    } else {
        print(&mut desk.out, &answer)?;
    }
    Ok(Exit::Ok)
}

/// All pairs, asked for quietly: for a diagnosis.
pub(super) async fn list(desk: &Desk<'_>) -> Result<ListPairsReply, CommandError> {
    desk.client().await?.call(ORDINARY, ListPairsRequest {}, of_access!(list_pairs)).await
}

/// How a pair stands, and whether somebody should look at it.
pub(super) fn standing(pair: &PairView, out: &Out<'_>) -> (String, bool) {
    if let Some(said) = &pair.revoked {
        let when = times::moment(said.at_us, &out.look.zone);
        let why = if said.why.is_empty() { String::new() } else { format!(": {}", said.why) };
        return (format!("revoked by {}, {when}{why}", said.by), false);
    }
    let last = times::moment(pair.until_us, &jiff::tz::TimeZone::UTC);
    if pair.days_left < 0 {
        return (format!("expired, {last} UTC"), true);
    }
    let left = times::count_of(u64::from(pair.days_left.unsigned_abs()), "day", "days");
    if pair.person_left {
        return (format!("opens nothing: {} left; revoke it", pair.person), true);
    }
    (format!("until {last} UTC, {left} left"), pair.days_left <= SOON)
}

/// Where other benches reach the shop, or why nowhere.
fn reached(told: &ListPairsReply) -> String {
    match (told.address.as_str(), told.trouble.as_str()) {
        ("", _) => "No other bench reaches the shop: bench-address is not set.".to_owned(),
        (address, "") if told.served => format!("Other benches reach the shop at {address}."),
        (address, "") => format!("Other benches will reach the shop at {address} in a moment."),
        (_, why) => format!("! No other bench reaches the shop: {why}"),
    }
}

fn print(out: &mut Out<'_>, told: &ListPairsReply) -> Result<(), CommandError> {
    out.wrapped("", "", &reached(told))?;
    if told.pairs.is_empty() {
        return out.line("no pairs; the owner makes one with `lockring pair BENCH PERSON`");
    }
    for pair in &told.pairs {
        let (how, look) = standing(pair, out);
        let mark = if look { "!" } else { " " };
        let head = format!("{mark} {} {} for {}: ", pair.number, pair.bench, pair.person);
        out.wrapped(&head, "      ", &how)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::Said;

    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    fn pair(number: u32, days_left: i32) -> PairView {
        PairView {
            number,
            bench: "bench-2".into(),
            person: "M".into(),
            // 14 March 2027 is day 20 891 of the calendar that begins on 1 January 1970.
            until_us: 20_891 * 86_400_000_000,
            days_left,
            ..PairView::default()
        }
    }

    #[test]
    fn pairs_are_told_with_their_end_and_marked_before_it() {
        let revoked = Some(Said { by: "K".into(), at_us: 20_537 * 86_400_000_000, why: "left on the train".into() });
        let told = ListPairsReply {
            address: "192.168.1.5:7470".into(),
            served: true,
            trouble: String::new(),
            pairs: vec![
                pair(1, 200),
                pair(2, 3),
                pair(3, -1),
                PairView { revoked, ..pair(4, 200) },
                PairView { person_left: true, ..pair(5, 200) },
            ],
        };
        let shown = text(80, |out| print(out, &told));
        for part in [
            "reach the shop at 192.168.1.5:7470",
            "  1 bench-2 for M: until Sun 14 Mar 2027 00:00 UTC, 200 days left\n",
            "! 2 bench-2 for M: until Sun 14 Mar 2027 00:00 UTC, 3 days left\n",
            "! 3 bench-2 for M: expired",
            "  4 bench-2 for M: revoked by K, Wed 25 Mar 2026 00:00: left on the train\n",
            "! 5 bench-2 for M: opens nothing: M left",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }

    #[test]
    fn a_file_is_named_after_bench_and_person_whatever_was_typed() {
        assert_eq!(plain("../bench 2"), ".._bench_2");
    }
}
