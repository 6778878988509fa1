//! Why to wait for seed, or to stop.

use super::Grounds;
use crate::germination::StillToCome;
use crate::words::plural;

impl StillToCome {
    /// The grounds of the day to stop.
    pub fn grounds(&self) -> Grounds {
        let (low, high) = self.interval;
        let mut why = format!("Learnt from {}.", self.basis());
        if let Some(age) = self.age_words() {
            why = format!("{why} {age}");
        }
        let how_sure = format!(
            "Nine times in ten {low} to {high} more come, and no more than {} {} lost by the day named. Seed that would only come after day {:.0} was never waited for, and isn't counted.",
            self.few,
            plural(self.few, "is", "are"),
            self.until
        );
        let more = if self.same_treatment {
            "Each box that is closed tells more of how boxes differ"
        } else {
            "Boxes of the same treatment, once closed, would speak for these alone"
        };
        Grounds {
            why,
            how_sure,
            would_change: format!(
                "The next count: if more come than expected, the day moves back. {more}. To lose fewer than {} takes longer.",
                self.few.max(1)
            ),
        }
    }

    /// What age does to seed here; nothing where boxes don't tell.
    pub fn age_words(&self) -> Option<String> {
        let [odds, later] = self.by_year_of_age;
        let tells = (odds.ln().abs() > 0.1) || (later.ln().abs() > 0.05);
        tells.then(|| {
            format!(
                "A year of age makes the odds of a seed to come {odds:.2} times as great here, and the day by which half of those that come are up {later:.2} times as late; that is in it."
            )
        })
    }
}
