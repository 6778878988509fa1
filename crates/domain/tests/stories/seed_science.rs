//! What counts of seed and seedlings say: courses, shares, ratios, stock.

use crate::program::{Program, day, seen};
use domain::findings::{Finding, findings};
use domain::germination::{
    Agreement, By, Forecasts, Group, NoFit, RunCounts, Waiting, When, at_one_time, groups, report,
};
use domain::ledger::balance;
use domain::record::germination::GerminationField;
use domain::record::seed_lot::SeedLotField;
use domain::record::seed_test::GerminationTestField;
use domain::segregation::{Family, classes, sexes};
use domain::stock::{ByWeight, Stock, sow_first};
use domain::{
    Edit, Germination, GerminationEnd, GerminationTest, Grams, Id, LotSource, Origin, Pollen,
    RestFate, SeedAmount, SeedLot, SeedWeighing, Sex,
};
use quant::contingency::TwoByTwo;

impl Program {
    /// A box of this lot moved to warmth on 1 March 2026, counted on days after it.
    fn counted(
        &mut self,
        code: &str,
        lot: Id<SeedLot>,
        seeds: u32,
        counts: &[(i64, u32)],
    ) -> Id<Germination> {
        let batch = self.batch(&format!("Batch {code}"), "2026-01-04", true);
        let chill_box = self.chill_box(code, batch, lot, seeds);
        let run = self.warm(chill_box, "2026-03-01");
        for &(after, up) in counts {
            let date = domain::date::shift(day("2026-03-01"), after).to_string();
            let count = self.count_record(run, &date, up);
            self.add(count);
        }
        run
    }

    fn close(&mut self, run: Id<Germination>, date: &str) {
        let end = GerminationEnd {
            date: day(date),
            rest: RestFate::Discarded,
            remark: String::new(),
        };
        self.make(Edit::set(run, GerminationField::End(Some(end))));
    }

    fn test(
        &mut self,
        lot: Id<SeedLot>,
        date: &str,
        seeds: u32,
        germinated: u32,
    ) -> GerminationTest {
        GerminationTest {
            id: self.ids.next(),
            lot,
            date: day(date),
            seeds,
            germinated,
            replicates: Vec::new(),
            method: "12 weeks cold, 25 °C".into(),
            drawn: true,
            by: String::new(),
            remark: String::new(),
        }
    }

    fn found(&self, words: &str) -> Vec<Finding> {
        findings(&self.project, day("2026-12-01"))
            .into_iter()
            .filter(|each| each.what.contains(words))
            .collect()
    }
}

#[test]
fn a_course_keeps_the_days_between_looks_and_what_never_comes() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 400);
    let run = program.counted("C-1", lot, 60, &[(5, 10), (8, 20)]);
    let chill_box = program.project.germinations().get(run).unwrap().chill_box;
    let mut in_cold = program.check_record(chill_box, "2026-02-01");
    (in_cold.mouldy_removed, in_cold.sprouted_early) = (4, 2);
    program.add(in_cold);
    let mut later = program.check_record(chill_box, "2026-03-07");
    later.mouldy_removed = 3;
    program.add(later);
    let mut count = program.count_record(run, "2026-03-12", 5);
    (count.abnormal, count.dead) = (1, 2);
    program.add(count);
    let course = RunCounts::of(
        &program.project,
        program.project.germinations().get(run).unwrap(),
    )
    .unwrap();
    assert_eq!(
        (course.laid, course.mouldy, course.early, course.sown),
        (60, 4, 2, 54)
    );
    assert_eq!(
        (course.germinated, course.abnormal, course.dead, course.left),
        (35, 1, 5, 13)
    );
    assert_eq!(course.counts, [(5.0, 10), (6.0, 0), (8.0, 20), (11.0, 5)]);
    assert_eq!((course.last_look, course.open), (Some(11.0), true));
    let seeds = course.emergence();
    let total: u32 = seeds.iter().map(|each| each.seeds).sum();
    assert_eq!(total, 54, "every seed is somewhere");
    // The look into the box on day 6 tells that the next 20 came after it.
    assert!(
        seeds
            .iter()
            .any(|each| (each.after, each.by, each.seeds) == (6.0, 8.0, 20))
    );
    assert!(
        seeds
            .iter()
            .any(|each| each.by.is_infinite() && each.after == 11.0 && each.seeds == 13)
    );
}

