//! The chart: lines made ready on a worker, readings by hand on the same scale.

use super::Subject;
use crate::screens::chart_file::save_chart;
use crate::view::{Outbox, View};
use chart::{Axis, Chart, Line, Series};
use chrono::{NaiveDate, NaiveTime};
use domain::temperature::{
    Band, BatchCold, Exposure, Readings, Zone, hours, manual_readings, readings_of,
};
use domain::words::counted;
use domain::{LogPlace, Project, Regimen};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{
    Bucket, Excursion, MinMaxSeries, Period, TakenTable, TemperatureChart, TemperatureUnit,
    offer_table,
};
use kit::worker::Worker;

/// What the chart remembers between frames.
#[derive(Default)]
pub(super) struct State {
    lines: Worker<(u64, Subject), Vec<MinMaxSeries>>,
    period: Option<(Subject, Period)>,
}

const HEIGHT: f32 = 300.0;
const NONE_YET: &str = "No temperatures are on record for it yet. Import the file of its logger, or note the \
    temperature when you check its boxes.";

/// Draws the chart and the buttons that change its period.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    subject: &Subject,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let key = (project.revision(), subject.clone());
    let latest = state.lines.follow(ui.ctx(), key, || {
        let readings = readings(project, subject);
        move |_| Some(readings.iter().map(min_max_series).collect::<Vec<_>>())
    });
    let Some(lines) = latest else {
        ui.label(muted(ui, "Reading…"));
        return;
    };
    let batch = match subject {
        Subject::Batch(id) => project.chill_batches().get(*id),
        Subject::Place(_) => None,
    };
    let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
    let by_hand: Vec<(i64, f64)> = batch
        .map(|batch| manual_readings(project, batch))
        .unwrap_or_default()
        .into_iter()
        .filter_map(|check| {
            Some((
                check.date.and_time(noon).and_utc().timestamp(),
                check.temperature?.0,
            ))
        })
        .collect();
    let ends = lines.iter().filter_map(MinMaxSeries::ends);
    let ends = ends.reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)));
    let whole = match (batch, ends) {
        (Some(batch), _) => {
            let end = batch
                .ended
                .unwrap_or_else(|| batch.ready_on().max(view.today));
            Period {
                from: seconds(batch.start),
                to: seconds(end.max(batch.start)) + 86_400.0,
            }
        }
        (None, Some((from, to))) => Period {
            from: from as f64 - 3600.0,
            to: to as f64 + 3600.0,
        },
        (None, None) => {
            ui.label(muted(ui, "No temperatures are on record for it yet."));
            return;
        }
    };
    if ends.is_none() && by_hand.is_empty() {
        ui.add(egui::Label::new(muted(ui, NONE_YET)).wrap());
        return;
    }
    let mut period = match &state.period {
        Some((of, period)) if of == subject => *period,
        _ => whole,
    };
    let cold = batch.and_then(|batch| {
        let derived = view.derived.cold(project, view.today, ui.ctx())?;
        derived.batches.get(&batch.id).cloned()
    });
    let regimen = batch.map_or_else(Regimen::default, |batch| batch.regimen.clone());
    let band = Band::from(&regimen);
    let excursions = cold.as_ref().map(excursions).unwrap_or_default();
    let title = format!("Temperatures of {}", super::words(project, subject));
    let summary = summary(view, cold.as_ref(), by_hand.len(), ends);
    period_ui(ui, &mut period, whole);
    TemperatureChart {
        title: &title,
        summary: &summary,
        lines: &lines,
        band: (band.from, band.to),
        freezing: band.freezing,
        excursions: &excursions,
        by_hand: &by_hand,
        unit: view.preferences.temperature,
    }
    .show(ui, HEIGHT, &mut period, whole);
    save_chart(ui, view.today, out, &title, || {
        let unit = view.preferences.temperature;
        on_paper(&title, &lines, &by_hand, (band.from, band.to), unit, period)
    });
    offer_table(ui.ctx(), || table(&title, &readings(project, subject)));
    ui.add(egui::Label::new(muted(ui, summary)).wrap());
    ui.add_space(space::S);
    state.period = (period != whole).then(|| (subject.clone(), period));
}

