//! Tables as they come from scales, laboratories, neighbours and old computers: each is read right, or refused with a
//! sentence that says what to do. Small text in, small text out.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use exchange::sheets::{DateOrder, Decimal, Table, Wishes, read};

/// What a table comes to: its headings, then its rows, columns read as `kinds` says: t text, n number, d day.
fn shown(bytes: &[u8], kinds: &str, wishes: Wishes) -> Result<String, String> {
    let book = read(bytes)?;
    let table = Table::of(book.first()?.clone(), wishes)?;
    let mut lines = vec![
        table
            .columns
            .iter()
            .map(|column| match column.unit.as_str() {
                "" => column.name.clone(),
                unit => format!("{} [{unit}]", column.name),
            })
            .collect::<Vec<_>>()
            .join(" | "),
    ];
    for row in 0..table.rows() {
        let cells = kinds.chars().enumerate().map(|(column, kind)| match kind {
            'n' => table
                .number(row, column)
                .map(|number| number.map_or("-".into(), |number| number.to_string())),
            'd' => table
                .date(row, column)
                .map(|day| day.map_or("-".into(), |day| day.to_string())),
            _ => Ok(table.text(row, column).into_owned()),
        });
        let cells: Vec<String> = cells
            .map(|cell| cell.unwrap_or_else(|fault| format!("! {fault}")))
            .collect();
        lines.push(cells.join(" | "));
    }
    lines.extend(table.doubts.iter().map(|doubt| format!("? {doubt}")));
    Ok(lines.join("\n"))
}

fn plain(text: &str, kinds: &str) -> String {
    shown(text.as_bytes(), kinds, Wishes::default())
        .unwrap_or_else(|refusal| format!("! {refusal}"))
}

