//! Bytes of any kind: no panic, no sample that cannot be, no more samples than bytes.

use proptest::collection::vec;
use proptest::prelude::*;

use super::*;

/// What holds of every log whatever the file was.
fn holds(bytes: &[u8]) {
    let Ok(log) = read(bytes) else { return };
    assert!(!log.samples.is_empty() && log.samples.len() <= bytes.len());
    assert_eq!(log.samples[0].time.si(), 0.0);
    let figures = |s: &Sample| {
        [
            s.speed.map(Speed::si),
            s.power.map(Power::si),
            s.motor_power.map(Power::si),
            s.cadence.map(AngularSpeed::si),
            s.altitude.map(Length::si),
            s.distance.map(Length::si),
            s.battery,
            s.place.map(|place| place.latitude),
            s.place.map(|place| place.longitude),
        ]
    };
    for pair in log.samples.windows(2) {
        assert!(pair[0].time < pair[1].time);
    }
    for sample in &log.samples {
        for (column, figure) in Column::ALL.into_iter().zip(figures(sample)) {
            let (low, high, _) = column.window();
            assert!(
                figure.is_none_or(|v| (low..=high).contains(&v)),
                "{column:?} {figure:?}"
            );
        }
    }
    for repair in &log.repairs {
        assert!(!repair.to_string().is_empty());
    }
}

/// The beginning of each reference file.
fn beginning(which: usize) -> Vec<u8> {
    let whole = [FIT, TCX, GPX, CSV][which];
    whole[..whole.len().min(4_000)].to_vec()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn mutated_files(
        which in 0_usize..4,
        changes in vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
        cut in any::<prop::sample::Index>(),
        insert in vec(any::<u8>(), 0..20),
    ) {
        let mut bytes = beginning(which);
        for (place, value) in &changes {
            let place = place.index(bytes.len());
            bytes[place] = *value;
        }
        let place = cut.index(bytes.len());
        let mut longer = bytes.clone();
        longer.splice(place..place, insert);
        holds(&bytes);
        holds(&longer);
        holds(&bytes[..place]);
        holds(&bytes[place..]);
    }

    #[test]
    fn any_messages_in_a_fit_file(messages in vec(any::<u8>(), 0..400), length in any::<u32>(), size in any::<u8>()) {
        let mut bytes = vec![size, 0x10, 0, 0];
        bytes.extend(length.to_le_bytes());
        bytes.extend(b".FIT");
        bytes.extend(messages);
        holds(&bytes);
    }

    #[test]
    fn any_text(text in ".{0,200}", names in "[a-z_;,\t ]{0,60}") {
        holds(text.as_bytes());
        holds(format!("time_s,{names}\n{text}").as_bytes());
        holds(format!("<gpx><trkpt>{text}").as_bytes());
    }
}

#[test]
fn one_wrong_byte_anywhere_costs_little() {
    // About 60 samples; every byte in turn inverted or its message type bits set. A first byte turned
    // into a definition can swallow a definition's length, at most 6 + 3·255 bytes and as many for
    // developers' fields, 49 samples here.
    let whole = read(FIT).unwrap();
    let short = &FIT[..2_000];
    let count = read(short).unwrap().samples.len();
    assert!(count > 55, "{count}");
    let (mut worst, mut lost, mut tried) = (0, 0_u32, 0_u32);
    for at in 120..short.len() {
        for flip in [0xFF, 0x40, 0x80] {
            let mut damaged = short.to_vec();
            damaged[at] ^= flip;
            let log = read(&damaged).unwrap();
            let kept = log.samples.iter().filter(|s| whole.samples.contains(s)).count();
            worst = worst.max(count - kept);
            lost += u32::try_from(count - kept).unwrap();
            tried += 1;
        }
    }
    // Regression value: 1.29 samples on average, the one hit and seldom more.
    assert!(f64::from(lost) / f64::from(tried) < 1.3, "{lost} of {tried}");
    assert!(worst <= 50, "{worst}");
}

#[test]
fn a_header_alone_or_cut_anywhere_is_refused_or_rescued() {
    for end in 0..300 {
        holds(&FIT[..end]);
    }
    for size in [0, 11, 12, 14, 60, 255] {
        let mut odd = FIT[..200].to_vec();
        odd[0] = size;
        holds(&odd);
    }
}
