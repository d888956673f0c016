//! Which jobs a caution may concern: what the table says in words, as far as a job's own data settle it.

use crate::fact::Value;
use crate::job::Job;
use crate::part::Slot;
use crate::ride_class::{self, Comparator, MotorOnly, RideClass, SpeedLimit, SpeedUnit, Throttle};

/// A condition that a job's data may rule out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Concern {
    /// Any job.
    Any,
    /// No ride class is chosen.
    NoClass,
    /// A class of Europe.
    Europe,
    /// A class of the European Union or of Great Britain.
    EuOrGb,
    /// A class of the United States.
    UnitedStates,
    /// A class of California, or of the United States at large.
    California,
    /// A class of New York, or of the United States at large.
    NewYork,
    /// A class of the EPAC kind.
    Assisted,
    /// Such a class, and a pack of more than 48 V nominal.
    AssistedOver48V,
    /// A class that takes a motor alone for walking, to 6 km/h.
    Walk,
    /// A class whose motor helps only while somebody pedals, but for walking.
    Pedalled,
    /// A class of the road.
    Road,
    /// Private land alone.
    Private,
    /// A motor in a hub.
    Hub,
    /// A motor in the front hub, in a light or sprung fork.
    FrontHubLight,
    /// A motor in the front hub, in a fork of steel.
    FrontHubSteel,
    /// Carbon where the motor is mounted.
    Carbon,
    /// A motor at the crank.
    Mid,
    /// A rider younger than the class allows, or of unknown age.
    Young,
    /// A pack of more than 100 Wh (ADR, special provision 188: the line between a small battery and class 9).
    Over100Wh,
    /// A pack of more than 160 Wh (FAA guidance for passengers, lithium batteries: none above it in cabin or
    /// hold).
    Over160Wh,
}

/// The class of private land.
const PRIVATE: &str = "generic-private";
/// Beginnings of the words of Europe's classes.
const EUROPE: [&str; 5] = ["eu-", "gb-", "ie-", "ch-", "no-"];
/// EN 15194, start-up assistance mode.
const WALKING: SpeedLimit = SpeedLimit {
    value: 6.0,
    unit: SpeedUnit::Kmh,
    comparator: Comparator::Le,
};
/// Nominal volts that labels count a cell with, least (iron phosphate) and most (common practice, no
/// source).
const CELL_VOLTS: [f64; 2] = [3.2, 3.7];
/// Joules in a watt hour.
const WATT_HOUR: f64 = 3600.0;

impl Concern {
    const WORDS: [(&str, Self); 21] = [
        ("any", Self::Any),
        ("no-class", Self::NoClass),
        ("europe", Self::Europe),
        ("eu-gb", Self::EuOrGb),
        ("us", Self::UnitedStates),
        ("california", Self::California),
        ("new-york", Self::NewYork),
        ("epac", Self::Assisted),
        ("epac-over-48-v", Self::AssistedOver48V),
        ("walk", Self::Walk),
        ("pedalled", Self::Pedalled),
        ("road", Self::Road),
        ("private", Self::Private),
        ("hub", Self::Hub),
        ("front-hub-light", Self::FrontHubLight),
        ("front-hub-steel", Self::FrontHubSteel),
        ("carbon", Self::Carbon),
        ("mid", Self::Mid),
        ("young", Self::Young),
        ("over-100-wh", Self::Over100Wh),
        ("over-160-wh", Self::Over160Wh),
    ];

    /// Reads the table's word.
    pub(super) fn from_word(word: &str) -> Option<Self> {
        Self::WORDS
            .into_iter()
            .find_map(|(known, concern)| (known == word).then_some(concern))
    }

    /// Whether a job does not rule it out. What is not known yet rules nothing out.
    pub fn may_be(self, job: &Job) -> bool {
        self.known(job).unwrap_or(true)
    }

    /// Whether a job says so.
    pub fn is(self, job: &Job) -> bool {
        self.known(job).unwrap_or(false)
    }

