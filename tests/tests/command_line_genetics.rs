//! `binewright kinship` and `binewright evaluate`, run as a script runs them.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use chrono::NaiveDate;
use commands::Task;
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// What a run gave.
struct Ran {
    code: u8,
    out: String,
    err: String,
}

impl Ran {
    /// Two columns of a table: the first row is the header.
    fn numbers(&self, header: &str, key: &[usize], value: usize) -> BTreeMap<String, f64> {
        assert_eq!(self.code, 0, "{}", self.err);
        numbers(&self.out, header, key, value)
    }
}

fn numbers(text: &str, header: &str, key: &[usize], value: usize) -> BTreeMap<String, f64> {
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some(header));
    lines
        .map(|line| {
            let fields: Vec<&str> = line.split(',').collect();
            let key: Vec<&str> = key.iter().map(|&column| fields[column]).collect();
            (key.join(" "), fields[value].parse().unwrap())
        })
        .collect()
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn write(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        fs::write(self.path(name), text).unwrap();
        self.path(name)
    }

    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.0.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    /// Runs a command line; words that name files of the folder stand for their paths.
    fn run(&self, line: &str) -> Ran {
        let words = line.split(' ').map(|word| {
            if Path::new(word)
                .extension()
                .is_some_and(|ending| ending == "csv" || ending == "binewright")
            {
                self.path(word).into_os_string()
            } else {
                OsString::from(word)
            }
        });
        let task = commands::parse([OsString::from("binewright")].into_iter().chain(words));
        let Ok(Task::Script(script)) = task else {
            panic!("{line}: {task:?}");
        };
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let day = NaiveDate::from_ymd_opt(2026, 2, 15).unwrap();
        let code = commands::run(script, day, &mut out, &mut err);
        Ran {
            code,
            out: String::from_utf8(out).unwrap(),
            err: String::from_utf8(err).unwrap(),
        }
    }
}

fn close(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{found} is not {expected}"
    );
}

/// Mrode (2014) *Linear Models for the Prediction of Animal Breeding Values*, 3rd ed., Section 2.2: the pedigree;
/// relationships recomputed. Coancestry is half the additive relationship.
#[test]
fn inbreeding_and_pairs_of_mrode_section_2_2() {
    let folder = Folder::new();
    folder.write(
        "p.csv",
        "id,male,female\n6,5,2\n5,4,3\n4,1,\n3,1,2\n1,,\n2,,\n",
    );
    let found = folder
        .run("kinship p.csv")
        .numbers("id,inbreeding", &[0], 1);
    for (id, inbreeding) in [
        ("1", 0.0),
        ("2", 0.0),
        ("3", 0.0),
        ("4", 0.0),
        ("5", 0.125),
        ("6", 0.125),
    ] {
        assert_eq!(found[id], inbreeding, "{id}");
    }
    folder.write("pairs.csv", "a,b\n5,6\n6,5\n3,5\n5,5\n1,2\n2,6\n");
    let ran = folder.run("kinship p.csv --pairs pairs.csv");
    let found = ran.numbers("a,b,coancestry", &[0, 1], 2);
    let relationships = [
        ("5 6", 0.6875),
        ("6 5", 0.6875),
        ("3 5", 0.625),
        ("5 5", 1.125),
        ("1 2", 0.0),
        ("2 6", 0.625),
    ];
    for (pair, relationship) in relationships {
        close(found[pair], relationship / 2.0, 1e-12);
    }
    let order: Vec<&str> = ran.out.lines().skip(1).map(|line| &line[..3]).collect();
    assert_eq!(order, ["5,6", "6,5", "3,5", "5,5", "1,2", "2,6"]);
}

