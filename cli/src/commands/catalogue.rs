//! `lockring catalogue`: the parts the shop fits.

use std::path::{Path, PathBuf};

use lockring_proto::v1::catalogue_client::CatalogueClient;
use lockring_proto::v1::{ExportRequest, GetPartRequest, ImportRequest, ListPartsRequest, PartView};

use crate::args;
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{FILE_MAY_CHANGE, first_what_waits, read_sheet};
use crate::desk::Desk;
use crate::output::table::Table;

/// Parts asked for at once.
const PAGE: u32 = 500;

/// The parts the shop fits: import, list, show, export
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring catalogue import cli/demo/catalogue.toml\n  \
    lockring catalogue list motor")]
pub(crate) struct Catalogue {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Take parts from a file, all or none: one bad line and nothing is stored
    #[command(after_help = "Examples:\n  \
        lockring catalogue import parts.toml\n  \
        lockring catalogue import parts.toml --dry-run")]
    Import {
        /// The file; `lockring catalogue export` shows its form
        #[arg(value_parser = args::path())]
        file: PathBuf,
    },
    /// List the parts
    #[command(after_help = "Examples:\n  \
        lockring catalogue list\n  \
        lockring catalogue list motor --json")]
    List {
        /// Kind of part; `lockring words parts` lists the kinds [default: all]
        #[arg(default_value = "", hide_default_value = true, value_parser = args::text)]
        kind: String,
    },
    /// Show one part with its attributes
    #[command(after_help = "Examples:\n  \
        lockring catalogue show mid-48-250\n  \
        lockring catalogue show mid-48-250 --json")]
    Show {
        /// Id of the part
        #[arg(value_parser = args::text)]
        id: String,
    },
    /// Write the catalogue as a file that `import` takes
    #[command(after_help = "Examples:\n  \
        lockring catalogue export --out parts.toml\n  \
        lockring catalogue export --kind pack")]
    Export {
        /// Kind of part [default: all]
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        kind: String,
        /// The file; it is made new and never written over [default: standard output]
        #[arg(long, value_name = "FILE", value_parser = args::path())]
        out: Option<PathBuf>,
    },
}

impl Catalogue {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match self.what {
            What::Import { file } => import(desk, &file).await?,
            What::List { kind } => list(desk, kind).await?,
            What::Show { id } => show(desk, id).await?,
            What::Export { kind, out } => export(desk, kind, out.as_deref()).await?,
        }
        Ok(Exit::Ok)
    }
}

async fn import(desk: &mut Desk<'_>, file: &Path) -> Result<(), CommandError> {
    desk.waits_not(FILE_MAY_CHANGE);
    first_what_waits(desk).await?;
    let request = ImportRequest { origin: Some(desk.origin()?), file: Some(read_sheet(file)?) };
    let send = |channel, request| async move { CatalogueClient::new(channel).import(request).await };
    let answer = desk.client().await?.call(ORDINARY, request, send).await?;
    if desk.out.look.json {
        return desk.out.json(&answer);
    }
    if desk.global.dry_run {
        desk.out.line("dry run: nothing of this was stored")?;
    }
    let (added, replaced, unchanged) = (answer.added, answer.replaced, answer.unchanged);
    desk.out.line(format_args!("parts: {added} added, {replaced} replaced, {unchanged} as before"))
}

async fn list(desk: &mut Desk<'_>, kind: String) -> Result<(), CommandError> {
    let client = desk.client().await?;
    let send = |channel, request| async move { CatalogueClient::new(channel).list(request).await };
    let mut parts = Vec::new();
    let mut page_token = String::new();
    loop {
        let request = ListPartsRequest { kind: kind.clone(), page_size: PAGE, page_token };
        let page = client.call(ORDINARY, request, send).await?;
        parts.extend(page.parts);
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    if desk.out.look.json {
        return parts.iter().try_for_each(|part| desk.out.json(part));
    }
    if parts.is_empty() {
        return desk.out.words_and_command("", "No parts", "lockring catalogue import FILE");
    }
    let mut table = Table::new(["kind", "id", "name"]);
    for part in &parts {
        table.row([part.kind.clone().into(), part.id.clone().into(), part.name.clone().into()]);
    }
    table.print(&mut desk.out)
}

async fn show(desk: &mut Desk<'_>, id: String) -> Result<(), CommandError> {
    let send = |channel, request| async move { CatalogueClient::new(channel).get(request).await };
    let part: PartView = desk.client().await?.call(ORDINARY, GetPartRequest { id }, send).await?;
    if desk.out.look.json {
        return desk.out.json(&part);
    }
    desk.out.heading(&format!("{}: {} ({})", part.id, part.name, part.kind))?;
    let mut table = Table::new(["attribute", "name", "value"]);
    for attribute in &part.attributes {
        table.row([attribute.key.clone().into(), attribute.name.clone().into(), attribute.value.clone().into()]);
    }
    table.print(&mut desk.out)
}

async fn export(desk: &mut Desk<'_>, kind: String, file: Option<&Path>) -> Result<(), CommandError> {
    let send = |channel, request| async move { CatalogueClient::new(channel).export(request).await };
    let answer = desk.client().await?.call(ORDINARY, ExportRequest { kind }, send).await?;
    let Some(file) = file else {
        return if desk.out.look.json { desk.out.json(&answer) } else { desk.out.raw(&answer.content) };
    };
    write_new(file, &answer.content)?;
    let about = format!("{} parts", answer.parts);
    desk.out.written(file, &about, format_args!("{about} written to {}", file.display()))
}

/// Writes a file that was not there before.
fn write_new(path: &Path, content: &str) -> Result<(), CommandError> {
    let write = || -> std::io::Result<()> {
        let mut file = std::fs::File::create_new(path)?;
        std::io::Write::write_all(&mut file, content.as_bytes())?;
        file.sync_all()
    };
    write().map_err(|error| {
        let kind = match error.kind() {
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::ReadOnlyFilesystem => Exit::Storage,
            _ => Exit::BadInput,
        };
        CommandError::new(kind, format!("{} cannot be written", path.display())).caused_by(&error)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_export_never_writes_over_a_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("parts.toml");
        write_new(&path, "first").unwrap();
        let error = write_new(&path, "second").unwrap_err();
        assert_eq!(error.kind, Exit::BadInput);
        assert!(error.message.contains("parts.toml"), "{}", error.message);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "first");
    }

    #[test]
    fn a_sheet_that_is_no_text_is_bad_input() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("parts.toml");
        assert_eq!(read_sheet(&path).unwrap_err().kind, Exit::BadInput);
        std::fs::write(&path, [0xff, 0xfe]).unwrap();
        assert_eq!(read_sheet(&path).unwrap_err().kind, Exit::BadInput);
        std::fs::write(&path, "[motor]").unwrap();
        assert_eq!(read_sheet(&path).unwrap().content, "[motor]");
    }

    /// Some files are longer than they say, and some have no end.
    #[test]
    fn a_sheet_is_read_no_further_than_a_sheet_may_be_long() {
        let error = read_sheet(Path::new("/dev/zero")).unwrap_err();
        assert_eq!(error.kind, Exit::BadInput);
        assert!(error.message.contains("more than 4194304 bytes"), "{}", error.message);
    }
}
