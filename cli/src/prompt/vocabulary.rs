//! The words of the shop, from the daemon that is running: for completion and abbreviations.

use std::time::Duration;

use lockring_proto::v1::catalogue_client::CatalogueClient;
use lockring_proto::v1::jobs_client::JobsClient;
use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{
    CodeRow, JobLine, ListJobsRequest, ListPartsRequest, PartView, WordsReply, WordsRequest,
};
use tonic::Status;

use crate::client::{Client, timed};

/// A prompt that waits for its words is worse than one without: longer than this they are not
/// waited for.
pub(crate) const SHORT: Duration = Duration::from_millis(400);
/// Rows asked for at a time, and most of a list that is completed.
const PAGE: u32 = 500;
/// The group of codes that are bolts, and what stands before a bolt's word in its code.
const TORQUE: (&str, &str) = ("torque", "torque-");

/// The words.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Vocabulary {
    /// Codes, runs, checks, classes, kinds of parts.
    pub(crate) words: WordsReply,
    /// Jobs under way.
    pub(crate) jobs: Vec<JobLine>,
    /// Parts of the catalogue.
    pub(crate) parts: Vec<PartView>,
}

impl Vocabulary {
    /// Asks the daemon anew: the jobs always, the rest when it is not there yet. What does not
    /// come in time stays as it was.
    pub(crate) async fn renew(&mut self, client: &Client) {
        let Ok(Ok(())) = tokio::time::timeout(SHORT, self.ask(client)).await else {
            return;
        };
    }

    async fn ask(&mut self, client: &Client) -> Result<(), Status> {
        let all = ListJobsRequest {
            page_size: PAGE,
            ..ListJobsRequest::default()
        };
        let jobs = JobsClient::new(client.open_channel())
            .list(timed(SHORT, all))
            .await?;
        self.jobs = jobs.into_inner().jobs;
        if self.words.codes.is_empty() {
            let words = ShopClient::new(client.open_channel())
                .words(timed(SHORT, WordsRequest {}))
                .await?;
            self.words = words.into_inner();
        }
        if self.parts.is_empty() {
            let all = ListPartsRequest {
                page_size: PAGE,
                ..ListPartsRequest::default()
            };
            let parts = CatalogueClient::new(client.open_channel())
                .list(timed(SHORT, all))
                .await?;
            self.parts = parts.into_inner().parts;
        }
        Ok(())
    }

    /// Parts may have come in or gone.
    pub(crate) fn forget_parts(&mut self) {
        self.parts.clear();
    }

    /// A job by its number.
    pub(crate) fn job(&self, number: u32) -> Option<&JobLine> {
        self.jobs.iter().find(|job| job.job == number)
    }

    /// Codes that are no bolts.
    pub(crate) fn codes(&self) -> impl Iterator<Item = &CodeRow> {
        self.words.codes.iter().filter(|row| row.group != TORQUE.0)
    }

    /// Bolts: the word people type, and the row.
    pub(crate) fn bolts(&self) -> impl Iterator<Item = (&str, &CodeRow)> {
        let bolts = self.words.codes.iter().filter(|row| row.group == TORQUE.0);
        bolts.map(|row| (row.code.strip_prefix(TORQUE.1).unwrap_or(&row.code), row))
    }

    /// A code by its word or short form.
    pub(crate) fn code(&self, word: &str) -> Option<&CodeRow> {
        let word = word.to_lowercase();
        let is_it = |row: &&CodeRow| row.code == word || (!row.alias.is_empty() && row.alias == word);
        self.words.codes.iter().find(is_it)
    }

    /// Slots of a build.
    pub(crate) fn slots(&self) -> Vec<&str> {
        let mut slots: Vec<&str> = Vec::new();
        for slot in self.words.kinds.iter().flat_map(|kind| &kind.slots) {
            if !slots.contains(&slot.as_str()) {
                slots.push(slot);
            }
        }
        slots
    }

    /// Parts that go into a slot.
    pub(crate) fn parts_for<'v>(&'v self, slot: &'v str) -> impl Iterator<Item = &'v PartView> {
        let takes = move |kind: &str| {
            let kinds = self.words.kinds.iter().filter(|row| row.kind == kind);
            kinds.flat_map(|row| &row.slots).any(|one| one == slot)
        };
        self.parts.iter().filter(move |part| takes(&part.kind))
    }
}
