//! A logger's file on its way in: what it seems to be, what it holds, what is kept out, and where it belongs.

use super::mapping;
use crate::forms::FormKind;
use crate::view::{Outbox, Request, View};
use domain::temperature::{Reading, Readings, stands_in};
use domain::words::plural;
use domain::{ChillBatch, Edit, Id, LogPlace, TemperatureLog};
use egui::{ComboBox, Context, Label, Role, ScrollArea, Ui, WidgetInfo};
use exchange::logger::{self, Guess, Import, Mapping};
use kit::drafts::{self, FormKey, Ticket};
use kit::form::{Action, Answer};
use kit::theme::{Meaning, muted, space};
use kit::widgets::{
    Column, ShortTable, TextField, badge, detail, form_row, halves, heading, section_heading,
    segmented,
};
use kit::worker::{JobProgress, Worker};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use store::open_input;

/// What a person says of a file: which it is, how it is read, and where its readings belong. Kept as every form is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Form {
    path: PathBuf,
    /// As it is to be read; nothing before it is corrected.
    mapping: Option<Mapping>,
    place: Option<Place>,
}

/// The file being read in.
#[derive(Default)]
pub(super) struct State {
    read: Worker<(PathBuf, Option<Mapping>), Result<Held, String>>,
}

/// The one form of a file on its way in.
pub(super) fn key() -> FormKey {
    FormKey::new(format!("{:?}", FormKind::Logger), "temperatures")
}

/// Opens the page for a file; of one that is open already, nothing is kept.
pub(super) fn open(ctx: &Context, path: PathBuf) {
    let form = Form {
        path,
        mapping: None,
        place: None,
    };
    let words = format!("{}: {}", FormKind::Logger.title(), form.file_name());
    drafts::with(ctx, |drafts| {
        drafts.close(&key());
        drafts.open(&key(), words, form);
    });
}

/// Whether a file is on its way in.
pub(super) fn is_open(ctx: &Context) -> bool {
    drafts::with(ctx, |drafts| drafts.is_open(&key()))
}

/// Gives the file up.
pub(super) fn put_away(ctx: &Context) {
    drafts::with(ctx, |drafts| drafts.close(&key()));
}

/// What was found in the file.
struct Held {
    guess: Guess,
    /// Whether the mapping is one set before for this logger.
    remembered: bool,
    import: Import,
    /// The same readings, ready for the project.
    readings: Readings,
}

/// Where the readings are to belong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Place {
    kind: LogPlaceKind,
    name: String,
    batch: Option<Id<ChillBatch>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
enum LogPlaceKind {
    Place,
    Batch,
}

/// What comes after the page was drawn.
pub(super) enum Next {
    Stay,
    PutAway,
    Kept(LogPlace),
}

impl Form {
    fn file_name(&self) -> String {
        let name = self.path.file_name().unwrap_or(self.path.as_os_str());
        name.to_string_lossy().into_owned()
    }
}

impl State {
    /// Draws the page; `batch` is the one that was shown before it.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        batch: Option<Id<ChillBatch>>,
        out: &mut Outbox<'_>,
    ) -> Next {
        let key = key();
        let Some(form) = drafts::with(ui.ctx(), |drafts| drafts.state::<Form>(&key)) else {
            return Next::PutAway;
        };
        let mut next = Next::Stay;
        let asked = (form.path.clone(), form.mapping.clone());
        let latest = self.read.follow(ui.ctx(), asked, || {
            let (path, mapping) = (form.path.clone(), form.mapping.clone());
            let known = view.preferences.loggers.clone();
            move |watch| read(&path, mapping, &known, watch)
        });
        let name = form.file_name();
        let readable = latest.as_ref().is_some_and(|latest| latest.is_ok());
        ui.horizontal_wrapped(|ui| {
            heading(ui, &format!("Read in {name}"));
            ui.add_space(space::M);
            if !readable && ui.button("Cancel the import").clicked() {
                next = Next::PutAway;
            }
            // Beside the rest: a line of its own would move what a person is about to click.
            if let Some(progress) = self.read.progress() {
                ui.label(muted(ui, format!("{}…", progress.words)));
            }
        });
        let Some(latest) = &latest else { return next };
        let held = match &**latest {
            Ok(held) => held,
            Err(sentence) => {
                badge(ui, Meaning::Danger, "It can't be read");
                ui.label(sentence);
                return next;
            }
        };
        let rows = |ui: &mut Ui, form: &mut Form| {
            form.rows(ui, view, held, batch);
            form.action(held, latest.current)
        };
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            let enabled = view.read_only.is_none();
            let answer = ui
                .add_enabled_ui(enabled, |ui| {
                    kit::form::show(ui, &key, FormKind::Logger.title(), rows)
                })
                .inner;
            match answer {
                Some(Answer::Filled(form, ticket)) => next = keep(&form, held, ticket, out),
                Some(Answer::Cancelled) | None => next = Next::PutAway,
                Some(Answer::Open) => {}
            }
            rows_ui(ui, &held.guess);
            kept_out(ui, &held.import);
        });
        next
    }
}

