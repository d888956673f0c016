//! What holds of the shop's settings: what it set, else what is shipped.

use core::net::SocketAddr;

use jiff::civil::Time;

use super::Shop;
use super::setting::{Currency, EveningCommand, Setting, Units, WITHOUT_TAX, clock, currency, loopback};
use crate::tax::TaxRate;

impl Shop {
    /// A setting's text: what the shop set, else what is shipped; empty for neither.
    pub fn text(&self, setting: Setting) -> &str {
        self.settings
            .get(&setting)
            .map_or(setting.row().shipped, |given| given.value.as_str())
    }

    /// When the day's work ends.
    pub fn closing_time(&self) -> Time {
        clock(self.text(Setting::ClosingTime)).unwrap_or(Time::MIN)
    }

    /// Name of the shop's time zone; `None` for that of the machine.
    pub fn zone_name(&self) -> Option<&str> {
        Some(self.text(Setting::TimeZone)).filter(|name| !name.is_empty())
    }

    /// Hours worked at a bench on a working day.
    pub fn day_hours(&self) -> f64 {
        // What is kept was read before; a file that says otherwise is held by verify.
        self.text(Setting::DayHours).parse().unwrap_or(1.0)
    }

    /// A setting that counts; `None` when nobody set it.
    pub fn count(&self, setting: Setting) -> Option<u32> {
        self.text(setting).parse().ok()
    }

    /// The tax in what a rider pays; `None` when the shop names none.
    pub fn tax_rate(&self) -> Option<TaxRate> {
        let rate = TaxRate::read(self.text(Setting::TaxRate))?;
        Some(rate.with_decimals(self.currency().decimals))
    }

    /// Whether the tax comes on top of prices that are typed into a quote.
    pub fn types_without_tax(&self) -> bool {
        self.text(Setting::TypedPrices) == WITHOUT_TAX
    }

    /// The shop's money.
    pub fn currency(&self) -> Currency {
        currency(self.text(Setting::Currency)).unwrap_or(Currency {
            code: String::new(),
            decimals: 2,
        })
    }

    /// Which unit system stands first.
    pub fn units(&self) -> Units {
        Units::from_word(self.text(Setting::Units)).unwrap_or_default()
    }

    /// Which unit system stands first for somebody: their own choice, else the shop's.
    pub fn units_of(&self, initials: &str) -> Units {
        let own = self
            .units
            .iter()
            .find(|(known, _)| known.eq_ignore_ascii_case(initials.trim()));
        own.map_or_else(|| self.units(), |(_, units)| *units)
    }

    /// The program that is handed the end-of-day report.
    pub fn evening_command(&self) -> Option<EveningCommand> {
        let argv: Vec<String> = self
            .text(Setting::EveningCommand)
            .split_whitespace()
            .map(str::to_owned)
            .collect();
        (!argv.is_empty()).then_some(EveningCommand { argv })
    }

    /// Where the page for the wall is shown.
    pub fn wall_address(&self) -> Option<SocketAddr> {
        loopback(self.text(Setting::WallAddress))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::event::ShopEvent;

    #[test]
    fn a_shop_that_set_nothing_has_what_is_shipped() {
        let shop = Shop::default();
        assert_eq!(shop.closing_time(), Time::constant(17, 30, 0, 0));
        assert_eq!(shop.day_hours(), 7.5);
        assert_eq!((shop.zone_name(), shop.count(Setting::Benches)), (None, None));
        assert_eq!((shop.currency().decimals, shop.units()), (2, Units::Metric));
        assert_eq!(shop.evening_command(), None);
        assert_eq!((shop.tax_rate(), shop.types_without_tax()), (None, false));
    }

    #[test]
    fn what_the_shop_set_stands_before_what_is_shipped() {
        let mut shop = Shop::default();
        let origin = crate::origin::Origin {
            by: "K".into(),
            terminal: "desk".into(),
            made: jiff::Timestamp::UNIX_EPOCH,
        };
        assert_eq!((shop.wall_address(), shop.units_of("K")), (None, Units::Metric));
        for (setting, value) in [
            (Setting::ClosingTime, "16:00"),
            (Setting::TimeZone, "Europe/Berlin"),
            (Setting::DayHours, "6.5"),
            (Setting::Benches, "3"),
            (Setting::Currency, "JPY 0"),
            (Setting::Units, "imperial"),
            (Setting::EveningCommand, "/bin/lp -n 2"),
            (Setting::WallAddress, "127.0.0.1:8090"),
        ] {
            let set = ShopEvent::Set {
                setting,
                value: value.into(),
                why: String::new(),
            };
            shop.take(1, &origin, &set);
            assert_eq!(shop.text(setting), value);
        }
        assert_eq!(shop.closing_time(), Time::constant(16, 0, 0, 0));
        assert_eq!(shop.zone_name(), Some("Europe/Berlin"));
        assert_eq!((shop.day_hours(), shop.count(Setting::Benches)), (6.5, Some(3)));
        let currency = shop.currency();
        assert_eq!((currency.code.as_str(), currency.decimals), ("JPY", 0));
        assert_eq!(shop.evening_command().unwrap().argv, ["/bin/lp", "-n", "2"]);
        assert_eq!(shop.wall_address(), Some("127.0.0.1:8090".parse().unwrap()));
        // One's own choice stands before the shop's, whatever the case of the initials.
        let own = |units: Option<Units>| ShopEvent::UnitsChosen {
            initials: "K".into(),
            units,
        };
        shop.take(2, &origin, &own(Some(Units::Metric)));
        assert_eq!(
            (shop.units_of(" k "), shop.units_of("M")),
            (Units::Metric, Units::Imperial)
        );
        shop.take(3, &origin, &own(None));
        assert_eq!(shop.units_of("K"), Units::Imperial);
    }
}
