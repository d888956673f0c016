//! Pictures through the store: what is kept comes back, and what is not what was kept is said.

use std::fs;

use lockring_domain::entry::Event;
use lockring_domain::photo::{Photo, Picture};

use super::{Bench, PICTURE, photographed};
use crate::{PHOTOS, StorageError};

fn other() -> (Picture, Vec<u8>) {
    let content = [PICTURE, b"another".as_slice()].concat();
    (Picture::of("right.jpg", &content).unwrap(), content)
}

fn kept(picture: &Picture) -> Photo {
    let Event::Photographed(photo) = photographed() else {
        unreachable!()
    };
    Photo {
        sha256: picture.sha256.clone(),
        bytes: picture.bytes,
        ..photo
    }
}

#[test]
fn a_picture_is_there_once_it_is_kept_and_comes_back_byte_for_byte() {
    let bench = Bench::new();
    let (picture, content) = other();
    assert!(!bench.store.has_photo(&picture));
    assert!(bench.store.photo(&kept(&picture)).is_err());
    bench.store.keep_photo(&picture, &content).unwrap();
    assert!(bench.store.has_photo(&picture));
    assert_eq!(bench.store.photo(&kept(&picture)).unwrap(), content);
    bench.store.keep_photo(&picture, &content).unwrap();
    // The one of the bench's own, and this one: nothing unfinished.
    let folder = bench.folder.path().join(PHOTOS);
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 2);
}

#[test]
fn a_picture_that_was_changed_is_not_taken_for_the_one_kept_and_can_be_kept_anew() {
    let bench = Bench::new();
    let (picture, content) = other();
    bench.store.keep_photo(&picture, &content).unwrap();
    let path = bench.folder.path().join(PHOTOS).join(kept(&picture).kept_as());
    let mut changed = content.clone();
    *changed.last_mut().unwrap() ^= 1;
    for bad in [changed.as_slice(), &content[..content.len() - 1], b""] {
        fs::write(&path, bad).unwrap();
        assert!(!bench.store.has_photo(&picture));
        let error = bench.store.photo(&kept(&picture)).unwrap_err();
        assert!(matches!(error, StorageError::Unsound { .. }), "{error}");
        bench.store.keep_photo(&picture, &content).unwrap();
        assert!(bench.store.has_photo(&picture));
    }
}
