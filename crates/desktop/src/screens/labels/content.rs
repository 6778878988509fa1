//! What stands on the label of a record.

use super::LABELLED;
use domain::date::InWords as _;
use domain::display::pollen_words;
use domain::ledger;
use domain::{
    AnyId, ChillBox, Cross, Genotype, Id, LotSource, Pollen, Project, RecordKind, Sample,
    SeedAmount, SeedLot,
};
use exchange::label::{LabelContent, LabelLine};

/// Whether a kind of record carries a label.
pub(super) fn can_be_labelled(kind: RecordKind) -> bool {
    LABELLED.contains(&kind)
}

/// The label of a record.
pub(super) fn label(project: &Project, id: AnyId) -> Option<LabelContent> {
    let code = project.code(id)?.to_owned();
    let lines = match id.kind {
        RecordKind::Genotype => plant(project, project.genotypes().get(id.typed()?)?),
        RecordKind::Cross => cross(project, project.crosses().get(id.typed()?)?),
        RecordKind::SeedLot => lot(project, project.seed_lots().get(id.typed()?)?),
        RecordKind::ChillBox => chill_box(project, project.chill_boxes().get(id.typed()?)?),
        RecordKind::Sample => sample(project, project.samples().get(id.typed()?)?),
        _ => return None,
    };
    Some(LabelContent { code, lines })
}

/// What goes to the laboratory says what it is, when it was taken and from what, so that a bag is never nameless.
fn sample(project: &Project, sample: &Sample) -> Vec<LabelLine> {
    let taken = format!("{} taken {}", sample.part.word(), sample.taken);
    let mut lines = vec![
        LabelLine::Note(taken),
        LabelLine::Note(project.code_of(sample.genotype).to_owned()),
    ];
    if !sample.laboratory.is_empty() {
        lines.push(LabelLine::Note(format!("to {}", sample.laboratory)));
    }
    lines
}

/// Words for some records, and the records.
pub(super) type Choice = (&'static str, Vec<AnyId>);

/// What is labelled most often, ready to be chosen.
pub(super) fn ready_choices(project: &Project) -> Vec<Choice> {
    let boxes = project.chill_boxes().iter().filter(|each| {
        let batch = project.chill_batches().get(each.batch);
        each.end.is_none()
            && project.run_of(each.id).is_none()
            && batch.is_some_and(|batch| batch.ended.is_none())
    });
    let warm = project
        .germinations()
        .iter()
        .filter(|run| run.end.is_none());
    let lots = project
        .seed_lots()
        .iter()
        .filter(|lot| ledger::balance(project, lot.id) > 0);
    let latest = project.crosses().iter().map(|cross| cross.season).max();
    let crosses = project
        .crosses()
        .iter()
        .filter(|cross| Some(cross.season) == latest);
    let last_potted = project
        .genotypes()
        .iter()
        .filter_map(|plant| project.box_of(plant))
        .next_back();
    let potted = last_potted
        .into_iter()
        .flat_map(|from| project.potted_out_of(from))
        .filter(|plant| plant.is_alive());
    let samples = project.samples().iter().filter(|each| each.sent.is_none());
    vec![
        (
            "Samples not sent yet",
            samples.map(|each| each.id.into()).collect(),
        ),
        (
            "Boxes in the cold",
            boxes.map(|each| each.id.into()).collect(),
        ),
        (
            "Boxes in warmth",
            warm.map(|run| run.chill_box.into()).collect(),
        ),
        (
            "Lots with seed left",
            lots.map(|lot| lot.id.into()).collect(),
        ),
        (
            "Crosses of the latest season",
            crosses.map(|cross| cross.id.into()).collect(),
        ),
        (
            "Seedlings potted last",
            potted.map(|plant| plant.id.into()).collect(),
        ),
    ]
}

/// Female × male, with words where a parent is open or unknown.
fn parents(project: &Project, female: Id<Genotype>, pollen: &Pollen) -> LabelLine {
    let male = match pollen {
        Pollen::Open => "open pollination".to_owned(),
        known => pollen_words(project, known),
    };
    LabelLine::Cross {
        female: project.code_of(female).to_owned(),
        male,
    }
}

fn plant(project: &Project, plant: &Genotype) -> Vec<LabelLine> {
    let mut lines = Vec::new();
    lines.extend(plant.name.clone().map(LabelLine::Note));
    if let (Some(female), Some(pollen)) = project.parents_of(plant) {
        lines.push(parents(project, female, pollen));
    }
    lines.extend(
        plant
            .born
            .map(|born| LabelLine::Note(format!("since {}", born.in_words()))),
    );
    lines
}

fn cross(project: &Project, cross: &Cross) -> Vec<LabelLine> {
    let mut lines = vec![parents(project, cross.female, &cross.pollen)];
    match (
        project.last_pollination(cross.id),
        cross.planned_pollination,
    ) {
        (Some(day), _) => lines.push(LabelLine::Note(format!("pollinated {}", day.in_words()))),
        (None, Some(day)) => lines.push(LabelLine::Note(format!("pollinate {}", day.in_words()))),
        (None, None) => {}
    }
    lines
}

/// The parents and harvest of a lot's seed.
fn origin(project: &Project, lot: &SeedLot) -> Vec<LabelLine> {
    let mut lines = Vec::new();
    match &lot.source {
        LotSource::Cross(cross) => lines.extend(
            project
                .crosses()
                .get(*cross)
                .map(|cross| parents(project, cross.female, &cross.pollen)),
        ),
        LotSource::OpenPollinated(female) => lines.push(parents(project, *female, &Pollen::Open)),
        LotSource::Bought { from, described_as } => {
            lines.push(LabelLine::Note(if described_as.is_empty() {
                from.clone()
            } else {
                described_as.clone()
            }));
        }
        LotSource::Unknown => lines.push(LabelLine::Note("parents unknown".into())),
    }
    lines.extend(lot.harvested.map(LabelLine::Harvested));
    lines
}

fn lot(project: &Project, lot: &SeedLot) -> Vec<LabelLine> {
    let mut lines = origin(project, lot);
    if let Some(amount) = lot.amount {
        let left = ledger::balance(project, lot.id).max(0) as u32;
        lines.push(LabelLine::Count {
            number: left,
            noun: "seeds".into(),
            approximate: amount.is_estimate(),
        });
    }
    lines
}

fn chill_box(project: &Project, chill_box: &ChillBox) -> Vec<LabelLine> {
    let lot = project.seed_lots().get(chill_box.lot);
    let mut lines = lot.map(|lot| origin(project, lot)).unwrap_or_default();
    lines.extend(
        project
            .chill_batches()
            .get(chill_box.batch)
            .map(|batch| LabelLine::ChillStarted(batch.start)),
    );
    let approximate = lot
        .and_then(|lot| lot.amount)
        .is_some_and(SeedAmount::is_estimate)
        && chill_box.seeds > 200;
    lines.push(LabelLine::Count {
        number: chill_box.seeds,
        noun: "seeds".into(),
        approximate,
    });
    lines.extend(lot.map(|lot| LabelLine::Note(format!("lot {}", lot.code))));
    lines
}
