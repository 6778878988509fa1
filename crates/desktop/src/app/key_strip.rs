//! The strip at the foot: the keys of this page at the left, what just happened at the right, in room that is always
//! kept for it, so that nothing moves when it comes or goes.

use super::App;
use super::notice::Action;
use super::outside::OutsideChange;
use crate::command::Command;
use crate::view::Screen;
use egui::{
    Align, Button, Frame, Layout, Panel, Rect, RichText, Role, Stroke, Ui, UiBuilder, WidgetInfo,
    pos2, vec2,
};
use kit::fonts::mark;
use kit::page_keys;
use kit::state_mark::StateMark;
use kit::theme::{self, Meaning, radius, space, tokens, type_size};
use kit::widgets::{key_hint, key_hint_width};

/// Keys and what they do.
type Keys = (Vec<&'static str>, String);

impl App {
    pub(super) fn key_strip_ui(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(tokens(ui).sunken);
        let mut act = None;
        let mut settled = false;
        let told = self.told_outside(ui.ctx());
        let fading = self.fade_notice(ui);
        Panel::bottom("key strip")
            .exact_size(space::KEY_STRIP)
            .frame(frame)
            .show_separator_line(false)
            .show(ui, |ui| {
                let whole = ui.max_rect();
                ui.painter().hline(
                    whole.x_range(),
                    whole.top() + 0.5,
                    Stroke::new(1.0, tokens(ui).ink),
                );
                let split = whole.left() + whole.width() * 0.56;
                let keys = Rect::from_min_max(
                    pos2(whole.left() + space::L, whole.top()),
                    pos2(split, whole.bottom()),
                );
                let layout = Layout::left_to_right(Align::Center);
                let mut left = ui.new_child(UiBuilder::new().max_rect(keys).layout(layout));
                left.set_clip_rect(keys.intersect(ui.clip_rect()));
                left.spacing_mut().item_spacing.x = space::L;
                if let Some(told) = told.as_ref().filter(|told| told.is_pressing) {
                    settled = told_ui(&mut left, told);
                } else if self.asks_for_name() {
                    self.signing_ui(&mut left);
                } else if let Some(told) = &told {
                    settled = told_ui(&mut left, told);
                } else {
                    for (names, does) in self.keys(ui.ctx()) {
                        if left.available_width() < key_hint_width(&left, &names, &does) {
                            break;
                        }
                        key_hint(&mut left, &names, &does);
                    }
                }
                let notices = Rect::from_min_max(
                    pos2(split + space::S, whole.top()),
                    pos2(whole.right() - space::S, whole.bottom()),
                );
                let layout = Layout::right_to_left(Align::Center);
                let mut right = ui.new_child(UiBuilder::new().max_rect(notices).layout(layout));
                right.set_opacity(fading);
                act = self.notice_ui(&mut right);
            });
        if let Some(told) = told.filter(|_| settled) {
            self.settle_outside(&told, &ui.ctx().clone());
        }
        match act {
            Some(Answer::Do(Action::Undo)) => self.run(&ui.ctx().clone(), Command::Undo),
            Some(Answer::Do(Action::Overwrite)) => self.overwrite(&ui.ctx().clone()),
            Some(Answer::Close) => self.notice = None,
            None => {}
        }
    }

    /// How much of the notice is left to see. One that has faded is gone.
    fn fade_notice(&mut self, ui: &Ui) -> f32 {
        let (now, pointer) = ui.input(|input| (input.time, input.pointer.hover_pos()));
        let foot = ui.max_rect().bottom() - space::KEY_STRIP;
        let half = ui.max_rect().center().x;
        let held = pointer.is_some_and(|at| at.y > foot && at.x > half);
        let Some(notice) = &mut self.notice else {
            return 1.0;
        };
        let (left, again) = notice.left(now, held);
        if left <= 0.0 {
            self.notice = None;
            return 1.0;
        }
        if let Some(seconds) = again {
            let seconds = std::time::Duration::from_secs_f64(seconds);
            ui.ctx().request_repaint_after(seconds);
        }
        left
    }

    fn notice_ui(&self, ui: &mut Ui) -> Option<Answer> {
        let Some(notice) = &self.notice else {
            if self.open.is_none() {
                ui.label(
                    theme::muted(
                        ui,
                        "Works without a network. Your records stay in one file of yours.",
                    )
                    .small(),
                );
            }
            return None;
        };
        // Nothing is called done that isn't on the disk.
        let unkept = notice.not_on_disk().filter(|_| {
            let open = self.open.as_ref();
            open.is_some_and(|open| open.file().trouble().is_some())
        });
        let notice = unkept.as_ref().unwrap_or(notice);
        let colours = tokens(ui);
        let mut answer = None;
        ui.spacing_mut().item_spacing.x = space::XS;
        let small = |text: &str| RichText::new(text).size(type_size::SMALL);
        let close = ui.add(
            Button::new(small(mark::TIMES))
                .frame(false)
                .min_size(vec2(24.0, 24.0)),
        );
        close.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Put notice away"));
        if close.clicked() {
            answer = Some(Answer::Close);
        }
        if let Some(action) = notice.action {
            let word = match action {
                Action::Undo => "Undo",
                Action::Overwrite => "Save over it",
            };
            let text = RichText::new(word)
                .font(theme::bold(type_size::SMALL))
                .underline();
            let button = Button::new(text).frame(false).min_size(vec2(44.0, 24.0));
            if ui.add(button).clicked() {
                answer = Some(Answer::Do(action));
            }
        }
        let (sign, ink, ground) = match notice.meaning {
            Meaning::Plain | Meaning::Soon => (None, colours.ink, None),
            Meaning::Good => (Some(StateMark::Good), colours.ink, Some(colours.good.fill)),
            Meaning::Late => (
                Some(StateMark::Late),
                colours.late.text,
                Some(colours.late.fill),
            ),
            Meaning::Danger => (
                Some(StateMark::Danger),
                colours.danger.text,
                Some(colours.danger.fill),
            ),
        };
        let words = small(&notice.text).color(ink);
        let ground_frame = Frame::new()
            .fill(ground.unwrap_or(egui::Color32::TRANSPARENT))
            .corner_radius(radius::SMALL)
            .inner_margin(egui::Margin::symmetric(space::S as i8, 3));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let shown = ground_frame.show(ui, |ui| {
                ui.spacing_mut().item_spacing.x = space::XS;
                let label = ui.add(egui::Label::new(words).truncate());
                label.widget_info(|| WidgetInfo::labeled(Role::Status, true, &notice.text));
                let label = label.on_hover_text(&notice.text);
                if let Some(sign) = sign {
                    let (rect, _) = ui.allocate_exact_size(vec2(12.0, 12.0), egui::Sense::hover());
                    let ink = if sign == StateMark::Danger {
                        ink
                    } else {
                        sign.ink(colours)
                    };
                    ui.painter()
                        .extend(sign.shapes(rect.center(), 11.0, ink, colours.sunken));
                }
                label
            });
            shown.response
        });
        answer
    }

    /// The keys of the page that is shown: those it declares, and those of every page.
    fn keys(&self, ctx: &egui::Context) -> Vec<Keys> {
        let fixed = |keys: &[&'static str], does: &str| (keys.to_vec(), does.to_owned());
        if self.open.is_none() {
            return vec![
                fixed(&["Ctrl+N"], "new"),
                fixed(&["Ctrl+O"], "open"),
                fixed(&["F1"], "help"),
            ];
        }
        let mut keys: Vec<Keys> = page_keys::shown(ctx)
            .into_iter()
            .map(|each| (each.key.split(' ').collect(), each.does))
            .collect();
        if keys.is_empty() {
            keys = match self.screens.current {
                Screen::FamilyTree => vec![fixed(&["↑", "↓", "←", "→"], "move")],
                _ => vec![fixed(&["↑", "↓"], "row"), fixed(&["Enter"], "open")],
            };
        }
        keys.push(fixed(&["Ctrl+Z"], "undo"));
        keys.push(fixed(&["Ctrl+F"], "find a code"));
        keys.push(fixed(&["[", "]"], "day before, after"));
        if !self.working_day().is_today() {
            keys.push(fixed(&["."], "back to today"));
        }
        keys
    }
}

/// What others did to the file, in the room of the keys; true when its button was clicked.
fn told_ui(ui: &mut Ui, told: &OutsideChange) -> bool {
    let pair = tokens(ui).meaning(Meaning::Soon);
    ui.painter().rect_filled(ui.max_rect(), 0.0, pair.fill);
    ui.spacing_mut().item_spacing.x = space::S;
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let text = RichText::new(told.button).font(theme::bold(type_size::SMALL));
        let clicked = ui
            .add(Button::new(text).min_size(vec2(44.0, 24.0)))
            .clicked();
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            let text = format!("{} {}", Meaning::Soon.mark(), told.words);
            let text = RichText::new(text).size(type_size::SMALL).color(pair.text);
            let label = ui.add(egui::Label::new(text).truncate());
            label.widget_info(|| WidgetInfo::labeled(Role::Status, true, &told.whole));
            label.on_hover_text(&told.whole);
        });
        clicked
    })
    .inner
}

/// What a person did with a notice.
enum Answer {
    Do(Action),
    Close,
}
