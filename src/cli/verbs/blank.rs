//! `coldstep blank`: what to cut, and where to bend it.

use crate::blank::{Blank as FlatBlank, blank};
use crate::cli::flags::output::Output;
use crate::cli::flags::output::{said, write};
use crate::cli::flags::printing::HowPrinted;
use crate::cli::io::read;
use crate::cli::{Answer, Failure, Run, json};
use crate::document;
use crate::output::folder::blank_files;
use clap::Args;
use serde_json::Value;
use std::path::PathBuf;

/// Flags of `blank`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep blank plate.toml\n  \
    Cut 40.46 x 32.00 mm from 1 mm copper, soft.\n  \
    ...\n\n\
    With --out DIR it writes template.pdf, blank.svg and blank.dxf, all at true size, and plate.step, the\n\
    formed plate. Print the template at 100 % and measure its rulers; if they are not 100 mm, say what they\n\
    are: --printer-scale 99.4x100.2"
)]
pub struct Blank {
    /// Part file.
    part: PathBuf,
    #[command(flatten)]
    printed: HowPrinted,
    #[command(flatten)]
    output: Output,
}

impl Run for Blank {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, mut warnings, source) = read::part(&self.part)?;
        let noted = blank(&part);
        warnings.extend(noted.notes);
        let blank = noted.value;
        let written = write(
            &self.output,
            blank_files(&part, &blank, &self.printed.printing()),
        )?;
        let mut fields = fields(&blank);
        fields.push(("files", json::value(&written)));
        Ok(Answer {
            text: said(
                &document::blank::blank(&part, &blank),
                &written,
                "template.pdf, blank.svg, blank.dxf and plate.step",
            ),
            part: Some(part.name.clone()),
            fields,
            good: true,
            warnings,
            source: Some(source),
        })
    }
}

/// JSON fields of the blank, in the order of the type.
pub(super) fn fields(blank: &FlatBlank) -> Vec<(&'static str, Value)> {
    let Value::Object(mut map) = json::value(blank) else {
        return Vec::new();
    };
    [
        "developed_length_mm",
        "width_mm",
        "rectangle_mm",
        "area_mm2",
        "mass_g",
        "k_rule",
        "other_rules",
        "spread_mm",
        "bends",
        "stretches",
        "outline_mm",
        "holes",
    ]
    .into_iter()
    .filter_map(|key| map.remove(key).map(|value| (key, value)))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A field that is added to the type must be added to the document.
    #[test]
    fn the_document_has_every_field_of_the_blank() {
        let part = crate::part::parse(crate::part::starter::STARTER)
            .unwrap()
            .value;
        let blank = blank(&part).value;
        let Value::Object(map) = json::value(&blank) else {
            panic!("a blank is an object")
        };
        assert_eq!(fields(&blank).len(), map.len());
    }
}
