//! What a photo tells by itself: the QR codes that are seen on it, and when it was taken.

use chrono::{NaiveDate, NaiveDateTime};
use exif::{DateTime, In, Tag, Value};
use image::imageops::{FilterType, resize};
use image::{DynamicImage, GrayImage, ImageDecoder as _, ImageReader, Limits};
use std::collections::BTreeSet;
use std::io::Cursor;

/// The most bytes that decoding a photo may take.
const MOST_BYTES: u64 = 512 << 20;
/// The longer sides at which codes are looked for, in pixels: a label close by is found in the small picture, whose
/// grain is gone, one far off only in the large one.
const SIDES: [u32; 3] = [3200, 1600, 800];

/// What a photo tells.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PhotoFacts {
    /// What the QR codes on it say, each once.
    pub codes: BTreeSet<String>,
    /// When it was taken by the clock of the camera (EXIF 2.3: `DateTimeOriginal`, or else `DateTime`); nothing where the
    /// file doesn't say.
    pub taken: Option<NaiveDateTime>,
}

/// Looks at a photo: JPEG or PNG.
///
/// # Errors
/// A sentence that says why it can't be looked at.
pub fn look(bytes: &[u8]) -> Result<PhotoFacts, String> {
    Ok(PhotoFacts {
        codes: codes(&gray(bytes)?),
        taken: taken(bytes),
    })
}

fn gray(bytes: &[u8]) -> Result<GrayImage, String> {
    let tell = |error: &dyn std::fmt::Display| {
        format!("It is damaged ({error}). Copy it again from the telephone or camera.")
    };
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| tell(&error))?;
    if reader.format().is_none() {
        return Err(
            "It is neither JPEG nor PNG. Save it as JPEG; telephones have a setting for it.".into(),
        );
    }
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_BYTES);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(|error| tell(&error))?;
    if decoder.total_bytes() > MOST_BYTES {
        return Err("It is too large. Save it with fewer pixels.".into());
    }
    let picture = DynamicImage::from_decoder(decoder).map_err(|error| tell(&error))?;
    Ok(picture.into_luma8())
}

fn codes(photo: &GrayImage) -> BTreeSet<String> {
    let (width, height) = photo.dimensions();
    let mut found = BTreeSet::new();
    let mut last = u32::MAX;
    for side in SIDES {
        let side = side.min(width.max(height));
        if side == last {
            continue;
        }
        last = side;
        let scale = f64::from(side) / f64::from(width.max(height).max(1));
        let of = |length: u32| ((f64::from(length) * scale).round() as u32).max(1);
        let smaller =
            (scale < 1.0).then(|| resize(photo, of(width), of(height), FilterType::Triangle));
        let picture = smaller.as_ref().unwrap_or(photo);
        let mut prepared = rqrr::PreparedImage::prepare_from_greyscale(
            picture.width() as usize,
            picture.height() as usize,
            |x, y| picture.get_pixel(x as u32, y as u32).0[0],
        );
        let grids = prepared.detect_grids();
        found.extend(grids.iter().filter_map(|grid| Some(grid.decode().ok()?.1)));
    }
    found
}

