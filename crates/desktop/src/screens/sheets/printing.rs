//! Which plants and traits a sheet is printed for, and the sheets that were printed.

use crate::dialogs::Question;
use crate::screens::sorting::parts;
use crate::view::{Outbox, Request, View};
use domain::{Edit, Genotype, Id, Project, Scale, ScoringSheet, SheetPaper, Trait};
use egui::{Checkbox, Ui};
use kit::drafts::Ticket;
use kit::theme::muted;
use kit::widgets::{TextField, main_button, section_heading, segmented};
use paper::scoring_sheet::{Wanted, free_name, make, pdf};
use std::collections::BTreeSet;

/// What is chosen to be printed.
#[derive(Default)]
pub(super) struct State {
    plants: Vec<Id<Genotype>>,
    /// In the order in which they were chosen, which is that of the columns.
    traits: Vec<Id<Trait>>,
    codes: String,
    paper: SheetPaper,
    /// Living plants in walking order, by revision.
    living: Option<(u64, Vec<Id<Genotype>>)>,
}

impl State {
    pub(super) fn choose(&mut self, plants: Vec<Id<Genotype>>) {
        self.plants = plants;
    }

    fn living(&mut self, project: &Project) -> &[Id<Genotype>] {
        let revision = project.revision();
        if self.living.as_ref().is_none_or(|(of, _)| *of != revision) {
            self.living = Some((revision, in_walking_order(project)));
        }
        self.living.as_ref().map_or(&[], |(_, living)| living)
    }
}

/// Living plants by their place, then by their code: figures by their value, so that hill 9 comes before hill 10.
fn in_walking_order(project: &Project) -> Vec<Id<Genotype>> {
    let mut living: Vec<_> = project
        .genotypes()
        .iter()
        .filter(|plant| plant.end.is_none())
        .map(|plant| {
            let nowhere = plant.location.trim().is_empty();
            (
                (nowhere, parts(&plant.location), parts(&plant.code)),
                plant.id,
            )
        })
        .collect();
    living.sort();
    living.into_iter().map(|(_, id)| id).collect()
}

/// Draws the choices.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    state.plants.retain(|id| project.genotypes().contains(*id));
    state.traits.retain(|id| project.traits().contains(*id));
    ui.label(muted(
        ui,
        "Print a sheet, fill it in with a pencil in the yard, photograph it, and read it back here.",
    ));
    section_heading(ui, "Plants");
    plants_ui(ui, project, state);
    section_heading(ui, "Traits");
    for each in project.traits().iter() {
        if matches!(each.scale, Scale::Derived { .. }) {
            continue;
        }
        let mut chosen = state.traits.contains(&each.id);
        let name = format!("{} ({})", each.name, each.scale.unit());
        if ui.add(Checkbox::new(&mut chosen, name)).changed() {
            if chosen {
                state.traits.push(each.id);
            } else {
                state.traits.retain(|id| *id != each.id);
            }
        }
    }
    section_heading(ui, "Paper");
    segmented(
        ui,
        "Paper",
        &mut state.paper,
        &[(SheetPaper::A4, "A4"), (SheetPaper::Letter, "Letter")],
    );
    print_ui(ui, view, state, out);
    printed_ui(ui, view, out);
}

fn plants_ui(ui: &mut Ui, project: &Project, state: &mut State) {
    let living = state.living(project).len();
    if living > 0
        && ui
            .button(format!("All living plants: {living}, in walking order"))
            .clicked()
    {
        state.plants = state.living(project).to_vec();
    }
    for stage in project.stages_in_order() {
        let these: Vec<_> = state
            .living(project)
            .iter()
            .filter(|id| {
                let plant = project.genotypes().get(**id);
                plant.is_some_and(|plant| plant.stage == Some(stage.id))
            })
            .copied()
            .collect();
        if !these.is_empty()
            && ui
                .button(format!("{}: {}", stage.name, these.len()))
                .clicked()
        {
            state.plants = these;
        }
    }
    ui.horizontal(|ui| {
        TextField::new("Codes, or how they begin")
            .width(180.0)
            .edit(ui, &mut state.codes);
        if ui.button("Take these").clicked() {
            state.plants = named(project, &state.codes);
        }
    });
    ui.label(muted(
        ui,
        "Or select rows on another screen and choose Scoring sheet there.",
    ));
    match state.plants.len() {
        0 => ui.label("No plants are chosen."),
        count => ui.label(format!(
            "{} chosen, from {} to {}.",
            domain::RecordKind::Genotype.counted(count),
            project.code_of(state.plants[0]),
            project.code_of(state.plants[count - 1])
        )),
    };
}

