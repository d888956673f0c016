//! `lockring setup-shell`: completions and man pages.

use std::path::{Path, PathBuf};

use clap_complete::Shell;

use crate::command_error::{CommandError, Exit};
use crate::desk::Desk;
use crate::line;

/// Install completions for bash, zsh and fish, and the man pages
///
/// Into the places of the user's own files that each shell looks at. Files of the same name are
/// written anew. They come from this program alone: completing in a shell asks no daemon.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring setup-shell\n  \
    lockring setup-shell --print fish")]
pub(crate) struct SetupShell {
    /// Write the completion of this shell to standard output and install nothing
    #[arg(long, value_name = "SHELL", value_enum)]
    print: Option<Known>,
}

/// A shell that is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Known {
    /// bash with bash-completion
    Bash,
    /// zsh
    Zsh,
    /// fish
    Fish,
}

impl Known {
    const ALL: [Self; 3] = [Self::Bash, Self::Zsh, Self::Fish];

    fn script(self) -> Vec<u8> {
        let shell = match self {
            Self::Bash => Shell::Bash,
            Self::Zsh => Shell::Zsh,
            Self::Fish => Shell::Fish,
        };
        let mut script = Vec::new();
        clap_complete::generate(shell, &mut line::grammar(), "lockring", &mut script);
        script
    }

    /// The file below the user's data or configuration folder.
    fn file(self, homes: &Homes) -> PathBuf {
        match self {
            Self::Bash => homes.data.join("bash-completion/completions/lockring"),
            Self::Zsh => homes.data.join("zsh/site-functions/_lockring"),
            Self::Fish => homes.config.join("fish/completions/lockring.fish"),
        }
    }
}

/// Where the user's own files lie.
struct Homes {
    data: PathBuf,
    config: PathBuf,
}

impl Homes {
    fn find() -> Result<Self, CommandError> {
        let home = std::env::var_os("HOME").filter(|home| !home.is_empty()).map(PathBuf::from);
        let one = |name: &str, usual: &str| {
            let named = std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
            named.or_else(|| home.as_ref().map(|home| home.join(usual)))
        };
        match (one("XDG_DATA_HOME", ".local/share"), one("XDG_CONFIG_HOME", ".config")) {
            (Some(data), Some(config)) => Ok(Self { data, config }),
            _ => Err(CommandError::new(Exit::Usage, "no home folder is known: HOME is not set")
                .hint("`lockring setup-shell --print bash` writes a completion to standard output")),
        }
    }
}

impl SetupShell {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        if let Some(shell) = self.print {
            desk.out.passed(&shell.script())?;
            return Ok(Exit::Ok);
        }
        let homes = Homes::find()?;
        for shell in Known::ALL {
            let path = shell.file(&homes);
            write(&path, &shell.script())?;
            desk.out.written(&path, "completions", path.display())?;
        }
        let manual = homes.data.join("man/man1");
        make(&manual)?;
        clap_mangen::generate_to(line::grammar(), &manual).map_err(|error| failed(&manual, &error))?;
        desk.out.written(&manual, "man pages", format_args!("{}/lockring*.1", manual.display()))?;
        if desk.out.look.json {
            return Ok(Exit::Ok);
        }
        let functions = homes.data.join("zsh/site-functions");
        desk.out.wrapped(
            "",
            "    ",
            &format!("zsh looks there when ~/.zshrc says, before compinit: fpath+=({})", functions.display()),
        )?;
        desk.out.line("next: open a new shell, and type lockring and Tab")?;
        Ok(Exit::Ok)
    }
}

fn write(path: &Path, content: &[u8]) -> Result<(), CommandError> {
    if let Some(folder) = path.parent() {
        make(folder)?;
    }
    std::fs::write(path, content).map_err(|error| failed(path, &error))
}

fn make(folder: &Path) -> Result<(), CommandError> {
    std::fs::create_dir_all(folder).map_err(|error| failed(folder, &error))
}

fn failed(path: &Path, error: &std::io::Error) -> CommandError {
    let message = format!("{} cannot be written", path.display());
    CommandError::new(Exit::of_io(error, Exit::Permission), message).caused_by(error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shell_gets_every_command() {
        for shell in Known::ALL {
            let script = String::from_utf8(shell.script()).unwrap();
            for name in ["measure", "take-in", "setup-shell", "--dry-run"] {
                assert!(script.contains(name.trim_start_matches('-')), "{shell:?} lacks {name}");
            }
        }
    }
}
