//! Photos and logs of rides kept with a job.

use super::*;

/// The signature of a PNG (W3C PNG, third edition, 5.2) and a byte of its own.
fn picture(name: &str, own: u8) -> Picture {
    let mut content = b"\x89PNG\r\n\x1a\n".to_vec();
    content.push(own);
    Picture::of(name, &content).unwrap()
}

fn keep(caption: &str, picture: Picture, check: &str) -> Command {
    Command::AddPhoto {
        caption: caption.into(),
        picture,
        check: check.into(),
    }
}

#[test]
fn a_photo_is_kept_once_under_a_number_of_its_own() {
    let mut journal = Journal::longtail();
    let first = picture("a.png", 1);
    assert_eq!(format!("{first:?}"), format!("Picture(a.png {} 9)", first.sha256));
    journal.change(&keep("left dropout", first.clone(), ""));
    let draft = journal.change(&keep("right dropout", picture("b.png", 2), "frame.soundness"));
    let said = draft.said.join("\n");
    assert!(said.contains("lockring explain 21 frame.soundness"), "{said}");
    assert!(said.contains("lockring photo 21 --get 2"), "{said}");
    let photos: Vec<_> = journal.job.photos.iter().map(|kept| kept.photo.clone()).collect();
    assert_eq!(
        (photos[0].number, photos[0].check.as_str(), photos[0].bytes),
        (1, "", 9)
    );
    assert_eq!(
        (photos[1].number, photos[1].check.as_str()),
        (2, "frame.soundness")
    );
    assert_eq!(photos[1].kept_as(), format!("{}.png", photos[1].sha256));
    let again = journal.refused(&keep("again", picture("c.png", 1), ""));
    assert_eq!(again.metadata["photo"], "1");
    let refusal = journal.refused(&keep("x", picture("c.png", 3), "frame.soundnes"));
    assert_eq!(refusal.metadata["nearest"], "frame.soundness");
    assert_eq!(
        journal.refused(&keep(" ", picture("c.png", 3), "")).reason,
        Reason::BadInput
    );
    // What was taken back may come again; what was removed with the rider, too.
    let first_kept = journal.job.photos[0].seq;
    journal.undo("K", Some(first_kept)).unwrap();
    journal.change(&keep("left dropout, again", picture("c.png", 1), ""));
    assert_eq!(journal.job.photos.last().unwrap().photo.number, 3);
    journal.job.photos[0].removed = Some("2026-03-05".parse().unwrap());
    assert!(
        journal
            .try_change("K", &keep("right dropout", picture("d.png", 2), ""))
            .is_ok()
    );
}

fn log(name: &str, rows: &str, meter: &str) -> Result<Command, Refusal> {
    let content = format!("time_s,speed_kmh,power_w,height_m\n{rows}");
    let file = Box::new(RideFile::read(name, content.as_bytes(), "", meter)?);
    Ok(Command::ImportLog { file })
}

#[test]
fn a_ride_s_log_is_kept_once_under_a_number_of_its_own() {
    let mut journal = Journal::longtail();
    let rows = "0,20,150,100\n1,20,150,100\n2,20,150,100\n";
    let draft = journal.change(&log("a.csv", rows, "").unwrap());
    let said = draft.said.join("\n");
    for part in [
        "log 1: a.csv (CSV, 3 samples",
        "usable: 0 pulls, 0 climbs, 0 coast-downs",
        "lockring ride 21 log 1",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let twin = journal.refused(&log("b.csv", rows, "wheel").unwrap());
    assert_eq!(twin.metadata["log"], "1");
    journal.change(&log("b.csv", &format!("{rows}3,20,150,100\n"), "Wheel").unwrap());
    let logs: Vec<_> = journal
        .job
        .logs
        .iter()
        .map(|kept| (kept.number, kept.file.as_str(), kept.meter.word()))
        .collect();
    assert_eq!(logs, [(1, "a.csv", "crank"), (2, "b.csv", "wheel")]);
    assert_eq!(log("c.csv", rows, "hub").unwrap_err().reason, Reason::UnknownWord);
}