/// Each with its name, what stands in it, how its columns are read, and what comes of it.
const TEXTS: &[(&str, &str, &str, &str)] = &[
    (
        "plain",
        "code,alpha\nA1,11.2\nA2,9\n",
        "tn",
        "code | alpha\nA1 | 11.2\nA2 | 9",
    ),
    (
        "semicolons and decimal commas",
        "Code;Alpha\r\nA1;11,2\r\nA2;9,05\r\n",
        "tn",
        "Code | Alpha\nA1 | 11.2\nA2 | 9.05",
    ),
    (
        "tabs",
        "code\tdate\tn\nA1\t2026-09-04\t3\n",
        "tdn",
        "code | date | n\nA1 | 2026-09-04 | 3",
    ),
    (
        "upright strokes",
        "code|n\nA1|3\nA2|4\n",
        "tn",
        "code | n\nA1 | 3\nA2 | 4",
    ),
    (
        "a line that says what separates",
        "sep=;\ncode;note\nA1;one, two, three\n",
        "tt",
        "code | note\nA1 | one, two, three",
    ),
    (
        "old Mac line ends",
        "code,n\rA1,1\rA2,2\r",
        "tn",
        "code | n\nA1 | 1\nA2 | 2",
    ),
    (
        "a byte order mark and a last line without end",
        "\u{feff}code,n\nA1,1",
        "tn",
        "code | n\nA1 | 1",
    ),
    (
        "quotes, commas and line breaks within",
        "code,note\nA1,\"said \"\"good\"\",\nthen left\"\n",
        "tt",
        "code | note\nA1 | said \"good\",\nthen left",
    ),
    (
        "a title, a blank row, then the table",
        "Harvest 2026\n\ncode,date,kg\nA1,2026-09-04,2.5\n",
        "tdn",
        "code | date | kg\nA1 | 2026-09-04 | 2.5",
    ),
    (
        "who, when, and a title in two cells",
        "Laboratory report,2026\nContact,Ida\n\nsample,alpha (%),beta (%)\nS-1,10.5,4.4\n",
        "tnn",
        "sample | alpha [%] | beta [%]\nS-1 | 10.5 | 4.4",
    ),
    (
        "blank rows and rows of separators alone",
        "code,n\n\nA1,1\n,,\n ; \nA2,2\n\n",
        "tn",
        "code | n\nA1 | 1\n; | -\nA2 | 2",
    ),
    (
        "units in a row of their own",
        "code,yield,alpha\n,kg/ha,%\nA1,1996,11.2\n",
        "tnn",
        "code | yield [kg/ha] | alpha [%]\nA1 | 1996 | 11.2",
    ),
    (
        "units in brackets and behind a comma",
        "code,Dry yield [kg/ha],\"Alpha acids, %\"\nA1,1996,11.2\n",
        "tnn",
        "code | Dry yield [kg/ha] | Alpha acids [%]\nA1 | 1996 | 11.2",
    ),
    (
        "headings over two rows, gaps where cells were merged",
        ",Acids,,Oil\ncode,alpha,beta,total\nA1,11.2,4.5,1.9\n",
        "tnnn",
        "code | Acids alpha | Acids beta | Oil total\nA1 | 11.2 | 4.5 | 1.9",
    ),
    (
        "thousands by commas, points decide",
        "code,n\nA1,\"1,234\"\nA2,\"12,345.5\"\n",
        "tn",
        "code | n\nA1 | 1234\nA2 | 12345.5",
    ),
    (
        "thousands by points, commas decide",
        "code;n\nA1;1.234\nA2;12.345,5\n",
        "tn",
        "code | n\nA1 | 1234\nA2 | 12345.5",
    ),
    (
        "thousands by spaces and apostrophes",
        "code;n\nA1;1 234\nA2;12'345\nA3;1\u{a0}234,5\n",
        "tn",
        "code | n\nA1 | 1234\nA2 | 12345\nA3 | 1234.5",
    ),
    (
        "1.234 that nothing decides",
        "code,n\nA1,1.234\n",
        "tn",
        "code | n\nA1 | 1.234\n? n: '1.234' is read with a decimal point. If it is a decimal comma, say so.",
    ),
    (
        "1,234 among semicolons that nothing decides",
        "code;n\nA1;1,234\n",
        "tn",
        "code | n\nA1 | 1.234\n? n: '1,234' is read with a decimal comma. If it is a decimal point, say so.",
    ),
    (
        "another column decides",
        "code;n;p\nA1;1,234;0,5\n",
        "tnn",
        "code | n | p\nA1 | 1.234 | 0.5",
    ),
    (
        "03/04/05 that nothing decides",
        "code,date\nA1,03/04/05\n",
        "td",
        "code | date\nA1 | ! '03/04/05' is 2005-04-03 or 2005-03-04. Say whether the day or the month comes first.\n? date: in '03/04/05' the day or the month could come first. Say which.",
    ),
    (
        "03/04/05 beside a day that decides",
        "code,date\nA1,03/04/05\nA2,25/04/05\n",
        "td",
        "code | date\nA1 | 2005-04-03\nA2 | 2005-04-25",
    ),
    (
        "03/04/05 beside a month that decides",
        "code,date\nA1,03/04/05\nA2,04/25/05\n",
        "td",
        "code | date\nA1 | 2005-03-04\nA2 | 2005-04-25",
    ),
    (
        "a column that contradicts itself stays undecided",
        "code,date\nA1,25/04/05\nA2,04/25/05\nA3,03/04/05\n",
        "td",
        "code | date\nA1 | 2005-04-25\nA2 | 2005-04-25\nA3 | ! '03/04/05' is 2005-04-03 or 2005-03-04. Say whether the day or the month comes first.\n? date: in '03/04/05' the day or the month could come first. Say which.",
    ),
    (
        "days in words, with times, in points",
        "code;date\nA1;4 Sep 2026\nA2;2026-09-04 13:05\nA3;4.9.26\nA4;4. Oktober 2026\n",
        "td",
        "code | date\nA1 | 2026-09-04\nA2 | 2026-09-04\nA3 | 2026-09-04\nA4 | 2026-10-04",
    ),
    (
        "days that never were",
        "code,date\nA1,31/02/2026\nA2,2026-13-01\nA3,soon\n",
        "td",
        "code | date\nA1 | ! '31/02/2026' is no date.\nA2 | ! '2026-13-01' is no date.\nA3 | ! 'soon' is no date.",
    ),
    (
        "nothing known, in many words",
        "code,n\nA1,NA\nA2,n/a\nA3,-\nA4,\nA5,NaN\nA6,null\n",
        "tn",
        "code | n\nA1 | -\nA2 | -\nA3 | -\nA4 | -\nA5 | -\nA6 | -",
    ),
    (
        "what a spreadsheet could not reckon",
        "code,n\nA1,#DIV/0!\nA2,#N/A\n",
        "tn",
        "code | n\nA1 | ! '#DIV/0!' is what the spreadsheet shows where it couldn't calculate.\nA2 | ! '#N/A' is what the spreadsheet shows where it couldn't calculate.",
    ),
    (
        "formulas in place of values",
        "code,n\nA1,=B2*2\n",
        "tn",
        "code | n\nA1 | ! '=B2*2' is a formula without its value. Save the table from the spreadsheet again.",
    ),
    (
        "our own guard taken off again",
        "code,note\n'-A1,'=good\n'tis,'plain\n",
        "tt",
        "code | note\n-A1 | =good\n'tis | 'plain",
    ),
    (
        "below the limit of detection",
        "code,oil\nA1,<0.1\nA2,0.4\n",
        "tn",
        "code | oil\nA1 | ! '<0.1' is a limit, not a number. Type the number, or leave it empty and say so in the remark.\nA2 | 0.4",
    ),
    (
        "per cent signs and units behind the numbers",
        "code,alpha,weight (g)\nA1,11.2 %,5 g\nA2,9%,4.5g\n",
        "tnn",
        "code | alpha | weight [g]\nA1 | 11.2 | 5\nA2 | 9 | 4.5",
    ),
    (
        "two columns of one name",
        "code,alpha,Alpha\nA1,1,2\n",
        "tnn",
        "code | alpha | Alpha (2)\nA1 | 1 | 2\n? More than one column is called Alpha; number 2 of them is taken as 'Alpha (2)'.",
    ),
    (
        "a column without a name",
        "code,,n\nA1,x,1\n",
        "ttn",
        "code | Column 2 | n\nA1 | x | 1",
    ),
    (
        "rows too short and too long",
        "code,n,m\nA1\nA2,1,2,3\n",
        "tnn",
        "code | n | m | Column 4\nA1 | - | -\nA2 | 1 | 2",
    ),
    (
        "headings printed on every page",
        "code,n\nA1,1\ncode,n\nA2,2\n",
        "tn",
        "code | n\nA1 | 1\nA2 | 2",
    ),
    (
        "codes that look like numbers keep their zeros",
        "code,n\n007,1\n1e5,2\n",
        "tn",
        "code | n\n007 | 1\n1e5 | 2",
    ),
    (
        "degrees Fahrenheit in the heading",
        "box,Temp (°F)\nC-1,41\n",
        "tn",
        "box | Temp [°F]\nC-1 | 41",
    ),
    ("headings alone", "code,alpha\n", "tn", "code | alpha"),
    (
        "nothing",
        "",
        "",
        "! There is nothing in this file. Its first row must name the columns.",
    ),
    (
        "numbers without headings",
        "1,2\n3,4\n5,6\n",
        "nn",
        "! No row names the columns. Put a name over each column, such as code, date, alpha.",
    ),
];

