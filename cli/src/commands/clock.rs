//! `lockring clock`: who works on a job, and how long.

use lockring_proto::v1::enter_request::Entry;
use lockring_proto::v1::{ClockFix, ClockOff, ClockOn};

use crate::args;
use crate::client::origin;
use crate::command_error::{CommandError, Exit};
use crate::commands::money::enter;
use crate::desk::Desk;

/// Clock work on a job, by person and stage
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring clock on 21\n  \
    lockring clock off 21")]
pub(crate) struct Clock {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Begin
    #[command(after_help = "Examples:\n  \
        lockring clock on 21\n  \
        lockring clock on 21 fitting --rework fit")]
    On {
        /// Number of the job
        job: u32,
        /// Stage [default: where the job stands]
        #[arg(default_value = "", hide_default_value = true, value_parser = args::text)]
        stage: String,
        /// Work done again, and why: brief, fit, part, our-work, supplier, rider or wear
        #[arg(long, value_name = "CAUSE", default_value = "", hide_default_value = true, value_parser = args::text)]
        rework: String,
    },
    /// End
    #[command(after_help = "Examples:\n  \
        lockring clock off 21\n  \
        lockring clock off 21 --who L")]
    Off {
        /// Number of the job
        job: u32,
        /// Whose clock [default: yours]
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        who: String,
    },
    /// Put a clock right that was forgotten
    #[command(after_help = "Examples:\n  \
        lockring clock fix 21 3 --to 2026-03-10T17:30 --why \"forgot it\"\n  \
        lockring clock fix 21 3 --to 2026-03-10T12:15 --why \"on till lunch only\"")]
    Fix {
        /// Number of the job
        job: u32,
        /// Number of the clock
        number: u32,
        /// When the work began [default: as clocked]
        #[arg(long, value_name = "TIME", value_parser = args::text)]
        from: Option<String>,
        /// When it ended
        #[arg(long, value_name = "TIME", value_parser = args::text)]
        to: String,
        /// Why the clock was wrong
        #[arg(long, value_parser = args::text)]
        why: String,
    },
}

impl Clock {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let (job, entry) = match self.what {
            What::On { job, stage, rework } => (
                job,
                Entry::ClockOn(ClockOn {
                    who: String::new(),
                    stage,
                    rework,
                }),
            ),
            What::Off { job, who } => (job, Entry::ClockOff(ClockOff { who })),
            What::Fix {
                job,
                number,
                from,
                to,
                why,
            } => {
                desk.hear_the_clock().await;
                let zone = &desk.out.look.zone;
                let from_us = match from {
                    Some(from) => origin::time(&from, zone)?,
                    None => 0,
                };
                let fix = ClockFix {
                    number,
                    from_us,
                    to_us: origin::time(&to, zone)?,
                    why,
                };
                (job, Entry::ClockFix(fix))
            }
        };
        enter(desk, job, entry).await
    }
}
