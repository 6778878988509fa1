//! A trait that follows from others: by which rule, from which of them.

use crate::screens::fields::choice;
use crate::view::{Outbox, View};
use domain::record::observation::TraitField;
use domain::{Edit, Id, Rule, Scale, Trait};
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{NumberField, form_row};

/// The rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum NamedRule {
    Share,
    Ratio,
    StorageIndex,
    AtMoisture,
    PerArea,
}

impl NamedRule {
    const ALL: [(Self, &'static str); 5] = [
        (Self::Share, "share of a whole, %"),
        (Self::Ratio, "ratio"),
        (Self::StorageIndex, "hop storage index"),
        (Self::AtMoisture, "weight at a moisture"),
        (Self::PerArea, "content on an area"),
    ];

    const fn of(rule: &Rule) -> Self {
        match rule {
            Rule::Share { .. } => Self::Share,
            Rule::Ratio { .. } => Self::Ratio,
            Rule::StorageIndex { .. } => Self::StorageIndex,
            Rule::AtMoisture { .. } => Self::AtMoisture,
            Rule::PerArea { .. } => Self::PerArea,
        }
    }

    /// What its two traits are to it.
    const fn operands(self) -> [&'static str; 2] {
        match self {
            Self::Share => ["Part", "Whole"],
            Self::Ratio => ["Divided", "By"],
            Self::StorageIndex => ["A at 275 nm", "A at 325 nm"],
            Self::AtMoisture => ["Green weight", "Dry matter"],
            Self::PerArea => ["Yield", "Content"],
        }
    }

    const fn formula(self) -> &'static str {
        match self {
            Self::Share => "100 × part / whole, both on one basis",
            Self::Ratio => "divided / by",
            Self::StorageIndex => "absorbance at 275 nm / absorbance at 325 nm (ASBC Hops-12)",
            Self::AtMoisture => "green weight × dry matter / (1 − moisture)",
            Self::PerArea => "yield × content, both brought to dry matter",
        }
    }

    const fn rule(self, [one, other]: [Id<Trait>; 2], moisture: f64) -> Rule {
        match self {
            Self::Share => Rule::Share {
                part: one,
                whole: other,
            },
            Self::Ratio => Rule::Ratio {
                over: one,
                under: other,
            },
            Self::StorageIndex => Rule::StorageIndex {
                at_275: one,
                at_325: other,
            },
            Self::AtMoisture => Rule::AtMoisture {
                green: one,
                dry_matter: other,
                moisture,
            },
            Self::PerArea => Rule::PerArea {
                of_yield: one,
                content: other,
            },
        }
    }
}

/// The traits that a rule of this one can take: those with numbers.
fn candidates(view: &View<'_>, own: &Trait) -> Vec<(Id<Trait>, String)> {
    let numeric = |each: &&Trait| {
        each.id != own.id
            && matches!(
                each.scale,
                Scale::Score { .. } | Scale::Number | Scale::Measure { .. } | Scale::Derived { .. }
            )
    };
    let all = view.project.traits().iter().filter(numeric);
    all.map(|each| (each.id, each.name.clone())).collect()
}

/// A rule to begin with; nothing while there aren't two traits to calculate from.
pub(super) fn fresh(view: &View<'_>, own: &Trait) -> Option<Rule> {
    let recorded = |(id, _): &&(Id<Trait>, String)| {
        let found = view.project.traits().get(*id);
        found.is_some_and(|each| !matches!(each.scale, Scale::Derived { .. }))
    };
    let all = candidates(view, own);
    let mut first = all.iter().filter(recorded).map(|(id, _)| *id);
    Some(NamedRule::Ratio.rule([first.next()?, first.next()?], 10.0))
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, each: &Trait, rule: &Rule, out: &mut Outbox<'_>) {
    let name = &each.name;
    let was = NamedRule::of(rule);
    let mut kind = was;
    let mut operands = rule.operands();
    let moisture = match rule {
        Rule::AtMoisture { moisture, .. } => *moisture,
        _ => 10.0,
    };
    let mut chosen = false;
    let rules = NamedRule::ALL.map(|(kind, words)| (kind, words.to_owned()));
    form_row(ui, "Rule", |ui| {
        chosen |= choice(ui, &format!("Rule of {name}"), &mut kind, &rules);
    });
    ui.label(muted(ui, kind.formula()));
    let all = candidates(view, each);
    for (words, operand) in kind.operands().into_iter().zip(&mut operands) {
        form_row(ui, words, |ui| {
            chosen |= choice(ui, &format!("{words} of {name}"), operand, &all);
        });
    }
    if chosen {
        let scale = Scale::Derived {
            rule: kind.rule(operands, moisture),
        };
        out.act(
            ui,
            "rule",
            each.id,
            Edit::set(each.id, TraitField::Scale(scale)),
        );
        return;
    }
    if was != NamedRule::AtMoisture {
        return;
    }
    form_row(ui, "Moisture", |ui| {
        let mut percent = moisture;
        let field = format!("Moisture of {name}");
        let field = NumberField::new(&field, "%").range(0.0..=99.0).width(60.0);
        if let Some(ticket) = field.show(ui, &mut percent).ticket {
            let scale = Scale::Derived {
                rule: was.rule(operands, percent),
            };
            out.submit(ticket, Edit::set(each.id, TraitField::Scale(scale)));
        }
    });
}
