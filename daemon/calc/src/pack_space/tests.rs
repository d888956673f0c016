//! Tests of pack room against closed forms of elementary geometry.

use super::*;
use crate::quantity::Angle;

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn degrees(value: f64) -> Angle {
    Angle::degrees(value)
}

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-6, "{found} is not {expected}");
}

fn near_length(found: Length, expected: f64) {
    near(found.as_millimetres(), expected);
}

fn halves(value: f64) -> HalfWidths {
    let half = mm(value);
    HalfWidths {
        seat: half,
        top: half,
        head: half,
        down: half,
    }
}

fn mounting(on: Mount) -> Mounting {
    Mounting {
        on,
        standoff: Length::ZERO,
        clearance: Length::ZERO,
        key: KeySide::Lateral,
        key_room: mm(60.0),
        shell_radius: Length::ZERO,
    }
}

fn pack(length: f64, height: f64) -> PackSize {
    PackSize {
        length: mm(length),
        height: mm(height),
        width: mm(90.0),
    }
}

/// Legs 400 mm (down tube) and 300 mm (seat tube), square at the shell.
fn right_triangle() -> Frame {
    Frame::triangle(mm(300.0), mm(500.0), mm(400.0)).unwrap()
}

fn equilateral() -> Frame {
    Frame::triangle(mm(400.0), mm(400.0), mm(400.0)).unwrap()
}

/// 400 mm each way.
fn square() -> Frame {
    Frame::from_angles(mm(400.0), mm(400.0), mm(400.0), degrees(90.0), degrees(90.0)).unwrap()
}

/// A common diamond: nothing square, nothing parallel.
fn diamond() -> Frame {
    Frame::from_angles(mm(520.0), mm(560.0), mm(630.0), degrees(60.0), degrees(73.0)).unwrap()
}

#[test]
fn triangle_areas_and_angles() {
    near(right_triangle().area_mm2(), 60_000.0);
    near(right_triangle().shell_angle().as_degrees(), 90.0);
    near(equilateral().area_mm2(), 40_000.0 * 3.0_f64.sqrt());
    near(equilateral().shell_angle().as_degrees(), 60.0);
    assert_eq!(equilateral().head_length(), Length::ZERO);
    near(square().area_mm2(), 160_000.0);
    near_length(square().head_length(), 400.0);
}

#[test]
fn rectangle_in_a_right_triangle() {
    // Similar triangles: at height h a base a and a height b leave a·(1 − h/b); the largest
    // rectangle has half of each.
    let bare = halves(0.0);
    for (on, a, b) in [(Mount::DownTube, 400.0, 300.0), (Mount::SeatTube, 300.0, 400.0)] {
        let on = mounting(on);
        for height in [20.0, 75.0, 150.0, 200.0, 290.0] {
            let most = longest(&right_triangle(), &bare, &on, mm(height)).unwrap();
            near_length(most, a * (1.0 - height / b));
        }
        let best = largest(&right_triangle(), &bare, &on).unwrap();
        assert!((best.length.as_millimetres() - a / 2.0).abs() < 1e-3);
        assert!((best.height.as_millimetres() - b / 2.0).abs() < 1e-3);
    }
    let room = room(
        &right_triangle(),
        &bare,
        &mounting(Mount::DownTube),
        &pack(150.0, 75.0),
    )
    .unwrap();
    near_length(room.nearest, 0.0);
    near_length(room.farthest, 150.0);
    near_length(room.play, 150.0);
    near_length(room.middle(), 75.0);
    assert_eq!(room.across, None);
    let over = longest(&right_triangle(), &bare, &mounting(Mount::DownTube), mm(301.0));
    assert_eq!(over.unwrap(), Length::ZERO);
}

