//! Notes and tasks.

use crate::maker::{Made, Maker};
use crate::people_and_place::MARET;
use domain::record::journal::TaskField;
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

/// A task, written down six weeks before its day, and when it was done.
pub(crate) fn task(
    make: &mut Maker,
    title: &str,
    about: Option<AnyId>,
    due: i64,
    done: Option<i64>,
) -> Made {
    make.turn_to(due - 42);
    let id = make.ids.next();
    make.apply(Edit::add(Task {
        id,
        title: title.into(),
        due: make.day(due),
        about,
        done: None,
        remark: String::new(),
    }))?;
    let Some(done) = done else {
        return Ok(());
    };
    let day = make.turn_to(done);
    make.apply(Edit::set(id, TaskField::Done(Some(day))))
}
