//! An earlier state against now: what differs, and the one edit that brings it back.

use crate::past_state::PastState;
use crate::record_history::{LoadedHistory, time};
use crate::view::{Outbox, Request, View};
use chrono::{DateTime, Utc};
use domain::Project;
use domain::compare::Comparison;
use domain::merge::told;
use egui::Ui;
use kit::theme::{muted, space, strong};
use kit::widgets::{Column, Rows, Table, TableState, list_and_detail, main_button};
use kit::worker::{Latest, Worker};
use std::sync::Arc;
use std::time::Duration;
use store::{Backup, History, Store};

/// How many single differences are told.
const MOST_TOLD: usize = 200;
/// How long the choice must rest before an earlier state is read, where one chosen just before it was passed by.
/// In seconds.
const REST: f64 = 0.25;

/// An earlier state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Earlier {
    /// As a backup has it.
    Backup(Backup),
    /// As it was after the change of this number, made then.
    PastState { after: u64, at: DateTime<Utc> },
}

/// An earlier state, and what turns what is shown into it.
pub(super) struct Compared {
    then: PastState,
    comparison: Comparison,
    told: Vec<String>,
}

/// The comparison of one earlier state with now.
#[derive(Default)]
pub(super) struct Against {
    /// The earlier state chosen last, and from when on it is read.
    chosen: Option<(Earlier, f64)>,
    worker: Worker<(u64, Earlier), Result<Compared, String>>,
}

impl Earlier {
    fn words(&self) -> String {
        match self {
            Self::Backup(backup) => format!("the backup of {}", time(backup.at)),
            Self::PastState { after, .. } => format!("the project after change {after}"),
        }
    }

    /// Reads it, a moment of the past from the history: a worker's work.
    fn read(&self, store: &Store, history: Option<&History>) -> Result<PastState, String> {
        match self {
            Self::Backup(backup) => match store.read_backup(backup) {
                Ok((project, after)) => Ok(PastState {
                    project,
                    at: backup.at,
                    after,
                }),
                Err(error) => Err(error.to_string()),
            },
            Self::PastState { after, at } => Ok(PastState {
                project: history
                    .and_then(|history| history.project_at(*after))
                    .ok_or("The journal doesn't reach there.")?,
                at: *at,
                after: Some(*after),
            }),
        }
    }
}

impl Compared {
    fn between(shown: &Project, then: PastState) -> Self {
        let comparison = Comparison::between(shown, &then.project);
        let lines = comparison.edits.iter().take(MOST_TOLD);
        let told = lines.map(|edit| {
            let gone = edit.about().is_some_and(|id| !shown.contains(id));
            told(edit, if gone { &then.project } else { shown })
        });
        Self {
            told: told.collect(),
            comparison,
            then,
        }
    }
}

impl Against {
    /// Draws what differs from this earlier state, and the button that brings it back. A moment is read from the
    /// history that is known.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        known: Option<&Arc<Result<LoadedHistory, String>>>,
        earlier: &Earlier,
        out: &mut Outbox<'_>,
    ) {
        let latest = self
            .has_rested(ui, earlier)
            .then(|| self.follow(ui, view, known, earlier));
        let Some(latest) = latest.flatten().filter(|latest| latest.current) else {
            ui.label(muted(ui, "Comparing"));
            return;
        };
        match &*latest.value {
            Err(problem) => {
                ui.label(problem);
            }
            Ok(compared) => compared.show(ui, view, earlier, out),
        }
    }

    /// Whether it was chosen a moment ago already: who goes through the rows by keys wants none of those between read.
    fn has_rested(&mut self, ui: &Ui, earlier: &Earlier) -> bool {
        let now = ui.input(|input| input.time);
        let from = match &self.chosen {
            Some((of, from)) if of == earlier => *from,
            Some((_, last)) if now < last + REST => now + REST,
            _ => now,
        };
        if self.chosen.as_ref().is_none_or(|(of, _)| of != earlier) {
            self.chosen = Some((earlier.clone(), from));
        }
        if now < from {
            ui.request_repaint_after(Duration::from_secs_f64(from - now));
        }
        now >= from
    }

    /// The comparison as far as it is there. An earlier state is read once, and compared again when the project changes.
    fn follow(
        &mut self,
        ui: &Ui,
        view: &View<'_>,
        known: Option<&Arc<Result<LoadedHistory, String>>>,
        earlier: &Earlier,
    ) -> Option<Latest<Result<Compared, String>>> {
        let last = self.worker.latest().filter(|last| last.key.1 == *earlier);
        let read = last.and_then(|last| Some(last.value.as_ref().as_ref().ok()?.then.clone()));
        let key = (view.project.revision(), earlier.clone());
        self.worker.follow(ui.ctx(), key, || {
            let (store, known) = (view.file.store().clone(), known.cloned());
            let (shown, earlier) = (view.project.clone(), earlier.clone());
            move |_| {
                let known = known.as_deref().and_then(|known| known.as_ref().ok());
                let history = known.map(|known| &known.history);
                let then = read.map_or_else(|| earlier.read(&store, history), Ok);
                Some(then.map(|then| Compared::between(&shown, then)))
            }
        })
    }
}

