//! A square table of figures as shades: each thing with each.

use super::TakenTable;
use crate::theme::{self, Pair, space, tokens, type_size};
use chart::{Anchor, Colour, Drawing, Frame, Place, Shape, Size, Words};
use egui::{
    Align2, EventFilter, FontId, Id, Key, Modifiers, Pos2, Rect, Response, Role, Sense, Stroke,
    StrokeKind, Ui, Vec2, WidgetInfo, epaint::TextShape, pos2, vec2,
};

/// A cell is at least and at most so wide.
const CELL: std::ops::RangeInclusive<f32> = 8.0..=56.0;
/// Narrower cells hold no figure.
const FIGURE_FROM: f32 = 26.0;
/// Narrower cells hold a figure of two decimals rather than three.
const LONG_FIGURE_FROM: f32 = 36.0;
/// Narrower rows have their name only under the pointer.
const NAME_FROM: f32 = 11.0;
/// Up to so many things each cell has an accessible name of its own; with more, rows and the chosen cell do.
const NAMED_CELLS: usize = 24;

/// A step of the scale: figures up to and with `limit`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShadeStep {
    /// The highest figure of the step.
    pub limit: f64,
    /// How it is written in the key.
    pub words: &'static str,
}

/// A symmetric map of figures.
///
/// Tab reaches it as one stop; arrows then move the chosen cell, Home and End go to the ends of its row.
pub struct HeatMap<'a> {
    name: &'a str,
    labels: &'a [String],
    steps: &'a [ShadeStep; 7],
}

impl<'a> HeatMap<'a> {
    /// A map called `name` of the things `labels`, in the order they are drawn.
    pub const fn new(name: &'a str, labels: &'a [String], steps: &'a [ShadeStep; 7]) -> Self {
        Self {
            name,
            labels,
            steps,
        }
    }

    /// Its name.
    pub const fn name(&self) -> &str {
        self.name
    }

    /// The map to be drawn elsewhere, with its key beneath: rows named, columns by the numbers of the rows.
    pub fn drawing(
        &self,
        value: impl Fn(usize, usize) -> f64,
        measure: &dyn Fn(&str, f32, bool) -> f32,
    ) -> Drawing {
        const CELL: f32 = 30.0;
        const TYPE: f32 = 10.0;
        const HEAD: f32 = 44.0;
        let count = self.labels.len();
        let named = |(nth, label): (usize, &String)| format!("{label}  {}", nth + 1);
        let names: Vec<String> = self.labels.iter().enumerate().map(named).collect();
        let widest = names.iter().map(|name| measure(name, TYPE, false));
        let left = widest.fold(0.0, f32::max) + 2.0 * space::S;
        let side = CELL * count as f32;
        let key = 18.0 * self.steps.len() as f32;
        let size = Size {
            width: (left + side + space::S).max(320.0),
            height: HEAD + side + space::L + key + space::S,
        };
        let step_of = |value: f64| {
            let step = self.steps.partition_point(|step| step.limit + 1e-9 < value);
            step.min(6) as u8
        };
        let mut shapes = vec![words(
            self.name,
            (space::S, 12.0),
            Anchor::Start,
            (13.0, true),
        )];
        for (row, name) in names.iter().enumerate().take(count) {
            let middle = HEAD + CELL * (row as f32 + 0.5);
            let across = left + CELL * (row as f32 + 0.5);
            let end = (left - space::S, middle);
            shapes.push(words(name, end, Anchor::End, (TYPE, false)));
            let head = (across, HEAD - 8.0);
            let number = (row + 1).to_string();
            shapes.push(words(&number, head, Anchor::Middle, (TYPE, false)));
            for column in 0..count {
                let at = (left + CELL * column as f32, HEAD + CELL * row as f32);
                let value = value(row, column);
                shapes.push(square(at, CELL - 0.5, step_of(value)));
                let middle = (at.0 + 0.5 * CELL, at.1 + 0.5 * CELL);
                let mut figure = words(&short(value, 3), middle, Anchor::Middle, (8.5, false));
                if let (Shape::Words(words), 4..) = (&mut figure, step_of(value)) {
                    words.colour = Colour::Ground;
                }
                shapes.push(figure);
            }
        }
        let mut top = HEAD + side + space::L;
        for (nth, step) in self.steps.iter().enumerate() {
            shapes.push(square((left, top), 14.0, nth as u8));
            let at = (left + 20.0, top + 7.0);
            shapes.push(words(step.words, at, Anchor::Start, (TYPE, false)));
            top += 18.0;
        }
        Drawing {
            size,
            frame: Frame::whole(size),
            shapes,
        }
    }

