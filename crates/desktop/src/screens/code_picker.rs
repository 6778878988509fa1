//! Choosing a record by typing part of its code: a field, and beneath it the records that fit.

use domain::record::Record;
use domain::{Genotype, Id, Ploidy, Project, Sex};
use egui::text::{CCursor, CCursorRange, LayoutJob, TextWrapping};
use egui::{
    Align2, EventFilter, FontFamily, FontId, Key, Modifiers, Popup, PopupCloseBehavior, Response,
    Role, Sense, TextEdit, TextFormat, Ui, WidgetInfo, vec2,
};
use kit::drafts::Slot;
use kit::fonts::mark;
use kit::theme::{self, space, tokens};
use std::sync::Arc;

/// How many candidates are shown; when more fit, a line says so.
const SHOWN: usize = 8;

/// One record that can be chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate<T> {
    /// The record.
    pub id: T,
    /// Its code.
    pub code: String,
    /// What else tells it from the others: its name, its sex, how it stands.
    pub words: String,
}

/// A field for the code of a record.
///
/// Typing lists what fits; Down and Up move through the list, Enter takes the marked one, Escape brings back what
/// stood there. Leaving the field takes a code typed in full, or the only one that fits.
#[derive(Clone, Copy, Debug)]
pub struct CodePicker<'a> {
    name: &'a str,
    hint: &'a str,
    width: f32,
    may_be_empty: bool,
}

#[derive(Clone)]
struct Memory<T> {
    /// What was typed and not yet chosen.
    typed: Option<String>,
    open: bool,
    /// The candidate marked.
    at: usize,
    found: Arc<Vec<Candidate<T>>>,
    /// The revision and the words that `found` was made for.
    found_for: Option<(u64, String)>,
    problem: Option<String>,
}

impl<T> Default for Memory<T> {
    fn default() -> Self {
        Self {
            typed: None,
            open: false,
            at: 0,
            found: Arc::default(),
            found_for: None,
            problem: None,
        }
    }
}

impl<'a> CodePicker<'a> {
    /// A field called `name`, as wide as there is room.
    pub const fn new(name: &'a str) -> Self {
        Self {
            name,
            hint: "part of a code or name",
            width: f32::INFINITY,
            may_be_empty: false,
        }
    }

    /// What to write, shown while the field is empty.
    #[must_use]
    pub const fn hint(mut self, hint: &'a str) -> Self {
        self.hint = hint;
        self
    }

    /// Width of the box in points.
    #[must_use]
    pub const fn width(mut self, width: f32) -> Self {
        self.width = width;
        self
    }

    /// Emptied, the field chooses nothing.
    #[must_use]
    pub const fn may_be_empty(mut self) -> Self {
        self.may_be_empty = true;
        self
    }

    /// Draws the field; true when `value` changed.
    ///
    /// `shown` is the code of what is chosen now. `find` gives what fits the words typed, the likeliest first, for a
    /// revision of the project; it is asked only when either changed. See [`find`] and [`find_plants`].
    pub fn show<T>(
        &self,
        ui: &mut Ui,
        shown: &str,
        revision: u64,
        value: &mut Option<T>,
        find: impl FnOnce(&str) -> Vec<Candidate<T>>,
    ) -> bool
    where
        T: Copy + PartialEq + Send + Sync + 'static,
    {
        let slot = Slot::of(ui, self.name);
        let id = slot.id();
        let mut memory: Memory<T> = ui.data(|data| data.get_temp(id)).unwrap_or_default();
        // What is typed and not yet chosen lies with all drafts, and outlives this screen and this window.
        match slot.held(ui.ctx()) {
            Some((typed, problem)) => {
                memory.typed = Some(typed);
                memory.problem = problem;
            }
            None => memory.typed = None,
        }
        if ui.memory(|kept| kept.has_focus(id)) {
            memory.follow_keys(ui);
        }
        let mut text = memory.typed.clone().unwrap_or_else(|| shown.to_owned());
        let response = self.edit(ui, id, &mut text, memory.open, memory.problem.is_some());
        if response.gained_focus() {
            select_all(ui, id, &text);
        }
        if response.changed() {
            memory = Memory {
                typed: Some(text.clone()),
                open: true,
                at: 0,
                problem: None,
                ..memory
            };
        }
        memory.open |= response.clicked();
        let left = response.lost_focus();
        if memory.open || (left && memory.typed.is_some()) {
            memory.look(revision, find);
        }

        let mut picked = None;
        let mut in_list = false;
        if memory.open {
            (picked, in_list) = self.list(ui, &response, &memory);
        }
        let mut changed = false;
        if left && !in_list {
            let entered = ui.input(|input| input.key_pressed(Key::Enter));
            // Enter takes what is marked; where nothing is typed or marked, it is the form's.
            let idle = memory.typed.is_none() && !memory.open;
            changed |= self.leave(&mut memory, entered, value, &mut picked);
            if entered && !idle && memory.problem.is_none() {
                response.request_focus();
            }
        }
        if let Some(new) = picked {
            changed |= *value != Some(new);
            *value = Some(new);
            memory = Memory::default();
            response.request_focus();
        }
        if !response.has_focus() && !in_list && picked.is_none() {
            memory.open = false;
        }
        if let Some(problem) = &memory.problem {
            let ink = tokens(ui).alarm;
            ui.label(
                egui::RichText::new(format!("{} {problem}", mark::WARNING))
                    .color(ink)
                    .small(),
            );
        }
        match memory.typed.as_deref() {
            Some(typed) if typed != shown || memory.problem.is_some() => {
                slot.keep(ui.ctx(), typed, memory.problem.as_deref());
            }
            _ => slot.forget(ui.ctx()),
        }
        ui.data_mut(|data| {
            if memory.typed.is_some() || memory.open {
                data.insert_temp(id, memory);
            } else {
                data.remove_temp::<Memory<T>>(id);
            }
        });
        changed
    }