#[test]
fn rectangle_in_an_equilateral_triangle() {
    // Each side takes h/tan 60°; a distance k from a side takes k/sin 60° along the base.
    let root = 3.0_f64.sqrt();
    for (half, standoff, clearance) in [(0.0, 0.0, 0.0), (20.0, 10.0, 5.0), (15.0, 0.0, 8.0)] {
        for on in [Mount::DownTube, Mount::SeatTube] {
            let asked = Mounting {
                standoff: mm(standoff),
                clearance: mm(clearance),
                ..mounting(on)
            };
            let (length, height) = (100.0, 60.0);
            let room = room(&equilateral(), &halves(half), &asked, &pack(length, height)).unwrap();
            let taken = (half + standoff + height) / root + (half + clearance) * 2.0 / root;
            near_length(room.nearest, taken);
            near_length(room.farthest, 400.0 - taken - length);
            near_length(room.play, 400.0 - 2.0 * taken - length);
            near_length(room.middle(), 150.0);
        }
    }
    let best = largest(&equilateral(), &halves(0.0), &mounting(Mount::DownTube)).unwrap();
    assert!((best.length.as_millimetres() - 200.0).abs() < 1e-3);
    assert!((best.height.as_millimetres() - 100.0 * root).abs() < 1e-3);
}

#[test]
fn a_leaning_parallelogram_binds_at_other_corners() {
    // 120° at the shell: the lower corner meets the seat tube, the upper one the head tube.
    let frame = Frame::from_angles(mm(400.0), mm(400.0), mm(400.0), degrees(120.0), degrees(60.0)).unwrap();
    let root = 3.0_f64.sqrt();
    let asked = Mounting {
        clearance: mm(5.0),
        ..mounting(Mount::DownTube)
    };
    let room = room(&frame, &halves(20.0), &asked, &pack(150.0, 60.0)).unwrap();
    near_length(room.nearest, (50.0 - 20.0) / root);
    near_length(room.farthest, 400.0 - (80.0 + 50.0) / root - 150.0);
    near_length(room.across.unwrap(), 200.0 * root - 80.0 - 25.0);
}

#[test]
fn square_frame_with_clearance_and_key() {
    let tubes = halves(20.0);
    let asked = Mounting {
        standoff: mm(10.0),
        clearance: mm(5.0),
        ..mounting(Mount::DownTube)
    };
    // Nearest, farthest, across for a pack of 200 by 100 mm: sums of lengths.
    for (key, nearest, farthest, across) in [
        (KeySide::Lateral, 25.0, 175.0, 245.0),
        (KeySide::UpperEnd, 25.0, 120.0, 245.0),
        (KeySide::LowerEnd, 80.0, 175.0, 245.0),
        (KeySide::Face, 25.0, 175.0, 190.0),
    ] {
        let found = room(&square(), &tubes, &Mounting { key, ..asked }, &pack(200.0, 100.0)).unwrap();
        near_length(found.nearest, nearest);
        near_length(found.farthest, farthest);
        near_length(found.play, farthest - nearest);
        near_length(found.across.unwrap(), across);
        assert!(found.fits());
    }
    let around = Mounting {
        shell_radius: mm(60.0),
        ..asked
    };
    let found = room(&square(), &tubes, &around, &pack(200.0, 100.0)).unwrap();
    near_length(found.nearest, (65.0_f64 * 65.0 - 30.0 * 30.0).sqrt());
    let low = Mounting {
        shell_radius: mm(25.0),
        ..asked
    };
    let found = room(&square(), &tubes, &low, &pack(200.0, 100.0)).unwrap();
    near_length(found.nearest, 25.0);
}

#[test]
fn each_tubes_own_width_counts() {
    let tubes = HalfWidths {
        seat: mm(14.0),
        top: mm(16.0),
        head: mm(18.0),
        down: mm(22.0),
    };
    let found = |on| room(&square(), &tubes, &mounting(on), &pack(100.0, 50.0)).unwrap();
    let down = found(Mount::DownTube);
    near_length(down.nearest, 14.0);
    near_length(down.farthest, 400.0 - 18.0 - 100.0);
    near_length(down.across.unwrap(), 400.0 - 16.0 - 22.0 - 50.0);
    let seat = found(Mount::SeatTube);
    near_length(seat.nearest, 22.0);
    near_length(seat.farthest, 400.0 - 16.0 - 100.0);
    near_length(seat.across.unwrap(), 400.0 - 18.0 - 14.0 - 50.0);
}

