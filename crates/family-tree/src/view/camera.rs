//! Which part of the drawing is seen, and how large.

use egui::{Pos2, Rect, Response, Ui, Vec2, vec2};

use super::Drawing;
use crate::{
    draw::MARGIN,
    graph::{FamilyGraph, PlantKey},
};

/// One press of a zoom key.
pub(super) const STEP: f32 = 1.25;
const LARGEST: f32 = 3.0;
const SMALLEST: f32 = 0.01;
/// A plant that is looked for is shown at least this large, so that its box can be read.
const READABLE: f32 = 0.85;
/// On arrival codes are at least this large, ...
const LEGIBLE: f32 = 0.5;
/// ... unless there are so many boxes that an overview serves better.
const OVERVIEW: usize = 200;
/// Room around a drawing that is fitted.
const EDGE: Vec2 = vec2(24.0, 28.0);
/// Points of the wheel for a zoom of e.
const WHEEL: f32 = 300.0;

/// What to do once the size of the window and the drawing are known.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Wanted {
    Nothing,
    /// As on arrival: everything, unless its codes would be too small to read.
    Begin,
    Fit,
    Plant(PlantKey),
}

#[derive(Debug)]
pub(super) struct Camera {
    /// The point of the layout in the middle of the window.
    centre: Pos2,
    zoom: f32,
    wanted: Wanted,
    /// The size of the window that everything was fitted to, for as long as nobody has moved it since.
    fitted: Option<Vec2>,
}

impl Default for Camera {
    fn default() -> Self {
        Self {
            centre: Pos2::ZERO,
            zoom: 1.0,
            wanted: Wanted::Begin,
            fitted: None,
        }
    }
}

impl Camera {
    /// A camera that shows points of the window where they are.
    pub(super) fn still(centre: Pos2) -> Self {
        Self {
            centre,
            zoom: 1.0,
            wanted: Wanted::Nothing,
            fitted: None,
        }
    }

    pub(super) fn fit(&mut self) {
        self.wanted = Wanted::Fit;
    }

    pub(super) fn look_for(&mut self, plant: PlantKey) {
        self.wanted = Wanted::Plant(plant);
    }

    pub(super) fn zoom(&self) -> f32 {
        self.zoom
    }

    pub(super) fn to_screen(&self, area: Rect, point: Pos2) -> Pos2 {
        area.center() + (point - self.centre) * self.zoom
    }

    pub(super) fn to_layout(&self, area: Rect, point: Pos2) -> Pos2 {
        self.centre + (point - area.center()) / self.zoom
    }

    pub(super) fn rect(&self, area: Rect, rect: Rect) -> Rect {
        Rect::from_min_max(
            self.to_screen(area, rect.min),
            self.to_screen(area, rect.max),
        )
    }

    /// Zooms so that the point of the drawing at `around` stays where it is.
    pub(super) fn zoom_by(&mut self, area: Rect, around: Pos2, factor: f32) {
        self.fitted = None;
        let held = self.to_layout(area, around);
        self.zoom = (self.zoom * factor).clamp(SMALLEST, LARGEST);
        self.centre = held - (around - area.center()) / self.zoom;
    }

    /// Moves just enough to bring `rect` into view.
    pub(super) fn reveal(&mut self, area: Rect, rect: Rect, margin: f32) {
        let room = area.shrink2(Vec2::splat(margin).min(area.size() / 4.0));
        let seen = self.rect(area, rect);
        let shift = |low: f32, high: f32, from: f32, to: f32| {
            if low < from {
                low - from
            } else if high > to {
                (high - to).min(low - from)
            } else {
                0.0
            }
        };
        let by = vec2(
            shift(seen.left(), seen.right(), room.left(), room.right()),
            shift(seen.top(), seen.bottom(), room.top(), room.bottom()),
        );
        if by != Vec2::ZERO {
            self.fitted = None;
            self.centre += by / self.zoom;
        }
    }

    /// Carries out what was wanted, then follows the pointer.
    pub(super) fn update(
        &mut self,
        ui: &Ui,
        area: Rect,
        response: &Response,
        graph: &FamilyGraph,
        drawing: &Drawing,
    ) {
        if self.wanted == Wanted::Nothing && self.fitted.is_some_and(|size| size != area.size()) {
            self.wanted = Wanted::Fit;
        }
        // What is looked for may only be in the drawing that is on its way.
        let wanted = self.wanted;
        if drawing.laid_out.current {
            self.wanted = Wanted::Nothing;
        }
        match wanted {
            Wanted::Nothing => {}
            Wanted::Begin | Wanted::Fit => {
                // The names of the bands keep their size whatever the zoom.
                let names = if drawing.layout.bands.is_empty() {
                    0.0
                } else {
                    MARGIN
                };
                let whole = drawing.layout.rect;
                let room = (area.size() - vec2(names, 0.0) - 2.0 * EDGE).max(Vec2::splat(1.0));
                let zoom = (room / whole.size()).min_elem();
                self.zoom = if zoom.is_finite() {
                    zoom.clamp(SMALLEST, 1.0)
                } else {
                    1.0
                };
                self.centre = whole.center() - vec2(names / 2.0, 0.0) / self.zoom;
                self.fitted = Some(area.size());
                let few = drawing.layout.boxes.len() <= OVERVIEW;
                if wanted == Wanted::Begin && few && self.zoom < LEGIBLE {
                    // From the oldest generation down, as large as its codes can be read.
                    self.zoom = LEGIBLE;
                    self.centre.x = whole.center().x - names / 2.0 / self.zoom;
                    self.centre.y = whole.top() + (area.height() / 2.0 - EDGE.y) / self.zoom;
                    self.fitted = None;
                }
            }
            Wanted::Plant(plant) => {
                let index = graph
                    .index_of(plant)
                    .and_then(|plant| drawing.extract.box_of[plant]);
                if let Some(index) = index {
                    self.fitted = None;
                    self.centre = drawing.layout.boxes[index].center();
                    self.zoom = self.zoom.max(READABLE);
                }
            }
        }
        if response.dragged() {
            self.fitted = None;
            self.centre -= response.drag_delta() / self.zoom;
        }
        if let Some(pointer) = ui.input(|input| input.pointer.hover_pos())
            && ui.rect_contains_pointer(area)
        {
            let (wheel, pinch) =
                ui.input(|input| (input.smooth_scroll_delta(), input.zoom_delta()));
            if wheel.x != 0.0 {
                self.fitted = None;
                self.centre.x -= wheel.x / self.zoom;
            }
            let factor = pinch * (wheel.y / WHEEL).exp();
            if factor != 1.0 {
                self.zoom_by(area, pointer, factor);
            }
        }
    }
}
