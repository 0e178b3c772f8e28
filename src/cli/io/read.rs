//! Reads a part file that may be anything: a folder, a device, a film, a text in another encoding, a pipe without end.

use super::source::{STANDARD_INPUT, Source, is_standard, shown};
use super::terminal;
use crate::cli::answer::{Failure, Trouble};
use crate::diagnostic::{Diagnostic, Noted};
use crate::forming::pressing::Searcher;
use crate::part::{self, Part};
use crate::propose;
use std::fs::{self, File};
use std::io::{self, ErrorKind, IsTerminal, Read};
use std::path::Path;

/// Longest part file, bytes: far beyond the largest part that is taken.
pub const LONGEST: u64 = 1024 * 1024;

/// Reads and checks a part file: what every verb on a part begins with.
///
/// # Errors
/// File trouble, or the findings that refuse the part, with ways out that were tried.
pub fn part(path: &Path) -> Result<(Part, Vec<Diagnostic>, Source), Failure> {
    part_or(path, None)
}

/// The same; the ways out of a refused part are pressed by this search before they are told.
///
/// # Errors
/// As [`part`], and when the search was stopped.
pub fn part_or(
    path: &Path,
    search: Option<&mut Searcher<'_>>,
) -> Result<(Part, Vec<Diagnostic>, Source), Failure> {
    let source = source(path)?;
    match part::parse(&source.text) {
        Ok(Noted { value, notes }) => Ok((value, notes, source)),
        Err(findings) => {
            let findings = propose::tried(&source.text, findings, search)
                .map_err(|stopped| Trouble::new(stopped.to_string()))?;
            Err(Failure::Refused {
                source: Box::new(source),
                findings: findings.0,
            })
        }
    }
}

/// Reads the text of a part file.
///
/// # Errors
/// When it is no regular file, cannot be read, is empty, too long, or not plain UTF-8 text.
fn source(path: &Path) -> Result<Source, Trouble> {
    let (file, bytes) = if is_standard(path) {
        (STANDARD_INPUT.to_owned(), standard_input())
    } else {
        let file = shown(path);
        let bytes = bytes(path, &file);
        (file, bytes)
    };
    let bytes = bytes.map_err(|trouble| trouble.file(file.clone()))?;
    text(bytes, &file)
        .map(|text| Source::new(file.clone(), text))
        .map_err(|trouble| trouble.file(file))
}

/// What comes in on standard input; one byte more than may come is read, however much there is.
fn standard_input() -> Result<Vec<u8>, Trouble> {
    let input = io::stdin();
    if input.is_terminal() {
        terminal::note("reading the part file from the keyboard until its end is typed");
    }
    let mut bytes = Vec::new();
    match input.lock().take(LONGEST + 1).read_to_end(&mut bytes) {
        Ok(_) if bytes.len() as u64 > LONGEST => Err(too_long(STANDARD_INPUT, "more than 1 MiB")),
        Ok(_) => Ok(bytes),
        Err(error) => Err(Trouble::new(format!(
            "{STANDARD_INPUT} cannot be read: {}",
            error.kind()
        ))
        .help("pipe a part file in, or name one instead of `-`")),
    }
}

fn bytes(path: &Path, file: &str) -> Result<Vec<u8>, Trouble> {
    let unreadable = |error: &io::Error| match error.kind() {
        ErrorKind::NotFound => missing(path, file),
        ErrorKind::PermissionDenied => Trouble::new(format!("{file} may not be read by you"))
            .help("give yourself the right to read it, or copy it into a folder of yours"),
        _ => Trouble::new(format!("{file} cannot be read: {error}"))
            .help("look at the name and at the disk it is on"),
    };
    // Asked before opening: opening a pipe waits for somebody to write into it.
    let about = fs::metadata(path).map_err(|error| unreadable(&error))?;
    if about.is_dir() {
        return Err(Trouble::new(format!("{file} is a folder, not a part file"))
            .help("name the part file inside it, for example plate.toml"));
    }
    if !about.is_file() {
        return Err(
            Trouble::new(format!("{file} is a device or a pipe, not a part file"))
                .help("save the part as a file and name that file, or pipe it in and write `-`"),
        );
    }
    if about.len() > LONGEST {
        return Err(too_long(file, &size(about.len())));
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|opened| opened.take(LONGEST + 1).read_to_end(&mut bytes))
        .map_err(|error| unreadable(&error))?;
    if bytes.len() as u64 > LONGEST {
        return Err(too_long(file, "more than 1 MiB"));
    }
    Ok(bytes)
}