#[test]
fn fitting_turns_once_at_its_limit() {
    let at = |length, height| {
        room(
            &square(),
            &halves(20.0),
            &mounting(Mount::DownTube),
            &pack(length, height),
        )
        .unwrap()
    };
    assert!(at(360.0, 100.0).fits());
    assert!(!at(360.1, 100.0).fits());
    assert!(at(100.0, 360.0).fits());
    assert!(!at(100.0, 360.1).fits());
    let room = at(200.0, 100.0);
    for (start, allowed) in [(19.9, false), (20.0, true), (180.0, true), (180.1, false)] {
        assert_eq!(room.allows(mm(start)), allowed, "{start}");
    }
    assert!(!at(200.0, 360.1).allows(mm(100.0)));
}

#[test]
fn gaps_at_a_position() {
    let asked = Mounting {
        standoff: mm(10.0),
        clearance: mm(5.0),
        key: KeySide::UpperEnd,
        ..mounting(Mount::DownTube)
    };
    let found = gaps(&square(), &halves(20.0), &asked, &pack(200.0, 100.0), mm(50.0)).unwrap();
    for (gap, (to, clear, key)) in found.iter().zip([
        (Tube::Seat, 30.0, 290.0),
        (Tube::Top, 250.0, 250.0),
        (Tube::Head, 130.0, 70.0),
    ]) {
        assert_eq!(gap.to, to);
        near_length(gap.gap, clear);
        near_length(gap.margin, clear - 5.0);
        near_length(gap.key_margin.unwrap(), key);
    }
    assert_eq!(found.len(), 3);
    let side = Mounting {
        key: KeySide::Lateral,
        ..asked
    };
    let found = gaps(&square(), &halves(20.0), &side, &pack(200.0, 100.0), mm(50.0)).unwrap();
    assert!(found.iter().all(|gap| gap.key_margin.is_none()));
    // Seen from the seat tube the other two and the down tube are left.
    let seat = mounting(Mount::SeatTube);
    let found = gaps(&square(), &halves(20.0), &seat, &pack(200.0, 100.0), mm(50.0)).unwrap();
    let tubes: Vec<_> = found.iter().map(|gap| gap.to).collect();
    assert_eq!(tubes, [Tube::Top, Tube::Head, Tube::Down]);
    let found = gaps(&equilateral(), &halves(20.0), &seat, &pack(200.0, 50.0), mm(50.0)).unwrap();
    assert_eq!(found.len(), 2);
}

#[test]
fn gaps_and_range_agree() {
    // At either end of the range the least margin is nought, inside it is positive.
    for key in [
        KeySide::Lateral,
        KeySide::UpperEnd,
        KeySide::LowerEnd,
        KeySide::Face,
    ] {
        for on in [Mount::DownTube, Mount::SeatTube] {
            let asked = Mounting {
                standoff: mm(12.0),
                clearance: mm(6.0),
                key,
                ..mounting(on)
            };
            let size = pack(180.0, 80.0);
            let found = room(&diamond(), &halves(18.0), &asked, &size).unwrap();
            assert!(found.fits() && found.play > Length::ZERO, "{key:?} {on:?}");
            let least = |start: Length| {
                gaps(&diamond(), &halves(18.0), &asked, &size, start)
                    .unwrap()
                    .iter()
                    .flat_map(|gap| [Some(gap.margin), gap.key_margin])
                    .flatten()
                    .reduce(Length::min)
                    .unwrap()
            };
            near_length(least(found.nearest), 0.0);
            near_length(least(found.farthest), 0.0);
            assert!(least(found.middle()) > mm(1.0), "{key:?} {on:?}");
            assert!(least(found.farthest + mm(1.0)) < Length::ZERO);
            assert!(least(found.nearest - mm(1.0)) < Length::ZERO);
        }
    }
}

#[test]
fn a_bigger_pack_never_gets_more_room() {
    let asked = mounting(Mount::DownTube);
    let play = |length: f64, height: f64| {
        room(&diamond(), &halves(18.0), &asked, &pack(length, height))
            .unwrap()
            .play
    };
    let mut verdicts = 0;
    let mut last = true;
    for step in 0..60 {
        let length = 100.0 + 10.0 * f64::from(step);
        near_length(play(length, 80.0) - play(length + 10.0, 80.0), 10.0);
        let height = 20.0 + 5.0 * f64::from(step);
        assert!(play(200.0, height) > play(200.0, height + 5.0));
        let fits = play(length, 80.0) >= Length::ZERO;
        verdicts += usize::from(fits != last);
        last = fits;
    }
    assert_eq!((verdicts, last), (1, false));
    let most = longest(&diamond(), &halves(18.0), &asked, mm(80.0)).unwrap();
    near_length(play(most.as_millimetres(), 80.0), 0.0);
}

