//! Texts that go with every statement about a ride class: a workshop's tool compares with a
//! stored rule and leaves the ruling to those who make it.

use super::RideClass;

/// What a comparison is.
pub const D1: &str = "These checks compare your bike with one stored rule set. They are not a legal ruling.";
/// That rules differ.
pub const D2: &str = "Rules differ by country, state, city, path and land owner, and they change. Check the place you will ride before you ride.";
/// The rule compared with; [`RideClass::deference`] fills it in.
pub const D3: &str = "Stored rule: {class}, as known on {date}, source {source}. If the local text is stricter, the local text wins.";
/// No class chosen.
pub const D4: &str = "No rule set was chosen. Treat this bike as not allowed on public roads and paths.";
/// A reading inside the instrument's error.
pub const D5: &str = "This reading is inside the meter's error. A roadside test may come out differently.";
/// The fitter as maker.
pub const D6: &str = "Fitting a motor can make the fitter the maker. Ask your trading-standards or market-surveillance office what papers are due.";
/// Later changes.
pub const D7: &str = "Changing a setting, part, battery or charger ends the checks recorded here.";
/// A rule from memory.
pub const D8: &str = "This value was entered from memory or is old. Confirm it before relying on it.";
/// A pack in trouble.
pub const D9: &str =
    "If a pack smells, swells, hisses or smokes: leave, close the door, call the fire service.";

impl RideClass {
    /// [`D3`] for this class.
    pub fn deference(&self) -> String {
        D3.replace("{class}", &format!("{} ({})", self.name, self.region))
            .replace("{date}", &self.as_of.to_string())
            .replace("{source}", &self.source)
    }
}