#[test]
fn two_lots_are_analysed_and_compared() {
    let mut program = Program::begun();
    let (good, poor) = (program.lot("Good", 400), program.lot("Poor", 400));
    let empty = program.lot("Empty", 100);
    program.counted(
        "C-1",
        good,
        50,
        &[(5, 4), (6, 17), (7, 10), (9, 8), (14, 1)],
    );
    program.counted("C-2", poor, 50, &[(5, 1), (7, 6), (9, 8), (14, 3)]);
    program.counted("C-3", empty, 50, &[]);
    let found = groups(&program.project, By::Lot);
    assert_eq!(found.len(), 3);
    let wanted = [Group::Lot(good), Group::Lot(poor), Group::Lot(empty)];
    let forecasts = Forecasts::of(&program.project);
    let report = report(&program.project, &wanted, &forecasts, 1, &mut |_| true).unwrap();
    let [one, two, none] = &report.analyses[..] else {
        panic!()
    };
    let (share, exact, wilson) = one.share().unwrap();
    assert!((share - 0.8).abs() < 1e-12 && exact.contains(share) && wilson.contains(share));
    assert_eq!(one.indices.unwrap().germinated, 40);
    let fit = two.fit.as_ref().unwrap();
    assert!(fit.share().1.contains(0.36));
    assert!(
        matches!(
            two.waiting,
            Waiting::TooFewClosed {
                closed: 0,
                window: Some(_)
            }
        ),
        "nothing is said from the lot alone: {:?}",
        two.waiting
    );
    let words = two.waiting.words(day("2026-03-15"));
    assert!(words.contains("it takes 3 closed boxes"), "{words}");
    assert!(words.contains("gives up after day"), "{words}");
    assert_eq!((none.sown(), none.share()), (0, None));
    assert_eq!(none.fit.as_ref().err(), Some(&NoFit::NoSeed));
    assert_eq!(
        none.no_fit_words().as_deref(),
        Some("Nothing was counted yet.")
    );
    let comparison = report.comparison.unwrap();
    let [pair] = &comparison.pairs[..] else {
        panic!("the lot without counts is in no pair")
    };
    let shares = pair.shares.as_ref().unwrap();
    assert_eq!(shares.when, When::Day(14.0));
    assert_eq!(shares.counts, ((40, 50), (18, 50)));
    // SciPy 1.16.3: fisher_exact([[40, 10], [18, 32]]).pvalue
    assert!(
        (shares.fisher - 1.5075423598248321e-05).abs() < 1e-9,
        "{}",
        shares.fisher
    );
    assert!(pair.words().contains("by day 14 more than chance explains"));
    assert!(shares.odds.unwrap().interval.low > 1.0);
    for analysis in &report.analyses {
        let names: Vec<_> = analysis
            .figures()
            .iter()
            .map(|figure| figure.name)
            .collect();
        assert_eq!(names.len(), 17);
        for figure in analysis.figures() {
            assert!(!figure.value.is_empty() && !figure.explanation.source.is_empty());
        }
    }
}

const COURSE: [(i64, u32); 9] = [
    (4, 0),
    (6, 2),
    (8, 8),
    (10, 13),
    (12, 11),
    (14, 6),
    (16, 3),
    (18, 1),
    (20, 1),
];

/// Five lots with the same course, waited for to day 42, and one looked at to a day.
fn five_closed_and_one_to(last: i64) -> (Program, Id<SeedLot>) {
    let mut program = Program::begun();
    for nth in 0..5 {
        let lot = program.lot(&format!("Closed {nth}"), 80);
        let run = program.counted(&format!("C-{nth}"), lot, 60, &COURSE);
        program.close(run, "2026-04-12");
    }
    let open = program.lot("Open", 80);
    let seen: Vec<(i64, u32)> = COURSE.into_iter().filter(|each| each.0 <= last).collect();
    program.counted("C-open", open, 60, &seen);
    (program, open)
}

fn waiting(program: &Program, lot: Id<SeedLot>, few: u32) -> Waiting {
    let forecasts = Forecasts::of(&program.project);
    let wanted = [Group::Lot(lot)];
    let report = report(&program.project, &wanted, &forecasts, few, &mut |_| true)
        .expect("nobody stopped it");
    report.analyses[0].waiting.clone()
}

