use crate::*;

fn measure(text: &str, size: f32, _: bool) -> f32 {
    0.5 * size * text.chars().count() as f32
}

fn chart(series: Vec<Series>) -> Chart {
    Chart {
        title: "Up by day".to_owned(),
        across: Axis::days("days in warmth", 30.0),
        up: Axis::percent(""),
        series,
    }
}

fn rising(name: &str, end: f64) -> Series {
    Series {
        name: name.to_owned(),
        lines: vec![Line::thick(vec![(0.0, 0.0), (30.0, end)])],
        marks: vec![(30.0, end)],
        band: vec![
            Band {
                at: 0.0,
                low: 0.0,
                high: 1.0,
            },
            Band {
                at: 30.0,
                low: end - 5.0,
                high: end,
            },
        ],
        end: None,
    }
}

fn words(drawing: &Drawing) -> impl Iterator<Item = &Words> {
    drawing.shapes.iter().filter_map(|shape| match shape {
        Shape::Words(words) => Some(words),
        _ => None,
    })
}

#[test]
fn a_value_goes_to_its_place_and_back() {
    let drawing = chart(vec![rising("A", 80.0)]).lay(
        Size {
            width: 600.0,
            height: 300.0,
        },
        &measure,
    );
    for day in [0.0, 7.5, 30.0] {
        let at = drawing.frame.place((day, 50.0));
        assert!((drawing.frame.across(at.x) - day).abs() < 1e-3);
        assert!(drawing.frame.holds(at));
    }
    let middle = f32::midpoint(drawing.frame.from.y, drawing.frame.to.y);
    assert!((drawing.frame.place((3.0, 50.0)).y - middle).abs() < 1e-3);
}

#[test]
fn nothing_leaves_the_rectangle_whatever_the_size_and_the_names() {
    let names = [
        "A",
        "A very long name that no chart has room for, ever",
        "C",
        "D",
        "E",
    ];
    for (width, height) in [(200.0, 120.0), (420.0, 300.0), (1100.0, 300.0)] {
        let series = names.iter().map(|name| rising(name, 3.0)).collect();
        let drawing = chart(series).lay(Size { width, height }, &measure);
        for each in words(&drawing) {
            let long = measure(&each.text, each.size, each.bold);
            let left = match each.anchor {
                Anchor::Start => each.at.x,
                Anchor::Middle => each.at.x - long / 2.0,
                Anchor::End => each.at.x - long,
            };
            assert!(
                left >= -0.5 && left + long <= width + 0.5,
                "{each:?} in {width}"
            );
            assert!((0.0..=height).contains(&each.at.y), "{each:?} in {height}");
        }
    }
}

#[test]
fn names_of_lines_that_end_together_stand_apart() {
    let series = ["A", "B", "C"].map(|name| rising(name, 2.0)).to_vec();
    let drawing = chart(series).lay(
        Size {
            width: 500.0,
            height: 260.0,
        },
        &measure,
    );
    let mut places: Vec<f32> = words(&drawing)
        .filter(|each| ["A", "B", "C"].contains(&each.text.as_str()))
        .map(|each| each.at.y)
        .collect();
    places.sort_by(f32::total_cmp);
    assert_eq!(places.len(), 3);
    assert!(
        places.windows(2).all(|pair| pair[1] - pair[0] >= 12.0),
        "{places:?}"
    );
    assert!(places[2] <= drawing.frame.to.y + 0.5);
}

#[test]
fn figures_at_ticks_stand_clear_of_each_other() {
    let mut chart = chart(vec![rising("A", 80.0)]);
    for last in [3.0, 12.0, 60.0, 400.0] {
        chart.across = Axis::days("days in warmth", last);
        let drawing = chart.lay(
            Size {
                width: 420.0,
                height: 260.0,
            },
            &measure,
        );
        let below: Vec<_> = words(&drawing)
            .filter(|each| each.colour == Colour::Muted && each.at.y > drawing.frame.to.y)
            .collect();
        assert!(below.len() > 1, "{last}");
        for pair in below.windows(2) {
            let apart = pair[1].at.x - pair[0].at.x;
            let long = measure(&pair[1].text, pair[1].size, false).max(measure(
                &pair[0].text,
                pair[0].size,
                false,
            ));
            assert!(apart > long + 4.0, "{last}: {pair:?}");
        }
    }
}

#[test]
fn an_svg_is_well_formed_whatever_a_name_holds() {
    let mut chart = chart(vec![rising("A & B < \"C\" \u{0} \u{1b}[31m", 80.0)]);
    chart.title = "<script>".to_owned();
    let svg = chart
        .lay(
            Size {
                width: 420.0,
                height: 260.0,
            },
            &measure,
        )
        .svg(&ON_PAPER, "sans-serif");
    assert!(svg.contains("A &amp; B &lt; &quot;C&quot;") && svg.contains("&lt;script&gt;"));
    assert!(!svg.contains('\u{0}') && !svg.contains('\u{1b}'));
    assert_eq!(svg.matches("<text").count(), svg.matches("</text>").count());
    assert!(
        svg.contains("<polygon")
            && svg.contains("fill-opacity=\"0.14\"")
            && svg.ends_with("</svg>\n")
    );
}
