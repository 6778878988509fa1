use chart::{Axis, Band, Chart, Colour, Line, ON_PAPER, Series, Size};

use super::*;

const SIZE: Size = Size {
    width: 480.0,
    height: 270.0,
};

fn chart() -> Chart {
    Chart {
        title: "Germinated".to_owned(),
        across: Axis::days("days in warmth", 20.0),
        up: Axis::percent(""),
        series: vec![
            Series {
                name: "Lot 1".to_owned(),
                lines: vec![Line::thick(vec![(0.0, 0.0), (10.0, 40.0), (20.0, 90.0)])],
                marks: vec![(10.0, 40.0), (20.0, 90.0)],
                ..Series::default()
            },
            Series {
                name: "Lot 2".to_owned(),
                band: vec![
                    Band {
                        at: 2.0,
                        low: 60.0,
                        high: 80.0,
                    },
                    Band {
                        at: 8.0,
                        low: 60.0,
                        high: 80.0,
                    },
                ],
                ..Series::default()
            },
        ],
    }
}

#[test]
fn a_picture_has_each_value_at_its_place_in_its_colour() {
    let (chart, scale) = (chart(), 2.0);
    let picture = image::load_from_memory(&png(&chart, SIZE, scale).unwrap())
        .unwrap()
        .to_rgb8();
    assert_eq!(picture.dimensions(), (960, 540));
    let frame = lay(&chart, SIZE).frame;
    let pixel = |values: (f64, f64)| {
        let at = frame.place(values);
        picture
            .get_pixel((at.x * scale) as u32, (at.y * scale) as u32)
            .0
    };
    assert_eq!(pixel((10.0, 40.0)), ON_PAPER.of(Colour::Series(0)));
    assert_eq!(
        pixel((5.0, 20.0)),
        ON_PAPER.of(Colour::Series(0)),
        "on the line"
    );
    assert_eq!(pixel((15.0, 10.0)), [255; 3], "beside it");
    // A band covers 14 % of white, rounded.
    for (seen, colour) in pixel((5.0, 70.0))
        .into_iter()
        .zip(ON_PAPER.of(Colour::Series(1)))
    {
        let expected = 255.0 - 0.14 * (255.0 - f32::from(colour));
        assert!((f32::from(seen) - expected).abs() < 2.0);
    }
    // Words are drawn: there is ink in the title's corner.
    let title = (0..300).flat_map(|x| (0..40).map(move |y| (x, y)));
    let dark = title.filter(|(x, y)| picture.get_pixel(*x, *y).0[0] < 100);
    assert!(dark.count() > 200);
}

#[test]
fn a_picture_of_no_size_or_of_a_wall_is_refused() {
    let size = |width| Size {
        width,
        height: 100.0,
    };
    for width in [0.0, -5.0, f32::NAN, 1e9] {
        let refused = png(&chart(), size(width), 1.0).unwrap_err().to_string();
        assert!(refused.contains("from 1 to 16,000"), "{refused}");
    }
}

#[test]
fn a_pdf_has_the_size_of_the_chart_and_the_same_bytes_each_time() {
    let bytes = pdf(&chart(), SIZE, None).unwrap();
    assert_eq!(bytes, pdf(&chart(), SIZE, None).unwrap());
    let text = String::from_utf8_lossy(&bytes);
    assert!(
        text.replace(' ', "").contains("/MediaBox[00480270]"),
        "{text:.600}"
    );
}

#[test]
fn every_file_says_what_the_chart_says() {
    let svg = svg(&chart(), SIZE);
    for words in ["Germinated", "Lot 1", "Lot 2", "days in warmth", "75 %"] {
        assert!(svg.contains(&format!(">{words}</text>")), "{words}");
    }
}
