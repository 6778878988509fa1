//! The page on a photo: which marks are its corners, which way up it lies, and how it is bent.

use super::Refusal;
use super::gray::Gray;
use super::marks::{Corner, Disc, Marks};
use crate::geometry::{Homography, Point, goes_round, point};
use crate::layout::{CORNER_RING, DOT, Frame, MODULE, MODULES, Paper};
use crate::tag::{NotATag, Tag, VERSION};
use rqrr::{PreparedImage, SimpleGrid};

/// Of the discs along an edge, so many must be seen.
const LEAST_SEEN: f64 = 0.7;
/// A page smaller than so many pixels to the millimetre can't be read.
const LEAST_SCALE: f64 = 2.0;

/// A page as it lies on a photo.
#[derive(Clone, Debug)]
pub(super) struct Page {
    pub tag: Tag,
    pub frame: Frame,
    /// Millimetres of the page to pixels of the photo, were the page flat.
    pub plane: Homography,
    /// How far the discs of each edge are from where they would be on a flat page, in pixels, from corner to corner;
    /// the corners, which are on the plane, not among them.
    pub bent: [Vec<Point>; 4],
}

/// Finds the one page on a photo.
pub(super) fn find(photo: &Gray) -> Result<Page, Refusal> {
    let marks = Marks::find(photo);
    let corners = &marks.corners;
    if corners.len() < 4 {
        return Err(Refusal::CutOff {
            corners: corners.len(),
        });
    }
    let mut found: Vec<(Page, [usize; 4])> = Vec::new();
    let mut closest = Refusal::CutOff { corners: 4 };
    for four in fours(corners.len()) {
        if let Some((_, others)) = found.first()
            && four.iter().any(|each| others.contains(each))
        {
            continue;
        }
        let Some(around) = in_order(four, corners) else {
            continue;
        };
        match page(photo, corners, &marks.discs, around) {
            Ok(page) => found.push((page, four)),
            Err(refusal) if refusal.nearness() >= closest.nearness() => closest = refusal,
            Err(_) => {}
        }
    }
    match found.len() {
        0 => Err(closest),
        1 => Ok(found.swap_remove(0).0),
        _ => Err(Refusal::TwoPages),
    }
}

/// All ways to choose four.
fn fours(count: usize) -> Vec<[usize; 4]> {
    let mut all = Vec::new();
    for a in 0..count {
        for b in a + 1..count {
            for c in b + 1..count {
                all.extend((c + 1..count).map(|d| [a, b, c, d]));
            }
        }
    }
    all
}

/// Four marks clockwise, if they go round a page of about the size that the marks say.
fn in_order(four: [usize; 4], corners: &[Corner]) -> Option<[usize; 4]> {
    let middle = four
        .iter()
        .fold(point(0.0, 0.0), |sum, &each| sum + corners[each].middle)
        * 0.25;
    let mut around = four;
    around.sort_by(|&a, &b| {
        let turn = |each: usize| {
            let from = corners[each].middle - middle;
            from.y.atan2(from.x)
        };
        turn(a).total_cmp(&turn(b))
    });
    let places = around.map(|each| corners[each].middle);
    if !goes_round(places) {
        return None;
    }
    let frame = Frame::new(Paper::A4, false);
    let fits = |from: [Point; 4]| {
        let Some(plane) = Homography::between(from, places) else {
            return false;
        };
        from.iter().zip(around).all(|(&corner, each)| {
            let scale = corners[each].radius / CORNER_RING.1 / plane.scale_at(corner);
            (0.55..1.7).contains(&scale)
        })
    };
    let mut turned = frame.corners;
    turned.rotate_left(1);
    (fits(frame.corners) || fits(turned)).then_some(around)
}

