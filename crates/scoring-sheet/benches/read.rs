//! How long a page of 12 million pixels takes, beside decoding its JPEG.
#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a bench may stop at what it did not foresee"
)]

#[path = "../tests/generator/mod.rs"]
mod generator;

use fastrand::Rng;
use generator::camera::Shot;
use generator::hand::fill_in;
use generator::page::Page;
use scoring_sheet::read::find;
use scoring_sheet::{Column, Form, Paper, Photo, Tag};
use std::hint::black_box;
use std::time::{Duration, Instant};

fn main() {
    let mut rng = Rng::with_seed(12);
    let form = Form::new(Paper::A4, vec![Column::Levels(9); 3], 33).unwrap();
    let tag = Tag {
        sheet: 7,
        page: 0,
        paper: form.paper(),
        landscape: form.landscape(),
    };
    let mut page = Page::printed(&form, tag);
    fill_in(&mut page, &form, 0, 0.0, &mut rng);
    let shot = Shot {
        megapixels: 12.0,
        tilt: 15.0,
        ..Shot::telephone(&mut rng)
    };
    let jpeg = shot.jpeg(&page);
    let least = |work: &dyn Fn()| -> Duration {
        (0..7)
            .map(|_| {
                let from = Instant::now();
                work();
                from.elapsed()
            })
            .min()
            .unwrap()
    };
    let decode = least(&|| {
        black_box(image::load_from_memory(&jpeg).unwrap());
    });
    let photo = Photo::decode(&jpeg).unwrap();
    let found = least(&|| {
        black_box(find(&photo).unwrap());
    });
    let whole = least(&|| {
        let photo = Photo::decode(&jpeg).unwrap();
        black_box(find(&photo).unwrap().read(&form).unwrap());
    });
    let ratio = whole.as_secs_f64() / decode.as_secs_f64();
    println!(
        "12 megapixels, {} cells: decoding {decode:.0?}, finding and flattening {found:.0?}, photo to answers {whole:.0?}: {ratio:.1} times decoding",
        33 * 3
    );
}
