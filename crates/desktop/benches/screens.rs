//! The window on a program of 100,000 seedlings: what a frame of each screen costs when nothing changes, as a
//! ratio to a frame of an empty window in the same run.
//!
//! `cargo bench -p desktop --bench screens`. A ratio holds from machine to machine; the milliseconds beside
//! it don't.
#![expect(clippy::print_stdout, reason = "a bench reports on the terminal")]

#[path = "../../domain/benches/support/program.rs"]
mod program;

use std::error::Error;
use std::time::{Duration, Instant};

use chrono::NaiveDate;
use desktop::app::{App, Places};
use desktop::open_project::OpenProject;
use desktop::preferences::Preferences;
use desktop::view::Screen;
use domain::record::temperature_log::LogPlace;
use domain::temperature::{Reading, Readings};
use domain::{AnyId, Edit, IdSource, Project, TemperatureLog};
use egui::{CentralPanel, Context, Key, Modifiers, Pos2, RawInput, Rect, Ui, ViewportId, vec2};
use egui_kittest::{Harness, kittest::Queryable as _};
use kit::theme::Theme;

/// Frames measured of each screen.
const FRAMES: usize = 41;
const SIZE: egui::Vec2 = vec2(1280.0, 800.0);

fn main() -> Result<(), Box<dyn Error>> {
    let today = NaiveDate::from_ymd_opt(2026, 2, 10).ok_or("no such day")?;
    let (making, project) = timed(|| program::program(today));
    let count = project.record_count();
    println!("{count} records, made in {making:.0?}");
    let faults = project.broken_rules();
    if let Some(refusal) = faults.first() {
        return Err(format!("{} broken rules, the first: {refusal}", faults.len()).into());
    }
    frames(project, today)
}

fn frames(project: Project, today: NaiveDate) -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let records = pages_of(&project);
    let winter = a_million_readings(&project).ok_or("no batch in the cold")?;
    let mut open = OpenProject::create(&folder.path().join("large.binewright"), project, "Bench")?;
    let (taking, taken) = timed(|| open.apply(&winter));
    taken?;
    println!("a million temperatures taken in: {taking:.1?}");
    let places = Places {
        preferences: None,
        samples: folder.path().into(),
    };
    let mut app = App::new(
        Preferences::default(),
        places,
        Box::new(|_| None),
        Box::new(move || today),
    );
    app.open_project(open);
    let empty = empty_window();
    println!("a frame of an empty window: {empty:.3?}");
    let mut harness = Harness::builder()
        .with_size(SIZE)
        .with_max_steps(200)
        .with_context_setup(|ctx| {
            Theme::Light.apply(ctx);
            // A blinking cursor would request frames.
            ctx.all_styles_mut(|style| style.visuals.text_cursor.blink = false);
        })
        .build_ui_state(|ui, app: &mut App| app.show(ui), app);
    let first = |harness: &mut Harness<'_, App>| {
        let slowest = (0..4).map(|_| timed(|| harness.step()).0).max();
        settle(harness);
        slowest.unwrap_or_default()
    };
    harness.key_press_modifiers(Modifiers::COMMAND, Key::F);
    settle(&mut harness);
    harness
        .get_by_label("Code to find")
        .type_text("no such code");
    let coming = first(&mut harness);
    steady(&mut harness, "Find a code that isn't there", coming, empty)?;
    harness.key_press(Key::Escape);
    settle(&mut harness);
    for id in records {
        harness.state_mut().show_record(id);
        let coming = first(&mut harness);
        steady(
            &mut harness,
            &format!("a {}'s page", id.kind.noun()),
            coming,
            empty,
        )?;
    }
    for screen in Screen::ALL {
        harness.state_mut().go(screen);
        let coming = first(&mut harness);
        steady(&mut harness, screen.title(), coming, empty)?;
        for page in pages(screen) {
            harness.get_by_label(page).click();
            let coming = first(&mut harness);
            let name = format!("{}, {page}", screen.title());
            steady(&mut harness, &name, coming, empty)?;
        }
    }
    Ok(())
}

