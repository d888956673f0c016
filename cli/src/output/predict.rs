//! A forecast: answers with their spread, what matters, and the gears' curves.

use lockring_proto::v1::{ForecastAnswer, ForecastHeat, ForecastWish, GearCurve, PredictReply};

use crate::command_error::CommandError;
use crate::output::Out;
use crate::output::plot::{self, Across, Curve, Plot};
use crate::output::table::Table;

/// Signs of the gears' curves, smallest cog first.
const SIGNS: &str = "abcdefghijklmnop";
/// An input that explains less than this is not worth a word.
const WORTH_NAMING: f64 = 0.05;

/// Prints the answers, the doubts and the curves.
pub(crate) fn print(out: &mut Out<'_>, reply: &PredictReply) -> Result<(), CommandError> {
    out.heading(&format!(
        "Job {}, {}: forecast, {:.0} kg in all, {} draws, seed {}",
        reply.job, reply.rider, reply.gross_kg, reply.draws, reply.seed
    ))?;
    out.wrapped("assist ", "  ", &reply.assist)?;
    let mut table = Table::new(["", "calc", "10 %", "50 %", "90 %", "unit", "chance"]);
    for answer in &reply.answers {
        table.row([
            answer.name.clone().into(),
            figure(out, answer.best, &answer.unit).into(),
            figure(out, answer.p10, &answer.unit).into(),
            figure(out, answer.p50, &answer.unit).into(),
            figure(out, answer.p90, &answer.unit).into(),
            unit(out, &answer.unit).into(),
            answer
                .wish
                .as_ref()
                .map(|wish| chance(wish, &answer.unit))
                .unwrap_or_default()
                .into(),
        ]);
    }
    table.print(out)?;
    out.blank()?;
    out.heading("What decides")?;
    for answer in &reply.answers {
        out.wrapped("  ", "    ", &decides(answer))?;
    }
    out.blank()?;
    out.heading("What may be off")?;
    for doubt in &reply.doubts {
        out.wrapped("  ", "    ", &format!("{}: {}", doubt.name, doubt.said))?;
    }
    if let Some(heat) = &reply.heat {
        print_heat(out, heat, reply.hill_percent)?;
    }
    out.blank()?;
    let drawn = curves(out, reply);
    plot::print(out, &drawn)?;
    out.wrapped(
        "",
        "    ",
        "Predicted: road, rider and wind decide. Measure before you rely on it.",
    )
}

/// The worst hill's hold as a sentence; `None` where the brief has no hill, or the bicycle stalls on it.
fn reply_hold(heat: &ForecastHeat, hill: Option<f64>) -> Option<String> {
    let hill = hill?;
    let hold = heat
        .holds
        .iter()
        .min_by(|a, b| {
            (a.grade_percent - hill)
                .abs()
                .total_cmp(&(b.grade_percent - hill).abs())
        })
        .filter(|hold| (hold.grade_percent - hill).abs() < 0.05)?;
    let time = hold.minutes.map_or_else(
        || "for ever".to_owned(),
        |minutes| format!("for {minutes:.0} min"),
    );
    Some(format!(
        "holds {:.1} % {time} from cold at {:.0} C, at {:.1} km/h",
        hold.grade_percent, heat.air_c, hold.speed_kmh
    ))
}

fn print_heat(out: &mut Out<'_>, heat: &ForecastHeat, hill: Option<f64>) -> Result<(), CommandError> {
    out.blank()?;
    out.heading(&format!(
        "How long the motor holds a grade, from cold at {:.0} C to {:.0} C in its winding",
        heat.air_c, heat.limit_c
    ))?;
    if let Some(hold) = reply_hold(heat, hill) {
        out.wrapped("  ", "    ", &hold)?;
    }
    let wide = heat.holds.iter().map(|hold| hold.gear.len()).max().unwrap_or(0);
    for hold in &heat.holds {
        let time = hold
            .minutes
            .map_or_else(|| "for ever".to_owned(), |minutes| format!("{minutes:.1} min"));
        let (grade, speed, gear) = (hold.grade_percent, hold.speed_kmh, &hold.gear);
        if out.look.plain {
            out.line(format_args!(
                "grade {grade:.1} %: {time} at {speed:.1} km/h in {gear}"
            ))?;
        } else {
            out.line(format_args!(
                "  {grade:>5.1} %  {speed:>5.1} km/h  {gear:>wide$}  {time}"
            ))?;
        }
    }
    if heat.from_sheet {
        return Ok(());
    }
    out.wrapped(
        "  ",
        "  ",
        "the motor's sheet gives no heat paths: the shop's guess stands for them, and only the order of the times is sure",
    )
}

/// A figure of a forecast; its unit stands in a column of its own.
pub(crate) fn figure(out: &Out<'_>, value: Option<f64>, unit: &str) -> String {
    let shown = |value: f64| {
        let value = out.value(value, unit).0;
        format!("{value:.*}", digits(value))
    };
    value.map_or_else(|| "stalls".to_owned(), shown)
}

/// The unit of a forecast's figures.
pub(crate) fn unit(out: &Out<'_>, unit: &str) -> String {
    out.value(0.0, unit).1.to_owned()
}

/// Starts are small, speeds large.
fn digits(value: f64) -> usize {
    if value.abs() < 2.0 { 2 } else { 1 }
}

pub(crate) fn chance(wish: &ForecastWish, unit: &str) -> String {
    let word = if wish.below { "below" } else { "at least" };
    let limit = format!("{:.*} {unit}", digits(wish.limit), wish.limit);
    format!("{} {word} {limit} ({})", wish.said, wish.source)
}

