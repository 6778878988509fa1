//! A freeze, or days of warmth, told as the loud thing wherever its seed is looked at: on the pages of the box, the
//! batch, the lot and the cross, and on Today, in the same words.

use crate::view::{Outbox, Request, View};
use domain::temperature::Harm;
use domain::{ChillBatch, ChillBox, Cross, Id, LotSource, SeedLot};
use egui::Ui;
use kit::widgets::{alarm, past_alarm};

/// On the page of a box.
pub(super) fn of_box(ui: &mut Ui, view: &View<'_>, chill_box: &ChillBox, out: &mut Outbox<'_>) {
    tell(ui, view, out, |each| each.id == chill_box.id);
}

/// On the page of a batch.
pub(super) fn of_batch(ui: &mut Ui, view: &View<'_>, batch: Id<ChillBatch>, out: &mut Outbox<'_>) {
    tell(ui, view, out, |each| each.batch == batch);
}

/// On the page of a lot.
pub(super) fn of_lot(ui: &mut Ui, view: &View<'_>, lot: Id<SeedLot>, out: &mut Outbox<'_>) {
    tell(ui, view, out, |each| each.lot == lot);
}

/// On the page of a cross: harm to seed of any of its lots.
pub(super) fn of_cross(ui: &mut Ui, view: &View<'_>, cross: Id<Cross>, out: &mut Outbox<'_>) {
    tell(ui, view, out, |each| {
        let lot = view.project.seed_lots().get(each.lot);
        lot.is_some_and(|lot| lot.source == LotSource::Cross(cross))
    });
}

/// On Today: what nobody has seen to yet.
pub(super) fn today(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    for harm in harms(ui, view).iter().filter(|harm| !harm.answered) {
        loud(ui, view, harm, &|_| true, out);
    }
}

fn harms(ui: &Ui, view: &View<'_>) -> std::sync::Arc<[Harm]> {
    view.derived.harms(view.project, view.today, ui.ctx())
}

fn tell(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>, is_here: impl Fn(&ChillBox) -> bool) {
    for harm in harms(ui, view).iter() {
        let boxes = view.project.chill_boxes();
        let touches = |id: &Id<ChillBox>| boxes.get(*id).is_some_and(&is_here);
        if !harm.boxes.iter().any(touches) {
            continue;
        }
        if harm.answered {
            let words = format!("{}: {}", title(view, harm, &is_here), what(view, harm));
            past_alarm(ui, &words);
        } else {
            loud(ui, view, harm, &is_here, out);
        }
    }
}

/// What froze: 'Frozen: boxes C-14 and C-15 of Chill A-26'.
fn title(view: &View<'_>, harm: &Harm, is_here: &dyn Fn(&ChillBox) -> bool) -> String {
    format!(
        "{}: {} of {}",
        harm.word(),
        harm.box_codes(view.project, is_here),
        view.project.code_of(harm.batch)
    )
}

fn what(view: &View<'_>, harm: &Harm) -> String {
    harm.advice
        .what_with(|celsius| view.preferences.temperature.show(celsius))
}

fn loud(
    ui: &mut Ui,
    view: &View<'_>,
    harm: &Harm,
    is_here: &dyn Fn(&ChillBox) -> bool,
    out: &mut Outbox<'_>,
) {
    let title = title(view, harm, is_here);
    let what = what(view, harm);
    let remedy = format!("What to do: {}", harm.advice.remedy);
    let seen_to = "Boxes looked at, counts kept apart";
    let acts: &[&str] = if view.read_only.is_none() {
        &[seen_to, "Show its temperatures"]
    } else {
        &["Show its temperatures"]
    };
    let pressed = ui
        .push_id(("harm", harm.batch), |ui| {
            alarm(ui, &title, &[&what, &remedy], acts)
        })
        .inner;
    match pressed.and_then(|nth| acts.get(nth)) {
        Some(&act) if act == seen_to => {
            let edit = harm.answer(view.today, &view.preferences.who, out.ids);
            out.act(ui, "seen to", harm.batch, edit);
        }
        Some(_) => out.ask(Request::ShowTemperatures(harm.batch)),
        None => {}
    }
}
