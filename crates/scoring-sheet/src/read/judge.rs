//! What the marks in a cell say, and how sure that is.

use super::bubbles::Mark;
use super::{ACCEPTED, Found};

/// Inside a bubble that is meant there is at least so much ink, as a share of black.
const MEANT: f64 = 0.10;
/// So much more and it is sure.
const MEANT_SURELY: f64 = 0.04;
/// In an empty one there is less than this.
pub(super) const EMPTY: f64 = 0.075;
/// So much less and it is sure.
const EMPTY_SURELY: f64 = 0.05;
/// A mark strays into the bubbles beside it by so much of its own ink.
const STRAYS: f64 = 0.08;
/// How sure anything is about which a person is to be asked.
const DOUBTFUL: f64 = 0.5;

/// A bubble that is darker than all others of its cell by this, and by so many times what chance does, was written in,
/// however faintly.
const FAINT: f64 = 0.012;
const BEYOND_CHANCE: f64 = 3.0;

/// Weighs the marks of a cell. By `chance` one empty bubble looks so much darker than the others.
pub(super) fn judge(marks: &[Mark], chance: f64) -> (Found, f64) {
    let Some(top) = most_inked(marks, |_| true) else {
        return (Found::Empty, DOUBTFUL);
    };
    if let Some(doubt) = smeared(marks, top) {
        return (doubt, DOUBTFUL);
    }
    let ink = marks[top].inside;
    if ink < EMPTY {
        let strayed = marks.iter().any(|mark| mark.strokes > 2);
        let second = most_inked(marks, |each| each != top).map_or(0.0, |each| marks[each].inside);
        let hidden = marks.iter().map(|mark| mark.inside + mark.hidden);
        let most = hidden.fold(ink, f64::max);
        let faint = most - second.max(0.0) > FAINT.max(BEYOND_CHANCE * chance);
        let sure = if strayed || faint {
            DOUBTFUL
        } else {
            sure((EMPTY - ink) / EMPTY_SURELY)
        };
        return (Found::Empty, sure);
    }
    let limit = EMPTY + STRAYS * ink;
    let inked: Vec<usize> = (0..marks.len())
        .filter(|&each| marks[each].inside > limit)
        .collect();
    match inked[..] {
        [] | [_] => {
            let mark = &marks[top];
            // A lone bubble with a large cross over it: meant, or crossed out and nothing put in its place?
            if mark.maybe_crossed {
                return (Found::Unclear, DOUBTFUL);
            }
            if mark.strokes > 2 || mark.rayed {
                return (Found::Level(top), DOUBTFUL);
            }
            let second =
                most_inked(marks, |each| each != top).map_or(0.0, |second| marks[second].inside);
            let margin = ((ink - MEANT) / MEANT_SURELY).min((limit - second) / EMPTY_SURELY);
            if margin <= 0.0 {
                return (Found::Unclear, DOUBTFUL);
            }
            (Found::Level(top), sure(margin))
        }
        _ => corrected(marks, &inked),
    }
}

/// Where a bubble is dark all round, a person is asked: about the one that is filled, if there is but one.
fn smeared(marks: &[Mark], top: usize) -> Option<Found> {
    if !marks.iter().any(|mark| mark.smeared) {
        return None;
    }
    let limit = EMPTY + STRAYS * marks[top].inside;
    let others = (0..marks.len()).any(|each| each != top && marks[each].inside > limit);
    if others || marks[top].maybe_crossed {
        Some(Found::Unclear)
    } else {
        Some(Found::Level(top))
    }
}

/// Several bubbles are filled: the one that isn't crossed out is meant, if all others are.
fn corrected(marks: &[Mark], inked: &[usize]) -> (Found, f64) {
    let several = || (Found::Several(inked.to_vec()), DOUBTFUL);
    let mut left = inked.iter().filter(|&&each| !marks[each].crossed);
    let (Some(&meant), None) = (left.next(), left.next()) else {
        return several();
    };
    let mark = &marks[meant];
    if mark.strokes > 2 || mark.rayed {
        return several();
    }
    let margin = (mark.inside - MEANT) / MEANT_SURELY;
    if margin <= 0.0 {
        return several();
    }
    (Found::Level(meant), sure(margin))
}

