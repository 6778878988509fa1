use super::*;
use crate::state_mark::StateMark;

/// Relative luminance of an sRGB colour, 0 to 1 (WCAG 2.2, 'relative luminance', W3C Recommendation, 2023).
fn luminance(color: Color32) -> f64 {
    let linear = |channel: u8| {
        let value = f64::from(channel) / 255.0;
        if value <= 0.04045 {
            value / 12.92
        } else {
            ((value + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * linear(color.r()) + 0.7152 * linear(color.g()) + 0.0722 * linear(color.b())
}

/// Contrast ratio, 1 to 21 (WCAG 2.2, 'contrast ratio').
fn contrast(a: Color32, b: Color32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

const THEMES: [(&str, &Tokens); 2] = [("light", &Tokens::LIGHT), ("dark", &Tokens::DARK)];

#[test]
fn contrast_formula_spans_one_to_twenty_one() {
    assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
    assert!((contrast(Color32::WHITE, Color32::WHITE) - 1.0).abs() < 1e-9);
    // #767676 on white is the well-known darkest-needed grey of level AA: 4.54 to 1.
    assert!((contrast(Color32::from_gray(0x76), Color32::WHITE) - 4.54).abs() < 0.01);
}

/// Every pair of text and ground that may be drawn, by name.
fn text_pairs(t: &Tokens) -> Vec<(String, Color32, Color32)> {
    let grounds = [
        ("paper", t.surface),
        ("sheet", t.raised),
        ("well", t.sunken),
        ("selection", t.selection),
        ("hover", t.hover),
    ];
    let mut pairs = vec![
        ("on solid".to_owned(), t.on_accent, t.accent),
        ("on lupulin".to_owned(), t.on_lupulin, t.lupulin),
        ("ink in hand".to_owned(), t.ink, t.in_hand),
        ("muted on lupulin soft".to_owned(), t.muted, t.lupulin_soft),
    ];
    let mut pair = |name: String, text, ground| pairs.push((name, text, ground));
    for (name, ground) in grounds {
        pair(format!("ink on {name}"), t.ink, ground);
        pair(format!("muted on {name}"), t.muted, ground);
        for meaning in Meaning::ALL {
            pair(
                format!("{meaning:?} on {name}"),
                t.on_paper(meaning),
                ground,
            );
        }
        for (word, of) in [("cold", t.cold), ("warm", t.warm)] {
            pair(format!("{word} on {name}"), of.text, ground);
        }
        for mark in StateMark::ALL {
            let ground = mark.ground(t).unwrap_or(ground);
            pair(format!("{mark:?} on {name}"), mark.ink(t), ground);
        }
    }
    for meaning in Meaning::ALL {
        let of = t.meaning(meaning);
        pair(format!("{meaning:?} on its ground"), of.text, of.fill);
    }
    for of in [t.good, t.late, t.cold, t.warm] {
        pair("ink on the ground of a meaning".to_owned(), t.ink, of.fill);
        pair("on its ground".to_owned(), of.text, of.fill);
    }
    for step in t.scale {
        pair("a step of the scale".to_owned(), step.text, step.fill);
    }
    pairs
}

#[test]
fn text_holds_level_aa_on_every_ground_it_is_drawn_on() {
    for (theme, t) in THEMES {
        for (name, text, ground) in text_pairs(t) {
            let ratio = contrast(text, ground);
            assert!(
                ratio >= 4.5,
                "{theme}: {name}, {text:?} on {ground:?}, is {ratio:.2} to 1"
            );
        }
    }
}

/// The ratios the palette was chosen by, as its makers worked them out (to one decimal).
#[test]
fn the_palette_has_the_contrast_it_was_chosen_for() {
    let expected = |t: &Tokens| {
        [
            (t.ink, t.surface),
            (t.ink, t.raised),
            (t.ink, t.sunken),
            (t.muted, t.surface),
            (t.muted, t.lupulin_soft),
            (t.on_lupulin, t.lupulin),
            (t.on_accent, t.accent),
            (t.late.text, t.late.fill),
            (t.danger.text, t.danger.fill),
            (t.good.text, t.good.fill),
            (t.cold.text, t.cold.fill),
            (t.warm.text, t.warm.fill),
            (t.outline, t.surface),
        ]
        .map(|(text, ground)| (contrast(text, ground) * 10.0).round() / 10.0)
    };
    assert_eq!(
        expected(&Tokens::LIGHT),
        [
            14.8, 16.1, 13.4, 6.6, 6.3, 11.6, 11.4, 6.8, 8.4, 6.3, 5.3, 4.7, 3.8
        ]
    );
    assert_eq!(
        expected(&Tokens::DARK),
        [
            15.1, 13.5, 16.1, 8.2, 5.6, 10.9, 12.1, 7.7, 7.9, 7.2, 6.7, 6.5, 5.0
        ]
    );
}

#[test]
fn no_permitted_pair_is_a_forbidden_one() {
    for (theme, t) in THEMES {
        // What has a hue of its own is never set on lupulin, and lupulin is never set as text.
        for (name, text, ground) in text_pairs(t) {
            assert_ne!(text, t.lupulin, "{theme}: {name}");
            if ground == t.lupulin {
                assert!(
                    text == t.on_lupulin,
                    "{theme}: {name} stands on lupulin in another colour than its own"
                );
            }
        }
        // No line, outline or focus ring on paper is lupulin by day: it can't be seen there.
        if theme == "light" {
            for line in [t.ink, t.rule, t.outline, t.focus, t.in_hand_edge, t.accent] {
                assert_ne!(line, t.lupulin);
            }
            assert!(contrast(t.lupulin, t.surface) < 1.5);
        }
    }
    assert!(contrast(Tokens::DARK.late.text, Tokens::DARK.lupulin) < 1.5);
}

#[test]
fn steps_of_a_scale_keep_their_order_in_grey() {
    let rises = |t: &Tokens| {
        let steps = t.scale.map(|step| luminance(step.fill));
        steps
            .windows(2)
            .map(|pair| pair[1] > pair[0])
            .collect::<Vec<_>>()
    };
    assert_eq!(rises(&Tokens::LIGHT), [false; 6]);
    assert_eq!(rises(&Tokens::DARK), [true; 6]);
}

#[test]
fn outlines_focus_and_series_hold_three_to_one() {
    for (theme, t) in THEMES {
        for ground in [t.surface, t.raised, t.sunken] {
            for color in [t.outline, t.accent, t.focus].into_iter().chain(t.series) {
                let ratio = contrast(color, ground);
                assert!(
                    ratio >= 3.0,
                    "{theme}: {color:?} on {ground:?} is {ratio:.2} to 1"
                );
            }
        }
        // The row in hand is told from the paper by its outline.
        assert!(contrast(t.in_hand_edge, t.surface) >= 3.0, "{theme}");
    }
}

#[test]
fn distances_keep_to_the_grid_and_targets_to_their_least_size() {
    for distance in [
        space::XS,
        space::S,
        space::M,
        space::L,
        space::XL,
        space::XXL,
        space::XXXL,
        space::ROW,
        space::BENCH_ROW,
        space::BENCH_BUTTON,
        space::LIST_ROW,
        space::TOP_BAR,
        space::KEY_STRIP,
        space::SIDEBAR,
        space::LIST,
    ] {
        assert_eq!(distance % 4.0, 0.0, "{distance}");
    }
    for target in [space::TARGET, space::ROW, space::BENCH_BUTTON] {
        assert!(target >= 24.0, "{target}");
    }
}
