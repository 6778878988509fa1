use super::*;
use crate::{
    graph::{Descent, Parent, Plant, PlantKey},
    layout::Sizes,
    scope::Scope,
};

fn draw(code: &str) -> String {
    let child = Plant {
        descent: Descent::Cross {
            female: Parent::Known(PlantKey(1)),
            male: Parent::Open,
        },
        selected: true,
        ..Plant::new(PlantKey(2), code)
    };
    let graph = FamilyGraph::new(vec![Plant::new(PlantKey(1), "A"), child]);
    let extract = Extract::new(&graph, &Scope::default());
    let layout = Layout::new(&extract, Sizes::fitting(&graph));
    to_svg(&graph, &extract, &layout)
}

#[test]
fn the_page_says_who_descends_from_whom() {
    let page = draw("B-1");
    assert!(
        page.contains("<title>B-1, sex unknown, selected; parents A × open pollination</title>"),
        "{page}"
    );
    assert_eq!(page, draw("B-1"), "the same drawing gives the same text");
}

#[test]
fn signs_of_the_format_in_a_code_are_escaped() {
    let page = draw("<B> & \"1\"\u{1}");
    assert!(page.contains("&lt;B&gt; &amp; &quot;1&quot;,"), "{page}");
    assert!(!page.contains("<B>"));
    assert!(!page.contains('\u{1}'));
}

#[test]
fn the_page_is_black_grey_and_white() {
    let page = draw("B-1");
    for attribute in ["fill=\"", "stroke=\""] {
        for rest in page.split(attribute).skip(1) {
            let color = rest.split('"').next().unwrap();
            assert!(
                ["black", "white", "none", "#555", "#999"].contains(&color),
                "{color}"
            );
        }
    }
}

#[test]
fn words_too_long_for_their_box_end_in_an_ellipsis() {
    assert_eq!(shorten("abcdef", 4.0), "abc…");
    assert_eq!(shorten("abcd", 4.0), "abcd");
}