    fn edit(
        &self,
        ui: &mut Ui,
        id: egui::Id,
        text: &mut String,
        open: bool,
        refused: bool,
    ) -> Response {
        let edit = TextEdit::singleline(text)
            .id(id)
            .hint_text(self.hint.to_owned())
            .desired_width(self.width)
            .margin(vec2(space::S, space::XS))
            .min_size(vec2(0.0, space::TARGET))
            .align(Align2::LEFT_CENTER)
            .event_filter(EventFilter {
                horizontal_arrows: true,
                vertical_arrows: true,
                escape: open,
                tab: false,
            });
        ui.scope(|ui| {
            if refused {
                let stroke = egui::Stroke::new(2.0, tokens(ui).alarm);
                ui.visuals_mut().widgets.inactive.bg_stroke = stroke;
            }
            ui.add(edit)
        })
        .inner
        .accessible_name(self.name)
    }

    /// Draws the candidates; the one clicked, and whether the pointer is at work in the list.
    fn list<T: Copy>(&self, ui: &Ui, response: &Response, memory: &Memory<T>) -> (Option<T>, bool) {
        let mut picked = None;
        let shown = Popup::from_response(response)
            .open(true)
            .accessible_name(format!("Candidates: {}", self.name))
            .close_behavior(PopupCloseBehavior::IgnoreClicks)
            .width(response.rect.width().max(300.0))
            .show(|ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                for (nth, candidate) in memory.found.iter().take(SHOWN).enumerate() {
                    if candidate_row(ui, &candidate.code, &candidate.words, nth == memory.at)
                        .clicked()
                    {
                        picked = Some(candidate.id);
                    }
                }
                if memory.found.is_empty() {
                    ui.label(theme::muted(
                        ui,
                        "Nothing fits. Type another part of the code.",
                    ));
                } else if memory.found.len() > SHOWN {
                    ui.label(theme::muted(ui, "More fit: type on."));
                }
            });
        let pressed_at = ui.input(|input| input.pointer.interact_pos());
        let in_list = shown
            .zip(pressed_at)
            .is_some_and(|(shown, at)| shown.response.rect.contains(at))
            && ui.input(|input| input.pointer.any_down() || input.pointer.any_click());
        (picked, in_list)
    }

    /// The field was left, by Enter or otherwise: takes what was meant, or says why it can't. True when `value` was emptied.
    fn leave<T: Copy>(
        &self,
        memory: &mut Memory<T>,
        entered: bool,
        value: &mut Option<T>,
        picked: &mut Option<T>,
    ) -> bool {
        let was_open = std::mem::take(&mut memory.open);
        let Some(typed) = memory.typed.as_deref().map(str::trim) else {
            if entered && was_open {
                *picked = memory.found.get(memory.at).map(|candidate| candidate.id);
            }
            return false;
        };
        if typed.is_empty() {
            let emptied = self.may_be_empty && value.is_some();
            if self.may_be_empty {
                *value = None;
            }
            *memory = Memory::default();
            return emptied;
        }
        let meant = match &memory.found[..] {
            found if entered => found.get(memory.at),
            [only] => Some(only),
            found => found
                .iter()
                .find(|candidate| candidate.code.to_lowercase() == typed.to_lowercase()),
        };
        *picked = meant.map(|candidate| candidate.id);
        if picked.is_none() {
            memory.problem = Some(if memory.found.is_empty() {
                format!("Nothing fits '{typed}'. Type another part of the code.")
            } else {
                format!("'{typed}' fits more than one. Choose from the list.")
            });
        }
        false
    }
}

impl<T> Memory<T> {
    fn follow_keys(&mut self, ui: &Ui) {
        let (down, up, escape) = ui.input_mut(|input| {
            (
                input.consume_key(Modifiers::NONE, Key::ArrowDown),
                input.consume_key(Modifiers::NONE, Key::ArrowUp),
                self.open && input.consume_key(Modifiers::NONE, Key::Escape),
            )
        });
        let last = self.found.len().min(SHOWN).saturating_sub(1);
        match (self.open, down, up) {
            (false, true, _) => (self.open, self.at) = (true, 0),
            (true, true, _) => self.at = (self.at + 1).min(last),
            (true, _, true) => self.at = self.at.saturating_sub(1),
            _ => {}
        }
        if escape {
            *self = Self::default();
        }
    }

