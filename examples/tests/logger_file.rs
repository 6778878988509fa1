//! The sample file of a logger is the one that its maker writes, and tells what it is said to tell.

const KEPT: &str = include_str!("../logger-winter.csv");

#[test]
fn the_file_that_is_kept_is_the_one_that_is_made() {
    assert!(
        sample::logger_file() == KEPT,
        "make it anew: cargo run -p sample --bin make-logger-file examples/logger-winter.csv"
    );
}

#[test]
fn it_holds_a_freeze_an_open_door_and_a_dead_battery() {
    let cells = || KEPT.lines().map(|line| line.split(';').collect::<Vec<_>>());
    let degrees = |day: &str| {
        let of_day = cells().filter(|cells| cells.get(1) == Some(&day));
        let read = |cells: Vec<&str>| {
            let text = cells[3].replace(',', ".").replace('\u{2212}', "-");
            text.parse::<f64>().ok()
        };
        of_day.filter_map(read).collect::<Vec<_>>()
    };
    let lowest = |day| degrees(day).into_iter().fold(f64::INFINITY, f64::min);
    let highest = |day| degrees(day).into_iter().fold(f64::NEG_INFINITY, f64::max);
    assert!(lowest("15.01.2026") < -2.0, "the thermostat fails");
    assert!(highest("07.02.2026") > 12.0, "the door is open");
    assert!(degrees("11.03.2026").is_empty(), "the battery is dead");
    assert_eq!(
        degrees("01.01.2000").len(),
        20,
        "its clock had lost its time"
    );
    assert!(
        highest("01.12.2025") < 5.0 && lowest("01.12.2025") > 1.0,
        "else it is as it should be"
    );
}
