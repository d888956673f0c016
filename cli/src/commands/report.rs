//! `lockring report`: what the owner reads in the evening.

use lockring_proto::v1::figures_client::FiguresClient;
use lockring_proto::v1::reports_client::ReportsClient;
use lockring_proto::v1::rides_client::RidesClient;
use lockring_proto::v1::{BlockedRequest, FiguresRequest, PredictionsRequest};

use crate::args;
use crate::client::{LONG, ORDINARY};
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::output::{predictions, report, sheet};

/// Reports over all jobs
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring report day\n  \
    lockring report blocked")]
pub(crate) struct Report {
    #[command(subcommand)]
    which: Which,
}

/// Which day, and in which form.
#[derive(Debug, clap::Args)]
struct Asked {
    /// A day of the period asked for, as it was known then [default: today]
    #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
    on: String,
    /// As CSV: section, row, column, value
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

#[derive(Debug, clap::Subcommand)]
enum Which {
    /// Which builds are blocked, why, whose move it is, what it does to the promise
    #[command(after_help = "Examples:\n  \
        lockring report blocked\n  \
        lockring report blocked --on 2026-03-25 --json\n  \
        lockring report blocked --csv")]
    Blocked {
        /// The evening asked for, as it was known then [default: now]
        #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
        on: String,
        /// As CSV: section, row, column, value
        #[arg(long, conflicts_with = "json")]
        csv: bool,
    },
    /// How far expectations were off, by kind of bicycle, and constants the rides ask for
    ///
    /// Every job that was ridden counts. Nothing changes by itself: an offered constant is taken
    /// with the command printed below it, and jobs judged before keep theirs.
    #[command(after_help = "Examples:\n  \
        lockring report predictions\n  \
        lockring report predictions --on 2026-03-25 --json")]
    Predictions {
        /// What the rides known at this day's end say [default: all of now]
        #[arg(long, value_name = "DAY", default_value = "", hide_default_value = true, value_parser = args::text)]
        on: String,
        /// As CSV: section, row, column, value
        #[arg(long, conflicts_with = "json")]
        csv: bool,
    },
    /// The evening page: what moved, what is blocked, promises, arrivals, calls, money
    #[command(after_help = "Examples:\n  \
        lockring report day\n  \
        lockring report day --on 2026-03-25 --csv")]
    Day(Asked),
    /// The week from Monday to Sunday: flow, lead time, gates, promises, suppliers
    ///
    /// Lead times are working days from taking in to handover. Percentiles run straight between
    /// the ranks (definition 7 of Hyndman and Fan, 1996).
    #[command(after_help = "Examples:\n  \
        lockring report week\n  \
        lockring report week --on 2026-03-25 --json")]
    Week(Asked),
    /// Which ride classes were handed over, from the first day on
    #[command(after_help = "Examples:\n  \
        lockring report class\n  \
        lockring report class --on 2026-12-31 --csv")]
    Class(Asked),
}

/// A call of the service of figures.
macro_rules! of_figures {
    ($method:ident) => {
        |channel, request| async move { FiguresClient::new(channel).$method(request).await }
    };
}

impl Report {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let asked = |asked: &Asked| FiguresRequest { on: asked.on.clone() };
        let (told, csv) = match &self.which {
            Which::Predictions { on, csv } => return of_predictions(desk, on, *csv).await,
            Which::Blocked { on, csv } => {
                let send = |channel, request| async move { ReportsClient::new(channel).blocked(request).await };
                let answer = desk.client().await?.call(ORDINARY, BlockedRequest { on: on.clone() }, send).await?;
                if desk.out.look.json {
                    desk.out.json(&answer)?;
                } else if *csv {
                    sheet::print_csv(&mut desk.out, &report::as_sheet(&answer))?;
                } else {
                    report::print(&mut desk.out, &answer)?;
                }
                return Ok(Exit::Ok);
            }
            Which::Day(day) => (desk.client().await?.call(ORDINARY, asked(day), of_figures!(day)).await?, day.csv),
            Which::Week(week) => (desk.client().await?.call(ORDINARY, asked(week), of_figures!(week)).await?, week.csv),
            Which::Class(class) => (desk.client().await?.call(ORDINARY, asked(class), of_figures!(classes)).await?, class.csv),
        };
        if desk.out.look.json {
            desk.out.json(&told)?;
        } else if csv {
            sheet::print_csv(&mut desk.out, &told)?;
        } else {
            sheet::print(&mut desk.out, &told)?;
        }
        Ok(Exit::Ok)
    }
}

async fn of_predictions(desk: &mut Desk<'_>, on: &str, csv: bool) -> Result<Exit, CommandError> {
    let send = |channel, request| async move { RidesClient::new(channel).predictions(request).await };
    let request = PredictionsRequest { on: on.to_owned() };
    let answer = desk.client().await?.call(LONG, request, send).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else if csv {
        sheet::print_csv(&mut desk.out, &predictions::as_sheet(&answer))?;
    } else {
        predictions::print(&mut desk.out, &answer)?;
    }
    Ok(Exit::Ok)
}
