//! Files in every dress, and files that no logger ever wrote.

use super::*;
use proptest::prelude::*;

fn read(file: &[u8]) -> (Guess, Import) {
    let guess = guess(file);
    let import = import(file, &guess.mapping, &mut |_| true)
        .unwrap()
        .unwrap();
    adds_up(&import);
    (guess, import)
}

#[track_caller]
fn adds_up(import: &Import) {
    let told = import.header_lines
        + import.blank_lines
        + (import.readings.len() + import.bad.len() + import.duplicates.len()) as u64;
    assert_eq!(told, import.lines, "{import:?}");
    assert!(
        import
            .readings
            .windows(2)
            .all(|pair| pair[0].at < pair[1].at)
    );
}

fn shown(import: &Import) -> Vec<(String, f64)> {
    let show = |reading: &Reading| {
        (
            reading.moment().to_string(),
            f64::from(reading.hundredths) / 100.0,
        )
    };
    import.readings.iter().map(show).collect()
}

/// Three half hours of 5 January 2026 at 3.5, -0.5 and 12 °C.
fn expected() -> Vec<(String, f64)> {
    [("08:00:00", 3.5), ("08:30:00", -0.5), ("09:00:00", 12.0)]
        .map(|(time, celsius)| (format!("2026-01-05 {time}"), celsius))
        .to_vec()
}

#[test]
fn the_same_readings_in_every_dress() {
    for (what, file) in [
        ("plain", "Time,Temp °C\n2026-01-05 08:00,3.5\n2026-01-05 08:30,-0.5\n2026-01-05 09:00,12\n".to_owned()),
        ("no header, line feeds missing at the end", "2026-01-05T08:00:00Z,3.5\r\n2026-01-05T08:30:00Z,-0.5\r\n2026-01-05T09:00:00Z,12".to_owned()),
        ("semicolons, decimal commas", "Datum;Zeit;Temperatur [°C]\n05.01.2026;08:00;3,5\n05.01.2026;08:30;\u{2212}0,5\n05.01.2026;09:00;12,0\n".to_owned()),
        ("quoted decimal commas", "\"#\",\"Time\",\"Temp\"\n1,\"05/01/2026 08:00\",\"3,5 °C\"\n2,\"05/01/2026 08:30\",\"-0,5 °C\"\n3,\"05/01/2026 09:00\",\"12,0 °C\"\n".to_owned()),
        ("tabs, 12 hours, Fahrenheit", "No.\tDate Time\tTemp (°F)\tRH (%)\n1\t1/5/2026 8:00:00 AM\t38.3\t81\n2\t1/5/2026 8:30:00 AM\t31.1\t80\n3\t1/5/2026 9:00:00 AM\t53.6\t79\n".to_owned()),
        ("spaces", "2026/01/05 08:00 3.5\n2026/01/05 08:30 -0.5\n2026/01/05 09:00 12\n".to_owned()),
        ("bars, serial column, humidity first", "Serial|Index|Humidity|Temp C|When\nA-77|1|80.0|3.5|5 Jan 2026 08:00\nA-77|2|81.0|-0.5|5 Jan 2026 08:30\nA-77|3|82.0|12|5 Jan 2026 09:00\n".to_owned()),
        ("seconds since 1970", "epoch,temperature\n1767600000,3.5\n1767601800,-0.5\n1767603600,12\n".to_owned()),
        ("spreadsheet days", "t;temp\n46027,3333333;3,5\n46027,3541667;-0,5\n46027,375;12\n".to_owned()),
        ("a unit column", "Date/Time,Unit,Value\n5/1/26 8:00,C,3.5\n5/1/26 8:30,C,-0.5\n5/1/26 9:00,C,12\n".to_owned()),
        ("latest first", "2026-01-05 09:00,12\n2026-01-05 08:30,-0.5\n2026-01-05 08:00,3.5\n".to_owned()),
        ("old line ends", "Time,Temp\r2026-01-05 08:00,3.5\r2026-01-05 08:30,-0.5\r2026-01-05 09:00,12\r".to_owned()),
    ] {
        let (guess, import) = read(file.as_bytes());
        // Fahrenheit is written to a tenth: within a twentieth of a degree.
        for (one, other) in shown(&import).iter().zip(expected()) {
            assert!(one.0 == other.0 && (one.1 - other.1).abs() < 0.06, "{what}: {import:?} {guess:?}");
        }
        assert_eq!(import.readings.len(), 3, "{what}: {import:?} {guess:?}");
        assert!(import.bad.is_empty() && import.duplicates.is_empty(), "{what}: {import:?}");
    }
}

