//! The figures an owner reads: each folded from the journal up to the end of its period.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::{Date, Weekday};
use lockring_domain::refusal::{Reason, Refusal};
use lockring_proto::v1;
use lockring_store::{Reader, StorageError};
use tonic::{Request, Response, Status};

use super::{Daemon, from_proto, status, to_proto};
use crate::report::history::Span;
use crate::report::known::{Cut, Known};
use crate::report::sheet::Sheet;
use crate::report::{classes, evening, week};

/// The service.
pub(crate) struct Figures(pub(crate) Arc<Daemon>);

type Answer = Result<Response<v1::Sheet>, Status>;
/// First and last day of a report, from the day asked for.
type Period = fn(Date, &Known) -> (Date, Date);
type Report = fn(&Known, &Span<'_>) -> Sheet;

#[tonic::async_trait]
impl v1::figures_server::Figures for Figures {
    async fn day(&self, request: Request<v1::FiguresRequest>) -> Answer {
        self.answer(request, |day| day, |day, _| (day, day), evening::page)
            .await
    }

    async fn week(&self, request: Request<v1::FiguresRequest>) -> Answer {
        self.answer(request, |day| week_of(day).1, |day, _| week_of(day), week::report)
            .await
    }

    async fn classes(&self, request: Request<v1::FiguresRequest>) -> Answer {
        let since_the_first = |day: Date, known: &Known| {
            let first = known.jobs().map(|job| job.opened).min();
            let first = first.map_or(day, |at| at.to_zoned_datetime(known.at.zone.clone()).date());
            (first.min(day), day)
        };
        self.answer(request, |day| day, since_the_first, classes::report)
            .await
    }
}

impl Figures {
    /// A report about the period of a day, known up to the day that `last` gives.
    async fn answer(
        &self,
        request: Request<v1::FiguresRequest>,
        last: fn(Date) -> Date,
        period: Period,
        report: Report,
    ) -> Answer {
        let on =
            from_proto::day("on", &request.into_inner().on).map_err(|refusal| status::refused(&refusal))?;
        self.0
            .read(move |daemon, reader| daemon.figures(reader, on, last, period, report))
            .await
            .map(Response::new)
    }
}

impl Daemon {
    fn figures(
        &self,
        reader: &Reader<'_>,
        on: Option<Date>,
        last: fn(Date) -> Date,
        period: Period,
        report: Report,
    ) -> Result<Result<v1::Sheet, Refusal>, StorageError> {
        let at = self.standing(reader)?;
        let today = Timestamp::now().to_zoned_datetime(at.zone.clone()).date();
        let day = on.unwrap_or(today);
        let refuse = |message: String| Ok(Err(Refusal::new(Reason::BadInput, message).with("on", day)));
        if day > today {
            return refuse(format!("{day} has not come yet; expected a day up to {today}"));
        }
        let Some(cut) = Cut::of(reader, last(day), &at.zone)? else {
            return refuse(format!("{day} is outside the range of the calendar"));
        };
        let known = Known::read(reader, cut, &self.zone)?;
        let (from, to) = period(day, &known);
        Ok(Ok(to_proto::report_sheet(&report(&known, &known.span(from, to)))))
    }
}

/// Monday and Sunday of a day's week (ISO 8601:2004, 2.2.8: a week begins on Monday).
fn week_of(day: Date) -> (Date, Date) {
    let since_monday = i64::from(day.weekday().since(Weekday::Monday));
    let monday = day.saturating_sub(jiff::Span::new().days(since_monday));
    (monday, monday.saturating_add(jiff::Span::new().days(6)))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_week_runs_from_monday_to_sunday() {
        // 9 March 2026 is a Monday (Gregorian calendar).
        for day in 9..=15 {
            assert_eq!(week_of(date(2026, 3, day)), (date(2026, 3, 9), date(2026, 3, 15)));
        }
        assert_eq!(week_of(date(2026, 3, 16)).0, date(2026, 3, 16));
    }
}
