//! A photo of a page read off the drawing thread, looked over, and accepted as one edit.

use super::cut_outs::CutOuts;
use crate::view::{Outbox, Request, View};
use domain::{Project, RecordKind};
use egui::{ScrollArea, Ui};
use kit::drafts::{self, FormKey};
use kit::theme::{Meaning, muted, space, strong};
use kit::widgets::{Column, ShortTable, TextField, badge, form_row, main_button, section_heading};
use kit::worker::Worker;
use paper::scoring_sheet::{ReadPage, Round, accept, read, typed_value};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::PathBuf;
use store::photos::MOST_PHOTO_BYTES;
use store::{Store, read_input};

/// The photo in hand: its path, and which one it is since the program began, so that the same one can be read again.
type Photo = (PathBuf, u64);

/// What is read, and what was typed beside it.
#[derive(Default)]
pub(super) struct State {
    photo: Option<Photo>,
    count: u64,
    reader: Worker<Photo, Result<ReadPage, String>>,
    page: Option<ReadPage>,
    fault: Option<String>,
    /// What was typed for each doubtful answer.
    typed: BTreeMap<usize, String>,
    by: String,
    site: String,
    /// What lies with the drafts.
    kept: Option<LookOver>,
    /// What was taken in an earlier look over this page.
    taken_up: BTreeMap<usize, String>,
    cut_outs: CutOuts,
    /// The photo being copied beside the project, once the page is accepted.
    keeper: Worker<Photo, Result<String, String>>,
    accepting: bool,
    last: String,
}

/// A page that is being looked over, as it lies with the drafts: it is there again after the program was ended.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
struct LookOver {
    photo: PathBuf,
    /// What was typed for each doubtful answer.
    typed: BTreeMap<usize, String>,
    /// What was taken for it; an empty text for an empty cell.
    taken: BTreeMap<usize, String>,
    by: String,
    site: String,
}

fn key() -> FormKey {
    FormKey::new("page read", "")
}

impl State {
    /// Takes up a page that was being looked over.
    fn take_up(&mut self, ui: &Ui) {
        if self.photo.is_some() {
            return;
        }
        if let Some(kept) = drafts::with(ui.ctx(), |drafts| drafts.state::<LookOver>(&key())) {
            self.read_in(kept.photo.clone());
            self.typed.clone_from(&kept.typed);
            self.by.clone_from(&kept.by);
            self.site.clone_from(&kept.site);
            self.taken_up = kept.taken;
        }
    }

    /// Answers that were taken before, once the photo is read again.
    fn answer_again(&mut self, project: &Project) {
        let Some(page) = &mut self.page else { return };
        for (each, text) in std::mem::take(&mut self.taken_up) {
            let Some(answer) = page.answers.get_mut(each) else {
                continue;
            };
            let Some(of_trait) = project.traits().get(answer.of_trait) else {
                continue;
            };
            // What can't be read so any longer is asked about again.
            if let Ok(value) = typed_value(of_trait, &text) {
                answer.value = value;
                answer.seen = true;
            }
        }
    }

    /// Keeps the page with the drafts, once anything was typed or taken.
    fn keep(&mut self, ui: &Ui) {
        let (Some((photo, _)), Some(page)) = (&self.photo, &self.page) else {
            return;
        };
        let shown =
            |value: Option<&domain::Value>| value.map(ToString::to_string).unwrap_or_default();
        let taken: BTreeMap<usize, String> = page
            .answers
            .iter()
            .enumerate()
            .filter(|(_, answer)| answer.seen)
            .map(|(each, answer)| (each, shown(answer.value.as_ref())))
            .collect();
        let typed = self.typed.iter().any(|(each, text)| {
            let answer = page.answers.get(*each);
            answer.is_some_and(|answer| !answer.seen && *text != shown(answer.value.as_ref()))
        });
        let kept = LookOver {
            photo: photo.clone(),
            typed: self.typed.clone(),
            taken,
            by: self.by.clone(),
            site: self.site.clone(),
        };
        if !typed && kept.taken.is_empty() && kept.by.is_empty() && kept.site.is_empty() {
            return;
        }
        if self.kept.as_ref() == Some(&kept) {
            return;
        }
        drafts::with(ui.ctx(), |drafts| {
            drafts.open(&key(), "The page of a scoring sheet", kept.clone());
            drafts.replace(&key(), &kept);
        });
        self.kept = Some(kept);
    }

    /// Reads this photo; what is kept of another gives way once something is typed.
    pub(super) fn read_in(&mut self, photo: PathBuf) {
        self.put_away();
        self.count += 1;
        self.photo = Some((photo, self.count));
        self.last.clear();
    }

    fn put_away(&mut self) {
        self.photo = None;
        self.page = None;
        self.fault = None;
        self.typed.clear();
        self.taken_up.clear();
        self.kept = None;
        self.cut_outs = CutOuts::default();
        self.accepting = false;
    }