impl Form {
    fn rows(&mut self, ui: &mut Ui, view: &View<'_>, held: &Held, batch: Option<Id<ChillBatch>>) {
        // Until a person changes it, the guess is what was read: nothing to read anew.
        let asked = self.mapping.as_ref().unwrap_or(&held.guess.mapping).clone();
        let mut mapping = asked.clone();
        halves(
            ui,
            self,
            |ui, _| {
                ui.push_id("mapping", |ui| {
                    if held.remembered {
                        ui.label(muted(ui, "Read as you set it before for this logger."));
                    }
                    mapping::show(ui, &held.guess, &mut mapping, held.import.header_lines);
                });
            },
            |ui, form| {
                ui.push_id("found", |ui| form.found_ui(ui, view, held, batch));
            },
        );
        if mapping != asked {
            self.mapping = Some(mapping);
        }
    }

    /// What was found in the file, and where it belongs.
    fn found_ui(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        held: &Held,
        batch: Option<Id<ChillBatch>>,
    ) {
        found(ui, view, held);
        section_heading(ui, "Where it belongs");
        let mut place = self
            .place
            .clone()
            .unwrap_or_else(|| Place::new(view, batch));
        let offered = place.clone();
        place.show(ui, view);
        if place != offered {
            self.place = Some(place);
        } else if self.place.is_none() {
            // What is offered follows the batch that is shown until it is kept.
            drafts::with(ui.ctx(), |drafts| {
                if let Some(mut form) = drafts.state::<Self>(&key()) {
                    form.place = Some(place);
                    drafts.replace(&key(), &form);
                }
            });
        }
    }

    fn action(&self, held: &Held, current: bool) -> Action {
        let count = held.readings.len() as u32;
        let words = format!(
            "Keep {count} {}",
            plural(count, "temperature", "temperatures")
        );
        let placed = self.place.as_ref().is_none_or(|place| place.at().is_some());
        Action::new(words)
            .needs(current, "The file is being read as you set it.")
            .needs(
                count > 0,
                "No temperature can be read: correct how the file is read.",
            )
            .needs(placed, "Say where the temperatures belong.")
    }
}

/// Hands in the readings as the form says.
fn keep(form: &Form, held: &Held, ticket: Ticket, out: &mut Outbox<'_>) -> Next {
    let Some(at) = form.place.as_ref().and_then(Place::at) else {
        ticket.refused("Say where the temperatures belong.");
        return Next::Stay;
    };
    let log = TemperatureLog {
        id: out.ids.next(),
        at: at.clone(),
        readings: held.readings.clone(),
        source: source(held, &form.file_name()),
        remark: remark(&held.import),
    };
    let mapping = form.mapping.as_ref().unwrap_or(&held.guess.mapping).clone();
    let remember = Request::RememberLogger(held.guess.fingerprint.clone(), mapping);
    out.submit_then(ticket, Edit::add(log), [remember]);
    Next::Kept(at)
}