pub(crate) fn decides(answer: &ForecastAnswer) -> String {
    let matters: Vec<String> = answer
        .matters
        .iter()
        .filter(|matter| matter.share >= WORTH_NAMING)
        .map(|matter| format!("{} {:.0} %", matter.name, 100.0 * matter.share))
        .collect();
    let held = match answer.held_by.as_str() {
        "" => String::new(),
        held => format!("held by {held}; "),
    };
    let spread = if matters.is_empty() {
        "nothing spreads it".to_owned()
    } else {
        matters.join(", ")
    };
    format!("{}: {held}{spread}", answer.name)
}

fn curves(out: &Out<'_>, reply: &PredictReply) -> Plot {
    let speed = |kmh: f64| out.value(kmh, "km/h").0;
    let unit = unit(out, "km/h");
    let drawn = reply.curves.iter().zip(SIGNS.chars());
    let curve = |(curve, sign): (&GearCurve, char)| Curve {
        sign,
        name: match curve.hub_gear {
            None => format!("{}/{}", reply.ring_teeth, curve.cog_teeth),
            Some(hub) => format!("{}/{} hub {}", reply.ring_teeth, curve.cog_teeth, hub.number),
        },
        points: curve
            .points
            .iter()
            .map(|point| (point.grade_percent, speed(point.speed_kmh)))
            .collect(),
    };
    Plot {
        axes: ("grade, %".into(), format!("speed with a full pack, {unit}")),
        curves: drawn.map(curve).collect(),
        across: reply.hill_wish_kmh.map(|wished| Across {
            at: speed(wished),
            name: format!("{:.1} {unit} asked for on the hill", speed(wished)),
        }),
    }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{CurvePoint, ForecastDoubt, ForecastMatter, GradeHold};

    use super::*;
    use crate::output::samples::{plain_text, text};

    fn reply() -> PredictReply {
        let answer = ForecastAnswer {
            name: "hill of 10.8 %, full pack".into(),
            unit: "km/h".into(),
            best: Some(10.2),
            p10: None,
            p50: Some(10.1),
            p90: Some(11.04),
            held_by: "torque".into(),
            wish: Some(ForecastWish {
                limit: 9.0,
                below: false,
                source: "brief".into(),
                probability: 0.93,
                said: "0.93".into(),
            }),
            matters: vec![
                ForecastMatter {
                    name: "motor's torque".into(),
                    share: 0.62,
                },
                ForecastMatter {
                    name: "drag of the air".into(),
                    share: 0.01,
                },
            ],
            for_rider: true,
        };
        let curve = |cog_teeth, speed_kmh| GearCurve {
            cog_teeth,
            hub_gear: None,
            points: vec![
                CurvePoint {
                    grade_percent: 0.0,
                    speed_kmh,
                },
                CurvePoint {
                    grade_percent: 10.0,
                    speed_kmh: speed_kmh / 3.0,
                },
            ],
        };
        PredictReply {
            job: 21,
            rider: "Tomas V.".into(),
            gross_kg: 190.2,
            ring_teeth: 38,
            draws: 500,
            seed: 1,
            answers: vec![answer],
            doubts: vec![ForecastDoubt {
                name: "drag of the air".into(),
                said: "within 20 % either way".into(),
            }],
            curves: vec![curve(11, 30.0), curve(36, 14.0)],
            hill_percent: Some(10.8),
            hill_wish_kmh: Some(9.0),
            assist: "low: torque sensor".into(),
            heat: Some(ForecastHeat {
                air_c: 25.0,
                limit_c: 110.0,
                from_sheet: false,
                holds: vec![
                    GradeHold {
                        grade_percent: 4.0,
                        speed_kmh: 21.0,
                        minutes: None,
                        gear: "42/15".into(),
                    },
                    GradeHold {
                        grade_percent: 10.8,
                        speed_kmh: 10.2,
                        minutes: Some(6.04),
                        gear: "42/34".into(),
                    },
                ],
            }),
        }
    }

    #[test]
    fn an_answer_has_its_spread_its_chance_and_what_decides() {
        let shown = text(100, |out| print(out, &reply()));
        let row = shown.lines().find(|line| line.starts_with("hill of")).unwrap();
        for part in [
            "10.2",
            "stalls",
            "10.1",
            "11.0",
            "km/h",
            "0.93 at least 9.0 km/h (brief)",
        ] {
            assert!(row.contains(part), "{part}: {row}");
        }
        assert!(shown.contains("held by torque; motor's torque 62 %\n"), "{shown}");
        assert!(
            shown.contains("drag of the air: within 20 % either way\n"),
            "{shown}"
        );
        assert!(
            shown.contains("holds 10.8 % for 6 min from cold at 25 C, at 10.2 km/h\n"),
            "{shown}"
        );
        assert!(shown.contains("\nassist low: torque sensor\n"), "{shown}");
        assert!(
            shown.contains("a 38/11, b 38/36, - 9.0 km/h asked for on the hill"),
            "{shown}"
        );
        assert!(
            text(80, |out| print(out, &reply()))
                .lines()
                .all(|line| line.chars().count() <= 80)
        );
    }

    #[test]
    fn it_reads_aloud_without_tables() {
        let shown = plain_text(|out| print(out, &reply()));
        assert!(shown.contains("38/36: at 0 14, at 10 4.7"), "{shown}");
    }
}
