//! Opening, saving and journalling a project of 100,000 seedlings, as ratios to the bare work in the same run.
//!
//! `cargo bench -p store`. A ratio holds from machine to machine; the milliseconds beside it don't.

#![expect(clippy::print_stdout, reason = "a bench reports on the terminal")]

use domain::{
    Cross, Edit, Genotype, IdSource, Observation, Origin, Pollen, Project, ProjectParts, Scale,
    Trait,
};
use serde::Deserialize;
use std::error::Error;
use std::fs::{self, File, OpenOptions};
use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};
use store::{Existing, Store};

const SEEDLINGS: usize = 100_000;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("large.binewright");
    let store = Store::new("Bench");
    let project = large();
    store.create(&path, &project, Existing::Keep)?;
    let bytes = fs::read(&path)?;
    println!(
        "{SEEDLINGS} seedlings, {} records, {:.1} MB",
        project.record_count(),
        bytes.len() as f64 / 1e6
    );
    open(&store, &path)?;
    save(&store, &path, &project)?;
    append(&store, folder.path())
}

/// The records alone, as bare `serde_json` reads them.
#[derive(Deserialize)]
struct Bare {
    project: ProjectParts,
}

fn open(store: &Store, path: &Path) -> Result<(), Box<dyn Error>> {
    let bare = median(7, || {
        let bytes = fs::read(path)?;
        let bare: Bare = serde_json::from_slice(&bytes)?;
        assert!(bare.project.genotypes.len() >= SEEDLINGS);
        Ok(())
    })?;
    let indexed = median(7, || {
        let bytes = fs::read(path)?;
        let bare: Bare = serde_json::from_slice(&bytes)?;
        assert!(Project::from_parts(bare.project).record_count() > SEEDLINGS);
        Ok(())
    })?;
    let opened = median(7, || {
        let opened = store.open(path)?;
        assert!(opened.project.record_count() > SEEDLINGS);
        Ok(())
    })?;
    report("open / read and bare serde_json (aim 1.5)", opened, bare);
    report(
        "open / the same and the project's own indexes",
        opened,
        indexed,
    );
    Ok(())
}

fn save(store: &Store, path: &Path, project: &Project) -> Result<(), Box<dyn Error>> {
    let opened = store.open(path)?;
    let beside = path.with_extension("bare");
    // The first save leaves a backup; it is due once an hour.
    opened.file.save(&opened.project)?;
    let text = median(7, || {
        assert!(serde_json::to_vec_pretty(project)?.len() > SEEDLINGS);
        Ok(())
    })?;
    let bare = median(7, || {
        let mut file = File::create(&beside)?;
        file.write_all(&serde_json::to_vec_pretty(project)?)?;
        file.sync_data()?;
        Ok(())
    })?;
    let saved = median(7, || Ok(opened.file.save(&opened.project)?))?;
    report("save / bare serde_json in memory", saved, text);
    report(
        "save / bare serde_json, write and fsync (aim 1.3)",
        saved,
        bare,
    );
    Ok(())
}

fn append(store: &Store, folder: &Path) -> Result<(), Box<dyn Error>> {
    let path = folder.join("small.binewright");
    let file = store.create(&path, &Project::default(), Existing::Keep)?;
    let mut ids = IdSource::new(1, 2);
    let mut edits = (0..).map(|n| Edit::add(seedling(n, &mut ids, &Origin::Unknown)));
    let mut next = || edits.next().ok_or("no more edits");
    file.append(&next()?)?;
    file.flush()?;
    let line = fs::read(folder.join("small.binewright-journal"))?.len();
    let mut bare_file = OpenOptions::new()
        .create(true)
        .append(true)
        .open(folder.join("bare"))?;
    let bare = median(101, || {
        bare_file.write_all(&vec![b'x'; line])?;
        Ok(bare_file.sync_data()?)
    })?;
    let acknowledged = median(101, || {
        file.append(&next()?)?;
        Ok(file.flush()?)
    })?;
    report(
        "one change acknowledged / append and fsync of as many bytes (aim 1.5)",
        acknowledged,
        bare,
    );
    let handed = median(1001, || {
        file.append(&next()?)?;
        Ok(())
    })?;
    report(
        "handing a change over / append and fsync of as many bytes",
        handed,
        bare,
    );
    let thousand = median(5, || {
        for _ in 0..1000 {
            file.append(&next()?)?;
        }
        Ok(file.flush()?)
    })?;
    report(
        "a thousand changes acknowledged / one append and fsync",
        thousand,
        bare,
    );
    Ok(())
}

fn median(
    times: usize,
    mut work: impl FnMut() -> Result<(), Box<dyn Error>>,
) -> Result<Duration, Box<dyn Error>> {
    let mut taken = Vec::with_capacity(times);
    for _ in 0..times {
        let start = Instant::now();
        work()?;
        taken.push(start.elapsed());
    }
    taken.sort();
    Ok(taken[times / 2])
}

fn report(what: &str, ours: Duration, bare: Duration) {
    println!(
        "{what}: {:.2} ({:.3} ms / {:.3} ms)",
        ours.as_secs_f64() / bare.as_secs_f64(),
        ours.as_secs_f64() * 1e3,
        bare.as_secs_f64() * 1e3
    );
}

fn seedling(n: usize, ids: &mut IdSource, origin: &Origin) -> Genotype {
    Genotype {
        location: format!("bed {}", n % 40),
        ..Genotype::new(ids.next(), format!("26-{:02}-{n}", n % 100), origin.clone())
    }
}

/// A hundred crosses among twenty founders, their seedlings, two scores each.
fn large() -> Project {
    let mut ids = IdSource::new(1_700_000_000_000, 1);
    let mut parts = ProjectParts::default();
    for name in ["Vigour", "Downy mildew"] {
        parts.traits.push(Trait {
            id: ids.next(),
            name: name.into(),
            scale: Scale::one_to_nine("low", "high"),
            direction: domain::Direction::Higher,
            method: String::new(),
        });
    }
    for n in 0..20 {
        parts.genotypes.push(Genotype::new(
            ids.next(),
            format!("Founder {n}"),
            Origin::Unknown,
        ));
    }
    for n in 0..100 {
        parts.crosses.push(Cross {
            id: ids.next(),
            code: format!("26-{n:02}"),
            female: parts.genotypes[n % 10].id,
            pollen: Pollen::Male(parts.genotypes[10 + n % 10].id),
            season: 2026,
            planned_pollination: None,
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        });
    }
    let day = domain::date::shift(chrono::NaiveDate::default(), 20_600);
    for n in 0..SEEDLINGS {
        let cross = parts.crosses[n % 100].id;
        let plant = seedling(n, &mut ids, &Origin::Cross { cross });
        for of_trait in &parts.traits {
            parts.observations.push(Observation::new(
                ids.next(),
                plant.id,
                of_trait.id,
                day,
                (1 + n % 9) as f64,
            ));
        }
        parts.genotypes.push(plant);
    }
    Project::from_parts(parts)
}
