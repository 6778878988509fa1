//! The calendar: when things fall due, and that doing one is recording it.

use crate::program::{Program, day};
use chrono::NaiveDate;
use domain::agenda::{Completion, Item, ItemKind, ItemState, agenda};
use domain::record::germination::GerminationField;
use domain::{
    AnyId, BoxFate, Check, CrossEventKind, Edit, GerminationEnd, Hemisphere, Id, Moisture, Pollen,
    Regimen, RestFate, SeedAmount, Sex, Span, Task, actions,
};

/// The days on which a kind is open between two days, asked about on a third.
fn open_days(program: &Program, kind: ItemKind, from: &str, to: &str, today: &str) -> Vec<String> {
    agenda(&program.project, day(from)..=day(to), day(today))
        .into_iter()
        .filter(|item| item.kind == kind && item.state != ItemState::Done)
        .map(|item| item.date.to_string())
        .collect()
}

#[test]
fn boxes_are_due_daily_then_weekly_through_a_leap_day() {
    // Common practice: a look every day in the first 7 days, then at least once a week.
    let mut program = Program::begun();
    program.usual_box("2028-02-25");
    assert_eq!(
        open_days(
            &program,
            ItemKind::CheckBox,
            "2028-02-25",
            "2028-03-20",
            "2028-02-25"
        ),
        [
            "2028-02-26",
            "2028-02-27",
            "2028-02-28",
            "2028-02-29",
            "2028-03-01",
            "2028-03-02",
            "2028-03-03",
            "2028-03-10",
            "2028-03-17"
        ]
    );
}

#[test]
fn a_year_end_in_the_south_is_like_any_other_day() {
    for hemisphere in [Hemisphere::Northern, Hemisphere::Southern] {
        let mut program = Program::begun_in(hemisphere);
        program.usual_box("2026-12-28");
        let looks = open_days(
            &program,
            ItemKind::CheckBox,
            "2026-12-28",
            "2027-01-12",
            "2026-12-28",
        );
        assert_eq!(looks.len(), 8, "{looks:?}");
        assert_eq!(
            (looks[3].as_str(), looks[7].as_str()),
            ("2027-01-01", "2027-01-11")
        );
        let female = program.founder("Mother", Some(Sex::Female));
        let male = program.founder("Father", Some(Sex::Male));
        let mut cross = program.cross_record("27-01", female, Pollen::Male(male));
        (cross.season, cross.planned_pollination) = (2027, Some(day("2026-12-28")));
        program.add(cross);
        let due = |kind| open_days(&program, kind, "2026-12-01", "2027-03-31", "2026-12-01");
        assert_eq!(due(ItemKind::BagFemale), ["2026-12-18"]);
        assert_eq!(due(ItemKind::GivePollen), ["2026-12-28"]);
        assert_eq!(due(ItemKind::TakeBagsOff), ["2027-01-11"]);
        // Six weeks on, at the earliest.
        assert_eq!(due(ItemKind::HarvestCones), ["2027-02-08"]);
    }
}

#[test]
fn two_calendar_months_from_new_year_end_on_the_first_of_march() {
    for (start, chill, ready) in [
        ("2026-01-01", Span::Months(2), "2026-03-01"),
        ("2028-01-01", Span::Months(2), "2028-03-01"),
        ("2027-12-31", Span::Months(2), "2028-02-29"),
        ("2026-01-01", Span::Days(60), "2026-03-02"),
        ("2028-01-01", Span::Days(60), "2028-03-01"),
        ("2026-01-01", Span::Weeks(8), "2026-02-26"),
    ] {
        let mut program = Program::begun();
        let lot = program.lot("Lot", 100);
        let batch = program.batch_under(
            "Batch",
            start,
            true,
            Regimen {
                chill,
                ..Regimen::default()
            },
        );
        program.chill_box("Box", batch, lot, 50);
        assert_eq!(
            open_days(&program, ItemKind::MoveToWarmth, start, "2028-12-31", start),
            [ready],
            "{start} {chill}"
        );
    }
}

