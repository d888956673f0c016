//! Connectors: current a kind carries, what sealing takes away, and the heat of the contacts.
//!
//! A connector is rated by the rise of its contacts (30 K in the usual test) and the wire in
//! it, not by a headline figure. Every typical current here is from memory: it can advise,
//! never stop a job.

use crate::doubt::{Basis, FitError, in_range};
use crate::electrics::{Gauge, contact_heat};
use crate::quantity::{Current, Power, Resistance};

/// Share of the continuous current left when the connector sits sealed inside a frame
/// (from memory).
pub const SEALED: f64 = 0.5;

/// What a connector is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Use {
    /// Pack, controller and phase currents.
    Power,
    /// Charging.
    Charge,
    /// Sensors, levers, lights.
    Signal,
}

/// A kind of connector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Connector {
    /// Name of the row.
    pub id: &'static str,
    /// What it is made for.
    pub used_for: Use,
    /// Least and greatest typical continuous current in free air, A.
    pub continuous_a: [f64; 2],
    /// Thinnest and thickest wire it is made for, AWG; `None` when not stored.
    pub gauges: Option<[u8; 2]>,
    /// How the row is known.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

#[rustfmt::skip]
const fn kind(id: &'static str, used_for: Use, continuous_a: [f64; 2], gauges: Option<[u8; 2]>) -> Connector {
    Connector { id, used_for, continuous_a, gauges, basis: Basis::Memory, source: "from memory" }
}

/// Kinds of connector with their typical continuous currents.
#[rustfmt::skip]
pub const CONNECTORS: &[Connector] = &[
    kind("tab-6.3", Use::Power, [15.0, 20.0], None),
    kind("bullet-3.5", Use::Power, [25.0, 30.0], None),
    kind("moulded-30", Use::Power, [30.0, 30.0], Some([12, 12])),
    kind("bullet-4", Use::Power, [35.0, 40.0], None),
    kind("moulded-60", Use::Power, [60.0, 60.0], Some([12, 10])),
    kind("bullet-5.5", Use::Power, [60.0, 80.0], None),
    kind("moulded-90", Use::Power, [90.0, 90.0], Some([8, 8])),
    kind("barrel-5.5", Use::Charge, [3.0, 5.0], None),
    kind("microphone-3-pin", Use::Charge, [6.0, 8.0], None),
    kind("sealed-multi-pole", Use::Signal, [2.0, 3.0], None),
];

/// Names of all rows of [`CONNECTORS`], in their order.
pub const IDS: [&str; CONNECTORS.len()] = {
    let mut ids = [""; CONNECTORS.len()];
    let mut index = 0;
    while index < ids.len() {
        ids[index] = CONNECTORS[index].id;
        index += 1;
    }
    ids
};

/// Stored connector of this name; `None` when there is none.
pub fn connector(id: &str) -> Option<&'static Connector> {
    CONNECTORS.iter().find(|row| row.id == id)
}

/// Where a connector sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Place {
    /// In free air.
    Open,
    /// Sealed inside a frame tube or a potted case.
    Sealed,
}

/// Whether a connector takes a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WireFit {
    /// Inside the stored sizes.
    Takes,
    /// Too thick or too thin for it.
    Refuses,
    /// No sizes are stored.
    Unknown,
}

impl Connector {
    /// Continuous current to count on: the lower typical figure, times [`SEALED`] when sealed.
    pub fn allowed(&self, place: Place) -> Current {
        let share = match place {
            Place::Open => 1.0,
            Place::Sealed => SEALED,
        };
        Current::amperes(self.continuous_a[0] * share)
    }

    /// Whether it takes a wire of this gauge.
    pub fn takes(&self, gauge: Gauge) -> WireFit {
        match self.gauges {
            None => WireFit::Unknown,
            // A larger gauge number is a thinner wire.
            Some([thin, thick]) if (thick..=thin).contains(&gauge.number()) => WireFit::Takes,
            Some(_) => WireFit::Refuses,
        }
    }
}

/// A connector chosen, or looked at, for a current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chosen {
    /// The row.
    pub connector: &'static Connector,
    /// Current it carries there.
    pub allowed: Current,
    /// What is left above the current asked.
    pub margin: Current,
    /// Whether it takes the wire; never [`WireFit::Refuses`] in a choice.
    pub wire: WireFit,
}

/// Smallest stored kind for a use, a continuous current (0 to 500 A) and a wire where one is
/// known; `None` when no stored kind carries it.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn choose(
    used_for: Use,
    current: Current,
    gauge: Option<Gauge>,
    place: Place,
) -> Result<Option<Chosen>, FitError> {
    in_range("continuous current", current.as_amperes(), 0.0, 500.0, "A")?;
    let takes = |row: &Connector| gauge.map_or(WireFit::Unknown, |gauge| row.takes(gauge));
    // The rows of a use stand in rising order of current.
    let row = CONNECTORS.iter().find(|row| {
        row.used_for == used_for
            && row.allowed(place).as_amperes() >= current.as_amperes() - 1e-9
            && takes(row) != WireFit::Refuses
    });
    Ok(row.map(|connector| Chosen {
        connector,
        allowed: connector.allowed(place),
        margin: connector.allowed(place) - current,
        wire: takes(connector),
    }))
}

/// Heat of all contacts of a connector, `n·I²·R`: 1 to 20 contacts carrying the current (0 to
/// 500 A) through a contact resistance of 0 to 1 Ω each.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn connector_heat(current: Current, contact: Resistance, contacts: u32) -> Result<Power, FitError> {
    in_range("continuous current", current.as_amperes(), 0.0, 500.0, "A")?;
    in_range("contact resistance", contact.as_ohms(), 0.0, 1.0, "ohm")?;
    let count = in_range(
        "contacts carrying the current",
        f64::from(contacts),
        1.0,
        20.0,
        "contacts",
    )?;
    Ok(contact_heat(current, contact) * count)
}

#[cfg(test)]
mod tests;
