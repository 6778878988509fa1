//! The bench sheet: what is to be opened, counted and moved on a day, with room for a pencil. Wet hands and a laptop
//! don't go together.

use chrono::NaiveDate;
use domain::agenda::{Item, ItemKind, ItemState, agenda};
use domain::cautions::{MOULD, box_had_mould};
use domain::date::{InWords as _, shift};
use domain::{ChillBox, Id, Project};
use exchange::report::{Cells, Report, Section};

/// The sheet of a day; nothing where nothing is due or late.
pub fn report(project: &Project, today: NaiveDate) -> Option<Report> {
    let items = agenda(project, shift(today, -400)..=today, today);
    let due: Vec<&Item> = items
        .iter()
        .filter(|item| matches!(item.state, ItemState::Late | ItemState::Due))
        .collect();
    let of = |kind: ItemKind| -> Vec<&Item> {
        let mut of: Vec<&Item> = due
            .iter()
            .copied()
            .filter(|item| item.kind == kind)
            .collect();
        of.sort_by_key(|item| (place(project, item), project.code_of(item.about).to_owned()));
        of
    };
    let sections = [
        checks(project, &of(ItemKind::CheckBox)),
        counts(project, &of(ItemKind::CountSprouts)),
        others(&due),
    ];
    let sections: Vec<Section> = sections.into_iter().flatten().collect();
    (!sections.is_empty()).then(|| Report {
        title: format!("Bench sheet of {}", today.in_words()),
        sections,
    })
}

/// Where the box of an item stands, so that the sheet goes shelf by shelf.
fn place(project: &Project, item: &Item) -> String {
    let chill_box = box_of(project, item).and_then(|id| project.chill_boxes().get(id));
    let batch = chill_box.and_then(|chill_box| project.chill_batches().get(chill_box.batch));
    batch.map(|batch| batch.place.clone()).unwrap_or_default()
}

fn box_of(project: &Project, item: &Item) -> Option<Id<ChillBox>> {
    item.about.typed().or_else(|| {
        let run = project.germinations().get(item.about.typed()?)?;
        Some(run.chill_box)
    })
}

fn checks(project: &Project, items: &[&Item]) -> Option<Section> {
    let boxes: Vec<Id<ChillBox>> = items.iter().filter_map(|item| item.about.typed()).collect();
    let mut sentences = vec![
        "Note what was found, and enter it for this day. In 'damp', ring what fits; the other columns count seeds.".to_owned(),
    ];
    if boxes
        .iter()
        .any(|&chill_box| box_had_mould(project, chill_box))
    {
        sentences.push(format!(
            "{}: {} First come {}.",
            MOULD.title, MOULD.text, MOULD.rules
        ));
    }
    let rows = items.iter().map(|item| {
        let last = box_of(project, item).and_then(|id| {
            let date = project.checks_of(id).map(|check| check.date).max();
            date.map(|date| date.to_string())
        });
        vec![
            project.code_of(item.about).to_owned(),
            place(project, item),
            last.unwrap_or_else(|| "none yet".into()),
            "dry · moist · wet".into(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
        ]
    });
    (!items.is_empty()).then(|| Section {
        heading: "Boxes to open".into(),
        sentences,
        table: Some(Cells {
            columns: vec![
                ("Box", false),
                ("Place", false),
                ("Last look", false),
                ("Damp", false),
                ("Mouldy out", false),
                ("Sprouted", false),
                ("Water", false),
                ("Remark", false),
            ],
            rows: rows.collect(),
            to_write_in: true,
        }),
        ..Section::default()
    })
}

fn counts(project: &Project, items: &[&Item]) -> Option<Section> {
    let rows = items.iter().map(|item| {
        let chill_box = box_of(project, item);
        let run = chill_box.and_then(|id| project.run_of(id));
        let up: u32 = run.map_or(0, |run| {
            project
                .counts_of(run.id)
                .map(|count| count.germinated)
                .fold(0, u32::saturating_add)
        });
        vec![
            chill_box.map_or("", |id| project.code_of(id)).to_owned(),
            up.to_string(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
        ]
    });
    (!items.is_empty()).then(|| Section {
        heading: "To be counted in warmth".into(),
        sentences: vec!["Count only what came up since the last count.".into()],
        table: Some(Cells {
            columns: vec![
                ("Box", false),
                ("Up so far", true),
                ("New", false),
                ("Abnormal", false),
                ("Dead", false),
                ("Remark", false),
            ],
            rows: rows.collect(),
            to_write_in: true,
        }),
        ..Section::default()
    })
}

fn others(due: &[&Item]) -> Option<Section> {
    let rows: Vec<Vec<String>> = due
        .iter()
        .filter(|item| !matches!(item.kind, ItemKind::CheckBox | ItemKind::CountSprouts))
        .map(|item| {
            vec![
                item.title.clone(),
                item.state.word().into(),
                item.date.to_string(),
                String::new(),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| Section {
        heading: "Also to be done".into(),
        table: Some(Cells {
            columns: vec![
                ("What", false),
                ("Standing", false),
                ("From", false),
                ("Done", false),
            ],
            rows,
            to_write_in: true,
        }),
        ..Section::default()
    })
}
