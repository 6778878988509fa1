//! The cold of a batch by its temperatures, the order of the round, and a second cold.
#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use crate::program::day;
use chrono::{NaiveDateTime, TimeDelta};
use domain::record::temperature_log::TemperatureLogField;
use domain::risk::{by_risk, mould_advice};
use domain::temperature::{
    BatchCold, Harm, Reading, Readings, Zone, advice, cold_week, manual_readings, stands_in,
};
use domain::{
    BoxEnd, BoxFate, Celsius, ChillBatch, ChillBox, Edit, Id, IdSource, LogPlace, LotSource,
    Moisture, Project, RestFate, SeedAmount, SeedLot, TemperatureLog, actions,
};

/// A project with a batch of two boxes in the refrigerator, in the cold since 1 January 2026 for 60 days.
fn in_cold() -> (Project, ChillBatch, Vec<Id<ChillBox>>, IdSource) {
    let mut ids = IdSource::new(0, 0);
    let mut project = Project::default();
    let begin = actions::begin_project("Tarn yard", domain::Hemisphere::Northern, &mut ids);
    project.apply(begin).unwrap();
    let lot = SeedLot {
        id: ids.next(),
        code: "L".into(),
        source: LotSource::Unknown,
        harvested: None,
        cleaned: None,
        amount: Some(SeedAmount::Counted(500)),
        place: String::new(),
        conditions: String::new(),
    };
    let lot_id = lot.id;
    project.apply(Edit::add(lot)).unwrap();
    let protocol = project.settings().protocol.unwrap();
    let mut batch = actions::plan_batch(&project, protocol, day("2026-01-01"), &mut ids).unwrap();
    batch.place = "Refrigerator, shelf 2".into();
    project.apply(Edit::add(batch.clone())).unwrap();
    let lay = actions::lay_boxes(&project, &batch, lot_id, 150, 100, &mut ids);
    project.apply(lay).unwrap();
    project
        .apply(actions::start_batch(&batch, day("2026-01-01")))
        .unwrap();
    let batch = project.chill_batches().get(batch.id).unwrap().clone();
    let boxes = project.boxes_of(batch.id).map(|each| each.id).collect();
    (project, batch, boxes, ids)
}

/// Hourly readings from a moment on, each as `celsius` says of its hour.
fn hourly(begin: &str, hours: i64, celsius: impl Fn(i64) -> f64) -> Vec<Reading> {
    let begin: NaiveDateTime = begin.parse().unwrap();
    (0..hours)
        .map(|hour| Reading::new(begin + TimeDelta::hours(hour), Celsius(celsius(hour))))
        .collect()
}

fn log(
    project: &mut Project,
    ids: &mut IdSource,
    at: LogPlace,
    readings: Vec<Reading>,
) -> Id<TemperatureLog> {
    let id = ids.next();
    project
        .apply(Edit::add(TemperatureLog {
            id,
            at,
            readings: Readings::new(readings),
            source: "logger".into(),
            remark: String::new(),
        }))
        .unwrap();
    id
}

fn refrigerator() -> LogPlace {
    LogPlace::Place("Refrigerator".into())
}

#[track_caller]
fn near(one: f64, other: f64) {
    assert!((one - other).abs() < 1e-6, "{one} is not {other}");
}

#[test]
fn a_batch_without_temperatures_has_a_day_by_the_calendar_alone() {
    let (project, batch, ..) = in_cold();
    let cold = BatchCold::of(&project, &batch, day("2026-01-11")).unwrap();
    assert_eq!(cold.by_calendar, day("2026-03-02"));
    near(cold.required, 1440.0);
    assert_eq!((cold.by_temperature, cold.exposure.readings), (None, 0));
    near(cold.exposure.unknown, 240.0);
}

#[test]
fn an_unbroken_cold_is_ready_when_the_calendar_says() {
    let (mut project, batch, _, mut ids) = in_cold();
    log(
        &mut project,
        &mut ids,
        refrigerator(),
        hourly("2026-01-01T00:00:00", 241, |_| 3.0),
    );
    let cold = BatchCold::of(&project, &batch, day("2026-01-11")).unwrap();
    near(cold.exposure.in_band, 240.0);
    let reckoned = cold.by_temperature.unwrap();
    assert_eq!(reckoned.expected, day("2026-03-02"));
    assert_eq!(
        (reckoned.earliest, reckoned.latest),
        (reckoned.expected, Some(reckoned.expected))
    );
    assert!(advice(&cold).is_empty());
}