#[test]
fn a_box_not_looked_into_is_late_and_stays_so_until_it_is() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-10");
    for date in ["2026-01-11", "2026-01-12"] {
        program.look(chill_box, date);
    }
    let today = |program: &Program, text: &str| -> Vec<_> {
        agenda(&program.project, day(text)..=day(text), day(text))
            .into_iter()
            .filter(|item| item.kind == ItemKind::CheckBox)
            .map(|item| (item.state, item.date))
            .collect()
    };
    assert_eq!(
        today(&program, "2026-01-12"),
        [(ItemState::Done, day("2026-01-12"))]
    );
    assert_eq!(
        today(&program, "2026-01-13"),
        [(ItemState::Due, day("2026-01-13"))]
    );
    assert_eq!(
        today(&program, "2026-01-20"),
        [(ItemState::Late, day("2026-01-13"))]
    );
    program.look(chill_box, "2026-01-20");
    assert_eq!(today(&program, "2026-01-26"), []);
    assert_eq!(
        today(&program, "2026-01-27"),
        [(ItemState::Due, day("2026-01-27"))]
    );
}

#[test]
fn mould_and_a_dry_towel_bring_the_next_look_forward() {
    for (moisture, mouldy, next) in [
        (Some(Moisture::Moist), 0, "2026-02-17"),
        (Some(Moisture::Dry), 0, "2026-02-12"),
        (Some(Moisture::Wet), 0, "2026-02-12"),
        (None, 2, "2026-02-12"),
    ] {
        let mut program = Program::begun();
        let (_, _, chill_box) = program.usual_box("2026-01-10");
        let mut check = program.check_record(chill_box, "2026-02-10");
        (check.moisture, check.mouldy_removed) = (moisture, mouldy);
        program.add(check);
        let days = open_days(
            &program,
            ItemKind::CheckBox,
            "2026-02-10",
            "2026-02-18",
            "2026-02-10",
        );
        assert_eq!(
            days.first().map(String::as_str),
            Some(next),
            "{moisture:?} {mouldy}"
        );
    }
}

#[test]
fn what_is_over_asks_for_nothing() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    let (_, batch, chill_box) = program.usual_box("2026-01-10");
    program.event(
        cross,
        "2026-07-09",
        CrossEventKind::Failed { why: "hail".into() },
    );
    let end = crate::program::box_end("2026-01-20", BoxFate::Discarded);
    program.make(actions::end_box(chill_box, end));
    program.batch("Planned", "2026-02-01", false);
    let open: Vec<_> = agenda(
        &program.project,
        day("2026-01-01")..=day("2027-01-01"),
        day("2026-08-01"),
    )
    .into_iter()
    .filter(|item| item.state != ItemState::Done)
    .map(|item| item.kind)
    .collect();
    assert_eq!(open, [ItemKind::StartChill]);
    assert!(program.project.chill_batches().get(batch).is_some());
}

#[test]
fn a_window_is_late_only_when_it_has_closed() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    program.event(cross, "2026-07-01", CrossEventKind::Pollinated);
    let state = |today: &str| {
        let items = agenda(&program.project, day(today)..=day("2026-09-30"), day(today));
        items
            .into_iter()
            .find(|item| item.kind == ItemKind::HarvestCones)
            .map(|item| item.state)
    };
    // 42 to 56 days after pollination (common practice).
    assert_eq!(state("2026-08-11"), Some(ItemState::Coming));
    assert_eq!(state("2026-08-12"), Some(ItemState::Due));
    assert_eq!(state("2026-08-26"), Some(ItemState::Due));
    assert_eq!(state("2026-08-27"), Some(ItemState::Late));
}

