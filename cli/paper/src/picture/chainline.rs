//! The chainline seen from above, to scale.

use std::fmt::Write as _;

use lockring_proto::v1::ChainlineReply;

use super::picture;
use crate::model::Picture;

/// Units of the drawing in a millimetre across the bicycle.
const ACROSS: f64 = 12.0;
/// Room above and below.
const EDGE: f64 = 60.0;

/// Measures of a drawing. Along the bicycle it is shortened: angles are written, not to be measured off.
struct View {
    /// Room to the left, for the scale.
    left: f64,
    /// Length of the chain stay.
    along: f64,
    /// Room to the right, for teeth and angle.
    right: f64,
    /// Size of type.
    type_size: u8,
}

const WIDE: View = View {
    left: 80.0,
    along: 520.0,
    right: 200.0,
    type_size: 15,
};
const NARROW: View = View {
    left: 52.0,
    along: 180.0,
    right: 128.0,
    type_size: 12,
};

/// The chainring and every cog at their distance from the frame's centre plane, with the chain's
/// angle at each cog. Distances across are to scale; the scale stands in the drawing.
pub fn chainline(reply: &ChainlineReply) -> Picture {
    let (wide, aspect) = drawn(reply, &WIDE);
    let (narrow, _) = drawn(reply, &NARROW);
    picture("Chainline from above", [&wide, &narrow], told(reply), aspect)
}

fn drawn(reply: &ChainlineReply, view: &View) -> (String, f32) {
    let lines: Vec<f64> = reply
        .cogs
        .iter()
        .map(|cog| cog.line_mm)
        .chain([reply.front_mm])
        .collect();
    let low = lines.iter().copied().fold(f64::INFINITY, f64::min).floor() - 3.0;
    let high = lines.iter().copied().fold(f64::NEG_INFINITY, f64::max).ceil() + 3.0;
    let height = (high - low).mul_add(ACROSS, 2.0 * EDGE);
    let width = view.left + view.along + view.right;
    let y = |mm: f64| (high - mm).mul_add(ACROSS, EDGE);
    let (front, rear) = (view.left, view.left + view.along);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" data-across=\"{ACROSS}\" \
         font-family=\"DejaVu Sans, sans-serif\" font-size=\"{}\" fill=\"#111\" stroke=\"none\">",
        view.type_size
    );
    let mut draw = |line: std::fmt::Arguments<'_>| {
        svg.write_fmt(line)
            .expect("a string takes all that is written to it");
    };
    // The scale: every 5 mm, outboard upwards.
    let first = (low / 5.0).ceil() as i32 * 5;
    for mm in (first..).step_by(5).take_while(|mm| f64::from(*mm) <= high) {
        let at = y(mm.into());
        draw(format_args!(
            "<line x1=\"{front}\" x2=\"{rear}\" y1=\"{at:.1}\" y2=\"{at:.1}\" stroke=\"#ccc\" stroke-width=\"1\"/>\
             <text x=\"4\" y=\"{:.1}\" fill=\"#444\">{mm} mm</text>",
            at + 4.0
        ));
    }
    draw(format_args!(
        "<text x=\"4\" y=\"16\">from the frame's middle, mm; drive side up</text>\
         <text x=\"4\" y=\"{:.1}\">across to scale, along the bicycle shortened</text>",
        height - 10.0
    ));
    let ring = y(reply.front_mm);
    for cog in &reply.cogs {
        let at = y(cog.line_mm);
        let tone = if cog.angle_deg.abs() > 2.0 { "4 3" } else { "none" };
        draw(format_args!(
            "<line x1=\"{front}\" x2=\"{rear}\" y1=\"{ring:.2}\" y2=\"{at:.2}\" stroke=\"#555\" stroke-width=\"1.4\" stroke-dasharray=\"{tone}\"/>\
             <rect class=\"cog\" data-teeth=\"{}\" x=\"{:.1}\" y=\"{:.2}\" width=\"26\" height=\"6\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\">{} T {:+.1}°</text>",
            cog.teeth,
            rear - 4.0,
            at - 3.0,
            rear + 30.0,
            at + 4.5,
            cog.teeth,
            cog.angle_deg
        ));
    }
    draw(format_args!(
        "<rect class=\"ring\" x=\"{:.1}\" y=\"{:.2}\" width=\"34\" height=\"8\"/>\
         <text x=\"4\" y=\"36\">left: ring {} T at {:.1} mm, right: cogs</text></svg>",
        front - 6.0,
        ring - 4.0,
        reply.ring_teeth,
        reply.front_mm
    ));
    (svg, (width / height) as f32)
}

fn told(reply: &ChainlineReply) -> String {
    let worst = reply
        .cogs
        .iter()
        .max_by(|one, other| one.angle_deg.abs().total_cmp(&other.angle_deg.abs()));
    format!(
        "Chainline from above: ring at {:.1} mm, cogs at {}; largest angle {}. Dashed: over 2 degrees.",
        reply.front_mm,
        reply
            .cogs
            .iter()
            .map(|cog| format!("{}T {:.1} mm", cog.teeth, cog.line_mm))
            .collect::<Vec<_>>()
            .join(", "),
        worst.map_or_else(
            || "none".to_owned(),
            |cog| format!("{:+.1}° at {}T", cog.angle_deg, cog.teeth)
        ),
    )
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::CogLine;

    use super::*;

    /// The number in an attribute, after a mark.
    fn after(text: &str, key: &str) -> f64 {
        let at = text.find(key).unwrap() + key.len();
        text[at..].split('"').next().unwrap().parse().unwrap()
    }

    fn reply() -> ChainlineReply {
        let lines = [36.2, 39.85, 43.5, 47.15, 50.8];
        ChainlineReply {
            ring_teeth: 38,
            front_mm: 49.3,
            cogs: (0..)
                .zip(lines)
                .map(|(at, line_mm)| CogLine {
                    teeth: 34 - 5 * at,
                    line_mm,
                    offset_mm: 49.3 - line_mm,
                    angle_deg: 0.1 * f64::from(at),
                })
                .collect(),
            ..ChainlineReply::default()
        }
    }

    #[test]
    fn every_distance_is_to_scale() {
        let reply = reply();
        let picture = chainline(&reply);
        let across = after(&picture.svg, "data-across=\"");
        let ring = after(picture.svg.split("class=\"ring\"").nth(1).unwrap(), " y=\"") + 4.0;
        let cogs: Vec<f64> = picture
            .svg
            .split("class=\"cog\"")
            .skip(1)
            .map(|piece| after(piece, " y=\"") + 3.0)
            .collect();
        assert_eq!(cogs.len(), 5);
        for (cog, line) in reply.cogs.iter().zip(cogs) {
            // Outboard is up: a cog inboard of the ring lies below it.
            let offset = (line - ring) / across;
            assert!((offset - cog.offset_mm).abs() < 0.1, "{offset} {cog:?}");
        }
    }

    #[test]
    fn it_is_told_to_those_who_cannot_see_it() {
        let picture = chainline(&reply());
        assert!(picture.text.contains("ring at 49.3 mm") && picture.text.contains("34T 36.2 mm"));
        assert!(picture.svg.contains("aria-label=\"Chainline from above"));
    }
}