/// The plants of these codes; where there is none of a code, those whose codes begin so.
fn named(project: &Project, codes: &str) -> Vec<Id<Genotype>> {
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    for code in codes.split(|sign: char| sign == ',' || sign == ';' || sign.is_whitespace()) {
        if code.is_empty() {
            continue;
        }
        let mut found: Vec<Id<Genotype>> = project
            .find_code(code)
            .filter_map(domain::AnyId::typed::<Genotype>)
            .collect();
        if found.is_empty() {
            found = project
                .codes_beginning(code)
                .flat_map(|code| project.find_code(code))
                .filter_map(domain::AnyId::typed::<Genotype>)
                .collect();
        }
        all.extend(found.into_iter().filter(|id| seen.insert(*id)));
    }
    all
}

fn print_ui(ui: &mut Ui, view: &View<'_>, state: &State, out: &mut Outbox<'_>) {
    ui.add_space(kit::theme::space::S);
    let why_not = match view.read_only {
        Some(why) => Some(why.to_owned()),
        None if state.plants.is_empty() => Some("Choose plants first.".to_owned()),
        None if state.traits.is_empty() => Some("Choose traits first.".to_owned()),
        None => None,
    };
    let clicked = ui
        .add_enabled_ui(why_not.is_none(), |ui| {
            main_button(ui, "Print the sheet as PDF…").clicked()
                || kit::page_keys::acts(ui, egui::Key::P, "print the sheet")
        })
        .inner;
    if let Some(why) = why_not {
        ui.label(kit::theme::strong(why));
        return;
    }
    if !clicked {
        return;
    }
    let wanted = Wanted {
        name: free_name(view.project, view.today),
        printed: view.today,
        paper: state.paper,
        traits: state.traits.clone(),
        plants: state.plants.clone(),
    };
    let made = make(view.project, wanted, out.ids)
        .and_then(|sheet| Ok((pdf(view.project, &sheet)?, sheet)));
    match made {
        Ok((bytes, sheet)) => {
            let export = Request::Export(Question::SavePdf(file_name(&sheet)), bytes);
            let ticket = Ticket::of_act(ui, "printed", "a scoring sheet");
            out.submit_then(ticket, Edit::add(sheet), [export]);
        }
        Err(sentence) => out.say(sentence),
    }
}

fn file_name(sheet: &ScoringSheet) -> String {
    format!("{}.pdf", sheet.name)
}

fn printed_ui(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    let sheets = view.project.scoring_sheets();
    if sheets.is_empty() {
        return;
    }
    section_heading(ui, "Printed before");
    let newest: Vec<&ScoringSheet> = sheets.iter().collect();
    for sheet in newest.into_iter().rev().take(12) {
        ui.horizontal(|ui| {
            let button = ui.button("Print again…");
            let name = format!("Print {} again", sheet.name);
            button.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &name));
            if button.clicked() {
                match pdf(view.project, sheet) {
                    Ok(bytes) => {
                        out.ask(Request::Export(Question::SavePdf(file_name(sheet)), bytes));
                    }
                    Err(sentence) => out.say(sentence),
                }
            }
            ui.label(format!(
                "{}: {}",
                sheet.name,
                domain::RecordKind::Genotype.counted(sheet.plants.len())
            ));
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hill_nine_comes_before_hill_ten() {
        let mut places = ["row 2, hill 1", "row 1, hill 10", "row 1, hill 9", "Row 1"];
        places.sort_by_key(|place| parts(place));
        assert_eq!(
            places,
            ["Row 1", "row 1, hill 9", "row 1, hill 10", "row 2, hill 1"]
        );
    }
}