#[test]
fn the_end_of_waiting_is_told_before_it_and_after_it() {
    let (program, open) = five_closed_and_one_to(10);
    let found = waiting(&program, open, 1);
    let known = found.known().unwrap();
    assert_eq!((known.seeds, known.boxes, known.closed), (37, 1, 5));
    assert!(known.same_treatment);
    // Every other lot had 22 more after day 10, the last of them on day 20.
    assert!((15.0..29.0).contains(&known.expected), "{known:?}");
    let stop = known.stop.unwrap();
    assert!((18.0..30.0).contains(&stop), "{stop}");
    let date = known.date.unwrap();
    assert_eq!(date, domain::date::shift(day("2026-03-01"), stop as i64));
    let (now, last) = (known.choices[0], known.choices[known.choices.len() - 1]);
    assert!((now.lost - known.expected).abs() < 1e-9 && now.light_days == 0.0);
    assert!(last.lost < 1.0 && (last.light_days - (stop - 10.0)).abs() < 1e-9);
    let told = |date: &str| found.words(day(date));
    let before = told("2026-03-12");
    assert!(
        before.contains(&format!(
            "Wait until {} (day {stop:.0})",
            date.format("%-d %b %Y")
        )),
        "{before}"
    );
    assert!(before.contains("days of light for 1 box"), "{before}");
    assert!(told("2026-04-10").contains("count now"));
    // Fewer may be lost: it takes longer.
    let none = waiting(&program, open, 0);
    assert!(none.known().unwrap().stop.is_none_or(|day| day > stop));
}

#[test]
fn waiting_can_stop_once_nothing_is_to_come() {
    let (mut program, open) = five_closed_and_one_to(20);
    let run = program.project.germinations().iter().last().unwrap().id;
    let count = program.count_record(run, "2026-03-31", 0);
    program.add(count);
    let words = waiting(&program, open, 1).words(day("2026-03-31"));
    assert!(words.contains("Waiting can stop"), "{words}");
}

#[test]
fn boxes_treated_otherwise_teach_only_where_too_few_were_treated_alike() {
    let (mut program, _) = five_closed_and_one_to(10);
    let other = program.lot("Other", 80);
    let run = program.counted("C-other", other, 60, &[(4, 0), (6, 2)]);
    let batch = {
        let chill_box = program.project.germinations().get(run).unwrap().chill_box;
        program.project.chill_boxes().get(chill_box).unwrap().batch
    };
    program.make(Edit::set(
        batch,
        domain::record::chill::ChillBatchField::Protocol("Warm first".into()),
    ));
    let found = waiting(&program, other, 1);
    let known = found.known().unwrap();
    assert!(!known.same_treatment && known.closed == 5);
    assert!(known.basis().contains("whatever treatment"));
}

/// An open run as it stands beside a closed one of the same kind: their shares, compared on the same day, differ falsely
/// no more often than a test at 5 % may. Compared as they are, day 10 against the end, most pairs would.
#[test]
fn an_open_run_beside_a_closed_one_differs_falsely_in_at_most_one_of_twenty() {
    let (mut pairs, mut differ, mut as_they_are) = (0, 0, 0);
    let mut rng = fastrand::Rng::with_seed(7);
    for nth in 0..400_u32 {
        let share = rng.f64() * 0.6 + 0.2;
        let mut run = |last: u32, open: bool| {
            let mut counts: Vec<(f64, u32)> = (1..=last / 2)
                .map(|look| (f64::from(2 * look), 0))
                .collect();
            for _ in 0..60 {
                // Up on a day between 4 and 24, the middle ones likelier.
                let came: f64 = 4.0 + 10.0 * (rng.f64() + rng.f64());
                let look = (came / 2.0).ceil() as usize - 1;
                if rng.f64() < share && look < counts.len() {
                    counts[look].1 += 1;
                }
            }
            let germinated = counts.iter().map(|each| each.1).sum();
            let mut program = Program::begun();
            let lot = program.lot("Lot", 100);
            let id = program.counted("C", lot, 60, &[]);
            let whole = RunCounts::of(
                &program.project,
                program.project.germinations().get(id).unwrap(),
            )
            .unwrap();
            RunCounts {
                left: 60 - germinated,
                counts,
                germinated,
                last_look: Some(f64::from(last)),
                open,
                ..whole
            }
        };
        let open = run(6 + 2 * (nth % 7), true);
        let closed = run(42, false);
        let (when, counts) =
            at_one_time(&[std::slice::from_ref(&open), std::slice::from_ref(&closed)])
                .expect("a day in common");
        assert_eq!(Some(when), open.last_look.map(When::Day));
        pairs += 1;
        differ += u32::from(TwoByTwo::of(counts[0], counts[1]).fisher() < 0.05);
        let falsely = TwoByTwo::of(
            (open.germinated, open.sown),
            (closed.germinated, closed.sown),
        );
        as_they_are += u32::from(falsely.fisher() < 0.05);
    }
    println!("of {pairs}: {differ} differ on the same day, {as_they_are} as they are");
    assert!(20 * differ <= pairs, "{differ} of {pairs}");
    assert!(2 * as_they_are > pairs, "{as_they_are} of {pairs}");
}

