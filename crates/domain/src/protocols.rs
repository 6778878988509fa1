//! Ready protocols, each with its source.

use crate::date::Span;
use crate::id::IdSource;
use crate::record::protocol::{Protocol, Regimen};
use crate::units::Celsius;

impl Default for Regimen {
    /// Common practice: 60 days at 1.1 to 4.4 °C (34 to 40 °F), never freezing; a look every day in the first 7
    /// days, then at least once a week; 50 to 100 seeds in a box; 24 °C (75 °F) with 8 h of light a day; first
    /// seedlings after 5 to 10 days.
    fn default() -> Self {
        Self {
            cold_from: Celsius(1.1),
            cold_to: Celsius(4.4),
            freezing: Celsius(0.0),
            chill: Span::Days(60),
            daily_checks: 7,
            check_every: 7,
            recheck_after: 2,
            box_from: 50,
            box_to: 100,
            warm: Celsius(24.0),
            light_hours: 8.0,
            sprouts_from: 5,
            sprouts_to: 10,
            count_every: 2,
            give_up_after: 28,
        }
    }
}

/// The protocols a new project starts with; the first is its own.
pub fn ready_protocols(ids: &mut IdSource) -> Vec<Protocol> {
    let usual = Regimen::default();
    let mut ready = |name: &str, source: &str, regimen: Regimen| Protocol {
        id: ids.next(),
        name: name.into(),
        regimen,
        source: source.into(),
    };
    vec![
        ready(
            "Sixty days, damp and cold",
            "common practice",
            usual.clone(),
        ),
        ready(
            "Two calendar months",
            "common practice",
            Regimen {
                chill: Span::Months(2),
                ..usual.clone()
            },
        ),
        ready(
            "Six to eight weeks on damp paper",
            "Haunold & Zimmermann 1974, Crop Science 14:774-776, as quoted by others: 6 to 8 weeks in a refrigerator, about 80 % germination",
            Regimen {
                chill: Span::Weeks(8),
                ..usual.clone()
            },
        ),
        ready(
            "Twelve weeks, then 25 °C",
            "Machado et al. 2020, Ciência e Natura 42 e45, doi 10.5902/2179460X43135: 12 weeks at 3 to 5 °C, then 25 °C; counts on days 7 and 15",
            Regimen {
                cold_from: Celsius(3.0),
                cold_to: Celsius(5.0),
                chill: Span::Weeks(12),
                warm: Celsius(25.0),
                sprouts_from: 5,
                sprouts_to: 15,
                ..usual
            },
        ),
    ]
}
