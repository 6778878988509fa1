//! A window that shows every widget of the kit in its states: `cargo run -p kit --example gallery -- [light|dark] [page]`.

#[path = "gallery/page.rs"]
mod page;

use kit::theme::Theme;
use page::{Gallery, Page};

fn main() -> eframe::Result {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let theme = if words.iter().any(|word| word == "dark") {
        Theme::Dark
    } else {
        Theme::Light
    };
    let page = Page::ALL
        .into_iter()
        .find(|(_, name)| words.iter().any(|word| word == name))
        .map(|(page, _)| page);
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default().with_inner_size([1280.0, 720.0]),
        renderer: eframe::Renderer::Glow,
        system_font_fallback: false,
        ..eframe::NativeOptions::default()
    };
    eframe::run_native(
        "Widget gallery",
        options,
        Box::new(move |cc| {
            theme.apply(&cc.egui_ctx);
            Ok(Box::new(App(Gallery::new(page.unwrap_or(Page::Table)))))
        }),
    )
}

struct App(Gallery);

impl eframe::App for App {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        self.0.show(ui);
    }
}