    /// The map as a table, its figures in full.
    pub fn table(&self, value: impl Fn(usize, usize) -> f64) -> TakenTable {
        let rows = self.labels.iter().enumerate().map(|(row, label)| {
            let figures = (0..self.labels.len()).map(|column| figure(value(row, column)));
            std::iter::once(label.clone()).chain(figures).collect()
        });
        TakenTable {
            name: self.name.to_owned(),
            header: std::iter::once(String::new())
                .chain(self.labels.iter().cloned())
                .collect(),
            rows: rows.collect(),
        }
    }

    /// Draws the map in the space there is; `chosen` is the row and column chosen. The response has changed when
    /// another was.
    pub fn show(
        &self,
        ui: &mut Ui,
        chosen: &mut Option<(usize, usize)>,
        value: impl Fn(usize, usize) -> f64,
    ) -> Response {
        let count = self.labels.len();
        let small = FontId::proportional(type_size::SMALL);
        let colours = tokens(ui);
        let margin = self
            .labels
            .iter()
            .map(|label| {
                let galley = ui
                    .painter()
                    .layout_no_wrap(label.clone(), small.clone(), colours.ink);
                galley.size().x
            })
            .fold(0.0, f32::max)
            .min(140.0)
            + space::S;
        let space = ui.available_size();
        let cell = ((space.x - margin).min(space.y - margin) / count.max(1) as f32)
            .clamp(*CELL.start(), *CELL.end())
            .floor();
        let side = cell * count as f32;
        let outer = Vec2::splat(margin + side + 1.0);
        // An id that stays when what stands beside the map comes and goes, so that the keyboard stays in it too.
        let id = ui.make_persistent_id(("heat map", self.name));
        let (rect, _) = ui.allocate_exact_size(outer, Sense::hover());
        let mut response = ui.interact(rect, id, Sense::click());
        let grid = Grid {
            map: Rect::from_min_size(rect.min + Vec2::splat(margin), Vec2::splat(side)),
            cell,
            count,
        };
        self.follow_keys(ui, &response, chosen);
        if response.clicked()
            && let Some(at) = response.interact_pointer_pos().and_then(|at| grid.at(at))
        {
            response.request_focus();
            *chosen = Some(at);
            response.mark_changed();
        }
        let words = |(row, column): (usize, usize)| {
            let figure = figure(value(row, column));
            if row == column {
                format!("{} with itself: {figure}", self.labels[row])
            } else {
                format!("{} and {}: {figure}", self.labels[row], self.labels[column])
            }
        };
        response.widget_info(|| {
            let name = match *chosen {
                Some(at) if at.0 < count && at.1 < count => {
                    format!("{}, at {}", self.name, words(at))
                }
                _ => self.name.to_owned(),
            };
            WidgetInfo::labeled(Role::Grid, true, name)
        });
        let hovered = response.hover_pos().and_then(|at| grid.at(at));
        self.draw(ui, &grid, *chosen, hovered, &value);
        self.speak(ui, response.id, &grid, &value, words);
        if response.has_focus() {
            let ring = Stroke::new(2.0, colours.accent);
            ui.painter()
                .rect_stroke(grid.map.expand(3.0), 2, ring, StrokeKind::Outside);
        }
        if let Some(at) = hovered {
            response = response.on_hover_text_at_pointer(words(at));
        }
        response
    }

    /// The key of the shades: a swatch and words for each step.
    pub fn key(&self, ui: &mut Ui) {
        ui.horizontal_wrapped(|ui| {
            for (step, pair) in self.steps.iter().zip(&tokens(ui).scale) {
                let (rect, _) = ui.allocate_exact_size(Vec2::splat(14.0), Sense::hover());
                let edge = Stroke::new(1.0, tokens(ui).outline);
                ui.painter().rect_filled(rect, 2, pair.fill);
                ui.painter().rect_stroke(rect, 2, edge, StrokeKind::Inside);
                ui.spacing_mut().item_spacing.x = space::XS;
                ui.label(theme::muted(ui, step.words).small());
                ui.add_space(space::S);
            }
        });
    }

