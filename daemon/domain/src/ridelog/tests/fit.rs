//! FIT: the damaged copies, and files made here for what the reference ride does not hold.

use super::*;
use crate::ridelog::crc::crc16;

const TRUNCATED: &[u8] = include_bytes!("../../../../../tests/reference/ride_files/ride_truncated.fit");
const BAD_SUM: &[u8] = include_bytes!("../../../../../tests/reference/ride_files/ride_badcrc.fit");
const BAD_STREAM: &[u8] = include_bytes!("../../../../../tests/reference/ride_files/ride_badstream.fit");

/// The samples a damaged copy shares with the whole ride.
fn shared(damaged: &Log) -> usize {
    let whole = read(FIT).unwrap();
    damaged
        .samples
        .iter()
        .filter(|s| whole.samples.contains(s))
        .count()
}

#[test]
fn a_truncated_file_gives_what_the_best_reader_gets() {
    // Best of four readers: 1201 records.
    let log = read(TRUNCATED).unwrap();
    assert_eq!((log.samples.len(), shared(&log)), (1201, 1201));
    assert_eq!(
        log.repairs,
        [Repair::Truncated {
            bytes: 38_623,
            announced: Some(57_946)
        }]
    );
    assert_eq!(
        log.repairs[0].to_string(),
        "the file ends after 38623 bytes and should have 57946"
    );
}

#[test]
fn a_bad_check_sum_loses_nothing() {
    // Best of four readers: 1801 records. One byte, in one of them, is another.
    let log = read(BAD_SUM).unwrap();
    assert_eq!((log.samples.len(), shared(&log)), (1801, 1800));
    assert_eq!(log.repairs, [Repair::Checksum]);
}

#[test]
fn samples_under_a_wrong_number_are_known_by_their_fields() {
    // Best of four readers: 901 records, those before the damage, which is one byte in the message
    // number of the second definition of samples.
    let log = read(BAD_STREAM).unwrap();
    assert_eq!((log.samples.len(), shared(&log)), (1801, 1801));
    assert_eq!(
        log.repairs,
        [Repair::Checksum, Repair::Misnumbered { at: 28_969 }]
    );
    // In a file whose check sum matches they are what their number says.
    let mut whole = BAD_STREAM.to_vec();
    let sum = crc16(&whole[..whole.len() - 2]).to_le_bytes();
    let place = whole.len() - 2;
    whole[place..].copy_from_slice(&sum);
    let log = read(&whole).unwrap();
    assert_eq!((log.samples.len(), log.repairs.len()), (901, 0));
}

/// A file around messages, with its check sum.
fn file(messages: &[u8]) -> Vec<u8> {
    let mut file = b"\x0e\x10\x00\x00".to_vec();
    file.extend((messages.len() as u32).to_le_bytes());
    file.extend(b".FIT\0\0");
    file.extend(messages);
    let sum = crc16(&file);
    file.extend(sum.to_le_bytes());
    file
}

/// Defines local message 0 as sample of time and power.
const SAMPLE: [u8; 12] = [0x40, 0, 0, 20, 0, 2, 253, 4, 0x86, 7, 2, 0x84];

fn sample(time: u32, power: u16) -> Vec<u8> {
    let mut message = vec![0];
    message.extend(time.to_le_bytes());
    message.extend(power.to_le_bytes());
    message
}

fn powers(log: &Log) -> Vec<(f64, Option<f64>)> {
    log.samples
        .iter()
        .map(|s| (s.time.si(), s.power.map(Power::si)))
        .collect()
}

fn three() -> Vec<u8> {
    [
        SAMPLE.to_vec(),
        sample(1000, 100),
        sample(1001, 101),
        sample(1002, 102),
    ]
    .concat()
}

#[test]
fn a_file_never_closed_is_read_to_its_end() {
    let mut open = file(&three());
    open[4..8].fill(0);
    open.truncate(open.len() - 2);
    let log = read(&open).unwrap();
    assert_eq!(
        powers(&log),
        [(0.0, Some(100.0)), (1.0, Some(101.0)), (2.0, Some(102.0))]
    );
    assert_eq!(log.began, Some(631_065_600.0 + 1000.0));
    assert_eq!(log.repairs, [Repair::NeverClosed]);
}

#[test]
fn files_one_after_the_other_are_one_ride_and_a_tail_is_named() {
    let mut both = file(&three());
    both.extend(file(&[SAMPLE.to_vec(), sample(1010, 110)].concat()));
    assert_eq!(read(&both).unwrap().samples.len(), 4);
    assert_eq!(read(&both).unwrap().repairs, []);
    let at = both.len();
    both.extend([1, 2, 3]);
    let log = read(&both).unwrap();
    assert_eq!(log.samples.len(), 4);
    assert_eq!(log.repairs, [Repair::Skipped { at, bytes: 3 }]);
}

