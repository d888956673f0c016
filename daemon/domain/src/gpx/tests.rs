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

/// Ten metres and more up between two points, by the second one's inside.
fn climbed(first: &str, second: &str) -> f64 {
    let read = of(&track(
        &[point_at(50.0, first), point_at(50.001, second)].concat(),
    ));
    read.road.climb(Recipe::Raw).unwrap().ascent.as_metres()
}

#[test]
fn the_road_s_name_is_its_own_and_nobody_else_s() {
    let dressed = track(&points(3)).replace(
        "<trk>",
        "<metadata><name>file</name><author><name>somebody</name></author></metadata>\
         <wpt lat=\"1\" lon=\"2\"><name>shop</name></wpt><trk><link><text>link</text></link>",
    );
    assert_eq!(of(&dressed).name, "way");
    assert_eq!(of(&dressed.replace("<name>way</name>", "")).name, "");
    let spelled = dressed.replace("way", "way &amp; <![CDATA[<back>]]> &#8594;");
    assert_eq!(of(&spelled).name, "way & <back> →");
    let second = dressed.replace("</gpx>", "<trk><name>other</name></trk></gpx>");
    assert_eq!(of(&second).name, "way");
}

#[test]
fn a_height_is_read_whole_or_not_at_all() {
    for (written, metres) in [
        ("1&#48;0", 0.0),
        ("1<![CDATA[1]]>0", 10.0),
        (" 1&#x31;<!-- -->0.5\n", 10.5),
        ("1.5e2", 50.0),
        ("1<b>9</b>10", 10.0),
        // Missing, so that of the neighbour.
        ("1&lots;10", 0.0),
        ("1<b>1</b>0x", 0.0),
        ("110 m", 0.0),
        ("", 0.0),
    ] {
        let up = climbed("<ele>100</ele>", &format!("<ele>{written}</ele>"));
        assert!((up - metres).abs() < 1e-9, "{written}: {up}");
    }
    let long = format!("<ele>110{}</ele>", " ".repeat(1_000_000));
    assert!((climbed("<ele>100</ele>", &long) - 10.0).abs() < 1e-9);
}

#[test]
fn elements_of_others_are_stepped_over_whatever_their_names() {
    let strange = "<ele>100</ele><extensions><trkpt lat=\"1\" lon=\"1\"/><ele>900</ele><trkseg><x/></trkseg></extensions>\
        <x:ele xmlns:x=\"urn:x\">900</x:ele><x:trkpt xmlns:x=\"urn:x\" lat=\"1\" lon=\"1\"><ele>900</ele></x:trkpt>";
    let up = climbed(strange, "<ele>110</ele>");
    assert!((up - 10.0).abs() < 1e-9, "{up}");
}

#[test]
fn points_without_a_segment_are_points_of_their_track() {
    let second: String = (4..7)
        .map(|index| point_at(50.0 + 0.0001 * f64::from(index), "<ele>100</ele>"))
        .collect();
    for between in [
        "",
        "<trkseg>",
        "</trk><trk>",
        "</trk><rte><rtept lat=\"9\" lon=\"9\"/></rte><trk>",
    ] {
        let end = if between == "<trkseg>" { "</trkseg>" } else { "" };
        let read = of(&format!(
            "<gpx><trk>{}{between}{second}{end}</trk></gpx>",
            points(3)
        ));
        // Six steps of 11.12 m (111.23 km a degree at 50 degrees north).
        assert!((read.road.length().as_metres() - 66.74).abs() < 0.01, "{between}");
        assert_eq!(
            read.mended.len(),
            usize::from(!between.is_empty()),
            "{:?}",
            read.mended
        );
    }
}

