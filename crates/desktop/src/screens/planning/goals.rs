//! What the season's crosses are to bring, and what they may take.

use crate::screens::fields::{optional_day, whole_number};
use crate::view::{Outbox, Request, Screen, View};
use domain::planning::{CrossLimits, Goals, Space, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{Direction, Edit, Scale, Trait};
use egui::{Grid, ScrollArea, Ui};
use kit::drafts::Ticket;
use kit::theme::{muted, space};
use kit::widgets::{NumberField, empty_state, form_row, halves, section_heading};

pub(super) fn show(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    if view.project.traits().is_empty() {
        let sentence = "Goals are set on traits: resistance, vigour, yield, whatever is scored or measured. Set up the first one.";
        if empty_state(ui, sentence, "Set up a trait") {
            out.ask(Request::Go(Screen::Setup));
        }
        return;
    }
    let before = &view.project.settings().goals;
    let mut goals = before.clone();
    let may_edit = view.read_only.is_none();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        heading_ui(ui, out);
        ui.add_enabled_ui(may_edit, |ui| {
            traits_ui(ui, view, &mut goals);
            ui.add_space(space::M);
            halves(ui, |left, right| {
                wishes_ui(left, view, &mut goals);
                room_ui(right, &mut goals);
            });
        });
    });
    if goals != *before {
        let edit = Edit::Settings(SettingsField::Goals(goals));
        out.submit(Ticket::of_value(ui), edit);
    }
}

fn heading_ui(ui: &mut Ui, out: &mut Outbox<'_>) {
    section_heading(ui, "Traits that matter");
    ui.horizontal_wrapped(|ui| {
        ui.label(muted(
            ui,
            "Give a weight to each trait you want to improve, and a threshold where worse plants are of no use.",
        ));
        if ui.button("Set up traits").clicked() {
            out.ask(Request::Go(Screen::Setup));
        }
    });
}

fn traits_ui(ui: &mut Ui, view: &View<'_>, goals: &mut Goals) {
    Grid::new("goals of traits")
        .num_columns(7)
        .spacing([space::L, space::S])
        .show(ui, |ui| {
            for (name, hint) in HEADERS {
                ui.label(muted(ui, name)).on_hover_text(hint);
            }
            ui.end_row();
            for each in view.project.traits().iter() {
                ui.push_id(each.id, |ui| trait_name_ui(ui, each, goals));
                trait_fields_ui(ui, each, goals);
                ui.end_row();
            }
        });
}

const HEADERS: [(&str, &str); 7] = [
    ("Trait", "Ticked, it is among the goals."),
    ("Better", "Set with the trait."),
    (
        "Weight",
        "What it counts beside the others, for one standard deviation of breeding values. 0 for a threshold alone.",
    ),
    (
        "Threshold",
        "The least good value a plant may have, in the trait's unit; empty for none.",
    ),
    (
        "Heritability",
        "Used until there are records to estimate it from. Published for hops: 0.04 to 0.29 (McAdam et al. 2014), \
        0.57 to 0.89 (Henning & Townsend 2005). Empty: 0.25.",
    ),
    (
        "Spread",
        "Standard deviation of single records, in the trait's unit; used until there are records to estimate it \
        from. Empty: a fifth of the scale.",
    ),
    (
        "Seen in year",
        "The year in which a seedling first shows it, 1 being the year of germination: vigour and mildew at once, cones \
        in the second or third. The best of many is picked in stages, on what is seen by then. Empty: 1.",
    ),
];

fn trait_name_ui(ui: &mut Ui, each: &Trait, goals: &mut Goals) {
    let mut wanted = goals.of_trait(each.id).is_some();
    if ui.checkbox(&mut wanted, &each.name).changed() {
        if wanted {
            goals.traits.push(TraitGoal::new(each.id));
        } else {
            goals.traits.retain(|goal| goal.of_trait != each.id);
        }
    }
}

