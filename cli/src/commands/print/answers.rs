//! The daemon's answers that documents and pictures are made of.

use std::collections::{BTreeSet, HashMap};

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_proto::v1::catalogue_client::CatalogueClient;
use lockring_proto::v1::desk_client::DeskClient;
use lockring_paper::model::Picture;
use lockring_paper::picture;
use lockring_proto::v1::figures_client::FiguresClient;
use lockring_proto::v1::forecasts_client::ForecastsClient;
use lockring_proto::v1::money_client::MoneyClient;
use lockring_proto::v1::papers_client::PapersClient;
use lockring_proto::v1::photos_client::PhotosClient;
use lockring_proto::v1::reports_client::ReportsClient;
use lockring_proto::v1::rides_client::RidesClient;
use lockring_proto::v1::supply_client::SupplyClient;
use lockring_proto::v1::{
    AccountRequest, AccountView, Assignment, BlockedReport, BlockedRequest, CardReply, CardRequest, ChainlineReply, ChainlineRequest, CheckReply,
    CheckRequest, CompanionsReply, CompanionsRequest, CompareRideReply, CompareRideRequest, FiguresRequest, GetPartRequest,
    HistoryReply, JobView, ListPhotosRequest, PhotoView, PredictReply, PredictRequest, PredictionsReport, PredictionsRequest,
    ProposeReply, ProposeRequest, RangeReply, RangeRequest, RecallSheet, RidePlanReply, RidePlanRequest, SettingsRequest, Sheet,
    ShowJobRequest, ShowRecallRequest,
};

use crate::client::{Client, LONG, ORDINARY};
use crate::command_error::{CommandError, Exit};
use crate::commands::photo::fetch;
use crate::commands::{SEED, history, of_jobs, predict, range};
use crate::output::progress;

/// Asks for what a document shows.
pub(crate) struct Answers(pub(crate) Client);

type Answer<T> = Result<T, CommandError>;

/// Asks one question of a service.
macro_rules! ask {
    ($self:ident, $deadline:expr, $client:ident . $method:ident ($request:expr)) => {
        $self
            .0
            .call($deadline, $request, |channel, request| async move {
                $client::new(channel).$method(request).await
            })
            .await
    };
}

impl Answers {
    pub(crate) async fn card(&mut self, job: u32) -> Answer<CardReply> {
        ask!(self, ORDINARY, PapersClient.card(CardRequest { job }))
    }

    pub(crate) async fn ride_plan(&mut self, job: u32) -> Answer<RidePlanReply> {
        ask!(self, ORDINARY, ForecastsClient.ride_plan(RidePlanRequest { job }))
    }

    pub(crate) async fn proposals(&mut self, job: u32) -> Answer<ProposeReply> {
        self.0.call(LONG, ProposeRequest { job }, of_jobs!(propose)).await
    }

    /// What holds for a setting; empty when nobody set it and nothing is shipped.
    pub(crate) async fn setting(&mut self, word: &str) -> Answer<String> {
        let reply = ask!(self, ORDINARY, DeskClient.settings(SettingsRequest {}))?;
        let named = reply.settings.into_iter().find(|setting| setting.setting == word);
        Ok(named.map(|setting| setting.value).unwrap_or_default())
    }

    /// The day by the shop's clock: its own zone if it has set one, else this machine's.
    pub(crate) async fn today(&mut self, here: &TimeZone) -> Answer<Date> {
        let named = self.setting("time-zone").await?;
        let zone = TimeZone::get(&named).unwrap_or_else(|_| here.clone());
        Ok(Timestamp::now().to_zoned_datetime(zone).date())
    }

    /// The money of a job.
    pub(crate) async fn account(&mut self, job: u32) -> Answer<AccountView> {
        ask!(self, ORDINARY, MoneyClient.account(AccountRequest { job }))
    }

    /// The catalogue's names of parts; `none` is no part.
    pub(crate) async fn names(
        &mut self,
        parts: impl Iterator<Item = &str>,
    ) -> Answer<HashMap<String, String>> {
        let mut names = HashMap::new();
        let distinct: BTreeSet<&str> = parts.filter(|part| *part != "none").collect();
        for id in distinct {
            let request = GetPartRequest { id: id.to_owned() };
            let part = ask!(self, ORDINARY, CatalogueClient.get(request))?;
            names.insert(id.to_owned(), part.name);
        }
        Ok(names)
    }

    pub(crate) async fn view(&mut self, job: u32) -> Answer<JobView> {
        let request = ShowJobRequest { job, at_us: None };
        self.0.call(ORDINARY, request, of_jobs!(show)).await
    }

