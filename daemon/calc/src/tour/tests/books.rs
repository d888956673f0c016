//! The books: every joule is found again, and the totals are what the road itself says.

use super::*;

#[test]
fn probe() {
    for (name, rig) in [("hub", hub()), ("mid", mid())] {
        for pieces in [1, 2, 4, 8, 16] {
            let o = rig.ride(&country(20, pieces));
            println!(
                "{name} {pieces} Wh {:.5} t {:.3} ga {:.2e} gr {:.2e} soc {:.5} low {:.3} at {:.0} hot {:?} walked {:?} rotor {:.2} kin {:.2} brakes {:.3} fold {:?} vmax {:.3}",
                o.energy().as_watt_hours(),
                o.time.si(),
                o.ledger.electric_gap(),
                o.ledger.road_gap(),
                o.state_of_charge,
                o.lowest_voltage.si(),
                o.lowest_at.si(),
                o.hottest.map(|h| (h.winding.as_celsius(), h.case.as_celsius())),
                o.walked.len(),
                o.rotor_power.si(),
                o.ledger.kinetic.si(),
                o.ledger.brakes.as_watt_hours(),
                o.folded,
                o.fastest.as_kilometres_per_hour()
            );
        }
    }
}
