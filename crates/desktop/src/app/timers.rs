//! The timers of the bench, at the foot of every screen while any runs.

use super::App;
use crate::timers::{Answer, Timer, clock_words};
use egui::{
    Button, Context, Frame, Margin, Panel, RichText, Role, Ui, UserAttentionType, ViewportCommand,
    WidgetInfo, vec2,
};
use kit::theme::{Meaning, space, strong, tokens, type_size};
use std::time::Duration;

impl App {
    /// Rings if a time is over, and asks for the frame in which a clock shows otherwise. Also called while the window
    /// isn't drawn.
    pub fn tick(&mut self, ctx: &Context) {
        let now = ctx.input(|input| input.time);
        if self.timers.rings(now) {
            (self.bell)();
            ctx.send_viewport_cmd(ViewportCommand::RequestUserAttention(
                UserAttentionType::Critical,
            ));
        }
        if let Some(seconds) = self.timers.next_change(now) {
            ctx.request_repaint_after(Duration::from_secs_f64(seconds));
        }
    }

    pub(super) fn timers_ui(&mut self, ui: &mut Ui) {
        if self.timers.running().is_empty() {
            return;
        }
        let now = ui.input(|input| input.time);
        let frame = Frame::new()
            .fill(tokens(ui).surface)
            .inner_margin(Margin::symmetric(space::L as i8, space::XS as i8));
        let mut answered = None;
        Panel::bottom("timers").frame(frame).show(ui, |ui| {
            for (place, timer) in self.timers.running().iter().enumerate() {
                if let Some(answer) = ui
                    .push_id(("timer", place), |ui| timer_ui(ui, timer, now))
                    .inner
                {
                    answered = Some((place, answer));
                }
            }
        });
        if let Some((place, answer)) = answered {
            self.timers.answer(place, answer, now);
            ui.request_repaint();
        }
    }
}

fn timer_ui(ui: &mut Ui, timer: &Timer, now: f64) -> Option<Answer> {
    let over = timer.is_over(now);
    let meaning = match (over, timer.is_held()) {
        (true, _) => Meaning::Danger,
        (false, true) => Meaning::Soon,
        (false, false) => Meaning::Good,
    };
    let pair = tokens(ui).meaning(meaning);
    let mut answer = None;
    Frame::new()
        .fill(pair.fill)
        .inner_margin(Margin::symmetric(space::M as i8, space::XS as i8))
        .show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.set_min_size(vec2(ui.available_width(), space::BENCH_TARGET));
                let words = clock_words(timer.left(now));
                let text = strong(format!("{} {words}", meaning.mark()))
                    .size(type_size::TIMER)
                    .color(pair.text);
                let clock = ui.label(text);
                clock.widget_info(|| {
                    let state = if over {
                        "time is over"
                    } else if timer.is_held() {
                        "held"
                    } else {
                        "left"
                    };
                    WidgetInfo::labeled(
                        Role::Timer,
                        true,
                        format!("{}: {words} {state}", timer.step().name),
                    )
                });
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    let button = |ui: &mut Ui, words: &str| {
                        let size = vec2(space::BENCH_TARGET, space::BENCH_TARGET - space::S);
                        let response = ui.add(Button::new(strong(words)).min_size(size));
                        response.clicked()
                    };
                    if button(ui, "Stop the timer") {
                        answer = Some(Answer::Stop);
                    }
                    if button(ui, "1 minute more") {
                        answer = Some(Answer::Longer);
                    }
                    if !over && button(ui, if timer.is_held() { "Go on" } else { "Hold" }) {
                        answer = Some(Answer::Hold);
                    }
                    let next = match timer.next_step() {
                        Some(next) => format!("Next: {}", next.name),
                        None => "Done".to_owned(),
                    };
                    if button(ui, &next) {
                        answer = Some(Answer::Next);
                    }
                    ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
                        let (nth, of) = timer.place();
                        let what = if over {
                            format!("Time is over: {}", timer.step().name)
                        } else {
                            format!("{} ({nth} of {of})", timer.step().name)
                        };
                        ui.add(
                            egui::Label::new(
                                RichText::new(what)
                                    .size(type_size::HEADING)
                                    .color(pair.text),
                            )
                            .truncate(),
                        );
                    });
                });
            });
        });
    answer
}