#[test]
fn room_scales_and_inches_say_the_same() {
    let found = |k: f64| {
        let frame = Frame::from_angles(
            mm(400.0 * k),
            mm(430.0 * k),
            mm(480.0 * k),
            degrees(60.0),
            degrees(73.0),
        )
        .unwrap();
        let asked = Mounting {
            standoff: mm(8.0 * k),
            clearance: mm(6.0 * k),
            key: KeySide::UpperEnd,
            key_room: mm(60.0 * k),
            shell_radius: mm(40.0 * k),
            on: Mount::DownTube,
        };
        room(&frame, &halves(15.0 * k), &asked, &pack(120.0 * k, 60.0 * k)).unwrap()
    };
    let one = found(1.0);
    for k in [0.75, 1.5, 2.0] {
        let scaled = found(k);
        near_length(scaled.nearest, k * one.nearest.as_millimetres());
        near_length(scaled.farthest, k * one.farthest.as_millimetres());
    }
    let inches = |value: f64| Length::inches(value / 25.4);
    let frame = Frame::triangle(inches(300.0), inches(500.0), inches(400.0)).unwrap();
    let size = PackSize {
        length: inches(200.0),
        height: inches(150.0),
        width: inches(90.0),
    };
    let found = room(&frame, &halves(0.0), &mounting(Mount::DownTube), &size).unwrap();
    assert!(found.fits());
    near_length(found.play, 0.0);
}

#[test]
fn the_largest_rectangle_is_not_beaten() {
    let asked = Mounting {
        standoff: mm(10.0),
        clearance: mm(5.0),
        key: KeySide::Face,
        ..mounting(Mount::DownTube)
    };
    for frame in [diamond(), square(), equilateral()] {
        let best = largest(&frame, &halves(18.0), &asked).unwrap();
        let area = |length: Length, height: Length| length.as_millimetres() * height.as_millimetres();
        let most = area(best.length, best.height);
        assert!(most > 0.0);
        for step in 20..400 {
            let height = mm(f64::from(step));
            let length = longest(&frame, &halves(18.0), &asked, height).unwrap();
            let parallel = room(
                &frame,
                &halves(18.0),
                &asked,
                &pack(50.0, height.as_millimetres()),
            )
            .unwrap();
            if parallel.across.is_none_or(|across| across >= Length::ZERO) {
                assert!(area(length, height) <= most + 1.0, "{height:?}");
            }
        }
    }
    let tight = halves(80.0);
    let small = Frame::triangle(mm(150.0), mm(150.0), mm(150.0)).unwrap();
    let none = largest(&small, &tight, &mounting(Mount::DownTube)).unwrap();
    assert_eq!((none.length, none.height), (Length::ZERO, Length::ZERO));
}

#[test]
fn head_tube_and_angles_describe_the_same_frame() {
    let by_angle = diamond();
    let by_head = Frame::from_head_tube(
        mm(520.0),
        mm(560.0),
        mm(630.0),
        by_angle.head_length(),
        degrees(60.0),
    )
    .unwrap();
    near(by_head.area_mm2(), by_angle.area_mm2());
    near_length(by_head.head_length(), by_angle.head_length().as_millimetres());
    near(by_head.shell_angle().as_degrees(), 60.0);
    for on in [Mount::DownTube, Mount::SeatTube] {
        let of = |frame: &Frame| {
            room(frame, &halves(18.0), &mounting(on), &pack(200.0, 80.0))
                .unwrap()
                .play
        };
        near_length(of(&by_head), of(&by_angle).as_millimetres());
    }
    let box_frame = Frame::from_head_tube(mm(400.0), mm(400.0), mm(400.0), mm(400.0), degrees(90.0)).unwrap();
    near(box_frame.area_mm2(), 160_000.0);
}

