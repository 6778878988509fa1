//! Scoring: the code beside its scores, digits and arrows alone go down a column, and what the scale means stays in view.

use crate::derived::Listing;
use crate::screens::selection;
use crate::view::{Outbox, Request, Screen, View};
use chrono::NaiveDate;
use domain::actions::score;
use domain::{Cross, Direction, Edit, Genotype, Id, Origin, Project, Scale, Sex, Stage, Trait};
use egui::{ComboBox, Key, Role, ScrollArea, Sense, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2};
use kit::drafts::Ticket;
use kit::fonts::mark;
use kit::page_keys;
use kit::theme::{self, muted, space, tokens, type_size};
use kit::widgets::{
    Column, Rows, Sort, Table, TableState, Weight, beside_or_below, empty_state, find_box,
    focus_outline, one_line, one_line_right, tag, wide_button,
};

/// The column of the code; the scores stand beside it, then sex and state.
const CODE: usize = 0;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    table: TableState<Id<Genotype>>,
    listing: Listing<Genotype, Filter>,
    filter: Filter,
    selection: selection::State,
    counts: Counts,
}

/// Which plants are shown, in which order.
#[derive(Debug, Clone, PartialEq, Default)]
struct Filter {
    family: Option<Id<Cross>>,
    stage: Option<Id<Stage>>,
    with_ended: bool,
    find: String,
    sort: Option<Sort>,
    traits: Vec<Id<Trait>>,
}

/// How many of the plants shown have each score of a trait, kept by revision.
#[derive(Default)]
struct Counts {
    of: Option<(u64, usize, usize, Id<Trait>)>,
    counts: [u32; 9],
}

impl Counts {
    fn follow(&mut self, project: &Project, rows: &[Id<Genotype>], of_trait: Id<Trait>) {
        let of = (
            project.revision(),
            rows.as_ptr() as usize,
            rows.len(),
            of_trait,
        );
        if self.of == Some(of) {
            return;
        }
        self.of = Some(of);
        self.counts = [0; 9];
        for plant in rows {
            if let Some(seen) = project.latest_observation(*plant, of_trait)
                && let Some(value) = seen.number(project)
                && (1.0..=9.0).contains(&value)
            {
                self.counts[value as usize - 1] += 1;
            }
        }
    }
}

/// The list that the forms of the bar belong to.
const LIST: &str = "seedlings";

/// The width of what stands beside the table.
const SIDE: f32 = 236.0;

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    let seedlings = project
        .genotypes()
        .iter()
        .any(|plant| !matches!(plant.origin, Origin::Founder { .. }));
    if !seedlings {
        let sentence = "Seedlings show here from the day they are potted. Count the sprouts of a box in warmth, then pot them up: each gets its number.";
        if empty_state(ui, sentence, "Go to the calendar") {
            out.ask(Request::Go(Screen::Calendar));
        }
        return;
    }
    ui.horizontal_wrapped(|ui| {
        find_box(ui, "Find a plant", &mut state.filter.find);
        filters_ui(ui, project, &mut state.filter);
    });
    ui.add_space(space::XS);
    let traits: Vec<&Trait> = project
        .traits()
        .iter()
        .filter(|each| matches!(each.scale, Scale::Score { from: 1, to: 9, .. }))
        .collect();
    state.filter.sort = state.table.sort;
    state.filter.traits = traits.iter().map(|each| each.id).collect();
    let key = Filter {
        find: state.filter.find.to_lowercase(),
        ..state.filter.clone()
    };
    let exists = |id| project.genotypes().contains(id);
    let rows = state
        .listing
        .steady_rows(ui.ctx(), project, key, listed, exists);
    // What can't be seen can't be acted on. In the order of the table, so that the first one named is the first seen.
    if state.table.keep_shown(&rows, project.revision()) {
        ui.ctx().request_repaint();
    }
    let chosen: Vec<Id<Genotype>> = if state.table.selected.is_empty() {
        Vec::new()
    } else {
        let is_chosen = |id: &&Id<Genotype>| state.table.selected.contains(*id);
        rows.iter().filter(is_chosen).copied().collect()
    };
    let (first, second) = beside_or_below(ui, SIDE);
    let mut side = ui.new_child(UiBuilder::new().max_rect(second));
    side.set_clip_rect(second.intersect(ui.clip_rect()));
    ScrollArea::vertical()
        .id_salt("beside the scores")
        .auto_shrink(false)
        .show(&mut side, |ui| {
            side_ui(ui, view, state, &chosen, &traits, out);
        });
    let mut body = ui.new_child(UiBuilder::new().max_rect(first));
    body.set_clip_rect(first.expand(2.0).intersect(ui.clip_rect()));
    if rows.is_empty() {
        body.label(muted(
            &body,
            "No plant matches. Clear the search box, or choose all families and stages.",
        ));
    } else {
        scale_ui(&mut body, view, state, &rows, &traits, out);
        table_ui(&mut body, view, state, &rows, &traits, out);
    }
    ui.advance_cursor_after_rect(first.union(second));
}

