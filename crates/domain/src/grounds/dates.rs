//! Why the steps of a season fall on their days.

use super::Grounds;
use crate::date::InWords as _;
use crate::planning::{RAISING, SeasonDates, SeasonStep};
use crate::{CrossEventKind, Project};

impl SeasonDates {
    /// The grounds of the days of a plan.
    pub fn grounds(&self, project: &Project) -> Grounds {
        let pollinations = project
            .cross_events()
            .iter()
            .filter(|event| event.what == CrossEventKind::Pollinated)
            .count();
        let first = self.pollination.first().copied();
        let flowering = first.map_or_else(
            || "No cross is planned yet".to_owned(),
            |day| format!("The first pollen is given on {}", day.in_words()),
        );
        let why = format!(
            "{flowering}. All that follows is counted forward from there by the times of the settings and of the protocol, and the latest days back from planting out."
        );
        let rests = match pollinations {
            0 => "No pollination is on record: the usual flowering is common practice, and may be weeks off".to_owned(),
            1 => "The usual flowering goes by one pollination on record, which may have been early or late".to_owned(),
            many => format!(
                "The usual flowering is the middle of {many} pollinations on record; a year's weather may move it by a week or two"
            ),
        };
        let how_sure = format!(
            "{rests}. The days in pots ({}) and of hardening off ({}) are common practice. Days, not chances: nothing says how often they are kept.",
            RAISING.in_pots, RAISING.hardening
        );
        let tightest = self
            .dates
            .iter()
            .filter_map(|date| Some((date, (date.latest? - date.from).num_days())))
            .min_by_key(|each| each.1);
        let would_change = match (self.spare, tightest) {
            (None, _) => {
                "A last day to plant out, among the goals: without it nothing is late.".to_owned()
            }
            (Some(spare), Some((date, days))) if days < 0 => format!(
                "'{}' is {} days too late. Flowering so much earlier, a shorter chill or a later day to plant out would mend it{}.",
                date.step.words(),
                -days,
                if spare < 0 {
                    "; seed that is cleaned sooner would help as well"
                } else {
                    ""
                }
            ),
            (Some(spare), _) => format!(
                "Flowering more than {spare} days later than that, or a chill so much longer, would make '{}' too late.",
                SeasonStep::Chill.words()
            ),
        };
        Grounds {
            why,
            how_sure,
            would_change,
        }
    }
}
