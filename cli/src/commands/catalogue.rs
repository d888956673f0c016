//! `lockring catalogue`: the parts the shop fits.

use std::path::{Path, PathBuf};

use lockring_proto::v1::catalogue_client::CatalogueClient;
use lockring_proto::v1::{
    AmendRequest, ExportRequest, GetPartRequest, ImportReply, ImportRequest, ListPartsRequest, PartView, WithdrawRequest,
};

use crate::args::{self, Pair};
use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::{FILE_MAY_CHANGE, change_shop, first_what_waits, read_sheet};
use crate::desk::Desk;
use crate::output::Out;
use crate::output::settings;
use crate::output::table::Table;

/// Parts asked for at once.
const PAGE: u32 = 500;

/// The parts the shop fits: import, set, list, show, export, withdraw
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
        /// The file; `lockring catalogue form` shows its form
        #[arg(value_parser = args::path())]
        file: PathBuf,
    },
    /// Print the form of such a file, with an example of every kind of part or of one
    #[command(after_help = "Examples:\n  \
        lockring catalogue form pack\n  \
        lockring catalogue form motor")]
    Form {
        /// Kind of part; `lockring words parts` lists the kinds [default: all]
        #[arg(default_value = "", hide_default_value = true, value_parser = args::text)]
        kind: String,
    },
    /// Set attributes of one part; all others stay. An empty one is taken out
    #[command(after_help = "Examples:\n  \
        lockring catalogue set mid-48-250 mass=3.1kg\n  \
        lockring catalogue set mid-48-250 lead-time=10d note= --dry-run")]
    Set {
        /// Id of the part
        #[arg(value_parser = args::text)]
        id: String,
        /// Attributes
        #[arg(required = true, value_name = "KEY=VALUE")]
        values: Vec<Pair>,
    },
    /// Offer a part no more: jobs that hold it keep it, no other takes it
    #[command(after_help = "Examples:\n  \
        lockring catalogue withdraw mid-48-250 --why \"the maker stopped it\"\n  \
        lockring catalogue withdraw chain-9 --why \"too short\" --dry-run")]
    Withdraw {
        /// Id of the part
        #[arg(value_parser = args::text)]
        id: String,
        /// Why
        #[arg(long, value_parser = args::text)]
        why: String,
    },
    /// Offer a part again that was withdrawn
    #[command(after_help = "Examples:\n  \
        lockring catalogue offer mid-48-250\n  \
        lockring catalogue offer mid-48-250 --why \"made again\"")]
    Offer {
        /// Id of the part
        #[arg(value_parser = args::text)]
        id: String,
        /// Why
        #[arg(long, default_value = "", hide_default_value = true, value_parser = args::text)]
        why: String,
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
            What::Form { kind } => form(desk, kind).await?,
            What::Set { id, values } => set(desk, id, values).await?,
            What::Withdraw { id, why } => return withdraw(desk, id, why, false).await,
            What::Offer { id, why } => return withdraw(desk, id, why, true).await,
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
    tell(desk, &answer)
}

async fn set(desk: &mut Desk<'_>, part: String, values: Vec<Pair>) -> Result<(), CommandError> {
    first_what_waits(desk).await?;
    let request = AmendRequest { origin: Some(desk.origin()?), part, values: args::assignments(values) };
    let send = |channel, request| async move { CatalogueClient::new(channel).amend(request).await };
    let answer = desk.client().await?.call(ORDINARY, request, send).await?;
    tell(desk, &answer)
}

async fn withdraw(desk: &mut Desk<'_>, part: String, why: String, back: bool) -> Result<Exit, CommandError> {
    let request = WithdrawRequest { origin: Some(desk.origin()?), part, why, back };
    let send = |channel, request| async move { CatalogueClient::new(channel).withdraw(request).await };
    change_shop(desk, request, send).await
}

async fn form(desk: &mut Desk<'_>, kind: String) -> Result<(), CommandError> {
    let send = |channel, request| async move { CatalogueClient::new(channel).export(request).await };
    let answer = desk.client().await?.call(ORDINARY, ExportRequest { kind, form: true }, send).await?;
    if desk.out.look.json { desk.out.json(&answer) } else { desk.out.content(&answer.content) }
}

/// What a change of the catalogue did.
fn tell(desk: &mut Desk<'_>, answer: &ImportReply) -> Result<(), CommandError> {
    if desk.out.look.json {
        return desk.out.json(answer);
    }
    if desk.global.dry_run {
        desk.out.line("dry run: nothing of this was stored")?;
    }
    print_import(&mut desk.out, answer)
}

