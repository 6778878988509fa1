//! The findings: what is doubtful or missing in the records, each with its remedy.

use crate::record_history::time;
use crate::view::{Outbox, Request, View};
use domain::findings::{Finding, Weight};
use domain::{AnyId, Project};
use egui::{Align, Layout, Role, ScrollArea, Ui, WidgetInfo};
use kit::theme::{Meaning, muted, space, strong};
use kit::widgets::{TakenTable, badge, find_box, heading, offer_table, section_heading, segmented};
use kit::worker::Worker;
use store::{LostChanges, QuarantinedFile};

/// What the findings screen remembers between frames.
#[derive(Default)]
pub struct State {
    weight: Option<Weight>,
    find: String,
    /// The quarantined files beside the project, as of which save.
    quarantine: Worker<u64, Vec<QuarantinedFile>>,
    /// Reads all photos; its answer is how many aren't as they were added.
    photos: Worker<u64, usize>,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let all = view.derived.findings(view.project, view.today, ui.ctx());
    heading(ui, "Findings");
    ui.label(muted(
        ui,
        "None of these stops you working. Each says what to do, and disappears once it is fixed.",
    ));
    ui.horizontal(|ui| {
        let count = |weight: Weight| {
            all.iter()
                .filter(|finding| finding.weight == weight)
                .count()
        };
        let missing = missing(view).len();
        let (faults, doubts, gaps) = (
            count(Weight::Fault) + missing,
            count(Weight::Doubt),
            count(Weight::Gap),
        );
        let words = [
            format!("All {}", all.len() + missing),
            format!("Faults {faults}"),
            format!("Doubts {doubts}"),
            format!("Gaps {gaps}"),
        ];
        let choices = [
            (None, words[0].as_str()),
            (Some(Weight::Fault), words[1].as_str()),
            (Some(Weight::Doubt), words[2].as_str()),
            (Some(Weight::Gap), words[3].as_str()),
        ];
        segmented(ui, "Which findings", &mut state.weight, &choices);
        kit::page_keys::turns(ui, &mut state.weight, &choices);
        find_box(ui, "Search findings", &mut state.find);
    });
    if !view.project.photos().is_empty() {
        photos_ui(ui, view, &mut state.photos);
    }
    quarantine_ui(ui, view, &mut state.quarantine, out);
    ui.add_space(space::S);
    let wanted = state.find.to_lowercase();
    let shown: Vec<&Finding> = all
        .iter()
        .filter(|finding| state.weight.is_none_or(|weight| finding.weight == weight))
        .filter(|finding| wanted.is_empty() || finding.what.to_lowercase().contains(&wanted))
        .collect();
    if shown.is_empty() {
        ui.add_space(space::XL);
        ui.label(if all.is_empty() && missing(view).is_empty() {
            "Nothing is doubtful or missing."
        } else {
            "No finding of this kind."
        });
        return;
    }
    offer_table(ui.ctx(), || {
        let row = |finding: &&Finding| {
            let about = finding.about.map(|id| view.project.describe(id));
            vec![
                finding.weight.word().to_owned(),
                about.unwrap_or_default(),
                finding.what.clone(),
                finding.remedy.clone(),
            ]
        };
        TakenTable {
            name: "Findings".into(),
            header: ["Weight", "About", "Found", "What to do"]
                .map(str::to_owned)
                .to_vec(),
            rows: shown.iter().map(row).collect(),
        }
    });
    const ROW: f32 = 56.0;
    ScrollArea::vertical()
        .auto_shrink(false)
        .show_rows(ui, ROW, shown.len(), |ui, rows| {
            for (nth, finding) in rows.clone().zip(&shown[rows]) {
                ui.push_id(nth, |ui| finding_ui(ui, view.project, finding, ROW, out));
            }
        });
}

/// Missing photos are found by themselves; to tell the altered ones, each must be read.
fn photos_ui(ui: &mut Ui, view: &View<'_>, check: &mut Worker<u64, usize>) {
    check.take_in();
    ui.horizontal(|ui| {
        if let Some(progress) = check.progress() {
            let percent = 100.0 * progress.part.unwrap_or_default();
            ui.label(format!("Reading photos, {percent:.0} %"));
            if ui.button("Stop").clicked() {
                check.stop();
            }
            return;
        }
        let ask = ui.button("Check all photos").on_hover_text(
            "Reads every photo to find which were altered since they were added. With many it takes a while.",
        );
        if ask.clicked() {
            let work = view.derived.photos.check(view.project);
            check.start(ui.ctx(), view.project.revision(), move |watch| {
                work(&mut |part| watch.tell("Reading photos", Some(part)).is_continue())
            });
        }
        if let Some(answer) = check.latest() {
            ui.label(match *answer.value {
                0 => "All photos are as they were added.".to_owned(),
                1 => "1 photo isn't as it was added.".to_owned(),
                many => format!("{many} photos aren't as they were added."),
            });
        }
    });
}

