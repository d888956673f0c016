//! `lockring photo`: pictures kept with a job, listed, given back.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use lockring_proto::v1::add_photo_part::Part;
use lockring_proto::v1::desk_client::DeskClient;
use lockring_proto::v1::photos_client::PhotosClient;
use lockring_proto::v1::{
    AddPhotoPart, FetchPhotoRequest, ListPhotosRequest, PhotoHead, PhotoView, SettingsRequest,
};

use tonic::transport::Channel;

use crate::args;
use crate::client::{LONG, ORDINARY, timed};
use crate::command_error::{CommandError, Exit};
use crate::commands::{joined, of_desk, reach, read_file};
use crate::desk::Desk;
use crate::output::{photo, reply, times};

/// Largest picture sent, bytes; the daemon's own limit says the same in words.
const LARGEST: u64 = 16 * 1024 * 1024;
/// Bytes of a picture in one message.
const PIECE: usize = 256 * 1024;
/// How the names of pictures end.
const ENDINGS: [&str; 6] = ["jpg", "jpeg", "png", "webp", "heic", "heif"];
/// Folders inside the watched one that are looked into: cameras make two.
const DEPTH: usize = 3;
/// The setting that names the watched folder.
const WATCHED: &str = "photo-folder";

/// Keep a photo with a job, list them, or get one back
///
/// Without a file it takes the newest picture of the folder that `lockring settings set
/// photo-folder` names, where the camera or the telephone's copying program puts them. JPEG,
/// PNG, WebP and HEIC are kept, byte for byte, in every backup, restore and export, and `verify`
/// finds one that was lost or changed. The last word is a file when it ends as a picture's name
/// does or holds a `/`. Without a caption the photos are listed.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring photo 21 dropout cracked on the left\n  \
    lockring photo 21 pack label ~/camera/IMG_0412.jpg\n  \
    lockring photo 21 crack beside the weld left.jpg --for frame.soundness\n  \
    lockring photo 21 --get 2 --to label.jpg")]
pub(crate) struct Photo {
    /// Number of the job
    job: u32,
    /// What it shows, in words that need no quotes; then the picture's file, if it is named
    #[arg(value_name = "CAPTION [FILE]", value_parser = args::text)]
    words: Vec<String>,
    /// A check it is evidence for, named beside what the check says; it changes no verdict
    #[arg(long = "for", value_name = "CHECK", default_value = "", hide_default_value = true, requires = "words", value_parser = args::text)]
    check: String,
    /// Write this photo out
    #[arg(long, value_name = "NUMBER", conflicts_with = "words")]
    get: Option<u32>,
    /// The file to write, which must not exist [default: named by job, number and kind, here]
    #[arg(long, value_name = "FILE", requires = "get", value_parser = args::path())]
    to: Option<PathBuf>,
}

impl Photo {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        match (self.get, self.words.is_empty()) {
            (Some(number), _) => get(desk, self.job, number, self.to).await,
            (None, true) => list(desk, self.job).await,
            (None, false) => keep(desk, self.job, self.words, self.check).await,
        }
    }
}

async fn keep(desk: &mut Desk<'_>, job: u32, mut words: Vec<String>, check: String) -> Result<Exit, CommandError> {
    desk.waits_not("a picture is kept when lockringd serves again; until then it stays where it is");
    let named = words.pop_if(|last| is_file(last)).map(PathBuf::from);
    if words.is_empty() {
        let example = format!("lockring photo {job} dropout cracked left.jpg");
        return Err(CommandError::usage("the photo has no caption", &example));
    }
    let path = match named {
        Some(path) => path,
        None => newest_watched(desk).await?,
    };
    let (file, content) = read_file(&path, LARGEST, "a picture of 16 MiB at most")?;
    let head = PhotoHead {
        origin: Some(desk.origin()?),
        job,
        caption: joined(&words),
        file,
        bytes: content.len() as u64,
        check,
    };
    let mut parts = vec![AddPhotoPart { part: Some(Part::Head(head)) }];
    parts.extend(content.chunks(PIECE).map(|piece| AddPhotoPart { part: Some(Part::Content(piece.to_vec())) }));
    let send = |channel, request: tonic::Request<Vec<AddPhotoPart>>| async move {
        PhotosClient::new(channel).add_photo(request.map(tokio_stream::iter)).await
    };
    let answer = reach(desk, parts, send).await?;
    if desk.out.look.json {
        desk.out.json(&answer)?;
    } else {
        reply::print(&mut desk.out, &answer, desk.global.dry_run)?;
    }
    Ok(Exit::Ok)
}

async fn list(desk: &mut Desk<'_>, job: u32) -> Result<Exit, CommandError> {
    let ask = |channel, request| async move { PhotosClient::new(channel).list_photos(request).await };
    let reply = desk.client().await?.call(ORDINARY, ListPhotosRequest { job }, ask).await?;
    if desk.out.look.json {
        for photo in &reply.photos {
            desk.out.json(photo)?;
        }
    } else {
        photo::print(&mut desk.out, &reply)?;
    }
    Ok(Exit::Ok)
}

