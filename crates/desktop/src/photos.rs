//! Photos as they are shown: read, turned upright and made small on a thread of their own, and kept while there
//! is room for them.
//!
//! Nothing here writes a file: what is kept is in memory, and goes with the window.

use domain::Project;
use domain::findings::PhotoFiles;
use egui::{ColorImage, Context, TextureHandle, TextureOptions};
use image::{DynamicImage, ImageDecoder as _, ImageReader, Limits};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use store::Store;

/// How large a photo is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Size {
    /// Beside its caption.
    Small,
    /// By itself.
    Large,
}

impl Size {
    /// The longer side, in pixels.
    const fn most(self) -> u32 {
        match self {
            Self::Small => 256,
            Self::Large => 1600,
        }
    }

    /// How many are kept: about 25 MB of small ones, 30 MB of large ones.
    const fn kept(self) -> usize {
        match self {
            Self::Small => 96,
            Self::Large => 3,
        }
    }
}

/// The most bytes a photo may take while it is made small: a hundred million points.
const MOST_BYTES: u64 = 400 << 20;
/// So many may wait for their turn; those asked for longest ago give way.
const MOST_WAITING: usize = 64;

/// A photo as far as it can be shown.
#[derive(Clone)]
pub enum Picture {
    /// It is being read.
    Coming,
    /// Here it is.
    Here(TextureHandle),
    /// It can't be shown; why, as a sentence.
    Not(String),
}

type Wanted = (String, Size);

/// The photos of the open project.
#[derive(Default)]
pub struct Photos {
    /// Where the project is, once it is known.
    place: Option<(Store, PathBuf)>,
    pictures: RefCell<BTreeMap<Wanted, (u64, Picture)>>,
    shelf: RefCell<Option<Shelf>>,
    known: Arc<KnownPhoto>,
}

/// What reading photos has shown of their files.
#[derive(Default)]
struct KnownPhoto {
    altered: Mutex<BTreeSet<String>>,
    /// Grows with every new knowledge.
    epoch: AtomicU64,
}

impl KnownPhoto {
    fn altered(&self) -> MutexGuard<'_, BTreeSet<String>> {
        self.altered.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn note(&self, photo: &str, altered: bool) {
        let mut all = self.altered();
        let news = if altered {
            all.insert(photo.to_owned())
        } else {
            all.remove(photo)
        };
        if news {
            self.epoch.fetch_add(1, Ordering::Relaxed);
        }
    }
}

/// The thread that makes photos small, and what goes to it and comes from it.
struct Shelf {
    queue: Arc<Queue>,
    made: Receiver<(Wanted, Picture)>,
    /// Counts what was asked for: what was asked for longest ago goes first.
    asked: u64,
}

#[derive(Default)]
struct Queue {
    waiting: Mutex<Waiting>,
    wake: Condvar,
}

#[derive(Default)]
struct Waiting {
    wanted: Vec<Wanted>,
    closed: bool,
}

