//! `lockring demo`: three invented conversions, played through the real programs.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use jiff::civil::DateTime;
use tempfile::TempDir;

use crate::client::start;
use crate::args;
use crate::command_error::{CommandError, Exit};
use crate::desk::{Desk, Place};
use crate::folder::Folder;
use crate::line;
use crate::output::times;
use crate::prompt::split::split;

/// The story: what is said, who types when, and the lines typed.
const STORY: &str = include_str!("../../demo/story.txt");
/// The files that the story's lines name, by their name after `demo/`.
const FILES: [(&str, &str); 4] = [
    ("catalogue.toml", include_str!("../../demo/catalogue.toml")),
    ("trekking.toml", include_str!("../../demo/trekking.toml")),
    ("longtail.toml", include_str!("../../demo/longtail.toml")),
    ("hardtail.toml", include_str!("../../demo/hardtail.toml")),
];

/// Play three invented conversions through the real programs
///
/// A private daemon on a temporary folder takes three jobs through their gates: one passes
/// everything, one is blocked by fit and re-geared after failing its hill, one is blocked by
/// parts and a voltage mismatch. Each command is shown with its real answer; the evening
/// report ends it. Nothing is left behind unless --keep names a folder.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring demo\n  \
    lockring demo --keep ~/lockring-demo")]
pub(crate) struct Demo {
    /// Keep the data in this new folder, for playing with
    #[arg(long, value_name = "DIR", value_parser = args::path())]
    keep: Option<PathBuf>,
}

impl Demo {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let (path, temporary) = match &self.keep {
            Some(kept) => (new_folder(kept)?, None),
            None => {
                let folder = TempDir::with_prefix("lockring-demo-").map_err(|error| no_folder(&error))?;
                (folder.path().join("data"), Some(folder))
            }
        };
        let folder = Folder::find(Some(&path))?;
        folder.make()?;
        write_files(&path)?;
        start::start(&folder).await?;
        let told = tokio::select! {
            told = tell(desk, &path) => told,
            // Ctrl-C ends the story, not the tidying up.
            _ = tokio::signal::ctrl_c() => Err(CommandError::new(Exit::Unexpected, "the demo was interrupted")),
        };
        let stopped = start::stop(&folder).await;
        let tidied = temporary.map_or(Ok(()), TempDir::close);
        told?;
        stopped?;
        tidied.map_err(|error| no_folder(&error))?;
        if self.keep.is_some() {
            let path = path.display();
            desk.out.line(format!("Kept in {path}. Go on with: lockring --dir {path} --start jobs"))?;
        }
        Ok(Exit::Ok)
    }
}

/// Plays the story line by line. A line that ends otherwise than the story says ends it.
async fn tell(desk: &mut Desk<'_>, folder: &Path) -> Result<(), CommandError> {
    let place = Place { can_ask: false, ..desk.place.clone() };
    let (mut by, mut at) = (String::new(), String::new());
    for step in steps(STORY) {
        match step {
            Step::Says(text) => desk.out.line(format!("\n# {text}"))?,
            Step::Clock { by: who, at: when } => {
                desk.out.line(format!("\n-- {}, {who}", shown_time(when)))?;
                (by, at) = (who.to_owned(), when.to_owned());
            }
            Step::Types { line, expected } => {
                desk.out.line(format!("\n$ lockring {}", line.replace("{demo}", "demo")))?;
                let mut words: Vec<OsString> = vec!["lockring".into(), "--dir".into(), folder.into(), "--via=".into()];
                words.extend(["--by", &by, "--terminal", "bench", "--at", &at].map(OsString::from));
                let demo = folder.join("demo").display().to_string();
                words.extend(split(line).into_iter().map(|word| word.replace("{demo}", &demo).into()));
                let mut answer = Vec::new();
                let exit = line::run_line(&place, &mut answer, words).await;
                desk.out.passed(&answer)?;
                desk.out.flush()?;
                if exit.row().1 != expected {
                    let message = format!("`{line}` ended as {}; the story expects {expected}", exit.row().1);
                    return Err(CommandError::new(Exit::Unexpected, message));
                }
            }
        }
    }
    Ok(())
}

/// One step of the story.
#[derive(Debug, PartialEq, Eq)]
enum Step<'s> {
    /// Said aloud.
    Says(&'s str),
    /// Who types from here on, and when.
    Clock { by: &'s str, at: &'s str },
    /// A line typed, and the name of its exit code.
    Types { line: &'s str, expected: &'s str },
}

fn steps(story: &str) -> impl Iterator<Item = Step<'_>> {
    story.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('%')).map(|line| {
        if let Some(text) = line.strip_prefix("# ") {
            Step::Says(text)
        } else if let Some((by, at)) = line.strip_prefix("@ ").and_then(|clock| clock.split_once(' ')) {
            Step::Clock { by, at }
        } else {
            let (line, expected) = line.split_once(" => ").unwrap_or((line, Exit::Ok.row().1));
            Step::Types { line, expected }
        }
    })
}

/// A time of the story with its weekday; as written when it cannot be read.
fn shown_time(at: &str) -> String {
    at.parse::<DateTime>().map_or_else(|_| at.to_owned(), |time| {
        format!("{}, {:02}:{:02}", times::day(&time.date().to_string()), time.hour(), time.minute())
    })
}

fn write_files(folder: &Path) -> Result<(), CommandError> {
    let demo = folder.join("demo");
    std::fs::create_dir(&demo).map_err(|error| no_folder(&error))?;
    for (name, content) in FILES {
        std::fs::write(demo.join(name), content).map_err(|error| no_folder(&error))?;
    }
    Ok(())
}

/// A folder to keep the demo in: it must not hold anything yet.
fn new_folder(path: &Path) -> Result<PathBuf, CommandError> {
    let holds_something = std::fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_some());
    if holds_something {
        return Err(CommandError::new(Exit::BadInput, format!("{} is not empty", path.display()))
            .hint("name a folder that does not exist yet, for example `lockring demo --keep ~/lockring-demo`"));
    }
    Ok(path.to_path_buf())
}

fn no_folder(error: &std::io::Error) -> CommandError {
    CommandError::new(Exit::Storage, "the demo's folder cannot be made or removed").caused_by(error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_story_is_one_of_the_three_and_names_a_known_exit() {
        let names: Vec<&str> = Exit::ALL.iter().map(|exit| exit.row().1).collect();
        let steps: Vec<Step<'_>> = steps(STORY).collect();
        assert!(matches!(steps.iter().find(|step| !matches!(step, Step::Says(_))), Some(Step::Clock { .. })));
        for step in &steps {
            if let Step::Types { line, expected } = step {
                assert!(names.contains(expected), "{line}: {expected}");
            }
        }
        assert_eq!(steps.last(), Some(&Step::Types { line: "report blocked --on 2026-03-25", expected: "ok" }));
    }
}
