//! The traits that are scored, counted or measured.

use crate::screens::text_field::text_field_sized;
use crate::view::{Outbox, View};
use domain::record::observation::TraitField;
use domain::{Direction, Edit, Id, Scale, Trait};
use egui::{Role, Ui, WidgetInfo};
use kit::drafts::Ticket;
use kit::theme::{muted, space};
use kit::widgets::{NumberField, section_heading, segmented};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State;

/// The kinds of scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum ScaleKind {
    Score,
    Number,
    Measure,
    Other,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, _state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    ui.label(muted(
        ui,
        "What you score or measure on plants. Scores from 1 to 9 can be typed down a column on the \
        Seedlings screen.",
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
    ui.horizontal(|ui| {
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
    ui.horizontal(|ui| scale_ui(ui, each, out));
    ui.horizontal(|ui| {
        ui.label(muted(ui, "Method"));
        if let Some((method, ticket)) =
            text_field_sized(ui, &format!("Method of {}", each.name), &each.method, 420.0)
        {
            out.submit(ticket, Edit::set(each.id, TraitField::Method(method)));
        }
    });
}

fn scale_ui(ui: &mut Ui, each: &Trait, out: &mut Outbox<'_>) {
    let name = &each.name;
    let was = match each.scale {
        Scale::Score { .. } => ScaleKind::Score,
        Scale::Number => ScaleKind::Number,
        Scale::Measure { .. } => ScaleKind::Measure,
        _ => ScaleKind::Other,
    };
    let mut kind = was;
    let kinds = [
        (ScaleKind::Score, "scores"),
        (ScaleKind::Number, "a count"),
        (ScaleKind::Measure, "a measurement"),
    ];
    if segmented(ui, &format!("Scale of {name}"), &mut kind, &kinds) {
        let scale = match kind {
            ScaleKind::Score => Scale::one_to_nine("least", "most"),
            ScaleKind::Number => Scale::Number,
            ScaleKind::Measure => Scale::measure("g"),
            ScaleKind::Other => return,
        };
        let edit = Edit::set(each.id, TraitField::Scale(scale));
        out.act(ui, "scale", each.id, edit);
        return;
    }
    let mut scale = each.scale.clone();
    let changed = match &mut scale {
        Scale::Score {
            from,
            to,
            low,
            high,
            ..
        } => {
            let mut changed = score_end(ui, &format!("Lowest score of {name}"), from);
            let said = replace(
                low,
                text_field_sized(ui, &format!("What the lowest {name} means"), low, 90.0),
            );
            changed = changed.or(said);
            let said = score_end(ui, &format!("Highest score of {name}"), to);
            changed = changed.or(said);
            let said = replace(
                high,
                text_field_sized(ui, &format!("What the highest {name} means"), high, 90.0),
            );
            changed.or(said)
        }
        Scale::Measure { unit, .. } => replace(
            unit,
            text_field_sized(ui, &format!("Unit of {name}"), unit, 80.0),
        ),
        _ => None,
    };
    if let Some(ticket) = changed {
        out.submit(ticket, Edit::set(each.id, TraitField::Scale(scale)));
    }
}

fn score_end(ui: &mut Ui, name: &str, value: &mut i32) -> Option<Ticket> {
    let mut number = f64::from(*value);
    let changed = NumberField::new(name, "")
        .range(-1000.0..=1000.0)
        .decimals(0)
        .width(40.0)
        .show(ui, &mut number)
        .ticket;
    *value = number as i32;
    changed
}

fn replace(text: &mut String, new: Option<(String, Ticket)>) -> Option<Ticket> {
    new.map(|(new, ticket)| {
        *text = new;
        ticket
    })
}