#[test]
fn runs_without_a_day_in_common_are_compared_by_their_courses_alone() {
    let mut program = Program::begun();
    let (one, other) = (program.lot("One", 80), program.lot("Other", 80));
    program.counted("C-1", one, 50, &[(5, 8), (7, 12), (9, 10)]);
    program.counted("C-2", other, 50, &[(4, 3), (6, 12), (8, 10)]);
    let forecasts = Forecasts::of(&program.project);
    let wanted = [Group::Lot(one), Group::Lot(other)];
    let report = report(&program.project, &wanted, &forecasts, 1, &mut |_| true).unwrap();
    let comparison = report.comparison.unwrap();
    let pair = &comparison.pairs[0];
    assert!(pair.shares.is_none() && pair.course.is_some());
    assert!(pair.words().contains("Compare their courses"));
    assert!(comparison.words().contains("can\u{2019}t be compared"));
    let shown = report.analyses[0].figures()[0].value.clone();
    assert_eq!(
        shown, "60 so far",
        "an open share is never shown as the final one"
    );
}

#[test]
fn runs_are_put_together_by_what_is_compared() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    let bred = program.lot_of("Bred", LotSource::Cross(cross), 300);
    let bought = program.lot("Bought", 300);
    program.counted("C-1", bred, 20, &[(7, 5)]);
    program.counted("C-2", bought, 20, &[(7, 5)]);
    let title = |by| -> Vec<String> {
        groups(&program.project, by)
            .iter()
            .map(|each| each.0.title(&program.project))
            .collect()
    };
    assert_eq!(title(By::Cross), ["26-01"], "bought seed is of no cross");
    assert_eq!(title(By::Lot), ["Bought", "Bred"]);
    assert_eq!(title(By::Season), ["2026"]);
    assert_eq!(title(By::Weeks), ["8 weeks of cold"]);
    assert_eq!(title(By::Box), ["Box C-1", "Box C-2"]);
    assert_eq!(title(By::Treatment).len(), 1);
}

#[test]
fn boxes_of_a_lot_too_far_apart_are_doubted_by_the_table_and_by_chance() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 2000);
    let batch = program.batch("Batch", "2026-01-04", true);
    // 7 CFR 201.55: replicates of 90, 78, 84, 72 have a range of 18 where 15 is allowed at their mean of 81.
    for (code, up) in [("A", 90), ("B", 78), ("C", 84), ("D", 72)] {
        let chill_box = program.chill_box(code, batch, lot, 100);
        let run = program.warm(chill_box, "2026-03-01");
        let count = program.count_record(run, "2026-03-12", up);
        program.add(count);
        program.close(run, "2026-04-01");
    }
    let doubts = program.found("differ too much");
    assert_eq!(doubts.len(), 1);
    assert!(
        doubts[0].what.contains("18 % where 15 % is allowed"),
        "{}",
        doubts[0].what
    );
    assert!(!Agreement::of(&[(16, 20), (15, 20), (17, 20)]).is_doubtful());
    assert!(Agreement::of(&[(19, 20), (5, 20), (17, 20)]).is_doubtful());
    assert_eq!(Agreement::of(&[(9, 10)]), Agreement::NotKnown);
}