fn most_inked(marks: &[Mark], among: impl Fn(usize) -> bool) -> Option<usize> {
    (0..marks.len())
        .filter(|&each| among(each))
        .max_by(|&a, &b| marks[a].inside.total_cmp(&marks[b].inside))
}

/// How sure a margin makes: 1 is just accepted, 0 is even chances.
fn sure(margin: f64) -> f64 {
    let accepted = (ACCEPTED / (1.0 - ACCEPTED)).ln();
    1.0 / (1.0 + (-accepted * margin).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mark(inside: f64) -> Mark {
        Mark {
            inside,
            hidden: 0.0,
            crossed: false,
            strokes: 0,
            maybe_crossed: false,
            rayed: false,
            smeared: false,
        }
    }

    fn crossed(inside: f64) -> Mark {
        Mark {
            inside,
            hidden: 0.0,
            crossed: true,
            strokes: 4,
            maybe_crossed: true,
            rayed: true,
            smeared: false,
        }
    }

    #[test]
    fn a_clear_mark_is_accepted_and_a_faint_one_is_asked_about() {
        let (found, sure) = judge(&[mark(0.0), mark(0.7), mark(0.02)], 0.003);
        assert_eq!(found, Found::Level(1));
        assert!(sure > 0.99);
        let (_, sure) = judge(&[mark(0.0), mark(0.09), mark(0.02)], 0.003);
        assert!(sure < ACCEPTED);
        let (found, sure) = judge(&[mark(0.01), mark(0.02)], 0.003);
        assert_eq!(found, Found::Empty);
        assert!(sure > ACCEPTED);
    }

    /// Much fainter than a mark that counts, but darker than anything near it.
    #[test]
    fn a_breath_of_pencil_is_asked_about_and_grain_is_not() {
        let (found, sure) = judge(&[mark(0.0), mark(0.022), mark(0.004)], 0.003);
        assert_eq!(found, Found::Empty);
        assert!(sure < ACCEPTED);
        let (_, sure) = judge(&[mark(0.0), mark(0.022), mark(0.004)], 0.01);
        assert!(sure > ACCEPTED);
        let (_, sure) = judge(&[mark(0.018), mark(0.022), mark(0.015)], 0.003);
        assert!(sure > ACCEPTED);
    }

    /// In a column where almost every bubble of a level is marked, a faint mark looks like the print of that level.
    #[test]
    fn a_mark_that_may_have_been_taken_for_print_is_asked_about() {
        let taken_for_print = Mark {
            hidden: 0.03,
            ..mark(0.0)
        };
        let (found, sure) = judge(&[taken_for_print, mark(0.003)], 0.003);
        assert_eq!(found, Found::Empty);
        assert!(sure < ACCEPTED);
    }

    #[test]
    fn a_crossed_out_bubble_gives_way_to_the_other() {
        let (found, sure) = judge(&[crossed(0.8), mark(0.01), mark(0.6)], 0.003);
        assert_eq!(found, Found::Level(2));
        assert!(sure > ACCEPTED);
        let (found, sure) = judge(&[crossed(0.8), mark(0.01)], 0.003);
        assert_eq!(found, Found::Unclear);
        assert!(sure < ACCEPTED);
        let blackened = Mark {
            smeared: true,
            ..mark(0.9)
        };
        let (found, sure) = judge(&[blackened, mark(0.01), mark(0.6)], 0.003);
        assert_eq!(found, Found::Unclear);
        assert!(sure < ACCEPTED);
        let (found, _) = judge(&[mark(0.8), mark(0.5)], 0.003);
        assert_eq!(found, Found::Several(vec![0, 1]));
        let (found, _) = judge(&[crossed(0.8), crossed(0.5), mark(0.0)], 0.003);
        assert_eq!(found, Found::Several(vec![0, 1]));
    }

    proptest! {
        #[test]
        fn two_inked_bubbles_are_never_accepted_without_a_cross(a in 0.16..1.0, b in 0.16..1.0) {
            let (_, sure) = judge(&[mark(a), mark(0.0), mark(b)], 0.003);
            prop_assert!(sure < ACCEPTED);
        }

        #[test]
        fn the_more_ink_the_surer(a in 0.15..0.9, more in 0.0..0.1) {
            let (_, less) = judge(&[mark(a), mark(0.01)], 0.003);
            let (_, surer) = judge(&[mark(a + more), mark(0.01)], 0.003);
            prop_assert!(surer >= less);
        }
    }
}
