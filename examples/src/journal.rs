//! Notes and tasks.

use crate::maker::{Made, Maker};
use crate::people_and_place::MARET;
use domain::{AnyId, Edit, Note, Task};

/// A note on a record.
pub(crate) fn note(make: &mut Maker, about: impl Into<AnyId>, offset: i64, text: &str) -> Made {
    let date = make.turn_to(offset);
    let id = make.ids.next();
    make.apply(Edit::add(Note {
        id,
        about: about.into(),
        date,
        text: text.into(),
        by: MARET.into(),
    }))
}

/// A task, and when it was done.
pub(crate) fn task(
    make: &mut Maker,
    title: &str,
    about: Option<AnyId>,
    due: i64,
    done: Option<i64>,
) -> Made {
    make.turn_to(due.min(-1));
    let task = Task {
        id: make.ids.next(),
        title: title.into(),
        due: make.day(due),
        about,
        done: done.map(|offset| make.day(offset)),
        remark: String::new(),
    };
    make.apply(Edit::add(task))
}
