//! What was seen in a plant: the latest of each trait, and everything before it.

use domain::{Genotype, Observation, Project};
use egui::{CollapsingHeader, Ui};
use kit::theme::muted;
use kit::widgets::{detail, section_heading};

/// Draws the observations of a plant.
pub(super) fn show(ui: &mut Ui, project: &Project, plant: &Genotype) {
    section_heading(ui, "Observations");
    let all: Vec<&Observation> = project.observations_of(plant.id).collect();
    if all.is_empty() {
        ui.label(muted(
            ui,
            "Nothing has been scored or measured yet. Observe it on the Measure page.",
        ));
        return;
    }
    for each in project.traits().iter() {
        if let Some(latest) = project.latest_observation(plant.id, each.id) {
            let unit = each.scale.measured_in();
            let unit = unit.map_or_else(String::new, |unit| format!(" {unit}"));
            detail(
                ui,
                &each.name,
                &format!("{}{unit} on {}", latest.value, kit::dates::day(latest.date)),
            );
        }
    }
    let title = format!("All {} observations", all.len());
    CollapsingHeader::new(title)
        .id_salt("all observations")
        .show(ui, |ui| {
            for seen in all.into_iter().rev() {
                let name = project
                    .traits()
                    .get(seen.of_trait)
                    .map_or("", |each| each.name.as_str());
                ui.add(
                    egui::Label::new(format!(
                        "{}  {name} {}{}",
                        seen.date,
                        seen.value,
                        circumstances(project, seen)
                    ))
                    .wrap(),
                );
            }
        });
}

/// Where, with which isolate, by whom, and what was remarked: those of them that are known.
fn circumstances(project: &Project, seen: &Observation) -> String {
    let sample = seen.sample.map(|sample| project.describe(sample.into()));
    let replicate = seen.replicate.map(|number| format!("replicate {number}"));
    let known = [
        seen.method_words(project),
        seen.site.clone(),
        replicate.unwrap_or_default(),
        sample.unwrap_or_default(),
        seen.isolate.clone(),
        seen.by.clone(),
        seen.remark.clone(),
    ];
    let known = known.iter().filter(|words| !words.is_empty());
    known.flat_map(|words| [", ", words.as_str()]).collect()
}