    /// The photos of a job, each with what there is to see, or why there is not.
    pub(crate) async fn photos(&mut self, job: u32) -> Answer<Vec<(PhotoView, Result<Picture, String>)>> {
        let list = ask!(self, ORDINARY, PhotosClient.list_photos(ListPhotosRequest { job }))?;
        let mut photos = Vec::new();
        for view in list.photos {
            if !view.removed_on.is_empty() {
                let gone = format!("the picture was removed on {}", view.removed_on);
                photos.push((view, Err(gone)));
                continue;
            }
            // One that is lost or cannot be read leaves the rest of the file whole, and is told in it.
            let shown = match fetch(self.0.channel().await?, job, view.number).await {
                Ok((_, content)) => {
                    picture::photo(&content, view.caption.clone()).map_err(|error| error.to_string())
                }
                Err(error) if matches!(error.kind, Exit::Storage | Exit::NotFound) => Err(error.message),
                Err(error) => return Err(error),
            };
            photos.push((view, shown));
        }
        Ok(photos)
    }

    pub(crate) async fn history(&mut self, job: u32) -> Answer<HistoryReply> {
        history::whole(&self.0, job, 0).await
    }

    pub(crate) async fn companions(&mut self, job: u32) -> Answer<CompanionsReply> {
        ask!(self, ORDINARY, PapersClient.companions(CompanionsRequest { job }))
    }

    /// The checks of every gate.
    pub(crate) async fn gates(&mut self, view: &JobView) -> Answer<Vec<CheckReply>> {
        let job = view.line.as_ref().map_or(0, |line| line.job);
        let mut replies = Vec::new();
        for gate in &view.gates {
            let gate = gate.gate.clone();
            replies.push(self.0.call(ORDINARY, CheckRequest { job, gate }, of_jobs!(check)).await?);
        }
        Ok(replies)
    }

    /// The chainline, where enough was measured.
    pub(crate) async fn chainline(&mut self, job: u32) -> Answer<Option<ChainlineReply>> {
        where_known(self.0.call(ORDINARY, ChainlineRequest { job }, of_jobs!(chainline)).await)
    }

    /// Ridden against expected, where a ride can be compared.
    pub(crate) async fn compare(&mut self, job: u32) -> Answer<Option<CompareRideReply>> {
        where_known(ask!(self, ORDINARY, RidesClient.compare_ride(CompareRideRequest { job })))
    }

    /// The forecast, where enough is known for one; with other parts on a copy of the job where some are named.
    pub(crate) async fn forecast(&mut self, job: u32, build: &[Assignment]) -> Answer<Option<PredictReply>> {
        let request = PredictRequest {
            job,
            build: build.to_vec(),
            draws: predict::DRAWS,
            seed: SEED,
            ..PredictRequest::default()
        };
        let mut client = ForecastsClient::new(self.0.channel().await?);
        where_known(progress::follow(client.predict(request), true).await)
    }

    /// The brief's road, where enough is known to ride it; as of `forecast`.
    pub(crate) async fn range(&mut self, job: u32, build: &[Assignment]) -> Answer<Option<RangeReply>> {
        let request = RangeRequest {
            job,
            build: build.to_vec(),
            draws: range::DRAWS,
            seed: SEED,
            ..RangeRequest::default()
        };
        let mut client = ForecastsClient::new(self.0.channel().await?);
        where_known(progress::follow(client.range(request), true).await)
    }

    pub(crate) async fn blocked(&mut self, on: &str) -> Answer<BlockedReport> {
        ask!(self, ORDINARY, ReportsClient.blocked(BlockedRequest { on: on.to_owned() }))
    }

    pub(crate) async fn day(&mut self, on: &str) -> Answer<Sheet> {
        ask!(self, ORDINARY, FiguresClient.day(FiguresRequest { on: on.to_owned() }))
    }

    pub(crate) async fn week(&mut self, on: &str) -> Answer<Sheet> {
        ask!(self, ORDINARY, FiguresClient.week(FiguresRequest { on: on.to_owned() }))
    }

    /// The rides known at a day's end; all of them for an empty one.
    pub(crate) async fn predictions(&mut self, on: &str) -> Answer<PredictionsReport> {
        ask!(self, LONG, RidesClient.predictions(PredictionsRequest { on: on.to_owned() }))
    }

    pub(crate) async fn recall(&mut self, recall: u32) -> Answer<RecallSheet> {
        ask!(self, ORDINARY, SupplyClient.show_recall(ShowRecallRequest { recall }))
    }
}

/// An answer, or none where the job does not say enough for it.
fn where_known<T>(answer: Answer<T>) -> Answer<Option<T>> {
    match answer {
        Ok(answer) => Ok(Some(answer)),
        Err(error) if matches!(error.kind, Exit::Refused | Exit::BadInput) => Ok(None),
        Err(error) => Err(error),
    }
}
