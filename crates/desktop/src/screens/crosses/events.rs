//! What happened to a cross: a dated ledger, and the form that adds to it.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::screens::fields::{caution_lines, choice_row, text, text_with_hint, whole_number};
use crate::screens::record_page;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::progress::CrossProgress;
use domain::record::cross::CrossEventField;
use domain::words::plural;
use domain::{Cross, CrossEvent, CrossEventKind, Edit, Id, IdSource, cautions};
use egui::{Button, Role, Ui, WidgetInfo, vec2};
use kit::drawing::Drawing;
use kit::form::Action;
use kit::theme::{muted, space, strong};
use kit::widgets::{DateField, NumberField, TextField, form_row};

/// What the section remembers between frames.
#[derive(Default)]
pub(super) struct State {
    correcting: Option<Id<CrossEvent>>,
}

/// What can happen to a cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
enum Happened {
    Bagged,
    Receptive,
    PollenCollected,
    PollenStored,
    Pollinated,
    BagsOff,
    Harvested,
    Failed,
}

impl Happened {
    const ALL: [Self; 8] = [
        Self::Bagged,
        Self::Receptive,
        Self::PollenCollected,
        Self::PollenStored,
        Self::Pollinated,
        Self::BagsOff,
        Self::Harvested,
        Self::Failed,
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::Bagged => "Bagged",
            Self::Receptive => "Receptive",
            Self::PollenCollected => "Pollen collected",
            Self::PollenStored => "Pollen stored",
            Self::Pollinated => "Pollinated",
            Self::BagsOff => "Bags off",
            Self::Harvested => "Cones harvested",
            Self::Failed => "Failed",
        }
    }

    /// What the word means, or what to mind.
    const fn hint(self) -> &'static str {
        match self {
            Self::Bagged => "The female's flowers are in bags.",
            Self::Receptive => "The stigmas are out: her flowers are ready for pollen.",
            Self::PollenCollected => "From the male parent.",
            Self::PollenStored => "Kept for later.",
            Self::Pollinated => "Pollen was applied.",
            Self::BagsOff => "The labels stay on.",
            Self::Harvested => "Dry the cones before the seed is cleaned.",
            Self::Failed => "No seed is expected.",
        }
    }
}

/// What happened to a cross, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    cross: Id<Cross>,
    what: Happened,
    date: NaiveDate,
    bags: Option<f64>,
    place: String,
    cones: Option<f64>,
    why: String,
    remark: String,
}

impl Form {
    const fn new(cross: Id<Cross>, what: Happened, date: NaiveDate) -> Self {
        Self {
            cross,
            what,
            date,
            bags: None,
            place: String::new(),
            cones: None,
            why: String::new(),
            remark: String::new(),
        }
    }

    /// A form for whatever happened, the usual next thing chosen.
    pub(super) fn other(view: &View<'_>, cross: &Cross) -> Self {
        let what = match CrossProgress::of(view.project, cross) {
            CrossProgress::Planned => Happened::Bagged,
            CrossProgress::Bagged => Happened::Pollinated,
            CrossProgress::Pollinated => Happened::Harvested,
            _ => Happened::Failed,
        };
        Self::new(cross.id, what, view.today)
    }

    /// A form for a failure.
    pub(super) const fn failed(cross: Id<Cross>, date: NaiveDate) -> Self {
        Self::new(cross, Happened::Failed, date)
    }

