//! The day's work, as edits: what people do, with the identities and codes filled in.
//!
//! Each function reads the project and returns the edit to hand to [`Project::apply`]; none changes anything.

use crate::code::{Template, next_code};
use crate::date::{PartialDate, shift};
use crate::edit::Edit;
use crate::id::{Id, IdSource};
use crate::ledger::BoxTally;
use crate::project::Project;
use crate::protocols::ready_protocols;
use crate::record::chill::{ChillBatchField, ChillBoxField};
use crate::record::genotype::GenotypeField;
use crate::record::germination::GerminationField;
use crate::record::observation::ObservationField;
use crate::record::settings::SettingsField;
use crate::words::plural;
use crate::{
    Check, ChillBatch, ChillBox, Cross, CrossEvent, CrossEventKind, Direction, End, EndKind,
    Genotype, Germination, GerminationEnd, Hemisphere, LotSource, Observation, Origin, Protocol,
    RestFate, Scale, SeedAmount, SeedLot, Selection, Stage, Trait,
};
use chrono::{Datelike as _, NaiveDate};

/// A new project: its name, the usual stages and traits, and the ready protocols.
pub fn begin_project(name: &str, hemisphere: Hemisphere, ids: &mut IdSource) -> Edit {
    let mut edits = vec![
        Edit::Settings(SettingsField::Name(name.into())),
        Edit::Settings(SettingsField::Hemisphere(hemisphere)),
    ];
    let stages = [
        (
            "Seedling",
            "Pots under lights and the first year outdoors: vigour, disease, sex.",
        ),
        ("Single hill", "One plant a genotype, about three seasons."),
        (
            "Trial",
            "Several hills of each clone beside known cultivars, several seasons.",
        ),
        ("Elite", "A small field of each clone; samples brewed."),
        ("Cultivar", "Named."),
    ];
    for (rank, (name, purpose)) in (1..).zip(stages) {
        edits.push(Edit::add(Stage {
            id: ids.next(),
            name: name.into(),
            rank,
            purpose: purpose.into(),
        }));
    }
    let scores = [
        (
            "Vigour",
            "weakest",
            "strongest",
            Direction::Higher,
            "By eye against the whole tray.",
        ),
        (
            "Downy mildew",
            "none",
            "killed",
            Direction::Lower,
            "By eye; say which isolate where it is known.",
        ),
        (
            "Powdery mildew",
            "none",
            "covered",
            Direction::Lower,
            "By eye; say which isolate where it is known.",
        ),
    ];
    for (name, low, high, direction, method) in scores {
        let scale = Scale::one_to_nine(low, high);
        edits.push(Edit::add(Trait {
            id: ids.next(),
            name: name.into(),
            scale,
            direction,
            method: method.into(),
        }));
    }
    let protocols = ready_protocols(ids);
    let own = protocols.first().map(|protocol| protocol.id);
    edits.extend(protocols.into_iter().map(Edit::add));
    edits.push(Edit::Settings(SettingsField::Protocol(own)));
    Edit::all(format!("begin {name}"), edits)
}

/// Something that happened to a cross.
pub fn cross_event(
    cross: Id<Cross>,
    date: NaiveDate,
    what: CrossEventKind,
    ids: &mut IdSource,
) -> Edit {
    Edit::add(CrossEvent {
        id: ids.next(),
        cross,
        date,
        what,
        by: String::new(),
        remark: String::new(),
    })
}

/// A plan for a cross: the cross, and that it was planned today.
pub fn plan_cross(cross: Cross, today: NaiveDate, ids: &mut IdSource) -> Edit {
    let label = format!("plan cross {}", cross.code);
    let planned = cross_event(cross.id, today, CrossEventKind::Planned, ids);
    Edit::all(label, vec![Edit::add(cross), planned])
}

/// The season, the year of harvest, of a cross pollinated on this day.
pub fn season_of(project: &Project, pollination: NaiveDate) -> i32 {
    shift(
        pollination,
        project.settings().cross_timing.ripe_from.into(),
    )
    .year()
}