#[test]
fn lost_hours_are_added_at_the_end_and_unknown_ones_widen_the_days() {
    let (mut project, batch, _, mut ids) = in_cold();
    // Ten days: two of them at 9 °C, four without the logger, four in the band.
    let mut readings = hourly("2026-01-01T00:00:00", 49, |_| 3.0);
    readings.extend(hourly("2026-01-07T00:00:00", 48, |_| 9.0));
    readings.extend(hourly("2026-01-09T00:00:00", 49, |_| 3.0));
    log(&mut project, &mut ids, refrigerator(), readings);
    let cold = BatchCold::of(&project, &batch, day("2026-01-11")).unwrap();
    let exposure = &cold.exposure;
    near(exposure.unknown, 96.0);
    assert_eq!(exposure.gaps.len(), 1);
    near(exposure.known() + exposure.unknown, 240.0);
    let reckoned = cold.by_temperature.unwrap();
    // Of 144 known hours about 96 lay in the band: by hand, 1440 - 96.2 - 96 hours if all else is in the band.
    assert_eq!(reckoned.earliest, day("2026-03-03"));
    assert!(reckoned.earliest < reckoned.expected && reckoned.expected < reckoned.latest.unwrap());
    let told = advice(&cold);
    assert_eq!(told[0].zone, Zone::Above);
    let words = told[0].what_with(|celsius| format!("{celsius:.1} °C"));
    assert!(words.contains("up to 9.0 °C"), "{words}");
    assert!(told[0].source.contains("Common practice"));
}

#[test]
fn a_freeze_is_told_first_with_its_lowest() {
    let (mut project, batch, _, mut ids) = in_cold();
    let readings = hourly("2026-01-01T00:00:00", 241, |hour| {
        if (100..106).contains(&hour) {
            -2.5
        } else {
            3.0
        }
    });
    log(&mut project, &mut ids, refrigerator(), readings);
    let cold = BatchCold::of(&project, &batch, day("2026-01-11")).unwrap();
    let told = advice(&cold);
    assert_eq!(told[0].zone, Zone::Freezing);
    let words = told[0].what_with(|celsius| format!("{celsius:.1} °C"));
    assert!(
        words.contains("the lowest was -2.5 °C on 5 Jan 2026"),
        "{words}"
    );
    // It is an alarm until somebody has written that it was seen to.
    let harm = Harm::of(&project, &batch, &cold).unwrap();
    assert_eq!((harm.on, harm.word()), (day("2026-01-05"), "Frozen"));
    assert_eq!(harm.boxes.len(), project.boxes_of(batch.id).count());
    assert!(!harm.answered);
    let mut seen_to = project.clone();
    let note = harm.answer(day("2026-01-11"), "Maret", &mut ids);
    seen_to.apply(note).unwrap();
    assert!(Harm::of(&seen_to, &batch, &cold).unwrap().answered);
    // Seed that is no longer there wants nothing done.
    for each in project
        .boxes_of(batch.id)
        .map(|each| each.id)
        .collect::<Vec<_>>()
    {
        let end = BoxEnd {
            date: day("2026-01-10"),
            fate: BoxFate::Discarded,
            cause: String::new(),
        };
        let field = domain::record::chill::ChillBoxField::End(Some(end));
        seen_to.apply(Edit::set(each, field)).unwrap();
    }
    assert!(Harm::of(&seen_to, &batch, &cold).is_none());
    let found = domain::findings::findings(&project, day("2026-01-11"));
    assert!(
        found
            .iter()
            .any(|each| each.what.contains("was at or below 0.0 °C for"))
    );
}

#[test]
fn the_logs_of_a_batch_go_before_those_of_its_place_which_fill_their_gaps() {
    let (mut project, batch, _, mut ids) = in_cold();
    let mut own = hourly("2026-01-01T00:00:00", 25, |_| 3.0);
    own.extend(hourly("2026-01-03T00:00:00", 25, |_| 3.0));
    log(&mut project, &mut ids, LogPlace::Batch(batch.id), own);
    log(
        &mut project,
        &mut ids,
        refrigerator(),
        hourly("2025-12-01T00:00:00", 2000, |_| 9.0),
    );
    let cold = BatchCold::of(&project, &batch, day("2026-01-03")).unwrap();
    near(cold.exposure.in_band, 48.0);
    near(cold.exposure.above, 24.0);
    near(cold.exposure.unknown, 0.0);
    let elsewhere = LogPlace::Place("Refrigerator 2".into());
    log(
        &mut project,
        &mut ids,
        elsewhere,
        hourly("2026-01-01T00:00:00", 2000, |_| -9.0),
    );
    let same = BatchCold::of(&project, &batch, day("2026-01-03")).unwrap();
    near(same.exposure.freezing, 0.0);
    assert!(
        stands_in("refrigerator, door", "Refrigerator")
            && !stands_in("Refrigerator 2", "Refrigerator")
    );
}

#[test]
fn looks_with_a_temperature_are_readings_by_hand_until_the_box_is_warm() {
    let (mut project, batch, boxes, mut ids) = in_cold();
    for (date, celsius) in [("2026-01-02", 3.1), ("2026-03-05", 21.0)] {
        let mut check = domain::Check::nothing_found(ids.next(), boxes[0], day(date));
        check.temperature = Some(Celsius(celsius));
        project.apply(Edit::add(check)).unwrap();
    }
    assert_eq!(manual_readings(&project, &batch).len(), 2);
    project
        .apply(actions::warm(&boxes[..1], day("2026-03-02"), &mut ids))
        .unwrap();
    let read = manual_readings(&project, &batch);
    assert_eq!(read[0].temperature, Some(Celsius(3.1)));
    assert_eq!(read.len(), 1);
}