/// Reads the file: by the mapping asked for, else by the one remembered for its logger, else by a guess.
fn read(
    path: &Path,
    mapping: Option<Mapping>,
    known: &BTreeMap<String, Mapping>,
    watch: &mut JobProgress,
) -> Option<Result<Held, String>> {
    let fault = |error: std::io::Error| format!("{} can't be read: {error}.", path.display());
    let opened = || open_input(path);
    let mut head = Vec::new();
    let headed = opened().and_then(|file| {
        file.take(logger::HEAD as u64)
            .read_to_end(&mut head)
            .map_err(fault)
    });
    if let Err(sentence) = headed {
        return Some(Err(sentence));
    }
    let fresh = logger::guess(&head);
    let set_before = known.get(&fresh.fingerprint).filter(|_| mapping.is_none());
    let remembered = set_before.is_some();
    let guess = match mapping.or_else(|| set_before.cloned()) {
        Some(mapping) if mapping == fresh.mapping => fresh,
        Some(mapping) => logger::guess_with(&head, mapping),
        None => fresh,
    };
    let size = std::fs::metadata(path).map_or(0, |metadata| metadata.len());
    let per_line = head.len() as f32 / head.split(|byte| *byte == b'\n').count() as f32;
    let mut heard = |lines: u64| {
        let part = (lines as f32 * per_line / size.max(1) as f32).min(1.0);
        watch.tell("Reading", Some(part)).is_continue()
    };
    let file = match opened() {
        Ok(file) => file,
        Err(sentence) => return Some(Err(sentence)),
    };
    let import = match logger::import(file, &guess.mapping, &mut heard) {
        Ok(import) => import?,
        Err(error) => return Some(Err(fault(error))),
    };
    let readings = import.readings.iter().map(|reading| Reading {
        at: reading.at,
        hundredths: reading.hundredths,
    });
    let readings = Readings::new(readings.collect());
    Some(Ok(Held {
        guess,
        remembered,
        import,
        readings,
    }))
}

fn source(held: &Held, file: &str) -> String {
    match &held.guess.serial {
        Some(serial) => format!("logger {serial}, {file}"),
        None => file.to_owned(),
    }
}

/// What was kept out and how the clock went, for the record.
fn remark(import: &Import) -> String {
    let mut words = Vec::new();
    let (bad, twice) = (import.bad.len(), import.duplicates.len());
    if bad > 0 {
        words.push(format!(
            "{bad} {} kept out",
            plural(bad as u32, "bad row", "bad rows")
        ));
    }
    if twice > 0 {
        words.push(format!(
            "{twice} {} kept out",
            plural(twice as u32, "duplicate row", "duplicate rows")
        ));
    }
    words.extend(
        import
            .clock_changes
            .iter()
            .take(10)
            .map(|change| change.to_string().trim_end_matches('.').to_owned()),
    );
    words.join("; ")
}

fn found(ui: &mut Ui, view: &View<'_>, held: &Held) {
    section_heading(ui, "What it holds");
    let import = &held.import;
    if let Some(serial) = &held.guess.serial {
        detail(ui, "Logger", serial);
    }
    let count = import.readings.len() as u32;
    detail(ui, "Readings", &count.to_string());
    if let (Some(first), Some(last)) = (held.readings.first(), held.readings.last()) {
        let day = |reading: Reading| reading.moment().format("%-d %b %Y %H:%M").to_string();
        detail(ui, "From", &day(first));
        detail(ui, "To", &day(last));
        let degrees = held.readings.iter().map(|reading| reading.celsius().0);
        let (low, high) = degrees.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), next| {
            (low.min(next), high.max(next))
        });
        let unit = view.preferences.temperature;
        detail(
            ui,
            "Temperatures",
            &format!("{} to {}", unit.show(low), unit.show(high)),
        );
        if let Some(step) = held.readings.usual_step() {
            detail(
                ui,
                "One every",
                &domain::temperature::hours(step as f64 / 3600.0),
            );
        }
    }
    detail(ui, "Rejected rows", &import.bad.len().to_string());
    detail(ui, "Duplicate rows", &import.duplicates.len().to_string());
    detail(
        ui,
        "Lines",
        &format!(
            "{} in total: {} of header, {} empty",
            import.lines, import.header_lines, import.blank_lines
        ),
    );
    if import.latest_first {
        ui.label(muted(
            ui,
            "The file lists the newest reading first; the order was reversed.",
        ));
    }
    for change in import.clock_changes.iter().take(6) {
        detail(ui, "Clock", &change.to_string());
    }
    if import.clock_changes.len() > 6 {
        ui.label(muted(
            ui,
            format!(
                "and {} more changes of the clock",
                import.clock_changes.len() - 6
            ),
        ));
    }
}