impl Queue {
    fn waiting(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The photo asked for last, waiting for one; nothing when all is over.
    fn next(&self) -> Option<Wanted> {
        let mut waiting = self.waiting();
        loop {
            if waiting.closed {
                return None;
            }
            if let Some(wanted) = waiting.wanted.pop() {
                return Some(wanted);
            }
            waiting = self
                .wake
                .wait(waiting)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }
}

impl Drop for Shelf {
    fn drop(&mut self) {
        self.queue.waiting().closed = true;
        self.queue.wake.notify_all();
    }
}

impl Photos {
    /// Shows the photos of the project at `path` from here on.
    pub fn belong_to(&mut self, store: Store, path: &Path) {
        *self = Self {
            place: Some((store, path.to_path_buf())),
            ..Self::default()
        };
    }

    /// A photo by its path beside the project, as far as it can be shown now. What isn't there yet asks for a frame
    /// when it is.
    pub fn picture(&self, ctx: &Context, photo: &str, size: Size) -> Picture {
        let Some((store, path)) = &self.place else {
            return Picture::Coming;
        };
        let mut shelf = self.shelf.borrow_mut();
        let shelf = shelf.get_or_insert_with(|| {
            Shelf::start(store.clone(), path.clone(), Arc::clone(&self.known), ctx)
        });
        let mut pictures = self.pictures.borrow_mut();
        while let Ok((wanted, picture)) = shelf.made.try_recv() {
            pictures.insert(wanted, (shelf.asked, picture));
        }
        shelf.asked += 1;
        let wanted = (photo.to_owned(), size);
        if let Some((used, picture)) = pictures.get_mut(&wanted) {
            *used = shelf.asked;
            return picture.clone();
        }
        pictures.insert(wanted.clone(), (shelf.asked, Picture::Coming));
        make_room(&mut pictures, size);
        let mut waiting = shelf.queue.waiting();
        waiting.wanted.push(wanted);
        if waiting.wanted.len() > MOST_WAITING {
            let given_up = waiting.wanted.remove(0);
            pictures.remove(&given_up);
        }
        drop(waiting);
        shelf.queue.wake.notify_all();
        Picture::Coming
    }

    /// Forgets what could not be shown, so that it is tried again.
    pub fn look_again(&self) {
        let mut pictures = self.pictures.borrow_mut();
        pictures.retain(|_, (_, picture)| !matches!(picture, Picture::Not(_)));
        self.known.epoch.fetch_add(1, Ordering::Relaxed);
    }

    /// Something that changes when more is known of the files.
    pub fn epoch(&self) -> u64 {
        self.known.epoch.load(Ordering::Relaxed)
    }

    /// What looks at the files of a project's photos, to be called on a worker.
    pub fn watch(&self) -> impl FnOnce(&Project) -> PhotoFiles + Send + use<> {
        let (place, known) = (self.place.clone(), Arc::clone(&self.known));
        move |project| {
            let Some((store, path)) = place else {
                return PhotoFiles::default();
            };
            let found = store.look_at_photos(&path, project, false, |_| true);
            let mut found = found.unwrap_or_default();
            let altered = known.altered();
            let all = project.photos().iter();
            let is_altered = all.filter(|photo| altered.contains(&photo.path));
            found.altered.extend(is_altered.map(|photo| photo.id));
            found
        }
    }

    /// What reads every photo to tell which were altered, to be called on a worker; `goes_on` as in
    /// [`Store::look_at_photos`]. It returns how many aren't as they were added.
    pub fn check(
        &self,
        project: &Project,
    ) -> impl FnOnce(&mut dyn FnMut(f32) -> bool) -> Option<usize> + Send + use<> {
        let (place, known, project) =
            (self.place.clone(), Arc::clone(&self.known), project.clone());
        move |goes_on| {
            let (store, path) = place?;
            let found = store.look_at_photos(&path, &project, true, goes_on)?;
            for photo in project.photos().iter() {
                known.note(&photo.path, found.altered.contains(&photo.id));
            }
            known.epoch.fetch_add(1, Ordering::Relaxed);
            Some(found.altered.len() + found.missing.len() + found.unreadable.len())
        }
    }
}

/// Lets go of the pictures of this size that were asked for longest ago.
fn make_room(pictures: &mut BTreeMap<Wanted, (u64, Picture)>, size: Size) {
    let of_size = || pictures.iter().filter(|((_, each), _)| *each == size);
    if of_size().count() <= size.kept() {
        return;
    }
    let oldest = of_size().min_by_key(|(_, (used, _))| *used);
    if let Some(oldest) = oldest.map(|(wanted, _)| wanted.clone()) {
        pictures.remove(&oldest);
    }
}

impl Shelf {
    fn start(store: Store, path: PathBuf, known: Arc<KnownPhoto>, ctx: &Context) -> Self {
        let queue = Arc::<Queue>::default();
        let (sender, made) = channel();
        let (theirs, ctx) = (Arc::clone(&queue), ctx.clone());
        std::thread::spawn(move || work(&theirs, &sender, &store, &path, &known, &ctx));
        Self {
            queue,
            made,
            asked: 0,
        }
    }
}

fn work(
    queue: &Queue,
    made: &Sender<(Wanted, Picture)>,
    store: &Store,
    path: &Path,
    known: &KnownPhoto,
    ctx: &Context,
) {
    while let Some((photo, size)) = queue.next() {
        let picture = match store.read_photo(path, &photo) {
            Ok(bytes) => {
                known.note(&photo, store::photos::is_altered(&photo, &bytes));
                match upright(&bytes, size.most()) {
                    Ok(image) => {
                        let name = format!("photo {photo}");
                        Picture::Here(ctx.load_texture(name, image, TextureOptions::LINEAR))
                    }
                    Err(why) => Picture::Not(why),
                }
            }
            Err(store::StoreError::Missing(_)) => {
                Picture::Not("Its file isn't beside the project.".into())
            }
            Err(error) => Picture::Not(error.to_string()),
        };
        if made.send(((photo, size), picture)).is_err() {
            return;
        }
        ctx.request_repaint();
    }
}

/// Reads a photo, at most `most` points long or high, turned as its camera was held (the EXIF tag Orientation). The
/// error says as a sentence why it can't be shown.
pub fn upright(bytes: &[u8], most: u32) -> Result<ColorImage, String> {
    let tell = |error: &dyn std::fmt::Display| format!("It can't be shown: {error}.");
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| tell(&error))?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_BYTES);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|error| tell(&error))?;
    if decoder.total_bytes() > MOST_BYTES {
        return Err("It can't be shown: it is too large.".into());
    }
    let orientation = decoder.orientation().map_err(|error| tell(&error));
    let whole = DynamicImage::from_decoder(decoder).map_err(|error| tell(&error))?;
    let mut small = if whole.width().max(whole.height()) > most {
        whole.thumbnail(most, most)
    } else {
        whole
    };
    // A damaged tag is no reason to show nothing.
    if let Ok(orientation) = orientation {
        small.apply_orientation(orientation);
    }
    let points = small.to_rgba8();
    let size = [points.width() as usize, points.height() as usize];
    Ok(ColorImage::from_rgba_unmultiplied(size, &points))
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ImageFormat, Rgb, RgbImage};

    /// A picture whose left half is red and right half blue, as JPEG, with an EXIF orientation.
    fn held(orientation: u8) -> Vec<u8> {
        let picture = RgbImage::from_fn(40, 20, |x, _| {
            Rgb(if x < 20 { [230, 20, 20] } else { [20, 20, 230] })
        });
        let mut plain = Vec::new();
        picture
            .write_to(&mut Cursor::new(&mut plain), ImageFormat::Jpeg)
            .unwrap();
        // EXIF 2.3, section 4.6: a TIFF of one entry, tag 0x0112 (Orientation), type SHORT, one value.
        let mut tiff = b"Exif\0\0MM\0\x2A\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
        tiff.extend([orientation, 0, 0, 0, 0, 0, 0]);
        let length = (tiff.len() + 2) as u16;
        let mut bytes = plain[..2].to_vec();
        bytes.extend([0xFF, 0xE1]);
        bytes.extend(length.to_be_bytes());
        bytes.extend(tiff);
        bytes.extend(&plain[2..]);
        bytes
    }

    /// Where the red is: the middle of the left, top, right or bottom.
    fn red_side(image: &ColorImage) -> &'static str {
        let [width, height] = image.size;
        let at = |x: usize, y: usize| {
            let point = image.pixels[y * width + x];
            point.r() > 150 && point.b() < 100
        };
        match (
            at(2, height / 2),
            at(width / 2, 2),
            at(width - 3, height / 2),
            at(width / 2, height - 3),
        ) {
            (true, _, false, _) => "left",
            (_, true, _, false) => "top",
            (false, _, true, _) => "right",
            (_, false, _, true) => "bottom",
            _ => "nowhere",
        }
    }

    /// Orientation as EXIF 2.3 defines it, section 4.6.4: 1 as it is, 3 turned by 180°, 6 the first row at the right
    /// (to be turned clockwise), 8 the first row at the left.
    #[test]
    fn a_photo_is_shown_as_its_camera_was_held() {
        for (orientation, side, size) in [
            (1, "left", [40, 20]),
            (3, "right", [40, 20]),
            (6, "top", [20, 40]),
            (8, "bottom", [20, 40]),
        ] {
            let image = upright(&held(orientation), 100).unwrap();
            assert_eq!(
                (red_side(&image), image.size),
                (side, size),
                "orientation {orientation}"
            );
        }
        assert_eq!(upright(&held(6), 10).unwrap().size, [5, 10]);
    }

    #[test]
    fn what_is_no_photo_or_absurdly_large_is_told() {
        assert!(upright(b"not a photo", 100).is_err());
        assert!(upright(&held(1)[..100], 100).is_err());
        // A PNG of a few bytes that claims 100,000 by 100,000 points.
        let mut claim = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        claim.extend(100_000u32.to_be_bytes());
        claim.extend(100_000u32.to_be_bytes());
        claim.extend([8, 6, 0, 0, 0]);
        let sum = store::journal::Sum::of(&claim[12..]).0;
        claim.extend(sum.to_be_bytes());
        claim.extend(b"\0\0\0\0IDAT\x35\xAF\x06\x1E");
        assert!(
            upright(&claim, 100)
                .unwrap_err()
                .starts_with("It can't be shown")
        );
    }
}
