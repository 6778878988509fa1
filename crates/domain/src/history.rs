//! A project at work: with undo and redo.

use crate::edit::Edit;
use crate::project::Project;
use crate::refusal::Refusal;

/// A step that can be taken back or made again.
#[derive(Debug, Clone, PartialEq)]
struct UndoStep {
    /// Counts the steps made since the project was opened.
    number: u64,
    label: String,
    edit: Edit,
}

/// A project being worked on: the edits made since it was opened can be undone and redone.
///
/// Undo doesn't outlive the window; the journal does, and from it any moment can be had back.
#[derive(Debug, Clone, Default)]
pub struct Session {
    project: Project,
    undo: Vec<UndoStep>,
    redo: Vec<UndoStep>,
    made: u64,
}

impl Session {
    /// A session on a project as it stands.
    pub const fn new(project: Project) -> Self {
        Self {
            project,
            undo: Vec::new(),
            redo: Vec::new(),
            made: 0,
        }
    }

    /// The project.
    pub const fn project(&self) -> &Project {
        &self.project
    }

    /// Makes an edit. What was undone before it can no longer be redone.
    pub fn apply(&mut self, edit: Edit) -> Result<(), Refusal> {
        let label = edit.describe(&self.project);
        let inverse = self.project.apply(edit)?;
        self.made += 1;
        self.undo.push(UndoStep {
            number: self.made,
            label,
            edit: inverse,
        });
        self.redo.clear();
        Ok(())
    }

    /// The number of the step that undo would take back.
    pub fn last_step(&self) -> Option<u64> {
        self.undo.last().map(|step| step.number)
    }

    /// Whether the step of this number stands: made, and not undone.
    pub fn has_step(&self, number: u64) -> bool {
        self.undo
            .binary_search_by_key(&number, |step| step.number)
            .is_ok()
    }

    /// Takes back one step whatever came after it: the last by undo, an earlier one by a step of its own. Returns the
    /// edit that did it, for the journal; nothing if there is no such step.
    pub fn take_back(&mut self, number: u64) -> Result<Option<Edit>, Refusal> {
        if self.last_step() == Some(number) {
            return self.undo();
        }
        let Ok(at) = self.undo.binary_search_by_key(&number, |step| step.number) else {
            return Ok(None);
        };
        let step = &self.undo[at];
        let edit = Edit::all(
            format!("take back: {}", step.label),
            vec![step.edit.clone()],
        );
        self.apply(edit.clone())?;
        Ok(Some(edit))
    }

    /// The label of the step that undo would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.undo.last().map(|step| step.label.as_str())
    }

    /// The label of the step that redo would make again.
    pub fn redo_label(&self) -> Option<&str> {
        self.redo.last().map(|step| step.label.as_str())
    }

    /// Takes back the last step. Returns the edit that did it, for the journal; nothing if there is no step.
    pub fn undo(&mut self) -> Result<Option<Edit>, Refusal> {
        let words = |label: &str| format!("take back: {label}");
        Self::step(&mut self.project, &mut self.undo, &mut self.redo, words)
    }

    /// Makes the last undone step again. Returns the edit that did it; nothing if there is no step.
    pub fn redo(&mut self) -> Result<Option<Edit>, Refusal> {
        Self::step(
            &mut self.project,
            &mut self.redo,
            &mut self.undo,
            str::to_owned,
        )
    }

    fn step(
        project: &mut Project,
        from: &mut Vec<UndoStep>,
        to: &mut Vec<UndoStep>,
        words: impl Fn(&str) -> String,
    ) -> Result<Option<Edit>, Refusal> {
        let Some(mut step) = from.pop() else {
            return Ok(None);
        };
        // The journal tells what was done apart from the taking back of it.
        if let Edit::All { label, .. } = &mut step.edit {
            *label = words(&step.label);
        }
        match project.apply(step.edit.clone()) {
            Ok(inverse) => {
                to.push(UndoStep {
                    number: step.number,
                    label: step.label,
                    edit: inverse,
                });
                Ok(Some(step.edit))
            }
            Err(refusal) => {
                from.push(step);
                Err(refusal)
            }
        }
    }
}
