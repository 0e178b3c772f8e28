//! Where a verb writes its files: flags, and the writing.

use crate::cli::io::files::{self, NewFile};
use crate::cli::io::terminal;
use crate::cli::{Failure, Trouble};
use crate::document::{Document, Media};
use crate::output::folder::FolderError;
use crate::result::catalogue::OutputFile;
use clap::Args;
use std::path::PathBuf;

/// Flags of a verb that writes files when it is told where.
#[derive(Debug, Args)]
pub struct Output {
    /// Write the files into this folder; it is made if it is missing.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Replace files in it even if coldstep did not write them.
    #[arg(long)]
    pub force: bool,
}

impl Output {
    /// Which files may be replaced.
    pub fn replace(&self) -> files::Replace {
        if self.force {
            files::Replace::Any
        } else {
            files::Replace::Ours
        }
    }
}

/// Writes files where the user said, if they said; returns their paths.
///
/// # Errors
/// When a file cannot be made or written.
pub fn write(
    output: &Output,
    files: Result<Vec<OutputFile>, FolderError>,
) -> Result<Vec<String>, Failure> {
    let Some(out) = &output.out else {
        return Ok(Vec::new());
    };
    let files = new_files(files)?;
    Ok(files::write(out, &files, output.replace())?)
}

/// Files for the folder; a file that cannot be made is a fault of coldstep.
///
/// # Errors
/// When a file could not be made.
pub fn new_files(files: Result<Vec<OutputFile>, FolderError>) -> Result<Vec<NewFile>, Failure> {
    let files = files.map_err(|error| {
        Trouble::new(error.to_string())
            .help("this is a fault of coldstep: please report it with the part file")
    })?;
    Ok(files
        .into_iter()
        .map(|file| NewFile {
            name: file.name.to_owned(),
            bytes: file.bytes,
        })
        .collect())
}

/// Files that were written, for the document: absent where none were.
pub fn listed(written: &[String]) -> Option<Vec<String>> {
    (!written.is_empty()).then(|| written.to_vec())
}

/// A document for people, and what was written, or how to have it written. Paths are not broken into lines.
pub fn said(document: &Document, written: &[String], names: &str) -> String {
    let files = if written.is_empty() {
        let words = format!(
            "Nothing is written. With --out DIR: {names}. Everything at once: coldstep make."
        );
        let mut document = Document::default();
        document.text(Media::ALL, words);
        terminal::document(&document)
    } else {
        format!("Written: {}\n", written.join(", "))
    };
    format!("{}\n{files}", terminal::document(document))
}