/// The page between four marks, clockwise.
fn page(
    photo: &Gray,
    corners: &[Corner],
    discs: &[Disc],
    around: [usize; 4],
) -> Result<Page, Refusal> {
    let mut refusal = Refusal::NoCode;
    // First as any reader of such codes would; then, where the photo is small, by where the code must stand on either
    // paper.
    let ways: [(ReadCode, Paper); 3] = [
        (code, Paper::A4),
        (code_in_place, Paper::A4),
        (code_in_place, Paper::Letter),
    ];
    for (by, paper) in ways {
        for (landscape, turn) in [false, true]
            .into_iter()
            .flat_map(|landscape| (0..4).map(move |turn| (landscape, turn)))
        {
            let mut places = around.map(|each| corners[each].middle);
            places.rotate_left(turn);
            let frame = Frame::new(paper, landscape);
            let Some(plane) = Homography::between(frame.corners, places) else {
                continue;
            };
            let Some(text) = by(photo, &frame, &plane) else {
                continue;
            };
            let tag = match Tag::read(&text) {
                Ok(tag) => tag,
                Err(NotATag::Version(version)) => {
                    return Err(Refusal::OtherVersion {
                        newer: version > VERSION,
                    });
                }
                Err(NotATag::Other) => {
                    refusal = Refusal::OtherCode;
                    continue;
                }
            };
            let frame = Frame::new(tag.paper, tag.landscape);
            let Some(plane) = Homography::between(frame.corners, places) else {
                continue;
            };
            let smallest = frame
                .corners
                .iter()
                .map(|&corner| plane.scale_at(corner))
                .fold(f64::INFINITY, f64::min);
            if smallest < LEAST_SCALE {
                return Err(Refusal::TooSmall);
            }
            let bent = follow(&frame, &plane, discs)?;
            return Ok(Page {
                tag,
                frame,
                plane,
                bent,
            });
        }
    }
    Err(refusal)
}

/// A way to read the code of a page whose frame lies so on a photo.
type ReadCode = fn(&Gray, &Frame, &Homography) -> Option<String>;

/// What the code says that stands where the code of a page should stand.
fn code(photo: &Gray, frame: &Frame, plane: &Homography) -> Option<String> {
    let around = frame.code.grown(8.0 * MODULE);
    [7.0, 5.0, 10.0]
        .into_iter()
        .find_map(|pixels_to_module: f64| {
            let step = MODULE / pixels_to_module;
            let side = (around.width / step) as usize;
            let mut cut = Gray::filled(side, side, 255);
            for y in 0..side {
                for x in 0..side {
                    let at = point(around.x + x as f64 * step, around.y + y as f64 * step);
                    cut.pixels[y * side + x] = photo.between(plane.map(at)) as u8;
                }
            }
            let mut prepared =
                PreparedImage::prepare_from_greyscale(side, side, |x, y| cut.pixels[y * side + x]);
            let grids = prepared.detect_grids();
            grids
                .iter()
                .find_map(|grid| grid.decode().ok())
                .map(|(_, text)| text)
        })
}

/// What the code says, its modules taken where they must be: from a little aside, as the page may be bent, where the
/// squares in three of its corners are seen best.
fn code_in_place(photo: &Gray, frame: &Frame, plane: &Homography) -> Option<String> {
    const ASIDE: i32 = 7;
    const STEP: f64 = 0.4;
    let side = MODULES as i32;
    let middle = |column: i32, row: i32| {
        point(
            frame.code.x + (f64::from(column) + 0.5) * MODULE,
            frame.code.y + (f64::from(row) + 0.5) * MODULE,
        )
    };
    let places: Vec<(i32, i32, bool)> = [(0, 0), (side - 7, 0), (0, side - 7)]
        .into_iter()
        .flat_map(|(left, top)| {
            (0..49).map(move |each| {
                let (x, y) = (each % 7, each / 7);
                // ISO/IEC 18004:2015, 6.3.3: 7 × 7 dark, 5 × 5 light, 3 × 3 dark.
                let ring = x.min(y).min(6 - x).min(6 - y);
                (left + x, top + y, ring != 1)
            })
        })
        .collect();
    let mut tries: Vec<(f64, Point)> = (-ASIDE..=ASIDE)
        .flat_map(|v| (-ASIDE..=ASIDE).map(move |u| point(f64::from(u), f64::from(v)) * STEP))
        .map(|off| {
            let seen: f64 = places
                .iter()
                .map(|&(column, row, dark)| {
                    let shade = photo.between(plane.map(middle(column, row) + off));
                    // 33 of the 49 are dark: both kinds weigh the same.
                    if dark { -shade / 33.0 } else { shade / 16.0 }
                })
                .sum();
            (seen, off)
        })
        .collect();
    tries.sort_by(|a, b| b.0.total_cmp(&a.0));
    tries.into_iter().take(6).find_map(|(_, off)| {
        let shades: Vec<f64> = (0..side * side)
            .map(|each| photo.between(plane.map(middle(each % side, each / side) + off)))
            .collect();
        // By the whole code, or, where a shadow lies over part of it, by what is near.
        [MODULES as usize, 4, 2].into_iter().find_map(|reach| {
            let grid = SimpleGrid::from_func(MODULES as usize, |x, y| {
                shades[y * MODULES as usize + x] < between(&shades, (x, y), reach)
            });
            let decoded = rqrr::Grid::new(grid).decode();
            decoded.ok().map(|(_, text)| text)
        })
    })
}

