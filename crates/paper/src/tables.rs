//! Tables of a project that its import reads back, and tables of files as the import takes them.

use chrono::NaiveDate;
use domain::import::{Source, TableKind};
use domain::{
    AnyId, BreedingUse, ChillBox, Genotype, LotSource, Observation, Origin, Pollen, Project,
    SeedAmount, Value,
};
use exchange::sheets::{Table, Written, WrittenSheet};
use std::borrow::Cow;

/// A table of a file, as an import takes it.
#[derive(Debug, Clone, Copy)]
pub struct TableSource<'t>(pub &'t Table);

impl Source for TableSource<'_> {
    fn columns(&self) -> usize {
        self.0.columns.len()
    }

    fn name(&self, column: usize) -> &str {
        self.0.columns.get(column).map_or("", |column| &column.name)
    }

    fn unit(&self, column: usize) -> &str {
        self.0.columns.get(column).map_or("", |column| &column.unit)
    }

    fn rows(&self) -> usize {
        self.0.rows()
    }

    fn line(&self, row: usize) -> u64 {
        self.0.line(row)
    }

    fn text(&self, row: usize, column: usize) -> Cow<'_, str> {
        self.0.text(row, column)
    }

    fn number(&self, row: usize, column: usize) -> Result<Option<f64>, String> {
        self.0.number(row, column)
    }

    fn date(&self, row: usize, column: usize) -> Result<Option<NaiveDate>, String> {
        self.0.date(row, column)
    }
}

/// The table of a kind.
#[expect(
    clippy::too_many_lines,
    reason = "a list of tables, each its columns and their cells"
)]
pub fn table(project: &Project, kind: TableKind) -> WrittenSheet {
    let (header, rows): (&[&str], Vec<Vec<Written>>) = match kind {
        TableKind::Plants => (
            &[
                "code",
                "name",
                "other names",
                "female parent",
                "male parent",
                "cross",
                "ploidy",
                "sex",
                "date of origin",
                "place",
                "may be crossed",
                "owner",
                "document of the permission",
                "conditions of the permission",
                "permission holds until",
            ],
            project
                .genotypes()
                .iter()
                .map(|plant| of_plant(project, plant))
                .collect(),
        ),
        TableKind::Crosses => (
            &[
                "code",
                "female parent",
                "male parent",
                "season",
                "planned day of pollination",
                "seeds wanted",
                "purpose",
            ],
            project
                .crosses()
                .iter()
                .map(|cross| {
                    vec![
                        Written::text(&cross.code),
                        Written::text(project.code_of(cross.female)),
                        Written::text(pollen(project, &cross.pollen)),
                        Written::Number(f64::from(cross.season)),
                        date(cross.planned_pollination),
                        number(cross.seeds_wanted),
                        Written::text(&cross.purpose),
                    ]
                })
                .collect(),
        ),
        TableKind::SeedLots => (
            &[
                "code",
                "cross",
                "female parent",
                "from whom",
                "number of seeds",
                "weight",
                "thousand seed weight",
                "day of harvest",
                "day of cleaning",
                "place",
            ],
            project
                .seed_lots()
                .iter()
                .map(|lot| {
                    let (cross, female, from) = match &lot.source {
                        LotSource::Cross(cross) => (project.code_of(*cross), "", ""),
                        LotSource::OpenPollinated(female) => ("", project.code_of(*female), ""),
                        LotSource::Bought { from, .. } => ("", "", from.as_str()),
                        LotSource::Unknown => ("", "", ""),
                    };
                    let (seeds, weight, thousand) = match lot.amount {
                        Some(SeedAmount::Counted(seeds)) => {
                            (number(Some(seeds)), Written::Empty, Written::Empty)
                        }
                        Some(SeedAmount::Weighed {
                            weight,
                            thousand_seed_weight,
                        }) => (
                            Written::Empty,
                            Written::Number(weight.0),
                            Written::Number(thousand_seed_weight.0),
                        ),
                        None => (Written::Empty, Written::Empty, Written::Empty),
                    };
                    vec![
                        Written::text(&lot.code),
                        Written::text(cross),
                        Written::text(female),
                        Written::text(from),
                        seeds,
                        weight,
                        thousand,
                        date(lot.harvested),
                        date(lot.cleaned),
                        Written::text(&lot.place),
                    ]
                })
                .collect(),
        ),
        TableKind::Counts => (
            &[
                "box",
                "date",
                "number germinated",
                "number abnormal",
                "number dead",
                "number lost",
                "name of the person",
                "remark",
            ],
            project
                .counts()
                .iter()
                .map(|count| {
                    let of_box = project
                        .germinations()
                        .get(count.run)
                        .map(|run| AnyId::from(run.chill_box));
                    let code =
                        of_box.and_then(|id| project.chill_boxes().get(id.typed::<ChillBox>()?));
                    vec![
                        Written::text(code.map_or("", |each| &each.code)),
                        Written::Date(count.date),
                        number(Some(count.germinated)),
                        number(Some(count.abnormal)),
                        number(Some(count.dead)),
                        number(Some(count.lost)),
                        Written::text(&count.by),
                        Written::text(&count.remark),
                    ]
                })
                .collect(),
        ),
        TableKind::Samples => (
            &[
                "code",
                "plant",
                "part of the plant",
                "day it was taken",
                "site",
                "replicate",
                "name of the person",
                "laboratory",
                "day it was sent",
                "remark",
            ],
            project
                .samples()
                .iter()
                .map(|sample| {
                    vec![
                        Written::text(&sample.code),
                        Written::text(project.code_of(sample.genotype)),
                        Written::text(sample.part.word()),
                        Written::Date(sample.taken),
                        Written::text(&sample.site),
                        number(sample.replicate),
                        Written::text(&sample.by),
                        Written::text(&sample.laboratory),
                        date(sample.sent),
                        Written::text(&sample.remark),
                    ]
                })
                .collect(),
        ),
        TableKind::Observations => (
            &[
                "plant",
                "sample",
                "date",
                "trait",
                "value",
                "unit",
                "site",
                "name of the person",
                "isolate",
                "method",
                "basis",
                "replicate",
                "disease test",
                "remark",
            ],
            project
                .observations()
                .iter()
                .map(|seen| of_observation(project, seen))
                .collect(),
        ),
    };
    WrittenSheet {
        name: kind.words().into(),
        header: header.iter().map(|&name| name.into()).collect(),
        rows,
    }
}