/// One record of each kind that has a page: the founder with most offspring, and the latest of each other kind.
fn pages_of(project: &Project) -> Vec<AnyId> {
    let most = |plant: &&domain::Genotype| project.crosses_with_female(plant.id).count();
    let founders = project.genotypes().iter().take(40);
    [
        founders.max_by_key(most).map(|plant| plant.id.into()),
        project
            .crosses()
            .iter()
            .next_back()
            .map(|each| each.id.into()),
        project
            .seed_lots()
            .iter()
            .next_back()
            .map(|each| each.id.into()),
        project
            .chill_boxes()
            .iter()
            .next_back()
            .map(|each| each.id.into()),
        project
            .germinations()
            .iter()
            .next_back()
            .map(|each| each.id.into()),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The further pages of a screen, by the labels of the buttons that open them.
const fn pages(screen: Screen) -> &'static [&'static str] {
    match screen {
        Screen::Calendar => &["Season"],
        Screen::Plants => &["All"],
        Screen::Seedlings => &["All", "Scoring", "Include culled and dead", "Families"],
        _ => &[],
    }
}

/// Lets workers finish and animations end: half a second in which nothing asks to be drawn.
fn settle(harness: &mut Harness<'_, App>) {
    let start = Instant::now();
    let mut calm = 0;
    while calm < 30 && start.elapsed() < Duration::from_mins(1) {
        std::thread::sleep(Duration::from_millis(20));
        harness.step();
        let delay = harness.output().viewport_output[&ViewportId::ROOT].repaint_delay;
        calm = if delay == Duration::MAX { calm + 1 } else { 0 };
    }
}

/// Reports a screen on which nothing changes; an error if it asks to be drawn again all the same.
fn steady(
    harness: &mut Harness<'_, App>,
    name: &str,
    coming: Duration,
    empty: Duration,
) -> Result<(), Box<dyn Error>> {
    let ctx = harness.ctx.clone();
    ctx.disable_accesskit();
    let mut again = 0;
    let mut triangles = 0;
    // The first frames after AccessKit is turned off still lay out what was there before.
    for _ in 0..5 {
        frame(&ctx, |ui| harness.state_mut().show(ui));
    }
    let frame = median(FRAMES, || {
        let (delay, drawn) = frame(&ctx, |ui| harness.state_mut().show(ui));
        again += usize::from(delay < Duration::MAX);
        triangles = drawn;
    });
    ctx.enable_accesskit();
    let note = format!("{triangles} triangles; slowest frame on coming there {coming:.1?}");
    report(name, frame, empty, &note);
    if again > 0 {
        return Err(format!("{name}: {again} of {FRAMES} frames asked for another").into());
    }
    Ok(())
}

/// A reading every five seconds of the batch that went into the cold last, with a spike now and then.
fn a_million_readings(project: &Project) -> Option<Edit> {
    let batches = project.chill_batches().iter().filter(|each| each.started);
    let batch = batches.max_by_key(|batch| batch.start)?;
    let begin = batch.start.and_hms_opt(8, 0, 0)?.and_utc().timestamp();
    let reading = |nth: i64| Reading {
        at: begin + 5 * nth,
        hundredths: if nth % 90_001 == 0 {
            1_100
        } else {
            250 + (nth * 7919 % 150) as i16
        },
    };
    Some(Edit::add(TemperatureLog {
        id: IdSource::new(1_800_000_000_000, 1).next(),
        at: LogPlace::Batch(batch.id),
        readings: Readings::new((0..1_000_000).map(reading).collect()),
        source: "a logger".into(),
        remark: String::new(),
    }))
}

fn empty_window() -> Duration {
    let ctx = Context::default();
    Theme::Light.apply(&ctx);
    let draw = |ui: &mut Ui| {
        CentralPanel::default().show(ui, |_| ());
    };
    for _ in 0..5 {
        frame(&ctx, draw);
    }
    median(FRAMES, || {
        frame(&ctx, draw);
    })
}

/// One frame, laid out and tessellated. Returns when the next is asked for, and the triangles drawn.
fn frame(ctx: &Context, draw: impl FnMut(&mut Ui)) -> (Duration, usize) {
    let input = RawInput {
        screen_rect: Some(Rect::from_min_size(Pos2::ZERO, SIZE)),
        ..RawInput::default()
    };
    let mut output = ctx.run_ui(input, draw);
    // Nothing is painted, so new glyphs are dropped.
    output.textures_delta.clear();
    let delay = output.viewport_output[&ViewportId::ROOT].repaint_delay;
    let shapes = ctx.tessellate(output.shapes, output.pixels_per_point);
    let triangles = shapes.iter().map(|shape| match &shape.primitive {
        egui::epaint::Primitive::Mesh(mesh) => mesh.indices.len() / 3,
        egui::epaint::Primitive::Callback(_) => 0,
    });
    (delay, triangles.sum())
}

fn timed<T>(work: impl FnOnce() -> T) -> (Duration, T) {
    let start = Instant::now();
    let made = work();
    (start.elapsed(), made)
}

fn median(times: usize, mut work: impl FnMut()) -> Duration {
    let mut taken: Vec<Duration> = (0..times).map(|_| timed(&mut work).0).collect();
    taken.sort();
    taken[times / 2]
}

fn report(what: &str, ours: Duration, bare: Duration, note: &str) {
    println!(
        "{what}: {:.1} ({:.3} ms / {:.3} ms; {note})",
        ours.as_secs_f64() / bare.as_secs_f64(),
        ours.as_secs_f64() * 1e3,
        bare.as_secs_f64() * 1e3
    );
}