#[test]
fn a_route_that_breaks_off_is_still_a_route() {
    let route = format!(
        "<gpx><rte><name>plan</name>{}",
        points(3).replace("trkpt", "rtept")
    );
    let read = of(&route);
    assert_eq!(read.name, "plan");
    assert!(
        read.mended[0].contains("breaks off after point 3"),
        "{:?}",
        read.mended
    );
    assert!(read.mended[1].contains("planned route"), "{:?}", read.mended);
    let begun = of(&format!("{route}<rtept lat=\"50.1\" lon=\"8.6\"><ele>1"));
    assert!(
        begun.mended[0].contains("breaks off after point 3"),
        "{:?}",
        begun.mended
    );
    assert_eq!(begun.road, read.road);
}

#[test]
fn what_stands_after_the_end_is_told() {
    let once = track(&points(3));
    for after in ["</gpx>", "rubbish", once.as_str()] {
        let read = of(&format!("{once}\n{after}"));
        assert_eq!(read.road, of(&once).road);
        assert!(read.mended[0].contains("after the end"), "{:?}", read.mended);
    }
    assert!(of(&format!("{once}\n \t\n")).mended.is_empty());
}

#[test]
fn a_recorder_without_sky_adds_no_road() {
    let far = |place: &str| {
        let later: String = (3..6)
            .map(|index| point_at(50.0 + 0.0001 * f64::from(index), "<ele>100</ele>"))
            .collect();
        track(&format!("{}{place}{later}", points(3)))
    };
    let whole = of(&track(&points(6))).road.length();
    for (place, told) in [
        (
            "<trkpt lat=\"0\" lon=\"-0.0\"/>",
            "point 4 has lat `0` and lon `-0.0`",
        ),
        (
            "<trkpt lat=\"50,1\" lon=\"8.6\"/>",
            "point 4 has lat `50,1` and lon `8.6`",
        ),
        ("<trkpt lon=\"8.6\"/>", "point 4 has lat none and lon `8.6`"),
        (
            "<trkpt lat=\"51\" lon=\"8.6\"/>",
            "1 point more than 20 km off the track",
        ),
    ] {
        let read = of(&far(place));
        assert!((read.road.length() - whole).abs().as_metres() < 1e-6, "{place}");
        assert!(
            read.mended.len() == 1 && read.mended[0].contains(told),
            "{place}: {:?}",
            read.mended
        );
    }
    // Zero alone is a place: the equator, or the meridian of Greenwich.
    for place in ["lat=\"0\" lon=\"8\"", "lat=\"51\" lon=\"0\""] {
        let near = place.replacen("\" lon", ".001\" lon", 1);
        let read = of(&track(&format!("<trkpt {place}/><trkpt {near}/>")));
        assert!(
            read.road.length().as_metres() > 100.0 && read.mended.len() == 1,
            "{:?}",
            read.mended
        );
    }
    // A planned route goes where it is told.
    let route =
        format!("<gpx><rte>{}</rte></gpx>", far("<trkpt lat=\"51\" lon=\"8.6\"/>")).replace("trkpt", "rtept");
    let points = &route[route.find("<rtept").unwrap()..route.rfind("</rtept>").unwrap() + 8];
    let planned = of(&format!("<gpx><rte>{points}</rte></gpx>"));
    assert!(planned.road.length().as_kilometres() > 200.0);
    assert!(
        planned
            .mended
            .iter()
            .any(|line| line.contains("more than 1 km away")),
        "{:?}",
        planned.mended
    );
}