#[test]
fn frames_that_cannot_be_are_refused() {
    let triangle = |s, t, d| Frame::triangle(mm(s), mm(t), mm(d));
    assert!(triangle(300.0, 701.0, 400.0).is_err());
    assert!(triangle(300.0, 99.0, 400.0).is_err());
    assert!(triangle(99.0, 400.0, 400.0).is_err());
    assert!(triangle(400.0, 400.0, 1001.0).is_err());
    assert!(triangle(100.0, 150.0, 100.0).is_ok());
    assert!(triangle(1000.0, 1000.0, 1000.0).is_ok());
    // Flat: the three in one line.
    assert!(triangle(300.0, 700.0, 400.0).is_err());
    let angles =
        |t, shell, seat| Frame::from_angles(mm(520.0), mm(t), mm(630.0), degrees(shell), degrees(seat));
    assert!(angles(560.0, 0.5, 73.0).is_err());
    assert!(angles(560.0, 180.0, 73.0).is_err());
    assert!(angles(560.0, 60.0, 0.5).is_err());
    // The top tube runs out through the down tube, or bends the head tube inwards.
    assert!(angles(900.0, 60.0, 40.0).is_err());
    assert!(angles(150.0, 60.0, 40.0).is_err());
    let head = |h| Frame::from_head_tube(mm(520.0), mm(560.0), mm(630.0), mm(h), degrees(60.0));
    assert!(head(9.9).is_err());
    assert!(head(401.0).is_err());
    assert!(head(130.0).is_ok());
    let long_top = Frame::from_head_tube(mm(520.0), mm(900.0), mm(630.0), mm(100.0), degrees(60.0));
    assert!(long_top.is_err());
}

#[test]
fn sizes_that_cannot_be_are_refused() {
    let asked = mounting(Mount::DownTube);
    let of =
        |tubes: f64, asked: &Mounting, size: PackSize| room(&diamond(), &halves(tubes), asked, &size).is_ok();
    assert!(of(18.0, &asked, pack(200.0, 80.0)));
    assert!(of(0.0, &asked, pack(50.0, 20.0)));
    assert!(of(80.0, &asked, pack(800.0, 400.0)));
    assert!(!of(-0.1, &asked, pack(200.0, 80.0)));
    assert!(!of(80.1, &asked, pack(200.0, 80.0)));
    for size in [
        pack(49.9, 80.0),
        pack(800.1, 80.0),
        pack(200.0, 19.9),
        pack(200.0, 400.1),
        PackSize {
            width: mm(-90.0),
            ..pack(200.0, 80.0)
        },
    ] {
        assert!(!of(18.0, &asked, size), "{size:?}");
        assert!(gaps(&diamond(), &halves(18.0), &asked, &size, mm(50.0)).is_err());
    }
    for wrong in [
        Mounting {
            standoff: mm(-0.1),
            ..asked
        },
        Mounting {
            clearance: mm(100.1),
            ..asked
        },
        Mounting {
            key_room: mm(200.1),
            ..asked
        },
        Mounting {
            shell_radius: mm(-1.0),
            ..asked
        },
    ] {
        assert!(!of(18.0, &wrong, pack(200.0, 80.0)), "{wrong:?}");
        assert!(longest(&diamond(), &halves(18.0), &wrong, mm(80.0)).is_err());
        assert!(largest(&diamond(), &halves(18.0), &wrong).is_err());
    }
    assert!(longest(&diamond(), &halves(90.0), &asked, mm(80.0)).is_err());
    assert!(longest(&diamond(), &halves(18.0), &asked, mm(19.0)).is_err());
    assert!(largest(&diamond(), &halves(90.0), &asked).is_err());
    for start in [-0.1, 1000.1] {
        let found = gaps(&diamond(), &halves(18.0), &asked, &pack(200.0, 80.0), mm(start));
        assert!(found.is_err());
    }
}

#[test]
fn room_beside_the_cranks() {
    near_length(side_room(mm(130.0), mm(90.0)).unwrap(), 20.0);
    near_length(side_room(mm(130.0), mm(140.0)).unwrap(), -5.0);
    assert!(side_room(mm(49.0), mm(90.0)).is_err());
    assert!(side_room(mm(130.0), mm(401.0)).is_err());
}

