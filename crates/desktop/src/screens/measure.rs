//! Measuring: any plants for several traits at once, typed down or across, in a round whose circumstances are set once.

use crate::derived::Listing;
use crate::screens::sorting::parts;
use crate::view::{Outbox, View};
use domain::recording::{Cell, Round, Usual};
use domain::{Cross, Genotype, Id, Origin, Project, Scale, Stage, Trait};
use egui::{ScrollArea, Ui, UiBuilder};
use kit::drafts::{self, FormKey};
use kit::theme::{muted, space};
use kit::widgets::{beside_or_below, empty_state};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::rc::Rc;

mod cells;
mod circumstances;
mod columns;
mod disease;
mod grid;
mod keys;
mod pasted;
mod plants;
mod side;
mod written;

/// What the screen remembers between frames.
#[derive(Default)]
pub struct State {
    /// The round in hand; it lies with the drafts, so that it is there again after the program was ended.
    sheet: Option<Sheet>,
    listing: Listing<Genotype, Wanted>,
    cursor: Option<Cursor>,
    grid: grid::Memory,
    /// What is usual by trait and method, of one revision.
    usual: Usuals,
    /// The cells that were entered last, to be asked about.
    entered: Vec<Cell>,
    /// The cells whose text isn't recorded, and why stands with their drafts.
    unread: Vec<Spot>,
    /// Plants that another page sent here.
    sent: Option<Vec<Id<Genotype>>>,
    /// A plant whose label was scanned.
    scanned: Option<Id<Genotype>>,
    /// What sets up the round is unfolded.
    unfolded: bool,
    /// The plant to be added by its code.
    adding: Option<Id<Genotype>>,
    pass: u64,
}

/// A round as it is set up: what holds for it, which traits, which plants.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
struct Sheet {
    round: Round,
    traits: Vec<Id<Trait>>,
    wanted: Wanted,
    /// Enter goes to the next trait, not to the next plant.
    across: bool,
}

/// Which plants stand on the rows, and in which order.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
struct Wanted {
    group: Group,
    /// Those added by code.
    also: Vec<Id<Genotype>>,
    /// Those of the group that were taken from the list.
    without: Vec<Id<Genotype>>,
    /// By their place instead of their code.
    by_place: bool,
}

/// Plants that are chosen together.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
enum Group {
    #[default]
    None,
    Living,
    Founders,
    Stage(Id<Stage>),
    Family(Id<Cross>),
}

/// A column of the grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Trait(Id<Trait>),
    Remark,
}

/// A cell of the grid by what it is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Spot {
    plant: Id<Genotype>,
    column: Column,
}

/// What is shown: the round, its rows and columns.
struct Shown<'a> {
    sheet: &'a Sheet,
    rows: &'a [Id<Genotype>],
    traits: &'a [&'a Trait],
    /// The page was just come to.
    arrived: bool,
}

impl Shown<'_> {
    fn columns(&self) -> usize {
        self.traits.len() + 1
    }

    fn column(&self, nth: usize) -> Column {
        self.traits
            .get(nth)
            .map_or(Column::Remark, |each| Column::Trait(each.id))
    }

    fn spot(&self, cursor: Cursor) -> Spot {
        Spot {
            plant: cursor.plant,
            column: self.column(cursor.column),
        }
    }
}

/// Where the hand is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Cursor {
    plant: Id<Genotype>,
    column: usize,
}

/// What is usual, kept by revision.
#[derive(Default)]
struct Usuals {
    revision: u64,
    of: HashMap<(Id<Trait>, String), Rc<Usual>>,
}

impl Usuals {
    fn like(&mut self, project: &Project, seen: &domain::Observation) -> Rc<Usual> {
        if self.revision != project.revision() {
            self.revision = project.revision();
            self.of.clear();
        }
        let key = (seen.of_trait, seen.method_words(project));
        let usual = self
            .of
            .entry(key)
            .or_insert_with(|| Rc::new(Usual::of(project, seen.of_trait, seen)));
        Rc::clone(usual)
    }
}

impl State {
    /// A value was tapped: the hand goes on as it does after Enter.
    const fn grid_goes_on(&mut self) {
        self.grid.goes_on();
    }

    /// The keyboard comes back to the grid.
    const fn grid_gets_keys(&mut self) {
        self.grid.gets_keys();
    }
}

/// The width of what stands beside the grid.
const SIDE: f32 = 236.0;

fn key() -> FormKey {
    FormKey::new("round", "")
}

/// Takes these plants as the rows.
pub fn choose(state: &mut State, plants: Vec<Id<Genotype>>) {
    state.sent = Some(plants);
}

/// Whether the keyboard is in a cell of the grid.
pub fn has_keys(ctx: &egui::Context) -> bool {
    grid::has_keys(ctx)
}

