//! Where the seed of a lot comes from, chosen.

use crate::screens::code_picker::{CodePicker, find, find_plants};
use crate::screens::fields::{caution_lines, choice};
use crate::view::View;
use domain::display::origin_words;
use domain::{Cross, Genotype, Id, LotSource, Origin, Sex, cautions};
use egui::{TextEdit, Ui};
use kit::widgets::form_row;

/// A source while it is chosen: what was given for another kind of source is kept until one is complete.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Draft {
    kind: SourceKind,
    cross: Option<Id<Cross>>,
    female: Option<Id<Genotype>>,
    from: String,
    described_as: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
enum SourceKind {
    Cross,
    OpenPollinated,
    Bought,
    Unknown,
}

impl Draft {
    /// A source from a cross, the cross still to be chosen.
    pub(super) const fn new() -> Self {
        Self {
            kind: SourceKind::Cross,
            cross: None,
            female: None,
            from: String::new(),
            described_as: String::new(),
        }
    }

    /// This source, to be changed.
    pub(super) fn of(source: &LotSource) -> Self {
        let mut draft = Self::new();
        match source {
            LotSource::Cross(cross) => draft.cross = Some(*cross),
            LotSource::OpenPollinated(female) => {
                draft.kind = SourceKind::OpenPollinated;
                draft.female = Some(*female);
            }
            LotSource::Bought { from, described_as } => {
                draft.kind = SourceKind::Bought;
                draft.from.clone_from(from);
                draft.described_as.clone_from(described_as);
            }
            LotSource::Unknown => draft.kind = SourceKind::Unknown,
        }
        draft
    }

    /// The source, if it is complete.
    pub(super) fn source(&self) -> Option<LotSource> {
        match self.kind {
            SourceKind::Cross => self.cross.map(LotSource::Cross),
            SourceKind::OpenPollinated => self.female.map(LotSource::OpenPollinated),
            SourceKind::Bought => Some(LotSource::Bought {
                from: self.from.trim().to_owned(),
                described_as: self.described_as.trim().to_owned(),
            }),
            SourceKind::Unknown => Some(LotSource::Unknown),
        }
    }

    /// Draws the fields; true when the choice changed, or a text field was left.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>) -> bool {
        let project = view.project;
        let kinds = [
            (SourceKind::Cross, "a cross".to_owned()),
            (SourceKind::OpenPollinated, "open-pollinated".to_owned()),
            (SourceKind::Bought, "bought or given".to_owned()),
            (SourceKind::Unknown, "unknown".to_owned()),
        ];
        let mut changed = form_row(ui, "Comes from", |ui| {
            choice(ui, "Comes from", &mut self.kind, &kinds)
        });
        match self.kind {
            SourceKind::Cross => {
                changed |= form_row(ui, "Cross", |ui| {
                    let shown = self.cross.map_or("", |cross| project.code_of(cross));
                    CodePicker::new("Cross of the seed").show(
                        ui,
                        shown,
                        project.revision(),
                        &mut self.cross,
                        |typed| {
                            find(
                                project.crosses().iter().rev(),
                                typed,
                                |cross| vec![&cross.code],
                                |cross| origin_words(project, &Origin::Cross { cross: cross.id }),
                            )
                        },
                    )
                });
            }
            SourceKind::OpenPollinated => {
                changed |= form_row(ui, "Female parent", |ui| {
                    let shown = self.female.map_or("", |plant| project.code_of(plant));
                    CodePicker::new("Female parent").show(
                        ui,
                        shown,
                        project.revision(),
                        &mut self.female,
                        |typed| {
                            find_plants(project, typed, |plant| {
                                plant.known_sex() != Some(Sex::Male)
                            })
                        },
                    )
                });
            }
            SourceKind::Bought => {
                let mut text = |ui: &mut Ui, name: &str, text: &mut String| {
                    changed |= form_row(ui, name, |ui| {
                        let edit = TextEdit::singleline(text)
                            .desired_width(220.0_f32.min(ui.available_width() - 8.0));
                        ui.add(edit).accessible_name(name).lost_focus()
                    });
                };
                text(ui, "Bought from", &mut self.from);
                text(ui, "Described as", &mut self.described_as);
                caution_lines(ui, &[cautions::RESTRICTED]);
            }
            SourceKind::Unknown => {}
        }
        changed
    }
}
