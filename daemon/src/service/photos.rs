//! Photos: kept, listed, given back.

use std::pin::Pin;
use std::sync::Arc;

use jiff::Timestamp;
use lockring_domain::photo::{self, MOST_BYTES};
use lockring_domain::refusal::{Reason, Refusal};
use lockring_proto::v1;
use lockring_proto::v1::add_photo_part::Part;
use tokio_stream::{Stream, StreamExt as _};
use tonic::{Request, Response, Status, Streaming};

use super::decide::{Asked, existing_job};
use super::{Daemon, LONG, blocking, from_proto, status, to_proto};

/// Bytes of a picture in one message.
const PIECE: usize = 256 * 1024;

/// The service.
pub(super) struct Photos(pub(super) Arc<Daemon>);

type Parts = Pin<Box<dyn Stream<Item = Result<v1::PhotoPart, Status>> + Send>>;

#[tonic::async_trait]
impl v1::photos_server::Photos for Photos {
    type FetchPhotoStream = Parts;

    async fn add_photo(
        &self,
        request: Request<Streaming<v1::AddPhotoPart>>,
    ) -> Result<Response<v1::JobReply>, Status> {
        let (head, content) = received(request.into_inner()).await?;
        let daemon = self.0.clone();
        let (asked, picture, content) = blocking(LONG, move || {
            from_proto::add_photo(head, &content, Timestamp::now())
                .map(|(asked, picture)| (asked, picture, content))
                .map_err(|refusal| status::refused(&refusal))
        })
        .await??;
        // One that is refused leaves no file behind.
        let trial = Asked {
            validate_only: true,
            ..asked.clone()
        };
        let tried = self.0.change(Ok(trial)).await;
        if asked.validate_only {
            return tried;
        }
        // The picture is on the disk before its entry is: an entry without one would be a lie, a
        // picture without an entry is a file too many.
        let kept = blocking(LONG, move || match tried {
            Ok(_) => daemon
                .store
                .keep_photo(&picture, &content)
                .map_err(|error| status::stored(&error)),
            // A request that was answered before, its picture kept, is answered again.
            Err(_) if daemon.store.has_photo(&picture) => Ok(()),
            Err(refused) => Err(refused),
        });
        kept.await??;
        self.0.change(Ok(asked)).await
    }

    async fn list_photos(
        &self,
        request: Request<v1::ListPhotosRequest>,
    ) -> Result<Response<v1::ListPhotosReply>, Status> {
        let v1::ListPhotosRequest { job } = request.into_inner();
        let answer = self
            .0
            .read(move |_, reader| Ok(existing_job(reader, job)?.map(|job| to_proto::photos(&job))));
        answer.await.map(Response::new)
    }

    async fn fetch_photo(
        &self,
        request: Request<v1::FetchPhotoRequest>,
    ) -> Result<Response<Self::FetchPhotoStream>, Status> {
        let v1::FetchPhotoRequest { job, photo } = request.into_inner();
        let found = self.0.read(move |daemon, reader| {
            let job = match existing_job(reader, job)? {
                Ok(job) => job,
                Err(refusal) => return Ok(Err(refusal)),
            };
            let kept = match job.photos.iter().find(|kept| kept.photo.number == photo) {
                Some(kept) => kept,
                None => return Ok(Err(no_such_photo(job.number, photo, &job.photos))),
            };
            if let Some(day) = kept.removed {
                let message = format!(
                    "the picture of photo {photo} of job {} was removed on {day}",
                    job.number
                );
                return Ok(Err(Refusal::new(Reason::BadInput, message)
                    .with("photo", photo)
                    .with("removed", day)));
            }
            let content = daemon.store.photo(&kept.photo)?;
            Ok(Ok((to_proto::photo(kept), content)))
        });
        let (view, content) = found.await?;
        let mut view = Some(view);
        let pieces: Vec<Vec<u8>> = content.chunks(PIECE).map(<[u8]>::to_vec).collect();
        let parts = tokio_stream::iter(pieces).map(move |content| {
            Ok(v1::PhotoPart {
                photo: view.take(),
                content,
            })
        });
        Ok(Response::new(Box::pin(parts)))
    }
}

/// All that was sent; never more than a picture may have.
async fn received(mut parts: Streaming<v1::AddPhotoPart>) -> Result<(v1::PhotoHead, Vec<u8>), Status> {
    let refuse = |problem: String| {
        let refusal = Refusal::new(Reason::BadInput, problem);
        status::refused(&refusal.hint("send first what the picture is, then all of its bytes"))
    };
    let first = parts.message().await?.and_then(|first| first.part);
    let Some(Part::Head(head)) = first else {
        return Err(refuse("a picture came without saying what it is".into()));
    };
    let most = usize::try_from(head.bytes).unwrap_or(usize::MAX);
    if most > MOST_BYTES {
        let problem = format!(
            "{}: {most} bytes; expected a picture of {MOST_BYTES} bytes at most",
            head.file
        );
        let refusal = Refusal::new(Reason::BadInput, problem).with("file", &head.file);
        return Err(status::refused(&refusal));
    }
    let mut content = Vec::new();
    while let Some(part) = parts.message().await? {
        let Some(Part::Content(piece)) = part.part else {
            return Err(refuse("a second head came among the bytes of a picture".into()));
        };
        content.extend_from_slice(&piece);
        if content.len() > most {
            return Err(refuse(format!(
                "{}: more than the {most} bytes that were announced",
                head.file
            )));
        }
    }
    if content.len() < most {
        return Err(refuse(format!(
            "{}: {} of {most} bytes came",
            head.file,
            content.len()
        )));
    }
    Ok((head, content))
}

fn no_such_photo(job: u32, number: u32, photos: &[photo::Kept]) -> Refusal {
    let numbers: Vec<String> = photos.iter().map(|kept| kept.photo.number.to_string()).collect();
    let hint = if numbers.is_empty() {
        format!("it has none; keep one with `lockring photo {job} CAPTION FILE`")
    } else {
        format!("its photos are {}", numbers.join(", "))
    };
    Refusal::new(Reason::BadInput, format!("job {job} has no photo {number}"))
        .with("job", job)
        .with("photo", number)
        .hint(hint)
}
