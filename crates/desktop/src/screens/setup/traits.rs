//! The traits that are scored, counted or measured.

use crate::screens::text_field::text_field_sized;
use crate::view::{Outbox, View};
use domain::record::observation::TraitField;
use domain::{Direction, Edit, Id, Scale, Trait};
use egui::{Role, Ui, WidgetInfo};
use kit::theme::{muted, space};
use kit::widgets::{form_row, section_heading, segmented};

mod derived;
mod scale;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State;

pub(super) fn show(ui: &mut Ui, view: &View<'_>, _state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    ui.label(muted(
        ui,
        "What you score, count, measure, date or describe on plants, on the Measure page. A calculated one follows from \
        others and is never typed.",
    ));
    for each in project.traits().iter() {
        section_heading(ui, &each.name);
        kit::drafts::about(ui, each.id.uuid(), &each.name, |ui| {
            trait_ui(ui, view, each, out);
        });
    }
    ui.add_space(space::M);
    if ui.button("New trait").clicked() {
        let id: Id<Trait> = out.ids.next();
        let name = (1..=project.traits().len() + 1)
            .map(|number| format!("Trait {number}"))
            .find(|name| project.traits().iter().all(|each| each.name != *name));
        let edit = Edit::add(Trait {
            id,
            name: name.unwrap_or_default(),
            scale: Scale::one_to_nine("least", "most"),
            direction: Direction::Neutral,
            method: String::new(),
        });
        out.act_on(ui, "new trait", "traits", edit);
    }
}

fn trait_ui(ui: &mut Ui, view: &View<'_>, each: &Trait, out: &mut Outbox<'_>) {
    let seen = view.project.observations_of_trait(each.id).count();
    ui.horizontal_wrapped(|ui| {
        if let Some((name, ticket)) = text_field_sized(
            ui,
            &format!("Name of trait {}", each.name),
            &each.name,
            150.0,
        ) {
            out.submit(ticket, Edit::set(each.id, TraitField::Name(name)));
        }
        let mut direction = each.direction;
        let choices = [
            (Direction::Higher, "higher is better"),
            (Direction::Lower, "lower is better"),
            (Direction::Neutral, "neither"),
        ];
        if segmented(
            ui,
            &format!("Direction of {}", each.name),
            &mut direction,
            &choices,
        ) {
            let edit = Edit::set(each.id, TraitField::Direction(direction));
            out.act(ui, "direction", each.id, edit);
        }
        ui.label(muted(ui, format!("{seen} observations")));
        let remove = ui.add_enabled(seen == 0, egui::Button::new("Remove"));
        remove.widget_info(|| {
            WidgetInfo::labeled(
                Role::Button,
                seen == 0,
                format!("Remove trait {}", each.name),
            )
        });
        if remove.clicked() {
            out.act(ui, "remove", each.id, Edit::remove(each.id));
        }
    });
    scale::show(ui, view, each, seen, out);
    form_row(ui, "Method", |ui| {
        if let Some((method, ticket)) =
            text_field_sized(ui, &format!("Method of {}", each.name), &each.method, 320.0)
        {
            out.submit(ticket, Edit::set(each.id, TraitField::Method(method)));
        }
    });
}
