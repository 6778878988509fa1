//! The dated notes and the photos of a record: a section that every detail can end with.

use crate::photos::{Picture, Size};
use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::record::journal::{NoteField, PhotoField};
use domain::{AnyId, Edit, Id, Note, Photo};
use egui::{Button, Image, Key, Modal, Modifiers, Role, TextEdit, Ui, WidgetInfo, vec2};
use kit::theme::{muted, space};
use kit::widgets::{DateField, TextField, section_heading};

/// What is being written about one record.
#[derive(Clone, Default)]
struct Draft {
    text: String,
    /// The day of the new note, once chosen; today until then.
    date: Option<NaiveDate>,
    /// The note handed in and not yet seen in the project: until then the words stay.
    sent: Option<Id<Note>>,
    /// The note being rewritten.
    rewriting: Option<(Id<Note>, String)>,
    /// The photo that is looked at by itself.
    shown: Option<Id<Photo>>,
}

/// The side of the square a photo is shown in beside its caption, in points.
const THUMBNAIL: f32 = 96.0;

/// Draws the notes and photos of a record, and what adds to them.
pub fn show(ui: &mut Ui, view: &View<'_>, about: impl Into<AnyId>, out: &mut Outbox<'_>) {
    let about = about.into();
    let memory = ui.make_persistent_id(("record notes", about));
    let mut draft: Draft = ui.data(|data| data.get_temp(memory)).unwrap_or_default();
    if draft
        .sent
        .take_if(|note| view.project.notes().contains(*note))
        .is_some()
    {
        draft = Draft {
            shown: draft.shown,
            ..Draft::default()
        };
    }
    section_heading(ui, "Notes and photos");
    ui.add_enabled_ui(view.read_only.is_none(), |ui| {
        for (nth, note) in (1..).zip(view.project.notes_on(about)) {
            ui.push_id(note.id, |ui| {
                note_ui(ui, nth, note, &mut draft.rewriting, out);
            });
        }
        new_note_ui(ui, view, about, &mut draft, out);
    });
    // Looking is for everybody, also where nothing can be changed.
    for (nth, photo) in (1..).zip(view.project.photos_of(about)) {
        ui.push_id(photo.id, |ui| {
            photo_ui(ui, view, nth, photo, &mut draft.shown, out);
        });
    }
    ui.add_enabled_ui(view.read_only.is_none(), |ui| {
        if ui.button("Add photo…").clicked() {
            out.ask(Request::AddPhoto(about));
        }
        ui.label(muted(ui, "Photos are copied into the folder 'photos' beside the project, and the originals stay as they are. Take that folder along with the project.").small());
    });
    large_ui(ui, view, &mut draft.shown);
    ui.data_mut(|data| data.insert_temp(memory, draft));
}

fn note_ui(
    ui: &mut Ui,
    nth: usize,
    note: &Note,
    rewriting: &mut Option<(Id<Note>, String)>,
    out: &mut Outbox<'_>,
) {
    if let Some((id, text)) = rewriting
        && *id == note.id
    {
        ui.add(
            TextEdit::multiline(text)
                .desired_rows(2)
                .desired_width(f32::INFINITY),
        )
        .accessible_name(format!("Words of note {nth}"));
        let (mut keep, mut leave) = (false, false);
        ui.horizontal(|ui| {
            keep = ui.button("Keep the words").clicked();
            leave = ui.button("Leave as it was").clicked();
        });
        if keep && text.trim() != note.text {
            out.edit(Edit::set(note.id, NoteField::Text(text.trim().to_owned())));
        }
        if keep || leave {
            *rewriting = None;
        }
        return;
    }
    ui.horizontal_top(|ui| {
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
            if small_button(ui, "Remove", &format!("Remove note {nth}")) {
                out.edit(Edit::remove(note.id));
            }
            if small_button(ui, "Rewrite", &format!("Rewrite note {nth}")) {
                *rewriting = Some((note.id, note.text.clone()));
            }
            ui.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| {
                let by = if note.by.is_empty() {
                    String::new()
                } else {
                    format!(", {}", note.by)
                };
                ui.label(muted(ui, format!("{}{by}", note.date)).small());
                ui.add(egui::Label::new(&note.text).wrap());
            });
        });
    });
}

fn new_note_ui(
    ui: &mut Ui,
    view: &View<'_>,
    about: AnyId,
    draft: &mut Draft,
    out: &mut Outbox<'_>,
) {
    let edit = TextEdit::multiline(&mut draft.text)
        .desired_rows(2)
        .desired_width(f32::INFINITY)
        .hint_text("What was seen, done or heard");
    let words = ui.add(edit).accessible_name("New note");
    let by_keys = words.has_focus()
        && ui.input_mut(|input| input.consume_key(Modifiers::COMMAND, Key::Enter));
    ui.horizontal(|ui| {
        let mut date = draft.date.unwrap_or(view.today);
        if DateField::new("Date of the new note", view.today)
            .show(ui, &mut date)
            .changed
        {
            draft.date = Some(date);
        }
        let add = ui
            .button("Add note")
            .on_hover_text("Ctrl+Enter in the words");
        if add.clicked() || by_keys {
            let id = out.ids.next();
            let by = view.preferences.who.clone();
            out.edit(Edit::add(Note {
                id,
                about,
                date,
                text: draft.text.trim().to_owned(),
                by,
            }));
            draft.sent = Some(id);
        }
    });
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
                if let Some(caption) = caption.show(ui, &photo.caption) {
                    out.edit(Edit::set(photo.id, PhotoField::Caption(caption)));
                }
                let mut date = photo.date;
                let field = format!("Date of {name}");
                if view.date_field(&field).show_optional(ui, &mut date).changed {
                    out.edit(Edit::set(photo.id, PhotoField::Date(date)));
                }
                if small_button(ui, "Remove", &format!("Remove {name}")) {
                    out.edit(Edit::remove(photo.id));
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
                ui.label(muted(ui, date.to_string()));
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