#[test]
fn ugly_texts() {
    assert!(TEXTS.len() >= 40, "{}", TEXTS.len());
    for (name, text, kinds, expected) in TEXTS {
        assert_eq!(&plain(text, kinds), expected, "{name}");
    }
}

/// Windows-1252, Windows-1250, UTF-16 in both orders, with and without a mark. The letters by the tables of the WHATWG
/// Encoding Standard.
#[test]
fn letters_of_any_age() {
    let german =
        "Sorte;Bemerkung;Höhe\nGrünspecht;schön, kräftig;7,5\nKäuzchen;überständig und müde;6,5\n";
    let expected = "Sorte | Bemerkung | Höhe\nGrünspecht | schön, kräftig | 7.5\nKäuzchen | überständig und müde | 6.5";
    let (windows, _, _) = encoding_rs::WINDOWS_1252.encode(german);
    assert!(std::str::from_utf8(&windows).is_err());
    assert_eq!(shown(&windows, "ttn", Wishes::default()).unwrap(), expected);
    let polish = "Odmiana;Uwagi;Liczba\nŁąka;żółty, późny, ścięty;3\nDąb;gęste szyszki, źdźbło;4\n";
    let (windows, _, _) = encoding_rs::WINDOWS_1250.encode(polish);
    assert_eq!(
        shown(&windows, "ttn", Wishes::default()).unwrap(),
        "Odmiana | Uwagi | Liczba\nŁąka | żółty, późny, ścięty | 3\nDąb | gęste szyszki, źdźbło | 4"
    );
    for mark in [true, false] {
        let units: Vec<u16> = mark
            .then_some(0xFEFF)
            .into_iter()
            .chain(german.encode_utf16())
            .collect();
        let little: Vec<u8> = units.iter().flat_map(|unit| unit.to_le_bytes()).collect();
        let big: Vec<u8> = units.iter().flat_map(|unit| unit.to_be_bytes()).collect();
        for bytes in [little, big] {
            assert_eq!(shown(&bytes, "ttn", Wishes::default()).unwrap(), expected);
        }
    }
}

