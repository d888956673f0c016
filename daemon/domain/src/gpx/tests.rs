//! GPX as recorders write it, and as nobody should.

use super::*;
use lockring_calc::trace::Recipe;

const TOWN: &str = include_str!("../../../../tests/reference/gpx/town.gpx");

fn points(count: usize) -> String {
    (0..count)
        .map(|index| point_at(50.0 + 0.0001 * index as f64, "<ele>100</ele>"))
        .collect()
}

fn point_at(latitude: f64, inside: &str) -> String {
    format!("<trkpt lat=\"{latitude:.5}\" lon=\"8.60000\">{inside}</trkpt>\n")
}

fn track(inside: &str) -> String {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\"><trk><name>way</name><trkseg>\n{inside}</trkseg></trk></gpx>"
    )
}

fn of(text: &str) -> Recorded {
    read("way.gpx", text.as_bytes()).unwrap()
}

fn refused(content: &[u8]) -> String {
    let refusal = read("way.gpx", content).unwrap_err();
    assert_eq!(refusal.reason, Reason::BadInput);
    assert!(
        refusal.message.starts_with("way.gpx: ") && refusal.message.contains("for example"),
        "{}",
        refusal.message
    );
    refusal.message
}

#[test]
fn a_recorded_track_is_read_whole() {
    // Length by a geodesic code, climbing by the same recipe: see the reference's own notes.
    let town = of(TOWN);
    assert_eq!(town.name, "town");
    assert!((town.road.length().as_metres() - 7_594.681_721).abs() < 1e-3);
    let climb = town.road.climb(Recipe::Raw).unwrap();
    assert!((climb.ascent.as_metres() - 30.2).abs() < 1.1e-3);
    assert_eq!(town.mended, Vec::<String>::new());
}

#[test]
fn extensions_namespaces_comments_and_cdata_do_no_harm() {
    let dressed = "<?xml version=\"1.0\"?><!-- note --><g:gpx xmlns:g=\"http://www.topografix.com/GPX/1/1\" xmlns:x=\"urn:x\">
        <g:metadata><g:name>file</g:name></g:metadata><g:wpt lat=\"1\" lon=\"2\"><g:name>shop</g:name></g:wpt>
        <g:trk><g:name><![CDATA[way & back]]></g:name><g:trkseg>
        <g:trkpt lat=\"50.0\" lon=\"8.6\"><g:ele><![CDATA[100]]></g:ele><g:extensions><x:ele>9</x:ele><x:power>180</x:power></g:extensions></g:trkpt>
        <g:trkpt lon='8.6' lat='50.001'><g:ele>110</g:ele></g:trkpt></g:trkseg></g:trk></g:gpx>";
    let read = of(dressed);
    assert!((read.road.climb(Recipe::Raw).unwrap().ascent.as_metres() - 10.0).abs() < 1e-9);
    assert!(read.mended.is_empty(), "{:?}", read.mended);
}

#[test]
fn a_byte_order_mark_and_an_old_version_are_read() {
    let old = format!(
        "\u{feff}<gpx version=\"1.0\"><trk><trkseg>{}</trkseg></trk></gpx>",
        points(3)
    );
    assert!(of(&old).road.length().as_metres() > 20.0);
}

#[test]
fn a_route_stands_in_for_a_track_and_says_so() {
    let route = points(3).replace("trkpt", "rtept");
    let read = of(&format!("<gpx><rte><name>plan</name>{route}</rte></gpx>"));
    assert_eq!(read.name, "plan");
    assert!(read.mended[0].contains("planned route"), "{:?}", read.mended);
}

#[test]
fn a_file_that_breaks_off_keeps_its_beginning() {
    let whole = track(&points(10));
    for cut in ["<trkpt lat=\"50.00070\"", "</trkseg>"] {
        let broken = &whole[..whole.find(cut).unwrap() + 8];
        let read = of(broken);
        assert!(
            read.mended
                .iter()
                .any(|line| line.contains("breaks off after point")),
            "{:?}",
            read.mended
        );
        assert!(read.road.length().as_metres() > 50.0);
    }
    let muddled = whole.replace("</trkseg>", "</trk>");
    assert!(of(&muddled).mended.iter().any(|line| line.contains("breaks off")));
}

