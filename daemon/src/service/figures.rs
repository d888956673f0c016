//! The figures an owner reads: each folded from the journal up to the end of its period.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::{Date, Weekday};
use lockring_domain::refusal::{Reason, Refusal};
use lockring_proto::v1;
use lockring_store::{Reader, StorageError};
use tonic::{Request, Response, Status};

use super::{Daemon, from_proto, status, to_proto};
use crate::report::classes::Classes;
use crate::report::history::Span;
use crate::report::known::{Cut, Known};
use crate::report::sheet::Sheet;
use crate::report::{evening, week};
use crate::standing::zone_of;

/// The service.
pub(crate) struct Figures(pub(crate) Arc<Daemon>);

type Answer = Result<Response<v1::Sheet>, Status>;
/// First and last day of a report, from the day asked for.
type Period = fn(Date) -> (Date, Date);
type Report = fn(&Known, &Span<'_>) -> Sheet;

#[tonic::async_trait]
impl v1::figures_server::Figures for Figures {
    async fn day(&self, request: Request<v1::FiguresRequest>) -> Answer {
        self.answer(request, |day| (day, day), evening::page).await
    }

    async fn week(&self, request: Request<v1::FiguresRequest>) -> Answer {
        self.answer(request, week_of, week::report).await
    }

    async fn classes(&self, request: Request<v1::FiguresRequest>) -> Answer {
        let on = asked(request)?;
        self.0
            .read(move |daemon, reader| daemon.classes(reader, on))
            .await
            .map(Response::new)
    }
}

fn asked(request: Request<v1::FiguresRequest>) -> Result<Option<Date>, Status> {
    from_proto::day("on", &request.into_inner().on).map_err(|refusal| status::refused(&refusal))
}

impl Figures {
    /// A report about the period of a day, known up to its last day.
    async fn answer(&self, request: Request<v1::FiguresRequest>, period: Period, report: Report) -> Answer {
        let on = asked(request)?;
        self.0
            .read(move |daemon, reader| daemon.figures(reader, on, period, report))
            .await
            .map(Response::new)
    }
}

impl Daemon {
    fn figures(
        &self,
        reader: &Reader<'_>,
        on: Option<Date>,
        period: Period,
        report: Report,
    ) -> Result<Result<v1::Sheet, Refusal>, StorageError> {
        let (first, last, cut) = match self.cut(reader, on, period)? {
            Ok(cut) => cut,
            Err(refusal) => return Ok(Err(refusal)),
        };
        let known = Known::read(reader, cut, first, &self.zone)?;
        Ok(Ok(to_proto::report_sheet(&report(
            &known,
            &known.span(first, last),
        ))))
    }

    /// Ride classes from the first job on; each history is looked at by itself, because there
    /// may be many.
    fn classes(
        &self,
        reader: &Reader<'_>,
        on: Option<Date>,
    ) -> Result<Result<v1::Sheet, Refusal>, StorageError> {
        let (_, day, cut) = match self.cut(reader, on, |day| (day, day))? {
            Ok(cut) => cut,
            Err(refusal) => return Ok(Err(refusal)),
        };
        let shop = reader.shop_known(cut.made_before, cut.upto)?;
        let zone = zone_of(&shop, &self.zone);
        let mut count = Classes::up_to(day, &zone);
        reader.every_history_known(cut.made_before, cut.upto, |history| count.look(&history))?;
        Ok(Ok(to_proto::report_sheet(&count.sheet())))
    }

    /// The days of a report and up to where they are told.
    pub(super) fn cut(
        &self,
        reader: &Reader<'_>,
        on: Option<Date>,
        period: Period,
    ) -> Result<Result<(Date, Date, Cut), Refusal>, StorageError> {
        let at = self.standing(reader)?;
        let today = Timestamp::now().to_zoned_datetime(at.zone.clone()).date();
        let day = on.unwrap_or(today);
        let refuse = |message: String| Ok(Err(Refusal::new(Reason::BadInput, message).with("on", day)));
        if day > today {
            return refuse(format!("{day} has not come yet; expected a day up to {today}"));
        }
        let (first, last) = period(day);
        match Cut::of(reader, last, &at.zone)? {
            Some(cut) => Ok(Ok((first, last, cut))),
            None => refuse(format!("{day} is outside the range of the calendar")),
        }
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
