//! One photo of the folder: as it looks, where it belongs, and a field to place it by hand.

use super::folder::{Seen, bytes_of};
use crate::photos::upright;
use crate::screens::code_picker::{Candidate, CodePicker};
use crate::view::{Outbox, View};
use domain::{AnyId, Project};
use egui::{ColorImage, Image, TextureHandle, TextureOptions, Ui, vec2};
use kit::theme::{muted, space};
use kit::widgets::main_button;
use kit::worker::Worker;
use paper::photos::Placement;
use std::path::PathBuf;

/// How many records are offered for what was typed.
const OFFERED: usize = 9;
/// The longer side of the picture, in pixels.
const SIDE: u32 = 800;

/// What the pane remembers between frames.
#[derive(Default)]
pub(super) struct State {
    reader: Worker<PathBuf, Result<ColorImage, String>>,
    picture: Option<(PathBuf, Result<TextureHandle, String>)>,
    /// The record that was chosen by hand, for which photo.
    chosen: Option<(PathBuf, AnyId)>,
}

/// Draws the pane. The record the photo is to be added to, once that is said.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    (photo, place): (&Seen, &Result<Placement, String>),
    may: bool,
    out: &mut Outbox<'_>,
) -> Option<AnyId> {
    state.follow(ui, photo);
    match &state.picture {
        Some((path, Ok(texture))) if *path == photo.path => {
            let size = vec2(ui.available_width(), 320.0);
            let image = Image::new(texture).max_size(size);
            ui.add(image.alt_text(format!("The photo {}", photo.name)));
        }
        Some((path, Err(why))) if *path == photo.path => {
            ui.add(egui::Label::new(muted(ui, why)).wrap());
        }
        _ => {
            ui.label(muted(ui, "Reading…"));
        }
    }
    ui.add_space(space::S);
    match place {
        Err(why) => {
            ui.add(egui::Label::new(why.as_str()).wrap());
            return None;
        }
        Ok(Placement::There(record)) => {
            ui.label(format!("It hangs on {}.", view.project.describe(*record)));
            if ui.button("Show the record").clicked() {
                out.show(*record);
            }
            return None;
        }
        Ok(Placement::To(record)) => {
            let words = view.project.describe(*record);
            ui.label(format!("The label of {words} is seen on it."));
        }
        Ok(Placement::Waiting(why)) => {
            ui.add(egui::Label::new(why.as_str()).wrap());
        }
    }
    if !may {
        return None;
    }
    let chosen = state
        .chosen
        .as_ref()
        .filter(|(path, record)| *path == photo.path && view.project.contains(*record));
    let mut chosen = chosen.map(|(_, record)| *record);
    ui.add_space(space::S);
    ui.label("By hand, it goes to");
    let shown = chosen.map_or("", |record| view.project.code_of(record));
    let name = format!("Record of {}", photo.name);
    let picker = CodePicker::new(&name).hint("a code").may_be_empty();
    if picker.show(ui, shown, view.project.revision(), &mut chosen, |typed| {
        find(view.project, typed)
    }) {
        state.chosen = chosen.map(|record| (photo.path.clone(), record));
    }
    let record = chosen?;
    let words = format!("Add it to {}", view.project.code_of(record));
    main_button(ui, &words).clicked().then_some(record)
}

impl State {
    /// Follows the worker that reads the photo and makes it small.
    fn follow(&mut self, ui: &Ui, photo: &Seen) {
        if self
            .picture
            .as_ref()
            .is_some_and(|(path, _)| *path == photo.path)
        {
            return;
        }
        let read = self.reader.follow(ui.ctx(), photo.path.clone(), || {
            let path = photo.path.clone();
            move |watch| {
                if watch.tell("Reading the photo", None).is_break() {
                    return None;
                }
                Some(bytes_of(&path).and_then(|bytes| upright(&bytes, SIDE)))
            }
        });
        if let Some(read) = read.filter(|read| read.current) {
            let texture = read.value.as_ref().as_ref().map_err(Clone::clone);
            let texture = texture.map(|image| {
                let options = TextureOptions::LINEAR;
                ui.ctx()
                    .load_texture("photo of the folder", image.clone(), options)
            });
            self.picture = Some((photo.path.clone(), texture));
        }
    }
}

/// The records whose codes fit what was typed: the one of just that code first, then those that begin with it.
fn find(project: &Project, typed: &str) -> Vec<Candidate<AnyId>> {
    let wanted = typed.trim().to_lowercase();
    let others = || project.codes().filter(|(code, _)| *code != wanted);
    let begins = others().filter(|(code, _)| code.starts_with(&wanted));
    let holds = others().filter(|(code, _)| !code.starts_with(&wanted) && code.contains(&wanted));
    project
        .find_code(&wanted)
        .chain(begins.chain(holds).map(|(_, id)| id))
        .take(OFFERED)
        .map(|id| Candidate {
            id,
            code: project.code_of(id).to_owned(),
            words: id.kind.noun().to_owned(),
        })
        .collect()
}
