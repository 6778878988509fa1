//! The season's plan for paper and for a spreadsheet: table of crosses, seeds, dates.

use domain::Project;
use domain::planning::{PlannedCross, Planner, SeasonDates, SeasonPlan, SeasonStep};
use exchange::report::{Cells, Report, Section};
use exchange::table;

/// The columns of the table of crosses, and whether each holds figures.
const COLUMNS: [(&str, bool); 9] = [
    ("Female", false),
    ("Male", false),
    ("Seeds", true),
    ("Cones", true),
    ("Boxes", true),
    ("Sprouts", true),
    ("Females", true),
    ("Bag", false),
    ("Pollinate", false),
];

fn row(project: &Project, cross: &PlannedCross, dates: &SeasonDates, place: usize) -> Vec<String> {
    let pollination = dates.pollination.get(place);
    let timing = &project.settings().cross_timing;
    let bag = pollination.map(|&day| domain::date::shift(day, -i64::from(timing.bag_before)));
    let day = |day: Option<chrono::NaiveDate>| day.map(|day| day.to_string()).unwrap_or_default();
    vec![
        project.code_of(cross.female).to_owned(),
        project.code_of(cross.male).to_owned(),
        cross.seeds.to_string(),
        cross.cones.to_string(),
        cross.boxes.to_string(),
        format!("{:.0}", cross.sprouts),
        format!("{:.1}", cross.females),
        day(bag),
        day(pollination.copied()),
    ]
}

/// The crosses and then the dates as CSV, one table: a line for each cross, and one for each step of the season.
pub fn csv(project: &Project, plan: &SeasonPlan, dates: &SeasonDates) -> String {
    let header = [
        "what",
        "female",
        "male",
        "seeds",
        "cones",
        "boxes",
        "sprouts",
        "good_females",
        "from",
        "to",
        "latest",
    ];
    let mut rows: Vec<Vec<String>> = plan
        .crosses
        .iter()
        .enumerate()
        .map(|(place, cross)| {
            let mut cells = row(project, cross, dates, place);
            cells.insert(0, "cross".into());
            cells.push(String::new());
            cells
        })
        .collect();
    rows.extend(dates.dates.iter().map(|date| {
        let mut cells = vec![date.step.words().to_owned()];
        cells.extend(std::iter::repeat_n(String::new(), 7));
        cells.push(date.from.to_string());
        cells.push(date.to.to_string());
        cells.push(date.latest.map(|day| day.to_string()).unwrap_or_default());
        cells
    }));
    table::csv(&header, &rows)
}

/// The plan as a printed report.
pub fn report(
    project: &Project,
    planner: &Planner,
    plan: &SeasonPlan,
    dates: &SeasonDates,
) -> Report {
    let program = project.settings().name.trim();
    let title = if program.is_empty() {
        format!("Season plan {}", dates.season)
    } else {
        format!("{program}: season plan {}", dates.season)
    };
    let stages = planner.stages_words(project, plan);
    let crosses = Section {
        heading: "Crosses".into(),
        sentences: [
            in_words(plan),
            format!(
                "Expected index of the best {} plants: {:.2} above an average seedling of all pairs. {}",
                planner.wanted.min(50),
                plan.gain,
                plan.distance_words()
            ),
            planner.chance_words(plan, std::slice::from_ref(plan)),
            format!(
                "Coancestry {:+.1} % a generation: {}.",
                100.0 * plan.rate,
                domain::planning::size_words(plan.rate)
            ),
        ]
        .into_iter()
        .chain(stages)
        .collect(),
        charts: Vec::new(),
        table: Some(Cells {
            columns: COLUMNS.to_vec(),
            rows: plan
                .crosses
                .iter()
                .enumerate()
                .map(|(place, cross)| row(project, cross, dates, place))
                .collect(),
            ..Cells::default()
        }),
    };
    let by_when = Section {
        heading: "By when".into(),
        sentences: vec![dates.words()],
        charts: Vec::new(),
        table: Some(Cells {
            columns: vec![
                ("Step", false),
                ("From", false),
                ("To", false),
                ("At the latest", false),
                ("Why", false),
            ],
            rows: dates
                .dates
                .iter()
                .map(|date| {
                    vec![
                        date.step.words().to_owned(),
                        date.from.to_string(),
                        date.to.to_string(),
                        date.latest.map(|day| day.to_string()).unwrap_or_default(),
                        date.why.clone(),
                    ]
                })
                .collect(),
            ..Cells::default()
        }),
    };
    let law = Section {
        heading: "Before you begin".into(),
        sentences: std::iter::once(
            "Male hops and imported or protected plants are restricted in many places: local rules and permissions decide.".into(),
        )
        .chain(planner.conditions(plan))
        .collect(),
        charts: Vec::new(),
        table: None,
    };
    Report {
        title,
        sections: vec![crosses, by_when, law],
    }
}

/// Crosses, seeds and boxes in a sentence.
pub fn in_words(plan: &SeasonPlan) -> String {
    let many = |count: usize, one: &str, more: &str| {
        format!("{count} {}", if count == 1 { one } else { more })
    };
    format!(
        "{}, {}, {}, about {:.0} sprouts.",
        many(plan.crosses.len(), "cross", "crosses"),
        many(plan.seeds() as usize, "seed", "seeds"),
        many(plan.boxes() as usize, "box", "boxes"),
        plan.sprouts()
    )
}

/// Pollination of the first cross to that of the last, in words.
pub fn pollination_words(dates: &SeasonDates) -> String {
    dates
        .step(SeasonStep::Pollinate)
        .map_or_else(String::new, |date| {
            if date.from == date.to {
                format!("Pollen is given on {}.", date.from)
            } else {
                format!("Pollen is given from {} to {}.", date.from, date.to)
            }
        })
}
