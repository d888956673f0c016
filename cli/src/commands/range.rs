//! `lockring range`: how far a charge goes on the rider's own road.

use std::path::PathBuf;

use lockring_proto::v1::forecasts_client::ForecastsClient;
use lockring_proto::v1::{RangeRequest, RoadFile};

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::{SEED, read_file};
use crate::desk::Desk;
use crate::output::{progress, range};

/// Draws when nobody says how many.
pub(crate) const DRAWS: u32 = 200;

/// Largest file sent, bytes; the daemon's own limit says the same in words.
const LARGEST: u64 = 32 * 1024 * 1024;

/// Predict how far a charge goes: new, on the coldest day, and when the pack is old
///
/// The road is a recorded track (GPX), or the one the brief describes: its distance, climbing,
/// stops and worst hill. It is ridden step by step at the brief's cruising speed with help all the
/// way at the brief's level or the one asked for, once for the trip and then over and over until the pack gives no more, with everything that
/// may be off drawn at random.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring range 21\n  \
    lockring range 21 --route to-work.gpx\n  \
    lockring range 21 --assist low\n  \
    lockring range 21 --route to-work.gpx --climb-by band:5m\n  \
    lockring range 21 --route to-work.gpx --draws 1000 --seed 7")]
pub(crate) struct Range {
    /// Number of the job
    job: u32,
    /// A recorded road
    #[arg(long, value_name = "FILE.gpx", conflicts_with = "typical", value_parser = args::path())]
    route: Option<PathBuf>,
    /// The road the brief describes, which is the default
    #[arg(long)]
    typical: bool,
    /// Head wind all the way as the forecast gives it, such as 4m/s or 15km/h
    #[arg(long, value_name = "SPEED", default_value = "", hide_default_value = true, value_parser = args::text)]
    headwind: String,
    /// Level of help: off, low, mid, high or full; the brief's when none is given
    #[arg(long, value_name = "LEVEL", default_value = "", hide_default_value = true, value_parser = args::text)]
    assist: String,
    /// How climbs of a recorded road are counted: raw, band:2m, turns:10m, mean:5 or every:50m
    #[arg(long, value_name = "RECIPE", default_value = "", hide_default_value = true, value_parser = args::text, requires = "route")]
    climb_by: String,
    /// How many draws, 10 to 20000
    #[arg(long, default_value_t = DRAWS)]
    draws: u32,
    /// Seed of the draws
    #[arg(long, default_value_t = SEED)]
    seed: u64,
}

impl Range {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let road = self.route.as_deref().map(road).transpose()?;
        let request = RangeRequest {
            job: self.job,
            road,
            draws: self.draws,
            seed: self.seed,
            headwind: self.headwind,
            assist: self.assist,
            climb_by: self.climb_by,
            ..RangeRequest::default()
        };
        let mut forecasts = ForecastsClient::new(desk.client().await?.channel().await?);
        let reply = progress::follow(forecasts.range(request), !desk.out.look.plain).await?;
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            range::print(&mut desk.out, &reply)?;
        }
        Ok(Exit::Ok)
    }
}

/// A road's file.
fn road(path: &std::path::Path) -> Result<RoadFile, CommandError> {
    let (name, content) = read_file(path, LARGEST, "the track of one ride")?;
    Ok(RoadFile { name, content })
}
