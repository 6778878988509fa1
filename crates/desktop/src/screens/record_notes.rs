//! The dated notes and the photos of a record: a section that every detail can end with.

use super::fields;
use crate::theme::{muted, space};
use crate::view::{Outbox, Request, View};
use crate::widgets::{DateField, section_heading};
use chrono::NaiveDate;
use domain::record::journal::{NoteField, PhotoField};
use domain::{AnyId, Edit, Id, Note, Photo};
use egui::{Button, Key, Modifiers, Role, TextEdit, Ui, WidgetInfo, vec2};
use std::path::{Component, Path};

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
}

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
        draft = Draft::default();
    }
    section_heading(ui, "Notes and photos");
    ui.add_enabled_ui(view.read_only.is_none(), |ui| {
        for (nth, note) in (1..).zip(view.project.notes_on(about)) {
            ui.push_id(note.id, |ui| note_ui(ui, nth, note, &mut draft.rewriting, out));
        }
        new_note_ui(ui, view, about, &mut draft, out);
        for (nth, photo) in (1..).zip(view.project.photos_of(about)) {
            ui.push_id(photo.id, |ui| photo_ui(ui, view, nth, photo, out));
        }
        if ui.button("Add photo…").clicked() {
            out.ask(Request::AddPhoto(about));
        }
        ui.label(muted(ui, "Photos stay files of their own, in the folder of the project or beneath it, so that they travel with it.").small());
    });
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

fn photo_ui(ui: &mut Ui, view: &View<'_>, nth: usize, photo: &Photo, out: &mut Outbox<'_>) {
    ui.horizontal(|ui| {
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if small_button(ui, "Remove", &format!("Remove photo {nth}")) {
                out.edit(Edit::remove(photo.id));
            }
            ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
                ui.add(egui::Label::new(format!("Photo {nth}: {}", photo.path)).truncate());
            });
        });
    });
    if let Some(caption) = fields::text(ui, &format!("Caption of photo {nth}"), &photo.caption) {
        out.edit(Edit::set(photo.id, PhotoField::Caption(caption)));
    }
    if let Some(date) =
        fields::optional_day(ui, &format!("Date of photo {nth}"), view.today, photo.date)
    {
        out.edit(Edit::set(photo.id, PhotoField::Date(date)));
    }
}

fn small_button(ui: &mut Ui, text: &str, name: &str) -> bool {
    let button = ui.add(
        Button::new(text)
            .small()
            .min_size(vec2(space::TARGET, space::XL)),
    );
    button.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    button.clicked()
}

/// The path of a photo from the folder of the project's file, with forward slashes; where it lies elsewhere, a
/// sentence saying what to do.
pub fn path_in_project(project_file: &Path, photo: &Path) -> Result<String, String> {
    let whole = |path: &Path| {
        path.canonicalize()
            .or_else(|_| std::path::absolute(path))
            .unwrap_or_else(|_| path.to_owned())
    };
    let folder = whole(
        project_file
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty())
            .unwrap_or(Path::new(".")),
    );
    let photo_path = whole(photo);
    let word = |step| {
        if let Component::Normal(word) = step {
            word.to_str()
        } else {
            None
        }
    };
    let steps: Option<Vec<&str>> = photo_path
        .strip_prefix(&folder)
        .ok()
        .and_then(|inside| inside.components().map(word).collect());
    steps.map(|steps| steps.join("/")).ok_or_else(|| {
        format!(
            "'{}' doesn't lie in the project's folder, {}. Copy it there, then add it.",
            photo.display(),
            folder.display()
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photo_is_named_from_the_project_folder_or_refused() {
        let project = Path::new("/hops/yard.binewright");
        assert_eq!(
            path_in_project(project, Path::new("/hops/photos/a b.jpg")),
            Ok("photos/a b.jpg".into())
        );
        let refused = path_in_project(project, Path::new("/camera/a.jpg")).unwrap_err();
        assert!(refused.contains("Copy it there"), "{refused}");
    }
}