/// What was once recorded and isn't in the project: a fault each, until it is there again.
fn missing(view: &View<'_>) -> Vec<String> {
    let losses = view.losses.iter();
    let losses = losses.filter(|loss| !loss.is_mended(view.project));
    losses
        .map(|loss| loss.words(time))
        .chain(view.lost_changes.iter().map(LostChanges::words))
        .chain(view.quarantined.iter().map(ToString::to_string))
        .collect()
}

/// What could not be used, beside the project or in its file: nothing is thrown away.
fn quarantine_ui(
    ui: &mut Ui,
    view: &View<'_>,
    quarantine: &mut Worker<u64, Vec<QuarantinedFile>>,
    out: &mut Outbox<'_>,
) {
    let found = quarantine.follow(ui.ctx(), view.file.saved_up_to(), || {
        let (store, path) = (view.file.store().clone(), view.path.to_owned());
        // A folder that can't be listed tells of itself where something is written.
        move |_| Some(store.quarantined(&path).unwrap_or_default())
    });
    let files = found.as_ref().map_or(&[][..], |found| found.as_slice());
    let missing = missing(view);
    if files.is_empty() && missing.is_empty() {
        return;
    }
    section_heading(ui, "Put aside, byte for byte");
    ScrollArea::vertical()
        .id_salt("put aside")
        .max_height(3.0 * ASIDE_ROW)
        .show(ui, |ui| {
            for words in &missing {
                ui.add(egui::Label::new(strong(words)).wrap());
            }
            for (nth, file) in files.iter().enumerate() {
                ui.push_id(nth, |ui| quarantined_file_ui(ui, file, out));
            }
        });
    section_heading(ui, "In the records");
}

const ASIDE_ROW: f32 = 56.0;

fn quarantined_file_ui(ui: &mut Ui, file: &QuarantinedFile, out: &mut Outbox<'_>) {
    let path = file.path.display().to_string();
    let name = file.path.file_name().unwrap_or_default().to_string_lossy();
    let at = file.at.map(time).unwrap_or_default();
    let size = file.size.div_ceil(1000);
    ui.horizontal(|ui| {
        ui.set_min_height(ASIDE_ROW - space::S);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let copy = ui.button("Copy its path");
            copy.widget_info(|| {
                WidgetInfo::labeled(Role::Button, true, format!("Copy the path of {name}"))
            });
            let may_come_in = file.what.may_come_in();
            if may_come_in {
                let merge = ui.button("Look at it…");
                merge.widget_info(|| {
                    WidgetInfo::labeled(
                        Role::Button,
                        true,
                        format!("Look at {name}, to bring it in"),
                    )
                });
                if merge.clicked() {
                    out.ask(Request::Merge(file.path.clone()));
                }
            }
            if copy.on_hover_text(&path).clicked() {
                ui.ctx().copy_text(path);
                out.say("The path is copied: paste it where files are shown.");
            }
            ui.with_layout(Layout::top_down(Align::Min), |ui| {
                ui.spacing_mut().item_spacing.y = 2.0;
                ui.add(egui::Label::new(strong(file.what.words())).truncate())
                    .on_hover_text(file.what.words());
                let facts = muted(ui, format!("{at}, {size} KB: {name}"));
                ui.add(egui::Label::new(facts).truncate());
            });
        });
    });
}

fn finding_ui(
    ui: &mut Ui,
    project: &Project,
    finding: &Finding,
    height: f32,
    out: &mut Outbox<'_>,
) {
    ui.horizontal(|ui| {
        ui.set_min_height(height - space::S);
        ui.allocate_ui_with_layout(
            egui::vec2(72.0, height - space::S),
            Layout::left_to_right(Align::Center),
            |ui| {
                ui.set_min_width(72.0);
                badge(ui, meaning(finding.weight), finding.weight.word());
            },
        );
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if let Some(about) = finding.about {
                let button = ui.button("Show");
                button.widget_info(|| {
                    WidgetInfo::labeled(
                        Role::Button,
                        true,
                        format!("Show {}: {}", project.describe(about), finding.what),
                    )
                });
                if button.clicked() {
                    out.show(about);
                }
            }
            ui.with_layout(Layout::top_down(Align::Min), |ui| {
                ui.spacing_mut().item_spacing.y = 2.0;
                ui.add(egui::Label::new(strong(&finding.what)).truncate())
                    .on_hover_text(&finding.what);
                ui.add(egui::Label::new(muted(ui, &finding.remedy)).truncate())
                    .on_hover_text(&finding.remedy);
            });
        });
    });
}

const fn meaning(weight: Weight) -> Meaning {
    match weight {
        Weight::Fault => Meaning::Danger,
        Weight::Doubt => Meaning::Late,
        Weight::Gap => Meaning::Plain,
    }
}

/// Brings a record into view: findings are about records, and hold none.
pub fn reveal(_state: &mut State, _project: &Project, _id: AnyId) {}
