//! What was measured on the seed of a lot: germination tests and replicates weighed, and what they say.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::explanation::figure;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::stock::{ByWeight, Stock};
use domain::{AnyId, Edit, GerminationTest, Grams, Id, IdSource, SeedLot, SeedWeighing};
use egui::{Label, Role, TextEdit, Ui, WidgetInfo};
use kit::form::Action;
use kit::theme::{muted, space};
use kit::widgets::{NumberField, detail_with, form_row, section_heading};
use quant::counted::total;

/// A test or a weighing, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    lot: Id<SeedLot>,
    date: NaiveDate,
    what: What,
}

#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
enum What {
    Test {
        seeds: Option<f64>,
        /// Germinated of each replicate, as typed.
        germinated: String,
        method: String,
        drawn: bool,
    },
    Weighing {
        seeds_each: f64,
        /// The weight of each replicate in grams, as typed.
        weights: String,
        moisture: Option<f64>,
    },
}

/// The section of a lot's page.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, out: &mut Outbox<'_>) {
    section_heading(ui, "Viability and weight");
    let project = view.project;
    let stock = Stock::of(project, lot, view.today);
    detail_with(ui, "Viable, %", |ui| {
        let name = format!("Viable of {}", lot.code);
        figure(ui, &name, &stock.viable_words(), || {
            Some(stock.explain(project))
        });
    });
    ui.add(Label::new(muted(ui, stock.reason())).wrap());
    if let Some(found) = ByWeight::of(project, lot) {
        detail_with(ui, "By weight", |ui| {
            let words = found.words();
            figure(ui, "Seed by weight", &words, || {
                Some(found.explain(&lot.code))
            });
        });
    }
    for test in project.referring::<GerminationTest>(lot.id) {
        let method = if test.method.is_empty() {
            String::new()
        } else {
            format!(", {}", test.method)
        };
        let words = format!(
            "{}: {} of {} germinated{method}",
            test.date, test.germinated, test.seeds
        );
        record_ui(ui, view, test.id.into(), &words, out);
    }
    for weighing in project.referring::<SeedWeighing>(lot.id) {
        let moisture = weighing
            .moisture
            .map_or_else(String::new, |percent| format!(", {percent} % water"));
        let words = format!(
            "{}: {} × {} seeds weighed{moisture}",
            weighing.date,
            weighing.weights.len(),
            weighing.seeds_each
        );
        record_ui(ui, view, weighing.id.into(), &words, out);
    }
    if view.read_only.is_none() {
        form_ui(ui, view, lot, out);
    }
}

fn record_ui(ui: &mut Ui, view: &View<'_>, id: AnyId, words: &str, out: &mut Outbox<'_>) {
    ui.push_id(id, |ui| {
        ui.add(Label::new(words).wrap());
        if view.read_only.is_some() {
            return;
        }
        let remove = ui.button("Remove");
        remove.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Remove: {words}")));
        if remove.clicked() {
            if let Some(test) = id.typed::<GerminationTest>() {
                out.act(ui, "remove", test, Edit::remove(test));
            } else if let Some(weighing) = id.typed::<SeedWeighing>() {
                out.act(ui, "remove", weighing, Edit::remove(weighing));
            }
        }
    });
}

fn form_ui(ui: &mut Ui, view: &View<'_>, lot: &SeedLot, out: &mut Outbox<'_>) {
    ui.add_space(space::S);
    let about = lot.id.uuid();
    if forms::show::<Form>(ui, view, about, out) {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let open = |ui: &Ui, what| {
            let form = Form {
                lot: lot.id,
                date: view.today,
                what,
            };
            forms::open(ui.ctx(), about, &lot.code, form);
        };
        if ui.button("Record a germination test…").clicked() {
            open(
                ui,
                What::Test {
                    seeds: None,
                    germinated: String::new(),
                    method: String::new(),
                    drawn: true,
                },
            );
        }
        if ui.button("Record a weighing…").clicked() {
            open(
                ui,
                What::Weighing {
                    seeds_each: 100.0,
                    weights: String::new(),
                    moisture: None,
                },
            );
        }
    });
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::SeedMeasured;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        form_row(ui, "Day", |ui| {
            view.date_field("Day of the test").show(ui, &mut self.date);
        });
        self.what.fields_ui(ui);
        let (what, needs) = match self.what {
            What::Test { .. } => (
                "germination test",
                "Give the seeds tested and how many germinated.",
            ),
            What::Weighing { .. } => ("weighing", "Give the weight of each replicate."),
        };
        let code = view.project.code_of(self.lot);
        let day = kit::dates::on_button(self.date, view.clock);
        Action::new(format!("Record the {what} of {code}, {day}"))
            .needs(self.what.figures().is_some(), needs)
    }

    fn submission(&self, _view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        self.edit(ids)
            .map(Submission::from)
            .ok_or_else(|| "The figures can't be read.".to_owned())
    }
}

