//! What the season's crosses are to bring, and what they may take.

use crate::screens::fields::{optional_day, whole_number};
use crate::view::{Outbox, Request, Screen, View};
use domain::planning::{CrossLimits, Goals, Space, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{Direction, Edit, Id, Scale, Trait};
use egui::{Grid, ScrollArea, Ui};
use kit::drafts::Ticket;
use kit::theme::{muted, space};
use kit::widgets::{NumberField, empty_state, form_row, halves, section_heading, sideways};

pub(super) fn show(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    if view.project.traits().is_empty() {
        let sentence = "Goals are set on traits: resistance, vigour, yield, whatever is scored or measured. Set up the first one.";
        if empty_state(ui, sentence, "Set up a trait") {
            out.ask(Request::Go(Screen::Setup));
        }
        return;
    }
    let mut goals = Changing {
        goals: view.project.settings().goals.clone(),
        out,
    };
    let may_edit = view.read_only.is_none();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        heading_ui(ui, goals.out);
        ui.add_enabled_ui(may_edit, |ui| {
            traits_ui(ui, view, &mut goals);
            ui.add_space(space::M);
            halves(
                ui,
                &mut goals,
                |ui, goals| wishes_ui(ui, view, goals),
                room_ui,
            );
        });
    });
}

/// The goals as they are drawn. Each change is an edit of its own, on those made before it in the same frame, so that
/// each field hears what became of what was typed in it.
struct Changing<'a, 'o> {
    goals: Goals,
    out: &'a mut Outbox<'o>,
}

impl Changing<'_, '_> {
    /// Hands in the goals so changed. What would be refused is handed in alone: it doesn't take others with it.
    fn take(&mut self, ticket: Ticket, change: impl FnOnce(&mut Goals)) {
        let mut changed = self.goals.clone();
        change(&mut changed);
        if changed.check().is_ok() {
            self.goals = changed.clone();
        }
        let edit = Edit::Settings(SettingsField::Goals(changed));
        self.out.submit(ticket, edit);
    }

