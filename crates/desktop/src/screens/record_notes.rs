//! The dated notes and the photos of a record: a section that every detail can end with.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::photos::{Picture, Size};
use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::record::journal::{NoteField, PhotoField};
use domain::{AnyId, Edit, Id, IdSource, Note, Photo};
use egui::{Button, Image, Modal, Role, TextEdit, Ui, WidgetInfo, vec2};
use kit::form::Action;
use kit::theme::{muted, space};
use kit::widgets::{TextField, section_heading};

/// A note on a record, new or rewritten, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct NoteForm {
    about: AnyId,
    text: String,
    date: NaiveDate,
    /// The note that is rewritten.
    rewrites: Option<Id<Note>>,
}

impl RecordForm for NoteForm {
    const KIND: FormKind = FormKind::Note;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let edit = TextEdit::multiline(&mut self.text)
            .desired_rows(2)
            .desired_width(f32::INFINITY)
            .hint_text("Anything seen, done or heard");
        let name = if self.rewrites.is_some() {
            "Words of the note"
        } else {
            "New note"
        };
        ui.add(edit).accessible_name(name);
        if self.rewrites.is_none() {
            view.date_field("Date of the new note")
                .show(ui, &mut self.date);
        }
        let code = view.project.code_of(self.about);
        let day = kit::dates::on_button(self.date, view.clock);
        let words = match self.rewrites {
            Some(_) => format!("Save note, {day}"),
            None if code.is_empty() => format!("Add the note, {day}"),
            None => format!("Add the note on {code}, {day}"),
        };
        Action::new(words).needs(!self.text.trim().is_empty(), "Write what is to be kept.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let text = self.text.trim().to_owned();
        Ok(match self.rewrites {
            Some(note) => Edit::set(note, NoteField::Text(text)).into(),
            None => Edit::add(Note {
                id: ids.next(),
                about: self.about,
                date: self.date,
                text,
                by: view.preferences.who.clone(),
            })
            .into(),
        })
    }
}

/// The side of the square a photo is shown in beside its caption, in points.
const THUMBNAIL: f32 = 96.0;

/// Draws the notes and photos of a record, and what adds to them.
pub fn show(ui: &mut Ui, view: &View<'_>, about: impl Into<AnyId>, out: &mut Outbox<'_>) {
    let about = about.into();
    let memory = ui.make_persistent_id(("photo by itself", about));
    let mut looked_at: Option<Id<Photo>> =
        ui.data(|data| data.get_temp(memory)).unwrap_or_default();
    section_heading(ui, "Notes and photos");
    ui.add_enabled_ui(view.read_only.is_none(), |ui| {
        for (nth, note) in (1..).zip(view.project.notes_on(about)) {
            ui.push_id(note.id, |ui| {
                note_ui(ui, view, nth, note, out);
            });
        }
        new_note_ui(ui, view, about, out);
    });
    // Looking is for everybody, also where nothing can be changed.
    for (nth, photo) in (1..).zip(view.project.photos_of(about)) {
        kit::drafts::about(ui, photo.id.uuid(), &format!("photo {nth}"), |ui| {
            photo_ui(ui, view, nth, photo, &mut looked_at, out);
        });
    }
    ui.add_enabled_ui(view.read_only.is_none(), |ui| {
        if ui.button("Add photo…").clicked() {
            out.ask(Request::AddPhoto(about));
        }
        ui.label(muted(ui, "Photos are copied into the folder 'photos' beside the project, and the originals stay as they are. Take that folder along with the project.").small());
    });
    large_ui(ui, view, &mut looked_at);
    ui.data_mut(|data| data.insert_temp(memory, looked_at));
}

fn note_ui(ui: &mut Ui, view: &View<'_>, nth: usize, note: &Note, out: &mut Outbox<'_>) {
    if forms::show::<NoteForm>(ui, view, note.id.uuid(), out) {
        return;
    }
    ui.horizontal_top(|ui| {
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
            if small_button(ui, "Remove", &format!("Remove note {nth}")) {
                out.act(ui, "remove", note.id, Edit::remove(note.id));
            }
            if small_button(ui, "Edit", &format!("Rewrite note {nth}")) {
                let form = NoteForm {
                    about: note.about,
                    text: note.text.clone(),
                    date: note.date,
                    rewrites: Some(note.id),
                };
                forms::open(ui.ctx(), note.id.uuid(), &note.text, form);
            }
            ui.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| {
                let by = if note.by.is_empty() {
                    String::new()
                } else {
                    format!(", {}", note.by)
                };
                ui.label(muted(ui, format!("{}{by}", kit::dates::day(note.date))).small());
                ui.add(egui::Label::new(&note.text).wrap());
            });
        });
    });
}

