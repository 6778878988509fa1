//! Beside the grid: the values that can be tapped, what isn't recorded, what is to be asked, the plant in hand.

use super::{Column, Cursor, Sheet, Spot, State, cells, disease, grid};
use crate::view::{Outbox, Request, View};
use domain::{Edit, Genotype, Observation, Scale, Trait, Value};
use egui::{Button, Role, Ui, WidgetInfo, vec2};
use kit::dates;
use kit::fonts::mark;
use kit::theme::{self, muted, space, tokens, type_size};
use kit::widgets::{segmented, tag};

pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    (sheet, spot): (&mut Sheet, Spot),
    traits: &[&Trait],
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let Some(plant) = project.genotypes().get(spot.plant) else {
        return;
    };
    tag(ui, &plant.code, true);
    let origin = domain::display::origin_words(project, &plant.origin);
    let place = match plant.location.as_str() {
        "" => origin,
        place => format!("{origin}, {place}"),
    };
    ui.add(egui::Label::new(place).wrap());
    let of_trait = match spot.column {
        Column::Trait(id) => project.traits().get(id),
        Column::Remark => None,
    };
    if let Some(of_trait) = of_trait {
        ui.add_space(space::S);
        let title = theme::strong(&of_trait.name).size(type_size::BENCH);
        ui.add(egui::Label::new(title).wrap());
        scale_ui(ui, view, state, (sheet, spot), of_trait, out);
    }
    unread_ui(ui, view, state, traits);
    questions_ui(ui, view, state, sheet, traits);
    if let Some(of_trait) = of_trait {
        seen_ui(ui, view, (sheet, spot), of_trait, out);
    }
    disease::course_ui(ui, view, sheet, spot.plant);
    ui.add_space(space::S);
    plant_ui(ui, state, sheet, plant, out);
}

/// What a value of the trait can be, to be tapped where there are few.
fn scale_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    (sheet, spot): (&Sheet, Spot),
    of_trait: &Trait,
    out: &mut Outbox<'_>,
) {
    let choices: Vec<(Value, String)> = match &of_trait.scale {
        Scale::Score { from, to, .. } if to.saturating_sub(*from) <= 12 => (*from..=*to)
            .map(|score| {
                let words = match of_trait.scale.word_for(score) {
                    Some(word) => format!("{score} {word}"),
                    None => score.to_string(),
                };
                (f64::from(score).into(), words)
            })
            .collect(),
        Scale::Classes { classes } => classes
            .iter()
            .map(|class| {
                let value = Value::Class {
                    class: class.clone(),
                };
                (value, class.clone())
            })
            .collect(),
        Scale::YesNo => vec![
            (Value::YesNo(true), "yes".to_owned()),
            (Value::YesNo(false), "no".to_owned()),
        ],
        Scale::Date => {
            let value = Value::Date { date: view.today };
            vec![(value, dates::day(view.today))]
        }
        _ => Vec::new(),
    };
    let how = how_to_type(&of_trait.scale);
    if !how.is_empty() {
        ui.add(egui::Label::new(muted(ui, how)).wrap());
    }
    if !of_trait.method.is_empty() {
        ui.add(egui::Label::new(muted(ui, &of_trait.method).size(type_size::SMALL)).wrap());
    }
    if view.read_only.is_some() {
        return;
    }
    let code = view.project.code_of(spot.plant).to_owned();
    let recorded = cells::seen(view, sheet, spot).map(|seen| seen.value.clone());
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(space::XS, space::XS);
        for (value, words) in choices {
            let stands = recorded.as_ref() == Some(&value);
            let button = Button::new(&words)
                .selected(stands)
                .min_size(vec2(28.0, space::TARGET));
            let button = ui.add(button);
            button.widget_info(|| {
                let name = format!("{}: {words} for {code}", of_trait.name);
                WidgetInfo::selected(Role::Button, true, stands, name)
            });
            if button.clicked() {
                grid::choose(ui, view, state, (sheet, spot), &value, out);
                state.grid_goes_on();
            }
        }
    });
}

fn how_to_type(scale: &Scale) -> String {
    match scale {
        Scale::Measure {
            unit,
            at_least,
            at_most,
        } => match (at_least, at_most) {
            (Some(least), Some(most)) => format!("From {least} to {most} {unit}."),
            (Some(least), None) => format!("At least {least} {unit}."),
            (None, Some(most)) => format!("At most {most} {unit}."),
            (None, None) if unit.is_empty() => String::new(),
            (None, None) => format!("In {unit}."),
        },
        Scale::Number => "A whole number.".into(),
        Scale::Date => "Such as 14 Aug, 14.8. or yesterday.".into(),
        Scale::YesNo => "y or n.".into(),
        Scale::Text => "In words.".into(),
        Scale::Classes { .. } => "The word, its beginning, or its place from 1.".into(),
        Scale::Score { .. } | Scale::Derived { .. } => String::new(),
    }
}

/// So many lines of one kind are shown beside the grid.
const SHOWN: usize = 6;

