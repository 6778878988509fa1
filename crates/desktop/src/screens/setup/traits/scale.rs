//! How a trait is expressed: its kind, and what belongs to that kind.

use super::derived;
use crate::screens::fields::choice;
use crate::screens::text_field::text_field_sized;
use crate::view::{Outbox, View};
use domain::record::observation::{ObservationField, TraitField};
use domain::{Edit, Level, Scale, Trait, Value};
use egui::Ui;
use kit::drafts::Ticket;
use kit::theme::muted;
use kit::widgets::{NumberField, form_row};

/// The kinds of scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum ScaleKind {
    Score,
    Classes,
    Number,
    Measure,
    Date,
    YesNo,
    Text,
    Derived,
}

impl ScaleKind {
    const ALL: [(Self, &'static str); 8] = [
        (Self::Score, "scores"),
        (Self::Classes, "classes in an order"),
        (Self::Number, "a count"),
        (Self::Measure, "a measurement"),
        (Self::Date, "a date"),
        (Self::YesNo, "yes or no"),
        (Self::Text, "words"),
        (Self::Derived, "calculated from others"),
    ];

    const fn of(scale: &Scale) -> Self {
        match scale {
            Scale::Score { .. } => Self::Score,
            Scale::Classes { .. } => Self::Classes,
            Scale::Number => Self::Number,
            Scale::Measure { .. } => Self::Measure,
            Scale::Date => Self::Date,
            Scale::YesNo => Self::YesNo,
            Scale::Text => Self::Text,
            Scale::Derived { .. } => Self::Derived,
        }
    }
}

/// Draws the kind of a trait of which `seen` values are recorded, and what belongs to it.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, each: &Trait, seen: usize, out: &mut Outbox<'_>) {
    let was = ScaleKind::of(&each.scale);
    let mut kind = was;
    let fresh_rule = derived::fresh(view, each);
    let kinds: Vec<_> = ScaleKind::ALL
        .into_iter()
        .filter(|(kind, _)| *kind != ScaleKind::Derived || *kind == was || fresh_rule.is_some())
        .map(|(kind, words)| (kind, words.to_owned()))
        .collect();
    form_row(ui, "Kind", |ui| {
        ui.horizontal(|ui| {
            // All kinds are seen at once.
            ui.spacing_mut().combo_height = 320.0;
            if choice(ui, &format!("Kind of {}", each.name), &mut kind, &kinds) {
                let scale = fresh(kind, fresh_rule);
                let edit = Edit::set(each.id, TraitField::Scale(scale));
                out.act(ui, "scale", each.id, edit);
            }
            if seen > 0 {
                let words = format!(
                    "{seen} values are recorded. They stay as they are: a kind that can't hold them is refused."
                );
                ui.add(egui::Label::new(muted(ui, words)).wrap());
            }
        });
    });
    if kind != was {
        return;
    }
    match &each.scale {
        Scale::Score { .. } => score_ui(ui, each, out),
        Scale::Classes { classes } => classes_ui(ui, view, each, classes, out),
        Scale::Measure { .. } => measure_ui(ui, each, seen, out),
        Scale::Derived { rule } => derived::show(ui, view, each, rule, out),
        Scale::Number | Scale::Date | Scale::YesNo | Scale::Text => {}
    }
}

/// A scale of a kind to begin with.
fn fresh(kind: ScaleKind, rule: Option<domain::Rule>) -> Scale {
    match (kind, rule) {
        (ScaleKind::Derived, Some(rule)) => Scale::Derived { rule },
        (ScaleKind::Classes, _) => Scale::Classes {
            classes: ["low", "middle", "high"].map(str::to_owned).to_vec(),
        },
        (ScaleKind::Number, _) => Scale::Number,
        (ScaleKind::Measure, _) => Scale::measure("g"),
        (ScaleKind::Date, _) => Scale::Date,
        (ScaleKind::YesNo, _) => Scale::YesNo,
        (ScaleKind::Text, _) => Scale::Text,
        (ScaleKind::Score | ScaleKind::Derived, _) => Scale::one_to_nine("least", "most"),
    }
}

/// Words are offered for each score of a scale with so many at most.
const MOST_WORDS: i32 = 12;