/// The item of a kind that is open on a day.
fn open_item(program: &Program, kind: ItemKind, today: NaiveDate) -> Item {
    let mut items = agenda(&program.project, today..=today, today);
    items
        .retain(|item| item.kind == kind && matches!(item.state, ItemState::Late | ItemState::Due));
    assert_eq!(items.len(), 1, "{kind:?} on {today}");
    items.remove(0)
}

/// Once completed, a kind is done that day and neither late nor due any more.
fn assert_done(program: &Program, item: &Item, today: NaiveDate) {
    let items = agenda(&program.project, today..=today, today);
    let of_it = |state: fn(ItemState) -> bool| {
        items
            .iter()
            .filter(move |other| {
                other.about == item.about && other.kind == item.kind && state(other.state)
            })
            .count()
    };
    assert_eq!(
        of_it(|state| state == ItemState::Done),
        1,
        "{:?} isn't told as done",
        item.kind
    );
    assert_eq!(
        of_it(|state| matches!(state, ItemState::Late | ItemState::Due)),
        0,
        "{:?} is still open",
        item.kind
    );
}

/// Completes a kind by its ready edit.
fn complete(program: &mut Program, kind: ItemKind, today: &str) {
    let today = day(today);
    let item = open_item(program, kind, today);
    let Completion::Ready(edit) = item.completion(&program.project, today, &mut program.ids) else {
        panic!("{kind:?} asks");
    };
    program.make(*edit);
    assert_done(program, &item, today);
}

/// Completes a kind that asks, by an edit of one's own.
fn answer<R: domain::record::Record>(
    program: &mut Program,
    kind: ItemKind,
    today: &str,
    edit: impl FnOnce(&mut Program, Id<R>, NaiveDate) -> Edit,
) {
    let today = day(today);
    let item = open_item(program, kind, today);
    assert_eq!(
        item.completion(&program.project, today, &mut program.ids),
        Completion::Asks
    );
    let edit = edit(program, item.about.typed().expect("the kind"), today);
    program.make(edit);
    assert_done(program, &item, today);
}

#[test]
fn doing_a_thing_is_recording_it_from_bag_to_pot() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    complete(&mut program, ItemKind::BagFemale, "2026-06-22");
    complete(&mut program, ItemKind::GivePollen, "2026-07-02");
    complete(&mut program, ItemKind::TakeBagsOff, "2026-07-16");
    complete(&mut program, ItemKind::HarvestCones, "2026-08-25");
    answer(
        &mut program,
        ItemKind::CleanSeed,
        "2026-09-10",
        |program, cross, today| {
            actions::clean_seed(
                &program.project,
                cross,
                today,
                SeedAmount::Counted(120),
                &mut program.ids,
            )
        },
    );
    let lot = program.project.lots_of(cross).next().expect("the lot").id;
    let batch = program.batch("Batch", "2027-01-01", false);
    let chill_box = program.chill_box("Box", batch, lot, 60);
    complete(&mut program, ItemKind::StartChill, "2027-01-02");
    complete(&mut program, ItemKind::CheckBox, "2027-01-03");
    complete(&mut program, ItemKind::CheckBox, "2027-01-06");
    complete(&mut program, ItemKind::MoveToWarmth, "2027-03-04");
    let count = |germinated, dead| {
        move |program: &mut Program, run, today: NaiveDate| {
            let mut count = program.count_record(run, &today.to_string(), germinated);
            count.dead = dead;
            Edit::add(count)
        }
    };
    answer(
        &mut program,
        ItemKind::CountSprouts,
        "2027-03-09",
        count(4, 0),
    );
    answer(
        &mut program,
        ItemKind::PotUp,
        "2027-03-12",
        |program, _: Id<domain::Germination>, today| {
            actions::pot_up(&program.project, chill_box, 4, today, &mut program.ids).expect("codes")
        },
    );
    let item = open_item(&program, ItemKind::CountSprouts, day("2027-03-13"));
    let nothing = item
        .nothing_came_up(day("2027-03-13"), &mut program.ids)
        .expect("a count");
    program.make(nothing);
    assert_done(&program, &item, day("2027-03-13"));
    answer(
        &mut program,
        ItemKind::DecideRest,
        "2027-04-02",
        |_, run: Id<domain::Germination>, today| {
            let end = GerminationEnd {
                date: today,
                rest: RestFate::Discarded,
                remark: String::new(),
            };
            Edit::set(run, GerminationField::End(Some(end)))
        },
    );
    let later = agenda(
        &program.project,
        day("2027-04-03")..=day("2028-04-03"),
        day("2027-04-03"),
    );
    assert_eq!(later, [], "the season is over");
    assert!(program.project.run_of(chill_box).is_some());
}

