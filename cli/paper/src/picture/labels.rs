//! Labels of a drawing, none over another.

use super::view::View;

/// A rectangle in units of the drawing: left, top, right, bottom.
type Patch = (i32, i32, i32, i32);

fn meets(one: Patch, other: Patch) -> bool {
    one.0 < other.2 && other.0 < one.2 && one.1 < other.3 && other.1 < one.3
}

/// Where labels may stand: none over another.
pub(super) struct Labels {
    view: View,
    taken: Vec<Patch>,
}

impl Labels {
    pub(super) const fn new(view: View) -> Self {
        Self {
            view,
            taken: Vec::new(),
        }
    }

    fn patch(&self, (x, y): (i32, i32), text: &str) -> Patch {
        (x, y - self.view.label, x + self.view.wide(text) + 4, y + 3)
    }

    /// The first of some places at which a text meets no other; `None` when all are taken.
    pub(super) fn place(
        &mut self,
        text: &str,
        places: impl Iterator<Item = (i32, i32)>,
        right: i32,
    ) -> Option<(i32, i32)> {
        let free = |place: &(i32, i32)| {
            let patch = self.patch(*place, text);
            patch.2 <= right && self.taken.iter().all(|taken| !meets(patch, *taken))
        };
        let mut places = places;
        let place = places.find(free)?;
        self.taken.push(self.patch(place, text));
        Some(place)
    }
}
