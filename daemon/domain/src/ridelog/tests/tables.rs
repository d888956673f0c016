//! Tables and markup: separators, units, times, damage.

use super::*;

fn speeds(text: &str) -> Vec<(f64, Option<f64>)> {
    read(text.as_bytes())
        .unwrap()
        .samples
        .iter()
        .map(|s| (s.time.si(), s.speed.map(Speed::si)))
        .collect()
}

#[test]
fn separators_decimal_commas_and_units() {
    assert_eq!(
        speeds("time_s,speed_kmh\n0,36\n1.5,18\n"),
        [(0.0, Some(10.0)), (1.5, Some(5.0))]
    );
    assert_eq!(
        speeds("Time (s);Speed (km/h)\r\n0;36,0\r\n1,5;18\r\n"),
        [(0.0, Some(10.0)), (1.5, Some(5.0))]
    );
    assert_eq!(
        speeds("time_s\tspeed\n0\t3\n2\t\n"),
        [(0.0, Some(3.0)), (2.0, None)]
    );
    // A byte order mark and blank lines in front do no harm.
    assert_eq!(speeds("\u{feff}\n time_s,speed\n0,3\n"), [(0.0, Some(3.0))]);
}

#[test]
fn moments_are_dates_or_seconds() {
    let began = |text: &str| read(text.as_bytes()).unwrap().began;
    assert_eq!(
        began("time,speed\n2001-01-01T01:00:00.5+01:00,3\n"),
        Some(978_307_200.5)
    );
    assert_eq!(
        began("timestamp,speed\n2001-01-01 00:00:00,3\n"),
        Some(978_307_200.0)
    );
    assert_eq!(began("time,speed\n978307200,3\n"), Some(978_307_200.0));
    assert_eq!(began("time_s,speed\n978307200,3\n"), None);
    assert_eq!(speeds("time_ms,speed\n0,1\n250,2\n")[1], (0.25, Some(2.0)));
}

#[test]
fn bad_cells_and_lines_are_counted() {
    let log = read(b"time_s,speed,power,speed_kmh,note\n0,x,90,1,a\nlunch,1,1,1,1\n2,-1,NaN,1,b\n2,1,1\n3\n")
        .unwrap();
    assert_eq!(log.samples.len(), 3);
    assert_eq!(log.samples[0].power.unwrap().si(), 90.0);
    assert_eq!(log.samples[2].speed, None);
    let said: Vec<String> = log.repairs.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "column `speed_kmh` says what another column said and was not read",
            "column `note` is not known and was not read",
            "2 samples without a time after the one before were left out",
            "2 figures of speed were no numbers from 0 to 50 m/s and were left out",
            "1 figures of power were no numbers from -5000 to 10000 W and were left out",
        ]
    );
}

#[test]
fn each_figure_is_believed_up_to_its_window_and_not_beyond() {
    for (name, column) in [
        ("speed", Column::Speed),
        ("power", Column::Power),
        ("motor_power", Column::MotorPower),
        ("altitude", Column::Altitude),
        ("distance", Column::Distance),
    ] {
        let (low, high, _) = column.window();
        let text = format!(
            "time_s,{name}\n0,{low}\n1,{high}\n2,{}\n3,{}\n",
            low - 0.001,
            high + 0.001
        );
        let log = read(text.as_bytes()).unwrap();
        assert_eq!(log.repairs, [Repair::Figures { column, count: 2 }], "{name}");
    }
}

#[test]
fn what_gives_no_ride_says_why() {
    assert_eq!(read(b""), Err(LogError::Empty));
    assert_eq!(read(b" \n\n"), Err(LogError::Empty));
    let no_times = read(b"speed,power\n1,2\n").unwrap_err().to_string();
    assert_eq!(
        no_times,
        "the table has no column of times; expected one named like `time_s`, `elapsed_s`, `time` or \
         `timestamp`; found speed, power"
    );
    assert_eq!(
        read(b"time_s,speed\n").unwrap_err(),
        LogError::NoSamples { repairs: vec![] }
    );
    assert_eq!(
        read(b"<?xml version='1.0'?><kml></kml>").unwrap_err().to_string(),
        "the file is markup, but neither TCX nor GPX: it begins with <kml>"
    );
    assert_eq!(read(b"<"), Err(LogError::OtherMarkup { root: String::new() }));
    let large = vec![b' '; MOST_BYTES + 1];
    assert_eq!(
        read(&large),
        Err(LogError::TooLarge {
            bytes: MOST_BYTES + 1
        })
    );
    assert_eq!(read(&large[1..]), Err(LogError::Empty));
}

#[test]
fn markup_cut_or_broken_gives_what_stands_before() {
    let whole = String::from_utf8(TCX.to_vec()).unwrap();
    let end = whole.match_indices("<Trackpoint>").nth(100).unwrap().0;
    let cut = read(&TCX[..end + 40]).unwrap();
    assert_eq!(cut.samples.len(), 100);
    assert!(matches!(
        cut.repairs[..],
        [Repair::Truncated { announced: None, .. } | Repair::Broken { .. }]
    ));
    let broken = whole.replacen(
        "</Trackpoint><Trackpoint>",
        "</Trackpoint></Wrong><Trackpoint>",
        1,
    );
    let log = read(broken.as_bytes()).unwrap();
    assert_eq!(log.samples.len(), 1);
    assert!(
        matches!(log.repairs[..], [Repair::Broken { .. }]),
        "{:?}",
        log.repairs
    );
}

#[test]
fn points_without_time_or_number_are_counted() {
    let log = read(
        b"<gpx><trk><trkseg><trkpt><ele>1</ele></trkpt>\
          <trkpt><ele>x</ele><time>2001-01-01T00:00:00Z</time><extensions><a:power>7</a:power></extensions></trkpt>\
          <trkpt><time>noon</time></trkpt></trkseg></trk></gpx>",
    )
    .unwrap();
    assert_eq!(log.samples.len(), 1);
    assert_eq!(log.samples[0].power.unwrap().si(), 7.0);
    let column = Column::Altitude;
    assert_eq!(
        log.repairs,
        [Repair::Times { samples: 2 }, Repair::Figures { column, count: 1 }]
    );
}

#[test]
fn no_entity_is_expanded() {
    let declared = b"<!DOCTYPE gpx [<!ENTITY a \"12\">]><gpx><trkpt><ele>&a;</ele></trkpt></gpx>";
    assert_eq!(read(declared), Err(LogError::DocumentType));
    let log = read(b"<gpx><trkpt><ele>&a;1</ele><time>2001-01-01T00:00:00Z</time></trkpt></gpx>").unwrap();
    assert_eq!(log.samples[0].altitude, None);
    let column = Column::Altitude;
    assert_eq!(log.repairs, [Repair::Figures { column, count: 1 }]);
}

#[test]
fn other_kinds_of_file_are_named() {
    let said = |bytes: &[u8]| read(bytes).unwrap_err().to_string();
    assert_eq!(
        said(b"PK\x03\x04ride"),
        "the file is a packed file; unpack it first"
    );
    assert_eq!(said(b"\xff\xfe<\0g\0"), "the file is text in UTF-16");
    assert_eq!(
        said(b"<?xml version='1.0' encoding='latin1'?><gpx></gpx>"),
        "the file's encoding is latin1; expected UTF-8"
    );
}