/// The trait whose column the cursor is in.
fn trait_in_hand<'a>(state: &State, traits: &[&'a Trait]) -> Option<&'a Trait> {
    let column = state.table.cursor_column();
    traits.get(column.saturating_sub(CODE + 1)).copied()
}

/// The scale of the trait in hand: what 1 and 9 mean, how many plants have each score; each score can be tapped.
fn scale_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    rows: &[Id<Genotype>],
    traits: &[&Trait],
    out: &mut Outbox<'_>,
) {
    let Some(of_trait) = trait_in_hand(state, traits) else {
        ui.label(muted(
            ui,
            "No trait is scored from 1 to 9 yet. Add one under Setup.",
        ));
        return;
    };
    state.counts.follow(view.project, rows, of_trait.id);
    let Scale::Score { low, high, .. } = &of_trait.scale else {
        return;
    };
    let (best, worst) = match of_trait.direction {
        Direction::Higher => ("9 is best", "1 is worst"),
        Direction::Lower => ("1 is best", "9 is worst"),
        Direction::Neutral => ("", ""),
    };
    ui.horizontal(|ui| {
        let title = egui::RichText::new(&of_trait.name)
            .font(theme::slab(type_size::HEADING))
            .color(tokens(ui).ink);
        ui.label(title);
        let scored: u32 = state.counts.counts.iter().sum();
        ui.label(muted(
            ui,
            format!("{scored} of {} scored. {best}", rows.len()),
        ));
    });
    let width = (ui.available_width() - 8.0 * space::XS) / 9.0;
    let mut tapped = None;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = space::XS;
        for digit in 1..=9_u8 {
            let count = state.counts.counts[usize::from(digit) - 1];
            if digit_ui(ui, width.min(84.0), digit, count, &of_trait.name) {
                tapped = Some(digit);
            }
        }
    });
    let width = width.min(84.0) * 9.0 + 8.0 * space::XS;
    let (rect, response) = ui.allocate_exact_size(vec2(width, 20.0), Sense::hover());
    let words = format!("1: {low}. 9: {high}. {best} {worst}");
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words.trim()));
    let colours = tokens(ui);
    let font = theme::bold(type_size::SMALL);
    let halves = |left: bool| {
        let half = rect.center().x;
        if left {
            rect.with_max_x(half - space::S)
        } else {
            rect.with_min_x(half + space::S)
        }
    };
    let y = rect.center().y;
    one_line(
        ui,
        halves(true),
        y,
        &format!("1 {low}"),
        font.clone(),
        colours.ink,
    );
    one_line_right(
        ui,
        halves(false),
        y,
        &format!("9 {high}"),
        font,
        colours.ink,
    );
    if let Some(digit) = tapped
        && view.read_only.is_none()
        && let Some(plant) = state.table.cursor()
    {
        let value = f64::from(digit);
        let edit = score(view.project, plant, of_trait.id, view.today, value, out.ids);
        out.submit(Ticket::of_value(ui), edit);
        state.table.step_down(rows);
    }
}

/// One score of the scale, with a dot for each plant that has it, up to a dozen.
fn digit_ui(ui: &mut Ui, width: f32, digit: u8, count: u32, of_trait: &str) -> bool {
    let (rect, response) = ui.allocate_exact_size(vec2(width, 40.0), Sense::click());
    response.widget_info(|| {
        let words = format!("Score {digit} for {of_trait}, {count} have it");
        WidgetInfo::labeled(Role::Button, ui.is_enabled(), words)
    });
    let colours = tokens(ui);
    let edge = if response.hovered() {
        Stroke::new(2.0, colours.ink)
    } else {
        Stroke::new(1.0, colours.outline)
    };
    let painter = ui.painter();
    painter.rect(rect, 3.0, colours.raised, edge, egui::StrokeKind::Inside);
    painter.text(
        pos2(rect.left() + 10.0, rect.center().y),
        egui::Align2::LEFT_CENTER,
        digit.to_string(),
        theme::slab(type_size::HEADING),
        colours.ink,
    );
    // Where there is room for it beside the digit; it is in the name of the button too.
    if count > DOTS && width >= 48.0 {
        painter.text(
            rect.right_bottom() - vec2(8.0, 6.0),
            egui::Align2::RIGHT_BOTTOM,
            count.to_string(),
            egui::FontId::proportional(type_size::BODY),
            colours.ink,
        );
    }
    // A dot a plant, as long as they can be told apart.
    let shown = if count > DOTS || width < 48.0 {
        0
    } else {
        count
    };
    for nth in 0..shown {
        let at = pos2(
            rect.right() - 8.0 - (nth % 4) as f32 * 9.0,
            rect.bottom() - 8.0 - (nth / 4) as f32 * 9.0,
        );
        painter.circle_filled(at, 2.8, colours.ink);
    }
    focus_outline(ui, &response, rect);
    response.clicked()
}