/// Goes to the row of a plant whose label was scanned; it gets one if it has none.
pub fn scanned(state: &mut State, plant: Id<Genotype>) {
    let column = state.cursor.map_or(0, |cursor| cursor.column);
    state.scanned = Some(plant);
    grid::go_to(state, Cursor { plant, column });
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    if project.genotypes().is_empty() {
        let sentence = "Plants are scored and measured here, founders and checks too. Add the plants you have first.";
        if empty_state(ui, sentence, "Go to the plants") {
            out.ask(crate::view::Request::Go(crate::view::Screen::Plants));
        }
        return;
    }
    kit::page_keys::declare(ui, [("Tab", "next")]);
    let pass = ui.ctx().cumulative_pass_nr();
    let arrived = pass > state.pass + 3;
    state.pass = pass;
    let (mut sheet, before) = take_sheet(ui, view, state);
    let traits: Vec<&Trait> = sheet
        .traits
        .iter()
        .filter_map(|id| project.traits().get(*id))
        .collect();
    if let Some(plant) = state.scanned.take() {
        sheet.wanted.without.retain(|id| *id != plant);
        if !listed(project, &sheet.wanted).contains(&plant) {
            sheet.wanted.also.push(plant);
        }
    }
    circumstances::show(ui, view, state, &mut sheet, out);
    let wanted = sheet.wanted.clone();
    let exists = |id| project.genotypes().contains(id);
    let rows = state
        .listing
        .steady_rows(ui.ctx(), project, wanted, listed, exists);
    if arrived {
        state.entered.clear();
        state.unread = cells::kept_drafts(ui, view, &rows, &traits);
    }
    if rows.is_empty() || traits.is_empty() {
        ui.add_space(space::M);
        let sentence = match (rows.is_empty(), traits.is_empty()) {
            (true, true) => "Choose the plants and the traits of this round.",
            (true, false) => {
                "Choose the plants of this round: a group, or one by one by their codes."
            }
            _ => "Choose the traits of this round.",
        };
        ui.label(muted(ui, sentence));
        state.unfolded = true;
    } else {
        let (first, second) = beside_or_below(ui, SIDE);
        let mut left = ui.new_child(UiBuilder::new().max_rect(first));
        left.set_clip_rect(left.max_rect().expand(2.0).intersect(ui.clip_rect()));
        let in_hand = grid::show(
            &mut left,
            view,
            state,
            &Shown {
                sheet: &sheet,
                rows: &rows,
                traits: &traits,
                arrived,
            },
            out,
        );
        let mut side = ui.new_child(UiBuilder::new().max_rect(second));
        side.set_clip_rect(second.intersect(ui.clip_rect()));
        ScrollArea::vertical()
            .id_salt("beside the grid")
            .auto_shrink(false)
            .show(&mut side, |ui| {
                side::show(ui, view, state, (&mut sheet, in_hand), &traits, out);
                let shown = Shown {
                    sheet: &sheet,
                    rows: &rows,
                    traits: &traits,
                    arrived,
                };
                written::show(ui, view, &shown, out);
            });
        ui.advance_cursor_after_rect(first.union(second));
    }
    keep_sheet(ui, state, sheet, before.as_ref());
}

/// The round as it lies with the drafts, with the plants that were sent here.
fn take_sheet(ui: &Ui, view: &View<'_>, state: &mut State) -> (Sheet, Option<Sheet>) {
    let before = match state.sheet.take() {
        Some(sheet) => Some(sheet),
        None => drafts::with(ui.ctx(), |drafts| drafts.state::<Sheet>(&key())),
    };
    let mut sheet = before.clone().unwrap_or_else(|| Sheet {
        round: Round {
            by: view.preferences.who.clone(),
            ..Round::default()
        },
        ..Sheet::default()
    });
    if let Some(sent) = state.sent.take() {
        sheet.wanted = Wanted {
            also: sent,
            by_place: sheet.wanted.by_place,
            ..Wanted::default()
        };
        state.cursor = None;
    }
    let exists = |id: &Id<Trait>| {
        let found = view.project.traits().get(*id);
        found.is_some_and(|each| !matches!(each.scale, Scale::Derived { .. }))
    };
    sheet.traits.retain(exists);
    if let Some(test) = sheet.round.test
        && !view.project.disease_tests().contains(test)
    {
        sheet.round.test = None;
    }
    (sheet, before)
}

fn keep_sheet(ui: &Ui, state: &mut State, sheet: Sheet, before: Option<&Sheet>) {
    if before != Some(&sheet) && (before.is_some() || sheet != fresh(&sheet)) {
        drafts::with(ui.ctx(), |drafts| {
            drafts.open(&key(), "The round", sheet.clone());
            drafts.replace(&key(), &sheet);
        });
        ui.ctx().request_repaint();
    }
    state.sheet = Some(sheet);
}

/// The same with nothing set but its person: that is no reason to keep it.
fn fresh(sheet: &Sheet) -> Sheet {
    Sheet {
        round: Round {
            by: sheet.round.by.clone(),
            ..Round::default()
        },
        ..Sheet::default()
    }
}

/// The plants of the rows in their order.
fn listed(project: &Project, wanted: &Wanted) -> Vec<Id<Genotype>> {
    let of_group = |plant: &&Genotype| {
        plant.is_alive()
            && match wanted.group {
                Group::None => false,
                Group::Founders => matches!(plant.origin, Origin::Founder { .. }),
                Group::Stage(stage) => plant.stage == Some(stage),
                Group::Living | Group::Family(_) => true,
            }
            && !wanted.without.contains(&plant.id)
    };
    let mut plants: Vec<&Genotype> = match wanted.group {
        Group::None => Vec::new(),
        Group::Family(family) => project.progeny_of(family).filter(of_group).collect(),
        _ => project.genotypes().iter().filter(of_group).collect(),
    };
    if wanted.by_place {
        plants.sort_by_cached_key(|plant| {
            let nowhere = plant.location.trim().is_empty();
            (nowhere, parts(&plant.location), parts(&plant.code))
        });
    } else {
        plants.sort_by_cached_key(|plant| parts(&plant.code));
    }
    let mut rows: Vec<_> = plants.into_iter().map(|plant| plant.id).collect();
    let mut there: std::collections::HashSet<_> = rows.iter().copied().collect();
    let known = |id: &&Id<Genotype>| project.genotypes().contains(**id);
    let added = wanted.also.iter().filter(known).copied();
    rows.extend(added.filter(|id| there.insert(*id)));
    rows
}
