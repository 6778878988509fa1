//! The native window around [`App`].

use commands::Start;
use desktop::app::{App, Places};
use desktop::dialogs;
use desktop::preferences::Preferences;
use directories::ProjectDirs;
use eframe::egui::{self, ViewportBuilder, ViewportCommand};
use kit::bell;
use kit::dates::DayOrder;
use std::path::PathBuf;
use store::{Earlier, Store};

/// Opens the window and stays until it is closed. An error is a sentence.
pub(crate) fn open(start: Start) -> Result<(), String> {
    let own = ProjectDirs::from("", "", "Binewright");
    let places = Places {
        preferences: own
            .as_ref()
            .map(|own| own.config_dir().join("preferences.json")),
        samples: own.as_ref().map_or_else(
            || PathBuf::from("."),
            |own| own.data_local_dir().join("samples"),
        ),
    };
    let preferences = places
        .preferences
        .as_deref()
        .map(Preferences::read)
        .unwrap_or_default();
    let icon = eframe::icon_data::from_png_bytes(include_bytes!("../../../assets/icon.png"))
        .unwrap_or_default();
    let options = eframe::NativeOptions {
        viewport: ViewportBuilder::default()
            .with_title("Binewright")
            .with_app_id("binewright")
            .with_icon(icon)
            .with_inner_size([1280.0, 800.0])
            .with_min_inner_size([960.0, 600.0]),
        renderer: eframe::Renderer::Glow,
        // Every machine draws with the fonts that are bundled.
        system_font_fallback: false,
        ..Default::default()
    };
    let made = eframe::run_native(
        "binewright",
        options,
        Box::new(move |creation| {
            let mut app = App::new(
                preferences,
                places,
                dialogs::native(),
                Box::new(commands::today),
            );
            app.ring_with(bell::of_this_machine(|path, sound| {
                let store = Store::new("");
                store.write_file(path, sound, &[], Earlier::Drop).is_ok()
            }));
            app.install_theme(&creation.egui_ctx);
            let locale = sys_locale::get_locale().unwrap_or_default();
            DayOrder::of_locale(&locale).install(&creation.egui_ctx);
            match start {
                Start::Welcome => {}
                Start::File(path) => app.open_path(&path),
                Start::Sample => app.open_sample(),
            }
            Ok(Box::new(Window(app)))
        }),
    );
    made.map_err(|error| {
        let why = if has_display() {
            error.to_string()
        } else {
            "no display is available".to_owned()
        };
        format!(
            "no window can be opened here: {why}. 'binewright --help' lists what works without one."
        )
    })
}

/// Whether a display is named, on systems where one must be.
fn has_display() -> bool {
    let named = |variable| std::env::var_os(variable).is_some_and(|value| !value.is_empty());
    !cfg!(target_os = "linux")
        || named("DISPLAY")
        || named("WAYLAND_DISPLAY")
        || named("WAYLAND_SOCKET")
}

/// [`App`] as the framework wants it.
struct Window(App);

impl eframe::App for Window {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        // Also while the window is hidden: a time may be over.
        self.0.tick(ctx);
        let close = ctx.input(|input| input.viewport().close_requested());
        if close && !self.0.may_close(ctx) {
            // What is typed is recorded first; or it could not be saved, and the notice says why.
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
        }
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        self.0.show(ui);
    }
}
