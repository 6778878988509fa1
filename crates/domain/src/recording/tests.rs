use super::*;
use crate::{Direction, Origin, Scale};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

struct Yard {
    project: Project,
    ids: IdSource,
    plants: Vec<Id<Genotype>>,
    alpha: Id<Trait>,
}

fn yard(scale: Scale) -> Yard {
    let mut ids = IdSource::new(1, 1);
    let mut project = Project::default();
    let plants: Vec<_> = (0..8).map(|_| ids.next()).collect();
    for (nth, id) in plants.iter().enumerate() {
        let plant = Genotype::new(*id, format!("P-{nth}"), Origin::Unknown);
        project.apply(Edit::add(plant)).unwrap();
    }
    let alpha = ids.next();
    let one = Trait {
        id: alpha,
        name: "Alpha acids".into(),
        scale,
        direction: Direction::Higher,
        method: String::new(),
    };
    project.apply(Edit::add(one)).unwrap();
    Yard {
        project,
        ids,
        plants,
        alpha,
    }
}

fn number(scale: &Scale, text: &str) -> Result<Option<Value>, String> {
    read(scale, "Alpha acids", text, |_| Err("no date".into()))
}

#[test]
fn numbers_are_read_as_people_write_them() {
    let percent = Scale::measure("%");
    for (text, value) in [
        ("8.2", 8.2),
        (" 8,2 ", 8.2),
        ("8,2 %", 8.2),
        ("0.5 fraction", 50.0),
        ("1 200", 1200.0),
        ("\u{2212}3", -3.0),
    ] {
        let read = number(&percent, text).unwrap();
        assert_eq!(read, Some(Value::Number(value)), "{text}");
    }
    assert_eq!(number(&percent, "  "), Ok(None));
    for text in [
        "1,234", "12,345", "oops", "8.2.1", "inf", "nan", "5 kg", "--3",
    ] {
        assert!(number(&percent, text).is_err(), "{text}");
    }
    assert_eq!(number(&percent, "0,234"), Ok(Some(Value::Number(0.234))));
}

#[test]
fn each_scale_is_typed_in_its_own_way() {
    let score = Scale::one_to_nine("no mildew", "dead");
    assert_eq!(number(&score, "dead"), Ok(Some(Value::Number(9.0))));
    let refusal = number(&score, "10").unwrap_err();
    assert!(refusal.contains("from 1 to 9"), "{refusal}");
    let classes = Scale::Classes {
        classes: vec!["loose".into(), "medium".into(), "dense".into()],
    };
    for text in ["Loose", "l", "1"] {
        let class = Value::Class {
            class: "loose".into(),
        };
        assert_eq!(number(&classes, text), Ok(Some(class)), "{text}");
    }
    let refusal = number(&classes, "hard").unwrap_err();
    assert!(refusal.contains("loose, medium, dense"), "{refusal}");
    assert_eq!(number(&Scale::YesNo, "y"), Ok(Some(Value::YesNo(true))));
    assert_eq!(number(&Scale::YesNo, "-"), Ok(Some(Value::YesNo(false))));
    assert!(number(&Scale::Number, "2.5").is_err());
}

#[test]
fn what_is_shown_is_read_back_the_same() {
    let on = day("2026-08-14");
    let classes = Scale::Classes {
        classes: vec!["a".into(), "b".into()],
    };
    for (scale, value) in [
        (Scale::measure("%"), Value::Number(8.25)),
        (Scale::YesNo, Value::YesNo(false)),
        (Scale::Date, Value::Date { date: on }),
        (classes, Value::Class { class: "b".into() }),
        (
            Scale::Text,
            Value::Text {
                text: "like pine".into(),
            },
        ),
    ] {
        let back = read(&scale, "it", &told(&value), |text| {
            text.parse().or(Err(text.to_owned()))
        });
        assert_eq!(back, Ok(Some(value)));
    }
}