    /// Follows the worker that reads.
    fn follow(&mut self, ui: &Ui, project: &Project) {
        let Some(photo) = self.photo.clone() else {
            return;
        };
        if self.page.is_some() || self.fault.is_some() {
            return;
        }
        let read = self.reader.follow(ui.ctx(), photo.clone(), || {
            let (path, project) = (photo.0, project.clone());
            move |progress: &mut kit::worker::JobProgress| {
                if progress.tell("Reading the photo", None).is_break() {
                    return None;
                }
                let bytes = read_input(&path, MOST_PHOTO_BYTES);
                Some(bytes.and_then(|bytes| read(&project, &bytes)))
            }
        });
        match read.filter(|read| read.current).as_deref() {
            Some(Ok(page)) => {
                self.page = Some(page.clone());
                self.answer_again(project);
            }
            Some(Err(sentence)) => self.fault = Some(sentence.clone()),
            None => {}
        }
    }

    /// Follows the worker that copies the photo of an accepted page, and then hands the page in.
    fn follow_accepted(&mut self, ui: &Ui, view: &View<'_>, out: &mut Outbox<'_>) {
        let (Some(photo), Some(page), true) = (&self.photo, &self.page, self.accepting) else {
            return;
        };
        let kept = self.keeper.follow(ui.ctx(), photo.clone(), || {
            let (chosen, project) = (photo.0.clone(), view.path.to_path_buf());
            move |_: &mut kit::worker::JobProgress| {
                let kept = Store::new("").keep_photo(&project, &chosen);
                Some(kept.map_err(|error| error.to_string()))
            }
        });
        let Some(kept) = kept.filter(|kept| kept.current) else {
            return;
        };
        self.accepting = false;
        let round = Round {
            date: view.today,
            by: self.by.trim().to_owned(),
            site: self.site.trim().to_owned(),
        };
        let accepted = (*kept.value)
            .clone()
            .and_then(|path| accept(view.project, page, &path, &round, out.ids));
        match accepted {
            Ok(accepted) => {
                self.last = format!(
                    "{} recorded from page {}.",
                    RecordKind::Observation.counted(accepted.observations),
                    page.page + 1
                );
                out.act_on(ui, "scoring sheet read", "a page", accepted.edit);
                self.put_away();
                drafts::with(ui.ctx(), |drafts| drafts.close(&key()));
            }
            Err(sentence) => self.fault = Some(sentence),
        }
    }
}

/// Draws the page in hand.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    if view.read_only.is_none() {
        state.take_up(ui);
    }
    state.follow(ui, view.project);
    state.follow_accepted(ui, view, out);
    ui.horizontal(|ui| {
        if ui.button("Read a photo…").clicked()
            || kit::page_keys::acts(ui, egui::Key::R, "read a photo")
        {
            out.ask(Request::OpenSheetPhoto);
        }
        if state.photo.is_some() && ui.button("Put the photo away").clicked() {
            state.put_away();
            drafts::with(ui.ctx(), |drafts| drafts.close(&key()));
        }
    });
    if !state.last.is_empty() {
        badge(ui, Meaning::Good, &state.last);
    }
    if let Some(fault) = &state.fault {
        badge(ui, Meaning::Danger, "not read");
        ui.add(egui::Label::new(fault.as_str()).wrap());
        return;
    }
    if state.photo.is_none() {
        ui.label("Photograph each page of a filled-in sheet by itself, the four rings in its corners in sight, and read the photo here.");
        return;
    }
    if state.page.is_none() {
        ui.label("The photo is being read.");
        return;
    }
    ScrollArea::vertical()
        .auto_shrink(false)
        .show(ui, |ui| page_ui(ui, view, state));
    if view.read_only.is_none() {
        state.keep(ui);
    }
}

fn page_ui(ui: &mut Ui, view: &View<'_>, state: &mut State) {
    let Some(page) = &mut state.page else { return };
    let project = view.project;
    let name = project
        .scoring_sheets()
        .get(page.sheet)
        .map_or("a sheet that was removed", |sheet| sheet.name.as_str());
    section_heading(ui, &format!("{name}, page {}", page.page + 1));
    if page.reading.head.iter().any(|(_, written)| *written) {
        let head = state.cut_outs.head(ui.ctx(), page);
        shown(ui, head, "Day and person as written");
    }
    form_row(ui, "Scored by", |ui| {
        TextField::new("Scored by")
            .width(200.0)
            .edit(ui, &mut state.by);
    });
    form_row(ui, "Site", |ui| {
        TextField::new("Site")
            .width(200.0)
            .edit(ui, &mut state.site);
    });
    ui.label(muted(
        ui,
        format!(
            "Recorded for {}. For another day, choose it at the top of the window.",
            view.on_button()
        ),
    ));
    doubtful_ui(ui, project, page, &mut state.typed, &mut state.cut_outs);
    let waiting = page.doubtful();
    ui.add_space(space::S);
    let values = page
        .answers
        .iter()
        .filter(|answer| answer.value.is_some() && !answer.needs_a_look())
        .count();
    let may = waiting == 0 && view.read_only.is_none() && !state.accepting;
    let words = format!(
        "Record {} of this page, {}",
        RecordKind::Observation.counted(values),
        view.on_button()
    );
    let clicked = ui
        .add_enabled_ui(may, |ui| main_button(ui, &words).clicked())
        .inner;
    if waiting > 0 {
        ui.label(strong(match waiting {
            1 => "One cell is still to be looked at.".to_owned(),
            count => format!("{count} cells are still to be looked at."),
        }));
    } else if let Some(why) = view.read_only {
        ui.label(strong(why));
    }
    if clicked {
        state.accepting = true;
        ui.ctx().request_repaint();
    }
    answers_ui(ui, project, page);
}

