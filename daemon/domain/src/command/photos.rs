//! A photo kept with the job.

use crate::command::{Draft, find_check};
use crate::entry::Event;
use crate::photo::{self, Photo, Picture};
use crate::refusal::{Reason, Refusal};

pub(super) fn keep(draft: &mut Draft, caption: &str, picture: &Picture, check: &str) -> Result<(), Refusal> {
    let job = &draft.job;
    let caption = photo::caption(caption)?;
    let check = match check.trim() {
        "" => None,
        word => Some(find_check(word)?),
    };
    let twin = job
        .photos
        .iter()
        .find(|kept| kept.photo.sha256 == picture.sha256 && kept.removed.is_none());
    if let Some(twin) = twin {
        return Err(Refusal::new(
            Reason::BadInput,
            format!(
                "{} is kept already: it is photo {} of job {} ({}); expected another picture",
                picture.name, twin.photo.number, job.number, twin.photo.caption
            ),
        )
        .with("file", &picture.name)
        .with("photo", twin.photo.number)
        .hint(format!(
            "to give it another caption, first `lockring undo {} --entry {}`",
            job.number, twin.seq
        )));
    }
    let number = job.photos.iter().map(|kept| kept.photo.number).max().unwrap_or(0) + 1;
    let photo = Photo {
        number,
        caption,
        file: picture.name.clone(),
        format: picture.format,
        bytes: picture.bytes,
        sha256: picture.sha256.clone(),
        check: check.map_or_else(String::new, |check| check.id.to_owned()),
    };
    let job = job.number;
    draft.say(photo.line());
    if let Some(check) = check {
        draft.say(format!(
            "`lockring explain {job} {}` names it; what the check says stays with what was recorded",
            check.id
        ));
    }
    draft.say(format!("get it back with `lockring photo {job} --get {number}`"));
    draft.push(Event::Photographed(photo));
    Ok(())
}
