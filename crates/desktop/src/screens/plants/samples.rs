//! The samples taken from a plant: what was taken, where it was sent, and what came back.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::fields::{choice_row, optional_day, text};
use crate::screens::record_page;
use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::code::next_code;
use domain::record::sample::SampleField;
use domain::{Edit, Genotype, Id, IdSource, Observation, PlantPart, Project, Sample};
use egui::{Role, Ui, WidgetInfo};
use kit::form::Action;
use kit::theme::{muted, space, strong};
use kit::widgets::{TextField, form_row};

/// A sample, until it is recorded.
#[derive(Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct SampleForm {
    plant: Id<Genotype>,
    code: String,
    part: PlantPart,
    taken: NaiveDate,
    site: String,
    laboratory: String,
}

impl RecordForm for SampleForm {
    const KIND: FormKind = FormKind::Sample;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        form_row(ui, "Code", |ui| {
            TextField::new("Code of the sample")
                .width(180.0)
                .edit(ui, &mut self.code)
        });
        choice_row(ui, "Part", &mut self.part, &parts());
        form_row(ui, "Taken on", |ui| {
            view.date_field("Sample taken on").show(ui, &mut self.taken);
        });
        for (name, field, value) in [
            ("Site", "Site of the sample", &mut self.site),
            (
                "Laboratory",
                "Laboratory of the sample",
                &mut self.laboratory,
            ),
        ] {
            form_row(ui, name, |ui| {
                TextField::new(field).width(220.0).edit(ui, value)
            });
        }
        ui.label(muted(
            ui,
            "Its answers find it by this code when the laboratory's table is brought in under Tables.",
        ));
        let (part, of) = (self.part.word(), view.project.code_of(self.plant));
        let day = kit::dates::on_button(self.taken, view.clock);
        Action::new(format!(
            "Take sample {}: {part} of {of}, {day}",
            self.code.trim()
        ))
        .needs(!self.code.trim().is_empty(), "Give the sample a code.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let id: Id<Sample> = ids.next();
        let sample = Sample {
            id,
            code: self.code.trim().to_owned(),
            genotype: self.plant,
            part: self.part,
            taken: self.taken,
            site: self.site.trim().to_owned(),
            replicate: None,
            by: view.preferences.who.clone(),
            laboratory: self.laboratory.trim().to_owned(),
            sent: None,
            remark: String::new(),
        };
        Ok(Edit::add(sample).into())
    }
}

fn parts() -> [(PlantPart, String); 5] {
    PlantPart::ALL.map(|part| (part, part.word().to_owned()))
}

/// Opens the form of a new sample, with the next free code: 'S26-01'.
pub(super) fn open(ui: &Ui, view: &View<'_>, plant: &Genotype) {
    let prefix = view.today.format("S%y-").to_string();
    let before = view.project.samples().iter().next_back();
    let form = SampleForm {
        plant: plant.id,
        code: next_code(view.project, &prefix),
        part: PlantPart::Cones,
        taken: view.today,
        site: before.map_or_else(String::new, |sample| sample.site.clone()),
        laboratory: before.map_or_else(String::new, |sample| sample.laboratory.clone()),
    };
    forms::open(ui.ctx(), plant.id.uuid(), &plant.code, form);
}

/// Draws the samples of a plant, with the form that takes one where it is open.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let project = view.project;
    forms::show::<SampleForm>(ui, view, plant.id.uuid(), out);
    let taken: Vec<&Sample> = project.referring::<Sample>(plant.id).collect();
    if taken.is_empty() {
        return;
    }
    record_page::section(ui, "Samples", "");
    for sample in taken {
        kit::drafts::about(ui, sample.id.uuid(), &sample.code, |ui| {
            sample_ui(ui, view, sample, out);
        });
    }
}

fn sample_ui(ui: &mut Ui, view: &View<'_>, sample: &Sample, out: &mut Outbox<'_>) {
    let project = view.project;
    let answers: Vec<&Observation> = project.referring::<Observation>(sample.id).collect();
    ui.horizontal_wrapped(|ui| {
        ui.label(strong(&sample.code));
        let day = kit::dates::day(sample.taken);
        ui.label(format!("{}, taken {day}", sample.part.word()));
        if named_button(ui, "Label", &format!("Label sample {}", sample.code)) {
            out.ask(Request::Label(vec![sample.id.into()]));
        }
        let name = format!("Remove sample {}", sample.code);
        if view.read_only.is_none() && answers.is_empty() && named_button(ui, "Remove", &name) {
            out.act(ui, "remove", sample.id, Edit::remove(sample.id));
        }
    });
    let code = &sample.code;
    ui.add_enabled_ui(view.read_only.is_none(), |ui| {
        if let Some((to, ticket)) = text(ui, &format!("Laboratory of {code}"), &sample.laboratory) {
            out.submit(ticket, Edit::set(sample.id, SampleField::Laboratory(to)));
        }
        let sent = optional_day(ui, &format!("{code} sent on"), view.today, sample.sent);
        if let Some((day, ticket)) = sent {
            out.submit(ticket, Edit::set(sample.id, SampleField::Sent(day)));
        }
    });
    let words = match (answers.is_empty(), sample.sent) {
        (false, _) => answers_of(project, &answers),
        (true, Some(_)) => "No answers yet.".to_owned(),
        (true, None) => "Not sent yet.".to_owned(),
    };
    ui.add(egui::Label::new(muted(ui, words)).wrap());
    ui.add_space(space::S);
}

/// The answers in a line: 'Alpha acids 9.1 (HPLC, dry), Beta acids 4.2'.
fn answers_of(project: &Project, answers: &[&Observation]) -> String {
    let words = answers.iter().map(|seen| {
        let of_trait = project.traits().get(seen.of_trait);
        let name = of_trait.map_or("", |each| each.name.as_str());
        match seen.method_words(project) {
            method if method.is_empty() => format!("{name} {}", seen.value),
            method => format!("{name} {} ({method})", seen.value),
        }
    });
    words.collect::<Vec<_>>().join(", ")
}

fn named_button(ui: &mut Ui, words: &str, name: &str) -> bool {
    let button = ui.button(words);
    button.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    button.clicked()
}
