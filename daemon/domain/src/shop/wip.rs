//! Limits on work in progress: they warn and forbid nothing.

use std::collections::BTreeMap;

use super::Shop;
use super::setting::Setting;
use crate::stage::Stage;

/// Open jobs by stage.
pub type Open = BTreeMap<Stage, u32>;

/// How many fittings are meant to be open at most, and who says so: what the shop set, or one
/// more than its benches (common practice, no source), for a bicycle that waits for a part on
/// the stand.
pub fn fittings_meant(shop: &Shop) -> Option<(u32, &'static str)> {
    let set = shop
        .count(Setting::FittingsOpen)
        .map(|limit| (limit, "setting fittings-open"));
    let by_benches = shop
        .count(Setting::Benches)
        .map(|benches| (benches + 1, "setting benches, and one more"));
    set.or(by_benches)
}

/// What is over its limit after a job came to `stage`, in words; `open` counts that job there.
pub fn warnings(shop: &Shop, open: &Open, stage: Stage) -> Vec<String> {
    let count = |stage: Stage| open.get(&stage).copied().unwrap_or(0);
    match stage {
        Stage::Intake => {
            let ahead = count(Stage::Intake) + count(Stage::Parts);
            let limit = shop.count(Setting::IntakeAhead);
            let over = limit.filter(|limit| ahead > *limit);
            over.map(|limit| {
                format!(
                    "over the limit: {ahead} bicycles at intake and parts, {limit} are meant to be the most \
                     (setting intake-ahead)"
                )
            })
            .into_iter()
            .collect()
        }
        Stage::Fitting => {
            let open = count(Stage::Fitting);
            let over = fittings_meant(shop).filter(|(limit, _)| open > *limit);
            over.map(|(limit, why)| {
                format!(
                    "over the limit: {open} bicycles at fitting, {limit} are meant to be the most ({why})"
                )
            })
            .into_iter()
            .collect()
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;
    use crate::origin::Origin;
    use crate::shop::event::ShopEvent;

    fn shop(settings: &[(Setting, &str)]) -> Shop {
        let mut shop = Shop::default();
        let origin = Origin {
            by: "K".into(),
            terminal: "desk".into(),
            made: Timestamp::UNIX_EPOCH,
        };
        for (setting, value) in settings {
            let event = ShopEvent::Set {
                setting: *setting,
                value: (*value).into(),
                why: String::new(),
            };
            shop.take(1, &origin, &event);
        }
        shop
    }

    #[test]
    fn a_limit_warns_when_it_is_passed_and_not_when_it_is_reached() {
        let open = Open::from([(Stage::Intake, 2), (Stage::Parts, 3), (Stage::Fitting, 3)]);
        let told = |settings: &[(Setting, &str)], stage| warnings(&shop(settings), &open, stage).len();
        assert_eq!(
            told(&[], Stage::Intake) + told(&[], Stage::Fitting),
            0,
            "no limit is shipped"
        );
        assert_eq!(told(&[(Setting::IntakeAhead, "5")], Stage::Intake), 0);
        assert_eq!(told(&[(Setting::IntakeAhead, "4")], Stage::Intake), 1);
        assert_eq!(told(&[(Setting::IntakeAhead, "4")], Stage::Parts), 0);
        assert_eq!(told(&[(Setting::Benches, "2")], Stage::Fitting), 0);
        assert_eq!(told(&[(Setting::Benches, "1")], Stage::Fitting), 1);
        let both = [(Setting::Benches, "1"), (Setting::FittingsOpen, "3")];
        assert_eq!(
            told(&both, Stage::Fitting),
            0,
            "what the shop set goes before its benches"
        );
    }
}
