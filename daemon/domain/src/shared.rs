//! Values that the states of a job before and after a change have in common.
//!
//! A job grows to a hundred facts and three gates full of findings, of which a change touches one or
//! two. What it does not touch is neither copied nor compared nor put into text once more.

use std::collections::{BTreeMap, btree_map};
use std::ops::{Deref, DerefMut};
use std::slice;
use std::sync::{Arc, OnceLock};

use serde::ser::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::value::{RawValue, to_raw_value};

/// A value that is shared by whoever clones it, until somebody changes it and gets one of its own.
///
/// Which are the same is told without a look at the values ([`Common::is`]).
#[derive(Debug, Clone, Default)]
pub struct Common<T>(Arc<T>);

impl<T> Common<T> {
    /// Whether both are the same value, not two alike.
    pub fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl<T> From<T> for Common<T> {
    fn from(value: T) -> Self {
        Self(Arc::new(value))
    }
}

impl<T: PartialEq> PartialEq for Common<T> {
    fn eq(&self, other: &Self) -> bool {
        self.is(other) || self.0 == other.0
    }
}

impl<T> Deref for Common<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.0
    }
}

impl<T: Clone> DerefMut for Common<T> {
    fn deref_mut(&mut self) -> &mut T {
        Arc::make_mut(&mut self.0)
    }
}

impl<'a, T> IntoIterator for &'a Common<Vec<T>> {
    type Item = &'a T;
    type IntoIter = slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

impl<'a, K, V> IntoIterator for &'a Common<BTreeMap<K, V>> {
    type Item = (&'a K, &'a V);
    type IntoIter = btree_map::Iter<'a, K, V>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

impl<A, T: FromIterator<A>> FromIterator<A> for Common<T> {
    fn from_iter<I: IntoIterator<Item = A>>(items: I) -> Self {
        T::from_iter(items).into()
    }
}

impl<T: Serialize> Serialize for Common<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        T::serialize(self, serializer)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Common<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        T::deserialize(deserializer).map(Self::from)
    }
}

/// As [`Common`], for what is put into text again and again: its JSON is made but once.
#[derive(Debug)]
pub struct Shared<T> {
    inner: Arc<Inner<T>>,
}

#[derive(Debug)]
struct Inner<T> {
    value: T,
    json: OnceLock<Box<RawValue>>,
}

impl<T> Shared<T> {
    /// The value, taken out; copied when somebody else has it too.
    pub fn into_inner(self) -> T
    where
        T: Clone,
    {
        match Arc::try_unwrap(self.inner) {
            Ok(inner) => inner.value,
            Err(shared) => shared.value.clone(),
        }
    }
}

impl<T> From<T> for Shared<T> {
    fn from(value: T) -> Self {
        let json = OnceLock::new();
        let inner = Arc::new(Inner { value, json });
        Self { inner }
    }
}

impl<T> Clone for Shared<T> {
    fn clone(&self) -> Self {
        let inner = self.inner.clone();
        Self { inner }
    }
}

impl<T: PartialEq> PartialEq for Shared<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.inner, &other.inner) || self.inner.value == other.inner.value
    }
}

impl<T> Deref for Shared<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.inner.value
    }
}

impl<T: Clone> DerefMut for Shared<T> {
    fn deref_mut(&mut self) -> &mut T {
        let inner = Arc::make_mut(&mut self.inner);
        inner.json.take();
        &mut inner.value
    }
}

/// A copy of its own, about to be changed: the text would not be its.
impl<T: Clone> Clone for Inner<T> {
    fn clone(&self) -> Self {
        let (value, json) = (self.value.clone(), OnceLock::new());
        Self { value, json }
    }
}