fn new_note_ui(ui: &mut Ui, view: &View<'_>, about: AnyId, out: &mut Outbox<'_>) {
    if !forms::show::<NoteForm>(ui, view, about.uuid, out) && ui.button("Add a note…").clicked() {
        let form = NoteForm {
            about,
            text: String::new(),
            date: view.today,
            rewrites: None,
        };
        forms::open(ui.ctx(), about.uuid, view.project.describe(about), form);
    }
}

fn photo_ui(
    ui: &mut Ui,
    view: &View<'_>,
    nth: usize,
    photo: &Photo,
    shown: &mut Option<Id<Photo>>,
    out: &mut Outbox<'_>,
) {
    let name = format!("photo {nth}");
    ui.horizontal_top(|ui| {
        ui.allocate_ui(vec2(THUMBNAIL, THUMBNAIL), |ui| {
            ui.set_min_size(vec2(THUMBNAIL, THUMBNAIL));
            match view
                .derived
                .photos
                .picture(ui.ctx(), &photo.path, Size::Small)
            {
                Picture::Coming => {
                    ui.label(muted(ui, "Reading…").small());
                }
                Picture::Not(why) => {
                    ui.add(egui::Label::new(muted(ui, &why).small()).wrap())
                        .on_hover_text(&photo.path);
                }
                Picture::Here(texture) => {
                    let image = Image::new(&texture).max_size(vec2(THUMBNAIL, THUMBNAIL));
                    let look = ui.add(Button::image(image).frame(false));
                    let words = format!("Look at {name}");
                    look.widget_info(|| WidgetInfo::labeled(Role::Button, true, &words));
                    if look.on_hover_text(&photo.path).clicked() {
                        *shown = Some(photo.id);
                    }
                }
            }
        });
        ui.vertical(|ui| {
            ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                let caption = format!("Caption of {name}");
                let caption = TextField::new(&caption).hint("caption");
                if let Some((caption, ticket)) = caption.show(ui, &photo.caption) {
                    out.submit(ticket, Edit::set(photo.id, PhotoField::Caption(caption)));
                }
                let mut date = photo.date;
                let field = format!("Date of {name}");
                if let Some(ticket) = view.date_field(&field).show_optional(ui, &mut date).ticket {
                    out.submit(ticket, Edit::set(photo.id, PhotoField::Date(date)));
                }
                if small_button(ui, "Remove", &format!("Remove {name}")) {
                    out.act(ui, "remove", photo.id, Edit::remove(photo.id));
                }
            });
        });
    });
}

/// A photo by itself, over the window.
fn large_ui(ui: &Ui, view: &View<'_>, shown: &mut Option<Id<Photo>>) {
    let Some(photo) = shown.and_then(|id| view.project.photos().get(id)) else {
        *shown = None;
        return;
    };
    let room = ui.ctx().content_rect().size() - vec2(120.0, 160.0);
    let modal = Modal::new(egui::Id::unique("photo by itself")).show(ui.ctx(), |ui| {
        match view
            .derived
            .photos
            .picture(ui.ctx(), &photo.path, Size::Large)
        {
            Picture::Coming => {
                ui.label("Reading…");
            }
            Picture::Not(why) => {
                ui.label(why);
            }
            Picture::Here(texture) => {
                let what = if photo.caption.is_empty() {
                    view.project.describe(photo.id.into())
                } else {
                    photo.caption.clone()
                };
                let image = Image::new(&texture).max_size(room).alt_text(&what);
                ui.add(image);
            }
        }
        ui.horizontal(|ui| {
            let done = ui.button("Done").clicked();
            ui.label(&photo.caption);
            if let Some(date) = photo.date {
                ui.label(muted(ui, kit::dates::day(date)));
            }
            done
        })
        .inner
    });
    if modal.inner || modal.should_close() {
        *shown = None;
    }
}

fn small_button(ui: &mut Ui, text: &str, name: &str) -> bool {
    let button = ui.add(Button::new(text).min_size(vec2(space::TARGET, space::TARGET)));
    button.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    button.clicked()
}