#[test]
fn a_value_of_the_round_is_corrected_and_one_of_another_replicate_stays() {
    let Yard {
        mut project,
        mut ids,
        plants,
        alpha,
    } = yard(Scale::measure("%"));
    let on = day("2026-09-01");
    let cell = (plants[0], alpha);
    let first = Round {
        replicate: Some(1),
        by: "Ada".into(),
        ..Round::default()
    };
    let second = Round {
        replicate: Some(2),
        ..first.clone()
    };
    for (round, value) in [(&first, 8.0), (&second, 9.0), (&first, 8.5)] {
        let edit = round.record(&project, cell, on, Some(value.into()), &mut ids);
        project.apply(edit.unwrap()).unwrap();
    }
    let value = |project: &Project, round: &Round| {
        round
            .existing(project, cell, on)
            .map(|seen| seen.value.clone())
    };
    assert_eq!(project.observations().len(), 2);
    assert_eq!(value(&project, &first), Some(8.5.into()));
    assert_eq!(value(&project, &second), Some(9.0.into()));
    let removal = first.record(&project, cell, on, None, &mut ids).unwrap();
    project.apply(removal).unwrap();
    assert_eq!(value(&project, &first), None);
    assert_eq!(value(&project, &second), Some(9.0.into()));
}

#[test]
fn a_block_is_one_edit_and_what_a_rule_refuses_is_told() {
    let Yard {
        mut project,
        mut ids,
        plants,
        alpha,
    } = yard(Scale::Measure {
        unit: "%".into(),
        at_least: Some(0.0),
        at_most: Some(30.0),
    });
    let on = day("2026-09-01");
    let values = [(plants[0], 8.0), (plants[1], 80.0), (plants[2], 9.0)]
        .map(|(plant, value)| ((plant, alpha), Value::Number(value)));
    let (edit, refused) = Round::default().record_all(&project, on, &values, &mut ids);
    assert_eq!(refused.len(), 1);
    assert_eq!(refused[0].0, (plants[1], alpha));
    let undo = project.apply(edit.unwrap()).unwrap();
    assert_eq!(project.observations().len(), 2);
    project.apply(undo).unwrap();
    assert_eq!(project.observations().len(), 0);
}

#[test]
fn a_point_in_the_wrong_place_is_asked_about_and_recorded_all_the_same() {
    let Yard {
        mut project,
        mut ids,
        plants,
        alpha,
    } = yard(Scale::measure("%"));
    let on = day("2026-09-01");
    let round = Round::default();
    for (plant, value) in plants.iter().zip([7.9, 8.0, 8.3, 8.8, 9.1, 95.0]) {
        let edit = round.record(&project, (*plant, alpha), on, Some(value.into()), &mut ids);
        project.apply(edit.unwrap()).unwrap();
    }
    let of_trait = project.traits().get(alpha).unwrap();
    let like = round.existing(&project, (plants[0], alpha), on).unwrap();
    let usual = Usual::of(&project, alpha, like);
    let asked = usual.question(of_trait, &95.0.into(), on).unwrap();
    assert!(asked.contains("usual 8.30"), "{asked}");
    assert_eq!(usual.question(of_trait, &9.1.into(), on), None);
    assert!(usual.question(of_trait, &0.8.into(), on).is_some());
    // Another method knows nothing of these.
    let other = Observation {
        method: "HPLC".into(),
        ..like.clone()
    };
    let unknown = Usual::of(&project, alpha, &other);
    assert_eq!(unknown.question(of_trait, &95.0.into(), on), None);
}

#[test]
fn a_remark_goes_with_the_values_of_its_row() {
    let Yard {
        mut project,
        mut ids,
        plants,
        alpha,
    } = yard(Scale::measure("%"));
    let on = day("2026-09-01");
    let round = Round::default();
    let refusal = round.set_remark(&project, plants[0], &[alpha], on, "hail");
    assert!(refusal.is_err());
    let edit = round.record(&project, (plants[0], alpha), on, Some(8.0.into()), &mut ids);
    project.apply(edit.unwrap()).unwrap();
    let edit = round
        .set_remark(&project, plants[0], &[alpha], on, "hail")
        .unwrap();
    project.apply(edit.unwrap()).unwrap();
    assert_eq!(round.remark(&project, plants[0], &[alpha], on), "hail");
    assert_eq!(
        round.set_remark(&project, plants[0], &[alpha], on, "hail"),
        Ok(None)
    );
}