impl Form {
    fn edit(&self, ids: &mut IdSource) -> Option<Edit> {
        let figures = self.what.figures()?;
        Some(match &self.what {
            What::Test {
                seeds,
                method,
                drawn,
                ..
            } => {
                let counts: Vec<u32> = figures.iter().map(|each| *each as u32).collect();
                Edit::add(GerminationTest {
                    id: ids.next(),
                    lot: self.lot,
                    date: self.date,
                    seeds: (*seeds)? as u32,
                    germinated: total(&counts),
                    replicates: if counts.len() > 1 { counts } else { Vec::new() },
                    method: method.trim().to_owned(),
                    drawn: *drawn,
                    by: String::new(),
                    remark: String::new(),
                })
            }
            What::Weighing {
                seeds_each,
                moisture,
                ..
            } => Edit::add(SeedWeighing {
                id: ids.next(),
                lot: self.lot,
                date: self.date,
                seeds_each: *seeds_each as u32,
                weights: figures.into_iter().map(Grams).collect(),
                moisture: *moisture,
                by: String::new(),
                remark: String::new(),
            }),
        })
    }
}

impl What {
    fn fields_ui(&mut self, ui: &mut Ui) {
        match self {
            Self::Test {
                seeds,
                germinated,
                method,
                drawn,
            } => {
                form_row(ui, "Seeds tested", |ui| {
                    NumberField::new("Seeds tested", "seeds")
                        .decimals(0)
                        .range(1.0..=1_000_000.0)
                        .show_optional(ui, seeds);
                });
                let hint = "31, or of each replicate: 31 29";
                text_row(ui, "Germinated", "Germinated in the test", germinated, hint);
                let hint = "12 weeks cold, 25 °C";
                text_row(ui, "How", "Method of the test", method, hint);
                ui.checkbox(drawn, "Its seeds were taken from the lot");
            }
            Self::Weighing {
                seeds_each,
                weights,
                moisture,
            } => {
                form_row(ui, "Seeds of each", |ui| {
                    NumberField::new("Seeds of each replicate", "seeds")
                        .decimals(0)
                        .range(1.0..=1_000_000.0)
                        .show(ui, seeds_each);
                });
                let hint = "0.301 0.297 0.312 0.305";
                text_row(ui, "Weights, g", "Weights of the replicates", weights, hint);
                form_row(ui, "Water", |ui| {
                    NumberField::new("Water in the seed", "% of fresh weight")
                        .decimals(1)
                        .range(0.0..=100.0)
                        .show_optional(ui, moisture);
                });
            }
        }
    }

    /// The counts or weights typed, once everything that is needed is there.
    fn figures(&self) -> Option<Vec<f64>> {
        let figures = match self {
            Self::Test {
                seeds, germinated, ..
            } => {
                seeds.as_ref()?;
                let whole = |each: &f64| each.fract() == 0.0 && (0.0..=1e6).contains(each);
                numbers(germinated).filter(|counts| counts.iter().all(whole))?
            }
            Self::Weighing { weights, .. } => numbers(weights)?,
        };
        (!figures.is_empty()).then_some(figures)
    }
}

fn text_row(ui: &mut Ui, label: &str, name: &str, text: &mut String, hint: &str) {
    form_row(ui, label, |ui| {
        let edit = TextEdit::singleline(text)
            .hint_text(hint)
            .desired_width(220.0_f32.min(ui.available_width() - space::S));
        ui.add(edit).accessible_name(name);
    });
}

/// Numbers parted by spaces or semicolons, with decimal commas or points; `None` when one can't be read.
fn numbers(text: &str) -> Option<Vec<f64>> {
    text.split(|sign: char| sign.is_whitespace() || sign == ';')
        .filter(|word| !word.is_empty())
        .map(|word| {
            word.replace(',', ".")
                .parse()
                .ok()
                .filter(|number: &f64| number.is_finite())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::numbers;

    #[test]
    fn weights_are_read_as_people_type_them() {
        assert_eq!(
            numbers("0.301 0,297;0.312"),
            Some(vec![0.301, 0.297, 0.312])
        );
        assert_eq!(numbers(" "), Some(Vec::new()));
        assert_eq!(numbers("0.3 many"), None);
    }
}