    /// What a job says of it; `None` before it says anything.
    fn known(self, job: &Job) -> Option<bool> {
        let class = job.text("ride-class").and_then(ride_class::find);
        let begins =
            |class: &RideClass, regions: &[&str]| regions.iter().any(|region| class.id.starts_with(region));
        match self {
            Self::Any => Some(true),
            Self::NoClass => Some(class.is_none()),
            Self::Europe => Some(begins(class?, &EUROPE)),
            Self::UnitedStates => Some(begins(class?, &["us-"])),
            Self::EuOrGb => Some(class?.is_of_eu_or_gb()),
            Self::California => of_state(class?, "us-ca-"),
            Self::NewYork => of_state(class?, "us-ny-"),
            Self::Assisted => Some(class?.is_epac),
            Self::AssistedOver48V => and(Self::Assisted.known(job), over(nominal(job), 48.0)),
            Self::Walk => Some(class?.motor_only == MotorOnly::UpTo(WALKING)),
            Self::Pedalled => Some(class?.throttle != Throttle::Full),
            Self::Road => Some(class?.id != PRIVATE),
            Self::Private => Some(class?.id == PRIVATE),
            Self::Hub => Some(place(job)?.ends_with("-hub")),
            Self::FrontHubLight => and(
                Some(place(job)? == "front-hub"),
                job.text("fork-kind")
                    .map(|fork| fork != "steel-rigid" && fork != "carbon"),
            ),
            Self::FrontHubSteel => and(
                Some(place(job)? == "front-hub"),
                job.text("fork-kind").map(|fork| fork == "steel-rigid"),
            ),
            Self::Carbon => {
                let mounted = if place(job)? == "front-hub" {
                    "fork-kind"
                } else {
                    "frame-material"
                };
                Some(job.text(mounted)? == "carbon")
            }
            Self::Mid => Some(!place(job)?.ends_with("-hub")),
            Self::Young => match class?.min_age {
                None => Some(false),
                Some(least) => Some(job.facts.get("rider-age")?.value.number()? < f64::from(least)),
            },
            Self::Over100Wh => over(energy(job), 100.0),
            Self::Over160Wh => over(energy(job), 160.0),
        }
    }
}

/// Whether a class is of a State; `None` for one of the United States at large.
fn of_state(class: &RideClass, state: &str) -> Option<bool> {
    let is_of_any = ["us-ca-", "us-ny-"].iter().any(|any| class.id.starts_with(any));
    match class.id.starts_with("us-") {
        true if !is_of_any => None,
        _ => Some(class.id.starts_with(state)),
    }
}

/// Both, as far as they are known.
fn and(one: Option<bool>, other: Option<bool>) -> Option<bool> {
    match (one, other) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    }
}

/// Where the motor is.
fn place(job: &Job) -> Option<&str> {
    match job.build.get(&Slot::Motor)?.part.get("place")? {
        Value::Word(place) => Some(place),
        _ => None,
    }
}

/// Whether it is more; `None` where that rests on what the label counts, or nothing is known.
fn over(counted: Option<[f64; 2]>, limit: f64) -> Option<bool> {
    let [least, most] = counted?;
    if least > limit {
        Some(true)
    } else if most <= limit {
        Some(false)
    } else {
        None
    }
}

fn of_pack(job: &Job, key: &str) -> Option<f64> {
    match job.build.get(&Slot::Pack)?.part.get(key)? {
        Value::Number(value) => Some(*value),
        _ => None,
    }
}

/// Nominal volts of the pack as a label may count them, least and most.
fn nominal(job: &Job) -> Option<[f64; 2]> {
    let cells = of_pack(job, "series")?;
    Some(CELL_VOLTS.map(|volts| volts * cells))
}

