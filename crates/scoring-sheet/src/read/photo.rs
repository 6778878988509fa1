//! A photo as a picture in shades of grey, whatever file it is, within bounds.

use super::Refusal;
use super::gray::Gray;
use image::{DynamicImage, ImageDecoder as _, ImageReader, Limits};
use std::io::Cursor;

/// The most pixels a photo may have.
const MOST_PIXELS: u64 = 110_000_000;
/// The most bytes that decoding may take.
const MOST_BYTES: u64 = 512 << 20;
/// Larger photos than this are made smaller at once: more shows nothing more of a page.
const ENOUGH_PIXELS: usize = 26_000_000;
/// The least pixels on the shorter side with which a page could be read.
const LEAST_SIDE: usize = 500;

/// A photo, or a scan, in shades of grey.
#[derive(Clone, Debug)]
pub struct Photo {
    pub(super) gray: Gray,
}

impl Photo {
    /// Reads a JPEG or PNG file.
    ///
    /// # Errors
    /// [`Refusal`] for what is no such file, damaged, too large or too small.
    pub fn decode(bytes: &[u8]) -> Result<Self, Refusal> {
        let mut reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|error| Refusal::Damaged(error.to_string()))?;
        if reader.format().is_none() {
            return Err(Refusal::NoPicture);
        }
        let mut limits = Limits::default();
        limits.max_alloc = Some(MOST_BYTES);
        reader.limits(limits);
        let decoder = reader.into_decoder().map_err(|error| refused(&error))?;
        let (width, height) = decoder.dimensions();
        if u64::from(width) * u64::from(height) > MOST_PIXELS {
            return Err(Refusal::TooLarge { width, height });
        }
        let picture = DynamicImage::from_decoder(decoder).map_err(|error| refused(&error))?;
        let luma = picture.into_luma8();
        Self::from_luma(width as usize, height as usize, luma.into_raw())
    }

    /// A picture that is in shades of grey already: 0 black to 255 white, row by row.
    ///
    /// # Errors
    /// [`Refusal`] where it is too small, or the pixels don't fill the rows.
    pub fn from_luma(width: usize, height: usize, pixels: Vec<u8>) -> Result<Self, Refusal> {
        if width.checked_mul(height) != Some(pixels.len()) {
            return Err(Refusal::Damaged("pixels are missing".to_owned()));
        }
        if width.min(height) < LEAST_SIDE {
            return Err(Refusal::TooSmall);
        }
        let gray = Gray {
            width,
            height,
            pixels,
        };
        let by = (gray.pixels.len() as f64 / ENOUGH_PIXELS as f64)
            .sqrt()
            .ceil();
        Ok(Self {
            gray: if by > 1.0 {
                gray.smaller(by as usize)
            } else {
                gray
            },
        })
    }
}

fn refused(error: &image::ImageError) -> Refusal {
    match error {
        image::ImageError::Unsupported(_) => Refusal::NoPicture,
        image::ImageError::Limits(_) => Refusal::TooLarge {
            width: 0,
            height: 0,
        },
        other => Refusal::Damaged(other.to_string()),
    }
}
