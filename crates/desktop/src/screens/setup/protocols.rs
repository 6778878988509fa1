//! Protocols: how seed is chilled and brought up.

use crate::screens::regimen_form;
use crate::screens::text_field::text_field;
use crate::view::{Outbox, View};
use domain::record::protocol::ProtocolField;
use domain::record::settings::SettingsField;
use domain::{Edit, Id, Protocol};
use egui::Ui;
use kit::theme::Meaning;
use kit::theme::{muted, space};
use kit::widgets::{badge, form_row, section_heading};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    pub(super) chosen: Option<Id<Protocol>>,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    let own = project.settings().protocol;
    ui.label(muted(
        ui,
        "A new batch copies the settings of its protocol. Changing a protocol here does not affect \
        seed already in the cold.",
    ));
    ui.horizontal_wrapped(|ui| {
        for protocol in project.protocols().iter() {
            if ui
                .selectable_label(state.chosen == Some(protocol.id), &protocol.name)
                .clicked()
            {
                state.chosen = Some(protocol.id);
            }
        }
        if ui.button("New protocol").clicked() {
            let base = own
                .and_then(|own| project.protocols().get(own))
                .map(|protocol| protocol.regimen.clone());
            let id = out.ids.next();
            let name = format!("Protocol {}", project.protocols().len() + 1);
            let edit = Edit::add(Protocol {
                id,
                name,
                regimen: base.unwrap_or_default(),
                source: String::new(),
            });
            out.act_on(ui, "new protocol", "protocols", edit);
            state.chosen = Some(id);
        }
    });
    let chosen = state
        .chosen
        .or(own)
        .and_then(|id| project.protocols().get(id));
    let Some(protocol) = chosen else { return };
    state.chosen = Some(protocol.id);
    section_heading(ui, &protocol.name);
    kit::drafts::about(ui, protocol.id.uuid(), &protocol.name, |ui| {
        form_row(ui, "Name", |ui| {
            if let Some((name, ticket)) = text_field(ui, "Name of the protocol", &protocol.name) {
                out.submit(ticket, Edit::set(protocol.id, ProtocolField::Name(name)));
            }
        });
        form_row(ui, "Source", |ui| {
            ui.vertical(|ui| {
                if let Some((source, ticket)) =
                    text_field(ui, "Source of the protocol", &protocol.source)
                {
                    out.submit(
                        ticket,
                        Edit::set(protocol.id, ProtocolField::Source(source)),
                    );
                }
                if protocol.source.len() > 40 {
                    ui.add(egui::Label::new(muted(ui, &protocol.source)).wrap());
                }
            });
        });
        if let Some((regimen, ticket)) = regimen_form::show(ui, view, &protocol.regimen) {
            out.submit(
                ticket,
                Edit::set(protocol.id, ProtocolField::Regimen(regimen)),
            );
        }
        ui.add_space(space::S);
        ui.horizontal(|ui| {
            if own == Some(protocol.id) {
                badge(ui, Meaning::Good, "new batches start from this");
            } else {
                if ui.button("Start new batches from this").clicked() {
                    let edit = Edit::Settings(SettingsField::Protocol(Some(protocol.id)));
                    out.act_on(ui, "protocol", "settings", edit);
                }
                if ui.button("Remove this protocol").clicked() {
                    out.act(ui, "remove", protocol.id, Edit::remove(protocol.id));
                    state.chosen = own;
                }
            }
        });
    });
}