    fn look(&mut self, revision: u64, find: impl FnOnce(&str) -> Vec<Candidate<T>>) {
        let wanted = (revision, self.typed.clone().unwrap_or_default());
        if self.found_for.as_ref() != Some(&wanted) {
            self.found = Arc::new(find(wanted.1.trim()));
            self.found_for = Some(wanted);
        }
    }
}

fn candidate_row(ui: &mut Ui, code: &str, words: &str, marked: bool) -> Response {
    let colours = tokens(ui);
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), space::TARGET), Sense::CLICK);
    response.widget_info(|| {
        WidgetInfo::selected(
            Role::ListBoxOption,
            true,
            marked,
            format!("{code}, {words}"),
        )
    });
    let fill = match (marked, response.hovered()) {
        (true, _) => Some(colours.selection),
        (false, true) => Some(colours.hover),
        (false, false) => None,
    };
    if let Some(fill) = fill {
        ui.painter().rect_filled(rect, theme::radius::SMALL, fill);
    }
    let format = |family, size, color| TextFormat {
        font_id: FontId::new(size, family),
        color,
        ..TextFormat::default()
    };
    let mut job = LayoutJob {
        wrap: TextWrapping::truncate_at_width(rect.width() - 2.0 * space::S),
        ..LayoutJob::default()
    };
    job.append(
        code,
        0.0,
        format(
            FontFamily::Name(kit::fonts::STRONG.into()),
            theme::type_size::BODY,
            colours.ink,
        ),
    );
    job.append(
        words,
        space::S,
        format(
            FontFamily::Proportional,
            theme::type_size::SMALL,
            colours.muted,
        ),
    );
    let galley = ui.painter().layout_job(job);
    let at = rect.left_center() + vec2(space::S, -galley.size().y / 2.0);
    ui.painter().galley(at, galley, colours.ink);
    response
}

fn select_all(ui: &Ui, id: egui::Id, text: &str) {
    if let Some(mut state) = TextEdit::load_state(ui.ctx(), id) {
        let end = CCursor::new(text.chars().count());
        state
            .cursor
            .set_char_range(Some(CCursorRange::two(CCursor::new(0), end)));
        state.store(ui.ctx(), id);
    }
}

/// The records whose names fit the words typed: a code typed in full first, then those that begin with it, then
/// those that hold it, each group in the order given. `names` gives the code and whatever else a record is known by.
pub fn find<'a, R: Record + 'a>(
    records: impl Iterator<Item = &'a R>,
    typed: &str,
    names: impl Fn(&'a R) -> Vec<&'a str>,
    words: impl Fn(&R) -> String,
) -> Vec<Candidate<Id<R>>> {
    let wanted = typed.trim().to_lowercase();
    let rank = |name: &str| {
        let name = name.to_lowercase();
        match name.find(&wanted)? {
            0 if name.len() == wanted.len() => Some(0),
            0 => Some(1),
            _ => Some(2),
        }
    };
    let mut groups: [Vec<&R>; 3] = Default::default();
    for record in records {
        if let Some(rank) = names(record).into_iter().filter_map(rank).min() {
            let group: &mut Vec<&R> = &mut groups[rank];
            if group.len() <= SHOWN {
                group.push(record);
            }
        }
    }
    let candidate = |record: &R| Candidate {
        id: record.id(),
        code: record.code().unwrap_or_default().to_owned(),
        words: words(record),
    };
    groups
        .into_iter()
        .flatten()
        .take(SHOWN + 1)
        .map(candidate)
        .collect()
}

/// The plants that fit by code, name or alias and are `allowed`: the living before the others.
pub fn find_plants(
    project: &Project,
    typed: &str,
    allowed: impl Fn(&Genotype) -> bool,
) -> Vec<Candidate<Id<Genotype>>> {
    let of = |alive: bool| {
        project
            .genotypes()
            .iter()
            .filter(move |plant| plant.is_alive() == alive)
    };
    let plants = of(true).chain(of(false)).filter(|plant| allowed(plant));
    find(plants, typed, names_of, plant_words)
}

fn names_of(plant: &Genotype) -> Vec<&str> {
    std::iter::once(plant.code.as_str())
        .chain(plant.name.as_deref())
        .chain(plant.aliases.iter().map(String::as_str))
        .collect()
}

/// What tells a plant from the others, beside its code: its name, its sex, its ploidy if it is no diploid, how it stands.
fn plant_words(plant: &Genotype) -> String {
    let sex = plant.known_sex().map_or("sex unknown", Sex::word);
    let name = plant
        .name
        .as_deref()
        .map(|name| format!("{name}, "))
        .unwrap_or_default();
    let gone = plant
        .end
        .as_ref()
        .map(|end| format!(", {}", end.kind.word()))
        .unwrap_or_default();
    let ploidy = if plant.ploidy == Ploidy::DIPLOID {
        String::new()
    } else {
        format!(", {}", plant.ploidy)
    };
    format!("{name}{sex}{ploidy}{gone}")
}