#[test]
fn what_is_mended_is_counted() {
    let mixed = [
        point_at(50.0, "<ele>100</ele><time>2026-05-01T10:00:10Z</time>"),
        point_at(50.001, "<ele>NaN</ele><time>2026-05-01T10:00:05Z</time>"),
        point_at(91.0, "<ele>100</ele>"),
        point_at(50.002, "<ele>inf</ele><time>not a time</time>"),
        point_at(50.003, "<ele>120</ele><time>2026-05-01T10:00:20Z</time>"),
        "<trkpt lat=\"x\" lon=\"8.6\"/><trkpt lon=\"8.6\"/>".to_owned(),
    ]
    .concat();
    let read = of(&track(&mixed));
    let told = read.mended.join("\n");
    for part in [
        "3 of 7 points",
        "backwards at 1 points",
        "2 points without a usable height",
    ] {
        assert!(told.contains(part), "{told}");
    }
    let level = of(&track(&points(4).replace("<ele>100</ele>", "")));
    assert!(level.mended[0].contains("taken as level"), "{:?}", level.mended);
}

#[test]
fn gaps_between_segments_are_told() {
    let parts = |from: f64| {
        let second: String = (0..3)
            .map(|index| point_at(from + 0.0001 * f64::from(index), "<ele>100</ele>"))
            .collect();
        track(&format!("{}</trkseg><trkseg>{second}", points(3)))
    };
    assert!(of(&parts(50.0005)).mended[0].contains("taken as ridden"));
    let far = of(&parts(50.1));
    assert!(
        far.mended[0].contains("11.1 km together: left out"),
        "{:?}",
        far.mended
    );
}

#[test]
fn hostile_and_empty_files_are_refused_with_an_example() {
    let entity =
        "<!DOCTYPE gpx [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;\">]><gpx><trk><trkseg></trkseg></trk></gpx>";
    let latin = track(&points(3)).replace("UTF-8", "ISO-8859-1");
    let only_waypoints = "<gpx><wpt lat=\"1\" lon=\"2\"/><wpt lat=\"1\" lon=\"3\"/></gpx>";
    for (content, words) in [
        (entity, "document type"),
        (latin.as_str(), "encoding is ISO-8859-1"),
        (only_waypoints, "2 waypoints and no track"),
        ("<gpx></gpx>", "no track"),
        ("", "no track"),
        ("{\"type\": \"ride\"}", "no track"),
        ("<gpx><trk><trkseg><trkpt lat=", "cannot be read"),
        (track(&points(1)).as_str(), "fewer than two points"),
        (track(&points(1).repeat(5)).as_str(), "fewer than two points"),
        (
            track(&points(3).replace("50.000", "91.000")).as_str(),
            "none of its 3 points",
        ),
    ] {
        let message = refused(content.as_bytes());
        assert!(message.contains(words), "{words}: {message}");
    }
    assert!(refused(&[0xff, 0xfe, 0x00, 0x3c, 0x00]).contains("way.gpx"));
    assert!(refused(&vec![b' '; MOST_BYTES + 1]).contains("bytes are more than"));
}

#[test]
fn more_points_than_a_ride_has_are_refused_before_they_fill_the_memory() {
    let many = "<trkpt lat=\"50\" lon=\"8\"/>".repeat(MOST_POINTS + 1);
    assert!(refused(track(&many).as_bytes()).contains("more than 500000 points"));
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(200))]

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..400)) {
        drop(read("x.gpx", &bytes));
    }

    #[test]
    fn no_damage_to_a_real_file_makes_it_panic(
        at in 0usize..6000, byte in proptest::prelude::any::<u8>(), cut in 0usize..6000, repeat in 0usize..3,
    ) {
        let mut bytes = TOWN.as_bytes()[..6000].to_vec();
        bytes[at] = byte;
        let tail = bytes[cut..].to_vec();
        for _ in 0..repeat {
            bytes.extend(&tail);
        }
        bytes.truncate(6000 + cut);
        drop(read("x.gpx", &bytes));
    }
}