    fn shade(&self, ui: &Ui, value: f64) -> Pair {
        let step = self.steps.partition_point(|step| step.limit + 1e-9 < value);
        tokens(ui).scale[step.min(6)]
    }

    fn follow_keys(&self, ui: &Ui, response: &Response, chosen: &mut Option<(usize, usize)>) {
        let last = self.labels.len().saturating_sub(1);
        if !response.has_focus() || self.labels.is_empty() {
            return;
        }
        ui.memory_mut(|memory| {
            let filter = EventFilter {
                horizontal_arrows: true,
                vertical_arrows: true,
                ..EventFilter::default()
            };
            memory.set_focus_lock_filter(response.id, filter);
        });
        type Move = fn(usize, usize, usize) -> (usize, usize);
        let moves: [(Key, Move); 6] = [
            (Key::ArrowUp, |row, column, _| {
                (row.saturating_sub(1), column)
            }),
            (Key::ArrowDown, |row, column, last| {
                ((row + 1).min(last), column)
            }),
            (Key::ArrowLeft, |row, column, _| {
                (row, column.saturating_sub(1))
            }),
            (Key::ArrowRight, |row, column, last| {
                (row, (column + 1).min(last))
            }),
            (Key::Home, |row, _, _| (row, 0)),
            (Key::End, |row, _, last| (row, last)),
        ];
        for (key, step) in moves {
            while ui.input_mut(|input| input.consume_key(Modifiers::NONE, key)) {
                *chosen = Some(chosen.map_or((0, 0), |(row, column)| {
                    step(row.min(last), column.min(last), last)
                }));
            }
        }
    }

    fn draw(
        &self,
        ui: &Ui,
        grid: &Grid,
        chosen: Option<(usize, usize)>,
        hovered: Option<(usize, usize)>,
        value: &impl Fn(usize, usize) -> f64,
    ) {
        let colours = tokens(ui);
        let painter = ui.painter();
        let gap = if grid.cell >= 14.0 { 1.0 } else { 0.0 };
        let decimals = if grid.cell >= LONG_FIGURE_FROM { 3 } else { 2 };
        for (row, column) in grid.places() {
            let rect = grid.rect(row, column).shrink(gap / 2.0);
            let figure_of = value(row, column);
            let pair = self.shade(ui, figure_of);
            painter.rect_filled(rect, 0, pair.fill);
            if grid.cell >= FIGURE_FROM {
                let font = FontId::monospace(type_size::SMALL);
                painter.text(
                    rect.center(),
                    Align2::CENTER_CENTER,
                    short(figure_of, decimals),
                    font,
                    pair.text,
                );
            }
        }
        let edge = Stroke::new(1.0, colours.outline);
        painter.rect_stroke(grid.map, 0, edge, StrokeKind::Outside);
        for (at, width) in [(hovered, 1.5), (chosen, 2.5)] {
            if let Some((row, column)) = at.filter(|at| at.0.max(at.1) < grid.count) {
                let ring = Stroke::new(width, colours.ink);
                painter.rect_stroke(grid.rect(row, column), 0, ring, StrokeKind::Outside);
            }
        }
        for (index, label) in self.labels.iter().enumerate() {
            let marked = |at: Option<(usize, usize)>, column: bool| {
                at.is_some_and(|(row, col)| if column { col } else { row } == index)
            };
            if grid.cell >= NAME_FROM || marked(hovered, false) || marked(chosen, false) {
                let end = grid.rect(index, 0).left_center() - vec2(space::XS, 0.0);
                let ink = if marked(chosen, false) {
                    colours.accent
                } else {
                    colours.ink
                };
                let font = FontId::proportional(type_size::SMALL.min(grid.cell + 1.0).max(9.0));
                painter.text(end, Align2::RIGHT_CENTER, label, font, ink);
            }
            if grid.cell >= NAME_FROM || marked(hovered, true) || marked(chosen, true) {
                let foot = grid.rect(0, index).center_top() - vec2(0.0, space::XS);
                let ink = if marked(chosen, true) {
                    colours.accent
                } else {
                    colours.ink
                };
                let font = FontId::proportional(type_size::SMALL.min(grid.cell + 1.0).max(9.0));
                upright(ui, foot, label, font, ink);
            }
        }
    }

