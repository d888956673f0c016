//! The page for the wall: open jobs by whose move it is, for browsers of this machine. It reads
//! only, is off until the shop names an address, and answers to no other name than that address,
//! so that a page from elsewhere cannot look through somebody's browser.

use std::convert::Infallible;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use askama::Template;
use axum::Router;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{Html, IntoResponse as _, Response};
use axum::routing::get;
use jiff::Timestamp;
use lockring_proto::signs;
use lockring_proto::v1::{JobLine, RecallDue, SwapDue};
use tokio::net::TcpListener;
use tokio_stream::{Stream, StreamExt as _};

use crate::service::{Daemon, open_list, shop_changed};

/// How long changes are gathered before browsers are told.
const GATHER: Duration = Duration::from_millis(300);
/// Pages that may be open at a time.
const PAGES: usize = 16;

/// What pages may do: nothing from elsewhere, nothing inline but the style.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'self'; connect-src 'self'; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// A job on the page.
struct Job {
    number: u32,
    rider: String,
    bike: String,
    stage: String,
    here: String,
    waits_for: String,
    promise: String,
    late: bool,
}

/// Jobs of one who is to move.
struct Group {
    title: String,
    jobs: Vec<Job>,
}

#[derive(Template)]
#[template(path = "wall.html")]
struct Page {
    day: String,
    time: String,
    notices: Vec<String>,
    groups: Vec<Group>,
}

/// Shows the page at the shop's address, as long as it has one.
///
/// # Errors
/// The address cannot be had, or the store cannot be read; the supervisor begins it again.
pub(crate) async fn keep(daemon: Arc<Daemon>) -> Result<(), String> {
    let mut changes = daemon.feed.of_the_shop();
    loop {
        changes.borrow_and_update();
        let Some(address) = address(&daemon).await? else {
            shop_changed(&mut changes).await;
            continue;
        };
        let listener = TcpListener::bind(address)
            .await
            .map_err(|error| format!("{address} cannot be had: {error}"))?;
        tracing::info!(%address, "the page for the wall is shown");
        let served = axum::serve(listener, router(daemon.clone(), address));
        let moved = async {
            loop {
                shop_changed(&mut changes).await;
                match self::address(&daemon).await {
                    Ok(now) if now == Some(address) => {}
                    changed => return changed.map(drop),
                }
            }
        };
        tokio::select! {
            ended = async { served.await } => ended.map_err(|error| error.to_string())?,
            changed = moved => changed?,
        }
        tracing::info!(%address, "the page for the wall is no longer shown there");
    }
}

async fn address(daemon: &Arc<Daemon>) -> Result<Option<SocketAddr>, String> {
    let shop = daemon.known_shop().await;
    Ok(shop.map_err(|error| error.to_string())?.wall_address())
}

/// The page's own little world.
#[derive(Clone)]
struct Wall {
    daemon: Arc<Daemon>,
    /// Who may ask: browsers that were given this address.
    host: HeaderValue,
    pages: Arc<tokio::sync::Semaphore>,
}

fn router(daemon: Arc<Daemon>, address: SocketAddr) -> Router {
    let wall = Wall {
        daemon,
        host: HeaderValue::from_str(&address.to_string()).unwrap_or(HeaderValue::from_static("")),
        pages: Arc::new(tokio::sync::Semaphore::new(PAGES)),
    };
    Router::new()
        .route("/", get(page))
        .route("/wall.js", get(script))
        .route("/changes", get(changes))
        .layer(middleware::from_fn_with_state(wall.clone(), guarded))
        .with_state(wall)
}

/// Refuses whoever asks for another name, and forbids pages what they need not do.
async fn guarded(State(wall): State<Wall>, request: Request, next: Next) -> Response {
    let mut answer = if request.headers().get(header::HOST) == Some(&wall.host) {
        next.run(request).await
    } else {
        (
            StatusCode::MISDIRECTED_REQUEST,
            "this page answers to its own address alone\n",
        )
            .into_response()
    };
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::CACHE_CONTROL, "no-store"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
    ] {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer
}

async fn page(State(wall): State<Wall>) -> Response {
    let read = tokio::task::spawn_blocking(move || {
        wall.daemon.store.read(|reader| {
            let now = Timestamp::now();
            let (list, zone) = open_list(&wall.daemon, reader, now)?;
            let clock = now.to_zoned_datetime(zone);
            Ok(Page {
                day: clock.strftime("%A %Y-%m-%d").to_string(),
                time: clock.strftime("%H:%M").to_string(),
                notices: notices(list.recalls, list.swaps),
                groups: groups(list.jobs),
            })
        })
    });
    let rendered = match read.await {
        Ok(Ok(page)) => page.render().map_err(|error| error.to_string()),
        Ok(Err(error)) => Err(lockring_store::StorageError::to_string(&error)),
        Err(error) => Err(error.to_string()),
    };
    match rendered {
        Ok(page) => Html(signs::quiet(&page).into_owned()).into_response(),
        Err(error) => {
            tracing::error!(error, "the page for the wall cannot be made");
            (
                StatusCode::INTERNAL_SERVER_ERROR,
                "the jobs cannot be read; lockringd's log says why\n",
            )
                .into_response()
        }
    }
}