#[test]
fn files_of_other_kinds_are_called_by_their_kind() {
    let wide = |text: &str| -> Vec<u16> { text.encode_utf16().collect() };
    let little = |text: &str| -> Vec<u8> { wide(text).into_iter().flat_map(u16::to_le_bytes).collect() };
    let big = |text: &str| -> Vec<u8> { wide(text).into_iter().flat_map(u16::to_be_bytes).collect() };
    for (content, words) in [
        (little("\u{feff}<gpx/>"), "text in UTF-16"),
        (little("<gpx/>"), "text in UTF-16"),
        (big("\u{feff}<gpx/>"), "text in UTF-16"),
        (big("<gpx/>"), "text in UTF-16"),
        (b"PK\x03\x04\x14\x00".to_vec(), "a packed file"),
        (b"\x1f\x8b\x08".to_vec(), "a packed file"),
        (
            b"\x0e\x10\xd9\x07\x00\x00\x00\x00.FIT\x00\x00".to_vec(),
            "a FIT file",
        ),
        (
            b"<?xml version=\"1.0\"?><kml><Document/></kml>".to_vec(),
            "first element is <kml>",
        ),
        (
            format!("<{}/>", "k".repeat(5_000_000)).into_bytes(),
            "<kkkkkkkkkkkkkkkkkkkkkkkk…>",
        ),
        (
            format!("<x><gpx>{}</gpx></x>", track(&points(3))).into_bytes(),
            "first element is <x>",
        ),
        ("<a>".repeat(1_000_000).into_bytes(), "first element is <a>"),
        (
            format!("<gpx>{}", "<a>".repeat(1_000_000)).into_bytes(),
            "cannot be read",
        ),
    ] {
        let message = refused(&content);
        assert!(
            message.contains(words) && message.len() < 400,
            "{words}: {message}"
        );
    }
}

#[test]
fn what_the_file_says_is_quoted_by_its_beginning() {
    let torn = format!("<gpx><trk></{}\n>", "x".repeat(1_000_000));
    let message = refused(torn.as_bytes());
    assert!(
        message.contains("xxx…") && message.len() < 400 && !message.contains('\n'),
        "{message}"
    );
    for (letters, shown) in [
        (24, "<kkkkkkkkkkkkkkkkkkkkkkkk>"),
        (25, "<kkkkkkkkkkkkkkkkkkkkkkkk…>"),
    ] {
        let message = refused(format!("<{}/>", "k".repeat(letters)).as_bytes());
        assert!(message.contains(shown), "{message}");
    }
}

#[test]
fn attributes_of_any_size_and_number_are_no_burden() {
    let many: String = (0..200_000).map(|index| format!(" a{index}=\"1\"")).collect();
    let huge = "5".repeat(5_000_000);
    let read = of(&track(&format!(
        "{}<trkpt{many} lat=\"50.001\" lon=\"8.6\"/><trkpt lat=\"{huge}\" lon=\"8.6\"/>",
        points(3)
    )));
    let told = read.mended.join("\n");
    assert!(
        told.contains("1 of 5 points") && told.contains("`555555555555555555555555…`"),
        "{told}"
    );
    assert!(told.len() < 400);
}

#[test]
fn leaps_about_the_earth_are_no_ride() {
    let leaps = "<trkpt lat=\"89\" lon=\"8\"/><trkpt lat=\"-89\" lon=\"8\"/>".repeat(5_000);
    let message = refused(track(&leaps).as_bytes());
    assert!(
        message.contains("km long") && message.contains("at most 2000 km"),
        "{message}"
    );
}