#[test]
fn what_cannot_be_a_log_is_refused() {
    let (mut project, batch, _, mut ids) = in_cold();
    let readings = || hourly("2026-01-01T00:00:00", 3, |_| 3.0);
    let mut refused = |at: LogPlace, readings: Vec<Reading>| {
        let edit = Edit::add(TemperatureLog {
            id: ids.next(),
            at,
            readings: Readings::new(readings),
            source: String::new(),
            remark: String::new(),
        });
        project.apply(edit).unwrap_err().what
    };
    assert!(refused(LogPlace::Place("  ".into()), readings()).contains("no place"));
    assert!(refused(refrigerator(), Vec::new()).contains("no temperature in it"));
    assert!(
        refused(refrigerator(), hourly("2026-01-01T00:00:00", 1, |_| 95.0)).contains("95.0 °C")
    );
    assert!(refused(refrigerator(), hourly("1926-01-01T00:00:00", 1, |_| 3.0)).contains("1926"));
    let kept = log(
        &mut project,
        &mut ids,
        LogPlace::Batch(batch.id),
        readings(),
    );
    let more = readings().into_iter().next().unwrap();
    let with = project
        .temperature_logs()
        .get(kept)
        .unwrap()
        .readings
        .with(Reading {
            hundredths: 200,
            ..more
        });
    assert_eq!(
        with.first().unwrap().hundredths,
        200,
        "the later word on a moment stays"
    );
    project
        .apply(Edit::set(kept, TemperatureLogField::Readings(with)))
        .unwrap();
    assert!(project.describe(kept.into()).contains(&batch.code));
}

#[test]
fn the_box_that_wants_it_most_comes_first_and_mould_that_comes_back_is_asked_about() {
    let (mut project, batch, boxes, mut ids) = in_cold();
    let (quiet, mouldy) = (boxes[0], boxes[1]);
    for (date, found) in [("2026-01-08", 2), ("2026-01-12", 3)] {
        let mut check = domain::Check::nothing_found(ids.next(), mouldy, day(date));
        check.mouldy_removed = found;
        check.moisture = Some(Moisture::Wet);
        project.apply(Edit::add(check)).unwrap();
        let look = actions::check_boxes(&[quiet], day(date), &mut ids);
        project.apply(look).unwrap();
    }
    let today = day("2026-01-13");
    let order = by_risk(&project, &boxes, today);
    assert_eq!(order[0].chill_box, mouldy);
    assert!(order[0].weight > order[1].weight);
    assert!(
        order[0]
            .reasons
            .iter()
            .any(|reason| reason == "mould at 2 recent checks"),
        "{order:?}"
    );
    assert!(order[1].reasons.is_empty(), "seen yesterday, nothing found");
    let asked = mould_advice(&project, project.chill_boxes().get(mouldy).unwrap(), today);
    assert!(
        asked
            .iter()
            .any(|sentence| sentence.contains("let it drain"))
    );
    assert!(
        asked
            .iter()
            .any(|sentence| sentence.contains("No surface sterilisation is recorded"))
    );
    assert!(mould_advice(&project, project.chill_boxes().get(quiet).unwrap(), today).is_empty());
    // A freeze of the week weighs on every box of the batch.
    log(
        &mut project,
        &mut ids,
        LogPlace::Batch(batch.id),
        hourly("2026-01-10T00:00:00", 48, |_| -1.0),
    );
    assert!(cold_week(&project, &batch, today).unwrap().freezing > 40.0);
    assert!(
        by_risk(&project, &boxes, today)[1]
            .reasons
            .contains(&"freezing this week".to_owned())
    );
}

#[test]
fn a_second_cold_closes_the_run_and_lays_what_is_left_in_a_new_batch_of_the_same_regimen() {
    let (mut project, batch, boxes, mut ids) = in_cold();
    project
        .apply(actions::warm(&boxes[..1], day("2026-03-02"), &mut ids))
        .unwrap();
    let run = project.run_of(boxes[0]).unwrap().id;
    let edit =
        actions::second_chill(&project, run, None, day("2026-04-01"), "slow", &mut ids).unwrap();
    let before = project.clone();
    let undo = project.apply(edit).unwrap();
    let end = project
        .germinations()
        .get(run)
        .unwrap()
        .end
        .clone()
        .unwrap();
    assert_eq!(
        (end.rest, end.remark.as_str()),
        (RestFate::ChilledAgain, "slow")
    );
    let second = project.chill_batches().iter().next_back().unwrap();
    assert_eq!(
        (second.start, second.started, &second.regimen),
        (day("2026-04-01"), false, &batch.regimen)
    );
    let again = project.boxes_of(second.id).next().unwrap();
    assert_eq!((again.rechilled_from, again.seeds), (Some(boxes[0]), 75));
    project.apply(undo).unwrap();
    assert_eq!(project, before, "one step");
}
