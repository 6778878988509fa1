//! Tables in and out: a file with what would become of each of its rows, and the project's tables for other programs.

mod exports;
mod of_workbook;

use crate::preferences::TableReading;
use crate::view::{Outbox, Request, View};
use domain::import::{DryRun, Mapping, Meaning, Round, TableKind, dry_run, shape};
use domain::{Basis, Genotype, Id, IdSource, Project};
use egui::{ComboBox, Grid, Role, ScrollArea, TextEdit, Ui, WidgetInfo};
use exchange::sheets::{self, DateOrder, Decimal, Table, Wishes, Workbook};
use kit::drafts::FormKey;
use kit::theme::{self, muted, space};
use kit::widgets::{
    Column, Rows, TableState, badge, form_row, heading, main_button, section_heading, segmented,
};
use kit::worker::{JobProgress, Worker};
use paper::tables::TableSource;
use paper::workbook;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use store::{MOST_BYTES, read_input};

/// What the screen remembers between frames.
#[derive(Default)]
pub struct State {
    asked: Asked,
    read: Worker<(u64, Asked), Result<Found, String>>,
    only: Option<&'static str>,
    /// The rows that are shown, of which answer and which fate.
    rows: Vec<usize>,
    rows_of: Option<(usize, Option<&'static str>)>,
    table: TableState<usize>,
    of_workbook: of_workbook::State,
}

/// A file and how a person wants it read.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
struct Asked {
    path: Option<PathBuf>,
    sheet: Option<String>,
    wishes: Wishes,
    kind: Option<TableKind>,
    /// Columns whose meaning was corrected.
    corrected: BTreeMap<usize, Meaning>,
    round: Round,
}

/// What was found in the file.
enum Found {
    Table(Box<Held>),
    Workbook(Box<of_workbook::Held>),
}

/// A table.
struct Held {
    sheets: Vec<String>,
    notes: Vec<String>,
    table: Table,
    mapping: Mapping,
    /// What tables of its shape are remembered by.
    shape: String,
    /// How dates and numbers were read.
    wishes: Wishes,
    run: Result<DryRun, &'static str>,
    /// How many rows have each fate.
    counts: BTreeMap<&'static str, usize>,
}

/// Opens a table.
pub fn read_in(state: &mut State, path: PathBuf) {
    *state = State {
        asked: Asked {
            path: Some(path),
            ..Asked::default()
        },
        ..State::default()
    };
}

/// Draws the screen.
#[expect(clippy::too_many_lines, reason = "one page, from top to bottom")]
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    heading(ui, "Tables");
    if view.read_only.is_none() && kit::page_keys::acts(ui, egui::Key::T, "choose a table") {
        out.ask(Request::OpenTable);
    }
    keep(ui, &mut state.asked);
    let Some(path) = state.asked.path.clone() else {
        let sentence = "Plants, crosses, seed lots, counts, samples, observations and the answers of laboratories can be \
            brought in as CSV, XLSX or ODS, and a project's own workbook can come back. What would become of each row is shown first; nothing is in the project \
            before you import.";
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            if view.read_only.is_none() {
                section_heading(ui, "Bring a table in");
                ui.scope(|ui| {
                    ui.set_max_width(ui.available_width().min(720.0));
                    ui.add(egui::Label::new(muted(ui, sentence)).wrap());
                });
                ui.add_space(space::XS);
                if main_button(ui, "Choose a table…").clicked() {
                    out.ask(Request::OpenTable);
                }
                ui.add_space(space::S);
            }
            exports::exports(ui, view, out);
            exports::on_paper(ui, view, out);
        });
        return;
    };
    let name = path
        .file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy();
    // Rows that say no day are of the day that is worked for.
    state.asked.round.date = Some(view.today);
    let key = (view.project.revision(), state.asked.clone());
    let first: Id<Genotype> = out.ids.next();
    let latest = state.read.follow(ui.ctx(), key, || {
        let (project, asked) = (view.project.clone(), state.asked.clone());
        let known = view.preferences.tables.clone();
        // Identities of their own, begun where the window's stand.
        let bits = first.uuid().as_u128();
        let ids = IdSource::new((bits >> 80) as u64, bits as u64);
        move |watch| read(&project, &asked, &known, ids, watch)
    });
    let mut put_away = false;
    ui.horizontal_wrapped(|ui| {
        section_heading(ui, &name);
        put_away = ui.button("Close the table").clicked();
        if let Some(progress) = state.read.progress() {
            ui.label(muted(ui, format!("{}…", progress.words)));
            if ui.button("Stop").clicked() {
                put_away = true;
            }
        }
    });
    if put_away {
        *state = State::default();
        kit::drafts::with(ui.ctx(), |drafts| drafts.close(&draft()));
        return;
    }
    let Some(latest) = latest else { return };
    let held = match &*latest.value {
        Ok(Found::Table(held)) => held,
        Ok(Found::Workbook(held)) => {
            let answer = Arc::as_ptr(&latest.value).addr();
            let may = view.read_only.is_none() && latest.current;
            if of_workbook::show(ui, held, &mut state.of_workbook, (answer, &name, may), out) {
                kit::drafts::with(ui.ctx(), |drafts| drafts.close(&draft()));
            }
            return;
        }
        Err(sentence) => {
            badge(ui, theme::Meaning::Danger, "It can't be read");
            ui.label(sentence);
            return;
        }
    };
    for sentence in held.notes.iter().chain(&held.table.doubts) {
        ui.add(egui::Label::new(muted(ui, sentence)).wrap());
    }
    ui.collapsing("How it is read", |ui| {
        ScrollArea::vertical()
            .max_height(260.0)
            .show(ui, |ui| how(ui, view.project, &mut state.asked, held));
    });
    let run = match &held.run {
        Ok(run) => run,
        Err(fault) => {
            badge(ui, theme::Meaning::Soon, fault);
            return;
        }
    };
    for note in &run.notes {
        ui.label(muted(ui, note));
    }
    let counts = &held.counts;
    ui.horizontal_wrapped(|ui| {
        let all = format!("all {}", run.rows.len());
        let words: Vec<(Option<&'static str>, String)> = std::iter::once((None, all))
            .chain(
                counts
                    .iter()
                    .map(|(word, count)| (Some(*word), format!("{count} {word}"))),
            )
            .collect();
        let choices: Vec<(Option<&'static str>, &str)> = words
            .iter()
            .map(|(only, words)| (*only, words.as_str()))
            .collect();
        segmented(ui, "Rows shown", &mut state.only, &choices);
        let taken = ["new", "changes"].map(|word| counts.get(word).copied().unwrap_or(0));
        let taken: usize = taken.iter().sum();
        match &run.edit {
            Some(edit) if view.read_only.is_none() && latest.current => {
                if main_button(
                    ui,
                    &format!(
                        "Import {taken} {}",
                        domain::words::plural(taken as u32, "row", "rows")
                    ),
                )
                .clicked()
                {
                    out.act_on(ui, "import", &name, edit.clone());
                    let reading = TableReading {
                        mapping: held.mapping.clone(),
                        wishes: held.wishes,
                    };
                    out.ask(Request::RememberTable(held.shape.clone(), reading));
                    // What was said of it is recorded with it. Should it be refused, it is still said on the page.
                    kit::drafts::with(ui.ctx(), |drafts| drafts.close(&draft()));
                }
            }
            Some(_) => {}
            None => {
                ui.label(muted(ui, "Nothing in it is new."));
            }
        }
    });
    let answer = Arc::as_ptr(&latest.value).addr();
    if state.rows_of != Some((answer, state.only)) {
        let fits = |row: &usize| {
            state
                .only
                .is_none_or(|only| run.rows[*row].1.word() == only)
        };
        state.rows = (0..run.rows.len()).filter(fits).collect();
        state.rows_of = Some((answer, state.only));
    }
    fates(ui, held, run, &state.rows, &mut state.table);
}

/// Where the table that is being brought in is kept with what was said of it.
fn draft() -> FormKey {
    FormKey::new("Table", "tables")
}

/// Keeps the table that is being brought in, and what is said of it, as a draft: it outlives another screen, closing and
/// a kill. A window that has none takes up what was kept.
fn keep(ui: &Ui, asked: &mut Asked) {
    let key = draft();
    kit::drafts::with(ui.ctx(), |drafts| {
        let kept: Option<Asked> = drafts.state(&key);
        if asked.path.is_none() {
            *asked = kept.unwrap_or_default();
            return;
        }
        let mut now = asked.clone();
        // The day that is worked for isn't said of the table.
        now.round.date = None;
        let same_file = kept.as_ref().is_some_and(|kept| kept.path == now.path);
        if !same_file {
            let name = now.path.as_ref().and_then(|path| path.file_name());
            let name = name.unwrap_or_default().to_string_lossy();
            let words = format!("Table to bring in: {name}");
            drafts.close(&key);
            drafts.open(&key, words, now);
        } else if kept.as_ref() != Some(&now) {
            drafts.hold(&key, &now);
        }
    });
}

/// The rows of the table, each with its fate.
fn fates(ui: &mut Ui, held: &Held, run: &DryRun, rows: &[usize], state: &mut TableState<usize>) {
    const FIXED: usize = 3;
    let mut columns = vec![
        Column::number("Line", 64.0),
        Column::text("Fate", 90.0),
        Column::text("Words", 320.0).stretch(),
    ];
    let used: Vec<usize> = (0..held.table.columns.len())
        .filter(|column| held.mapping.columns.get(*column) != Some(&Meaning::Ignored))
        .take(6)
        .collect();
    let names = used
        .iter()
        .map(|column| held.table.columns[*column].name.as_str());
    columns.extend(names.map(|name| Column::text(name, 110.0)));
    let shown = Rows {
        count: rows.len(),
        key: |row: usize| rows[row],
        name: |row: usize| format!("line {}", run.rows[rows[row]].0),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let (line, fate) = &run.rows[rows[row]];
            match column {
                0 => ui.label(line.to_string()),
                1 => ui.label(fate.word()),
                2 => {
                    let words = fate.words();
                    ui.label(&words).on_hover_text(words)
                }
                column => ui.label(
                    held.table
                        .text(rows[row], used[column - FIXED])
                        .into_owned(),
                ),
            };
        },
    };
    kit::widgets::Table::new("Rows of the table", &columns).show(ui, state, shown);
}

