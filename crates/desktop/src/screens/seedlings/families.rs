//! How families compare: how many seedlings of each are left at which stage, and the spread of their scores.

use crate::view::View;
use domain::{Cross, Genotype, Id, Project, Scale, Sex, Trait};
use egui::{Align2, FontId, Rect, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2};
use kit::theme::{self, muted, space, tokens, type_size};
use kit::widgets::{one_line, section_heading, segmented};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    of_trait: Option<Id<Trait>>,
    kept: Option<(u64, Option<Id<Trait>>, Vec<Family>)>,
}

/// The figures of a family.
struct Family {
    code: String,
    potted: usize,
    ended: usize,
    selected: usize,
    females: usize,
    males: usize,
    /// How many plants have each score, by their latest.
    scores: Vec<(i64, usize)>,
}

impl Family {
    fn of(project: &Project, cross: &Cross, of_trait: Option<Id<Trait>>) -> Option<Self> {
        let plants: Vec<&Genotype> = project.progeny_of(cross.id).collect();
        if plants.is_empty() {
            return None;
        }
        let count = |wanted: &dyn Fn(&Genotype) -> bool| {
            plants.iter().filter(|plant| wanted(plant)).count()
        };
        let mut scores = std::collections::BTreeMap::new();
        if let Some(of_trait) = of_trait {
            for value in plants
                .iter()
                .filter_map(|plant| project.latest_observation(plant.id, of_trait))
                .filter_map(|seen| seen.number(project))
            {
                *scores.entry(value.round() as i64).or_insert(0) += 1;
            }
        }
        Some(Self {
            code: cross.code.clone(),
            potted: plants.len(),
            ended: count(&|plant| !plant.is_alive()),
            selected: count(&|plant| plant.selected.is_some()),
            females: count(&|plant| plant.known_sex() == Some(Sex::Female)),
            males: count(&|plant| plant.known_sex() == Some(Sex::Male)),
            scores: scores.into_iter().collect(),
        })
    }

    fn scored(&self) -> usize {
        self.scores.iter().map(|(_, plants)| plants).sum()
    }

    fn mean(&self) -> Option<f64> {
        let scored = self.scored();
        let sum: f64 = self
            .scores
            .iter()
            .map(|(score, plants)| *score as f64 * *plants as f64)
            .sum();
        (scored > 0).then(|| sum / scored as f64)
    }

    fn words(&self) -> String {
        let mean = self.mean().map_or_else(
            || "not scored".to_owned(),
            |mean| format!("mean {mean:.1} of {} scored", self.scored()),
        );
        format!(
            "{}: {} potted, {} left, {} selected, {} female, {} male; {mean}",
            self.code,
            self.potted,
            self.potted - self.ended,
            self.selected,
            self.females,
            self.males
        )
    }
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State) {
    let project = view.project;
    let traits: Vec<&Trait> = project
        .traits()
        .iter()
        .filter(|each| matches!(each.scale, Scale::Score { .. }))
        .collect();
    let mut of_trait = state
        .of_trait
        .or_else(|| traits.first().map(|each| each.id));
    let choices: Vec<_> = traits
        .iter()
        .map(|each| (Some(each.id), each.name.as_str()))
        .collect();
    segmented(ui, "Trait to compare", &mut of_trait, &choices);
    state.of_trait = of_trait;
    if state
        .kept
        .as_ref()
        .is_none_or(|(revision, of, _)| (*revision, *of) != (project.revision(), of_trait))
    {
        let families = project
            .crosses()
            .iter()
            .filter_map(|cross| Family::of(project, cross, of_trait))
            .collect();
        state.kept = Some((project.revision(), of_trait, families));
    }
    let Some((_, _, families)) = &state.kept else {
        return;
    };
    if families.is_empty() {
        ui.add_space(space::L);
        ui.label("Families compare here once seedlings are potted and scored.");
        return;
    }
    section_heading(ui, "Families");
    ui.label(muted(
        ui,
        "Left: seedlings potted; the filled part is those remaining. Right: number of seedlings at \
        each score (latest record); the line is the mean.",
    ));
    let range = traits
        .iter()
        .find(|each| Some(each.id) == of_trait)
        .map_or((1, 9), |each| match each.scale {
            Scale::Score { from, to, .. } => (i64::from(from), i64::from(to)),
            _ => (1, 9),
        });
    let most = families
        .iter()
        .map(|family| family.potted)
        .max()
        .unwrap_or(1);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        for family in families {
            family_ui(ui, family, most, range);
        }
    });
}