#[test]
fn the_bounds_are_where_they_are_told() {
    let many = |count: usize| track(&"<trkpt lat=\"50\" lon=\"8\"/>".repeat(count));
    assert!(refused(many(MOST_POINTS).as_bytes()).contains("fewer than two points"));
    let mut large = track(&points(3)).into_bytes();
    large.resize(MOST_BYTES, b'\n');
    assert!(read("way.gpx", &large).unwrap().mended.is_empty());
    let two = track(&points(2));
    let torn = &two[..two.rfind("</trkpt>").unwrap() + 9];
    assert!(of(torn).mended[0].contains("breaks off after point 2"));
    assert!(refused(&torn.as_bytes()[..torn.len() - 9]).contains("cannot be read"));
    // The same second twice is no clock running backwards.
    let time = "<time>2026-05-01T10:00:10Z</time>";
    let twice = [point_at(50.0, time), point_at(50.001, time)].concat();
    assert_eq!(of(&track(&twice)).mended.len(), 1);
    // A name is short, whatever the file says.
    let scrap = "<![CDATA[".to_owned() + &"n".repeat(150) + "]]>";
    let named = track(&points(3)).replace("way", &scrap.repeat(10_000));
    assert_eq!(of(&named).name.len(), 300);
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(200))]

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..400)) {
        check_whatever_is_read(&bytes)?;
    }

    #[test]
    fn no_damage_to_a_real_file_makes_it_panic_or_its_road_impossible(
        damage in proptest::collection::vec((0usize..3000, 0usize..3000, 0usize..SCRAPS.len() + 3, proptest::prelude::any::<u8>()), 1..12),
    ) {
        let mut bytes = TOWN.as_bytes()[..3000].to_vec();
        bytes.extend(b"</trkpt></trkseg></trk></gpx>");
        for (from, to, kind, byte) in damage {
            let (from, to) = (from.min(to).min(bytes.len()), from.max(to).min(bytes.len()));
            match kind.checked_sub(SCRAPS.len()) {
                None => drop(bytes.splice(from..from, SCRAPS[kind].bytes())),
                Some(0) => drop(bytes.splice(from..to.min(from + 1), [byte])),
                Some(1) => drop(bytes.drain(from..to)),
                Some(_) => drop(bytes.splice(from..from, bytes[from..to].to_vec())),
            }
            bytes.truncate(20_000);
        }
        check_whatever_is_read(&bytes)?;
    }
}

/// What a file may hold at the wrong place.
const SCRAPS: [&str; 22] = [
    "<trkpt lat=\"90\" lon=\"-180\">",
    "</trkpt>",
    "<trkseg>",
    "</trkseg>",
    "<trk/>",
    "<rte>",
    "<rtept lat=\"1e300\" lon=\"-inf\"/>",
    "<ele>",
    "</ele>",
    "<ele>NaN</ele>",
    "<ele>-1e308</ele>",
    "<time>9999-12-31T23:59:60Z</time>",
    "<time>-9999-01-01T00:00:00+25:59</time>",
    "</gpx>",
    "<![CDATA[",
    "]]>",
    "<!--",
    "<!DOCTYPE a [<!ENTITY b \"c\">]>",
    "&b;",
    "&#x110000;",
    "<?xml version=\"1.0\" encoding=\"EBCDIC\"?>",
    "\u{feff}",
];

/// A refusal is short and helpful; a road has a length and grades of this earth.
fn check_whatever_is_read(bytes: &[u8]) -> Result<(), proptest::test_runner::TestCaseError> {
    use lockring_calc::quantity::Length;
    match read("x.gpx", bytes) {
        Err(refusal) => {
            proptest::prop_assert!(refusal.message.len() < 600, "{}", refusal.message);
            proptest::prop_assert!(refusal.message.contains("expected"), "{}", refusal.message);
        }
        Ok(mut read) => {
            let length = read.road.length().as_kilometres();
            proptest::prop_assert!(length > 0.0 && length <= 2_000.0, "{}", length);
            let two = Length::metres(2.0);
            for recipe in [
                Recipe::Raw,
                Recipe::Band(two),
                Recipe::Turns(two),
                Recipe::Mean(5),
                Recipe::Every(Length::metres(10.0)),
            ] {
                let climb = read.road.climb(recipe).unwrap();
                proptest::prop_assert!(climb.ascent.si() >= 0.0 && climb.descent.si() >= 0.0);
                proptest::prop_assert!((climb.ascent + climb.descent).si().is_finite());
            }
            let legs = read
                .road
                .legs(Length::metres(10.0), Length::metres(60.0))
                .unwrap();
            let run: f64 = legs
                .iter()
                .map(|leg| leg.length.as_kilometres() * leg.grade.cos())
                .sum();
            proptest::prop_assert!((run - length).abs() <= 1e-9 * length, "{} {}", run, length);
            proptest::prop_assert!(legs.iter().all(|leg| leg.grade.as_ratio().abs() <= 0.35));
        }
    }
    Ok(())
}
