//! `lockring predict`: what the finished bicycle will do, and how sure that is.

use lockring_proto::v1::PredictRequest;
use lockring_proto::v1::forecasts_client::ForecastsClient;

use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::commands::SEED;
use crate::desk::Desk;
use crate::output::{predict, progress};

/// Draws when nobody says how many.
pub(crate) const DRAWS: u32 = 500;

/// Predict top speeds, the worst hill and starts, with how sure that is
///
/// Everything that may be off (mass, drag, rolling, wind, rider, motor, pack, grade) is drawn at
/// random within its doubt, and the bicycle is ridden with each draw. Of the figures 10, 50 and
/// 90 in a hundred draws stay below the three given; beside them the chance of reaching what
/// the brief asks and the inputs that matter most. The same seed gives the same figures.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring predict 21\n  \
    lockring predict 21 --draws 5000 --seed 7\n  \
    lockring predict 21 --assist low")]
pub(crate) struct Predict {
    /// Number of the job
    job: u32,
    /// Level of help: off, low, mid, high or full
    #[arg(long, value_name = "LEVEL", default_value = "", hide_default_value = true, value_parser = args::text)]
    assist: String,
    /// How many draws, 10 to 20000
    #[arg(long, default_value_t = DRAWS)]
    draws: u32,
    /// Seed of the draws
    #[arg(long, default_value_t = SEED)]
    seed: u64,
}

impl Predict {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let request = PredictRequest {
            job: self.job,
            draws: self.draws,
            seed: self.seed,
            assist: self.assist,
            ..PredictRequest::default()
        };
        let mut forecasts = ForecastsClient::new(desk.client().await?.channel().await?);
        let reply = progress::follow(forecasts.predict(request), !desk.out.look.plain).await?;
        if desk.out.look.json {
            desk.out.json(&reply)?;
        } else {
            predict::print(&mut desk.out, &reply)?;
        }
        Ok(Exit::Ok)
    }
}