#[test]
fn the_same_readings_in_every_encoding() {
    let text = "Größe\nZeit;Temp (°C)\n05.01.2026 08:00;3,5\n05.01.2026 08:30;\u{2013}0,5\n05.01.2026 09:00;12\n";
    let low: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let high: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    // Windows-1252 writes the dash as 0x96, the rest as Latin-1.
    let western: Vec<u8> = text
        .chars()
        .map(|sign| if sign == '\u{2013}' { 0x96 } else { sign as u8 })
        .collect();
    let marked = |mark: &[u8], text: &[u8]| [mark, text].concat();
    for (encoding, file) in [
        (Encoding::Utf8, text.as_bytes().to_vec()),
        (Encoding::Utf8, marked(b"\xEF\xBB\xBF", text.as_bytes())),
        (Encoding::Utf16Le, low.clone()),
        (Encoding::Utf16Le, marked(b"\xFF\xFE", &low)),
        (Encoding::Utf16Be, high.clone()),
        (Encoding::Utf16Be, marked(b"\xFE\xFF", &high)),
        (Encoding::Western, western),
    ] {
        let (guess, import) = read(&file);
        assert_eq!(guess.mapping.encoding, encoding);
        assert_eq!(shown(&import), expected(), "{guess:?}");
        assert_eq!(guess.columns, ["Zeit", "Temp (°C)"]);
    }
}

#[test]
fn the_order_of_day_and_month_is_told_by_the_steps() {
    // All numbers are at most 12: only a step of half an hour over midnight tells the order.
    let days = |write: &dyn Fn(u32) -> String| -> String {
        (1..=5)
            .flat_map(|day| (0..48).map(move |half| (day, half)))
            .map(|(day, half)| format!("{} {:02}:{:02};3,5\n", write(day), half / 2, half % 2 * 30))
            .collect::<Vec<_>>()
            .concat()
    };
    let european = read(days(&|day| format!("{day:02}/02/2026")).as_bytes());
    assert_eq!(european.0.mapping.form, TimeForm::DayMonthYear);
    let american = read(days(&|day| format!("02/{day:02}/2026")).as_bytes());
    assert_eq!(american.0.mapping.form, TimeForm::MonthDayYear);
    assert_eq!(american.1.readings, european.1.readings);
    assert!(
        !american
            .0
            .doubts
            .iter()
            .any(|doubt| doubt.contains("Day and month"))
    );
    let either = read(b"05/02/2026 08:00;3,5\n05/02/2026 08:30;3,5\n05/02/2026 09:00;3,5\n");
    assert!(
        either
            .0
            .doubts
            .iter()
            .any(|doubt| doubt.contains("Day and month"))
    );
}

#[test]
fn bad_rows_are_named_with_their_line_and_reason() {
    let file = "Time,Temp (°C)\n2026-01-05 08:00,3.5\n2026-01-05 08:30\nsoon,3.5\n2026-01-05 09:00,---\n2026-01-05 09:30,\n\n2026-01-05 10:00,-127\n2026-01-05 10:30,3.5\nEnd of data\n";
    let (_, import) = read(file.as_bytes());
    let bad: Vec<String> = import.bad.iter().map(ToString::to_string).collect();
    assert_eq!(
        bad,
        [
            "line 3: it has 1 fields, and 2 are wanted.",
            "line 4: 'soon' is no time of this form.",
            "line 5: '---' is no temperature.",
            "line 6: it has no temperature.",
            "line 8: '-127' is out of all bounds: a broken or loose sensor, or another unit.",
            "line 10: it has 1 fields, and 2 are wanted.",
        ]
    );
    assert_eq!(
        (
            import.header_lines,
            import.readings.len(),
            import.blank_lines
        ),
        (1, 2, 1)
    );
}

#[test]
fn a_stray_quote_swallows_no_line() {
    let (_, import) = read(b"t,temp C\n2026-01-05 08:00,3.5\n2026-01-05 08:30,\"3.5\n2026-01-05 09:00,3.5\n2026-01-05 09:30,3.5\n");
    assert_eq!((import.readings.len(), import.bad.len()), (3, 1));
    assert_eq!(import.bad[0].line, 3);
}

fn half_hours(begin: &str, count: i64) -> Vec<chrono::NaiveDateTime> {
    let begin: chrono::NaiveDateTime = begin.parse().unwrap();
    (0..count)
        .map(|nth| begin + chrono::TimeDelta::minutes(30 * nth))
        .collect()
}

fn file(moments: &[chrono::NaiveDateTime]) -> String {
    let rows = moments.iter().map(|moment| format!("{moment},3.5\n"));
    std::iter::once("Time,Temp °C\n".to_owned())
        .chain(rows)
        .collect()
}

#[test]
fn a_decimal_comma_among_commas_is_understood_and_told() {
    let file = "Time,Temp °C\n2026-01-05 08:00,3,5\n2026-01-05 08:30,-0,5\n2026-01-05 09:00,12\n";
    let (guess, import) = read(file.as_bytes());
    assert!(guess.mapping.decimal_comma);
    assert!(
        guess.doubts[0].contains("decimal signs too"),
        "{:?}",
        guess.doubts
    );
    assert_eq!(shown(&import), expected());
}