    /// The same for one trait.
    fn take_of(&mut self, of: Id<Trait>, ticket: Ticket, change: impl FnOnce(&mut TraitGoal)) {
        self.take(ticket, |goals| {
            if let Some(goal) = goals.traits.iter_mut().find(|goal| goal.of_trait == of) {
                change(goal);
            }
        });
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

fn traits_ui(ui: &mut Ui, view: &View<'_>, goals: &mut Changing<'_, '_>) {
    sideways(ui, "goals of traits", |ui| {
        let grid = Grid::new("goals of traits").num_columns(7);
        grid.spacing([space::L, space::S]).show(ui, |ui| {
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

fn trait_name_ui(ui: &mut Ui, each: &Trait, goals: &mut Changing<'_, '_>) {
    let mut wanted = goals.goals.of_trait(each.id).is_some();
    if ui.checkbox(&mut wanted, &each.name).changed() {
        goals.take(Ticket::of_value(ui), |goals| {
            if wanted {
                goals.traits.push(TraitGoal::new(each.id));
            } else {
                goals.traits.retain(|goal| goal.of_trait != each.id);
            }
        });
    }
}

fn trait_fields_ui(ui: &mut Ui, each: &Trait, goals: &mut Changing<'_, '_>) {
    ui.label(muted(
        ui,
        match each.direction {
            Direction::Lower => "less",
            Direction::Higher | Direction::Neutral => "more",
        },
    ));
    let Some(mut goal) = goals.goals.of_trait(each.id).copied() else {
        for _ in 0..5 {
            ui.label("");
        }
        return;
    };
    let field = |what: &str| format!("{what} of {}", each.name);
    let weight = field("Weight");
    let weight = NumberField::new(&weight, "")
        .width(56.0)
        .range(0.0..=1000.0);
    if let Some(ticket) = weight.show(ui, &mut goal.weight).ticket {
        goals.take_of(each.id, ticket, |to| to.weight = goal.weight);
    }
    let unit = match &each.scale {
        Scale::Score { from, to, .. } => format!("({from} to {to})"),
        scale => scale.unit(),
    };
    let threshold = field("Threshold");
    let threshold = NumberField::new(&threshold, &unit).width(56.0);
    if let Some(ticket) = threshold.show_optional(ui, &mut goal.threshold).ticket {
        goals.take_of(each.id, ticket, |to| to.threshold = goal.threshold);
    }
    let heritability = field("Heritability");
    let heritability = NumberField::new(&heritability, "")
        .width(56.0)
        .range(0.01..=1.0);
    if let Some(ticket) = heritability
        .show_optional(ui, &mut goal.heritability)
        .ticket
    {
        goals.take_of(each.id, ticket, |to| to.heritability = goal.heritability);
    }
    let spread = field("Spread");
    let spread = NumberField::new(&spread, "").width(56.0).range(1e-6..=1e9);
    if let Some(ticket) = spread.show_optional(ui, &mut goal.spread).ticket {
        goals.take_of(each.id, ticket, |to| to.spread = goal.spread);
    }
    let year = field("Seen in year");
    let year = NumberField::new(&year, "").decimals(0).width(40.0);
    let year = year.range(1.0..=f64::from(domain::planning::LATEST_SEEN));
    let mut seen = goal.first_seen.map(f64::from);
    if let Some(ticket) = year.show_optional(ui, &mut seen).ticket {
        goals.take_of(each.id, ticket, |to| {
            to.first_seen = seen.map(|year| year as u8);
        });
    }
}

fn wishes_ui(ui: &mut Ui, view: &View<'_>, goals: &mut Changing<'_, '_>) {
    section_heading(ui, "What you want");
    let mut wished = f64::from(goals.goals.good_females);
    let females = NumberField::new("Good females", "that reach every threshold");
    let females = females.decimals(0).range(1.0..=10_000.0);
    let females = form_row(ui, "Good females", |ui| {
        females.show(ui, &mut wished).ticket
    });
    if let Some(ticket) = females {
        goals.take(ticket, |goals| goals.good_females = wished as u32);
    }
    let mut sure = goals.goals.sure;
    if let Some(ticket) = percent(ui, "How sure", "of getting them", 1.0..=99.9, &mut sure) {
        goals.take(ticket, |goals| goals.sure = sure);
    }
    let by = goals.goals.plant_out_by;
    if let Some((day, ticket)) = optional_day(ui, "Plant out by", view.today, by) {
        goals.take(ticket, |goals| goals.plant_out_by = day);
    }
    section_heading(ui, "Limits you accept");
    let mut inbreeding = goals.goals.inbreeding;
    let words = "F of a seedling, at most; half sibs mated: 0.125";
    let field = NumberField::new("Inbreeding", words);
    let field = field.decimals(4).width(72.0).range(0.0..=1.0);
    let ticket = form_row(ui, "Inbreeding", |ui| {
        field.show(ui, &mut inbreeding).ticket
    });
    if let Some(ticket) = ticket {
        goals.take(ticket, |goals| goals.inbreeding = inbreeding);
    }
    let mut rate = goals.goals.coancestry_rate.map(|rate| 100.0 * rate);
    let field = NumberField::new("Rate of coancestry", "% a generation, at most");
    let field = field.decimals(1).range(0.0..=100.0);
    let ticket = form_row(ui, "Rate of coancestry", |ui| {
        field.show_optional(ui, &mut rate).ticket
    });
    if let Some(ticket) = ticket {
        goals.take(ticket, |goals| {
            goals.coancestry_rate = rate.map(|rate| rate / 100.0);
        });
    }
    let words = "1 % is an effective size of 50. Empty: the most diverse plan that keeps nine tenths of the gain.";
    ui.add(egui::Label::new(muted(ui, words)).wrap());
}

fn percent(
    ui: &mut Ui,
    name: &str,
    words: &str,
    range: std::ops::RangeInclusive<f64>,
    share: &mut f64,
) -> Option<Ticket> {
    form_row(ui, name, |ui| {
        // Decimals of a share times 100 are not those a person typed.
        let mut percent = (*share * 1e6).round() / 1e4;
        let unit = format!("% {words}");
        let field = NumberField::new(name, &unit).decimals(1).range(range);
        let ticket = field.show(ui, &mut percent).ticket?;
        *share = percent / 100.0;
        Some(ticket)
    })
}

fn room_ui(ui: &mut Ui, goals: &mut Changing<'_, '_>) {
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
        let before = *place(&mut goals.goals.space);
        if let Some((value, ticket)) = whole_number(ui, name, unit, before) {
            goals.take(ticket, |goals| *place(&mut goals.space) = value);
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
        let before = *limit(&mut goals.goals.limits);
        if let Some((value, ticket)) = whole_number(ui, name, unit, before) {
            goals.take(ticket, |goals| *limit(&mut goals.limits) = value);
        }
    }
    ui.label(muted(ui, "Leave empty for no limit.").small());
}