#[test]
fn a_task_is_ticked_off() {
    let mut program = Program::begun();
    let task = Task {
        id: program.ids.next(),
        title: "Wash trays".into(),
        due: day("2026-03-01"),
        about: None,
        done: None,
        remark: String::new(),
    };
    let id: AnyId = program.add(task).into();
    complete(&mut program, ItemKind::Task, "2026-03-05");
    let items = agenda(
        &program.project,
        day("2026-03-05")..=day("2026-03-05"),
        day("2026-03-05"),
    );
    assert_eq!(items.len(), 1);
    assert_eq!(items[0].about, id);
    assert_eq!(
        items[0].completion(&program.project, day("2026-03-05"), &mut program.ids),
        Completion::Done
    );
}

#[test]
fn a_box_with_nothing_left_only_wants_closing() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-01");
    let run = program.warm(chill_box, "2026-03-02");
    let count = program.count_record(run, "2026-03-10", 60);
    program.add(count);
    assert_eq!(
        open_days(
            &program,
            ItemKind::CountSprouts,
            "2026-03-01",
            "2026-05-01",
            "2026-03-12"
        ),
        [""; 0]
    );
    assert_eq!(
        open_days(
            &program,
            ItemKind::DecideRest,
            "2026-03-01",
            "2026-05-01",
            "2026-03-12"
        ),
        ["2026-03-10"]
    );
}

#[test]
fn an_open_cross_wants_no_bag_and_no_pollen() {
    let mut program = Program::begun();
    let female = program.founder("Mother", Some(Sex::Female));
    program.cross("26-01", female, Pollen::Open);
    let duties: Vec<_> = agenda(
        &program.project,
        day("2026-06-01")..=day("2026-12-31"),
        day("2026-06-01"),
    )
    .into_iter()
    .map(|item| item.kind)
    .collect();
    assert_eq!(duties, [ItemKind::HarvestCones]);
}

#[test]
fn sprouts_lost_before_potting_are_not_asked_for_any_more() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2027-01-01");
    let run = program.warm(chill_box, "2027-03-02");
    let count = program.count_record(run, "2027-03-08", 5);
    let count_id = program.add(count);
    let waiting = |program: &Program| {
        let chill_box = program.project.chill_boxes().get(chill_box);
        domain::ledger::unpotted(&program.project, chill_box.expect("the box"))
    };
    assert_eq!(waiting(&program), 5);
    program.make(Edit::set(
        count_id,
        domain::record::germination::CountField::Lost(2),
    ));
    assert_eq!(waiting(&program), 3);
    let today = day("2027-03-10");
    let potting = agenda(&program.project, today..=today, today)
        .into_iter()
        .find(|item| item.kind == ItemKind::PotUp)
        .expect("three wait");
    assert!(
        potting.title.contains("Pot up 3 sprouts"),
        "{}",
        potting.title
    );
}