fn taken(bytes: &[u8]) -> Option<NaiveDateTime> {
    // A file without EXIF, or with a damaged one, doesn't say.
    let exif = exif::Reader::new()
        .read_from_container(&mut Cursor::new(bytes))
        .ok()?;
    [Tag::DateTimeOriginal, Tag::DateTime]
        .into_iter()
        .find_map(|tag| {
            let Value::Ascii(texts) = &exif.get_field(tag, In::PRIMARY)?.value else {
                return None;
            };
            let moment = DateTime::from_ascii(texts.first()?).ok()?;
            // A camera whose clock was never set writes noughts, which are no day.
            NaiveDate::from_ymd_opt(moment.year.into(), moment.month.into(), moment.day.into())?
                .and_hms_opt(
                    moment.hour.into(),
                    moment.minute.into(),
                    moment.second.into(),
                )
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::label::{Level, Modules};
    use image::{ImageFormat, Luma};

    /// A picture of grass-like noise with a label of this code on it, `module` pixels to a module, turned by `degrees`.
    fn photo(code: &str, module: f32, degrees: f32) -> GrayImage {
        let modules = Modules::encode(code, Level::Q).unwrap();
        let quiet = 4.0;
        let side = modules.side() as f32;
        let (sine, cosine) = degrees.to_radians().sin_cos();
        let mut state = 7_u32;
        GrayImage::from_fn(1200, 900, |x, y| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = (state >> 26) as f32;
            let (dx, dy) = (x as f32 - 700.0, y as f32 - 400.0);
            let u = (cosine * dx + sine * dy) / module + 0.5 * side;
            let v = (cosine * dy - sine * dx) / module + 0.5 * side;
            let on_paper =
                (-quiet..side + quiet).contains(&u) && (-quiet..side + quiet).contains(&v);
            let on_code = (0.0..side).contains(&u) && (0.0..side).contains(&v);
            // Light falls off from the left to the right.
            let light = 1.0 - 0.3 * x as f32 / 1200.0;
            let shade = if on_code && modules.is_dark(u as u32, v as u32) {
                40.0
            } else if on_paper {
                215.0
            } else {
                70.0 + noise
            };
            Luma([((shade + 0.3 * noise) * light) as u8])
        })
    }

    fn png(photo: &GrayImage) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        photo.write_to(&mut bytes, ImageFormat::Png).unwrap();
        bytes.into_inner()
    }

    #[test]
    fn a_label_is_seen_however_the_camera_was_held() {
        for (module, degrees) in [(5.0, 0.0), (8.0, 30.0), (12.0, 200.0), (3.0, 90.0)] {
            let facts = look(&png(&photo("AMB-1-0042", module, degrees))).unwrap();
            assert_eq!(
                facts.codes,
                BTreeSet::from(["AMB-1-0042".to_owned()]),
                "{module} pixels, {degrees}°"
            );
            assert_eq!(facts.taken, None);
        }
    }

    /// EXIF 2.3, 4.6.5 F: `DateTimeOriginal` is 'YYYY:MM:DD HH:MM:SS', and noughts where it isn't known. The file is
    /// written by the library's own writer, from the tables of that standard.
    #[test]
    fn the_time_of_the_picture_is_read() {
        let with = |tag: Tag, text: &str| {
            let field = exif::Field {
                tag,
                ifd_num: In::PRIMARY,
                value: Value::Ascii(vec![text.as_bytes().to_vec()]),
            };
            let mut writer = exif::experimental::Writer::new();
            writer.push_field(&field);
            let mut tiff = Cursor::new(Vec::new());
            writer.write(&mut tiff, false).unwrap();
            let mut plain = Cursor::new(Vec::new());
            photo("K-1", 6.0, 0.0)
                .write_to(&mut plain, ImageFormat::Jpeg)
                .unwrap();
            let plain = plain.into_inner();
            let tiff = tiff.into_inner();
            let mut bytes = plain[..2].to_vec();
            bytes.extend([0xFF, 0xE1]);
            bytes.extend(((tiff.len() + 8) as u16).to_be_bytes());
            bytes.extend(b"Exif\0\0");
            bytes.extend(tiff);
            bytes.extend(&plain[2..]);
            look(&bytes).unwrap()
        };
        let facts = with(Tag::DateTimeOriginal, "2026:06:21 07:45:10");
        let day = NaiveDate::from_ymd_opt(2026, 6, 21).unwrap();
        assert_eq!(facts.taken, day.and_hms_opt(7, 45, 10));
        assert!(facts.codes.contains("K-1"));
        let facts = with(Tag::DateTime, "2026:06:22 07:45:10");
        assert_eq!(facts.taken.map(|at| at.date()), day.succ_opt());
        for text in ["0000:00:00 00:00:00", "    :  :     :  :  ", "yesterday"] {
            assert_eq!(with(Tag::DateTimeOriginal, text).taken, None, "{text}");
        }
    }

    #[test]
    fn what_is_no_photo_says_what_to_do() {
        assert!(look(b"ftypheic").unwrap_err().contains("Save it as JPEG"));
        let whole = png(&photo("K-1", 4.0, 0.0));
        assert!(
            look(&whole[..500])
                .unwrap_err()
                .starts_with("It is damaged")
        );
    }
}
