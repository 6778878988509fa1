//! What holds on every screen alike: dates in one style, keys at the foot, room for the page when text is twice as large.

use crate::window::{Window, today};
use desktop::view::Screen;
use egui::{Key, Rect, Role, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::collections::BTreeSet;

/// Everything that can be read or heard.
fn in_sight(window: &Window) -> Vec<String> {
    let mut words = Vec::new();
    let mut nodes = vec![window.harness.root()];
    while let Some(node) = nodes.pop() {
        let heard = node.accesskit_node();
        words.extend(
            [heard.label(), heard.value(), heard.description()]
                .into_iter()
                .flatten(),
        );
        nodes.extend(node.children());
    }
    words
}

/// Whether a date stands in these words as ISO 8601 writes it.
fn has_iso_date(words: &str) -> bool {
    let bytes = words.as_bytes();
    bytes.windows(10).any(|window| {
        window.iter().enumerate().all(|(nth, byte)| match nth {
            4 | 7 => *byte == b'-',
            _ => byte.is_ascii_digit(),
        })
    })
}

fn each_page(window: &mut Window, mut look: impl FnMut(&mut Window, &str)) {
    for screen in Screen::ALL {
        window.harness.state_mut().go(screen);
        window.settle();
        look(window, screen.title());
        let pages: Vec<String> = window
            .harness
            .query_all_by_role(Role::RadioButton)
            .filter_map(|node| node.accesskit_node().label())
            .collect();
        for page in pages {
            if window.has(Role::RadioButton, &page) {
                window.click(Role::RadioButton, &page);
                look(window, &format!("{}, {page}", screen.title()));
            }
        }
    }
}

#[test]
fn dates_are_written_in_one_style_on_every_page() {
    let project = sample::sample_project(today()).unwrap();
    let mut window = Window::on(&project, Key::Num1);
    let mut found = BTreeSet::new();
    let mut read = 0;
    each_page(&mut window, |window, page| {
        for words in in_sight(window) {
            read += 1;
            if has_iso_date(&words) {
                found.insert(format!("{page}: {words}"));
            }
        }
    });
    assert!(read > 1000, "{read}");
    let found: Vec<_> = found.into_iter().collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn sentences_of_the_domain_write_dates_in_one_style() {
    let project = sample::sample_project(today()).unwrap();
    let days = domain::date::shift(today(), -900)..=domain::date::shift(today(), 900);
    let mut sentences: Vec<String> = domain::agenda::agenda(&project, days, today())
        .into_iter()
        .flat_map(|item| [item.title, item.detail])
        .collect();
    let findings = domain::findings::findings(&project, today());
    sentences.extend(
        findings
            .into_iter()
            .flat_map(|each| [each.what, each.remedy]),
    );
    let iso: Vec<_> = sentences
        .iter()
        .filter(|words| has_iso_date(words))
        .collect();
    assert!(sentences.len() > 100 && iso.is_empty(), "{iso:?}");
}

#[test]
fn every_screen_shows_its_keys_at_the_foot() {
    let project = sample::sample_project(today()).unwrap();
    let mut window = Window::on(&project, Key::Num1);
    let mut without = Vec::new();
    for screen in Screen::ALL {
        window.harness.state_mut().go(screen);
        window.settle();
        if kit::page_keys::shown(&window.harness.ctx).is_empty() {
            without.push(screen.title());
        }
    }
    assert!(without.is_empty(), "{without:?}");
}

#[test]
fn at_twice_the_size_of_text_every_screen_leaves_room_for_its_page() {
    let project = sample::sample_project(today()).unwrap();
    // A window of 1280×720 in which text is at 200 %, half of the points being left; and a narrow one.
    for size in [[640.0, 360.0], [1024.0, 700.0]] {
        let size = vec2(size[0], size[1]);
        let mut window = Window::on(&project, Key::Num1);
        window.harness.set_size(size);
        let mut cut = BTreeSet::new();
        for screen in Screen::ALL {
            window.harness.state_mut().go(screen);
            window.settle();
            let all = Rect::from_min_size(egui::Pos2::ZERO, size);
            let mut seen = 0;
            for role in [
                Role::Button,
                Role::TextInput,
                Role::RadioButton,
                Role::ComboBox,
                Role::Table,
            ] {
                for node in window.harness.query_all_by_role(role) {
                    let rect = node.rect();
                    let page = all
                        .with_min_x(76.0)
                        .with_min_y(48.0)
                        .with_max_y(size.y - 32.0);
                    // Below the edge is within reach by scrolling, beside it isn't.
                    if page.x_range().contains(rect.center().x) {
                        seen += 1;
                    } else if rect.left() > size.x {
                        let label = node.accesskit_node().label().unwrap_or_default();
                        cut.insert(format!(
                            "{}: '{label}' at {:.0}",
                            screen.title(),
                            rect.left()
                        ));
                    }
                }
            }
            if seen == 0 {
                cut.insert(format!("{}: nothing to press in sight", screen.title()));
            }
        }
        let cut: Vec<_> = cut.into_iter().collect();
        assert!(cut.is_empty(), "{size:?}:\n{}", cut.join("\n"));
    }
}