/// The most plants of a score that are drawn as dots.
const DOTS: u32 = 12;

/// The plant in hand, its scores before, and what is done with what is chosen.
fn side_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    chosen: &[Id<Genotype>],
    traits: &[&Trait],
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    selection::follow_choice(ui, LIST, chosen);
    let in_hand = state
        .table
        .cursor()
        .and_then(|id| project.genotypes().get(id));
    let Some(plant) = in_hand else {
        ui.label(muted(
            ui,
            "Choose a plant for its sex, selection, the next stage or culling.",
        ));
        return;
    };
    tag(ui, &plant.code, true);
    let origin = domain::display::origin_words(project, &plant.origin);
    let place = match plant.location.as_str() {
        "" => origin,
        place => format!("{origin}, {place}"),
    };
    ui.add(egui::Label::new(place).wrap());
    if let Some(of_trait) = trait_in_hand(state, traits) {
        earlier_ui(ui, view, plant, of_trait);
    }
    ui.add_space(space::S);
    if view.read_only.is_some() || chosen.is_empty() {
        return;
    }
    let who = selection::names(project, chosen);
    let pressed = |ui: &mut Ui, words: &str, key: Key, letter: &str| {
        ui.spacing_mut().item_spacing.y = space::XS;
        let button = wide_button(ui, Weight::Outline, words, letter, true);
        button.clicked() || page_keys::pressed(ui, key)
    };
    if pressed(ui, &format!("Female: {who}"), Key::F, "F") {
        selection::tell_sex(ui, view, &mut state.selection, chosen, Sex::Female, out);
    }
    if pressed(ui, &format!("Male: {who}"), Key::M, "M") {
        selection::tell_sex(ui, view, &mut state.selection, chosen, Sex::Male, out);
    }
    if pressed(ui, &format!("Select {who}…"), Key::S, "S") {
        selection::open_select(ui, project, LIST, chosen);
    }
    if pressed(ui, &format!("Cull {who}…"), Key::X, "X") {
        selection::open_cull(ui, project, LIST, chosen);
    }
    selection::forms_ui(ui, view, &mut state.selection, LIST, out);
    ui.add_space(space::XS);
    selection::stage_ui(ui, view, chosen, out);
    ui.horizontal_wrapped(|ui| {
        if ui.button("Open its page").clicked() {
            out.show(plant.id);
        }
        if ui.button(format!("Label {who}")).clicked() {
            out.ask(Request::Label(
                chosen.iter().map(|id| (*id).into()).collect(),
            ));
        }
    });
    let words = format!("These act on {who} only. Shift and ↓ takes in the next plant.");
    ui.add(egui::Label::new(muted(ui, words).size(type_size::SMALL)).wrap());
    page_keys::declare(
        ui,
        [
            ("1 … 9", "score, go down"),
            ("← →", "trait"),
            ("F", "female"),
            ("M", "male"),
            ("S", "select"),
            ("X", "cull"),
        ],
    );
}

/// The scores of this plant for a trait before the working day.
fn earlier_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, of_trait: &Trait) {
    let seen = view.project.observations_of(plant.id);
    let mut before: Vec<_> = seen
        .filter(|each| each.of_trait == of_trait.id && each.date < view.today)
        .collect();
    if before.is_empty() {
        return;
    }
    before.sort_by_key(|each| std::cmp::Reverse(each.date));
    ui.add_space(space::S);
    ui.label(theme::strong(format!("{} before", of_trait.name)));
    for each in before.iter().take(4) {
        let day = kit::dates::day(each.date);
        ui.horizontal(|ui| {
            ui.label(theme::strong(each.value.to_string()));
            ui.label(muted(ui, day));
        });
    }
}