#[test]
fn a_test_is_a_draw_and_adds_up() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 100);
    let mut test = program.test(lot, "2026-01-05", 80, 60);
    test.replicates = vec![30, 29];
    program.refused(Edit::add(test.clone()));
    test.replicates = vec![31, 29];
    let id = program.add(test.clone());
    assert_eq!(balance(&program.project, lot), 20);
    program.refused(Edit::set(id, GerminationTestField::Germinated(81)));
    program.refused(Edit::set(
        id,
        GerminationTestField::Replicates(vec![20, 20, 20]),
    ));
    program.make(Edit::set(id, GerminationTestField::Replicates(Vec::new())));
    let second = program.test(lot, "2026-01-06", 21, 3);
    assert!(
        program
            .refused(Edit::add(second.clone()))
            .what
            .contains("holds 20 seeds")
    );
    let elsewhere = GerminationTest {
        drawn: false,
        ..second
    };
    program.add(elsewhere);
    assert_eq!(balance(&program.project, lot), 20);
    let mut zero = program.test(lot, "2026-01-06", 1, 0);
    zero.seeds = 0;
    program.refused(Edit::add(zero));
}

#[test]
fn seed_is_numbered_by_weight_with_its_error() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 100);
    let weighed = SeedAmount::Weighed {
        weight: Grams(12.6),
        thousand_seed_weight: Grams(3.04),
    };
    program.make(Edit::set(lot, SeedLotField::Amount(Some(weighed))));
    // Arithmetic of the ISTA Rules, chapter 10; interval with t.ppf(0.975, 7) of SciPy 1.16.3.
    let weights = [0.301, 0.297, 0.312, 0.305, 0.299, 0.308, 0.303, 0.310];
    let mut weighing = SeedWeighing {
        id: program.ids.next(),
        lot,
        date: day("2026-01-05"),
        seeds_each: 100,
        weights: weights.map(Grams).to_vec(),
        moisture: Some(8.0),
        by: String::new(),
        remark: String::new(),
    };
    program.add(weighing.clone());
    let record = program.project.seed_lots().get(lot).unwrap();
    let found = ByWeight::of(&program.project, record).unwrap();
    assert!((found.weight.thousand - 3.04375).abs() < 1e-9 && !found.varies());
    let (seeds, interval) = found.seeds.unwrap();
    assert!((seeds - 4139.63).abs() < 0.01 && (interval.low - 4079.75).abs() < 0.01);
    weighing.id = program.ids.next();
    weighing.moisture = Some(108.0);
    program.refused(Edit::add(weighing.clone()));
    weighing.moisture = None;
    weighing.weights = vec![Grams(0.3), Grams(0.0)];
    program.refused(Edit::add(weighing.clone()));
    weighing.date = day("2026-02-05");
    weighing.weights = vec![Grams(0.30), Grams(0.36)];
    program.add(weighing);
    assert_eq!(program.found("coefficient of variation").len(), 1);
}

#[test]
fn what_loses_most_by_waiting_is_sown_first() {
    let mut program = Program::begun();
    let falling = program.lot("Falling", 1000);
    let steady = program.lot("Steady", 1000);
    let once = program.lot("Once", 1000);
    let never = program.lot("Never", 1000);
    let gone = program.lot("Gone", 50);
    for (lot, tests) in [
        (
            falling,
            &[
                ("2020-10-01", 93),
                ("2021-10-01", 90),
                ("2023-10-01", 78),
                ("2025-10-01", 61),
            ][..],
        ),
        (steady, &[("2020-10-01", 90), ("2025-10-01", 92)]),
        (once, &[("2025-10-01", 80)]),
    ] {
        program.make(Edit::set(
            lot,
            SeedLotField::Harvested(Some(day("2020-10-01"))),
        ));
        for (date, germinated) in tests {
            let mut test = program.test(lot, date, 100, *germinated);
            test.drawn = false;
            program.add(test);
        }
    }
    let draw = program.movement(gone, "2026-01-01", domain::MovementKind::Draw, 50);
    program.add(draw);
    let today = day("2026-10-01");
    let order: Vec<_> = sow_first(&program.project, today)
        .iter()
        .map(|stock| stock.lot)
        .collect();
    assert_eq!(order, [falling, never, once, steady]);
    let record = program.project.seed_lots().get(falling).unwrap();
    let stock = Stock::of(&program.project, record, today);
    // SciPy 1.16.3: probits 1.50132313 less 0.24367836 a year (tests of 100 at 0, 1, 3 and 5 years; leap days aside).
    let decline = stock.decline.as_ref().unwrap();
    assert!(
        (decline.initial().0 - 1.50132).abs() < 1e-3 && (decline.loss().0 - 0.24368).abs() < 1e-3
    );
    assert!(
        stock.reason().contains("lost by waiting"),
        "{}",
        stock.reason()
    );
    assert!(
        stock
            .explain(&program.project)
            .source
            .contains("Ellis & Roberts (1980)")
    );
    let steady = sow_first(&program.project, today).pop().unwrap();
    assert!(steady.reason().contains("can wait"), "{}", steady.reason());
}

