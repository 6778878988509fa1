//! Planning a cross.

use super::pollen::{self, Draft};
use crate::forms::{FormKind, RecordForm, Submission};
use crate::screens::fields::cautions;
use crate::view::{Request, View};
use chrono::NaiveDate;
use domain::cautions::for_parents;
use domain::findings::cautions_for_parents;
use domain::{Cross, Genotype, Id, IdSource, Pollen, Project, actions};
use egui::{TextEdit, Ui};
use kit::fonts::mark;
use kit::form::Action;
use kit::theme::{muted, space, tokens};
use kit::widgets::{DateField, NumberField, form_row};

/// What has been chosen for a cross to be.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    female: Option<Id<Genotype>>,
    pollen: Draft,
    season: i32,
    /// The season was typed, and no longer follows the planned day.
    season_by_hand: bool,
    code: String,
    /// The code was typed, and no longer follows the season.
    code_by_hand: bool,
    day: Option<NaiveDate>,
    seeds: Option<f64>,
    purpose: String,
}

impl Form {
    /// An empty plan for the season to come.
    pub(super) fn new(project: &Project, today: NaiveDate) -> Self {
        let season = actions::season_planned(project, today);
        Self {
            female: None,
            pollen: Draft::default(),
            season,
            season_by_hand: false,
            code: actions::next_cross_code(project, season),
            code_by_hand: false,
            day: None,
            seeds: None,
            purpose: String::new(),
        }
    }

    fn rest(&mut self, ui: &mut Ui, view: &View<'_>) {
        form_row(ui, "Planned pollination", |ui| {
            if DateField::new("Planned pollination", view.today)
                .show_optional(ui, &mut self.day)
                .changed
                && let Some(day) = self.day
                && !self.season_by_hand
            {
                self.season = actions::season_of(view.project, day);
                self.offer_code(view);
            }
        });
        form_row(ui, "Season", |ui| {
            let mut season = f64::from(self.season);
            if NumberField::new("Season", "")
                .decimals(0)
                .range(1800.0..=2200.0)
                .show(ui, &mut season)
                .changed
            {
                self.season = season as i32;
                self.season_by_hand = true;
                self.offer_code(view);
            }
        });
        form_row(ui, "Code of the cross", |ui| {
            let edit =
                TextEdit::singleline(&mut self.code).min_size(egui::vec2(0.0, space::TARGET));
            self.code_by_hand |= ui.add(edit).accessible_name("Code of the cross").changed();
        });
        form_row(ui, "Seeds wanted", |ui| {
            NumberField::new("Seeds wanted", "")
                .decimals(0)
                .range(0.0..=100_000_000.0)
                .show_optional(ui, &mut self.seeds)
        });
        form_row(ui, "Purpose", |ui| {
            ui.add(TextEdit::singleline(&mut self.purpose).hint_text("what you hope it will give"))
                .accessible_name("Purpose")
        });
    }

    fn offer_code(&mut self, view: &View<'_>) {
        if !self.code_by_hand {
            self.code = actions::next_cross_code(view.project, self.season);
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::PlanCross;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        pollen::pick_female(ui, view, &mut self.female);
        self.pollen.show(ui, view, self.female);
        ui.add_space(space::S);
        self.rest(ui, view);
        let pollen = self.pollen.pollen();
        if let (Some(female), Some(pollen)) = (self.female, &pollen) {
            warnings(ui, view, female, pollen, true);
        }
        ui.add_space(space::S);
        Action::new(format!("Plan cross {}", self.code.trim()))
            .needs(self.female.is_some(), "Choose the female parent.")
            .needs(
                pollen.is_some(),
                "Choose the pollen: a male, a mix, open or unknown.",
            )
            .needs(!self.code.trim().is_empty(), "Give it a code.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let (Some(female), Some(pollen)) = (self.female, self.pollen.pollen()) else {
            return Err("Choose the female parent and the pollen.".into());
        };
        let cross = Cross {
            id: ids.next(),
            code: self.code.trim().to_owned(),
            female,
            pollen,
            season: self.season,
            planned_pollination: self.day,
            seeds_wanted: self.seeds.map(|seeds| seeds as u32),
            purpose: self.purpose.trim().to_owned(),
            advised: None,
        };
        let show = Request::Show(cross.id.into());
        Ok(Submission::from(actions::plan_cross(cross, view.today, ids)).then(show))
    }
}

/// What should give pause about these parents.
pub(in crate::screens) fn warnings(
    ui: &mut Ui,
    view: &View<'_>,
    female: Id<Genotype>,
    pollen: &Pollen,
    before_the_act: bool,
) {
    let ink = tokens(ui).late.text;
    for sentence in cautions_for_parents(view.project, female, pollen, view.today) {
        ui.add(
            egui::Label::new(
                egui::RichText::new(format!("{} {sentence}", mark::WARNING)).color(ink),
            )
            .wrap(),
        );
    }
    let restricted = for_parents(view.project, female, pollen);
    if !restricted.is_empty() {
        // What was pollinated is past warning of; what its parents allow is said above.
        if before_the_act {
            cautions(ui, &restricted);
        }
    } else if *pollen == Pollen::Open {
        ui.label(muted(
            ui,
            "Open pollen: no bags, and the father of each seedling stays unknown.",
        ));
    }
}
