//! Every page of the gallery in both themes, and the calendar, lanes and words driven by name.

#[path = "../examples/gallery/page.rs"]
mod page;

use egui::{Key, Role};
use egui_kittest::{Harness, kittest::Queryable as _};
use kit::theme::Theme;
use page::{Gallery, Page};

fn harness(page: Page, theme: Theme, size: [f32; 2]) -> Harness<'static, Gallery> {
    let mut harness = Harness::builder()
        .with_size(size)
        .with_context_setup(move |ctx| theme.apply(ctx))
        .build_ui_state(
            |ui, gallery: &mut Gallery| gallery.show(ui),
            Gallery::new(page),
        );
    harness.run();
    harness
}

fn light(page: Page) -> Harness<'static, Gallery> {
    harness(page, Theme::Light, [1280.0, 720.0])
}

/// Glyphs all bundled, every input named, nothing repaints by itself: the harness checks all three.
#[test]
fn every_page_settles_in_both_themes_and_at_small_sizes() {
    for (page, _) in Page::ALL {
        for theme in [Theme::Light, Theme::Dark] {
            for size in [[1280.0, 720.0], [2560.0, 1440.0], [420.0, 300.0]] {
                let mut harness = harness(page, theme, size);
                assert_eq!(harness.run(), 1, "an idle page asks for no second frame");
            }
        }
    }
}

#[test]
fn a_page_is_chosen_by_its_name() {
    let mut harness = light(Page::Table);
    harness
        .get_by_role_and_label(Role::RadioButton, "Season")
        .click();
    harness.run();
    harness.get_by_role_and_label(Role::Table, "Season");
}

#[test]
fn the_detail_pane_follows_the_selection_and_closes() {
    let mut harness = light(Page::Table);
    harness.get_by_role_and_label(Role::Row, "B26-003").click();
    harness.run();
    harness.get_by_label("Code: B26-003");
    let pane = harness.get_by_label("Code: B26-003").rect();
    let table = harness
        .get_by_role_and_label(Role::Table, "Seedlings")
        .rect();
    assert!(table.right() <= pane.left(), "{table} and {pane} overlap");
    assert!(
        table.width() > 640.0,
        "the list keeps more than half: {table}"
    );
    let wide = table.width();
    harness
        .get_by_role_and_label(Role::Button, "Close details of B26-003")
        .click();
    harness.run();
    assert!(harness.query_by_label("Code: B26-003").is_none());
    assert!(
        harness
            .get_by_role_and_label(Role::Table, "Seedlings")
            .rect()
            .width()
            > wide + 200.0
    );
}

#[test]
fn a_day_is_read_aloud_with_what_is_on() {
    let mut harness = light(Page::Calendar);
    let name = "Monday 23 November 2026, Check box C-12, Pot on family 26-03, Photograph bench B, Bleach rinse";
    harness.get_by_role_and_label(Role::Button, name).click();
    harness.run();
    assert_eq!(
        harness
            .state()
            .month
            .selected
            .map(|day| day.to_string())
            .as_deref(),
        Some("2026-11-23")
    );
    harness.get_by_label_contains("Wednesday 25 November 2026, today, Check box C-1,");
}

#[test]
fn the_calendar_is_walked_by_keyboard() {
    let mut harness = light(Page::Calendar);
    harness.get_by_role_and_label(Role::Grid, "Month").focus();
    harness.run();
    for key in [
        Key::ArrowRight,
        Key::ArrowDown,
        Key::End,
        Key::PageDown,
        Key::Enter,
    ] {
        harness.key_press(key);
        harness.run();
    }
    // 25 Nov, a day and a week on is 3 Dec, its week ends on Sunday 6 Dec, a month on is 6 Jan.
    assert_eq!(
        harness
            .state()
            .month
            .selected
            .map(|day| day.to_string())
            .as_deref(),
        Some("2027-01-06")
    );
    harness.get_by_label("January 2027");
}