fn missing(path: &Path, file: &str) -> Trouble {
    let trouble = Trouble::new(format!("there is no file {file}"));
    let with_ending = path.with_extension("toml");
    if path.extension().is_none() && with_ending.is_file() {
        return trouble.help(format!("did you mean {}?", shown(&with_ending)));
    }
    trouble.help(format!(
        "`coldstep new {file}` writes one for you to start from"
    ))
}

fn too_long(file: &str, size: &str) -> Trouble {
    Trouble::new(format!(
        "{file} is {size} long, a part file is at most {}",
        self::size(LONGEST)
    ))
    .help("make sure that it is the part file and not something else")
}

/// A length in bytes for people.
fn size(bytes: u64) -> String {
    const KIB: f64 = 1024.0;
    let bytes = bytes as f64;
    let (number, unit) = if bytes < KIB * KIB {
        (bytes / KIB, "KiB")
    } else if bytes < KIB * KIB * KIB {
        (bytes / KIB / KIB, "MiB")
    } else {
        (bytes / KIB / KIB / KIB, "GiB")
    };
    let digits = usize::from(number.fract() > 0.05);
    format!("{number:.digits$} {unit}")
}

fn text(mut bytes: Vec<u8>, file: &str) -> Result<String, Trouble> {
    const SAVE_AS: &str = "open it in a text editor and save it as UTF-8";
    if bytes.is_empty() {
        return Err(
            Trouble::new(format!("{file} is empty")).help(if file == STANDARD_INPUT {
                "`coldstep new plate.toml` writes a part file for you to start from".to_owned()
            } else {
                format!("`coldstep new {file} --force` writes a part into it for you to start from")
            }),
        );
    }
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Err(
            Trouble::new(format!("{file} is written in UTF-16, not in UTF-8"))
                .place((1, 1))
                .help(SAVE_AS),
        );
    }
    if bytes.starts_with(&[0xEF, 0xBB, 0xBF]) {
        bytes.drain(..3);
    }
    let (good, bad) = match String::from_utf8(bytes) {
        Ok(text) => (text, None),
        Err(error) => {
            let end = error.utf8_error().valid_up_to();
            let bytes = error.into_bytes();
            let good = bytes.get(..end).unwrap_or(&[]);
            (
                String::from_utf8_lossy(good).into_owned(),
                bytes.get(end).copied(),
            )
        }
    };
    // A NUL before the first bad byte says more about what the file is.
    if let Some(at) = good.find('\0') {
        let (line, column) = Source::new(file, good).place(at);
        return Err(Trouble::new(format!(
            "{file} is not a text file: it holds a zero byte in line {line}, column {column}"
        ))
        .place((line, column))
        .help("make sure that it is the part file and not a drawing or a program")
        .help(format!("or {SAVE_AS}")));
    }
    let Some(bad) = bad else { return Ok(good) };
    let end = good.len();
    let (line, column) = Source::new(file, good).place(end);
    Err(Trouble::new(format!(
        "{file} is not UTF-8 text: byte 0x{bad:02X} in line {line}, column {column}"
    ))
    .place((line, column))
    .help(SAVE_AS)
    .help("or retype the sign there, often an umlaut, a degree sign or a plus-minus sign"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_order_mark_does_not_shift_places() {
        let bytes = [&[0xEF, 0xBB, 0xBF], "name".as_bytes()].concat();
        assert_eq!(text(bytes, "f"), Ok("name".to_owned()));
    }

    #[test]
    fn other_encodings_are_named_with_their_place() {
        let utf16: Vec<u8> = std::iter::once(0xFEFF)
            .chain("a = 1".encode_utf16())
            .flat_map(u16::to_le_bytes)
            .collect();
        assert!(text(utf16, "f").unwrap_err().message.contains("UTF-16"));
        let latin1 = b"# ok\nnote = \"5 \xB0C\"".to_vec();
        let trouble = text(latin1, "f").unwrap_err();
        assert_eq!(trouble.place, Some((2, 11)));
        assert!(trouble.message.contains("0xB0"), "{}", trouble.message);
        let nul = b"a\nb\0c\xFF".to_vec();
        assert_eq!(text(nul, "f").unwrap_err().place, Some((2, 2)));
    }

    #[test]
    fn sizes_are_short() {
        assert_eq!(size(LONGEST), "1 MiB");
        assert_eq!(size(LONGEST * 100), "100 MiB");
        assert_eq!(size(LONGEST + LONGEST / 2), "1.5 MiB");
    }
}
