//! `binewright kinship` on a pedigree of a million plants, the whole process, beside a plain program that reads the same
//! file with a reader of its own and works out inbreeding by the loop of Meuwissen & Luo, family by family.
//! `cargo bench -p commands --bench kinship`; each is a process of its own, started by this one.

#[path = "../../quant/benches/kinship/meuwissen_luo.rs"]
mod meuwissen_luo;
#[path = "../../quant/benches/kinship/program.rs"]
#[expect(dead_code, reason = "other benches use the rest")]
mod program;

// Used by `program`, which stands in another crate's bench.
use fastrand as _;
use program::Program;
use std::collections::HashMap;
use std::error::Error;
use std::ffi::OsStr;
use std::io::{BufWriter, Write as _};
use std::path::Path;
use std::process::{Command, ExitCode};
use std::time::{Duration, Instant};
use std::{env, fs, io};

const PLANTS: usize = 1_000_000;

fn main() -> Result<ExitCode, Box<dyn Error>> {
    let arguments: Vec<_> = env::args_os().collect();
    let is = |place: usize, word: &str| arguments.get(place).is_some_and(|each| each == word);
    if is(1, "kinship") {
        let commands::Task::Script(script) = commands::parse(arguments)? else {
            return Err("no script".into());
        };
        let (mut out, mut err) = (io::stdout(), io::stderr());
        let code = commands::run(script, commands::today(), &mut out, &mut err);
        return Ok(code.into());
    }
    if let [_, word, file, out] = arguments.as_slice()
        && word == "plain"
    {
        plain(Path::new(file), Path::new(out))?;
    } else if (1..arguments.len()).any(|place| is(place, "--bench")) {
        // Without `--bench` (tests, listing) nothing is timed.
        compare()?;
    }
    Ok(ExitCode::SUCCESS)
}

fn compare() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let path = |name: &str| folder.path().join(name);
    let (file, plain, ours) = (path("pedigree.csv"), path("plain.csv"), path("ours.csv"));
    fs::write(&file, Program::families(PLANTS).csv())?;
    let (file, none) = (file.as_os_str(), OsStr::new("-"));
    let bare = fastest([OsStr::new("plain"), file, none])?;
    let written = fastest([OsStr::new("plain"), file, plain.as_os_str()])?;
    let out = OsStr::new("--out");
    let kinship = fastest([OsStr::new("kinship"), file, out, ours.as_os_str()])?;
    agree(&fs::read_to_string(&plain)?, &fs::read_to_string(&ours)?)?;
    let mut out = io::stdout().lock();
    let ratio = |other: Duration| kinship.as_secs_f64() / other.as_secs_f64();
    writeln!(out, "kinship of {PLANTS} plants     {kinship:>10.1?}")?;
    writeln!(
        out,
        "plain, nothing written     {bare:>10.1?}   {:.1}",
        ratio(bare)
    )?;
    writeln!(
        out,
        "plain, the same written    {written:>10.1?}   {:.1}",
        ratio(written)
    )?;
    Ok(())
}

/// The shortest of some runs: what else the machine does only ever adds to it.
fn fastest<const N: usize>(arguments: [&OsStr; N]) -> Result<Duration, Box<dyn Error>> {
    let mut shortest = Duration::MAX;
    for _ in 0..7 {
        let begin = Instant::now();
        let ended = Command::new(env::current_exe()?).args(arguments).status()?;
        shortest = shortest.min(begin.elapsed());
        if !ended.success() {
            return Err(format!("{arguments:?}: {ended}").into());
        }
    }
    Ok(shortest)
}

/// The same plants in the same order, and the same inbreeding but for rounding.
fn agree(plain: &str, ours: &str) -> Result<(), Box<dyn Error>> {
    let rows = |text: &str| -> Result<Vec<(String, f64)>, Box<dyn Error>> {
        let fields = text.lines().skip(1).map(|line| line.split_once(','));
        fields
            .map(|fields| {
                let (id, inbreeding) = fields.ok_or("no two fields")?;
                Ok((id.to_owned(), inbreeding.parse()?))
            })
            .collect()
    };
    let (plain, ours) = (rows(plain)?, rows(ours)?);
    let close = |((a, x), (b, y)): (&(String, f64), &(String, f64))| a == b && (x - y).abs() < 1e-9;
    if plain.len() != ours.len() || !plain.iter().zip(&ours).all(close) {
        return Err("the two don't agree".into());
    }
    Ok(())
}

/// A plain program to compare with: it splits at commas, checks nothing and expects parents before their offspring.
fn plain(file: &Path, out: &Path) -> Result<(), Box<dyn Error>> {
    let bytes = fs::read(file)?;
    let mut names: Vec<&[u8]> = Vec::new();
    let mut places: HashMap<&[u8], u32> = HashMap::new();
    let mut parents = Vec::new();
    for line in bytes.split(|byte| *byte == b'\n').skip(1) {
        let mut fields = line.split(|byte| *byte == b',');
        let (Some(id), Some(female), Some(male)) = (fields.next(), fields.next(), fields.next())
        else {
            continue;
        };
        let place = |name: &[u8]| places.get(name).copied();
        parents.push(place(female).zip(place(male)));
        places.insert(id, names.len() as u32);
        names.push(id);
    }
    let inbreeding = meuwissen_luo::inbreeding(&Program { parents }, true);
    if out == Path::new("-") {
        std::hint::black_box(inbreeding);
        return Ok(());
    }
    let mut out = BufWriter::new(fs::File::create(out)?);
    writeln!(out, "id,inbreeding")?;
    for (name, inbreeding) in names.iter().zip(inbreeding) {
        out.write_all(name)?;
        writeln!(out, ",{inbreeding}")?;
    }
    out.flush()?;
    Ok(())
}