#[test]
fn a_boxs_end_counts_as_a_test_of_its_lot() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 400);
    let run = program.counted("C-1", lot, 50, &[(5, 30), (9, 10)]);
    let tests = |program: &Program| {
        let record = program.project.seed_lots().get(lot).unwrap();
        Stock::of(&program.project, record, day("2026-10-01")).tests
    };
    assert!(tests(&program).is_empty(), "it isn't done with");
    program.close(run, "2026-04-01");
    let tests = tests(&program);
    assert_eq!(
        (
            tests.len(),
            tests[0].seeds,
            tests[0].germinated,
            tests[0].is_test
        ),
        (1, 50, 40, false)
    );
}

#[test]
fn sexes_are_told_by_family_and_in_all_and_doubted_where_far_off() {
    let mut program = Program::begun();
    let (mother, father, cross) = program.usual_cross();
    for nth in 0..31 {
        let plant = program.seedling(&format!("S-{nth}"), Origin::Cross { cross });
        let sex = if nth < 19 { Sex::Female } else { Sex::Male };
        program.make(Edit::set(
            plant,
            domain::record::genotype::GenotypeField::Sex(Some(seen(sex))),
        ));
    }
    program.seedling("Unknown", Origin::Cross { cross });
    let all = sexes(&program.project);
    assert_eq!(all.len(), 2);
    assert_eq!(all[0].family, Family::All);
    let of_cross = &all[1];
    assert_eq!(
        (of_cross.females, of_cross.males, of_cross.unknown),
        (19, 12, 1)
    );
    // 19 : 12 against 1 : 1, exact p .2810 (SciPy 1.16.3: binomtest(19, 31, 0.5).pvalue = 0.28104151505976915).
    assert!((of_cross.p().unwrap() - 0.28104151505976915).abs() < 1e-9);
    assert!(of_cross.more().unwrap().unwrap() > 100);
    assert!(program.found("far from what hop families show").is_empty());
    let second = program.cross("26-02", mother, Pollen::Male(father));
    for nth in 0..20 {
        let plant = program.seedling(&format!("T-{nth}"), Origin::Cross { cross: second });
        program.make(Edit::set(
            plant,
            domain::record::genotype::GenotypeField::Sex(Some(seen(Sex::Male))),
        ));
    }
    let doubts = program.found("far from what hop families show");
    assert_eq!(doubts.len(), 1, "{doubts:?}");
    assert!(doubts[0].what.contains("0 of 20 seedlings of 26-02"));
}

#[test]
fn a_trait_in_two_classes_is_held_against_mendels_ratios() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    let vigour = program.project.traits().iter().next().unwrap().id;
    for nth in 0..40 {
        let plant = program.seedling(&format!("S-{nth}"), Origin::Cross { cross });
        let value = if nth < 30 { 2.0 } else { 8.0 };
        let score = program.score(plant, "2026-06-01", value);
        program.make(score);
    }
    program.seedling("Unscored", Origin::Cross { cross });
    let found = classes(&program.project, vigour, 3.0);
    assert_eq!(found.len(), 2);
    let family = &found[1];
    assert_eq!((family.counts, family.unscored), ((30, 10), 1));
    let likeliest = &family.held[0];
    assert_eq!(likeliest.inheritance.words(), "3 : 1");
    assert!(likeliest.chi_square.abs() < 1e-12 && likeliest.exact > 0.99);
    let sum: f64 = family.held.iter().map(|held| held.posterior).sum::<f64>() + family.other;
    assert!((sum - 1.0).abs() < 1e-9);
    assert!(family.more.unwrap() > 0);
    assert!(
        family.words().contains("would settle between 3 : 1 and"),
        "{}",
        family.words()
    );
    assert!(
        classes(&program.project, vigour, 1.0)[1]
            .words()
            .contains("None of these ratios")
    );
}