#[test]
fn nonsense_between_samples_is_skipped() {
    // Local message 9 was never defined.
    let nonsense = [0x09; 11];
    let messages = [three(), nonsense.to_vec(), sample(1003, 103)].concat();
    let log = read(&file(&messages)).unwrap();
    assert_eq!(log.samples.len(), 4);
    let at = 14 + three().len();
    assert_eq!(log.repairs, [Repair::Skipped { at, bytes: 11 }]);
    // Sought is a sample within the hour: 3600 s after the last, not 3601.
    let later = |time: u32| read(&file(&[three(), nonsense.to_vec(), sample(time, 1)].concat())).unwrap();
    assert_eq!(later(1002 + 3600).samples.len(), 4);
    assert_eq!(later(1002 + 3601).samples.len(), 3);
    assert_eq!(later(1002).samples.len(), 3);
}

#[test]
fn a_time_that_cannot_be_is_damage_or_left_out() {
    let with = |time: u32| read(&file(&[three(), sample(time, 9), sample(1003, 103)].concat())).unwrap();
    // Repeated and slightly earlier: left out.
    for time in [1002, 1000] {
        let log = with(time);
        assert_eq!(log.samples.len(), 4);
        assert_eq!(log.repairs, [Repair::Times { samples: 1 }]);
    }
    // 30 days on is believed, a second more is not and skipped.
    let month = 30 * 86_400;
    assert_eq!(
        with(1002 + month).samples.last().unwrap().time.si(),
        f64::from(month + 2)
    );
    let beyond = with(1002 + month + 1);
    assert_eq!(beyond.samples.last().unwrap().time.si(), 3.0);
    assert!(matches!(beyond.repairs[..], [Repair::Skipped { bytes: 7, .. }]));
}

#[test]
fn a_first_sample_from_which_nothing_follows_is_given_up() {
    let messages = |times: &[u32]| {
        let samples = times.iter().flat_map(|time| sample(*time, 1));
        file(&SAMPLE.into_iter().chain(samples).collect::<Vec<u8>>())
    };
    let good = 900_000_000;
    let log = read(&messages(&[1_500_000_000, good, good + 1, good + 2])).unwrap();
    assert_eq!(log.began, Some(631_065_600.0 + f64::from(good + 1)));
    assert_eq!(log.samples.len(), 2);
    // With a second sample that follows the first is believed.
    let log = read(&messages(&[1_500_000_000, 1_500_000_001, good, good + 1])).unwrap();
    assert_eq!(log.began, Some(631_065_600.0 + 1_500_000_000.0));
    assert_eq!(log.samples.len(), 2);
}

#[test]
fn in_a_damaged_file_a_leap_counts_when_the_next_sample_goes_on_from_it() {
    let starts = |times: &[u32]| {
        let samples = times.iter().flat_map(|time| sample(*time, 1));
        let mut bytes = file(&SAMPLE.into_iter().chain(samples).collect::<Vec<u8>>());
        *bytes.last_mut().unwrap() ^= 1;
        let log = read(&bytes).unwrap();
        log.samples.iter().map(|s| s.time.si()).collect::<Vec<f64>>()
    };
    assert_eq!(starts(&[1000, 1010, 1002, 1011]), [0.0, 10.0, 11.0]);
    assert_eq!(starts(&[1000, 1011, 1002, 1003]), [0.0, 2.0, 3.0]);
    assert_eq!(starts(&[1000, 1011, 1012, 1013]), [0.0, 11.0, 12.0, 13.0]);
    // A rest of two hours, its first sample alone damaged: two that follow each other are enough.
    let base = 900_000_000;
    assert_eq!(
        starts(&[base, base + 9000, base + 7200, base + 7201, base + 7202]),
        [0.0, 7200.0, 7201.0, 7202.0]
    );
}

#[test]
fn compressed_times_count_on_from_the_last() {
    // Local message 1: power alone; its time is five bits of the first byte. 1002 = 31·32 + 10.
    let define = [0x41, 0, 0, 20, 0, 1, 7, 2, 0x84];
    let messages = [
        three(),
        define.to_vec(),
        vec![0x80 | 1 << 5 | 12, 200, 0],
        vec![0x80 | 1 << 5 | 3, 201, 0],
    ]
    .concat();
    let log = read(&file(&messages)).unwrap();
    assert_eq!(powers(&log)[3..], [(4.0, Some(200.0)), (27.0, Some(201.0))]);
    assert_eq!(log.repairs, []);
}