fn filters_ui(ui: &mut Ui, project: &Project, filter: &mut Filter) {
    let family = filter
        .family
        .map_or("all families", |family| project.code_of(family))
        .to_owned();
    let combo = ComboBox::from_id_salt("family")
        .selected_text(&family)
        .width(120.0)
        .show_ui(ui, |ui| {
            ui.selectable_value(&mut filter.family, None, "all families");
            for cross in project
                .crosses()
                .iter()
                .filter(|cross| project.progeny_of(cross.id).next().is_some())
            {
                ui.selectable_value(&mut filter.family, Some(cross.id), &cross.code);
            }
        });
    combo
        .response
        .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, format!("Family: {family}")));
    let stages = project.stages_in_order();
    let stage = filter
        .stage
        .and_then(|stage| project.stages().get(stage))
        .map_or("all stages", |stage| stage.name.as_str())
        .to_owned();
    let combo = ComboBox::from_id_salt("stage")
        .selected_text(&stage)
        .width(120.0)
        .show_ui(ui, |ui| {
            ui.selectable_value(&mut filter.stage, None, "all stages");
            for stage in stages {
                ui.selectable_value(&mut filter.stage, Some(stage.id), &stage.name);
            }
        });
    combo
        .response
        .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, format!("Stage: {stage}")));
    ui.checkbox(&mut filter.with_ended, "Include culled and dead");
}

fn listed(project: &Project, filter: &Filter) -> Vec<Id<Genotype>> {
    let mut plants: Vec<&Genotype> = match filter.family {
        Some(family) => project.progeny_of(family).collect(),
        None => project
            .genotypes()
            .iter()
            .filter(|plant| !matches!(plant.origin, Origin::Founder { .. }))
            .collect(),
    };
    plants.retain(|plant| {
        (filter.with_ended || plant.is_alive())
            && filter.stage.is_none_or(|stage| plant.stage == Some(stage))
            && (filter.find.is_empty()
                || plant.code.to_lowercase().contains(&filter.find)
                || plant.location.to_lowercase().contains(&filter.find))
    });
    match filter.sort {
        None | Some(Sort { column: 0, .. }) => plants.sort_by(|a, b| a.code.cmp(&b.code)),
        Some(Sort { column, .. }) if column == filter.traits.len() + 1 => {
            plants.sort_by_key(|plant| plant.known_sex());
        }
        Some(Sort { column, .. }) if column > filter.traits.len() + 1 => {
            plants.sort_by_key(|plant| {
                plant
                    .stage
                    .and_then(|stage| project.stages().get(stage))
                    .map(|stage| stage.rank)
            });
        }
        Some(Sort { column, .. }) => {
            let of_trait = filter.traits.get(column - CODE - 1).copied();
            let value = |plant: &Genotype| {
                of_trait
                    .and_then(|each| project.latest_observation(plant.id, each))
                    .and_then(|seen| seen.number(project))
                    .map(|value| value as i64)
            };
            plants.sort_by_cached_key(|plant| value(plant));
        }
    }
    if filter.sort.is_some_and(|sort| !sort.ascending) {
        plants.reverse();
    }
    plants.into_iter().map(|plant| plant.id).collect()
}

fn columns(traits: &[&Trait]) -> Vec<Column> {
    let mut columns = vec![Column::text("Code", 148.0)];
    columns.extend(traits.iter().map(|each| {
        let hint = match &each.scale {
            Scale::Score {
                from,
                to,
                low,
                high,
                ..
            } => format!("{from} {low}, {to} {high}. {}", each.method),
            _ => each.method.clone(),
        };
        Column::score(&each.name, 112.0).hint(hint)
    }));
    columns.push(Column::text("Sex", 88.0));
    columns.push(Column::text("State", 96.0).stretch());
    columns
}

