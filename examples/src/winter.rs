//! A winter in a refrigerator: what its temperature was, and what a logger in it wrote down.

use crate::chance::Chance;
use crate::maker::{Made, Maker};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use domain::temperature::{Reading, Readings};
use domain::{Celsius, Edit, LogPlace, TemperatureLog};
use std::fmt::Write as _;

/// How a night and a day in the refrigerator go, in °C, for a moment so many half hours after the beginning.
///
/// It hums between two and four degrees, a little warmer by day and when its door is opened in the morning.
fn usual(half_hours: i64, chance: &mut Chance) -> f64 {
    let of_day = half_hours.rem_euclid(48) as f64 / 48.0;
    let swing = 0.35 * wave(of_day - 0.6);
    let hum = 0.3 * wave(half_hours as f64 * 0.207);
    let door = if half_hours.rem_euclid(48) == 15 && chance.happens(0.6) {
        0.5 + 0.5 * chance.unit()
    } else {
        0.0
    };
    2.7 + swing + hum + door + 0.08 * chance.bell()
}

/// A wave of straight lines between -1 and 1, over once a unit: exact on every machine, as a sine might not be.
fn wave(at: f64) -> f64 {
    1.0 - 4.0 * (at.rem_euclid(1.0) - 0.5).abs()
}

/// The temperature so many hours into a mishap: towards `extreme` and back again, with the slowness of cold seed.
fn towards(hours: f64, lasting: f64, usual: f64, extreme: f64) -> f64 {
    let there = hours.min(lasting) / (hours.min(lasting) + 1.2);
    let back = ((hours - lasting) / 2.5).max(0.0);
    usual + (extreme - usual) * there / (1.0 + back * back * back)
}

/// A mishap: when it begins (half hours from the beginning), how many hours its cause lasts, and how far it goes.
struct Mishap {
    at: i64,
    hours: f64,
    extreme: f64,
}

/// The refrigerator of the sample: half hours from before this winter's first batch until the last box has left it, or
/// this morning; with a night too cold, two days without the logger and an evening with the door ajar.
pub(crate) fn log(make: &mut Maker) -> Made {
    const FIRST: i64 = -75;
    const LAST: i64 = 90;
    let until = make.today().min(LAST);
    let mut chance = Chance(0x0C01_D5EE);
    let begin = make.day(FIRST).and_time(NaiveTime::MIN);
    let half_hour_of = |day: i64, hour: i64| (day - FIRST) * 48 + hour * 2;
    let mishaps = [
        Mishap {
            at: half_hour_of(-46, 23),
            hours: 6.0,
            extreme: -2.6,
        },
        Mishap {
            at: half_hour_of(-24, 18),
            hours: 8.0,
            extreme: 13.0,
        },
    ];
    let without = half_hour_of(-40, 9)..half_hour_of(-38, 17);
    let readings = (0..=half_hour_of(until, 6))
        .filter(|half| !without.contains(half))
        .map(|half| {
            let celsius = with_mishaps(half, &mishaps, &mut chance);
            let tenths = (celsius * 10.0).round() / 10.0;
            Reading::new(begin + TimeDelta::minutes(half * 30), Celsius(tenths))
        });
    let readings = Readings::new(readings.collect());
    make.turn_to(until - 1);
    let log = TemperatureLog {
        id: make.ids.next(),
        at: LogPlace::Place("Seed refrigerator".into()),
        readings,
        source: "logger TL-20417".into(),
        remark: "The logger was out for a new battery for two days".into(),
    };
    make.apply(Edit::add(log))
}

fn with_mishaps(half: i64, mishaps: &[Mishap], chance: &mut Chance) -> f64 {
    let mut celsius = usual(half, chance);
    for mishap in mishaps {
        let hours = (half - mishap.at) as f64 / 2.0;
        if (0.0..40.0).contains(&hours) {
            celsius = towards(hours, mishap.hours, celsius, mishap.extreme);
        }
    }
    celsius
}

/// The file of a logger for a whole winter, as it came: summer time ends and begins in it, the thermostat fails in a
/// night of January, the door is left open on an evening of February, the battery dies in March and the clock begins
/// anew until it is set; one sensor fault and a line cut short beside that. The place and the logger are invented.
pub fn logger_file() -> String {
    let mut chance = Chance(20_417);
    let begin = NaiveDate::from_ymd_opt(2025, 10, 25)
        .and_then(|day| day.and_hms_opt(8, 0, 0))
        .unwrap_or_default();
    let at = |text: &str| -> i64 {
        let moment: NaiveDateTime = text.parse().unwrap_or(begin);
        (moment - begin).num_minutes() / 30
    };
    let mishaps = [
        Mishap {
            at: at("2026-01-14T22:00:00"),
            hours: 9.0,
            extreme: -3.2,
        },
        Mishap {
            at: at("2026-02-06T18:30:00"),
            hours: 13.0,
            extreme: 15.5,
        },
    ];
    let (died, set_right) = (at("2026-03-10T03:00:00"), at("2026-03-13T09:00:00"));
    let last = at("2026-03-31T12:00:00");
    let mut file = String::from(
        "Temperaturprotokoll\r\nGerät;Kühlschrank Saatgut\r\nSerial No.;TL-20417\r\nIntervall;30 min\r\n\r\nNr;Datum;Zeit;Temperatur [°C];Batterie [V]\r\n",
    );
    let mut number = 0;
    let mut line = |file: &mut String, moment: NaiveDateTime, celsius: &str, volts: f64| {
        number += 1;
        let _never = write!(
            file,
            "{number};{};{celsius};{}\r\n",
            moment.format("%d.%m.%Y;%H:%M:%S"),
            format!("{volts:.2}").replace('.', ",")
        );
    };
    for half in 0..=last {
        let celsius = with_mishaps(half, &mishaps, &mut chance);
        let text = match half {
            _ if half == at("2025-12-24T12:00:00") => "---".to_owned(),
            _ => format!("{celsius:.1}")
                .replace('.', ",")
                .replace('-', "\u{2212}"),
        };
        let volts = 3.02 - 0.45 * half as f64 / died as f64;
        if half < died {
            line(&mut file, shown(begin, half), &text, volts);
        } else if half >= set_right {
            line(&mut file, shown(begin, half), &text, 3.04);
        } else if half >= set_right - 20 {
            // A new battery is in, and the clock begins on the day it was made for.
            let lost = NaiveDate::from_ymd_opt(2000, 1, 1)
                .and_then(|day| day.and_hms_opt(0, 0, 0))
                .unwrap_or_default();
            line(
                &mut file,
                lost + TimeDelta::minutes((half - set_right + 20) * 30),
                &text,
                3.04,
            );
        }
    }
    file.push_str("Ende der Auf\r\n");
    file
}

/// What the clock showed: summer time of central Europe until 26 October 2025 and from 29 March 2026.
fn shown(begin: NaiveDateTime, half: i64) -> NaiveDateTime {
    let steady = begin + TimeDelta::minutes(half * 30);
    let change = |year, month, day, hour| {
        NaiveDate::from_ymd_opt(year, month, day).and_then(|day| day.and_hms_opt(hour, 0, 0))
    };
    // The steady clock is summer time's: its 03:00 is when it ends, and 03:00 again when it begins.
    let winter = change(2025, 10, 26, 3).is_some_and(|end| steady >= end)
        && change(2026, 3, 29, 3).is_some_and(|begin| steady < begin);
    if winter {
        steady - TimeDelta::hours(1)
    } else {
        steady
    }
}
