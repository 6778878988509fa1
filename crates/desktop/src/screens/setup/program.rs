//! The program itself: name, place, half of the globe, the cadence of crosses, how seedlings are numbered.

use crate::screens::text_field::text_field;
use crate::view::{Outbox, View};
use domain::code::Template;
use domain::record::settings::SettingsField;
use domain::{CrossTiming, Edit, Hemisphere};
use egui::Ui;
use kit::theme::{Meaning, muted};
use kit::widgets::{NumberField, badge, form_row, section_heading, segmented};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    template: Option<String>,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let settings = view.project.settings();
    form_row(ui, "Name", |ui| {
        if let Some(name) = text_field(ui, "Name of the program", &settings.name) {
            out.edit(Edit::Settings(SettingsField::Name(name)));
        }
    });
    form_row(ui, "Place", |ui| {
        if let Some(place) = text_field(ui, "Place of the program", &settings.place) {
            out.edit(Edit::Settings(SettingsField::Place(place)));
        }
    });
    form_row(ui, "Half of the globe", |ui| {
        let mut hemisphere = settings.hemisphere;
        let choices = [
            (Hemisphere::Northern, "Northern"),
            (Hemisphere::Southern, "Southern"),
        ];
        if segmented(ui, "Half of the globe", &mut hemisphere, &choices) {
            out.edit(Edit::Settings(SettingsField::Hemisphere(hemisphere)));
        }
    });
    section_heading(ui, "Cadence of crosses");
    ui.label(muted(ui, "Common practice to begin with; weather and cultivar move it. The calendar reckons from these."));
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
            if NumberField::new(name, unit)
                .range(0.0..=365.0)
                .decimals(0)
                .show(ui, &mut days)
                .changed
            {
                *pick(&mut changed) = days as u32;
                out.edit(Edit::Settings(SettingsField::CrossTiming(changed)));
            }
        });
    }
    section_heading(ui, "Numbers of seedlings");
    ui.label(muted(
        ui,
        "{family} is the code of the cross, ### the running number: {family}-### gives 26-04-001.",
    ));
    form_row(ui, "Template", |ui| {
        let shown = state
            .template
            .as_ref()
            .unwrap_or(&settings.seedling_codes.0);
        if let Some(text) = text_field(ui, "Template of seedling codes", shown) {
            let template = Template(text.trim().to_owned());
            state.template = template.fault().map(|_| text);
            if state.template.is_none() {
                out.edit(Edit::Settings(SettingsField::SeedlingCodes(template)));
            }
        }
    });
    if let Some(fault) = state
        .template
        .as_ref()
        .and_then(|text| Template(text.clone()).fault())
    {
        badge(ui, Meaning::Danger, &fault);
    } else {
        let next = settings.seedling_codes.next_codes(view.project, "26-04", 1);
        ui.label(muted(
            ui,
            format!(
                "The next of family 26-04 would be {}.",
                next.first().map_or("none", String::as_str)
            ),
        ));
    }
}
