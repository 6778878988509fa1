//! Planning the season's crosses: what is wanted, which pairs can bring it, how many seeds it takes, the plan and its
//! dates, and where it leads.

use crate::view::{Outbox, Request, Screen, View};
use domain::planning::Season;
use domain::{AnyId, Genotype, Id, Project};
use egui::Ui;
use kit::theme::{Meaning, muted, space};
use kit::widgets::{badge, empty_state, heading, segmented};
use kit::worker::Latest;

mod ahead;
mod compare;
mod dates;
mod funnel;
mod goals;
mod own_score;
mod pair;
mod pairs;
mod plan;
mod seeds;
mod why;

/// A female and the male whose pollen she gets.
type Pair = (Id<Genotype>, Id<Genotype>);

/// What the planning screen remembers between frames.
#[derive(Default)]
pub struct State {
    page: Page,
    pairs: pairs::State,
    seeds: seeds::State,
    plan: plan::State,
    ahead: ahead::State,
}

/// A page of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Page {
    #[default]
    Goals,
    Pairs,
    Seeds,
    Plan,
    Dates,
    Ahead,
    OwnScore,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Season plan");
        ui.add_space(space::M);
        let pages = [
            (Page::Goals, "Goals"),
            (Page::Pairs, "Pairs"),
            (Page::Seeds, "How many seeds"),
            (Page::Plan, "Plan"),
            (Page::Dates, "Dates"),
            (Page::Ahead, "Look ahead"),
            (Page::OwnScore, "Own score"),
        ];
        segmented(ui, "Page", &mut state.page, &pages);
        kit::page_keys::turns(ui, &mut state.page, &pages);
        // In the line of the heading: a line of its own would move what a person is about to click.
        if state.page != Page::Goals && is_earlier(ui, view) {
            badge(ui, Meaning::Soon, "of an earlier state");
        }
    });
    if view.project.genotypes().is_empty() {
        let sentence = "Once a year it is decided which female meets which pollen, how many seeds to sow, and by when. Three founders are enough to begin: add the plants you may cross.";
        if empty_state(ui, sentence, "Go to the plants") {
            out.ask(Request::Go(Screen::Plants));
        }
        return;
    }
    match state.page {
        Page::Goals => goals::show(ui, view, out),
        Page::Pairs => with_season(ui, view, |ui, season| {
            if let Some(pair) = pairs::show(ui, view, &mut state.pairs, season, out) {
                state.seeds.choose(pair);
                state.page = Page::Seeds;
            }
        }),
        Page::Seeds => with_season(ui, view, |ui, season| {
            let chosen = state.pairs.only_selected();
            seeds::show(ui, view, &mut state.seeds, season, chosen, out);
        }),
        Page::Plan => with_season(ui, view, |ui, season| {
            plan::show(ui, view, &mut state.plan, season, out);
        }),
        Page::Dates => with_season(ui, view, |ui, season| {
            dates::show(ui, view, &mut state.plan, season, out);
        }),
        Page::Ahead => with_season(ui, view, |ui, season| {
            // Two strategies and what came of both: a table that is moved sideways where it doesn't fit.
            kit::widgets::with_room(ui, "look ahead", egui::vec2(760.0, 300.0), |ui| {
                ahead::show(ui, view, &mut state.ahead, season, out);
            });
        }),
        Page::OwnScore => own_score::show(ui, view),
    }
}

/// Brings a record into view: the screen is about all plants, and holds none.
pub fn reveal(_state: &mut State, _project: &Project, _id: AnyId) {}

/// Whether the pairs shown are those of an earlier state of the project, while new ones are worked out.
fn is_earlier(ui: &Ui, view: &View<'_>) -> bool {
    let (planning, genetics) = (view.derived.planning(), view.derived.genetics());
    let season = planning.season(genetics, view.project, view.today, ui.ctx());
    season.is_some_and(|season| !season.current)
}

/// Draws what needs the pairs, or how far they are.
fn with_season(ui: &mut Ui, view: &View<'_>, draw: impl FnOnce(&mut Ui, &Latest<Season>)) {
    let planning = view.derived.planning();
    let genetics = view.derived.genetics();
    if let Some(season) = planning.season(genetics, view.project, view.today, ui.ctx()) {
        draw(ui, &season);
        return;
    }
    ui.add_space(space::XL);
    let words = planning.progress().map(|progress| progress.words);
    let words = words.filter(|words| !words.is_empty());
    ui.label(muted(
        ui,
        format!("Being worked out. {}", words.unwrap_or_default()),
    ));
}