/// The chart of a period to be kept as a file: the lowest and highest of each stretch as a band, readings by hand as
/// marks, the target range as a band of its own.
fn on_paper(
    title: &str,
    lines: &[MinMaxSeries],
    by_hand: &[(i64, f64)],
    (low, high): (f64, f64),
    unit: TemperatureUnit,
    period: Period,
) -> Chart {
    const FINE: usize = 1200;
    let days = |at: f64| (at - period.from) / 86_400.0;
    let last = days(period.to);
    let degrees = |celsius: f64| unit.from_celsius(celsius);
    let target = Series {
        name: "target range".into(),
        band: [0.0, last]
            .map(|at| chart::Band {
                at,
                low: degrees(low),
                high: degrees(high),
            })
            .to_vec(),
        end: Some(last),
        ..Series::default()
    };
    let logged = lines.iter().map(|line| {
        let mut pieces: Vec<Vec<(f64, f64)>> = Vec::new();
        let mut before: Option<&Bucket> = None;
        for bucket in line.within(period.from as i64, period.to as i64, FINE) {
            if before.is_none_or(|before| line.is_gap(before, bucket)) {
                pieces.push(Vec::new());
            }
            before = Some(bucket);
            let at = days(f64::midpoint(bucket.from as f64, bucket.to as f64));
            if let (Some(piece), true) = (pieces.last_mut(), (0.0..=last).contains(&at)) {
                let ends = [bucket.low, bucket.high].map(|celsius| (at, degrees(celsius.into())));
                piece.extend(ends);
            }
        }
        let pieces = pieces.into_iter().filter(|piece| piece.len() > 1);
        Series {
            lines: pieces
                .map(|points| Line {
                    points,
                    width: 1.0,
                    dashed: false,
                })
                .collect(),
            ..Series::default()
        }
    });
    let hand = Series {
        name: if by_hand.is_empty() { "" } else { "by hand" }.into(),
        marks: by_hand
            .iter()
            .map(|&(at, celsius)| (days(at as f64), degrees(celsius)))
            .filter(|(at, _)| (0.0..=last).contains(at))
            .collect(),
        ..Series::default()
    };
    let series: Vec<Series> = std::iter::once(target)
        .chain(logged)
        .chain([hand])
        .collect();
    let values = series.iter().flat_map(|series| {
        let lines = series.lines.iter().flat_map(|line| &line.points);
        let ends = series.band.iter().flat_map(|band| [band.low, band.high]);
        let points = lines.chain(&series.marks).map(|(_, value)| *value);
        points.chain(ends).collect::<Vec<_>>()
    });
    let first = chrono::DateTime::from_timestamp(period.from as i64, 0).unwrap_or_default();
    let since = format!("days from {}", kit::dates::day(first.date_naive()));
    Chart {
        title: title.to_owned(),
        across: Axis::days(&since, last),
        up: Axis::around(unit.sign(), values),
        series,
    }
}

/// The buttons that change the period shown, and what the marks mean.
fn period_ui(ui: &mut Ui, period: &mut Period, whole: Period) {
    ui.horizontal_wrapped(|ui| {
        for (words, act) in [
            ("All", Act::Whole),
            ("Zoom in", Act::Scale(0.5)),
            ("Zoom out", Act::Scale(2.0)),
            ("Earlier", Act::Shift(-0.5)),
            ("Later", Act::Shift(0.5)),
        ] {
            if ui.button(words).clicked() {
                match act {
                    Act::Whole => *period = whole,
                    Act::Scale(by) => period.scale(by, whole),
                    Act::Shift(part) => period.shift(part, whole),
                }
            }
        }
        ui.label(muted(ui, "Drag to move. Diamond: read by hand. Bar at the bottom: outside the target range; with \
            a point: freezing.").small());
    });
}