/// Worked by hand from the recursion of Kerr et al. (2012), Theor. Appl. Genet. 124:1271-1282, and Hamilton & Kerr
/// (2018), Theor. Appl. Genet. 131:851-860. The contribution of two thirds by the tetraploid parent of a triploid: De
/// Noma (1994), MS thesis, Oregon State University.
#[test]
fn mixed_ploidy() {
    let folder = Folder::new();
    folder.write(
        "p.csv",
        "id,female,male,ploidy,origin\n\
         A,,,,\nB,,,,\nG,,,,\nA4,A,,4,doubled\nT,A4,B,3,cross\nV,A4,,4,variant\n\
         H1,A,G,,\nH2,G,B,,\nH4,H1,,4,doubled\nTH,H4,H2,3,\n\
         Q,,,4,\nR,,,4,\nS1,Q,Q,4,\nS2,S1,S1,4,\nS3,S2,S2,4,\nX,Q,R,4,\nY,Q,R,4,\nXY,X,Y,4,\nQX,Q,X,4,\n",
    );
    let found = folder
        .run("kinship p.csv")
        .numbers("id,inbreeding", &[0], 1);
    let expected = [
        ("A4", 1.0 / 3.0),
        ("T", 1.0 / 9.0),
        ("V", 1.0 / 3.0),
        ("TH", 7.0 / 36.0),
        ("S1", 1.0 / 6.0),
        ("S2", 0.305556),
        ("S3", 0.421296),
        ("XY", 1.0 / 12.0),
        ("QX", 1.0 / 12.0),
    ];
    for (id, inbreeding) in expected {
        close(found[id], inbreeding, 1e-6);
    }
    folder.write("pairs.csv", "a,b\nA,A4\nA4,A4\nT,A4\nT,B\nT,T\nV,A\n");
    let found = folder
        .run("kinship p.csv --pairs pairs.csv")
        .numbers("a,b,coancestry", &[0, 1], 2);
    let expected = [
        ("A A4", 0.5),
        ("A4 A4", 0.5),
        ("T A4", 1.0 / 3.0),
        ("T B", 1.0 / 6.0),
        ("T T", 0.407407),
        ("V A", 0.5),
    ];
    for (pair, coancestry) in expected {
        close(found[pair], coancestry, 1e-6);
    }
    let ran = folder.run("kinship p.csv --double-reduction 0.16666666666666666");
    close(ran.numbers("id,inbreeding", &[0], 1)["S1"], 0.222222, 1e-6);
    let ran = folder.run("kinship p.csv --double-reduction 1.5");
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("double reduction is 1.5"), "{}", ran.err);
}

/// Mrode (2014), Example 3.1, pp. 37-42: data from the book; solutions from memory and recomputed.
const GAIN_PEDIGREE: &str = "id,female,male\n1,,\n2,,\n3,,\n4,,1\n5,2,3\n6,2,1\n7,5,4\n8,6,3\n";
const GAIN: &str = "id,sex,WWG\n4,M,4.5\n5,F,2.9\n6,F,3.9\n7,M,3.5\n8,M,5.0\n";

#[test]
fn breeding_values_of_mrode_example_3_1() {
    let folder = Folder::new();
    folder.write("p.csv", GAIN_PEDIGREE);
    folder.write("r.csv", GAIN);
    let ran =
        folder.run("evaluate p.csv r.csv --trait WWG --fixed sex --additive 20 --residual 40");
    let values = ran.numbers("id,breeding_value,accuracy", &[0], 1);
    let accuracies = ran.numbers("id,breeding_value,accuracy", &[0], 2);
    let expected = [
        (0.098445, 0.240440),
        (-0.018770, 0.125732),
        (-0.041084, 0.295097),
        (-0.008663, 0.380315),
        (-0.185732, 0.379192),
        (0.176872, 0.339756),
        (-0.249459, 0.341010),
        (0.182615, 0.394045),
    ];
    for (id, (value, accuracy)) in (1..).zip(expected) {
        close(values[&id.to_string()], value, 1e-6);
        close(accuracies[&id.to_string()], accuracy, 1e-5);
    }
    assert_eq!(ran.err, "");
}

/// Mrode (2014), Example 4.1, pp. 62-64: breeding values as printed on p. 64.
#[test]
fn repeated_records_of_mrode_example_4_1() {
    let folder = Folder::new();
    folder.write(
        "p.csv",
        "id;female;male\r\n4;2;1\r\n5;2;3\r\n6;5;1\r\n7;4;3\r\n8;7;1\r\n",
    );
    folder.write(
        "r.csv",
        "\u{feff}id,parity,HYS,fat\n4,1,1,201\n4,2,3,280\n5,1,1,150\n5,2,4,200\n6,1,2,160\n6,2,3,190\n7,1,1,180\n7,2,3,250\n8,1,2,285\n8,2,4,300\n",
    );
    let line = "evaluate p.csv r.csv --trait fat --fixed parity,HYS --additive 20 --permanent 12 --residual 28";
    let ran = folder.run(line);
    let values = ran.numbers("id,breeding_value,accuracy", &[0], 1);
    let printed = [
        10.148, -3.084, -7.063, 13.581, -18.207, -18.387, 9.328, 24.194,
    ];
    for (id, value) in (1..).zip(printed) {
        close(values[&id.to_string()], value, 1e-3);
    }
    assert!(
        ran.err.contains("added as diploid founders: 2, 1, 3."),
        "{}",
        ran.err
    );
    // The clonal effect of plants that stand once is one more effect of the plant: shared out as if permanent.
    let halves = "evaluate p.csv r.csv --trait fat --fixed parity,HYS --additive 20 --permanent 5 --clonal 7 --residual 28";
    let again = folder
        .run(halves)
        .numbers("id,breeding_value,accuracy", &[0], 1);
    for (id, value) in &values {
        close(again[id], *value, 1e-9);
    }
}

