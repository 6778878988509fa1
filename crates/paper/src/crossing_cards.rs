//! Crossing cards: one for each cross, to hang on the female and to write on in the yard.

use domain::agenda::Milestones;
use domain::display::pollen_words;
use domain::progress::CrossProgress;
use domain::{Cross, Id, Project};
use exchange::cards::Card;

/// Crosses that still have something to be done in the yard: not yet harvested, and not failed; by the female's place, so
/// that the cards lie in walking order.
pub fn open_crosses(project: &Project) -> Vec<Id<Cross>> {
    let mut open: Vec<&Cross> = project
        .crosses()
        .iter()
        .filter(|cross| CrossProgress::of(project, cross) < CrossProgress::Harvested)
        .collect();
    let place = |cross: &Cross| {
        let female = project.genotypes().get(cross.female);
        female
            .map(|plant| plant.location.clone())
            .unwrap_or_default()
    };
    open.sort_by_cached_key(|cross| (place(cross), cross.code.clone()));
    open.into_iter().map(|cross| cross.id).collect()
}

/// The cards of these crosses, in this order.
pub fn cards(project: &Project, crosses: &[Id<Cross>]) -> Vec<Card> {
    let crosses = crosses.iter().filter_map(|id| project.crosses().get(*id));
    crosses.map(|cross| card(project, cross)).collect()
}

fn card(project: &Project, cross: &Cross) -> Card {
    let mut known = Vec::new();
    let mut line = |name: &str, value: String| {
        if !value.is_empty() {
            known.push((name.to_owned(), value));
        }
    };
    let female = project.genotypes().get(cross.female);
    if let Some(female) = female {
        line("Female stands", female.location.clone());
    }
    if let Some(days) = Milestones::of(project, cross) {
        line("Bag by", days.bag.to_string());
        line("Pollinate on", days.pollinate.to_string());
        line("Bags off", days.bags_off.to_string());
        line("Ripe", format!("{} to {}", days.ripe_from, days.ripe_to));
    }
    if let Some(seeds) = cross.seeds_wanted {
        line("Seeds wanted", seeds.to_string());
    }
    line("For", cross.purpose.clone());
    Card {
        code: cross.code.clone(),
        title: format!(
            "{} × {}",
            project.code_of(cross.female),
            pollen_words(project, &cross.pollen)
        ),
        known,
        to_write: [
            "Bagged on, bags",
            "Pollinated on, by",
            "Bags off on",
            "Harvested on, cones",
            "Remark",
        ]
        .map(str::to_owned)
        .to_vec(),
    }
}