/// The season that crosses planned on this day are for: the year of the harvest to come. Hops are picked by the end
/// of September, south of the equator by the end of March (common practice); from then on it is the next.
pub fn season_planned(project: &Project, today: NaiveDate) -> i32 {
    let over = match project.settings().hemisphere {
        Hemisphere::Northern => today.month() > 9,
        Hemisphere::Southern => today.month() > 3,
    };
    today.year() + i32::from(over)
}

/// The first free code for a cross of a season: `26-04` after `26-03`.
pub fn next_cross_code(project: &Project, season: i32) -> String {
    next_code(project, &format!("{:02}-", season.rem_euclid(100)))
}

/// The day the cones of a cross were last picked.
pub fn harvested_on(project: &Project, cross: Id<Cross>) -> Option<NaiveDate> {
    project
        .events_of(cross)
        .filter(|event| matches!(event.what, CrossEventKind::ConesHarvested { .. }))
        .map(|event| event.date)
        .max()
}

/// The first free code for seed of this origin: after its cross (`26-04-S01`), its mother (`B7-OP01`), or the year
/// of `day` (`Seed 26-01`).
pub fn next_lot_code(project: &Project, source: &LotSource, day: NaiveDate) -> String {
    let prefix = match source {
        LotSource::Cross(cross) => format!("{}-S", project.code_of(*cross)),
        LotSource::OpenPollinated(female) => format!("{}-OP", project.code_of(*female)),
        LotSource::Bought { .. } | LotSource::Unknown => format!("Seed {}-", day.format("%y")),
    };
    next_code(project, &prefix)
}

/// The seed of a cross, cleaned: coded after the cross, harvested when its cones were.
pub fn clean_seed(
    project: &Project,
    cross: Id<Cross>,
    cleaned: NaiveDate,
    amount: SeedAmount,
    ids: &mut IdSource,
) -> Edit {
    let source = LotSource::Cross(cross);
    Edit::add(SeedLot {
        id: ids.next(),
        code: next_lot_code(project, &source, cleaned),
        source,
        harvested: harvested_on(project, cross),
        cleaned: Some(cleaned),
        amount: Some(amount),
        place: String::new(),
        conditions: String::new(),
    })
}

/// The first free code for a batch that goes into the cold in the year of `day`: `Chill B-26` after `Chill A-26`.
/// Lettered, so that at a glance no batch is taken for a cross (`26-02`), a box (`C-02`) or a plant.
pub fn next_batch_code(project: &Project, day: NaiveDate) -> String {
    let year = format!("-{}", day.format("%y"));
    let last = project
        .codes_beginning("Chill ")
        .filter_map(|code| lettered_number(code.get("Chill ".len()..)?.strip_suffix(&year)?))
        .max();
    format!("Chill {}{year}", lettered(last.map_or(1, |last| last + 1)))
}

/// The letters of a running number: A to Z, then AA, AB and so on.
fn lettered(mut number: u32) -> String {
    let mut letters = Vec::new();
    while number > 0 {
        let letter = (number - 1) % 26;
        letters.push(char::from(b'A' + letter as u8));
        number = (number - 1) / 26;
    }
    letters.into_iter().rev().collect()
}

/// The number that letters stand for; nothing where they are no such letters.
fn lettered_number(letters: &str) -> Option<u32> {
    if letters.is_empty() || letters.len() > 4 {
        return None;
    }
    letters.chars().try_fold(0_u32, |number, letter| {
        let letter = letter.to_ascii_uppercase();
        letter
            .is_ascii_uppercase()
            .then(|| number * 26 + u32::from(letter) - u32::from('A') + 1)
    })
}

/// A batch planned under a protocol, its regimen copied.
pub fn plan_batch(
    project: &Project,
    protocol: Id<Protocol>,
    start: NaiveDate,
    ids: &mut IdSource,
) -> Option<ChillBatch> {
    let protocol = project.protocols().get(protocol)?;
    Some(ChillBatch {
        id: ids.next(),
        code: next_batch_code(project, start),
        start,
        regimen: protocol.regimen.clone(),
        started: false,
        protocol: protocol.name.clone(),
        sterilised: None,
        place: String::new(),
        ended: None,
    })
}