#[test]
fn whole_degrees_beside_a_named_column_of_whole_numbers_stay_whole() {
    let file = "Time,Temp °C,Battery %\n2026-01-05 08:00,3,95\n2026-01-05 08:30,4,95\n";
    let (guess, import) = read(file.as_bytes());
    assert!(!guess.mapping.decimal_comma);
    assert!(
        guess
            .doubts
            .iter()
            .any(|doubt| doubt.starts_with("Whole degrees only"))
    );
    assert_eq!(shown(&import)[0].1, 3.0);
}

#[test]
fn summer_time_ends_and_begins_without_losing_or_inventing_an_hour() {
    // 26 October 2025, 03:00 summer time is 02:00; 29 March 2026, 02:00 is 03:00 (EU directive 2000/84/EC).
    let mut moments = half_hours("2025-10-25T12:00:00", 30);
    moments.extend(half_hours("2025-10-26T02:00:00", 1000));
    let (_, import) = read(file(&moments).as_bytes());
    assert_eq!(import.clock_changes.len(), 1);
    assert_eq!(
        import.clock_changes[0].kind,
        ClockChangeKind::SummerTimeEnded
    );
    assert!(import.duplicates.is_empty());
    assert!(
        import
            .readings
            .windows(2)
            .all(|pair| pair[1].at - pair[0].at == 1800),
        "one steady clock"
    );
    // Most of the file is on winter time, so what came before it is told on it.
    assert_eq!(
        import.readings[0].moment().to_string(),
        "2025-10-25 11:00:00"
    );
    assert_eq!(
        import.readings.last().unwrap().moment(),
        *moments.last().unwrap()
    );

    let mut moments = half_hours("2026-03-27T00:00:00", 100);
    moments.extend(half_hours("2026-03-29T03:00:00", 20));
    let (guess, steady) = read(file(&moments).as_bytes());
    assert_eq!(
        steady.clock_changes[0].kind,
        ClockChangeKind::SummerTimeBegan
    );
    assert!(
        steady
            .readings
            .windows(2)
            .all(|pair| pair[1].at - pair[0].at == 1800)
    );
    let as_shown = Mapping {
        summer_time: false,
        ..guess.mapping
    };
    let shown = import_all(&file(&moments), &as_shown);
    assert_eq!(
        shown.readings.last().unwrap().moment(),
        *moments.last().unwrap()
    );
}

fn import_all(file: &str, mapping: &Mapping) -> Import {
    let import = import(file.as_bytes(), mapping, &mut |_| true)
        .unwrap()
        .unwrap();
    adds_up(&import);
    import
}

#[test]
fn an_hourly_log_repeats_an_hour_when_summer_time_ends() {
    let hourly = |begin: &str, count| {
        half_hours(begin, count)
            .into_iter()
            .step_by(2)
            .collect::<Vec<_>>()
    };
    let mut moments = hourly("2025-10-25T12:00:00", 30);
    moments.extend(hourly("2025-10-26T02:00:00", 400));
    let (_, import) = read(file(&moments).as_bytes());
    assert_eq!(
        import.clock_changes[0].kind,
        ClockChangeKind::SummerTimeEnded
    );
    assert_eq!(import.readings.len(), moments.len());
}

#[test]
fn a_clock_that_lost_its_time_tells_none() {
    // A battery died on 10 January; after it the clock began in 2000 until it was set on 12 January.
    let mut moments = half_hours("2026-01-05T00:00:00", 240);
    moments.extend(half_hours("2000-01-01T00:00:00", 20));
    moments.extend(half_hours("2026-01-12T08:00:00", 100));
    let (_, import) = read(file(&moments).as_bytes());
    assert_eq!((import.readings.len(), import.bad.len()), (340, 20));
    assert_eq!(
        import.bad[0].to_string(),
        "line 242: it says 2000-01-01 00:00:00: the clock had lost its time, and when it was taken isn't known."
    );
    // The same, fallen back less than years, to before the file began.
    let mut moments = half_hours("2026-01-05T00:00:00", 240);
    moments.extend(half_hours("2025-01-01T00:00:00", 20));
    moments.extend(half_hours("2026-01-12T08:00:00", 100));
    let (_, import) = read(file(&moments).as_bytes());
    assert_eq!((import.readings.len(), import.bad.len()), (340, 20));
}