/// The first rows as they are cut into columns.
fn rows_ui(ui: &mut Ui, guess: &Guess) {
    section_heading(ui, "Its first rows");
    let columns: Vec<_> = (guess.columns.iter())
        .map(|name| Column::text(name, 150.0))
        .collect();
    ShortTable::new("First rows", &columns).show(ui, guess.rows.len(), |ui, row, column| {
        if let Some(field) = guess.rows[row].get(column) {
            ui.add(Label::new(field).truncate());
        }
    });
}

/// Every line that was kept out, with its reason.
fn kept_out(ui: &mut Ui, import: &Import) {
    let (bad, twice) = (import.bad.len(), import.duplicates.len());
    if bad + twice == 0 {
        return;
    }
    section_heading(ui, "Kept out");
    let row = ui.text_style_height(&egui::TextStyle::Body);
    ScrollArea::vertical()
        .id_salt("kept out")
        .max_height(220.0)
        .auto_shrink([false, true])
        .show_rows(ui, row, bad + twice, |ui, rows| {
            for nth in rows {
                let words = match import.bad.get(nth) {
                    Some(bad) => bad.to_string(),
                    None => import.duplicates[nth - bad].to_string(),
                };
                ui.add(egui::Label::new(words).truncate());
            }
        });
}

impl Place {
    fn new(view: &View<'_>, batch: Option<Id<ChillBatch>>) -> Self {
        let stands = batch
            .and_then(|batch| view.project.chill_batches().get(batch))
            .map_or("", |batch| batch.place.as_str());
        let name = stands.split(',').next().unwrap_or_default().trim();
        let kind = if name.is_empty() && batch.is_some() {
            LogPlaceKind::Batch
        } else {
            LogPlaceKind::Place
        };
        let name = if name.is_empty() {
            "Refrigerator"
        } else {
            name
        };
        Self {
            kind,
            name: name.to_owned(),
            batch,
        }
    }

    fn at(&self) -> Option<LogPlace> {
        match self.kind {
            LogPlaceKind::Place => {
                let name = self.name.trim();
                (!name.is_empty()).then(|| LogPlace::Place(name.to_owned()))
            }
            LogPlaceKind::Batch => self.batch.map(LogPlace::Batch),
        }
    }

    fn show(&mut self, ui: &mut Ui, view: &View<'_>) {
        form_row(ui, "To", |ui| {
            let choices = [
                (LogPlaceKind::Place, "a place"),
                (LogPlaceKind::Batch, "one batch"),
            ];
            segmented(ui, "The temperatures belong to", &mut self.kind, &choices);
        });
        match self.kind {
            LogPlaceKind::Place => {
                form_row(ui, "Place", |ui| {
                    TextField::new("Place of the logger")
                        .width(220.0)
                        .edit(ui, &mut self.name);
                });
                let batches = view.project.chill_batches().iter();
                let there = batches.filter(|batch| stands_in(&batch.place, &self.name));
                let codes: Vec<&str> = there.map(|batch| batch.code.as_str()).collect();
                let words = if codes.is_empty() {
                    "No batch is recorded there. A batch in 'Refrigerator, shelf 1' is in 'Refrigerator'.".to_owned()
                } else {
                    format!(
                        "They apply to every batch kept there, by its dates: {}.",
                        codes.join(", ")
                    )
                };
                ui.add(egui::Label::new(muted(ui, words)).wrap());
            }
            LogPlaceKind::Batch => {
                form_row(ui, "Batch", |ui| {
                    let chosen = self
                        .batch
                        .map_or("choose", |batch| view.project.code_of(batch));
                    ComboBox::from_id_salt("batch of the logger")
                        .selected_text(chosen)
                        .show_ui(ui, |ui| {
                            for batch in view.project.chill_batches().iter() {
                                ui.selectable_value(&mut self.batch, Some(batch.id), &batch.code);
                            }
                        })
                        .response
                        .widget_info(|| {
                            WidgetInfo::labeled(Role::ComboBox, true, "Batch of the logger")
                        });
                });
            }
        }
    }
}