/// How many seeds go into each box when none is to hold more than `most`: as evenly as can be.
pub fn box_fillings(seeds: u32, most: u32) -> Vec<u32> {
    let boxes = seeds.div_ceil(most.max(1)).max(1);
    (0..boxes)
        .map(|nth| seeds / boxes + u32::from(nth < seeds % boxes))
        .collect()
}

/// Seeds of a lot laid into as many boxes as their number asks for, as evenly as can be, none above `most` seeds.
pub fn lay_boxes(
    project: &Project,
    batch: &ChillBatch,
    lot: Id<SeedLot>,
    seeds: u32,
    most: u32,
    ids: &mut IdSource,
) -> Edit {
    let fillings = box_fillings(seeds, most);
    let boxes = fillings.len() as u32;
    let codes = Template("C-##".into()).next_codes(project, "", fillings.len());
    let edits = fillings.into_iter().zip(codes).map(|(seeds, code)| {
        Edit::add(ChillBox {
            id: ids.next(),
            code,
            batch: batch.id,
            lot,
            seeds,
            rechilled_from: None,
            place: String::new(),
            end: None,
        })
    });
    Edit::all(
        format!(
            "lay {seeds} seeds of {} in {boxes} {}",
            project.code_of(lot),
            plural(boxes, "box", "boxes")
        ),
        edits.collect(),
    )
}

/// The batch goes into the cold on this day.
pub fn start_batch(batch: &ChillBatch, day: NaiveDate) -> Edit {
    Edit::all(
        format!("start {}", batch.code),
        vec![
            Edit::set(batch.id, ChillBatchField::Start(day)),
            Edit::set(batch.id, ChillBatchField::Started(true)),
        ],
    )
}

/// One look into each of these boxes, nothing found: the morning round.
pub fn check_boxes(boxes: &[Id<ChillBox>], day: NaiveDate, ids: &mut IdSource) -> Edit {
    let looks = boxes
        .iter()
        .map(|chill_box| Edit::add(Check::nothing_found(ids.next(), *chill_box, day)));
    Edit::all(
        format!(
            "check {} {}",
            boxes.len(),
            plural(boxes.len() as u32, "box", "boxes")
        ),
        looks.collect(),
    )
}

/// These boxes move to warmth and light.
pub fn warm(boxes: &[Id<ChillBox>], day: NaiveDate, ids: &mut IdSource) -> Edit {
    let moves = boxes.iter().map(|chill_box| {
        Edit::add(Germination {
            id: ids.next(),
            chill_box: *chill_box,
            moved: day,
            place: String::new(),
            end: None,
        })
    });
    Edit::all(
        format!(
            "move {} {} to warmth",
            boxes.len(),
            plural(boxes.len() as u32, "box", "boxes")
        ),
        moves.collect(),
    )
}

/// Ungerminated seed of a box goes back into the cold, in a new box of another batch.
pub fn chill_again(
    project: &Project,
    from: Id<ChillBox>,
    batch: Id<ChillBatch>,
    seeds: u32,
    ids: &mut IdSource,
) -> Option<Edit> {
    let source = project.chill_boxes().get(from)?;
    Some(Edit::add(ChillBox {
        id: ids.next(),
        code: next_code(project, "C-"),
        batch,
        lot: source.lot,
        seeds,
        rechilled_from: Some(from),
        place: String::new(),
        end: None,
    }))
}

