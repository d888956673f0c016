//! `lockring picture`: one drawing as a file.

use std::path::PathBuf;

use lockring_paper::model::Picture as Drawing;
use lockring_paper::picture;

use super::print::answers::Answers;
use super::print::{ending, open, write};
use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;

/// Draw one picture: as SVG, or as PNG
///
/// About a job: chainline (from above, to scale), hills (speed against grade in every gear), road
/// (charge, height and heat along the brief's road), range (how far, case by case), runs (both
/// ways), stops, compare (ridden against expected). About the shop: errors (of all predictions),
/// blocked (days by family).
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring picture chainline 21 --out chainline.svg\n  \
    lockring picture hills 21 --out hills.png --width 1600")]
pub(crate) struct Picture {
    /// What is drawn
    kind: Kind,
    /// Number of the job; none for errors and blocked
    job: Option<u32>,
    /// The file to write, ending in .svg or .png
    #[arg(long, value_name = "FILE", value_parser = args::path())]
    out: Option<PathBuf>,
    /// Show it with the program that this machine opens such files with
    #[arg(long)]
    open: bool,
    /// Dots across a PNG, 16 to 8000
    #[arg(long, value_name = "DOTS", default_value_t = 1200)]
    width: u32,
}

/// What can be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    /// Chainline from above, to scale
    Chainline,
    /// Speed against grade in every gear
    Hills,
    /// Charge, height and heat along the brief's road
    Road,
    /// How far a charge goes, case by case
    Range,
    /// Two-way runs and what they come to
    Runs,
    /// Stopping distances against their limits
    Stops,
    /// Ridden against expected
    Compare,
    /// How far expectations were off, over all rides
    Errors,
    /// Working days blocked, by family
    Blocked,
}

impl Picture {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let mut answers = Answers(desk.client().await?);
        let word = clap::ValueEnum::to_possible_value(&self.kind)
            .map_or_else(String::new, |value| value.get_name().to_owned());
        let drawing = self.drawing(&mut answers, &word).await?.ok_or_else(|| {
            CommandError::new(Exit::Refused, format!("there is nothing to draw for {word}"))
                .hint("what it shows is not known yet; `lockring check JOB` says what is missing")
        })?;
        let file = self.out.clone().unwrap_or_else(|| {
            let job = self.job.map_or_else(String::new, |job| format!("-{job}"));
            PathBuf::from(format!("lockring-{word}{job}.svg"))
        });
        let content = match ending(&file) {
            "svg" => standing_alone(&drawing.svg).into_bytes(),
            "png" => picture::png(&standing_alone(&drawing.svg), self.width)
                .map_err(|error| CommandError::new(Exit::Usage, error.to_string()))?,
            _ => {
                return Err(CommandError::new(
                    Exit::Usage,
                    format!("{} says no kind of picture; expected an ending .svg or .png", file.display()),
                )
                .hint("for example `--out chainline.svg`"));
            }
        };
        write(&file, &content)?;
        desk.out.written(&file, &drawing.text, format_args!("{}: {}", file.display(), drawing.text))?;
        if self.open {
            open(&file)?;
        }
        Ok(Exit::Ok)
    }

    async fn drawing(&self, answers: &mut Answers, word: &str) -> Result<Option<Drawing>, CommandError> {
        match self.kind {
            Kind::Errors => return Ok(picture::errors(&answers.predictions("").await?)),
            Kind::Blocked => return Ok(picture::blocked(&answers.blocked("").await?)),
            _ => {}
        }
        let job = self.job.ok_or_else(|| {
            CommandError::new(Exit::Usage, format!("{word} is about a job; none was given"))
                .hint(format!("name it, as in `lockring picture {word} 21`"))
        })?;
        Ok(match self.kind {
            Kind::Chainline => answers.chainline(job).await?.as_ref().map(picture::chainline),
            Kind::Hills => answers.forecast(job, &[]).await?.as_ref().and_then(picture::hills),
            Kind::Road => answers.range(job, &[]).await?.as_ref().and_then(picture::profile),
            Kind::Range => answers.range(job, &[]).await?.as_ref().and_then(picture::chances),
            Kind::Compare => answers.compare(job).await?.as_ref().and_then(picture::compared),
            Kind::Runs => {
                let view = answers.view(job).await?;
                picture::runs(&view, &answers.gates(&view).await?)
            }
            Kind::Stops => {
                let view = answers.view(job).await?;
                picture::stops(&answers.gates(&view).await?)
            }
            Kind::Errors | Kind::Blocked => None,
        })
    }
}

/// A drawing as a file of its own: one inside a page is named by the page.
fn standing_alone(svg: &str) -> String {
    if svg.contains("xmlns=") {
        return svg.to_owned();
    }
    svg.replacen("<svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"", 1)
}
