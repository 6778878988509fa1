//! Crosses: parents, pollen, isolation, and what came of them.

use super::{Found, Weight};
use crate::date::InWords as _;
use crate::date::shift;
use crate::{Cross, CrossEventKind, Pollen};
use chrono::NaiveDate;

impl Found<'_> {
    pub(super) fn crosses(&mut self) {
        for cross in self.project.crosses().iter() {
            self.parents(cross);
            self.pollen(cross);
            self.isolation(cross);
            self.outcome(cross);
        }
    }

    /// The first day something happened to a cross.
    fn first_day(
        &self,
        cross: &Cross,
        wanted: impl Fn(&CrossEventKind) -> bool,
    ) -> Option<NaiveDate> {
        self.project
            .events_of(cross.id)
            .filter(|event| wanted(&event.what))
            .map(|event| event.date)
            .min()
    }

    fn parents(&mut self, cross: &Cross) {
        let (project, code) = (self.project, &cross.code);
        for parent in std::iter::once(cross.female).chain(cross.pollen.males()) {
            if project
                .genotypes()
                .get(parent)
                .is_some_and(|plant| plant.sex.is_none())
            {
                let role = if parent == cross.female {
                    "female parent"
                } else {
                    "male parent"
                };
                let what = format!(
                    "{} is the {role} of {code}, but its sex isn't recorded.",
                    project.code_of(parent)
                );
                self.add(
                    Weight::Doubt,
                    cross.id,
                    what,
                    "Record its sex when it flowers.",
                );
            }
        }
    }

    fn pollen(&mut self, cross: &Cross) {
        let code = &cross.code;
        match &cross.pollen {
            Pollen::Unknown => self.add(
                Weight::Gap,
                cross.id,
                format!("The pollen of {code} is unknown."),
                "Record the male if you can still find out which it was.",
            ),
            Pollen::Mix(shares) if shares.iter().any(|share| share.share.is_none()) => {
                self.add(
                    Weight::Gap,
                    cross.id,
                    format!("The shares of the pollen mix of {code} aren't all known."),
                    "Estimate them if you can.",
                );
            }
            _ => {}
        }
    }

    fn isolation(&mut self, cross: &Cross) {
        let code = &cross.code;
        let bagged = self.first_day(cross, |what| {
            matches!(what, CrossEventKind::FemaleBagged { .. })
        });
        let receptive = self.first_day(cross, |what| *what == CrossEventKind::Receptive);
        let pollinated = self.first_day(cross, |what| *what == CrossEventKind::Pollinated);
        let last_pollinated = self.project.last_pollination(cross.id);
        let bag_off = self.first_day(cross, |what| *what == CrossEventKind::BagOff);
        if !matches!(cross.pollen, Pollen::Open) {
            match (bagged, pollinated) {
                (None, Some(day)) => {
                    self.add(
                        Weight::Doubt,
                        cross.id,
                        format!(
                            "{code} was pollinated on {} without a bag on record.",
                            day.in_words()
                        ),
                        "Other pollen may have got in: add the bagging, or call the pollen open.",
                    );
                }
                (Some(bag), Some(day)) if bag > day => {
                    self.add(
                        Weight::Doubt,
                        cross.id,
                        format!("{code} was bagged on {}, after pollen was given on {}.", bag.in_words(), day.in_words()),
                        "The female was not isolated in time: correct the dates, or treat the male parent as \
                        uncertain.",
                    );
                }
                _ => {}
            }
        }
        if let (Some(bag), Some(ready)) = (bagged, receptive)
            && bag >= ready
        {
            self.add(
                Weight::Doubt,
                cross.id,
                format!(
                    "The female of {code} was bagged on {}, but her flowers were already receptive on {}.", bag.in_words(), ready.in_words()
                ),
                "Stray pollen may have got there first: treat the male parent of this seed as uncertain.",
            );
        }
        if let (Some(off), Some(given)) = (bag_off, last_pollinated)
            && off <= given
        {
            self.add(
                Weight::Doubt,
                cross.id,
                format!("The bags of {code} came off on {}; pollen was last given on {}.", off.in_words(), given.in_words()),
                "Stray pollen may have got in: correct the dates, or treat the male parent as uncertain.",
            );
        }
    }

    fn outcome(&mut self, cross: &Cross) {
        let (project, code) = (self.project, &cross.code);
        let pollinated = self.first_day(cross, |what| *what == CrossEventKind::Pollinated);
        let harvested = self.first_day(cross, |what| {
            matches!(what, CrossEventKind::ConesHarvested { .. })
        });
        let failed = self.first_day(cross, |what| matches!(what, CrossEventKind::Failed { .. }));
        if harvested.is_some()
            && failed.is_none()
            && project.lots_of(cross.id).next().is_none()
            && harvested.is_some_and(|day| shift(day, 60) < self.today)
        {
            self.add(
                Weight::Gap,
                cross.id,
                format!("{code} was harvested but has no seed lot."),
                "Record the seed, or that the cross failed.",
            );
        }
        if cross.planned_pollination.is_none()
            && pollinated.is_none()
            && failed.is_none()
            && harvested.is_none()
        {
            self.add(
                Weight::Gap,
                cross.id,
                format!("{code} has no day planned for pollination."),
                "Give a day, so that the calendar can remind you.",
            );
        }
    }
}