#[test]
fn boss_spacing() {
    // 64 mm between the bosses of a cage (from memory).
    for (distance, times) in [
        (62.9, None),
        (63.0, Some(1)),
        (64.0, Some(1)),
        (65.0, Some(1)),
        (65.1, None),
        (74.0, None),
        (128.0, Some(2)),
        (192.5, Some(3)),
    ] {
        assert_eq!(boss_multiple(mm(distance), mm(1.0)).unwrap(), times, "{distance}");
    }
    assert!(boss_multiple(mm(9.9), mm(1.0)).is_err());
    assert_eq!(boss_multiple(mm(10.0), mm(1.0)).unwrap(), None);
    assert!(boss_multiple(mm(800.1), mm(1.0)).is_err());
    assert!(!BOSS_BASIS.may_stop());
}

#[test]
fn bosses_under_slots() {
    let slot = |from: f64, to: f64| Slot {
        from: mm(from),
        to: mm(to),
    };
    let bosses = [mm(200.0), mm(264.0)];
    // Two round holes 64 mm apart, 50 mm from the end: one position, 150 mm from the shell.
    let found = boss_starts(&bosses, &[slot(50.0, 50.0), slot(114.0, 114.0)]).unwrap();
    assert_eq!(found.len(), 1);
    near_length(found[0].nearest, 150.0);
    near_length(found[0].farthest, 150.0);
    assert_eq!((found[0].bosses, found[0].slots), ([0, 1], [0, 1]));
    // A hole and a slot: the slot's length is not play, the hole holds.
    let found = boss_starts(&bosses, &[slot(50.0, 50.0), slot(100.0, 120.0)]).unwrap();
    assert_eq!(found.len(), 1);
    near_length(found[0].farthest - found[0].nearest, 0.0);
    // One long slot takes both: 100 − 64 mm of play.
    let found = boss_starts(&bosses, &[slot(20.0, 120.0)]).unwrap();
    near_length(found[0].nearest, 144.0);
    near_length(found[0].farthest, 180.0);
    assert_eq!(found[0].slots, [0, 0]);
    // Holes 74 mm apart meet nothing; a third boss can.
    let wrong = [slot(50.0, 50.0), slot(124.0, 124.0)];
    assert!(boss_starts(&bosses, &wrong).unwrap().is_empty());
    let third = boss_starts(&[mm(200.0), mm(264.0), mm(338.0)], &wrong).unwrap();
    assert_eq!(third.len(), 1);
    assert_eq!(third[0].bosses, [1, 2]);
    near_length(third[0].nearest, 214.0);
    assert!(
        boss_starts(&[mm(200.0)], &[slot(20.0, 120.0)])
            .unwrap()
            .is_empty()
    );
    assert!(boss_starts(&bosses, &[]).unwrap().is_empty());
    assert!(boss_starts(&bosses, &[slot(50.0, 49.9)]).is_err());
    assert!(boss_starts(&bosses, &[slot(-100.1, 49.9)]).is_err());
    assert!(boss_starts(&[mm(1000.1)], &[]).is_err());
}

#[test]
fn room_before_the_key_is_kept_at_both_ends_of_the_face() {
    // Equilateral: the space before the key takes (h + room)/tan 60° and half widths over sin 60°.
    let root = 3.0_f64.sqrt();
    let asked = Mounting {
        clearance: mm(5.0),
        key: KeySide::Face,
        ..mounting(Mount::DownTube)
    };
    let found = room(&equilateral(), &halves(20.0), &asked, &pack(60.0, 40.0)).unwrap();
    let taken = (20.0 + 40.0 + 60.0) / root + 20.0 * 2.0 / root;
    near_length(found.nearest, taken);
    near_length(found.farthest, 400.0 - taken - 60.0);
}

#[test]
fn slots_about_their_middles() {
    // By hand: slots of 10 mm travel about 50 and 114 mm lie 54 to 74 mm apart.
    let (lower, upper) = (Slot::about(mm(50.0), mm(10.0)), Slot::about(mm(114.0), mm(10.0)));
    for (end, expected) in [(lower.from, 45.0), (lower.to, 55.0)] {
        assert!((end.as_millimetres() - expected).abs() < 1e-9, "{expected}");
    }
    let [least, most] = lower.pitches(&upper).map(Length::as_millimetres);
    assert!(
        (least - 54.0).abs() < 1e-9 && (most - 74.0).abs() < 1e-9,
        "{least} {most}"
    );
    let round = Slot::about(mm(50.0), Length::ZERO);
    assert_eq!((round.from, round.to), (mm(50.0), mm(50.0)));
}