/// All readings, in °C, as in the project.
fn table(title: &str, readings: &[Readings]) -> TakenTable {
    let rows = readings.iter().flat_map(Readings::iter).map(|reading| {
        let at = chrono::DateTime::from_timestamp(reading.at, 0).unwrap_or_default();
        let celsius = reading.celsius().0.to_string();
        vec![at.format("%Y-%m-%d %H:%M:%S").to_string(), celsius]
    });
    TakenTable {
        name: title.to_owned(),
        header: ["Moment", "°C"].map(str::to_owned).to_vec(),
        rows: rows.collect(),
    }
}

#[derive(Clone, Copy)]
enum Act {
    Whole,
    Scale(f64),
    Shift(f64),
}

fn seconds(day: NaiveDate) -> f64 {
    day.and_time(NaiveTime::MIN).and_utc().timestamp() as f64
}

/// The readings of a subject, shared with the project.
fn readings(project: &Project, subject: &Subject) -> Vec<Readings> {
    match subject {
        Subject::Batch(id) => project
            .chill_batches()
            .get(*id)
            .map(|batch| {
                readings_of(project, batch)
                    .map(|log| log.readings.clone())
                    .collect()
            })
            .unwrap_or_default(),
        Subject::Place(place) => project
            .temperature_logs()
            .iter()
            .filter(|log| matches!(&log.at, LogPlace::Place(of) if of == place))
            .map(|log| log.readings.clone())
            .collect(),
    }
}

fn min_max_series(readings: &Readings) -> MinMaxSeries {
    MinMaxSeries::new(
        readings
            .iter()
            .map(|reading| (reading.at, reading.celsius().0 as f32)),
        readings.gap_limit(),
    )
}

/// Freezes, and whatever else lay outside the band for an hour or longer.
fn excursions(cold: &BatchCold) -> Vec<Excursion> {
    let spells = cold.exposure.spells.iter();
    spells
        .filter(|spell| spell.zone == Zone::Freezing || spell.hours() >= 1.0)
        .map(|spell| Excursion {
            from: spell.from as i64,
            to: spell.to as i64,
            freezing: spell.zone == Zone::Freezing,
        })
        .collect()
}

/// The chart in words.
fn summary(
    view: &View<'_>,
    cold: Option<&BatchCold>,
    by_hand: usize,
    ends: Option<(i64, i64)>,
) -> String {
    let mut words = Vec::new();
    let show = |celsius: f64| view.preferences.temperature.show(celsius);
    if let Some(exposure) = cold.map(|cold| &cold.exposure) {
        let Exposure {
            extremes,
            readings,
            spells,
            ..
        } = exposure;
        words.push(format!("{readings} readings"));
        if let Some((low, high)) = extremes {
            words.push(format!(
                "by the logger lowest {}, highest {}",
                show(*low),
                show(*high)
            ));
        }
        if let Some(share) = exposure.share_in_band() {
            words.push(format!(
                "{:.0} % of the known hours in the target range",
                share * 100.0
            ));
        }
        let freezes = spells
            .iter()
            .filter(|spell| spell.zone == Zone::Freezing)
            .count();
        words.push(match freezes {
            0 => "never at or under freezing".into(),
            _ => format!(
                "{} at or under freezing in {}",
                hours(exposure.freezing),
                counted(freezes, "spell", "spells")
            ),
        });
        let gaps = exposure
            .gaps
            .iter()
            .filter(|(from, to)| to - from > 6.0 * 3600.0)
            .count();
        if gaps > 0 {
            words.push(format!(
                "{} longer than 6 hours",
                counted(gaps, "gap", "gaps")
            ));
        }
    } else if let Some((from, to)) = ends {
        let day = |at| {
            chrono::DateTime::from_timestamp(at, 0)
                .unwrap_or_default()
                .format("%-d %b %Y")
        };
        words.push(format!("readings from {} to {}", day(from), day(to)));
    }
    if by_hand > 0 {
        words.push(format!("{by_hand} read by hand"));
    }
    format!("{}.", words.join(", "))
}
