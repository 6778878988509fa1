//! Files that a person chose to be read: tables, photos, loggers' files. What would hold the reader for ever, or never end,
//! is refused at once, with a sentence.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

/// Opens a file to be read.
///
/// # Errors
/// A sentence that says why it can't be read. Folders and devices are refused, and a pipe or a socket that stands in a
/// folder and would wait for its other end; a shell's own pipes, such as of `<(…)`, are not.
pub fn open_input(path: &Path) -> Result<File, String> {
    let refused = |what: &str| {
        let path = path.display();
        Err(format!("{path} is {what}, and not a file. Choose a file."))
    };
    if is_named_pipe(path) {
        return refused("a pipe or a socket");
    }
    if path.is_dir() {
        return refused("a folder");
    }
    let file =
        File::open(path).map_err(|error| format!("{} can't be read: {error}.", path.display()))?;
    if is_device(&file) {
        return refused("a device");
    }
    Ok(file)
}

/// All bytes of a file, if they are no more than `most`.
///
/// # Errors
/// A sentence: see [`open_input`]; or that there are more.
pub fn read_input(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    open_input(path)?
        .take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| format!("{} can't be read: {error}.", path.display()))?;
    if bytes.len() as u64 > most {
        return Err(format!(
            "{} has more than the {most} bytes that are read. Choose another file.",
            path.display()
        ));
    }
    Ok(bytes)
}

#[cfg(unix)]
fn is_named_pipe(path: &Path) -> bool {
    use std::os::unix::fs::FileTypeExt as _;
    let of_the_shell = path.starts_with("/dev") || path.starts_with("/proc");
    let kind = std::fs::metadata(path).map(|metadata| metadata.file_type());
    !of_the_shell && kind.is_ok_and(|kind| kind.is_fifo() || kind.is_socket())
}

#[cfg(not(unix))]
fn is_named_pipe(_: &Path) -> bool {
    false
}

/// Whether it is a device at which nobody types.
#[cfg(unix)]
fn is_device(file: &File) -> bool {
    use std::io::IsTerminal as _;
    use std::os::unix::fs::FileTypeExt as _;
    let kind = file.metadata().map(|metadata| metadata.file_type());
    let device = kind.is_ok_and(|kind| kind.is_char_device() || kind.is_block_device());
    device && !file.is_terminal()
}

#[cfg(not(unix))]
fn is_device(_: &File) -> bool {
    false
}
