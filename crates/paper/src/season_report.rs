//! What came of the crosses of a season, from the bag to the plant, with its charts.

use chart::{Axis, Chart, Line, Series};
use chrono::NaiveDate;
use domain::date::InWords as _;
use domain::display::pollen_words;
use domain::germination::RunCounts;
use domain::ledger::balance;
use domain::progress::{CrossProgress, seeds_got};
use domain::{Cross, Genotype, Project, SeedLot, Value};
use exchange::report::{Cells, Report, Section};
use std::collections::{BTreeMap, BTreeSet};

/// A chart holds no more courses than can be told apart.
const MOST_COURSES: usize = 6;

/// The seasons that have crosses, the latest first.
pub fn seasons(project: &Project) -> Vec<i32> {
    let seasons: BTreeSet<i32> = project.crosses().iter().map(|cross| cross.season).collect();
    seasons.into_iter().rev().collect()
}

/// The report of the crosses of a season, as they stand on `today`; nothing where there are none.
pub fn report(project: &Project, season: i32, today: NaiveDate) -> Option<Report> {
    let crosses: Vec<OneCross<'_>> = project
        .crosses()
        .iter()
        .filter(|cross| cross.season == season)
        .map(|cross| OneCross::of(project, cross))
        .collect();
    if crosses.is_empty() {
        return None;
    }
    let sections = [
        Some(made(project, season, &crosses)),
        seed(project, season, &crosses),
        germination(&crosses),
        plants(project, &crosses),
        measured(project, &crosses),
    ];
    let name = &project.settings().name;
    let of = if name.is_empty() {
        String::new()
    } else {
        format!(", {name}")
    };
    Some(Report {
        title: format!("Season {season}{of}, as of {}", today.in_words()),
        sections: sections.into_iter().flatten().collect(),
    })
}

/// A cross with what came of it.
struct OneCross<'p> {
    cross: &'p Cross,
    lots: Vec<&'p SeedLot>,
    runs: Vec<RunCounts>,
    plants: Vec<&'p Genotype>,
    laid: u32,
}

impl<'p> OneCross<'p> {
    fn of(project: &'p Project, cross: &'p Cross) -> Self {
        let lots: Vec<&SeedLot> = project.lots_of(cross.id).collect();
        let boxes = || lots.iter().flat_map(|lot| project.boxes_from(lot.id));
        let first = boxes().filter(|chill_box| chill_box.rechilled_from.is_none());
        Self {
            cross,
            laid: first
                .map(|chill_box| chill_box.seeds)
                .fold(0, u32::saturating_add),
            runs: boxes()
                .flat_map(|chill_box| project.runs_of(chill_box.id))
                .filter_map(|run| RunCounts::of(project, run))
                .collect(),
            plants: project.progeny_of(cross.id).collect(),
            lots,
        }
    }

    fn sum(&self, of: impl Fn(&RunCounts) -> u32) -> u32 {
        self.runs.iter().map(of).fold(0, u32::saturating_add)
    }