/// A second cold for the seed of a run that hasn't come up: the run is closed, and what is left of its box goes into a
/// new one of `batch`, or of a batch planned for `day` under the regimen of the first where none is named.
///
/// Nothing if the run isn't there or no seed is left.
pub fn second_chill(
    project: &Project,
    run: Id<Germination>,
    batch: Option<Id<ChillBatch>>,
    day: NaiveDate,
    remark: &str,
    ids: &mut IdSource,
) -> Option<Edit> {
    let from = project.germinations().get(run)?.chill_box;
    let source = project.chill_boxes().get(from)?;
    let left = BoxTally::of(project, source).left();
    if left == 0 {
        return None;
    }
    let end = GerminationEnd {
        date: day,
        rest: RestFate::ChilledAgain,
        remark: remark.into(),
    };
    let mut edits = vec![Edit::set(run, GerminationField::End(Some(end)))];
    let batch = if let Some(batch) = batch {
        batch
    } else {
        let first = project.chill_batches().get(source.batch)?;
        let second = ChillBatch {
            id: ids.next(),
            code: next_batch_code(project, day),
            start: day,
            started: false,
            sterilised: None,
            ended: None,
            ..first.clone()
        };
        let id = second.id;
        edits.push(Edit::add(second));
        id
    };
    edits.push(chill_again(project, from, batch, left, ids)?);
    Some(Edit::all(
        format!("chill {left} seeds of box {} again", source.code),
        edits,
    ))
}

/// The codes that the next seedlings of a box get: those of a cross are numbered in its family, others in their lot.
/// Empty where the template of the settings can't number them.
pub fn seedling_codes(project: &Project, chill_box: Id<ChillBox>, count: u32) -> Vec<String> {
    let lot = project
        .chill_boxes()
        .get(chill_box)
        .and_then(|chill_box| project.seed_lots().get(chill_box.lot));
    let Some(lot) = lot else { return Vec::new() };
    let template = &project.settings().seedling_codes;
    template.next_codes(project, family_code(project, lot), count as usize)
}

/// The code that seedlings of a lot share: of its cross, or its own.
fn family_code<'a>(project: &'a Project, lot: &'a SeedLot) -> &'a str {
    match &lot.source {
        LotSource::Cross(cross) => project.code_of(*cross),
        _ => &lot.code,
    }
}

/// Sprouts of a box potted up: each becomes a plant with the next free code of its family. They come from its run, or
/// from its cold where it had not come to warmth by then.
///
/// Nothing if the box isn't there or the code template can't number.
pub fn pot_up(
    project: &Project,
    chill_box: Id<ChillBox>,
    sprouts: u32,
    day: NaiveDate,
    ids: &mut IdSource,
) -> Option<Edit> {
    let chill_box = project.chill_boxes().get(chill_box)?;
    let run = project
        .runs_of(chill_box.id)
        .find(|run| run.moved <= day)
        .map(|run| run.id);
    let lot = project.seed_lots().get(chill_box.lot)?;
    let origin = match &lot.source {
        LotSource::Cross(cross) => Origin::Cross { cross: *cross },
        LotSource::OpenPollinated(female) => Origin::OpenPollinated { female: *female },
        LotSource::Bought { from, .. } => Origin::Founder {
            source: format!("seed lot {}, {from}", lot.code),
            permission: String::new(),
            protected: false,
            imported: false,
        },
        LotSource::Unknown => Origin::Unknown,
    };
    let codes = seedling_codes(project, chill_box.id, sprouts);
    if codes.len() != sprouts as usize {
        return None;
    }
    let first_stage = project.stages_in_order().first().map(|stage| stage.id);
    let plants = codes.into_iter().map(|code| {
        Edit::add(Genotype {
            stage: first_stage,
            born: Some(day.into()),
            potted_from: run,
            sprouted_in: run.is_none().then_some(chill_box.id),
            ..Genotype::new(ids.next(), code, origin.clone())
        })
    });
    Some(Edit::all(
        format!(
            "pot up {sprouts} {} of {}",
            plural(sprouts, "seedling", "seedlings"),
            family_code(project, lot)
        ),
        plants.collect(),
    ))
}

