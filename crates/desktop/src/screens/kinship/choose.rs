//! Choosing the plants whose kinship is shown.

use crate::screens::code_picker::{CodePicker, find_plants};
use crate::view::View;
use domain::ancestry::{is_parent, parents_of_season};
use domain::{Genotype, Id, Origin, Project};
use egui::Ui;
use kit::fonts::mark;
use kit::theme::{muted, space};

/// More plants make a map too fine to read.
pub(super) const MOST: usize = 60;

/// A set of plants that can be chosen at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Set {
    /// Parents that live.
    Parents,
    /// Plants selected that live.
    Selected,
    /// Founders that live.
    Founders,
    /// The parents of the crosses of a season.
    OfSeason(i32),
}

impl Set {
    /// Every set of a project.
    fn all(project: &Project) -> Vec<Self> {
        let mut seasons: Vec<i32> = project.crosses().iter().map(|cross| cross.season).collect();
        seasons.sort_unstable_by(|one, other| other.cmp(one));
        seasons.dedup();
        let plain = [Self::Parents, Self::Selected, Self::Founders];
        plain
            .into_iter()
            .chain(seasons.into_iter().map(Self::OfSeason))
            .collect()
    }

    fn words(self) -> String {
        match self {
            Self::Parents => "Living parents".into(),
            Self::Selected => "Selected plants".into(),
            Self::Founders => "Living founders".into(),
            Self::OfSeason(season) => format!("Parents of {season}"),
        }
    }

    fn plants(self, project: &Project) -> Vec<Id<Genotype>> {
        let living = |wanted: &dyn Fn(&Genotype) -> bool| {
            project
                .genotypes()
                .iter()
                .filter(|plant| plant.is_alive() && wanted(plant))
                .map(|plant| plant.id)
                .collect()
        };
        match self {
            Self::Founders => living(&|plant| matches!(plant.origin, Origin::Founder { .. })),
            Self::Selected => living(&|plant| plant.selected.is_some()),
            Self::Parents => living(&|plant| is_parent(project, plant.id)),
            Self::OfSeason(season) => parents_of_season(project, season),
        }
    }
}

/// A set with its plants.
type SetOfPlants = (Set, Vec<Id<Genotype>>);

/// The plants chosen, in the order they were.
#[derive(Default)]
pub(super) struct Chosen {
    pub(super) plants: Vec<Id<Genotype>>,
    /// What could not be added.
    left_out: usize,
    /// The sets and their plants, of a revision.
    sets: Option<(u64, Vec<SetOfPlants>)>,
}

impl Chosen {
    /// Forgets plants that are gone.
    pub(super) fn follow(&mut self, project: &Project) {
        self.plants
            .retain(|plant| project.genotypes().contains(*plant));
    }

    pub(super) fn add(&mut self, plants: &[Id<Genotype>]) {
        self.left_out = 0;
        for plant in plants {
            if self.plants.contains(plant) {
                continue;
            }
            if self.plants.len() < MOST {
                self.plants.push(*plant);
            } else {
                self.left_out += 1;
            }
        }
    }

    pub(super) fn leave_out(&mut self, plant: Id<Genotype>) {
        self.plants.retain(|each| *each != plant);
        self.left_out = 0;
    }

    fn sets(&mut self, project: &Project) -> &[(Set, Vec<Id<Genotype>>)] {
        let revision = project.revision();
        if self.sets.as_ref().is_none_or(|(of, _)| *of != revision) {
            let sets = Set::all(project).into_iter();
            let sets = sets
                .map(|set| (set, set.plants(project)))
                .filter(|(_, plants)| !plants.is_empty())
                .collect();
            self.sets = Some((revision, sets));
        }
        self.sets.as_ref().map_or(&[], |(_, sets)| sets)
    }

    /// The set to begin with: the first there is.
    pub(super) fn first_set(&mut self, project: &Project) -> Option<(String, Vec<Id<Genotype>>)> {
        let (set, plants) = self.sets(project).first()?;
        Some((set.words().to_lowercase(), plants.clone()))
    }

    /// Draws what adds and takes away.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>) {
        let project = view.project;
        ui.horizontal(|ui| {
            let mut added = None;
            let picker = CodePicker::new("Add a plant")
                .hint("add a plant by code")
                .width(160.0);
            let find = |typed: &str| find_plants(project, typed, |_| true);
            if picker.show(ui, "", project.revision(), &mut added, find)
                && let Some(plant) = added
            {
                self.add(&[plant]);
            }
            let mut wanted = None;
            ui.menu_button(format!("Add a set {}", mark::DESCENDING), |ui| {
                for (set, plants) in self.sets(project) {
                    if ui
                        .button(format!("{} ({})", set.words(), plants.len()))
                        .clicked()
                    {
                        wanted = Some(plants.clone());
                    }
                }
            });
            if let Some(plants) = wanted {
                self.add(&plants);
            }
            if ui
                .add_enabled(!self.plants.is_empty(), egui::Button::new("Clear"))
                .clicked()
            {
                *self = Self::default();
            }
            ui.add_space(space::S);
            let chosen = self.plants.len();
            let words = match self.left_out {
                0 => format!("{chosen} chosen"),
                more => format!("{chosen} chosen; {more} more have no room ({MOST} at most)"),
            };
            ui.label(muted(ui, words));
        });
    }
}