#[test]
fn a_sample_without_any_time_is_counted() {
    let define = [0x41, 0, 0, 20, 0, 1, 7, 2, 0x84];
    let messages = [three(), define.to_vec(), vec![1, 200, 0]].concat();
    let log = read(&file(&messages)).unwrap();
    assert_eq!(log.samples.len(), 3);
    assert_eq!(log.repairs, [Repair::Times { samples: 1 }]);
}

#[test]
fn a_developers_field_is_known_by_its_name_and_unit() {
    // Field description of developer 0, field 3: unsigned 16 bits, "motor_power", "watts".
    let mut describe = vec![
        0x42, 0, 0, 206, 0, 5, 0, 1, 2, 1, 1, 2, 2, 1, 2, 3, 12, 7, 8, 6, 7,
    ];
    describe.extend([2, 0, 3, 0x84]);
    describe.extend(b"motor_power\0watts\0");
    let define = [0x60, 0, 0, 20, 0, 2, 253, 4, 0x86, 7, 2, 0x84, 1, 3, 2, 0];
    let mut message = sample(1000, 100);
    message.extend([44, 1]);
    let log = read(&file(
        &[describe.clone(), define.to_vec(), message.clone()].concat(),
    ))
    .unwrap();
    assert_eq!(log.samples[0].power.unwrap().si(), 100.0);
    assert_eq!(log.samples[0].motor_power.unwrap().si(), 300.0);
    assert_eq!(log.repairs, []);
    // Undescribed it is passed over.
    let log = read(&file(&[define.to_vec(), message.clone()].concat())).unwrap();
    assert_eq!(log.samples[0].power.unwrap().si(), 100.0);
    assert_eq!(log.samples[0].motor_power, None);
    // Described by a name nobody knows it is named.
    let place = describe.windows(5).position(|w| w == b"motor").unwrap();
    describe[place..place + 5].copy_from_slice(b"lever");
    let log = read(&file(&[describe, define.to_vec(), message].concat())).unwrap();
    assert_eq!(
        log.repairs,
        [Repair::Unread {
            name: "lever_power".into(),
            twice: false
        }]
    );
}

#[test]
fn scales_of_the_older_fields_and_values_left_out() {
    // Height 2 (0.2 m above −500 m), speed 6 (mm/s), distance 5 (cm), cadence 4 with 53 (1/128);
    // all bits set means no value. The numbers are the format's, worked by hand.
    let define = [
        0x40, 0, 0, 20, 0, 7, 253, 4, 0x86, 2, 2, 0x84, 6, 2, 0x84, 5, 4, 0x86, 4, 1, 2, 53, 1, 2, 7, 2, 0x84,
    ];
    let message = [
        0, 0xE8, 3, 0, 0, 0x8C, 0x0A, 0x88, 0x13, 0x39, 0x30, 0, 0, 80, 64, 0xFF, 0xFF,
    ];
    let log = read(&file(&[&define[..], &message].concat())).unwrap();
    let only = log.samples[0];
    near(only.altitude.unwrap().si(), 40.0, 1e-12);
    near(only.speed.unwrap().si(), 5.0, 1e-12);
    near(only.distance.unwrap().si(), 123.45, 1e-9);
    near(only.cadence.unwrap().as_rpm(), 80.5, 1e-9);
    assert_eq!(only.power, None);
    assert_eq!(log.repairs, []);
}

#[test]
fn figures_beyond_belief_are_left_out_and_counted() {
    let messages = [SAMPLE.to_vec(), sample(1000, 10_000), sample(1001, 10_001)].concat();
    let log = read(&file(&messages)).unwrap();
    assert_eq!(powers(&log), [(0.0, Some(10_000.0)), (1.0, None)]);
    let column = Column::Power;
    assert_eq!(log.repairs, [Repair::Figures { column, count: 1 }]);
    assert_eq!(
        log.repairs[0].to_string(),
        "1 figures of power were no numbers from -5000 to 10000 W and were left out"
    );
}

#[test]
fn a_file_without_samples_says_what_was_tried() {
    let none = read(&file(&SAMPLE)).unwrap_err();
    assert_eq!(none, LogError::NoSamples { repairs: vec![] });
    let mut bad = file(&SAMPLE);
    *bad.last_mut().unwrap() ^= 1;
    let LogError::NoSamples { repairs } = read(&bad).unwrap_err() else {
        panic!("samples from nowhere");
    };
    assert_eq!(repairs, [Repair::Checksum.to_string()]);
}