async fn script() -> impl axum::response::IntoResponse {
    (
        [(header::CONTENT_TYPE, "text/javascript")],
        include_str!("../templates/wall.js"),
    )
}

/// Tells when something was entered, as the watchers at the terminals hear it.
async fn changes(State(wall): State<Wall>) -> Response {
    let Ok(place) = wall.pages.clone().try_acquire_owned() else {
        return (StatusCode::SERVICE_UNAVAILABLE, "enough pages are open\n").into_response();
    };
    Sse::new(heard(&wall.daemon, place))
        .keep_alive(KeepAlive::default())
        .into_response()
}

fn heard(
    daemon: &Daemon,
    place: tokio::sync::OwnedSemaphorePermit,
) -> impl Stream<Item = Result<Event, Infallible>> + use<> {
    let mut feed = daemon.feed.listen();
    let (told, hears) = tokio::sync::mpsc::channel(1);
    tokio::spawn(async move {
        let _place = place;
        // Whoever fell behind sees the newest all the same: what is told is that something changed.
        while !matches!(
            feed.recv().await,
            Err(tokio::sync::broadcast::error::RecvError::Closed)
        ) {
            tokio::time::sleep(GATHER).await;
            while feed.try_recv().is_ok() {}
            if told.send(()).await.is_err() {
                return;
            }
        }
    });
    tokio_stream::wrappers::ReceiverStream::new(hears).map(|()| Ok(Event::default().data("changed")))
}

/// What stands before the jobs: recalls, and bicycles with their riders on which a swapped part does not hold.
fn notices(recalls: Vec<RecallDue>, swaps: Vec<SwapDue>) -> Vec<String> {
    let swapped = |due: SwapDue| format!("Job {}, handed over: {}", due.job, due.what);
    let recalls = recalls.into_iter().map(recall_words);
    recalls.chain(swaps.into_iter().map(swapped)).collect()
}

/// A recall on the wall: how many riders, none of their names.
fn recall_words(due: RecallDue) -> String {
    let riders = if due.riders == 1 { "rider" } else { "riders" };
    format!(
        "Recall {} ({}): {} {riders} to reach",
        due.recall, due.name, due.riders
    )
}

/// Jobs by whose move it is, the owner's first as in the list at the terminals.
fn groups(lines: Vec<JobLine>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for line in lines {
        let title = format!("{} to move", line.whose_move);
        let late = line.days_left.is_some_and(|days| days < 0);
        let promise = match line.days_left {
            None => String::new(),
            Some(days) if days < 0 => format!("promised {}, {} working days late", line.promise, -days),
            Some(days) => format!("promised {}, {days} working days left", line.promise),
        };
        let job = Job {
            number: line.job,
            rider: line.rider,
            bike: line.bike,
            stage: line.stage,
            here: match line.days_here {
                0 => "since today".to_owned(),
                1 => "for 1 working day".to_owned(),
                days => format!("for {days} working days"),
            },
            waits_for: if line.on_hold {
                format!("on hold; {}", line.waits_for)
            } else {
                line.waits_for
            },
            promise,
            late,
        };
        match groups.iter_mut().find(|group| group.title == title) {
            Some(group) => group.jobs.push(job),
            None => groups.push(Group {
                title,
                jobs: vec![job],
            }),
        }
    }
    groups.sort_by_key(|group| !group.title.starts_with("owner"));
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(job: u32, whose_move: &str, days_left: Option<i32>) -> JobLine {
        JobLine {
            job,
            rider: "<b>Ada</b> N.".into(),
            whose_move: whose_move.into(),
            days_left,
            promise: "2026-03-20".into(),
            ..JobLine::default()
        }
    }

    #[test]
    fn jobs_stand_under_whoever_is_to_move_the_owner_first_and_words_stay_words() {
        let groups = groups(vec![
            line(1, "supplier", Some(-2)),
            line(2, "owner", None),
            line(3, "supplier", Some(4)),
        ]);
        let told: Vec<(String, Vec<u32>)> = groups
            .iter()
            .map(|group| {
                (
                    group.title.clone(),
                    group.jobs.iter().map(|job| job.number).collect(),
                )
            })
            .collect();
        assert_eq!(
            told,
            [
                ("owner to move".to_owned(), vec![2]),
                ("supplier to move".to_owned(), vec![1, 3])
            ]
        );
        assert!(groups[1].jobs[0].late && !groups[1].jobs[1].late);
        let page = Page {
            day: "Monday 2026-03-23".into(),
            time: "09:00".into(),
            notices: notices(
                vec![RecallDue {
                    recall: 1,
                    name: "cells <overheat>".into(),
                    riders: 2,
                }],
                vec![SwapDue {
                    job: 4,
                    rider: "Ines H.".into(),
                    what: "pack swapped: pack.papers fail: no papers on file".into(),
                    how: "lockring swap 4 pack --papers …".into(),
                }],
            ),
            groups,
        };
        let page = page.render().unwrap();
        assert!(
            !page.contains("<b>Ada</b>")
                && page.contains("2 working days late")
                && page.contains("Recall 1 (cells &#60;overheat&#62;): 2 riders to reach")
                && page.contains("Job 4, handed over: pack swapped: pack.papers fail")
                && !page.contains("Ines H."),
            "{page}"
        );
    }
}