    fn event(&self) -> CrossEventKind {
        match self.what {
            Happened::Bagged => CrossEventKind::FemaleBagged {
                bags: self.bags.map(|bags| bags as u32),
            },
            Happened::Receptive => CrossEventKind::Receptive,
            Happened::PollenCollected => CrossEventKind::PollenCollected,
            Happened::PollenStored => CrossEventKind::PollenStored {
                place: self.place.trim().to_owned(),
            },
            Happened::Pollinated => CrossEventKind::Pollinated,
            Happened::BagsOff => CrossEventKind::BagOff,
            Happened::Harvested => CrossEventKind::ConesHarvested {
                cones: self.cones.map(|cones| cones as u32),
            },
            Happened::Failed => CrossEventKind::Failed {
                why: self.why.trim().to_owned(),
            },
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::CrossEvent;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let kinds = Happened::ALL.map(|what| (what, what.word().to_owned()));
        choice_row(ui, "What happened", &mut self.what, &kinds);
        caution_lines(ui, &[cautions::LADDERS, cautions::BINES]);
        form_row(ui, "", |ui| {
            ui.label(muted(ui, self.what.hint()).size(kit::theme::type_size::SMALL))
        });
        form_row(ui, "Date", |ui| {
            view.date_field("Date of the work").show(ui, &mut self.date)
        });
        match self.what {
            Happened::Bagged => {
                form_row(ui, "Bags", |ui| {
                    NumberField::new("Bags", "bags")
                        .decimals(0)
                        .range(1.0..=10_000.0)
                        .show_optional(ui, &mut self.bags)
                });
            }
            Happened::PollenStored => {
                form_row(ui, "Where", |ui| {
                    TextField::new("Where pollen is stored")
                        .hint("jar, shelf, °C")
                        .edit(ui, &mut self.place)
                });
            }
            Happened::Harvested => {
                form_row(ui, "Cones", |ui| {
                    NumberField::new("Cones", "cones")
                        .decimals(0)
                        .range(0.0..=1_000_000.0)
                        .show_optional(ui, &mut self.cones)
                });
            }
            Happened::Failed => {
                form_row(ui, "Why", |ui| {
                    TextField::new("Why it failed").edit(ui, &mut self.why)
                });
            }
            Happened::Receptive
            | Happened::PollenCollected
            | Happened::Pollinated
            | Happened::BagsOff => {}
        }
        form_row(ui, "Remark", |ui| {
            TextField::new("Remark on the work")
                .hint("weather, wind, anything")
                .edit(ui, &mut self.remark)
        });
        let what = self.event();
        let again = view
            .project
            .events_of(self.cross)
            .any(|event| event.date == self.date && is_same_kind(&event.what, &what));
        let day = kit::dates::on_button(self.date, view.clock);
        let (word, code) = (self.what.word(), view.project.code_of(self.cross));
        if again {
            ui.label(strong(format!("'{word}' is recorded for {day} already.")));
            return Action::new(format!("Record '{word}' of {code} a second time, {day}"));
        }
        Action::new(format!("Record '{word}' of {code}, {day}"))
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let event = CrossEvent {
            id: ids.next(),
            cross: self.cross,
            date: self.date,
            what: self.event(),
            by: view.preferences.who.clone(),
            remark: self.remark.trim().to_owned(),
        };
        Ok(Edit::add(event).into())
    }
}

/// Draws the events of a cross, the latest first.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    cross: &Cross,
    out: &mut Outbox<'_>,
) {
    let events: Vec<(usize, &CrossEvent)> = (1..).zip(view.project.events_of(cross.id)).collect();
    let count = events.len() as u32;
    let remark = format!("{count} {}", plural(count, "entry", "entries"));
    record_page::section(ui, "Events", &remark);
    for (nth, event) in events.into_iter().rev() {
        kit::drafts::about(
            ui,
            event.id.uuid(),
            &format!("event {nth} of {}", cross.code),
            |ui| {
                event_ui(ui, view, nth, event, &mut state.correcting, out);
            },
        );
    }
}

fn is_same_kind(one: &CrossEventKind, other: &CrossEventKind) -> bool {
    std::mem::discriminant(one) == std::mem::discriminant(other)
}

/// The drawing of what happened.
const fn drawing_of(what: &CrossEventKind) -> Drawing {
    match what {
        CrossEventKind::Planned => Drawing::Cross,
        CrossEventKind::FemaleBagged { .. } | CrossEventKind::BagOff => Drawing::Bag,
        CrossEventKind::Receptive
        | CrossEventKind::PollenCollected
        | CrossEventKind::PollenStored { .. }
        | CrossEventKind::Pollinated => Drawing::Pollen,
        CrossEventKind::ConesHarvested { .. } => Drawing::Cone,
        CrossEventKind::Failed { .. } => Drawing::Decision,
    }
}