/// What is typed and not recorded, and why.
fn unread_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, traits: &[&Trait]) {
    let waits = |spot: &Spot| cells::slot(ui, view, *spot).held(ui.ctx()).is_some();
    let mut unread = std::mem::take(&mut state.unread);
    unread.retain(waits);
    let lines: Vec<(Spot, String)> = unread
        .iter()
        .filter_map(|spot| {
            let (text, problem) = cells::slot(ui, view, *spot).held(ui.ctx())?;
            let why = problem.unwrap_or_else(|| "Not recorded yet.".to_owned());
            Some((
                *spot,
                format!("{}: '{text}'. {why}", cells::name(view, *spot)),
            ))
        })
        .collect();
    state.unread = unread;
    lines_ui(ui, view, state, traits, "Not recorded", lines);
}

/// What looks as if a point had slipped.
fn questions_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, sheet: &Sheet, traits: &[&Trait]) {
    let entered = state.entered.clone();
    let mut lines = Vec::new();
    for (plant, of_trait) in entered.into_iter().rev() {
        let spot = Spot {
            plant,
            column: Column::Trait(of_trait),
        };
        let Some(seen) = cells::seen(view, sheet, spot) else {
            continue;
        };
        if let Some(question) = grid::question(view, state, seen) {
            lines.push((spot, format!("{}: {question}", view.project.code_of(plant))));
        }
    }
    let before = lines.len();
    lines_ui(ui, view, state, traits, "To be asked about", lines);
    if before > 0 && ui.button("They are right").clicked() {
        state.entered.clear();
    }
}

fn lines_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    traits: &[&Trait],
    title: &str,
    lines: Vec<(Spot, String)>,
) {
    if lines.is_empty() {
        return;
    }
    ui.add_space(space::S);
    let count = lines.len();
    let ink = tokens(ui).alarm;
    ui.label(theme::strong(format!("{} {title}: {count}", mark::WARNING)).color(ink));
    for (spot, words) in lines.into_iter().take(SHOWN) {
        ui.add(egui::Label::new(words).wrap());
        let button = ui.button("Go there");
        let name = format!("Go to {}", cells::name(view, spot));
        button.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
        if button.clicked() {
            let column = match spot.column {
                Column::Trait(of_trait) => traits.iter().position(|each| each.id == of_trait),
                Column::Remark => None,
            };
            let cursor = Cursor {
                plant: spot.plant,
                column: column.unwrap_or(traits.len()),
            };
            grid::go_to(state, cursor);
        }
    }
    if count > SHOWN {
        ui.label(muted(ui, format!("and {} more", count - SHOWN)));
    }
}

/// The value of the day with what it knows of itself, and those before it.
fn seen_ui(
    ui: &mut Ui,
    view: &View<'_>,
    (sheet, spot): (&Sheet, Spot),
    of_trait: &Trait,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    if let Some(seen) = cells::seen(view, sheet, spot) {
        ui.add_space(space::S);
        ui.add(egui::Label::new(told(view, seen)).wrap());
        ui.horizontal_wrapped(|ui| {
            let code = project.code_of(spot.plant);
            let history = ui.button("History");
            history.widget_info(|| {
                let name = format!("History of {} of {code}", of_trait.name);
                WidgetInfo::labeled(Role::Button, true, name)
            });
            if history.clicked() {
                out.ask(Request::ShowHistory(seen.id.into()));
            }
            if view.read_only.is_none() {
                let remove = ui.button("Remove");
                remove.widget_info(|| {
                    let name = format!("Remove {} of {code}", of_trait.name);
                    WidgetInfo::labeled(Role::Button, true, name)
                });
                if remove.clicked() {
                    out.act(ui, "remove the value", seen.id, Edit::remove(seen.id));
                }
            }
        });
    }
    let own = cells::seen(view, sheet, spot).map(|seen| seen.id);
    let mut others: Vec<&Observation> = project
        .observations_of(spot.plant)
        .filter(|each| each.of_trait == of_trait.id && Some(each.id) != own)
        .collect();
    if others.is_empty() {
        return;
    }
    others.sort_by_key(|each| std::cmp::Reverse(each.date));
    ui.add_space(space::S);
    ui.label(theme::strong("Recorded besides"));
    for each in others.iter().take(4) {
        ui.add(egui::Label::new(told(view, each)).wrap());
    }
}

/// A value with its day and circumstances.
fn told(view: &View<'_>, seen: &Observation) -> String {
    let replicate = seen.replicate.map(|number| format!("replicate {number}"));
    let known = [
        dates::day(seen.date),
        seen.method_words(view.project),
        seen.site.clone(),
        replicate.unwrap_or_default(),
        seen.isolate.clone(),
        seen.by.clone(),
    ];
    let known: Vec<&str> = known
        .iter()
        .map(String::as_str)
        .filter(|words| !words.is_empty())
        .collect();
    format!("{}: {}", seen.value, known.join(", "))
}

fn plant_ui(
    ui: &mut Ui,
    state: &mut State,
    sheet: &mut Sheet,
    plant: &Genotype,
    out: &mut Outbox<'_>,
) {
    let choices = [(false, "down"), (true, "across")];
    ui.label(muted(ui, "Enter goes"));
    if segmented(ui, "Enter goes", &mut sheet.across, &choices) {
        state.grid_gets_keys();
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("Open its page").clicked() {
            out.show(plant.id);
        }
        let button = ui.button("Take off the list");
        button.widget_info(|| {
            WidgetInfo::labeled(
                Role::Button,
                true,
                format!("Take {} off the list", plant.code),
            )
        });
        if button.clicked() {
            sheet.wanted.also.retain(|id| *id != plant.id);
            sheet.wanted.without.push(plant.id);
            state.cursor = None;
        }
    });
}
