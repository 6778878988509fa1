//! Seed lots: whose they are, and how much there is.

use super::Found;
use crate::LotSource;

pub(super) fn find(found: &mut Found<'_>) {
    for lot in found.project.seed_lots().iter() {
        if lot.source == LotSource::Unknown {
            let what = format!(
                "Lot {} has no cross: nobody knows whose seed it is.",
                lot.code
            );
            found.doubt(
                lot.id,
                what,
                "Find its cross, or keep its plants out of the pedigree.",
            );
        }
        if lot.amount.is_none() {
            let what = format!("Lot {} was neither counted nor weighed.", lot.code);
            found.gap(lot.id, what, "Count it, or weigh it with a thousand seeds.");
        }
    }
}