#[test]
fn a_file_read_out_twice_into_one_names_each_row_told_twice() {
    let moments = half_hours("2026-01-05T00:00:00", 50);
    let twice = [moments.clone(), moments].concat();
    let (_, import) = read(file(&twice).as_bytes());
    assert_eq!(
        (
            import.readings.len(),
            import.duplicates.len(),
            import.bad.len()
        ),
        (50, 50, 0)
    );
    assert_eq!(
        import.duplicates[0].to_string(),
        "line 52: the moment of line 2, the same temperature."
    );
    assert!(matches!(
        import.clock_changes[..],
        [ClockChange {
            kind: ClockChangeKind::SetBack(_),
            ..
        }]
    ));
}

#[test]
fn files_of_one_logger_share_a_fingerprint() {
    let one = read(b"Logger S/N: 20417-A\nRead out 5 Jan\nTime,Temp C\n2026-01-05 08:00,3.5\n2026-01-05 08:30,3.5\n").0;
    let other = read(b"Logger S/N: 20417-A\nRead out 9 Feb\n\nTime,Temp C\n2026-02-05 08:00,3.5\n2026-02-05 08:30,3.5\n").0;
    assert_eq!(one.serial.as_deref(), Some("20417-A"));
    assert_eq!(one.fingerprint, other.fingerprint);
    let nameless = read(b"Time,Temp C\n2026-01-05 08:00,3.5\n2026-01-05 08:30,3.5\n").0;
    assert_eq!(nameless.fingerprint, "header time|temp c");
    let again = guess_with(
        b"Time,Temp C\n2026-02-05 08:00,3.5\n",
        nameless.mapping.clone(),
    );
    assert_eq!(
        (again.mapping, again.fingerprint),
        (nameless.mapping, nameless.fingerprint)
    );
}

#[test]
fn a_reading_can_be_stopped_and_a_mapping_is_kept_as_text() {
    let moments = half_hours("2026-01-05T00:00:00", 30_000);
    let text = file(&moments);
    let guess = guess(text.as_bytes());
    assert_eq!(
        import(text.as_bytes(), &guess.mapping, &mut |_| false).unwrap(),
        None
    );
    let kept = serde_json::to_string(&guess.mapping).unwrap();
    assert_eq!(
        serde_json::from_str::<Mapping>(&kept).unwrap(),
        guess.mapping
    );
}

fn any_mapping() -> impl Strategy<Value = Mapping> {
    (
        0..Encoding::ALL.len(),
        0..Separator::ALL.len(),
        proptest::option::of(0_u64..5),
        (0_usize..4, proptest::option::of(0_usize..4), 0_usize..4),
        0..TimeForm::ALL.len(),
        any::<(bool, bool, bool)>(),
    )
        .prop_map(
            |(
                encoding,
                separator,
                header_lines,
                (date, time, temperature),
                form,
                (fahrenheit, summer_time, decimal_comma),
            )| Mapping {
                encoding: Encoding::ALL[encoding],
                separator: Separator::ALL[separator],
                header_lines,
                date,
                time,
                form: TimeForm::ALL[form],
                temperature,
                unit: if fahrenheit {
                    Unit::Fahrenheit
                } else {
                    Unit::Celsius
                },
                decimal_comma,
                summer_time,
            },
        )
}

/// Lines that a logger may well write, and some that it should not.
fn any_line() -> impl Strategy<Value = String> {
    let day = prop_oneof![
        Just("2026-01-05".to_owned()),
        (1_u32..=31, 1_u32..=12).prop_map(|(day, month)| format!("{day:02}/{month:02}/2026")),
        "[0-9]{1,2}[./-][0-9]{1,2}[./-]([0-9]{2}){1,2}",
    ];
    let time = (
        0_u32..25,
        0_u32..60,
        prop_oneof![Just(""), Just(" AM"), Just(" pm")],
    )
        .prop_map(|(hour, minute, half)| format!("{hour:02}:{minute:02}{half}"));
    let degrees = prop_oneof![
        (-300_i32..300).prop_map(|tenths| format!("{},{}", tenths / 10, (tenths % 10).abs())),
        (-40_f64..110.0).prop_map(|degrees| format!("{degrees:.2}")),
        "[-−–(]?[0-9.,]{0,6}[)°CF]{0,2}",
    ];
    prop_oneof![
        8 => (day, time, degrees, "[,;\t|]").prop_map(|(day, time, degrees, separator)| format!("{day} {time}{separator}{degrees}")),
        1 => "\\PC{0,40}",
        1 => Just(String::new()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    /// Any bytes at all, through the guess and through any mapping: no panic, no row dropped.
    #[test]
    fn any_bytes_add_up(bytes in proptest::collection::vec(any::<u8>(), 0..600), mapping in any_mapping()) {
        holds_for(&bytes, &mapping);
    }

    /// Lines like a logger's.
    #[test]
    fn any_lines_add_up(lines in proptest::collection::vec(any_line(), 0..60), end in "\n|\r|\r\n", mapping in any_mapping()) {
        holds_for(lines.join(&end).as_bytes(), &mapping);
    }
}
