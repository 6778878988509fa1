//! Photos by the folder: those on which a label is seen go to its record, the rest wait to be placed by hand.

mod folder;
mod one_photo;

use crate::view::{Outbox, Request, View};
use domain::{AnyId, Edit, Project};
use egui::Ui;
use exchange::photo::PhotoFacts;
use folder::{Looked, Seen};
use kit::theme::{Meaning, muted};
use kit::widgets::{
    Column, Rows, Table, TableState, badge, empty_state, heading, list_and_detail, main_button,
    section_heading, segmented,
};
use kit::worker::{JobProgress, Worker};
use paper::photos::{Placement, hang, place};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use store::Store;

/// What the screen remembers between frames.
#[derive(Default)]
pub struct State {
    /// The folder, and which look at it this is.
    folder: Option<(PathBuf, u64)>,
    looks: u64,
    looker: Worker<(PathBuf, u64), Result<Looked, String>>,
    places: Places,
    only: Option<Standing>,
    table: TableState<usize>,
    pane: one_photo::State,
    keeper: Worker<u64, Vec<Result<Kept, String>>>,
    /// The photos that are being copied, and which copying it is.
    keeping: Option<(u64, Vec<(PathBuf, AnyId)>)>,
    keepings: u64,
}

/// A photo copied beside the project, and the record it goes to.
type Kept = (AnyId, String, PhotoFacts);

/// How a photo of the folder stands, in the order in which it is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Standing {
    Goes,
    Waits,
    There,
    Unread,
}

impl Standing {
    const fn word(self) -> &'static str {
        match self {
            Self::Goes => "to be added",
            Self::Waits => "to be placed",
            Self::There => "there already",
            Self::Unread => "not read",
        }
    }
}

/// All photos, or those that stand so.
type Shown = Option<Standing>;

/// The photos that the rows were gathered for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct RowsOf(Shown);

/// Where each photo belongs, kept for one look at the folder and one state of the project.
#[derive(Default)]
struct Places {
    of: Option<(usize, u64)>,
    each: Vec<Result<Placement, String>>,
    counts: BTreeMap<Standing, usize>,
    rows: Vec<usize>,
    /// What `rows` were gathered for; nothing while they are to be gathered anew.
    rows_of: Option<RowsOf>,
}

impl Places {
    fn keep(&mut self, look: usize, project: &Project, seen: &[Seen]) {
        if self.of == Some((look, project.revision())) {
            return;
        }
        self.each = seen
            .iter()
            .map(|photo| {
                let found = photo.found.as_ref().map_err(Clone::clone);
                found.map(|(facts, path)| place(project, facts, path))
            })
            .collect();
        self.counts.clear();
        for each in &self.each {
            *self.counts.entry(standing(each)).or_default() += 1;
        }
        self.of = Some((look, project.revision()));
        self.rows_of = None;
    }

    fn show_only(&mut self, only: Option<Standing>) {
        if self.rows_of == Some(RowsOf(only)) {
            return;
        }
        let fits = |row: &usize| only.is_none_or(|only| standing(&self.each[*row]) == only);
        self.rows = (0..self.each.len()).filter(fits).collect();
        self.rows_of = Some(RowsOf(only));
    }
}

const fn standing(place: &Result<Placement, String>) -> Standing {
    match place {
        Ok(Placement::To(_)) => Standing::Goes,
        Ok(Placement::There(_)) => Standing::There,
        Ok(Placement::Waiting(_)) => Standing::Waits,
        Err(_) => Standing::Unread,
    }
}