/// The shade between dark and light modules, so many modules around one: amid the middle of their dark half and that of
/// their light half.
fn between(shades: &[f64], (x, y): (usize, usize), reach: usize) -> f64 {
    let side = MODULES as usize;
    let span = |at: usize| at.saturating_sub(reach)..(at + reach + 1).min(side);
    let mut near: Vec<f64> = span(y)
        .flat_map(|y| span(x).map(move |x| shades[y * side + x]))
        .collect();
    near.sort_by(f64::total_cmp);
    0.5 * (near[near.len() / 4] + near[3 * near.len() / 4])
}

/// Follows the discs from corner to corner along each edge.
fn follow(frame: &Frame, plane: &Homography, discs: &[Disc]) -> Result<[Vec<Point>; 4], Refusal> {
    let mut bent: [Vec<Point>; 4] = Default::default();
    for (edge, dots) in frame.dots.iter().enumerate() {
        let there = along(dots.iter().copied(), plane, discs);
        let mut back = along(dots.iter().rev().copied(), plane, discs);
        back.reverse();
        let seen: Vec<Option<Point>> = (0..dots.len())
            .map(|each| {
                if each < dots.len() / 2 {
                    there[each].or(back[each])
                } else {
                    back[each].or(there[each])
                }
            })
            .collect();
        let count = seen.iter().flatten().count();
        let gap = seen
            .split(Option::is_some)
            .map(<[_]>::len)
            .max()
            .unwrap_or_default();
        if (count as f64) < LEAST_SEEN * dots.len() as f64 || gap > 2 {
            return Err(Refusal::EdgeHidden);
        }
        bent[edge] = filled(&seen);
    }
    Ok(bent)
}

/// For each disc in turn, how far it is from where the plane has it.
fn along(
    dots: impl Iterator<Item = Point>,
    plane: &Homography,
    discs: &[Disc],
) -> Vec<Option<Point>> {
    let (mut last, mut step) = (point(0.0, 0.0), point(0.0, 0.0));
    dots.map(|dot| {
        let on_plane = plane.map(dot);
        let scale = plane.scale_at(dot);
        let expected = on_plane + last + step;
        let seen = discs
            .iter()
            .filter(|disc| (0.55..1.6).contains(&(disc.radius / (DOT * scale))))
            .map(|disc| (disc.middle.distance(expected), disc))
            .filter(|(apart, _)| *apart < 3.2 * scale)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, disc)| disc.middle - on_plane);
        match seen {
            Some(off) => {
                step = (off - last) * 0.7;
                last = off;
            }
            None => step = step * 0.7,
        }
        seen
    })
    .collect()
}

/// What is missing lies between its neighbours; the corners, before the first and after the last, are on the plane.
fn filled(seen: &[Option<Point>]) -> Vec<Point> {
    let mut known = vec![(0, point(0.0, 0.0))];
    known.extend(
        seen.iter()
            .enumerate()
            .filter_map(|(each, off)| off.map(|off| (each + 1, off))),
    );
    known.push((seen.len() + 1, point(0.0, 0.0)));
    (1..=seen.len())
        .map(|each| {
            let after = known.partition_point(|(at, _)| *at < each);
            let ((a, from), (b, to)) = (known[after - 1], known[after]);
            from.towards(to, (each - a) as f64 / (b - a) as f64)
        })
        .collect()
}