#[test]
fn a_person_may_say_how_it_is_read() {
    let text = b"made by Ida\ncode,date,n\nA1,03/04/05,\"1,234\"\n";
    let wishes = Wishes {
        header: Some(1),
        dates: Some(DateOrder::MonthFirst),
        decimal: Some(Decimal::Comma),
    };
    assert_eq!(
        shown(text, "tdn", wishes).unwrap(),
        "code | date | n\nA1 | 2005-03-04 | 1.234"
    );
}

/// A hundred million letters without an end of line, and a quotation mark that swallows the rest of the file.
#[test]
fn lines_without_end_are_refused_at_once() {
    let line = vec![b'a'; 100_000_000];
    let refusal = read(&line).unwrap_err();
    assert!(refusal.contains("its first line has no end"), "{refusal}");
    let mut swallowed = String::from("code,note\nA1,fine\nA2,\"never closed\n");
    swallowed.extend((0..400_000).map(|plant| format!("P{plant},as usual\n")));
    let refusal = read(swallowed.as_bytes()).unwrap_err();
    assert!(
        refusal.starts_with("The row that begins in line 3 is") && refusal.contains("no partner"),
        "{refusal}"
    );
}

#[test]
fn what_is_no_table_is_refused_in_words() {
    let refusals: [(&[u8], &str); 3] = [
        (
            b"%PDF-1.7\nsome pages",
            "This is a PDF, and a table in one is only a picture of it. Ask for a spreadsheet or a CSV file.",
        ),
        (
            &[0, 1, 2, 3, 4, 5, 6, 7, 8, 14, 15, 16, 17, 18, 19, 20],
            "This is no table that can be read. Save it from the spreadsheet as XLSX, ODS or CSV.",
        ),
        (
            b"\xD0\xCF\x11\xE0 cut off",
            "This spreadsheet can't be read",
        ),
    ];
    for (bytes, sentence) in refusals {
        let refusal = read(bytes).unwrap_err();
        assert!(refusal.starts_with(sentence), "{refusal}");
    }
    let cut = read(b"PK\x03\x04 and nothing more").unwrap_err();
    assert!(cut.contains("save it as XLSX, ODS or CSV"), "{cut}");
}