/// Looks through a folder.
pub fn look_through(state: &mut State, folder: PathBuf) {
    let looks = state.looks + 1;
    *state = State {
        folder: Some((folder, looks)),
        looks,
        keepings: state.keepings,
        ..State::default()
    };
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    heading(ui, "Photos");
    if view.read_only.is_none() && kit::page_keys::acts(ui, egui::Key::P, "choose a folder") {
        out.ask(Request::OpenPhotoFolder);
    }
    let Some(folder) = state.folder.clone() else {
        let sentence = "Choose a folder of photos, such as the one a telephone or camera is read out to. Those on which the \
            code of a label is seen go to its record; the rest wait here to be placed by hand. The day is that of the \
            picture, and the originals stay as they are.";
        if view.read_only.is_none() && empty_state(ui, sentence, "Choose a folder…") {
            out.ask(Request::OpenPhotoFolder);
        }
        return;
    };
    let looked = state.looker.follow(ui.ctx(), folder.clone(), || {
        let folder = folder.0.clone();
        move |watch| folder::look_through(&folder, watch)
    });
    follow_keeping(ui, view, state, out);
    ui.horizontal_wrapped(|ui| {
        section_heading(ui, &folder.0.display().to_string());
        if ui.button("Close the folder").clicked() {
            state.folder = None;
        }
        if let Some(progress) = state.looker.progress() {
            ui.label(muted(ui, format!("{}…", progress.words)));
            if ui.button("Stop").clicked() {
                state.folder = None;
            }
        }
    });
    let Some(looked) = looked.filter(|looked| looked.current) else {
        return;
    };
    match &*looked.value {
        Err(sentence) => {
            badge(ui, Meaning::Danger, "It can't be read");
            ui.label(sentence);
        }
        Ok(found) => {
            let look = Arc::as_ptr(&looked.value).addr();
            state.places.keep(look, view.project, &found.photos);
            for note in &found.notes {
                ui.label(muted(ui, note));
            }
            summary(ui, view, state, &found.photos);
            photos(ui, view, state, found, out);
        }
    }
}

/// What stands how, and the button that adds those whose record is known.
fn summary(ui: &mut Ui, view: &View<'_>, state: &mut State, photos: &[Seen]) {
    ui.horizontal_wrapped(|ui| {
        let all = format!("all {}", photos.len());
        let words: Vec<(Option<Standing>, String)> =
            std::iter::once((None, all))
                .chain(state.places.counts.iter().map(|(standing, count)| {
                    (Some(*standing), format!("{count} {}", standing.word()))
                }))
                .collect();
        let choices: Vec<(Option<Standing>, &str)> = words
            .iter()
            .map(|(only, words)| (*only, words.as_str()))
            .collect();
        segmented(ui, "Photos shown", &mut state.only, &choices);
        let going = state.places.counts.get(&Standing::Goes).copied();
        if state.keeping.is_some() {
            ui.label(muted(ui, "They are being copied…"));
        } else if let (Some(count), None) = (going, view.read_only) {
            let words = match count {
                1 => "Add 1 photo to its record".to_owned(),
                many => format!("Add {many} photos to their records"),
            };
            if main_button(ui, &words).clicked() {
                let going = photos.iter().zip(&state.places.each);
                let wanted = going
                    .filter_map(|(photo, place)| match place {
                        Ok(Placement::To(record)) => Some((photo.path.clone(), *record)),
                        _ => None,
                    })
                    .collect();
                keep(state, wanted);
            }
        }
    });
}

/// Begins to copy photos beside the project.
fn keep(state: &mut State, wanted: Vec<(PathBuf, AnyId)>) {
    state.keepings += 1;
    state.keeping = Some((state.keepings, wanted));
}

/// Copies the photos on a thread of its own.
fn copy(
    project: &Path,
    wanted: Vec<(PathBuf, AnyId)>,
    watch: &mut JobProgress,
) -> Option<Vec<Result<Kept, String>>> {
    let all = wanted.len() as f32;
    let mut kept = Vec::new();
    for (nth, (path, record)) in wanted.into_iter().enumerate() {
        let part = Some(nth as f32 / all);
        if watch.tell("Copying the photos", part).is_break() {
            return None;
        }
        let copied = Store::new("").keep_photo(project, &path);
        let copied = copied.map_err(|error| error.to_string());
        kept.push(copied.and_then(|copied| Ok((record, copied, folder::facts_of(&path)?))));
    }
    Some(kept)
}