impl Compared {
    fn show(&self, ui: &mut Ui, view: &View<'_>, earlier: &Earlier, out: &mut Outbox<'_>) {
        let differs = self.comparison.words();
        let can_restore = differs.is_some() && view.read_only.is_none();
        ui.horizontal_wrapped(|ui| {
            if view.moment.is_none() {
                ui.add_enabled_ui(can_restore, |ui| {
                    if main_button(ui, "Restore it").clicked() {
                        let label = format!("restore {}", earlier.words());
                        let edit = self.comparison.clone().into_edit(label);
                        out.act_on(ui, "restore", "project", edit);
                    }
                });
            }
            let open = ui
                .button("Open as it was then")
                .on_hover_text("Shows every screen as it was then, read-only.");
            if open.clicked() {
                out.ask(Request::LookBack(self.then.clone()));
            }
        });
        let shown = match view.moment {
            Some(_) => "the moment shown",
            None => "now",
        };
        let Some(differs) = differs else {
            ui.label(format!("Nothing differs from {shown}."));
            return;
        };
        ui.label(strong(format!("Differs from {shown}: {differs}.")));
        ui.label(muted(
            ui,
            match view.moment {
                Some(_) => "To get there from the moment shown:",
                None => "Restoring is one change: Undo takes it back. It would:",
            },
        ));
        for line in &self.told {
            ui.add(egui::Label::new(line).wrap());
        }
        if self.comparison.edits.len() > MOST_TOLD {
            ui.label(muted(ui, "and more of the kind."));
        }
    }
}

/// The page of backups.
#[derive(Default)]
pub(super) struct Backups {
    worker: Worker<u64, Result<Vec<Backup>, String>>,
    table: TableState<DateTime<Utc>>,
    against: Against,
}

/// Draws the backups, and the chosen one against now.
pub(super) fn backups(ui: &mut Ui, view: &View<'_>, state: &mut Backups, out: &mut Outbox<'_>) {
    let listed = state.worker.follow(ui.ctx(), view.file.saved_up_to(), || {
        let (store, path) = (view.file.store().clone(), view.path.to_owned());
        move |_| Some(store.backups(&path).map_err(|error| error.to_string()))
    });
    let Some(listed) = listed else { return };
    let backups = match &*listed.value {
        Ok(backups) if backups.is_empty() => {
            ui.label(muted(ui, "A save leaves a backup here, one an hour at most: of the last day each hour, then each day, each month and each year. There is none yet."));
            return;
        }
        Ok(backups) => backups,
        Err(problem) => {
            ui.label(problem);
            return;
        }
    };
    let now = Utc::now();
    let chosen = state.table.only_selected();
    let chosen = backups.iter().find(|backup| Some(backup.at) == chosen);
    let title = chosen.map_or_else(String::new, |backup| {
        format!("Backup of {}", time(backup.at))
    });
    let was_open = chosen.is_some();
    let mut open = was_open;
    let (table, against) = (&mut state.table, &mut state.against);
    list_and_detail(
        ui,
        "backups",
        &mut open,
        &title,
        out,
        |ui, _| {
            let columns = [
                Column::text("Saved", 160.0).stretch().unsortable(),
                Column::text("Kept as", 100.0).unsortable(),
                Column::number("Size, KB", 90.0).unsortable(),
            ];
            let rows = Rows {
                count: backups.len(),
                key: |row: usize| backups[row].at,
                name: |row: usize| format!("Backup of {}", time(backups[row].at)),
                cell: |ui: &mut Ui, row: usize, column: usize| {
                    let backup = &backups[row];
                    ui.label(match column {
                        0 => time(backup.at),
                        1 => backup.kept(now).word().to_owned(),
                        _ => backup.size.div_ceil(1000).to_string(),
                    });
                },
            };
            Table::new("Backups", &columns).show(ui, table, rows);
        },
        |ui, out| {
            if let Some(backup) = chosen {
                against.show(ui, view, None, &Earlier::Backup(backup.clone()), out);
            }
        },
    );
    ui.add_space(space::S);
    // Closed by its own button; a row clicked just now opens it in the next frame.
    if was_open && !open {
        state.table.clear_selection();
    }
}
