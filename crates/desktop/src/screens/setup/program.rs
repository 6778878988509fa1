//! The program itself: name, place, half of the globe, the cadence of crosses, how seedlings are numbered.

use crate::screens::text_field::text_field;
use crate::view::{Outbox, View};
use domain::code::Template;
use domain::record::settings::SettingsField;
use domain::{CrossTiming, Edit, Hemisphere};
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{NumberField, TextField, form_row, section_heading, segmented};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State;

pub(super) fn show(ui: &mut Ui, view: &View<'_>, _state: &mut State, out: &mut Outbox<'_>) {
    let settings = view.project.settings();
    form_row(ui, "Name", |ui| {
        if let Some((name, ticket)) = text_field(ui, "Name of the program", &settings.name) {
            out.submit(ticket, Edit::Settings(SettingsField::Name(name)));
        }
    });
    form_row(ui, "Place", |ui| {
        if let Some((place, ticket)) = text_field(ui, "Place of the program", &settings.place) {
            out.submit(ticket, Edit::Settings(SettingsField::Place(place)));
        }
    });
    form_row(ui, "Hemisphere", |ui| {
        let mut hemisphere = settings.hemisphere;
        let choices = [
            (Hemisphere::Northern, "Northern"),
            (Hemisphere::Southern, "Southern"),
        ];
        if segmented(ui, "Hemisphere", &mut hemisphere, &choices) {
            let edit = Edit::Settings(SettingsField::Hemisphere(hemisphere));
            out.act_on(ui, "hemisphere", "settings", edit);
        }
    });
    section_heading(ui, "Timing of crosses");
    ui.label(muted(
        ui,
        "Starting values from common practice; adjust for your weather and cultivars. The calendar \
        uses them.",
    ));
    let timing = &settings.cross_timing;
    type Pick = fn(&mut CrossTiming) -> &mut u32;
    let rows: [(&str, &str, Pick); 5] = [
        ("Bag before", "days before pollination", |timing| {
            &mut timing.bag_before
        }),
        (
            "Bags off after",
            "days after the last pollination",
            |timing| &mut timing.bag_off_after,
        ),
        ("Ripe from", "days after pollination", |timing| {
            &mut timing.ripe_from
        }),
        ("Ripe to", "days after pollination", |timing| {
            &mut timing.ripe_to
        }),
        ("Clean within", "days of harvest", |timing| {
            &mut timing.clean_within
        }),
    ];
    for (name, unit, pick) in rows {
        form_row(ui, name, |ui| {
            let mut changed = timing.clone();
            let mut days = f64::from(*pick(&mut changed));
            if let Some(ticket) = NumberField::new(name, unit)
                .range(0.0..=365.0)
                .decimals(0)
                .show(ui, &mut days)
                .ticket
            {
                *pick(&mut changed) = days as u32;
                out.submit(ticket, Edit::Settings(SettingsField::CrossTiming(changed)));
            }
        });
    }
    section_heading(ui, "Seedling codes");
    ui.label(muted(
        ui,
        "{family} is the code of the cross, ### the running number: {family}-### gives 26-04-001.",
    ));
    form_row(ui, "Template", |ui| {
        let parse = |text: &str| {
            let template = Template(text.trim().to_owned());
            template.fault().map_or(Ok(template), Err)
        };
        let shown = &settings.seedling_codes.0;
        let field = TextField::new("Template of seedling codes").width(260.0);
        if let Some((template, ticket)) = field.show_parsed(ui, shown, parse) {
            let edit = Edit::Settings(SettingsField::SeedlingCodes(template));
            out.submit(ticket, edit);
        }
    });
    let next = settings.seedling_codes.next_codes(view.project, "26-04", 1);
    ui.label(muted(
        ui,
        format!(
            "The next seedling of family 26-04 would be {}.",
            next.first().map_or("none", String::as_str)
        ),
    ));
}
