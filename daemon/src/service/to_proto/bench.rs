//! The stand's sheet, in the contract's words.

use lockring_domain::job::Job;
use lockring_domain::stand::Blank;
use lockring_proto::v1;

/// The sheet of a job.
pub(in crate::service) fn sheet(job: &Job, blanks: &[Blank]) -> v1::SheetReply {
    let one = |blank: &Blank| v1::SheetBox {
        code: blank.code.key().to_owned(),
        alias: blank.code.alias.to_owned(),
        name: blank.code.field.name.to_owned(),
        expects: blank.code.field.expected(),
        example: blank.code.example(),
        recorded: blank.recorded.clone().unwrap_or_default(),
        words: blank.code.words_before_value(job.number),
        needed: blank.needed,
    };
    v1::SheetReply {
        job: job.number,
        rider: job.rider.clone(),
        stage: job.stage.word().to_owned(),
        boxes: blanks.iter().map(one).collect(),
    }
}