/// A score or measurement: corrects the one of the same day, or adds one.
pub fn score(
    project: &Project,
    genotype: Id<Genotype>,
    of_trait: Id<Trait>,
    date: NaiveDate,
    value: f64,
    ids: &mut IdSource,
) -> Edit {
    let same_day = project
        .observations_of(genotype)
        .filter(|each| each.of_trait == of_trait && each.date == date)
        .last();
    match same_day {
        Some(existing) => Edit::set(existing.id, ObservationField::Value(value.into())),
        None => Edit::add(Observation::new(
            ids.next(),
            genotype,
            of_trait,
            date,
            value,
        )),
    }
}

/// The end of these plants, those already ended left as they are.
pub fn end_plants(
    project: &Project,
    plants: &[Id<Genotype>],
    kind: EndKind,
    date: PartialDate,
    cause: &str,
) -> Edit {
    let living: Vec<_> = plants
        .iter()
        .filter(|id| {
            project
                .genotypes()
                .get(**id)
                .is_some_and(Genotype::is_alive)
        })
        .collect();
    let count = living.len();
    let ends = living.into_iter().map(|id| {
        Edit::set(
            *id,
            GenotypeField::End(Some(End {
                date,
                kind,
                cause: cause.into(),
            })),
        )
    });
    Edit::all(
        format!(
            "{count} {} {}",
            plural(count as u32, "plant", "plants"),
            kind.word()
        ),
        ends.collect(),
    )
}

/// These plants are selected.
pub fn select(plants: &[Id<Genotype>], date: PartialDate, reason: &str) -> Edit {
    let selections = plants.iter().map(|id| {
        Edit::set(
            *id,
            GenotypeField::Selected(Some(Selection {
                date,
                reason: reason.into(),
            })),
        )
    });
    Edit::all(
        format!(
            "select {} {}",
            plants.len(),
            plural(plants.len() as u32, "plant", "plants")
        ),
        selections.collect(),
    )
}

/// These plants move to a stage.
pub fn move_to_stage(project: &Project, plants: &[Id<Genotype>], stage: Id<Stage>) -> Edit {
    let name = project
        .stages()
        .get(stage)
        .map_or("a stage", |stage| stage.name.as_str());
    let moves = plants
        .iter()
        .map(|id| Edit::set(*id, GenotypeField::Stage(Some(stage))));
    Edit::all(
        format!(
            "move {} {} to {name}",
            plants.len(),
            plural(plants.len() as u32, "plant", "plants")
        ),
        moves.collect(),
    )
}

/// The stage after the lowest one on which any of these plants stands; the first for plants on none, nothing after
/// the last.
pub fn next_stage(project: &Project, plants: &[Id<Genotype>]) -> Option<Id<Stage>> {
    let rank = |id: &Id<Genotype>| {
        let stage = project.genotypes().get(*id)?.stage?;
        project.stages().get(stage).map(|stage| stage.rank)
    };
    let lowest = plants.iter().map(rank).min()?;
    project
        .stages_in_order()
        .into_iter()
        .find(|stage| lowest.is_none_or(|lowest| stage.rank > lowest))
        .map(|stage| stage.id)
}

/// A box is given up, its seed thrown out, lost or returned.
pub fn end_box(chill_box: Id<ChillBox>, end: crate::BoxEnd) -> Edit {
    Edit::set(chill_box, ChillBoxField::End(Some(end)))
}

/// A batch is ended, and with it every box that has neither reached warmth nor an end of its own.
pub fn end_batch(
    project: &Project,
    batch: Id<ChillBatch>,
    day: NaiveDate,
    fate: crate::BoxFate,
    cause: &str,
) -> Edit {
    let left = project
        .boxes_of(batch)
        .filter(|each| each.end.is_none() && project.run_of(each.id).is_none());
    let end = || crate::BoxEnd {
        date: day,
        fate,
        cause: cause.into(),
    };
    let mut edits: Vec<_> = left.map(|each| end_box(each.id, end())).collect();
    edits.push(Edit::set(batch, ChillBatchField::Ended(Some(day))));
    Edit::all(format!("end {}", project.code_of(batch)), edits)
}