/// What the table holds, what its columns mean, and what holds for all its rows.
#[expect(clippy::too_many_lines, reason = "one form, from top to bottom")]
fn how(ui: &mut Ui, project: &Project, asked: &mut Asked, held: &Held) {
    if held.sheets.len() > 1 {
        form_row(ui, "Sheet", |ui| {
            let mut sheet = asked
                .sheet
                .clone()
                .unwrap_or_else(|| held.table.name().to_owned());
            let before = sheet.clone();
            named_combo(ui, "Sheet of the workbook", &sheet.clone(), |ui| {
                for name in &held.sheets {
                    ui.selectable_value(&mut sheet, name.clone(), name);
                }
            });
            if sheet != before {
                asked.sheet = Some(sheet);
                asked.corrected.clear();
            }
        });
    }
    form_row(ui, "It holds", |ui| {
        let mut kind = held.mapping.kind;
        named_combo(ui, "What the table holds", kind.words(), |ui| {
            for each in TableKind::ALL {
                ui.selectable_value(&mut kind, each, each.words());
            }
        });
        if kind != held.mapping.kind {
            asked.kind = Some(kind);
            asked.corrected.clear();
        }
    });
    form_row(ui, "Dates as 03/04/05", |ui| {
        let choices = [
            (None, "as found"),
            (Some(DateOrder::DayFirst), "day first"),
            (Some(DateOrder::MonthFirst), "month first"),
        ];
        segmented(ui, "Order of dates", &mut asked.wishes.dates, &choices);
    });
    form_row(ui, "Decimal mark", |ui| {
        let choices = [
            (None, "as found"),
            (Some(Decimal::Point), "point"),
            (Some(Decimal::Comma), "comma"),
        ];
        segmented(ui, "Decimal mark", &mut asked.wishes.decimal, &choices);
    });
    if held.mapping.kind == TableKind::Observations {
        for (words, name, text) in [
            ("Site", "Site of all rows", &mut asked.round.site),
            ("Observer", "Observer of all rows", &mut asked.round.by),
            ("Isolate", "Isolate of all rows", &mut asked.round.isolate),
            ("Method", "Method of all rows", &mut asked.round.method),
        ] {
            form_row(ui, words, |ui| {
                ui.add(TextEdit::singleline(text).desired_width(220.0))
                    .widget_info(|| WidgetInfo::labeled(Role::TextInput, true, name));
            });
        }
        form_row(ui, "Basis", |ui| {
            let mut moisture = match asked.round.basis {
                Basis::AsIs { moisture } => moisture,
                _ => 8.0,
            };
            let choices = [
                (Basis::Unstated, "not stated"),
                (Basis::Dry, "dry"),
                (Basis::AsIs { moisture }, "as is"),
            ];
            segmented(ui, "Basis of all rows", &mut asked.round.basis, &choices);
            if let Basis::AsIs { .. } = asked.round.basis {
                let value = egui::DragValue::new(&mut moisture)
                    .range(0.0..=99.0)
                    .suffix(" % moisture");
                ui.add(value);
                asked.round.basis = Basis::AsIs { moisture };
            }
        });
    }
    let meanings = held.mapping.kind.meanings(project);
    Grid::new("columns of the table")
        .num_columns(3)
        .show(ui, |ui| {
            for (place, column) in held.table.columns.iter().enumerate() {
                let own = held
                    .mapping
                    .columns
                    .get(place)
                    .copied()
                    .unwrap_or(Meaning::Ignored);
                let mut meaning = own;
                ui.label(&column.name);
                let name = format!("Column {} means", column.name);
                named_combo(ui, &name, &own.words(project), |ui| {
                    for each in &meanings {
                        ui.selectable_value(&mut meaning, *each, each.words(project));
                    }
                });
                ui.label(muted(ui, held.table.text(0, place).into_owned()));
                ui.end_row();
                if meaning != own {
                    asked.corrected.insert(place, meaning);
                }
            }
        });
}