fn trait_fields_ui(ui: &mut Ui, each: &Trait, goals: &mut Goals) {
    ui.label(muted(
        ui,
        match each.direction {
            Direction::Lower => "less",
            Direction::Higher | Direction::Neutral => "more",
        },
    ));
    let Some(goal) = goals
        .traits
        .iter_mut()
        .find(|goal| goal.of_trait == each.id)
    else {
        for _ in 0..5 {
            ui.label("");
        }
        return;
    };
    let field = |what: &str| format!("{what} of {}", each.name);
    NumberField::new(&field("Weight"), "")
        .range(0.0..=1000.0)
        .width(56.0)
        .show(ui, &mut goal.weight);
    let unit = match &each.scale {
        Scale::Score { from, to, .. } => format!("({from} to {to})"),
        scale => scale.unit(),
    };
    NumberField::new(&field("Threshold"), &unit)
        .width(56.0)
        .show_optional(ui, &mut goal.threshold);
    NumberField::new(&field("Heritability"), "")
        .range(0.01..=1.0)
        .width(56.0)
        .show_optional(ui, &mut goal.heritability);
    NumberField::new(&field("Spread"), "")
        .range(1e-6..=1e9)
        .width(56.0)
        .show_optional(ui, &mut goal.spread);
    let mut year = goal.first_seen.map(f64::from);
    NumberField::new(&field("Seen in year"), "")
        .decimals(0)
        .range(1.0..=f64::from(domain::planning::LATEST_SEEN))
        .width(40.0)
        .show_optional(ui, &mut year);
    goal.first_seen = year.map(|year| year as u8);
}

fn wishes_ui(ui: &mut Ui, view: &View<'_>, goals: &mut Goals) {
    section_heading(ui, "What you want");
    form_row(ui, "Good females", |ui| {
        let mut wished = f64::from(goals.good_females);
        NumberField::new("Good females", "that reach every threshold")
            .decimals(0)
            .range(1.0..=10_000.0)
            .show(ui, &mut wished);
        goals.good_females = wished as u32;
    });
    percent(
        ui,
        "How sure",
        "of getting them",
        1.0..=99.9,
        &mut goals.sure,
    );
    if let Some((day, _)) = optional_day(ui, "Plant out by", view.today, goals.plant_out_by) {
        goals.plant_out_by = day;
    }
    section_heading(ui, "Limits you accept");
    form_row(ui, "Inbreeding", |ui| {
        NumberField::new(
            "Inbreeding",
            "F of a seedling, at most; half sibs mated: 0.125",
        )
        .decimals(4)
        .width(72.0)
        .range(0.0..=1.0)
        .show(ui, &mut goals.inbreeding);
    });
    form_row(ui, "Rate of coancestry", |ui| {
        let mut rate = goals.coancestry_rate.map(|rate| 100.0 * rate);
        NumberField::new(
            "Rate of coancestry",
            "% a generation, at most; 1 % is an effective size of 50. Empty: the most diverse plan that keeps nine tenths of the gain",
        )
        .decimals(1)
        .range(0.0..=100.0)
        .show_optional(ui, &mut rate);
        goals.coancestry_rate = rate.map(|rate| rate / 100.0);
    });
}

fn percent(
    ui: &mut Ui,
    name: &str,
    words: &str,
    range: std::ops::RangeInclusive<f64>,
    share: &mut f64,
) {
    form_row(ui, name, |ui| {
        // Decimals of a share times 100 are not those a person typed.
        let mut percent = (*share * 1e6).round() / 1e4;
        let unit = format!("% {words}");
        if NumberField::new(name, &unit)
            .decimals(1)
            .range(range)
            .show(ui, &mut percent)
            .changed
        {
            *share = percent / 100.0;
        }
    });
}

fn room_ui(ui: &mut Ui, goals: &mut Goals) {
    type Place = fn(&mut Space) -> &mut Option<u32>;
    type Limit = fn(&mut CrossLimits) -> &mut Option<u32>;
    section_heading(ui, "Space you have");
    let places: [(&str, &str, Place); 4] = [
        ("Boxes", "in the refrigerator", |space| &mut space.boxes),
        ("Cells", "under lights", |space| &mut space.cells),
        ("Pots", "", |space| &mut space.pots),
        ("Hills", "to plant out on", |space| &mut space.hills),
    ];
    for (name, unit, place) in places {
        if let Some((value, _)) = whole_number(ui, name, unit, *place(&mut goals.space)) {
            *place(&mut goals.space) = value;
        }
    }
    section_heading(ui, "Limits of plants and people");
    let limits: [(&str, &str, Limit); 3] = [
        ("Cones per female", "in bags, a season", |limits| {
            &mut limits.cones_per_female
        }),
        ("Crosses per male", "a season", |limits| {
            &mut limits.crosses_per_male
        }),
        ("Crosses per week", "the people can make", |limits| {
            &mut limits.crosses_per_week
        }),
    ];
    for (name, unit, limit) in limits {
        if let Some((value, _)) = whole_number(ui, name, unit, *limit(&mut goals.limits)) {
            *limit(&mut goals.limits) = value;
        }
    }
    ui.label(muted(ui, "Leave empty for no limit.").small());
}