/// Follows the copying, and hands in what was copied as one edit.
fn follow_keeping(ui: &Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let Some((keeping, wanted)) = &state.keeping else {
        return;
    };
    let keeping = *keeping;
    let kept = state.keeper.follow(ui.ctx(), keeping, || {
        let (project, wanted) = (view.path.to_path_buf(), wanted.clone());
        move |watch| copy(&project, wanted, watch)
    });
    let Some(kept) = kept.filter(|kept| kept.current) else {
        if state.keeper.ended_without() == Some(&keeping) {
            state.keeping = None;
            out.say("Copying the photos broke off; none was added. Try again.");
        }
        return;
    };
    state.keeping = None;
    let good: Vec<Kept> = kept.value.iter().flatten().cloned().collect();
    if !good.is_empty() {
        let edit: Edit = hang(&good, out.ids);
        out.act_on(ui, "photos added", &keeping.to_string(), edit);
    }
    let mut bad = kept.value.iter().filter_map(|kept| kept.as_ref().err());
    if let Some(sentence) = bad.next() {
        out.say(format!(
            "{} could not be copied. The first: {sentence}",
            match bad.count() {
                0 => "1 photo".to_owned(),
                more => format!("{} photos", more + 1),
            }
        ));
    }
}

/// The photos, and beside them the one that is chosen.
fn photos(ui: &mut Ui, view: &View<'_>, state: &mut State, found: &Looked, out: &mut Outbox<'_>) {
    state.places.show_only(state.only);
    let chosen = state
        .table
        .only_selected()
        .filter(|row| *row < found.photos.len());
    let mut open = chosen.is_some();
    let title = chosen.map_or("", |row| found.photos[row].name.as_str());
    let mut wanted = None;
    let State {
        table,
        places,
        pane,
        keeping,
        ..
    } = state;
    list_and_detail(
        ui,
        "photos of the folder",
        &mut open,
        title,
        table,
        |ui, table| list(ui, view.project, found, places, table),
        |ui, _| {
            if let Some(row) = chosen {
                let place = &places.each[row];
                let may = view.read_only.is_none() && keeping.is_none();
                let photo = &found.photos[row];
                if let Some(record) = one_photo::show(ui, view, pane, (photo, place), may, out) {
                    wanted = Some((photo.path.clone(), record));
                }
            }
        },
    );
    if chosen.is_some() && !open {
        state.table.clear_selection();
    }
    if let Some(wanted) = wanted {
        keep(state, vec![wanted]);
    }
}

fn list(
    ui: &mut Ui,
    project: &Project,
    found: &Looked,
    places: &Places,
    table: &mut TableState<usize>,
) {
    let columns = [
        Column::text("Photo", 190.0).unsortable(),
        Column::text("Day", 110.0).unsortable(),
        Column::text("Standing", 110.0).unsortable(),
        Column::text("Where it belongs", 260.0)
            .unsortable()
            .stretch(),
    ];
    let rows = &places.rows;
    let shown = Rows {
        count: rows.len(),
        key: |row: usize| rows[row],
        name: |row: usize| found.photos[rows[row]].name.clone(),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let (photo, place) = (&found.photos[rows[row]], &places.each[rows[row]]);
            match column {
                0 => ui.label(&photo.name),
                1 => {
                    let day = photo.found.as_ref().ok().and_then(|(facts, _)| facts.taken);
                    match day {
                        Some(at) => ui.label(kit::dates::day(at.date())),
                        None => ui.label(muted(ui, "not known")),
                    }
                }
                2 => ui.label(standing(place).word()),
                _ => {
                    let words = match place {
                        Ok(Placement::To(record) | Placement::There(record)) => {
                            project.describe(*record)
                        }
                        Ok(Placement::Waiting(why)) | Err(why) => why.clone(),
                    };
                    ui.label(&words).on_hover_text(words)
                }
            };
        },
    };
    Table::new("Photos of the folder", &columns).show(ui, table, shown);
}
