//! Why the cold of a batch is thought to be enough on a day.

use super::Grounds;
use crate::ChillBatch;
use crate::chill_response::Response;
use crate::date::InWords as _;
use crate::temperature::{BatchCold, hours};

/// The grounds of the day on which the cold of a batch is enough; `cold` is `None` where its temperatures aren't known.
pub fn of_cold(batch: &ChillBatch, cold: Option<&BatchCold>, response: &Response) -> Grounds {
    let asked = format!(
        "The protocol asks for {} of cold, which is over on {}",
        batch.regimen.chill,
        batch.ready_on().in_words()
    );
    let (why, known) = match cold {
        Some(cold) => (
            format!(
                "{asked}. By its temperatures it got {:.0} % of that so far.",
                100.0 * cold.part()
            ),
            how_well_known(cold),
        ),
        None => (
            format!("{asked}; nothing else is known of this batch."),
            "Its temperatures aren't on record: whether the calendar's days were cold ones isn't known.".to_owned(),
        ),
    };
    let own = match response {
        Response::NotEnough(_) => {
            " Your own boxes don't tell yet how much cold the seed needs; the protocol is common practice.".to_owned()
        }
        Response::NoDifference(fitted) => format!(
            " In {} boxes of your own, {:.0} to {:.0} days made no difference beyond chance.",
            fitted.boxes, fitted.days.0, fitted.days.1
        ),
        Response::Rises(fitted) => format!(
            " {} boxes of your own came better after more cold, over {:.0} to {:.0} days.",
            fitted.boxes, fitted.days.0, fitted.days.1
        ),
    };
    let readings = match cold {
        None => "The file of its logger: it may have been colder or warmer than thought. ",
        Some(cold) if cold.exposure.unknown > 24.0 => "Readings for the hours that aren't known. ",
        Some(_) => "",
    };
    let boxes = match response {
        Response::NotEnough(sentence) => sentence.trim_end_matches('.').to_owned(),
        _ => "Boxes counted after other lengths of cold: they move the line that is drawn through your own".to_owned(),
    };
    Grounds {
        why,
        how_sure: known + &own,
        would_change: format!("{readings}{boxes}."),
    }
}

fn how_well_known(cold: &BatchCold) -> String {
    let unknown = if cold.exposure.unknown < 1.0 {
        "All its hours are on record".to_owned()
    } else {
        format!("{} of it aren't on record", hours(cold.exposure.unknown))
    };
    let days = match cold.by_temperature {
        None => "; too little of it was in the band to name a day".to_owned(),
        Some(day) => match day.latest {
            Some(latest) if latest == day.earliest => String::new(),
            Some(latest) => format!(
                "; enough comes between {} and {}",
                day.earliest.in_words(),
                latest.in_words()
            ),
            None => format!(
                "; enough comes on {} at the earliest, and never if it stays as poor as it was",
                day.earliest.in_words()
            ),
        },
    };
    format!("{unknown}{days}.")
}