#[test]
fn a_lane_is_read_aloud_and_picked() {
    let mut harness = light(Page::Season);
    let name = "Cross 26-01; Dry storage, so far, 9 Oct 2026 to 8 Nov 2026; Chill, expected, 9 Nov 2026 to 7 Jan 2027; \
                Germination, expected, 11 Jan 2027 to 16 Feb 2027; Nursery, planned, 26 Feb 2027 to 27 Apr 2027; \
                Harvested, 9 Oct 2026; Mould found, 8 Jan 2027";
    harness.get_by_role_and_label(Role::Row, name).click();
    harness.run();
    assert_eq!(harness.state().picked_lane, Some(1));
    harness.key_press(Key::ArrowDown);
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(harness.state().picked_lane, Some(2));
}

#[test]
fn time_is_panned_and_zoomed_by_keyboard_and_by_dragging() {
    let mut harness = light(Page::Season);
    let (days, from) = (
        harness.state().lanes_state.view.days(),
        harness.state().lanes_state.view.from(),
    );
    harness.get_by_role_and_label(Role::Table, "Season").focus();
    harness.run();
    harness.key_press(Key::Plus);
    harness.run();
    assert!((harness.state().lanes_state.view.days() - days / 1.25).abs() < 1e-6);
    harness.key_press(Key::Minus);
    harness.run();
    harness.key_press(Key::ArrowRight);
    harness.run();
    assert!(
        harness.state().lanes_state.view.from() > from,
        "Right shows later days"
    );
    let before = harness.state().lanes_state.view.from();
    harness.drag_at(egui::pos2(600.0, 300.0));
    harness.run();
    harness.hover_at(egui::pos2(900.0, 300.0));
    harness.run();
    harness.drop_at(egui::pos2(900.0, 300.0));
    harness.run();
    assert!(
        harness.state().lanes_state.view.from() < before,
        "dragging right shows earlier days"
    );
}

#[test]
fn a_notice_is_answered_and_goes() {
    let mut harness = light(Page::Words);
    harness.get_by_role_and_label(Role::Button, "Undo").click();
    harness.run();
    assert_eq!(harness.state().said, None);
    harness
        .get_by_role_and_label(Role::Button, "Plan a cross")
        .click();
    harness.run();
    assert_eq!(
        harness.state().said.as_deref(),
        Some("A cross was planned.")
    );
}

#[test]
fn a_caution_says_whose_rules_come_first() {
    let harness = light(Page::Words);
    harness.get_by_role_and_label(Role::Note, "Caution: Bleach");
    harness.get_by_label_contains("follow those.");
}

#[test]
fn bench_buttons_are_large_and_say_what_they_do() {
    let harness = light(Page::Fields);
    let button = harness
        .get_by_role_and_label(Role::Button, "Moist, Box C-12 needs nothing")
        .rect();
    assert!(
        button.height() >= 64.0 && button.width() >= 160.0,
        "{button}"
    );
}

#[test]
fn everything_that_can_be_clicked_is_at_least_24_points_high_and_wide() {
    for page in [Page::Fields, Page::Words, Page::Scores] {
        let harness = light(page);
        let inputs = [
            Role::Button,
            Role::RadioButton,
            Role::TextInput,
            Role::CheckBox,
            Role::ColumnHeader,
        ];
        for node in inputs
            .into_iter()
            .flat_map(|role| harness.query_all_by(move |node| node.role() == role))
        {
            let rect = node.rect();
            assert!(
                rect.width() >= 24.0 && rect.height() >= 24.0,
                "{node:?} is {rect}"
            );
        }
    }
}

#[test]
fn a_second_button_click_selects_the_row_and_opens_its_menu() {
    let mut harness = light(Page::Table);
    harness
        .get_by_role_and_label(Role::Row, "B26-004")
        .click_secondary();
    harness.run();
    harness.get_by_role_and_label(Role::Row, "B26-004, selected");
    harness.get_by_role_and_label(Role::Button, "Pot on");
}

#[test]
fn a_computed_figure_says_how_it_is_reckoned() {
    let mut harness = light(Page::Fields);
    harness
        .get_by_role_and_label(
            Role::Button,
            "Seeds in the lot: 1 250. How it is worked out",
        )
        .click();
    harness.run();
    harness.get_by_label_contains("thousand-seed weight × 1000");
}
