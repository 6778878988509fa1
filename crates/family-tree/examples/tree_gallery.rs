//! Shows the family tree of an invented program: `tree_gallery [plants] [light|dark] [code to focus]`, or
//! `tree_gallery [plants] svg` to write the drawing as SVG to the standard output.
#![expect(clippy::print_stdout, reason = "an example for the command line")]

#[path = "support/pedigree.rs"]
mod pedigree;

use eframe::egui;
use family_tree::{Extract, FamilyGraph, FamilyTree, Layout, Scope, Sizes, TreeState, to_svg};
use kit::theme::Theme;

struct Gallery {
    graph: FamilyGraph,
    state: TreeState,
}

impl eframe::App for Gallery {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        egui::CentralPanel::default().show(ui, |ui| {
            FamilyTree::new(&self.graph).show(ui, &mut self.state);
        });
    }
}

fn main() -> eframe::Result {
    let mut arguments = std::env::args().skip(1);
    let count = arguments
        .next()
        .and_then(|count| count.parse().ok())
        .unwrap_or(40);
    let how = arguments.next().unwrap_or_default();
    let graph = FamilyGraph::new(pedigree::program(count));
    if how == "svg" {
        let extract = Extract::new(&graph, &Scope::default());
        let layout = Layout::new(&extract, Sizes::fitting(&graph));
        print!("{}", to_svg(&graph, &extract, &layout));
        return Ok(());
    }
    let mut state = TreeState::default();
    if let Some(code) = arguments.next()
        && let Some(plant) = graph.plants().iter().find(|plant| plant.code == code)
    {
        state.set_focus(plant.key);
    }
    eframe::run_native(
        "Family tree",
        eframe::NativeOptions::default(),
        Box::new(move |context| {
            let theme = if how == "dark" {
                Theme::Dark
            } else {
                Theme::Light
            };
            theme.apply(&context.egui_ctx);
            Ok(Box::new(Gallery { graph, state }))
        }),
    )
}