/// Watt hours of the pack as a label may count them, least and most.
fn energy(job: &Job) -> Option<[f64; 2]> {
    let hours = of_pack(job, "capacity")? / WATT_HOUR;
    nominal(job).map(|volts| volts.map(|volts| volts * hours))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cautions::{Caution, for_job};
    use crate::checks::testing::{longtail, trekking};

    fn ids(job: &Job) -> Vec<&'static str> {
        let id = |caution: &'static Caution| caution.id.as_str();
        for_job(job).map(id).collect()
    }

    #[test]
    fn a_job_rules_out_what_is_about_another_motor_class_or_country() {
        // A mid motor of the Union's class, with a pack of some 630 Wh.
        let mid = ids(&longtail().job);
        for id in [
            "ft-bb-torque",
            "in-maker-duty",
            "ho-air",
            "sh-class9",
            "ho-charge",
            "el-key",
        ] {
            assert!(mid.contains(&id), "{id}");
        }
        for id in [
            "ft-torque-arm",
            "in-front-hub-steel",
            "pt-nyc",
            "in-unclassed",
            "in-class-first",
            "in-min-age",
        ] {
            assert!(!mid.contains(&id), "{id}");
        }
        let hub = ids(&trekking().job);
        assert!(hub.contains(&"ft-torque-arm") && !hub.contains(&"ft-bb-torque"));
    }

    #[test]
    fn what_is_not_known_yet_rules_nothing_out() {
        let bare = ids(&longtail().build(&[("motor", "none"), ("pack", "none")]).job);
        for id in ["ft-torque-arm", "in-front-hub-steel", "ft-bb-torque", "ho-air"] {
            assert!(bare.contains(&id), "{id}");
        }
    }

    #[test]
    fn what_a_job_settles_is_no_condition_any_more() {
        let settled = |job: &Job, id: &str| crate::cautions::find(id).unwrap().is_settled(job);
        let job = longtail().job;
        for id in [
            "ft-bb-torque",
            "el-key",
            "ho-air",
            "el-no-hidden-mode",
            "ho-signs",
        ] {
            assert!(settled(&job, id), "{id}");
        }
        assert!(settled(&job, "ho-declaration"));
        // These ask for more than the job says, or for another border than the classes have.
        for id in ["ft-hot-surface", "tr-heat", "in-maker-duty"] {
            assert!(!settled(&job, id), "{id}");
        }
        // The class of New York is one of its large cities alone.
        for (class, id, is_settled) in [
            ("us-ny-class3", "pt-nyc", true),
            ("us-ca-class1", "pt-ca-2026", true),
            ("us-class1", "pt-nyc", false),
        ] {
            let job = longtail().state(&[("ride-class", class)]).job;
            assert_eq!(settled(&job, id), is_settled, "{class} {id}");
        }
        let bare = longtail().build(&[("motor", "none"), ("pack", "none")]).job;
        assert!(!settled(&bare, "ft-bb-torque") && !settled(&bare, "ho-air"));
    }

    #[test]
    fn every_word_of_the_table_is_used() {
        for (word, concern) in Concern::WORDS {
            assert_eq!(Concern::from_word(word), Some(concern));
            let used = crate::cautions::all()
                .iter()
                .any(|caution| caution.concern == concern);
            assert!(used, "{word}");
        }
    }

    /// 13 cells of 3.2 to 3.7 V: 1 Ah is 41.6 to 48.1 Wh, so 2.05 Ah are 85.3 to 98.6 Wh, 2.2 Ah 91.5 to
    /// 105.8 Wh, 2.5 Ah 104 to 120 Wh; 3.3 Ah are at most 158.7 Wh, 3.5 Ah 145.6 to 168.4 Wh, 4 Ah at least
    /// 166.4 Wh.
    #[test]
    fn a_pack_near_a_border_may_be_over_it_and_is_not_said_to_be() {
        let pack = |ampere_hours: f64| {
            let mut job = longtail().job;
            let attributes = &mut job.build.get_mut(&Slot::Pack).unwrap().part.attributes;
            attributes.insert("series".into(), Value::Number(13.0));
            attributes.insert("capacity".into(), Value::Number(3600.0 * ampere_hours));
            job
        };
        for (ampere_hours, over_100, over_160) in [
            (2.05, Some(false), Some(false)),
            (2.2, None, Some(false)),
            (2.5, Some(true), Some(false)),
            (3.3, Some(true), Some(false)),
            (3.5, Some(true), None),
            (4.0, Some(true), Some(true)),
        ] {
            let job = pack(ampere_hours);
            assert_eq!(Concern::Over100Wh.known(&job), over_100, "{ampere_hours}");
            assert_eq!(Concern::Over160Wh.known(&job), over_160, "{ampere_hours}");
            assert_eq!(Concern::Over160Wh.may_be(&job), over_160 != Some(false));
            assert_eq!(Concern::Over160Wh.is(&job), over_160 == Some(true));
        }
        assert_eq!(over(Some([100.0, 100.0]), 100.0), Some(false));
        assert_eq!(over(Some([100.1, 120.0]), 100.0), Some(true));
        let bare = longtail().build(&[("pack", "none")]).job;
        assert_eq!(Concern::Over100Wh.known(&bare), None);
    }

    #[test]
    fn each_condition_is_said_by_the_class_or_the_place_of_the_motor() {
        let job = |class: &str, age: &str, place: &str| {
            let mut job = trekking().state(&[("ride-class", class), ("rider-age", age)]).job;
            let attributes = &mut job.build.get_mut(&Slot::Motor).unwrap().part.attributes;
            attributes.insert("place".into(), Value::Word(place.into()));
            job
        };
        use Concern::{
            Any, Assisted, California, EuOrGb, Europe, FrontHubSteel, Hub, Mid, NewYork, NoClass, Pedalled,
            Private, Road, UnitedStates, Walk, Young,
        };
        let known = |job: &Job| -> Vec<Concern> {
            let of = [
                Any,
                NoClass,
                Europe,
                EuOrGb,
                UnitedStates,
                California,
                NewYork,
                Assisted,
                Walk,
                Pedalled,
                Road,
                Private,
                Hub,
                FrontHubSteel,
                Mid,
                Young,
            ];
            of.into_iter().filter(|concern| concern.is(job)).collect()
        };
        assert_eq!(
            known(&job("eu-epac", "40", "rear-hub")),
            [Any, Europe, EuOrGb, Assisted, Walk, Pedalled, Road, Hub]
        );
        // The demo's trekking bicycle has a fork of steel.
        assert_eq!(
            known(&job("gb-eapc", "13", "front-hub")),
            [
                Any,
                Europe,
                EuOrGb,
                Assisted,
                Walk,
                Pedalled,
                Road,
                Hub,
                FrontHubSteel,
                Young
            ]
        );
        assert_eq!(
            known(&job("gb-eapc", "14", "front-hub")),
            [
                Any,
                Europe,
                EuOrGb,
                Assisted,
                Walk,
                Pedalled,
                Road,
                Hub,
                FrontHubSteel
            ]
        );
        assert_eq!(
            known(&job("ch-slow", "40", "mid")),
            [Any, Europe, Assisted, Road, Mid]
        );
        assert_eq!(
            known(&job("us-class1", "40", "mid")),
            [Any, UnitedStates, Pedalled, Road, Mid]
        );
        assert_eq!(
            known(&job("us-ca-class1", "40", "mid")),
            [Any, UnitedStates, California, Pedalled, Road, Mid]
        );
        assert_eq!(known(&job("generic-private", "40", "mid")), [Any, Private, Mid]);
        let mut unclassed = job("eu-epac", "40", "mid");
        unclassed.facts.remove("ride-class");
        assert_eq!(known(&unclassed), [Any, NoClass, Mid]);
        // A class of no State may be ridden in either; one of another State may not.
        let may_be = |class: &str| [California, NewYork].map(|state| state.may_be(&job(class, "40", "mid")));
        assert_eq!(may_be("us-class1"), [true, true]);
        assert_eq!(may_be("us-ca-class3"), [true, false]);
        assert_eq!(may_be("us-ny-class3"), [false, true]);
        assert_eq!(may_be("eu-epac"), [false, false]);
        for (word, concern) in Concern::WORDS {
            assert_eq!(Concern::from_word(word), Some(concern));
        }
        assert_eq!(Concern::from_word("nobody"), None);
    }

    /// EN 15194, scope: 48 V. 13 cells of 3.2 to 3.7 V are 41.6 to 48.1 V, 12 cells at most 44.4 V, 16 at least
    /// 51.2 V.
    #[test]
    fn a_pack_over_the_standard_s_volts_concerns_its_classes_alone() {
        let job = |class: &str, cells: f64| {
            let mut job = trekking().state(&[("ride-class", class)]).job;
            let attributes = &mut job.build.get_mut(&Slot::Pack).unwrap().part.attributes;
            attributes.insert("series".into(), Value::Number(cells));
            Concern::AssistedOver48V.known(&job)
        };
        assert_eq!(job("eu-epac", 12.0), Some(false));
        assert_eq!(job("eu-epac", 13.0), None);
        assert_eq!(job("eu-epac", 16.0), Some(true));
        assert_eq!(job("us-class1", 16.0), Some(false));
    }

    /// The fork and the frame say whether carbon or a light fork holds the motor.
    #[test]
    fn what_holds_the_motor_settles_what_is_said_of_it() {
        let job = |place: &str, fork: &str, frame: &str| {
            let mut job = trekking()
                .state(&[("fork-kind", fork), ("frame-material", frame)])
                .job;
            let attributes = &mut job.build.get_mut(&Slot::Motor).unwrap().part.attributes;
            attributes.insert("place".into(), Value::Word(place.into()));
            [Concern::FrontHubLight, Concern::FrontHubSteel, Concern::Carbon].map(|concern| concern.is(&job))
        };
        assert_eq!(job("front-hub", "suspension", "steel"), [true, false, false]);
        assert_eq!(job("front-hub", "steel-rigid", "carbon"), [false, true, false]);
        assert_eq!(job("front-hub", "carbon", "steel"), [false, false, true]);
        assert_eq!(job("mid", "carbon", "carbon"), [false, false, true]);
        assert_eq!(job("rear-hub", "carbon", "aluminium"), [false, false, false]);
    }
}