/// A family of clones in two plots each, simulated by hand: what is asked for is that variances are printed, and where.
#[test]
fn variances_are_estimated_and_printed_or_the_reason_is() {
    let folder = Folder::new();
    let mut pedigree = String::from("id,female,male\n");
    let mut records = String::from("id,year,alpha\n");
    // SplitMix64, Steele, Lea & Flood 2014: noise that is the same each time.
    let mut state = 20_260_215_u64;
    let mut noise = || {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) as f64 / u64::MAX as f64 - 0.5
    };
    for family in 0..30 {
        let parents = 2.0 * noise();
        for plant in 0..8 {
            writeln!(pedigree, "{family}-{plant},F{family},M{}", family % 6).unwrap();
            // More between sibs than their parents' difference explains: there is something permanent to find.
            let own = 3.0 * noise();
            for year in [2024, 2025] {
                let value = 8.0 + parents + own + 2.0 * noise();
                writeln!(records, "{family}-{plant},{year},{value}").unwrap();
            }
        }
    }
    folder.write("p.csv", pedigree);
    folder.write("r.csv", &records);
    let ran = folder.run("evaluate p.csv r.csv --trait alpha --fixed year --out out.csv");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let variances = numbers(&ran.out, "component,variance,standard_error", &[0], 1);
    let errors = numbers(&ran.out, "component,variance,standard_error", &[0], 2);
    let found: Vec<&str> = variances.keys().map(String::as_str).collect();
    assert_eq!(found, ["additive", "heritability", "permanent", "residual"]);
    assert!(
        variances
            .values()
            .chain(errors.values())
            .all(|&value| value > 0.0)
    );
    let table = fs::read_to_string(folder.path("out.csv")).unwrap();
    let values = numbers(&table, "id,breeding_value,accuracy", &[0], 1);
    assert_eq!(values.len(), 240 + 36);
    // Given the estimates, the same values come out.
    let given = format!(
        "evaluate p.csv r.csv --trait alpha --fixed year --additive {} --permanent {} --residual {}",
        variances["additive"], variances["permanent"], variances["residual"]
    );
    let again = folder
        .run(&given)
        .numbers("id,breeding_value,accuracy", &[0], 1);
    for (id, value) in &values {
        close(again[id], *value, 1e-9);
    }
    // Without a file for the table, the variances don't get into it.
    let ran = folder.run("evaluate p.csv r.csv --trait alpha --fixed year");
    assert_eq!(ran.out, table);
    assert!(
        ran.err
            .contains("component,variance,standard_error\nadditive,")
    );

    // One plant, one record: nothing to estimate from.
    folder.write("few.csv", "id,year,alpha\n0-0,2024,8.1\n");
    let ran = folder.run("evaluate p.csv few.csv --trait alpha --out none.csv");
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("has 1 records for 1 fixed effects"),
        "{}",
        ran.err
    );
    assert!(!folder.path("none.csv").exists());
}

