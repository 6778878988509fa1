//! Entries by environments as a few products: the pattern in who does well where.
//!
//! AMMI takes entries and environments out first and looks at what is left (Gauch 1988, Biometrics 44:705–715); GGE
//! takes out environments alone, so that the pattern holds the entries, too (Yan & Kang 2002, GGE Biplot Analysis).

mod ammi;
mod gge;
mod singular;

pub use ammi::{Ammi, ammi};
pub use gge::{Gge, gge};