const ROW: f32 = 76.0;
const NAME: f32 = 160.0;

fn family_ui(ui: &mut Ui, family: &Family, most: usize, (from, to): (i64, i64)) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    // What isn't seen costs nothing but its room.
    if !ui.is_rect_visible(rect) {
        return;
    }
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, family.words()));
    response.on_hover_text(family.words());
    let (colours, painter) = (tokens(ui), ui.painter());
    let small = FontId::proportional(type_size::SMALL);
    let room = Rect::from_min_size(rect.min, vec2(NAME - space::M, rect.height()));
    one_line(
        ui,
        room,
        rect.top() + 17.0,
        &family.code,
        theme::bold(type_size::BODY),
        colours.ink,
    );
    let under = format!("{} of {} left", family.potted - family.ended, family.potted);
    painter.text(
        rect.min + vec2(0.0, 28.0),
        Align2::LEFT_TOP,
        under,
        small.clone(),
        colours.muted,
    );
    painter.text(
        rect.min + vec2(0.0, 44.0),
        Align2::LEFT_TOP,
        format!("{} selected", family.selected),
        small.clone(),
        colours.muted,
    );
    // Seedlings potted as an outline, those left filled within it.
    let bar = Rect::from_min_size(
        rect.min + vec2(NAME, 14.0),
        vec2((rect.width() - NAME) * 0.3, 26.0),
    );
    let share = |plants: usize| bar.width() * plants as f32 / most as f32;
    let potted = Rect::from_min_size(bar.min, vec2(share(family.potted), bar.height()));
    let left = Rect::from_min_size(
        bar.min,
        vec2(share(family.potted - family.ended), bar.height()),
    );
    painter.rect_filled(left, 2.0, colours.series(0));
    painter.rect_stroke(
        potted,
        2.0,
        egui::Stroke::new(1.0, colours.outline),
        egui::StrokeKind::Inside,
    );
    let sexes = format!(
        "{} female, {} male, of all potted",
        family.females, family.males
    );
    painter.text(
        bar.left_bottom() + vec2(0.0, 4.0),
        Align2::LEFT_TOP,
        sexes,
        small.clone(),
        colours.muted,
    );
    let chart = Rect::from_min_max(
        pos2(bar.right() + 32.0, rect.top() + 6.0),
        pos2(rect.right() - 8.0, rect.bottom() - 18.0),
    );
    scores_ui(ui, family, chart, (from, to));
    painter.hline(
        rect.x_range(),
        rect.bottom(),
        egui::Stroke::new(1.0, colours.rule),
    );
}

/// How many plants have each score, and a line at their mean.
fn scores_ui(ui: &Ui, family: &Family, chart: Rect, (from, to): (i64, i64)) {
    let (colours, painter) = (tokens(ui), ui.painter());
    let small = FontId::proportional(type_size::SMALL);
    let scores = (to - from + 1).max(1) as f32;
    let step = chart.width() / scores;
    let tallest = family
        .scores
        .iter()
        .map(|(_, plants)| *plants)
        .max()
        .unwrap_or(1) as f32;
    painter.hline(
        chart.x_range(),
        chart.bottom(),
        egui::Stroke::new(1.0, colours.rule),
    );
    for score in from..=to {
        let x = chart.left() + (score - from) as f32 * step;
        painter.text(
            pos2(x + step / 2.0, chart.bottom() + 2.0),
            Align2::CENTER_TOP,
            score.to_string(),
            small.clone(),
            colours.muted,
        );
        let plants = family
            .scores
            .iter()
            .find(|(each, _)| *each == score)
            .map_or(0, |(_, plants)| *plants);
        if plants > 0 {
            let height = (chart.height() - 12.0) * plants as f32 / tallest;
            let column = Rect::from_min_max(
                pos2(x + 3.0, chart.bottom() - height),
                pos2(x + step - 3.0, chart.bottom()),
            );
            painter.rect_filled(column, 1.0, colours.series(1));
            painter.text(
                column.center_top(),
                Align2::CENTER_BOTTOM,
                plants.to_string(),
                small.clone(),
                colours.muted,
            );
        }
    }
    if let Some(mean) = family.mean() {
        let x = chart.left() + (mean as f32 - from as f32 + 0.5) * step;
        painter.vline(x, chart.y_range(), egui::Stroke::new(2.0, colours.ink));
    }
}
