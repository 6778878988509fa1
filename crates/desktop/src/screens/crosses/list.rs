//! Which crosses are listed, and in what order.

use crate::screens::sorting::{Key, holds, sort};
use chrono::Datelike as _;
use domain::display::origin_words;
use domain::progress::{CrossProgress, seeds_got};
use domain::{Cross, Id, Origin, Project};
use kit::widgets::Sort;
use std::collections::BTreeSet;

/// The column of the season.
pub(super) const SEASON: usize = 0;

/// What a cross must be to be listed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Filter {
    /// Part of its code, of a parent's, or of its purpose.
    pub(super) find: String,
    pub(super) season: Option<i32>,
}

impl Filter {
    /// Whether a cross is listed.
    pub(super) fn passes(&self, project: &Project, cross: &Cross) -> bool {
        let wanted = self.find.trim().to_lowercase();
        self.season.is_none_or(|season| season == cross.season)
            && (wanted.is_empty()
                || holds(&cross.code, &wanted)
                || holds(&parents(project, cross), &wanted)
                || holds(&cross.purpose, &wanted))
    }
}

/// Every season of the project, the latest first.
pub(super) fn seasons(project: &Project) -> Vec<i32> {
    let seasons: BTreeSet<i32> = project.crosses().iter().map(|cross| cross.season).collect();
    seasons.into_iter().rev().collect()
}

/// The crosses listed, in order: those of one key by code.
pub(super) fn rows(project: &Project, (filter, order): &(Filter, Option<Sort>)) -> Vec<Id<Cross>> {
    let passing: Vec<&Cross> = project
        .crosses()
        .iter()
        .filter(|cross| filter.passes(project, cross))
        .collect();
    let by_code = sort(passing, true, |cross| Key::words(&cross.code));
    let Sort { column, ascending } = order.unwrap_or(Sort {
        column: SEASON,
        ascending: false,
    });
    sort(by_code, ascending, |cross| key(project, cross, column))
        .into_iter()
        .map(|cross| cross.id)
        .collect()
}

fn key(project: &Project, cross: &Cross, column: usize) -> Option<Key> {
    match column {
        SEASON => Some(Key::Number(cross.season.into())),
        1 => Key::words(&cross.code),
        2 => Key::words(&parents(project, cross)),
        3 => Some(Key::Number(CrossProgress::of(project, cross) as i64)),
        4 => {
            let day = project
                .last_pollination(cross.id)
                .or(cross.planned_pollination)?;
            Some(Key::Number(day.num_days_from_ce().into()))
        }
        5 => Some(Key::Number(cross.seeds_wanted?.into())),
        _ => Some(Key::Number(seeds_got(project, cross)?.0.into())),
    }
}

fn parents(project: &Project, cross: &Cross) -> String {
    origin_words(project, &Origin::Cross { cross: cross.id })
}
