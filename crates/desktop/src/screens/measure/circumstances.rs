//! What holds for the whole round: shown in one line, set once.

use super::{Sheet, State, columns, disease, plants};
use crate::screens::fields::choice;
use crate::view::{Outbox, View};
use domain::{Basis, DiseaseTest, Id};
use egui::{Role, Ui, WidgetInfo};
use kit::theme::{muted, space};
use kit::widgets::{NumberField, TextField, form_row, section_heading};

/// In less width than this the parts of the round stand under each other.
const THREE_COLUMNS: f32 = 560.0;

/// Draws the line, and under it, unfolded, everything that can be set.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    sheet: &mut Sheet,
    out: &mut Outbox<'_>,
) {
    let words = words(view, sheet);
    ui.horizontal(|ui| {
        let text = if state.unfolded {
            "Hide the settings"
        } else {
            "Set up the round"
        };
        if ui.button(text).clicked() {
            state.unfolded = !state.unfolded;
            if !state.unfolded {
                state.grid_gets_keys();
            }
        }
        let label = ui.add(egui::Label::new(&words).truncate());
        label
            .widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("This round: {words}")));
    });
    ui.add_space(space::XS);
    if !state.unfolded {
        return;
    }
    let room = ui.available_height() * 0.6;
    egui::ScrollArea::vertical()
        .id_salt("the round")
        .max_height(room)
        .show(ui, |ui| {
            ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                if ui.available_width() < THREE_COLUMNS {
                    section_heading(ui, "Plants");
                    plants::show(ui, view, state, sheet);
                    section_heading(ui, "Traits");
                    columns::choose_ui(ui, view, sheet);
                    section_heading(ui, "What holds for all");
                    round_ui(ui, view, sheet);
                    disease::begin_ui(ui, view, sheet, out);
                    return;
                }
                ui.columns(3, |parts| {
                    section_heading(&mut parts[0], "The same for all");
                    round_ui(&mut parts[0], view, sheet);
                    disease::begin_ui(&mut parts[0], view, sheet, out);
                    section_heading(&mut parts[1], "Plants");
                    plants::show(&mut parts[1], view, state, sheet);
                    section_heading(&mut parts[2], "Traits");
                    columns::choose_ui(&mut parts[2], view, sheet);
                });
            });
        });
    ui.add_space(space::S);
}

/// The round in a line: '10 March 2026, by Ada, Tarn yard, replicate 2, HPLC'.
fn words(view: &View<'_>, sheet: &Sheet) -> String {
    let round = &sheet.round;
    let mut words = vec![kit::dates::weekday_and_day(view.today)];
    let mut add = |name: &str, text: &str| {
        if !text.trim().is_empty() {
            words.push(format!("{name}{}", text.trim()));
        }
    };
    add("by ", &round.by);
    add("", &round.site);
    add("isolate ", &round.isolate);
    add("", &round.method);
    add("", &round.basis.to_string());
    if let Some(replicate) = round.replicate {
        add("replicate ", &replicate.to_string());
    }
    let test = round
        .test
        .and_then(|id| view.project.disease_tests().get(id));
    if let Some(test) = test {
        add("test ", &test.name);
    }
    words.join(", ")
}

fn round_ui(ui: &mut Ui, view: &View<'_>, sheet: &mut Sheet) {
    let round = &mut sheet.round;
    form_row(ui, "Day", |ui| {
        ui.label(kit::dates::day(view.today))
            .on_hover_text("The working day. Change it at the top of the window.");
    });
    for (name, hint, text) in [
        ("Observer", "by whom", &mut round.by),
        ("Site", "yard or trial", &mut round.site),
        ("Isolate", "or race, of a disease", &mut round.isolate),
        ("Method", "where not as the trait says", &mut round.method),
    ] {
        form_row(ui, name, |ui| words_ui(ui, name, hint, text));
    }
    form_row(ui, "Replicate", |ui| {
        let mut number = round.replicate.map(f64::from);
        NumberField::new("Replicate", "")
            .decimals(0)
            .range(1.0..=10_000.0)
            .width(60.0)
            .show_optional(ui, &mut number);
        round.replicate = number.map(|number| number as u32);
    });
    basis_ui(ui, &mut round.basis);
    let tests = view.project.disease_tests();
    if !tests.is_empty() {
        let mut choices: Vec<(Option<Id<DiseaseTest>>, String)> = vec![(None, "none".into())];
        choices.extend(tests.iter().map(|test| (Some(test.id), test.name.clone())));
        form_row(ui, "Disease test", |ui| {
            choice(ui, "Disease test", &mut round.test, &choices);
        });
        let test = round.test.and_then(|id| tests.get(id));
        if let Some(of_trait) = test.and_then(|test| view.project.traits().get(test.of_trait)) {
            ui.label(muted(ui, format!("It holds for {}.", of_trait.name)));
        }
    }
}

fn words_ui(ui: &mut Ui, name: &str, hint: &str, text: &mut String) {
    let field = TextField::new(name)
        .hint(hint)
        .width(170.0_f32.min(ui.available_width() - space::S));
    if let Some((new, ticket)) = field.show(ui, text) {
        // Kept with the round: there is nothing to hand in.
        *text = new;
        drop(ticket);
    }
}

fn basis_ui(ui: &mut Ui, basis: &mut Basis) {
    let kind = |basis: &Basis| match basis {
        Basis::Unstated => 0,
        Basis::Dry => 1,
        Basis::AsIs { .. } => 2,
    };
    let mut chosen = kind(basis);
    form_row(ui, "Basis", |ui| {
        let choices = [
            (0, "not stated".to_owned()),
            (1, "dry matter".to_owned()),
            (2, "as is".to_owned()),
        ];
        if choice(ui, "Basis of contents", &mut chosen, &choices) {
            *basis = match chosen {
                0 => Basis::Unstated,
                1 => Basis::Dry,
                _ => Basis::AsIs { moisture: 8.0 },
            };
        }
    });
    if let Basis::AsIs { moisture } = basis {
        form_row(ui, "Moisture", |ui| {
            NumberField::new("Moisture of what was analysed", "%")
                .range(0.0..=99.0)
                .width(60.0)
                .show(ui, moisture);
        });
    }
}