async fn get(desk: &mut Desk<'_>, job: u32, number: u32, to: Option<PathBuf>) -> Result<Exit, CommandError> {
    let (view, content) = fetch(desk.client().await?.channel().await?, job, number).await?;
    let usual = || PathBuf::from(format!("job-{job}-photo-{number}.{}", view.format.to_lowercase()));
    let path = to.unwrap_or_else(usual);
    let failed = |error: std::io::Error| {
        let message = format!("{} cannot be written", path.display());
        CommandError::new(Exit::of_io(&error, Exit::BadInput), message)
            .caused_by(&error)
            .hint("name another file with --to; nothing is ever written over")
    };
    let mut file = fs::File::options().write(true).create_new(true).open(&path).map_err(failed)?;
    file.write_all(&content).and_then(|()| file.sync_all()).map_err(failed)?;
    if desk.out.look.json {
        desk.out.json(&view)?;
    } else {
        desk.out.line(format_args!("photo {number}: {}", view.caption))?;
        desk.out.line(format_args!("written to {} ({} bytes)", path.display(), content.len()))?;
    }
    Ok(Exit::Ok)
}

/// A picture, all of it.
pub(crate) async fn fetch(
    channel: Channel,
    job: u32,
    number: u32,
) -> Result<(PhotoView, Vec<u8>), CommandError> {
    let mut photos = PhotosClient::new(channel);
    let request = timed(LONG, FetchPhotoRequest { job, photo: number });
    let refused = |status| CommandError::from_status(&status);
    let mut parts = photos.fetch_photo(request).await.map_err(refused)?.into_inner();
    let (mut view, mut content) = (None, Vec::new());
    while let Some(part) = parts.message().await.map_err(refused)? {
        view = view.or(part.photo);
        content.extend_from_slice(&part.content);
    }
    match view {
        Some(view) if view.bytes == content.len() as u64 => Ok((view, content)),
        _ => {
            let message = format!("the picture came incomplete: {} bytes", content.len());
            Err(CommandError::new(Exit::Unexpected, message).hint("try again"))
        }
    }
}

/// Whether a word means a file: it ends as a picture's name does, or holds a `/`.
fn is_file(word: &str) -> bool {
    word.contains('/') || has_ending(Path::new(word))
}

fn has_ending(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    path.file_stem().is_some()
        && ending.is_some_and(|ending| ENDINGS.contains(&ending.to_ascii_lowercase().as_str()))
}

/// The newest picture of the watched folder; says which it is.
async fn newest_watched(desk: &mut Desk<'_>) -> Result<PathBuf, CommandError> {
    let settings = desk.client().await?.call(ORDINARY, SettingsRequest {}, of_desk!(settings)).await?;
    let watched = settings.settings.into_iter().find(|setting| setting.setting == WATCHED);
    let folder = watched.map(|setting| setting.value).unwrap_or_default();
    if folder.is_empty() {
        return Err(CommandError::new(Exit::BadInput, "no file is named, and no folder of pictures is set")
            .hint("name the file last: `lockring photo 21 dropout cracked left.jpg`")
            .hint(format!("or set the folder: `lockring settings set {WATCHED} /home/shop/camera`")));
    }
    let mut newest = None;
    look(Path::new(&folder), DEPTH, &mut newest).map_err(|error| {
        CommandError::new(Exit::BadInput, format!("the folder {folder} cannot be looked at")).caused_by(&error)
    })?;
    let Some((at, path)) = newest else {
        let message = format!("{folder} holds no picture; expected one ending in {}", ENDINGS.join(", "));
        return Err(CommandError::new(Exit::BadInput, message));
    };
    if !desk.out.look.json {
        let made = jiff::Timestamp::try_from(at)
            .map(|at| times::moment(at.as_microsecond(), &desk.out.look.zone))
            .unwrap_or_default();
        desk.out.wrapped("", "    ", &format!("newest picture: {}, {made}", path.display()))?;
    }
    Ok(path)
}

/// Looks for a newer picture in a folder and so many folders deep; hidden ones are left out, and
/// links are not followed.
fn look(folder: &Path, depth: usize, newest: &mut Option<(SystemTime, PathBuf)>) -> std::io::Result<()> {
    for item in fs::read_dir(folder)? {
        let item = item?;
        let (kind, path) = (item.file_type()?, item.path());
        if item.file_name().as_encoded_bytes().starts_with(b".") {
            continue;
        }
        if kind.is_dir() && depth > 1 {
            look(&path, depth - 1, newest)?;
        } else if kind.is_file() && has_ending(&path) {
            let found = (item.metadata()?.modified()?, path);
            if newest.as_ref().is_none_or(|newest| *newest < found) {
                *newest = Some(found);
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    #[test]
    fn the_last_word_is_a_file_only_when_it_looks_like_one() {
        for (word, file) in [
            ("left.jpg", true),
            ("IMG_1.HEIC", true),
            ("camera/left", true),
            ("left", false),
            ("2.6mm", false),
            (".jpg", false),
        ] {
            assert_eq!(is_file(word), file, "{word}");
        }
    }

    #[test]
    fn the_newest_picture_is_found_in_the_folders_of_a_camera() {
        let base = tempfile::tempdir().unwrap();
        let make = |name: &str, second: u64| {
            let path = base.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            let file = fs::File::create(&path).unwrap();
            file.set_modified(SystemTime::UNIX_EPOCH + Duration::from_secs(second)).unwrap();
        };
        make("old.jpg", 10);
        make("card/100/new.JPG", 20);
        make("card/100/newer.txt", 30);
        make(".hidden/newest.jpg", 40);
        make("a/b/c/too-deep.jpg", 50);
        let mut newest = None;
        look(base.path(), DEPTH, &mut newest).unwrap();
        assert_eq!(newest.unwrap().1, base.path().join("card/100/new.JPG"));
    }
}
