//! `lockring ride`: a run of the test ride.

use lockring_proto::v1::forecasts_client::ForecastsClient;
use lockring_proto::v1::rides_client::RidesClient;
use lockring_proto::v1::{Assignment, CompareRideRequest, RecordRequest, RidePlanRequest};

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{change, of_jobs};
use crate::desk::Desk;
use crate::output::{compare, ride_plan};

mod log;

/// Record a run of the test ride
///
/// The kind of run and its values, in the run's own order or as FIELD=VALUE. A unit may stand
/// apart from its number. `lockring words runs` lists the runs and their fields. Instead of a run:
/// `plan` shows the sheet, every run in order with what is expected and what is allowed; `compare`
/// holds what was ridden against what was expected, ranks what the differences point to and names
/// the measurement that would settle it; `import FILE` reads a ride from FIT, TCX, GPX or CSV and
/// keeps it with the job; `logs` lists what was read, `log N` shows one.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring ride 21 plan\n  \
    lockring ride 21 compare\n  \
    lockring ride 21 cutoff 25,1 24,9\n  \
    lockring ride 21 stop 4,6 m 25 km/h\n  \
    lockring ride 21 hill speed=11,5 grade=8% volts=44,2\n  \
    lockring ride 21 import sunday.fit\n  \
    lockring ride 21 import logger.csv --columns v=speed_kmh,P=power_w --dry-run\n  \
    lockring ride 21 log 1")]
pub(crate) struct Ride {
    /// Number of the job
    job: u32,
    /// Kind of run
    #[arg(value_name = "KIND", value_parser = args::text)]
    run: String,
    /// Values in the run's order, or by field
    #[arg(value_name = "VALUE|FIELD=VALUE", value_parser = args::text)]
    values: Vec<String>,
    /// Take a value outside its plausible window
    #[arg(long)]
    force: bool,
    /// Begin a new series instead of repeating the last reading; with `log`, work the figures out
    /// anew with what the job knows now
    #[arg(long)]
    anew: bool,
    /// With `import`: columns of a table that go by names of their own
    #[arg(long, value_name = "NAME=QUANTITY,…", default_value = "", hide_default_value = true, value_parser = args::text)]
    columns: String,
    /// With `import`: where the power meter sits, `crank` (the rider's power, the motor's on top)
    /// or `wheel` (all that drives)
    #[arg(long, value_name = "PLACE", default_value = "crank", value_parser = args::text)]
    meter: String,
}

impl Ride {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match (self.run.as_str(), self.values.as_slice()) {
            ("plan", []) => return plan(desk, self.job).await,
            ("compare", []) => return held_against(desk, self.job).await,
            ("import", [file]) => {
                return log::import(desk, self.job, file, self.columns, self.meter).await;
            }
            ("logs", []) => return log::list(desk, self.job).await,
            ("log", [number]) => return log::show(desk, self.job, number, self.anew).await,
            ("import" | "log", _) => return Err(log::misused(self.job, &self.run)),
            _ => {}
        }
        let request = RecordRequest {
            origin: Some(desk.origin()?),
            job: self.job,
            act: "ride".to_owned(),
            run: self.run,
            values: run_values(&self.values),
            force: self.force,
            anew: self.anew,
        };
        change(desk, request, of_jobs!(record)).await
    }
}

/// Holds the ride against its expectation.
async fn held_against(desk: &mut Desk<'_>, job: u32) -> Result<Exit, CommandError> {
    let ask = |channel, request| async move { RidesClient::new(channel).compare_ride(request).await };
    let reply = desk.client().await?.call(ORDINARY, CompareRideRequest { job }, ask).await?;
    if desk.out.look.json {
        desk.out.json(&reply)?;
    } else {
        compare::print(&mut desk.out, &reply)?;
    }
    Ok(Exit::Ok)
}

/// Shows the sheet.
async fn plan(desk: &mut Desk<'_>, job: u32) -> Result<Exit, CommandError> {
    let ask = |channel, request| async move { ForecastsClient::new(channel).ride_plan(request).await };
    let reply = desk.client().await?.call(ORDINARY, RidePlanRequest { job }, ask).await?;
    if desk.out.look.json {
        desk.out.json(&reply)?;
    } else {
        ride_plan::print(&mut desk.out, &reply)?;
    }
    Ok(Exit::Ok)
}

/// Values in order: `FIELD=VALUE` names its field, a bare word is the next field's value, and
/// a word that begins with a letter after one that ends in a digit is that value's unit.
fn run_values(words: &[String]) -> Vec<Assignment> {
    let mut values: Vec<Assignment> = Vec::new();
    for word in words {
        let begins_like_unit = word.starts_with(|letter: char| letter.is_alphabetic() || letter == '%' || letter == '°');
        match (word.split_once('='), values.last_mut()) {
            (Some((field, value)), _) => {
                values.push(Assignment { field: field.trim().to_owned(), value: value.trim().to_owned() });
            }
            (None, Some(last)) if begins_like_unit && last.value.ends_with(|letter: char| letter.is_ascii_digit()) => {
                last.value.push(' ');
                last.value.push_str(word);
            }
            (None, _) => values.push(Assignment { field: String::new(), value: word.clone() }),
        }
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> Vec<(String, String)> {
        let words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        run_values(&words).into_iter().map(|one| (one.field, one.value)).collect()
    }

    fn pairs<const N: usize>(pairs: [(&str, &str); N]) -> Vec<(String, String)> {
        pairs.map(|(field, value)| (field.to_owned(), value.to_owned())).to_vec()
    }

    #[test]
    fn bare_values_come_in_order_with_their_units() {
        assert_eq!(read("25,1 24,9"), pairs([("", "25,1"), ("", "24,9")]));
        assert_eq!(read("4,6 m 25 km/h"), pairs([("", "4,6 m"), ("", "25 km/h")]));
        assert_eq!(read("none"), pairs([("", "none")]));
        assert_eq!(read("yes no"), pairs([("", "yes"), ("", "no")]));
    }

    #[test]
    fn fields_may_be_named() {
        assert_eq!(read("speed=11,5 km/h grade=8%"), pairs([("speed", "11,5 km/h"), ("grade", "8%")]));
    }
}