    /// Gives rows, and the cells of a small map, their accessible names.
    fn speak(
        &self,
        ui: &Ui,
        id: Id,
        grid: &Grid,
        value: &impl Fn(usize, usize) -> f64,
        words: impl Fn((usize, usize)) -> String,
    ) {
        for row in 0..grid.count {
            let first = grid.rect(row, 0);
            let rect = Rect::from_min_max(
                pos2(first.left() - space::XL, first.top()),
                first.left_bottom(),
            );
            let node = ui.interact(rect, id.with(("row", row)), Sense::hover());
            node.widget_info(|| {
                let nearest = (0..grid.count)
                    .filter(|column| *column != row)
                    .max_by(|one, other| value(row, *one).total_cmp(&value(row, *other)));
                let label = &self.labels[row];
                let text = match nearest {
                    Some(column) => format!(
                        "{label}: nearest {} {}",
                        self.labels[column],
                        figure(value(row, column))
                    ),
                    None => label.clone(),
                };
                WidgetInfo::labeled(Role::RowHeader, true, text)
            });
        }
        if grid.count <= NAMED_CELLS {
            for (row, column) in grid.places() {
                let cell_id = id.with((row, column));
                let node = ui.interact(grid.rect(row, column), cell_id, Sense::hover());
                node.widget_info(|| WidgetInfo::labeled(Role::Cell, true, words((row, column))));
            }
        }
    }
}

fn words(text: &str, (x, y): (f32, f32), anchor: Anchor, (size, bold): (f32, bool)) -> Shape {
    Shape::Words(Words {
        text: text.to_owned(),
        at: Place { x, y },
        anchor,
        size,
        bold,
        colour: Colour::Ink,
    })
}

fn square((x, y): (f32, f32), side: f32, shade: u8) -> Shape {
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
    Shape::Filled {
        corners: corners
            .map(|(right, down)| Place {
                x: x + right,
                y: y + down,
            })
            .to_vec(),
        colour: Colour::Shade(shade),
    }
}

struct Grid {
    map: Rect,
    cell: f32,
    count: usize,
}

impl Grid {
    fn rect(&self, row: usize, column: usize) -> Rect {
        let offset = vec2(column as f32, row as f32) * self.cell;
        Rect::from_min_size(self.map.min + offset, Vec2::splat(self.cell))
    }

    fn at(&self, point: Pos2) -> Option<(usize, usize)> {
        let offset = (point - self.map.min) / self.cell;
        let inside = |at: f32| (at >= 0.0 && (at as usize) < self.count).then_some(at as usize);
        Some((inside(offset.y)?, inside(offset.x)?))
    }

    fn places(&self) -> impl Iterator<Item = (usize, usize)> + use<> {
        let count = self.count;
        (0..count).flat_map(move |row| (0..count).map(move |column| (row, column)))
    }
}

/// A figure in full, without trailing zeros.
fn figure(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A figure for a cell, without a leading zero to spare room; a plain 0 for none.
fn short(value: f64, decimals: usize) -> String {
    if value.abs() < 5e-4 {
        return "0".into();
    }
    let text = format!("{value:.decimals$}");
    text.strip_prefix('0').map_or(text.clone(), str::to_owned)
}

/// Text that reads upwards from its foot.
fn upright(ui: &Ui, foot: Pos2, text: &str, font: FontId, ink: egui::Color32) {
    let galley = ui.painter().layout_no_wrap(text.to_owned(), font, ink);
    let corner = pos2(foot.x - galley.size().y / 2.0, foot.y);
    let shape = TextShape::new(corner, galley, ink).with_angle(-std::f32::consts::FRAC_PI_2);
    ui.painter().add(shape);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_short_in_cells_and_full_in_words() {
        let cells = [
            short(0.125, 3),
            short(0.0, 3),
            short(1.0, 3),
            short(0.25, 2),
        ];
        assert_eq!(cells, [".125", "0", "1.000", ".25"]);
        assert_eq!(
            [figure(0.125), figure(0.0), figure(1.0)],
            ["0.125", "0", "1"]
        );
    }

    #[test]
    fn a_point_finds_its_cell_and_none_outside() {
        let grid = Grid {
            map: Rect::from_min_size(pos2(100.0, 50.0), Vec2::splat(30.0)),
            cell: 10.0,
            count: 3,
        };
        assert_eq!(grid.at(pos2(121.0, 55.0)), Some((0, 2)));
        assert_eq!(grid.at(pos2(131.0, 55.0)), None);
        assert_eq!(grid.at(pos2(99.5, 55.0)), None);
    }
}
