//! What is done with several seedlings at once: sex, selection, the next stage, culling.

use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::actions::{end_plants, move_to_stage, plural, select};
use domain::record::genotype::GenotypeField;
use domain::{Edit, EndKind, Genotype, Id, Sex, SexBasis, SexRecord, cautions};
use egui::{TextEdit, Ui};
use kit::theme::{muted, space};
use kit::widgets::{caution, main_button, segmented};

/// What the bar remembers between frames.
#[derive(Default)]
pub(super) struct State {
    form: Option<Form>,
    words: String,
    kind: Option<EndKind>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Select,
    End,
    Males,
}

/// Draws the bar for the plants chosen, if any are.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    chosen: &[Id<Genotype>],
    day: NaiveDate,
    out: &mut Outbox<'_>,
) {
    if chosen.is_empty() || view.read_only.is_some() {
        ui.label(muted(
            ui,
            "Select plants for sex, selection, the next stage or culling.",
        ));
        return;
    }
    let (project, count) = (view.project, chosen.len() as u32);
    ui.horizontal_wrapped(|ui| {
        ui.label(format!("{count} {}:", plural(count, "plant", "plants")));
        for (sex, word) in [(Sex::Female, "Female"), (Sex::Male, "Male")] {
            if ui
                .button(word)
                .on_hover_text("Flowers seen on the day above")
                .clicked()
            {
                out.edit(record_sex(chosen, sex, day));
                state.form = (sex == Sex::Male).then_some(Form::Males);
            }
        }
        if ui.button("Select…").clicked() {
            state.form = Some(Form::Select);
        }
        ui.menu_button("Move to stage", |ui| {
            for stage in project.stages_in_order() {
                if ui.button(&stage.name).clicked() {
                    out.edit(move_to_stage(project, chosen, stage.id));
                    ui.close();
                }
            }
        });
        if ui.button("Cull…").clicked() {
            state.form = Some(Form::End);
        }
        if ui.button("Label").clicked() {
            out.ask(Request::Label(
                chosen.iter().map(|id| (*id).into()).collect(),
            ));
        }
        if let [only] = chosen {
            if ui.button("Open its page").clicked() {
                out.show(*only);
            }
            if ui.button("Show in family tree").clicked() {
                out.ask(Request::ShowInTree(*only));
            }
        }
    });
    let done = match state.form {
        None => false,
        Some(Form::Select) => {
            ui.horizontal(|ui| {
                ui.label("Why");
                ui.add(TextEdit::singleline(&mut state.words).desired_width(280.0))
                    .accessible_name("Why selected");
                let doing = main_button(
                    ui,
                    &format!("Select {count} {}", plural(count, "plant", "plants")),
                )
                .clicked();
                if doing {
                    out.edit(select(chosen, day.into(), state.words.trim()));
                }
                doing | ui.button("Put away").clicked()
            })
            .inner
        }
        Some(Form::End) => end_ui(ui, view, state, chosen, day, out),
        Some(Form::Males) => {
            caution(ui, cautions::MALES.title, cautions::MALES.text, "local law");
            ui.button("Put away").clicked()
        }
    };
    if done {
        *state = State::default();
    }
    ui.add_space(space::XS);
}

fn end_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    chosen: &[Id<Genotype>],
    day: NaiveDate,
    out: &mut Outbox<'_>,
) -> bool {
    let living = chosen
        .iter()
        .filter(|id| {
            view.project
                .genotypes()
                .get(**id)
                .is_some_and(Genotype::is_alive)
        })
        .count() as u32;
    let kind = state.kind.get_or_insert(EndKind::Culled);
    ui.horizontal_wrapped(|ui| {
        segmented(
            ui,
            "How they ended",
            kind,
            &[
                (EndKind::Culled, "culled"),
                (EndKind::Died, "died"),
                (EndKind::Lost, "lost"),
            ],
        );
        ui.label("Why");
        ui.add(TextEdit::singleline(&mut state.words).desired_width(220.0))
            .accessible_name("Why ended");
        let words = format!(
            "{living} {} {}",
            plural(living, "plant", "plants"),
            kind.word()
        );
        let doing = ui
            .add_enabled_ui(living > 0, |ui| main_button(ui, &words))
            .inner
            .clicked();
        if doing {
            out.edit(end_plants(
                view.project,
                chosen,
                *kind,
                day.into(),
                state.words.trim(),
            ));
        }
        ui.label(muted(ui, "Their records and scores stay."));
        doing | ui.button("Put away").clicked()
    })
    .inner
}

fn record_sex(chosen: &[Id<Genotype>], sex: Sex, day: NaiveDate) -> Edit {
    let record = SexRecord {
        sex,
        basis: SexBasis::FlowersSeen,
        date: Some(day.into()),
    };
    let edits = chosen
        .iter()
        .map(|id| Edit::set(*id, GenotypeField::Sex(Some(record.clone()))));
    let count = chosen.len() as u32;
    Edit::all(
        format!(
            "{count} {} {}",
            plural(count, "plant", "plants"),
            sex.word()
        ),
        edits.collect(),
    )
}
