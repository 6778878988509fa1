//! An earlier state against now: what differs, and the one edit that brings it back.

use crate::theme::{muted, space, strong};
use crate::view::{Outbox, View};
use crate::widgets::{Column, Rows, Table, TableState, list_and_detail, main_button};
use crate::worker::Worker;
use chrono::{DateTime, Utc};
use domain::compare::Comparison;
use domain::merge::told;
use egui::Ui;
use store::Backup;

/// How many single differences are told.
const MOST_TOLD: usize = 200;

/// An earlier state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Earlier {
    /// As a backup has it.
    Backup(Backup),
    /// As it was after the change of this number.
    Moment(u64),
}

/// What turns now into an earlier state.
pub(super) struct Compared {
    comparison: Comparison,
    told: Vec<String>,
}

/// The comparison of one earlier state with now.
#[derive(Default)]
pub(super) struct Against {
    worker: Worker<(u64, Earlier), Result<Compared, String>>,
}

impl Earlier {
    fn words(&self) -> String {
        match self {
            Self::Backup(backup) => format!("the backup of {}", time(backup.at)),
            Self::Moment(sequence) => format!("the project after change {sequence}"),
        }
    }
}

/// A moment as it is written in tables.
pub(super) fn time(at: DateTime<Utc>) -> String {
    at.with_timezone(&chrono::Local)
        .format("%Y-%m-%d %H:%M")
        .to_string()
}

impl Against {
    /// Draws what differs from this earlier state, and the button that brings it back.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        earlier: &Earlier,
        out: &mut Outbox<'_>,
    ) {
        let key = (view.project.revision(), earlier.clone());
        let latest = self.worker.follow(ui.ctx(), key, || {
            let (store, path) = (view.file.store().clone(), view.path.to_owned());
            let (now, earlier) = (view.project.clone(), earlier.clone());
            move |_| {
                let then = match &earlier {
                    Earlier::Backup(backup) => store.read_backup(backup).map(Some),
                    Earlier::Moment(sequence) => store.project_at(&path, *sequence),
                };
                Some(match then {
                    Ok(Some(then)) => {
                        let comparison = Comparison::between(&now, &then);
                        let lines = comparison.edits.iter().take(MOST_TOLD);
                        let home = |edit: &domain::Edit| match edit.about() {
                            Some(id) if !now.contains(id) => then.clone(),
                            _ => now.clone(),
                        };
                        let told = lines.map(|edit| told(edit, &home(edit))).collect();
                        Ok(Compared { comparison, told })
                    }
                    Ok(None) => Err("The journal doesn't reach there.".into()),
                    Err(error) => Err(error.to_string()),
                })
            }
        });
        let Some(latest) = latest.filter(|latest| latest.current) else {
            ui.label(muted(ui, "Comparing"));
            return;
        };
        match &*latest.value {
            Err(problem) => {
                ui.label(problem);
            }
            Ok(compared) => match compared.comparison.words() {
                None => {
                    ui.label("Nothing differs from now.");
                }
                Some(words) => {
                    ui.label(strong(format!("Differs from now: {words}.")));
                    let can = view.read_only.is_none();
                    ui.add_enabled_ui(can, |ui| {
                        if main_button(ui, "Restore it").clicked() {
                            let label = format!("restore {}", earlier.words());
                            out.edit(compared.comparison.clone().into_edit(label));
                        }
                    });
                    ui.label(muted(
                        ui,
                        "Restoring is one change: Undo takes it back. It would:",
                    ));
                    for line in &compared.told {
                        ui.add(egui::Label::new(line).wrap());
                    }
                    if compared.comparison.edits.len() > MOST_TOLD {
                        ui.label(muted(ui, "and more of the kind."));
                    }
                }
            },
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
                against.show(ui, view, &Earlier::Backup(backup.clone()), out);
            }
        },
    );
    ui.add_space(space::S);
    // Closed by its own button; a row clicked just now opens it in the next frame.
    if was_open && !open {
        state.table.clear_selection();
    }
}