#[test]
fn a_sprout_found_in_the_cold_is_potted_from_there() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2027-01-01");
    let potting = |program: &Program, on: &str| {
        let items = agenda(&program.project, day(on)..=day(on), day(on));
        items
            .into_iter()
            .find(|item| item.kind == ItemKind::PotUp && item.state != ItemState::Done)
    };
    assert_eq!(potting(&program, "2027-02-01"), None);
    let mut check = Check::nothing_found(program.ids.next(), chill_box, day("2027-02-01"));
    (check.sprouted_early, check.sprouts_lost) = (3, 1);
    program.add(check);
    let item = potting(&program, "2027-02-02").expect("two wait");
    assert!(item.title.contains("Pot up 2 sprouts"), "{}", item.title);
    assert_eq!((item.about, item.state), (chill_box.into(), ItemState::Due));

    let edit = actions::pot_up(
        &program.project,
        chill_box,
        1,
        day("2027-02-03"),
        &mut program.ids,
    );
    program.make(edit.expect("codes"));
    let plant = |program: &Program| program.project.potted_out_of(chill_box).last().cloned();
    let potted = plant(&program).expect("a seedling");
    assert_eq!(program.project.box_of(&potted), Some(chill_box));
    assert_eq!(potted.potted_from, None);
    let told = potting(&program, "2027-02-03").expect("one waits");
    assert!(told.title.contains("Pot up 1 sprout "), "{}", told.title);

    // In warmth the one that still waits is asked for with those of the run.
    let run = program.warm(chill_box, "2027-03-02");
    let count = program.count_record(run, "2027-03-08", 4);
    program.add(count);
    let item = potting(&program, "2027-03-11").expect("five wait");
    assert!(item.title.contains("Pot up 5 sprouts"), "{}", item.title);
    assert_eq!(item.about, AnyId::from(run));
    let edit = actions::pot_up(
        &program.project,
        chill_box,
        5,
        day("2027-03-11"),
        &mut program.ids,
    );
    program.make(edit.expect("codes"));
    assert_eq!(plant(&program).expect("a seedling").potted_from, Some(run));
    assert_eq!(program.project.potted_out_of(chill_box).count(), 6);
    assert_eq!(potting(&program, "2027-03-11"), None);
}

#[test]
fn a_day_written_up_late_is_told_by_what_was_known_on_it() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-10");
    program.look(chill_box, "2026-01-11");
    // The days between were missed; the box was checked on the 20th, and moved to warmth on the 22nd.
    program.look(chill_box, "2026-01-20");
    let checks = |program: &Program, as_of: &str| -> Vec<_> {
        agenda(&program.project, day(as_of)..=day("2026-01-31"), day(as_of))
            .into_iter()
            .filter(|item| item.kind == ItemKind::CheckBox && item.state != ItemState::Done)
            .map(|item| (item.state, item.date, item.detail))
            .collect()
    };
    let late = checks(&program, "2026-01-14");
    assert_eq!(late.len(), 1, "what came after is known: {late:?}");
    assert_eq!((late[0].0, late[0].1), (ItemState::Late, day("2026-01-12")));
    assert!(
        late[0].2.contains("Not checked for 3 days"),
        "{}",
        late[0].2
    );
    let risks = domain::risk::by_risk(&program.project, &[chill_box], day("2026-01-14"));
    assert_eq!(risks[0].reasons, ["not checked for 3 days"]);
    let run = program.warm(chill_box, "2026-01-22");
    assert_eq!(checks(&program, "2026-01-14").len(), 1, "it was still cold");
    assert_eq!(checks(&program, "2026-01-22").len(), 0);
    program.look(chill_box, "2026-01-14");
    assert_eq!(checks(&program, "2026-01-14").len(), 0, "written up");
    // Counts the same: one of a later day doesn't make up for one that was due.
    let count = program.count_record(run, "2026-02-20", 3);
    program.add(count);
    let due = |as_of| open_days(&program, ItemKind::CountSprouts, as_of, as_of, as_of);
    assert_eq!(due("2026-01-20"), Vec::<String>::new());
    assert_eq!(due("2026-02-05").len(), 1);
}
