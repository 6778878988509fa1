//! The family tree: plants in bands of generations, joined at a junction per family.
//!
//! The widget knows nothing of a project. A screen fills a [`FamilyGraph`], keeps a [`TreeState`] and shows a
//! [`FamilyTree`]; what the person did comes back in a [`TreeResponse`]. The way of the data is
//! `graph` → `scope` (which plants) → `layout` (where) → `draw` (what it looks like, on the window or as SVG) →
//! `view` (pan, zoom, keyboard, accessible names).
//!
//! The female's line is solid and ends in ♀, the male's is dashed and ends in ♂. All plants have boxes of one shape.

mod draw;
mod graph;
mod layout;
mod marks;
mod on_paper;
mod page;
mod scope;
mod svg;
mod view;

use std::cmp::Ordering;

pub use graph::{
    Descent, Family, FamilyGraph, FamilyIndex, FamilyKey, Line, MixPart, Parent, Parentage, Plant,
    PlantIndex, PlantKey, Sex, Source,
};
pub use layout::{Band, ChildLine, FamilyPlace, Layout, ParentLine, Port, Sizes};
pub use on_paper::to_drawing;
pub use scope::{
    Around, BoxIndex, Content, End, Extract, FOLD_FROM, Kin, Link, Scope, describe_fold,
    describe_parents, describe_plant,
};
pub use svg::to_svg;
pub use view::{FamilyTree, TreeResponse, TreeState};

/// Orders codes as people count: `B26-2` before `B26-14`. Codes that differ only in leading zeros are told apart last.
pub(crate) fn code_order(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a.chars().peekable(), b.chars().peekable());
    loop {
        match (left.peek(), right.peek()) {
            (None, None) => return a.cmp(b),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                let number = |chars: &mut std::iter::Peekable<std::str::Chars<'_>>| {
                    let mut digits = String::new();
                    while let Some(digit) = chars.next_if(char::is_ascii_digit) {
                        digits.push(digit);
                    }
                    let significant = digits.trim_start_matches('0');
                    (significant.len(), significant.to_owned())
                };
                match number(&mut left).cmp(&number(&mut right)) {
                    Ordering::Equal => {}
                    other => return other,
                }
            }
            (Some(x), Some(y)) => match x.cmp(y) {
                Ordering::Equal => {
                    left.next();
                    right.next();
                }
                other => return other,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::code_order;

    #[test]
    fn codes_are_ordered_as_people_count() {
        let mut codes = ["B26-14", "B26-2", "B9-3", "B26", "A1", "B26-02"];
        codes.sort_by(|a, b| code_order(a, b));
        assert_eq!(codes, ["A1", "B9-3", "B26", "B26-02", "B26-2", "B26-14"]);
    }
}