#[test]
fn bad_rows_are_named_and_nothing_is_written() {
    let folder = Folder::new();
    folder.write("good.csv", "id,female,male\nA,,\nB,A,\n");
    folder.write("bad.csv", "id,female,male,ploidy\nA,,,\n\nA,,,two\nB,A\n");
    folder.write("loop.csv", "id,female,male\nA,C,\nB,A,\nC,X,B\n");
    folder.write("own.csv", "id,female,male\nA,,\nB,A,B\n");
    folder.write("dose.csv", "id,female,male,ploidy\nA,,,\nB,,,\nC,A,B,5\n");
    folder.write(
        "ambiguous.csv",
        "id,female,male,ploidy\nA,,,\nB,,,\nC,A,B,3\n",
    );
    folder.write(
        "copy.csv",
        "id,female,male,ploidy,origin\nA,,,,\nB,A,,3,doubled\n",
    );
    folder.write("pairs.csv", "a,b\nA,B\nA,Z\n,B\n");
    folder.write(
        "records.csv",
        "id,year,alpha\nA,2024,5\nZ,2024,5\nB,,5\nB,2024,five\n",
    );
    folder.write("empty.csv", "");
    folder.write("old.csv", "kept");
    let before = folder.names();
    let refused = |line: &str, told: &[&str]| {
        let ran = folder.run(&format!("{line} --out old.csv"));
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{line}: {}", ran.err);
        for told in told {
            assert!(ran.err.contains(told), "{line}: {}", ran.err);
        }
        assert_eq!(fs::read_to_string(folder.path("old.csv")).unwrap(), "kept");
    };
    refused(
        "kinship bad.csv",
        &[
            "bad.csv, line 4, column ploidy: 'two' is no ploidy.",
            "bad.csv, line 5: The row has 2 fields, the header 4.",
            "binewright: 2 faults in",
        ],
    );
    refused(
        "kinship loop.csv",
        &[
            "loop.csv, line ",
            "A (line 2)",
            "B (line 3)",
            "C (line 4)",
            "their own ancestors",
        ],
    );
    refused(
        "kinship own.csv",
        &["own.csv, line 3, column male: B is its own parent."],
    );
    refused(
        "kinship dose.csv",
        &["dose.csv, line 4, column ploidy: C is 5x, but no gametes"],
    );
    refused(
        "kinship ambiguous.csv",
        &["ambiguous.csv, line 4, column ploidy: C is 3x, but gametes"],
    );
    refused(
        "kinship copy.csv",
        &["copy.csv, line 3, column ploidy: B is 3x, but made from its source it should be 4x."],
    );
    refused("kinship empty.csv", &["empty.csv: The file is empty."]);
    refused("kinship missing.csv", &["missing.csv can't be read"]);
    refused(
        "kinship good.csv --pairs pairs.csv",
        &[
            "pairs.csv, line 3, column b: Z is not in the pedigree.",
            "pairs.csv, line 4, column a: Both plants",
        ],
    );
    refused(
        "evaluate good.csv records.csv --trait alpha --fixed year",
        &[
            "records.csv, line 3, column id: Z is not in the pedigree.",
            "records.csv, line 4, column year: This is empty",
            "records.csv, line 5, column alpha: 'five' is no number.",
        ],
    );
    refused(
        "evaluate good.csv records.csv --trait beta",
        &["records.csv, line 1, column beta: There is no such column; there are: id, year, alpha."],
    );
    refused(
        "evaluate good.csv pairs.csv --trait b --additive 1 --residual 2",
        &["pairs.csv, line 1, column id"],
    );
    folder.write("r.csv", "id,alpha\nA,5\nB,6\n");
    refused(
        "evaluate good.csv r.csv --trait alpha --additive -1 --residual 2",
        &["--additive -1 is no variance"],
    );
    assert_eq!(folder.names().len(), before.len() + 1);
}

#[test]
fn variances_are_given_together_or_not_at_all() {
    for line in [
        "--additive 1",
        "--residual 1",
        "--permanent 1",
        "--clonal 1 --residual 2",
    ] {
        let words = format!("binewright evaluate p.csv r.csv --trait x {line}");
        let parsed = commands::parse(words.split(' ').map(OsString::from));
        assert!(parsed.is_err(), "{line}");
    }
}

#[test]
fn the_example_pedigree_and_the_sample_project() {
    let folder = Folder::new();
    let example = fs::read(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../examples/pedigree.csv"
    ))
    .unwrap();
    let plants = String::from_utf8_lossy(&example).lines().count() - 1;
    folder.write("example.csv", example);
    let ran = folder.run("kinship example.csv --out out.csv");
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "", ""));
    let text = fs::read_to_string(folder.path("out.csv")).unwrap();
    let found = numbers(&text, "id,inbreeding", &[0], 1);
    assert_eq!(found.len(), plants);
    // A doubled diploid that is not inbred: 1/3, Kerr et al. (2012).
    close(found["BRW-4x"], 1.0 / 3.0, 1e-12);

    let ran = folder.run("sample p.binewright");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let found = folder
        .run("kinship p.binewright")
        .numbers("id,inbreeding", &[0], 1);
    close(found["BRW-4x"], 1.0 / 3.0, 1e-12);
    assert!(found.values().all(|value| (0.0..=1.0).contains(value)));
    folder.write("pairs.csv", "a,b\nTAN,TAN-E\nbrw,BRW-4x\n");
    let found = folder
        .run("kinship p.binewright --pairs pairs.csv")
        .numbers("a,b,coancestry", &[0, 1], 2);
    assert_eq!(found["TAN TAN-E"], 0.5);
    assert_eq!(found["BRW BRW-4x"], 0.5);
}

/// To the byte: the table alone on standard output, what is to be known on standard error.
#[test]
fn a_table_lands_on_standard_output_and_faults_do_not() {
    let folder = Folder::new();
    folder.write("p.csv", "id,female,male\nC,A,B\nD,A,B\nE,C,D\n");
    let ran = folder.run("kinship p.csv");
    assert_eq!(ran.out, "id,inbreeding\nC,0\nD,0\nE,0.25\nA,0\nB,0\n");
    assert!(
        ran.err.ends_with("added as diploid founders: A, B.\n"),
        "{}",
        ran.err
    );
}