fn of_plant(project: &Project, plant: &Genotype) -> Vec<Written> {
    let (female, male) = match project.parents_of(plant) {
        (Some(female), Some(pollen_of)) if !matches!(plant.origin, Origin::Doubled { .. }) => (
            project.code_of(female).to_owned(),
            pollen(project, pollen_of),
        ),
        _ => (String::new(), String::new()),
    };
    vec![
        Written::text(&plant.code),
        Written::text(plant.name.clone().unwrap_or_default()),
        Written::text(plant.aliases.join("; ")),
        Written::text(female),
        Written::text(male),
        Written::text(match plant.origin {
            Origin::Cross { cross } => project.code_of(cross),
            _ => "",
        }),
        Written::text(plant.ploidy.to_string()),
        Written::text(plant.known_sex().map_or("", |sex| sex.word())),
        match plant.born {
            Some(born) if born.earliest() == born.latest() => Written::Date(born.earliest()),
            Some(born) => Written::text(born.to_string()),
            None => Written::Empty,
        },
        Written::text(&plant.location),
        // Nobody's answer is no answer: it stays empty.
        Written::text(match plant.permission.breeding {
            BreedingUse::NotKnown => "",
            known => known.words(),
        }),
        Written::text(&plant.permission.owner),
        Written::text(&plant.permission.document),
        Written::text(&plant.permission.conditions),
        date(plant.permission.until),
    ]
}

fn of_observation(project: &Project, seen: &Observation) -> Vec<Written> {
    let of_trait = project.traits().get(seen.of_trait);
    let sample = seen.sample.map_or("", |id| project.code_of(id));
    let test = seen.test.and_then(|id| project.disease_tests().get(id));
    let value = match &seen.value {
        Value::Number(number) => Written::Number(*number),
        Value::YesNo(yes) => Written::YesNo(*yes),
        Value::Date { date } => Written::Date(*date),
        Value::Class { class } => Written::text(class),
        Value::Text { text } => Written::text(text),
    };
    let unit = of_trait.and_then(|each| each.scale.measured_in());
    vec![
        Written::text(project.code_of(seen.genotype)),
        Written::text(sample),
        Written::Date(seen.date),
        Written::text(of_trait.map_or("", |each| &each.name)),
        value,
        Written::text(unit.unwrap_or_default()),
        Written::text(&seen.site),
        Written::text(&seen.by),
        Written::text(&seen.isolate),
        Written::text(&seen.method),
        Written::text(seen.basis.to_string()),
        number(seen.replicate),
        Written::text(test.map_or("", |each| &each.name)),
        Written::text(&seen.remark),
    ]
}

fn pollen(project: &Project, pollen: &Pollen) -> String {
    match pollen {
        Pollen::Male(male) => project.code_of(*male).to_owned(),
        Pollen::Mix(shares) => {
            let males: Vec<String> = shares
                .iter()
                .map(|each| match each.share {
                    Some(share) => format!("{} ({share})", project.code_of(each.male)),
                    None => project.code_of(each.male).to_owned(),
                })
                .collect();
            males.join(" + ")
        }
        Pollen::Open => "open".into(),
        Pollen::Unknown => String::new(),
    }
}

fn date(day: Option<NaiveDate>) -> Written {
    day.map_or(Written::Empty, Written::Date)
}

fn number(count: Option<u32>) -> Written {
    count.map_or(Written::Empty, |count| Written::Number(f64::from(count)))
}