fn table_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    rows: &[Id<Genotype>],
    traits: &[&Trait],
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let day = view.today;
    let columns = columns(traits);
    let sex = traits.len() + 1;
    let mut undo = None;
    let table = Table::new("Scores", &columns)
        .row_height(36.0)
        .takes_keys_on_arrival();
    let response = table.show(
        ui,
        &mut state.table,
        Rows {
            count: rows.len(),
            key: |row: usize| rows[row],
            name: |row: usize| project.code_of(rows[row]).to_owned(),
            cell: |ui: &mut Ui, row: usize, column: usize| {
                let Some(plant) = project.genotypes().get(rows[row]) else {
                    return;
                };
                if column == CODE {
                    code_cell(ui, plant);
                } else if column == sex {
                    match plant.known_sex() {
                        None => ui.label(muted(ui, "? not known")),
                        sex => ui.label(sex_words(sex)),
                    };
                } else if column > sex {
                    if state_cell(ui, view, plant) {
                        undo = view.done_to(plant.id).cloned();
                    }
                } else {
                    score_cell(ui, project, plant.id, traits.get(column - CODE - 1), day);
                }
            },
        },
    );
    if let Some(done) = undo {
        out.take_back(&done);
    }
    if response.sort.is_some() {
        state.table.sort = response.sort;
    }
    if let Some(plant) = response.opened {
        out.show(plant);
    }
    if view.read_only.is_some() {
        return;
    }
    for entry in response.entries {
        let Some(of_trait) = entry
            .column
            .checked_sub(CODE + 1)
            .and_then(|column| traits.get(column))
        else {
            continue;
        };
        if let Some(digit) = entry.digit {
            let edit = score(
                project,
                entry.key,
                of_trait.id,
                day,
                f64::from(digit),
                out.ids,
            );
            out.submit(Ticket::of_value(ui), edit);
        } else {
            let of_day = project
                .observations_of(entry.key)
                .filter(|each| each.of_trait == of_trait.id && each.date == day)
                .last();
            if let Some(seen) = of_day {
                out.act(ui, "clear the score", seen.id, Edit::remove(seen.id));
            }
        }
    }
}

/// The code in the slab, struck through once the plant is gone.
fn code_cell(ui: &mut Ui, plant: &Genotype) {
    let colours = tokens(ui);
    let code = if plant.ploidy == domain::Ploidy::DIPLOID {
        plant.code.clone()
    } else {
        format!("{} ({})", plant.code, plant.ploidy)
    };
    let mut code = egui::RichText::new(code).font(theme::slab(type_size::HEADING));
    code = if plant.is_alive() {
        code.color(colours.ink)
    } else {
        code.color(colours.muted).strikethrough()
    };
    ui.add(egui::Label::new(code).truncate());
}

/// How a plant stands; true when what was done to it here is to be taken back.
fn state_cell(ui: &mut Ui, view: &View<'_>, plant: &Genotype) -> bool {
    let project = view.project;
    let stage = plant.stage.and_then(|stage| project.stages().get(stage));
    let words = match (&plant.end, &plant.selected) {
        (Some(end), _) => format!("{} {}", mark::CROSS, end.kind.word()),
        (None, Some(_)) => format!("{} selected", mark::DIAMOND),
        (None, None) => stage.map_or_else(String::new, |stage| stage.name.clone()),
    };
    ui.label(words);
    let done = view.done_to(plant.id).filter(|_| plant.end.is_some());
    if done.is_none() || view.read_only.is_some() {
        return false;
    }
    let text = egui::RichText::new("Undo")
        .size(type_size::SMALL)
        .underline();
    let button = ui.add(
        egui::Button::new(text)
            .frame(false)
            .min_size(vec2(40.0, 28.0)),
    );
    button.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Undo: {}", plant.code)));
    button.clicked() && !kit::drafts::just_acted(ui.ctx(), LIST)
}

/// The score of the day, or, smaller, the last one before it.
fn score_cell(
    ui: &mut Ui,
    project: &Project,
    plant: Id<Genotype>,
    of_trait: Option<&&Trait>,
    day: NaiveDate,
) {
    let Some(of_trait) = of_trait else { return };
    let Some(seen) = project.latest_observation(plant, of_trait.id) else {
        return;
    };
    if seen.date == day {
        let value =
            egui::RichText::new(seen.value.to_string()).font(theme::bold(type_size::HEADING));
        ui.label(value);
    } else {
        ui.label(seen.value.to_string())
            .on_hover_text(format!("seen {}", kit::dates::day(seen.date)));
    }
}

/// A sex as its mark and word.
pub(super) fn sex_words(sex: Option<Sex>) -> String {
    match sex {
        None => "unknown".into(),
        Some(Sex::Female) => format!("{} female", mark::FEMALE),
        Some(Sex::Male) => format!("{} male", mark::MALE),
        Some(Sex::Monoecious) => format!("{} monoecious", mark::MONOECIOUS),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sexes_are_told_by_mark_and_word() {
        assert_eq!(sex_words(Some(Sex::Female)), "♀ female");
        assert_eq!(sex_words(None), "unknown");
    }
}