fn named_combo(ui: &mut Ui, name: &str, shown: &str, add: impl FnOnce(&mut Ui)) {
    ComboBox::from_id_salt(name)
        .selected_text(shown)
        .width(220.0)
        .show_ui(ui, add)
        .response
        .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, name));
}

/// Reads the file and tries the import on a snapshot, off the drawing thread. Nothing if it was stopped.
fn read(
    project: &Project,
    asked: &Asked,
    known: &BTreeMap<String, TableReading>,
    mut ids: IdSource,
    watch: &mut JobProgress,
) -> Option<Result<Found, String>> {
    if watch.tell("Reading the table", None).is_break() {
        return None;
    }
    let path = asked.path.as_deref().unwrap_or_else(|| Path::new(""));
    let book = match read_input(path, MOST_BYTES).and_then(|bytes| sheets::read(&bytes)) {
        Ok(book) => book,
        Err(sentence) => return Some(Err(sentence)),
    };
    if workbook::is_project(&book) {
        let read = workbook::incoming(project, &book, || {
            watch.tell("Comparing it with the project", None)
        })?;
        return Some(read.map(|read| Found::Workbook(Box::new(of_workbook::Held::of(read)))));
    }
    Some(match opened(&book, asked) {
        Err(sentence) => Err(sentence),
        Ok((sheets, mut notes, sheet, mut table)) => {
            let shape = shape(&TableSource(&table));
            let remembered = known.get(&shape).filter(|_| asked.kind.is_none());
            let mut wishes = asked.wishes;
            if let Some(reading) = remembered {
                notes.push(
                    "Read as the last table with these columns. Change it under 'How it is read'."
                        .into(),
                );
                wishes.dates = wishes.dates.or(reading.wishes.dates);
                wishes.decimal = wishes.decimal.or(reading.wishes.decimal);
                if wishes != asked.wishes {
                    match Table::of(sheet, wishes) {
                        Ok(again) => table = again,
                        Err(sentence) => return Some(Err(sentence)),
                    }
                }
            }
            let source = TableSource(&table);
            let mut mapping = match (asked.kind, remembered) {
                (Some(kind), _) => Mapping::guess_as(project, &source, kind),
                (None, Some(reading)) => again(project, source, &reading.mapping),
                (None, None) => Mapping::guess(project, &source),
            };
            for (place, meaning) in &asked.corrected {
                if let Some(own) = mapping.columns.get_mut(*place) {
                    *own = *meaning;
                }
            }
            let run = match mapping.fault() {
                Some(fault) => Err(fault),
                None => Ok(dry_run(
                    project,
                    &source,
                    &mapping,
                    &asked.round,
                    &mut ids,
                    &mut |done, all| {
                        watch.tell("Looking at its rows", Some(done as f32 / all.max(1) as f32))
                    },
                )?),
            };
            Ok(Found::Table(Box::new(Held {
                sheets,
                notes,
                table,
                mapping,
                counts: run.as_ref().map(DryRun::counts).unwrap_or_default(),
                shape,
                wishes,
                run,
            })))
        }
    })
}

/// A remembered mapping, where its traits are of this project; for other columns what their names suggest.
fn again(project: &Project, source: TableSource<'_>, remembered: &Mapping) -> Mapping {
    let mut mapping = Mapping::guess_as(project, &source, remembered.kind);
    for (own, meaning) in mapping.columns.iter_mut().zip(&remembered.columns) {
        match meaning {
            Meaning::Trait(id) if !project.traits().contains(*id) => {}
            known => *own = *known,
        }
    }
    mapping
}

/// The names of the sheets, what to know of the file, the sheet chosen, and the table on it.
type Opened = (Vec<String>, Vec<String>, sheets::Sheet, Table);

fn opened(book: &Workbook, asked: &Asked) -> Result<Opened, String> {
    let sheet = match &asked.sheet {
        Some(name) => book.sheets.iter().find(|sheet| sheet.name == *name),
        None => None,
    };
    let sheet = match sheet {
        Some(sheet) => sheet,
        None => book.first()?,
    };
    let names = book.sheets.iter().map(|sheet| sheet.name.clone()).collect();
    let table = Table::of(sheet.clone(), asked.wishes)?;
    Ok((names, book.notes.clone(), sheet.clone(), table))
}