fn score_ui(ui: &mut Ui, each: &Trait, out: &mut Outbox<'_>) {
    let mut scale = each.scale.clone();
    let name = &each.name;
    let Scale::Score {
        from,
        to,
        low,
        high,
        between,
    } = &mut scale
    else {
        return;
    };
    let mut changed = None;
    form_row(ui, "Scores", |ui| {
        ui.horizontal(|ui| {
            ui.label(muted(ui, "from"));
            let said = score_end(ui, &format!("Lowest score of {name}"), from);
            changed = changed.take().or(said);
            ui.label(muted(ui, "to"));
            let said = score_end(ui, &format!("Highest score of {name}"), to);
            changed = changed.take().or(said);
        });
    });
    let few = to.saturating_sub(*from) <= MOST_WORDS;
    let named: Vec<i32> = if few {
        (*from..=*to).collect()
    } else {
        vec![*from, *to]
    };
    form_row(ui, "Words", |ui| {
        // As many in a line as there is room for whole.
        let in_line = ((ui.available_width() / 136.0) as usize).max(1);
        for line in named.chunks(in_line) {
            ui.horizontal(|ui| {
                for &score in line {
                    let word = if score == *from {
                        low.clone()
                    } else if score == *to {
                        high.clone()
                    } else {
                        let level = between.iter().find(|each| each.score == score);
                        level.map_or_else(String::new, |each| each.word.clone())
                    };
                    ui.label(score.to_string());
                    let field = format!("What {score} of {name} means");
                    let Some((word, ticket)) = text_field_sized(ui, &field, &word, 96.0) else {
                        continue;
                    };
                    changed = Some(ticket);
                    if score == *from {
                        *low = word;
                    } else if score == *to {
                        *high = word;
                    } else {
                        between.retain(|each| each.score != score);
                        if !word.is_empty() {
                            between.push(Level { score, word });
                            between.sort_by_key(|each| each.score);
                        }
                    }
                }
            });
        }
    });
    if let Some(ticket) = changed {
        out.submit(ticket, Edit::set(each.id, TraitField::Scale(scale)));
    }
}

fn score_end(ui: &mut Ui, name: &str, value: &mut i32) -> Option<Ticket> {
    let mut number = f64::from(*value);
    let changed = NumberField::new(name, "")
        .range(-1000.0..=1000.0)
        .decimals(0)
        .width(40.0)
        .show(ui, &mut number)
        .ticket;
    *value = number as i32;
    changed
}

/// The classes in a line. One that is only called otherwise is so in what is recorded too.
fn classes_ui(
    ui: &mut Ui,
    view: &View<'_>,
    each: &Trait,
    classes: &[String],
    out: &mut Outbox<'_>,
) {
    form_row(ui, "Classes", |ui| {
        let shown = classes.join(" < ");
        let field = format!("Classes of {}, lowest first", each.name);
        let Some((line, ticket)) = text_field_sized(ui, &field, &shown, 420.0) else {
            return;
        };
        let new: Vec<String> = line
            .split(['<', ',', ';'])
            .map(|class| class.trim().to_owned())
            .filter(|class| !class.is_empty())
            .collect();
        out.submit(ticket, rename(view, each, classes, &new));
    });
    ui.label(muted(ui, "Lowest first, with < between them."));
}

fn rename(view: &View<'_>, each: &Trait, old: &[String], new: &[String]) -> Edit {
    let scale = Scale::Classes {
        classes: new.to_vec(),
    };
    let mut edits = vec![Edit::set(each.id, TraitField::Scale(scale))];
    let same_words = |one: &str, other: &str| one.to_lowercase() == other.to_lowercase();
    // The same classes in another order are a new order, not new names.
    let moved = |class: &String| new.iter().any(|other| same_words(other, class));
    if old.len() == new.len() {
        for seen in view.project.observations_of_trait(each.id) {
            let Value::Class { class } = &seen.value else {
                continue;
            };
            let place = old.iter().position(|other| same_words(other, class));
            if let Some(place) = place
                && !moved(class)
            {
                let class = new[place].clone();
                let value = ObservationField::Value(Value::Class { class });
                edits.push(Edit::set(seen.id, value));
            }
        }
    }
    Edit::all(format!("change the classes of {}", each.name), edits)
}

fn measure_ui(ui: &mut Ui, each: &Trait, seen: usize, out: &mut Outbox<'_>) {
    let mut scale = each.scale.clone();
    let name = &each.name;
    let Scale::Measure {
        unit,
        at_least,
        at_most,
    } = &mut scale
    else {
        return;
    };
    let mut changed = None;
    form_row(ui, "Unit", |ui| {
        ui.horizontal(|ui| {
            if let Some((new, ticket)) =
                text_field_sized(ui, &format!("Unit of {name}"), unit, 80.0)
            {
                *unit = new;
                changed = Some(ticket);
            }
            if seen > 0 {
                ui.label(muted(ui, "Another unit doesn't convert what is recorded."));
            }
        });
    });
    form_row(ui, "Bounds", |ui| {
        ui.horizontal(|ui| {
            for (words, field, bound) in [
                ("from", format!("Lowest {name} there can be"), at_least),
                ("to", format!("Highest {name} there can be"), at_most),
            ] {
                ui.label(muted(ui, words));
                let field = NumberField::new(&field, "").width(80.0);
                let said = field.show_optional(ui, bound).ticket;
                changed = changed.take().or(said);
            }
            ui.label(muted(ui, "Empty: no bound."));
        });
    });
    if let Some(ticket) = changed {
        out.submit(ticket, Edit::set(each.id, TraitField::Scale(scale)));
    }
}