fn print_import(out: &mut Out<'_>, answer: &ImportReply) -> Result<(), CommandError> {
    let (added, replaced, unchanged) = (answer.added, answer.replaced, answer.unchanged);
    out.line(format_args!("parts: {added} added, {replaced} replaced, {unchanged} as before"))?;
    // A file of nothing but new parts names none that anybody could miss.
    let new: Vec<&str> = answer.changes.iter().filter(|one| one.is_new).map(|one| one.id.as_str()).collect();
    if replaced + unchanged > 0 && !new.is_empty() {
        out.wrapped("  ", "    ", &format!("added: {}", new.join(", ")))?;
    }
    for change in answer.changes.iter().filter(|change| !change.is_new) {
        out.wrapped("  ", "    ", &format!("{}: {}", change.id, change.changes.join(", ")))?;
    }
    if answer.held.is_empty() {
        return Ok(());
    }
    out.blank()?;
    out.heading("Open jobs that hold one of them as it was chosen")?;
    for held in &answer.held {
        let whose = format!("{}, {}: {} {}", held.job, held.rider, held.slot, held.part);
        let stands = match (held.as_chosen, held.block) {
            (true, _) => "the catalogue has it so again".to_owned(),
            (false, Some(block)) => format!("block {block} opens; as it is now: {}", held.build),
            (false, None) => format!("no check minds; as it is now: {}", held.build),
        };
        out.wrapped("  ", "      ", &format!("{whose}; {stands}"))?;
        settings::print_effects(out, &held.effects)?;
    }
    Ok(())
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
        let name = match part.withdrawn_because.as_str() {
            "" => part.name.clone(),
            why => format!("{}\noffered no more: {why}", part.name),
        };
        table.row([part.kind.clone().into(), part.id.clone().into(), name.into()]);
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
    if !part.withdrawn_because.is_empty() {
        desk.out.labelled("offered no more", &part.withdrawn_because)?;
    }
    let mut table = Table::new(["attribute", "name", "value"]);
    for attribute in &part.attributes {
        table.row([attribute.key.clone().into(), attribute.name.clone().into(), attribute.value.clone().into()]);
    }
    table.print(&mut desk.out)
}

async fn export(desk: &mut Desk<'_>, kind: String, file: Option<&Path>) -> Result<(), CommandError> {
    let send = |channel, request| async move { CatalogueClient::new(channel).export(request).await };
    let answer = desk.client().await?.call(ORDINARY, ExportRequest { kind, form: false }, send).await?;
    let Some(file) = file else {
        return if desk.out.look.json { desk.out.json(&answer) } else { desk.out.content(&answer.content) };
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
    use lockring_proto::v1::{PartChange, PartHeld, ShopEffect};

    use super::*;
    use crate::output::samples::text;

    #[test]
    fn an_import_names_what_changed_what_is_lost_and_who_holds_it() {
        let change = |id: &str, changes: &[&str]| PartChange {
            id: id.into(),
            kind: "controller".into(),
            is_new: changes.is_empty(),
            changes: changes.iter().map(|one| (*one).to_owned()).collect(),
        };
        let effect = ShopEffect {
            job: 2,
            rider: "Ines H.".into(),
            check: "pack.full_volts".into(),
            before: "pass".into(),
            after: "fail".into(),
            summary: "42 V, at most 40 V".into(),
        };
        let held = PartHeld {
            job: 2,
            rider: "Ines H.".into(),
            slot: "controller".into(),
            part: "c-15".into(),
            as_chosen: false,
            block: Some(4),
            build: "lockring build 2 controller=c-15".into(),
            effects: vec![effect],
        };
        let answer = ImportReply {
            added: 1,
            replaced: 1,
            unchanged: 0,
            changes: vec![change("c-15", &["max-volts 48 V -> 40 V", "mass 0.3 kg -> gone"]), change("c-20", &[])],
            held: vec![held],
        };
        let shown = text(80, |out| print_import(out, &answer));
        for line in [
            "parts: 1 added, 1 replaced, 0 as before\n",
            "  added: c-20\n",
            "  c-15: max-volts 48 V -> 40 V, mass 0.3 kg -> gone\n",
            "pack.full_volts, pass -> x fail\n",
        ] {
            assert!(shown.contains(line), "{line}\n{shown}");
        }
        let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        let way = "2, Ines H.: controller c-15; block 4 opens; as it is now: lockring build 2 controller=c-15";
        assert!(flat.contains(way), "{shown}");
    }

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