fn event_ui(
    ui: &mut Ui,
    view: &View<'_>,
    nth: usize,
    event: &CrossEvent,
    correcting: &mut Option<Id<CrossEvent>>,
    out: &mut Outbox<'_>,
) {
    let open = *correcting == Some(event.id);
    let words = kit::widgets::capital(&event.what.words());
    let day = kit::working_day::short_day(event.date);
    let rest = match (event.remark.is_empty(), event.by.is_empty()) {
        (true, true) => String::new(),
        (true, false) => event.by.clone(),
        (false, true) => event.remark.clone(),
        (false, false) => format!("{} ({})", event.remark, event.by),
    };
    let drawing = Some(drawing_of(&event.what));
    let tail = record_page::ledger_row(ui, &day, drawing, &words, &rest, 72.0);
    let word = if open { "Done" } else { "Correct" };
    if record_page::line_button(ui, tail, word, &format!("{word} event {nth}")) {
        *correcting = if open { None } else { Some(event.id) };
    }
    if open {
        correct_ui(ui, view, nth, event, out);
        if named_button(ui, "Remove", &format!("Remove event {nth}")) {
            out.act(ui, "remove", event.id, Edit::remove(event.id));
        }
        ui.add_space(space::S);
    }
}

fn correct_ui(ui: &mut Ui, view: &View<'_>, nth: usize, event: &CrossEvent, out: &mut Outbox<'_>) {
    let mut set = |ticket, field| out.submit(ticket, Edit::set(event.id, field));
    let date_name = format!("Day of event {nth}");
    let mut date = event.date;
    if let Some(ticket) = form_row(ui, &date_name, |ui| {
        DateField::new(&date_name, view.today)
            .show(ui, &mut date)
            .ticket
    }) {
        set(ticket, CrossEventField::Date(date));
    }
    let what = match &event.what {
        CrossEventKind::FemaleBagged { bags } => {
            whole_number(ui, &format!("Bags of event {nth}"), "bags", *bags)
                .map(|(bags, ticket)| (CrossEventKind::FemaleBagged { bags }, ticket))
        }
        CrossEventKind::PollenStored { place } => text(ui, &format!("Place of event {nth}"), place)
            .map(|(place, ticket)| (CrossEventKind::PollenStored { place }, ticket)),
        CrossEventKind::ConesHarvested { cones } => {
            whole_number(ui, &format!("Cones of event {nth}"), "cones", *cones)
                .map(|(cones, ticket)| (CrossEventKind::ConesHarvested { cones }, ticket))
        }
        CrossEventKind::Failed { why } => text(ui, &format!("Why, event {nth}"), why)
            .map(|(why, ticket)| (CrossEventKind::Failed { why }, ticket)),
        CrossEventKind::Planned
        | CrossEventKind::Receptive
        | CrossEventKind::PollenCollected
        | CrossEventKind::Pollinated
        | CrossEventKind::BagOff => None,
    };
    if let Some((what, ticket)) = what {
        set(ticket, CrossEventField::What(what));
    }
    if let Some((by, ticket)) =
        text_with_hint(ui, &format!("By, event {nth}"), &event.by, "who did it")
    {
        set(ticket, CrossEventField::By(by));
    }
    if let Some((remark, ticket)) = text_with_hint(
        ui,
        &format!("Remark on event {nth}"),
        &event.remark,
        "weather, wind, anything",
    ) {
        set(ticket, CrossEventField::Remark(remark));
    }
}

fn named_button(ui: &mut Ui, text: &str, name: &str) -> bool {
    let button = ui.add(
        Button::new(text)
            .small()
            .min_size(vec2(space::TARGET, space::XL)),
    );
    button.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    button.clicked()
}