impl<T: Serialize> Serialize for Shared<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let json = match self.inner.json.get() {
            Some(json) => json,
            None => {
                let json = to_raw_value(&self.inner.value).map_err(S::Error::custom)?;
                self.inner.json.get_or_init(|| json)
            }
        };
        json.serialize(serializer)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Shared<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        T::deserialize(deserializer).map(Self::from)
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use super::*;

    thread_local! {
        static WRITTEN: Cell<u32> = const { Cell::new(0) };
    }

    /// Counts how often it is put into text.
    #[derive(Debug, Clone, PartialEq)]
    struct Counted(f64);

    impl Serialize for Counted {
        fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
            WRITTEN.set(WRITTEN.get() + 1);
            self.0.serialize(serializer)
        }
    }

    fn text(shared: &Shared<Counted>) -> String {
        serde_json::to_string(shared).unwrap()
    }

    #[test]
    fn its_text_is_made_once_until_it_changes() {
        let mut one = Shared::from(Counted(1.5));
        let same = one.clone();
        assert_eq!([text(&one), text(&one), text(&same)], ["1.5", "1.5", "1.5"]);
        assert_eq!(WRITTEN.get(), 1);
        one.0 = 2.5;
        assert_eq!((text(&one), text(&same)), ("2.5".into(), "1.5".into()));
        assert_eq!(WRITTEN.get(), 2);
        drop(same);
        // Nobody else has it now: it is changed in its place.
        one.0 = 3.5;
        assert_eq!(text(&one), "3.5");
        assert_eq!(WRITTEN.get(), 3);
    }

    #[test]
    fn what_is_common_is_one_value_until_somebody_changes_it() {
        let one = Common::from(vec![0.5, 1.5]);
        let mut other = one.clone();
        assert!(one.is(&other));
        other.push(2.5);
        assert!(!one.is(&other));
        assert_eq!((one.len(), other.len()), (2, 3));
        assert_ne!(one, other);
        other.pop();
        assert!(one == other && !one.is(&other), "alike, not the same");
        // Nobody else has it now: it is changed in its place.
        let place = other.as_ptr();
        other[0] = 0.25;
        assert_eq!((other.as_ptr(), other[0]), (place, 0.25));
        let seen: Vec<f64> = (&one).into_iter().copied().collect();
        assert_eq!(seen, [0.5, 1.5]);
        let gathered: Common<Vec<f64>> = [0.5, 1.5].into_iter().collect();
        assert_eq!(gathered, one);
        let read: Common<Vec<f64>> = serde_json::from_str("[0.5,1.5]").unwrap();
        assert_eq!(read, one);
        assert_eq!(serde_json::to_string(&read).unwrap(), "[0.5,1.5]");
        let map: Common<BTreeMap<u8, char>> = BTreeMap::from([(1, 'a'), (2, 'b')]).into();
        let keys: Vec<u8> = (&map).into_iter().map(|(key, _)| *key).collect();
        assert_eq!(keys, [1, 2]);
    }

    #[test]
    fn it_is_one_value_until_somebody_changes_it() {
        let one = Shared::from(Counted(1.5));
        let mut other = one.clone();
        assert_eq!(one, other);
        assert!(Arc::ptr_eq(&one.inner, &other.inner));
        other.0 = 2.5;
        assert_ne!(one, other);
        assert_eq!((one.0, other.0), (1.5, 2.5));
        assert_eq!(one, Shared::from(Counted(1.5)));
        let kept = one.clone();
        assert_eq!(
            (one.into_inner(), kept.into_inner()),
            (Counted(1.5), Counted(1.5))
        );
    }

    #[test]
    fn what_has_no_text_is_told_and_reads_back_otherwise() {
        #[derive(Debug, Clone, PartialEq)]
        struct Wordless;
        impl Serialize for Wordless {
            fn serialize<S: Serializer>(&self, _: S) -> Result<S::Ok, S::Error> {
                Err(S::Error::custom("no words"))
            }
        }
        let told = serde_json::to_string(&Shared::from(Wordless)).unwrap_err();
        assert_eq!(told.to_string(), "no words");
        let read: Shared<Vec<f64>> = serde_json::from_str("[0.1,2]").unwrap();
        assert_eq!(*read, [0.1, 2.0]);
        assert_eq!(serde_json::to_string(&read).unwrap(), "[0.1,2.0]");
        assert_eq!(
            serde_json::to_value(&read).unwrap(),
            serde_json::json!([0.1, 2.0])
        );
    }
}