mod spreadsheets {
    use super::{Wishes, read, shown};
    use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook};
    use std::io::{Cursor, Write as _};

    fn saved(mut book: Workbook) -> Vec<u8> {
        book.save_to_buffer().unwrap()
    }

    #[test]
    fn cells_are_what_they_are() {
        let mut book = Workbook::new();
        let day = Format::new().set_num_format("dd/mm/yyyy");
        let sheet = book.add_worksheet();
        for (column, heading) in ["code", "date", "alpha (%)", "seen"].iter().enumerate() {
            sheet.write(2, column as u16, *heading).unwrap();
        }
        sheet.write(0, 0, "A season's harvest").unwrap();
        sheet.write(3, 0, "007").unwrap();
        let harvested = ExcelDateTime::from_ymd(2026, 9, 4).unwrap();
        sheet.write_with_format(3, 1, &harvested, &day).unwrap();
        sheet
            .write_formula(3, 2, Formula::new("=5.6*2").set_result("11.2"))
            .unwrap();
        sheet.write(3, 3, true).unwrap();
        sheet.write(5, 0, "A2").unwrap();
        sheet.write(5, 2, 9).unwrap();
        assert_eq!(
            shown(&saved(book), "tdnt", Wishes::default()).unwrap(),
            "code | date | alpha [%] | seen\n007 | 2026-09-04 | 11.2 | yes\nA2 | - | 9 | "
        );
    }

    #[test]
    fn merged_headings_reach_over_their_columns() {
        let mut book = Workbook::new();
        let sheet = book.add_worksheet();
        let centred = Format::new();
        sheet.merge_range(0, 1, 0, 2, "Acids", &centred).unwrap();
        sheet.merge_range(0, 3, 0, 4, "Oil", &centred).unwrap();
        for (column, heading) in ["code", "alpha", "beta", "total", "remark"]
            .iter()
            .enumerate()
        {
            sheet.write(1, column as u16, *heading).unwrap();
        }
        sheet.write(2, 0, "A1").unwrap();
        sheet.write(2, 1, 11.2).unwrap();
        sheet.write(2, 4, "late").unwrap();
        assert_eq!(
            shown(&saved(book), "tnnnt", Wishes::default()).unwrap(),
            "code | Acids alpha | Acids beta | Oil total | Oil remark\nA1 | 11.2 | - | - | late"
        );
    }

    #[test]
    fn hidden_sheets_wait_to_be_chosen() {
        let mut book = Workbook::new();
        let hidden = book.add_worksheet();
        hidden.set_name("raw").unwrap();
        hidden.write(0, 0, "code").unwrap();
        hidden.set_hidden(true);
        let shown_sheet = book.add_worksheet();
        shown_sheet.set_name("results").unwrap();
        shown_sheet.write(0, 0, "code").unwrap();
        shown_sheet.write(0, 1, "n").unwrap();
        shown_sheet.set_active(true);
        let read_back = read(&saved(book)).unwrap();
        assert_eq!(read_back.first().unwrap().name, "results");
        assert_eq!(
            read_back.notes,
            ["Hidden in the spreadsheet, and read only if you choose it: raw."]
        );
    }

    #[test]
    fn a_cell_in_the_last_corner_is_no_flood() {
        let mut book = Workbook::new();
        let sheet = book.add_worksheet();
        sheet.write(0, 0, "code").unwrap();
        sheet.write(1_048_575, 16_383, "x").unwrap();
        let refusal = read(&saved(book)).unwrap_err();
        assert_eq!(
            refusal,
            "The sheet Sheet1 reaches beyond 2000 columns. Delete what stands far to the right, and save it."
        );
    }

    /// A compound file after [MS-CFB] with one stream named as [MS-OFFCRYPTO] names an encrypted workbook.
    fn with_password() -> Vec<u8> {
        let mut file = vec![0_u8; 512];
        file[..8].copy_from_slice(&[0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1]);
        let mut put = |at: usize, bytes: &[u8]| file[at..at + bytes.len()].copy_from_slice(bytes);
        put(24, &0x3E_u16.to_le_bytes());
        put(26, &3_u16.to_le_bytes());
        put(28, &0xFFFE_u16.to_le_bytes());
        put(30, &9_u16.to_le_bytes());
        put(32, &6_u16.to_le_bytes());
        put(44, &1_u32.to_le_bytes());
        put(48, &1_u32.to_le_bytes());
        put(56, &4096_u32.to_le_bytes());
        put(60, &0xFFFF_FFFE_u32.to_le_bytes());
        put(68, &0xFFFF_FFFE_u32.to_le_bytes());
        put(76, &0_u32.to_le_bytes());
        for place in 1..109 {
            put(76 + place * 4, &0xFFFF_FFFF_u32.to_le_bytes());
        }
        let mut fat = vec![0xFF_u8; 512];
        fat[..4].copy_from_slice(&0xFFFF_FFFD_u32.to_le_bytes());
        fat[4..8].copy_from_slice(&0xFFFF_FFFE_u32.to_le_bytes());
        for sector in 2..10 {
            let next = if sector == 9 {
                0xFFFF_FFFE_u32
            } else {
                sector as u32 + 1
            };
            fat[sector * 4..sector * 4 + 4].copy_from_slice(&next.to_le_bytes());
        }
        let entry = |name: &str, kind: u8, start: u32, size: u64| {
            let mut entry = vec![0_u8; 128];
            let units: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
            entry[..units.len()].copy_from_slice(&units);
            entry[64..66].copy_from_slice(&(units.len() as u16 + 2).to_le_bytes());
            entry[66] = kind;
            entry[67] = 1;
            for sibling in [68, 72, 76] {
                entry[sibling..sibling + 4].copy_from_slice(&0xFFFF_FFFF_u32.to_le_bytes());
            }
            entry[116..120].copy_from_slice(&start.to_le_bytes());
            entry[120..128].copy_from_slice(&size.to_le_bytes());
            entry
        };
        let mut root = entry("Root Entry", 5, 0xFFFF_FFFE, 0);
        root[76..80].copy_from_slice(&1_u32.to_le_bytes());
        let mut directory = root;
        directory.extend(entry("EncryptedPackage", 2, 2, 4096));
        directory.resize(512, 0);
        file.extend(fat);
        file.extend(directory);
        file.extend(vec![7_u8; 4096]);
        file
    }

    #[test]
    fn a_password_is_said_to_be_one() {
        let refusal = read(&with_password()).unwrap_err();
        assert_eq!(
            refusal,
            "This spreadsheet is protected by a password. Open it, save it without the password, and choose it again."
        );
        let manifest = r#"<?xml version="1.0"?><manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"><manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"><manifest:encryption-data manifest:checksum="x"/></manifest:file-entry></manifest:manifest>"#;
        assert_eq!(read(&ods("", Some(manifest))).unwrap_err(), refusal);
    }

    /// An open document spreadsheet (OASIS ODF 1.3) with these rows.
    fn ods(rows: &str, manifest: Option<&str>) -> Vec<u8> {
        let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
        let stored = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Stored);
        let content = format!(
            r#"<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet><table:table table:name="results">{rows}</table:table></office:spreadsheet></office:body></office:document-content>"#
        );
        let manifest = manifest.unwrap_or(
            r#"<?xml version="1.0"?><manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>"#,
        );
        for (name, text) in [
            ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
            ("META-INF/manifest.xml", manifest),
            ("content.xml", &content),
        ] {
            archive.start_file(name, stored).unwrap();
            archive.write_all(text.as_bytes()).unwrap();
        }
        archive.finish().unwrap().into_inner()
    }

    #[test]
    fn an_open_document() {
        let text = |text: &str| {
            format!(
                r#"<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>"#
            )
        };
        let rows = format!(
            r#"<table:table-row>{}{}{}</table:table-row><table:table-row>{}<table:table-cell office:value-type="date" office:date-value="2026-09-04"><text:p>4.9.26</text:p></table:table-cell><table:table-cell table:formula="of:=[.B2]" office:value-type="float" office:value="11.2"><text:p>11,2</text:p></table:table-cell></table:table-row>"#,
            text("code"),
            text("date"),
            text("alpha"),
            text("A1"),
        );
        assert_eq!(
            shown(&ods(&rows, None), "tdn", Wishes::default()).unwrap(),
            "code | date | alpha\nA1 | 2026-09-04 | 11.2"
        );
    }
}

/// A row for each of a hundred thousand plants stays a small matter; `BINEWRIGHT_ROWS=1000000` tries a million.
#[test]
fn a_hundred_thousand_rows() {
    let rows: usize = std::env::var("BINEWRIGHT_ROWS")
        .ok()
        .and_then(|rows| rows.parse().ok())
        .unwrap_or(100_000);
    let mut text = String::from("code;date;alpha\n");
    for plant in 0..rows {
        let line = format!("P{plant:06};4.9.2026;{},{}\n", plant % 20, plant % 10);
        text.push_str(&line);
    }
    let book = read(text.as_bytes()).unwrap();
    let table = Table::of(book.first().unwrap().clone(), Wishes::default()).unwrap();
    assert_eq!(table.rows(), rows);
    assert_eq!(table.line(rows - 1), rows as u64 + 1);
    let sum: f64 = (0..table.rows())
        .map(|row| table.number(row, 2).unwrap().unwrap())
        .sum();
    // Of twenty rows the whole parts are 0 to 19, the tenths twice 0 to 9.
    let expected = (rows / 20) as f64 * (190.0 + 2.0 * 4.5);
    assert!((sum - expected).abs() < 1e-9 * expected, "{sum}");
}