    /// The share of the seed in warmth that was up by each look, by the day after the move.
    fn course(&self) -> Vec<(f64, f64)> {
        let sown = self.sum(|run| run.sown);
        let mut by_day: BTreeMap<u32, u32> = BTreeMap::new();
        for (day, up) in self.runs.iter().flat_map(|run| &run.counts) {
            let up_then = by_day.entry(day.max(0.0).round() as u32).or_default();
            *up_then = up_then.saturating_add(*up);
        }
        let mut up = 0_u32;
        let risen = by_day.into_iter().map(|(day, more)| {
            up = up.saturating_add(more);
            (
                f64::from(day),
                100.0 * f64::from(up) / f64::from(sown.max(1)),
            )
        });
        std::iter::once((0.0, 0.0)).chain(risen).collect()
    }
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn made(project: &Project, season: i32, crosses: &[OneCross<'_>]) -> Section {
    let failed = crosses
        .iter()
        .filter(|each| CrossProgress::of(project, each.cross) == CrossProgress::Failed)
        .count();
    let mut words = format!("{} in {season}", counted(crosses.len(), "cross", "crosses"));
    if failed > 0 {
        words = format!("{words}, of which {failed} came to nothing");
    }
    let rows = crosses.iter().map(|each| {
        let cross = each.cross;
        let got = seeds_got(project, cross);
        vec![
            cross.code.clone(),
            project.code_of(cross.female).to_owned(),
            pollen_words(project, &cross.pollen),
            CrossProgress::of(project, cross).word().to_owned(),
            project
                .last_pollination(cross.id)
                .map(|day| day.to_string())
                .unwrap_or_default(),
            cross
                .seeds_wanted
                .map(|seeds| seeds.to_string())
                .unwrap_or_default(),
            got.map(|(seeds, estimate)| {
                if estimate {
                    format!("about {seeds}")
                } else {
                    seeds.to_string()
                }
            })
            .unwrap_or_default(),
        ]
    });
    Section {
        heading: "Crosses".into(),
        sentences: vec![format!("{words}.")],
        table: Some(Cells {
            columns: vec![
                ("Cross", false),
                ("Female", false),
                ("Pollen", false),
                ("Standing", false),
                ("Pollinated", false),
                ("Wanted", true),
                ("Seeds", true),
            ],
            rows: rows.collect(),
            ..Cells::default()
        }),
        ..Section::default()
    }
}

fn seed(project: &Project, season: i32, crosses: &[OneCross<'_>]) -> Option<Section> {
    let rows: Vec<Vec<String>> = crosses
        .iter()
        .flat_map(|each| each.lots.iter().map(move |lot| (each, lot)))
        .map(|(each, lot)| {
            vec![
                lot.code.clone(),
                each.cross.code.clone(),
                lot.amount
                    .map(|amount| amount.seeds().to_string())
                    .unwrap_or_default(),
                balance(project, lot.id).to_string(),
                lot.place.clone(),
            ]
        })
        .collect();
    // The seed of this season beside that of those before.
    let mut by_season: BTreeMap<i32, f64> = BTreeMap::new();
    for cross in project.crosses().iter() {
        if let Some((seeds, _)) = seeds_got(project, cross).filter(|_| cross.season <= season) {
            *by_season.entry(cross.season).or_default() += f64::from(seeds);
        }
    }
    let chart = by_season.iter().next().map(|(&first, _)| {
        let points: Vec<(f64, f64)> = by_season
            .iter()
            .map(|(season, seeds)| (f64::from(*season), *seeds))
            .collect();
        let highest = points.iter().map(|point| point.1).fold(1.0, f64::max);
        Chart {
            title: "Seeds got by season".into(),
            across: Axis::years(first, season),
            up: Axis::from_nothing("", highest),
            series: vec![Series {
                marks: points.clone(),
                lines: vec![Line::thick(points)],
                ..Series::default()
            }],
        }
    });
    (!rows.is_empty()).then(|| Section {
        heading: "Seed".into(),
        charts: chart.into_iter().collect(),
        table: Some(Cells {
            columns: vec![
                ("Lot", false),
                ("Cross", false),
                ("Seeds", true),
                ("Left", true),
                ("Place", false),
            ],
            rows,
            ..Cells::default()
        }),
        ..Section::default()
    })
}

fn germination(crosses: &[OneCross<'_>]) -> Option<Section> {
    let mut in_warmth: Vec<&OneCross<'_>> = crosses
        .iter()
        .filter(|each| !each.runs.is_empty())
        .collect();
    let rows: Vec<Vec<String>> = crosses
        .iter()
        .filter(|each| each.laid > 0)
        .map(|each| {
            let (sown, up) = (each.sum(|run| run.sown), each.sum(|run| run.germinated));
            vec![
                each.cross.code.clone(),
                each.laid.to_string(),
                each.sum(|run| run.early).to_string(),
                sown.to_string(),
                up.to_string(),
                if sown > 0 {
                    format!("{:.0} %", 100.0 * f64::from(up) / f64::from(sown))
                } else {
                    String::new()
                },
            ]
        })
        .collect();
    if rows.is_empty() {
        return None;
    }
    // Where there are more than can be told apart, those with most seed.
    in_warmth.sort_by_key(|each| std::cmp::Reverse(each.sum(|run| run.sown)));
    let left_out = in_warmth.len().saturating_sub(MOST_COURSES);
    in_warmth.truncate(MOST_COURSES);
    let series: Vec<Series> = in_warmth
        .iter()
        .map(|each| {
            let points = each.course();
            Series {
                name: each.cross.code.clone(),
                end: points.last().map(|point| point.0),
                marks: points.iter().skip(1).copied().collect(),
                lines: vec![Line::thick(points)],
                ..Series::default()
            }
        })
        .collect();
    let last = series
        .iter()
        .filter_map(|each| each.end)
        .fold(1.0, f64::max);
    let mut sentences = vec![
        "Of the seed that came to warmth not yet up; days are counted from the move to warmth."
            .to_owned(),
    ];
    if left_out > 0 {
        sentences.push(format!(
            "The chart shows the {MOST_COURSES} crosses with most seed; {left_out} more stand in the table."
        ));
    }
    let chart = Chart {
        title: "Germinated in warmth".into(),
        across: Axis::days("days in warmth", last),
        up: Axis::percent(""),
        series,
    };
    Some(Section {
        heading: "Chill and germination".into(),
        sentences,
        charts: if in_warmth.is_empty() {
            Vec::new()
        } else {
            vec![chart]
        },
        table: Some(Cells {
            columns: vec![
                ("Cross", false),
                ("Laid in boxes", true),
                ("Up in the cold", true),
                ("In warmth", true),
                ("Germinated", true),
                ("Share", true),
            ],
            rows,
            ..Cells::default()
        }),
    })
}

fn plants(project: &Project, crosses: &[OneCross<'_>]) -> Option<Section> {
    let rows: Vec<Vec<String>> = crosses
        .iter()
        .filter(|each| !each.plants.is_empty())
        .map(|each| {
            let count = |of: &dyn Fn(&Genotype) -> bool| {
                each.plants
                    .iter()
                    .filter(|plant| of(plant))
                    .count()
                    .to_string()
            };
            let sexed =
                |sex: domain::Sex| count(&move |plant: &Genotype| plant.known_sex() == Some(sex));
            vec![
                each.cross.code.clone(),
                each.plants.len().to_string(),
                count(&Genotype::is_alive),
                sexed(domain::Sex::Female),
                sexed(domain::Sex::Male),
                count(&|plant| plant.selected.is_some()),
            ]
        })
        .collect();
    let stages = project.stages_in_order();
    let at = |id| {
        crosses
            .iter()
            .flat_map(|each| &each.plants)
            .filter(|plant| plant.is_alive() && plant.stage == Some(id))
            .count()
    };
    let told: Vec<String> = stages
        .iter()
        .map(|stage| (at(stage.id), &stage.name))
        .filter(|(count, _)| *count > 0)
        .map(|(count, name)| format!("{count} at {name}"))
        .collect();
    let sentences = if told.is_empty() {
        Vec::new()
    } else {
        vec![format!("Living plants by stage: {}.", told.join(", "))]
    };
    (!rows.is_empty()).then(|| Section {
        heading: "Plants".into(),
        sentences,
        table: Some(Cells {
            columns: vec![
                ("Cross", false),
                ("Potted", true),
                ("Living", true),
                ("Female", true),
                ("Male", true),
                ("Selected", true),
            ],
            rows,
            ..Cells::default()
        }),
        ..Section::default()
    })
}

fn measured(project: &Project, crosses: &[OneCross<'_>]) -> Option<Section> {
    let of_season: BTreeSet<_> = crosses
        .iter()
        .flat_map(|each| each.plants.iter().map(|plant| plant.id))
        .collect();
    let rows: Vec<Vec<String>> = project
        .traits()
        .iter()
        .filter_map(|of_trait| {
            let mut latest = BTreeMap::new();
            for seen in project.observations_of_trait(of_trait.id) {
                if let (true, Value::Number(value)) =
                    (of_season.contains(&seen.genotype), &seen.value)
                {
                    let entry = latest.entry(seen.genotype).or_insert((seen.date, *value));
                    if seen.date >= entry.0 {
                        *entry = (seen.date, *value);
                    }
                }
            }
            let values: Vec<f64> = latest.into_values().map(|(_, value)| value).collect();
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
            let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (!values.is_empty()).then(|| {
                vec![
                    of_trait.name.clone(),
                    values.len().to_string(),
                    format!("{mean:.1}"),
                    format!("{lowest}"),
                    format!("{highest}"),
                ]
            })
        })
        .collect();
    (!rows.is_empty()).then(|| Section {
        heading: "Measured".into(),
        sentences: vec!["Of each plant, what was seen last.".into()],
        table: Some(Cells {
            columns: vec![
                ("Trait", false),
                ("Plants", true),
                ("Mean", true),
                ("Lowest", true),
                ("Highest", true),
            ],
            rows,
            ..Cells::default()
        }),
        ..Section::default()
    })
}