/// The cells that need a look: each as it is on the paper, with a field to type what it says.
fn doubtful_ui(
    ui: &mut Ui,
    project: &Project,
    page: &mut ReadPage,
    typed: &mut BTreeMap<usize, String>,
    cut_outs: &mut CutOuts,
) {
    let doubtful: Vec<usize> = (0..page.answers.len())
        .filter(|&each| page.answers[each].cell.needs_a_look())
        .collect();
    if doubtful.is_empty() {
        return;
    }
    section_heading(ui, "To be looked at");
    if page.doubtful() > 1 && ui.button("Leave the rest of these empty").clicked() {
        for &each in &doubtful {
            let answer = &mut page.answers[each];
            if !answer.seen {
                answer.seen = true;
                answer.value = None;
            }
        }
    }
    for each in doubtful {
        let answer = &page.answers[each];
        let of_trait = project.traits().get(answer.of_trait);
        let named = format!(
            "{} of {}",
            of_trait.map_or("?", |of_trait| of_trait.name.as_str()),
            project.code_of(answer.plant)
        );
        let words = answer.words();
        let cut = cut_outs.of(ui.ctx(), page, each);
        shown(ui, cut, &format!("{named} on the paper"));
        let answer = &mut page.answers[each];
        ui.horizontal(|ui| {
            let text = typed.entry(each).or_insert_with(|| {
                let read = answer.value.as_ref();
                read.map(ToString::to_string).unwrap_or_default()
            });
            TextField::new(&named).width(110.0).edit(ui, text);
            let value = of_trait.map(|of_trait| typed_value(of_trait, text));
            let take = ui.button("Take this");
            take.widget_info(|| {
                let name = format!("Take this for {named}");
                egui::WidgetInfo::labeled(egui::Role::Button, true, name)
            });
            match (take.clicked(), value) {
                (true, Some(Ok(value))) => {
                    answer.value = value;
                    answer.seen = true;
                }
                (false, Some(Ok(_))) | (_, None) => {}
                (_, Some(Err(sentence))) => {
                    ui.label(strong(sentence));
                }
            }
            if answer.seen {
                let taken = answer.value.as_ref();
                let taken = taken.map_or_else(|| "empty".to_owned(), ToString::to_string);
                badge(ui, Meaning::Good, &format!("taken: {taken}"));
            } else {
                ui.label(muted(ui, words));
            }
        });
    }
}

fn shown(ui: &mut Ui, picture: &egui::TextureHandle, name: &str) {
    let size = picture.size_vec2() * 0.62;
    let fits = (ui.available_width() / size.x).min(1.0);
    ui.add(egui::Image::new((picture.id(), size * fits)).alt_text(name));
}

/// All that was read, row by row as on the paper.
fn answers_ui(ui: &mut Ui, project: &Project, page: &ReadPage) {
    section_heading(ui, "The page");
    let columns = page
        .answers
        .iter()
        .take_while(|answer| answer.cell.row == 0)
        .count()
        .max(1);
    let mut heads = vec![Column::text("Plant", 120.0)];
    for answer in page.answers.iter().take(columns) {
        let of_trait = project.traits().get(answer.of_trait);
        let name = of_trait.map_or("?", |of_trait| of_trait.name.as_str());
        heads.push(Column::number(name, 116.0));
    }
    let rows: Vec<_> = page.answers.chunks(columns).collect();
    ShortTable::new("The page", &heads).show(ui, rows.len(), |ui, row, column| {
        let Some(which) = column.checked_sub(1) else {
            ui.label(project.code_of(rows[row][0].plant));
            return;
        };
        let Some(answer) = rows[row].get(which) else {
            return;
        };
        match &answer.value {
            _ if answer.needs_a_look() => {
                ui.label(muted(ui, "to be looked at"));
            }
            Some(value) => {
                ui.label(value.to_string());
            }
            None => {}
        }
    });
}
