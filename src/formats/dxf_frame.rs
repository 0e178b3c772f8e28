//! What surrounds the entities of an exchange file and the writing crate leaves out or leaves to chance.
//!
//! Strict readers want a handle on every table, a block for model and paper space, and a root
//! dictionary. And the crate writes the clock and random identifiers into every header; here they
//! become constants, so that the same entities give the same bytes.

use dxf::{Drawing, DxfResult};
use std::fmt::Write as _;

/// Header variables that hold the clock or a random number, and what stands there instead.
///
/// Dates are days of the Julian calendar; 2451545 is noon of 1 January 2000. The timer switch is
/// replaced too: a file that counts the time it lies open would change by being looked at.
pub(super) const CLOCKED: [(&str, &str); 9] = [
    ("$TDCREATE", "2451545.0"),
    ("$TDUCREATE", "2451545.0"),
    ("$TDUPDATE", "2451545.0"),
    ("$TDUUPDATE", "2451545.0"),
    ("$TDINDWG", "0.0"),
    ("$TDUSRTIMER", "0.0"),
    ("$USRTIMER", "0"),
    ("$FINGERPRINTGUID", "{00000000-0000-0000-0000-000000000000}"),
    ("$VERSIONGUID", "{00000000-0000-0000-0000-000000000000}"),
];

/// Handles set aside for tables, blocks and dictionaries: twice as many as are needed.
const SET_ASIDE: u64 = 32;

/// Hands out handles one by one.
struct Handles(u64);

impl Handles {
    fn next(&mut self) -> String {
        let handle = format!("{:X}", self.0);
        self.0 += 1;
        handle
    }
}

/// Code and value: the file is a row of such pairs, each on two lines.
type Pair = (String, String);

fn pair(code: u16, value: &str) -> Pair {
    (code.to_string(), value.to_owned())
}

/// Writes the file with its frame completed, beginning with `remark` as a comment.
pub(super) fn framed(mut file: Drawing, remark: &str) -> DxfResult<String> {
    let mut handles = Handles(file.header.next_available_handle.0);
    file.header.next_available_handle.0 += SET_ASIDE;
    let mut bytes = Vec::new();
    file.save(&mut bytes)?;
    // The crate writes this version in plain ASCII.
    let text = String::from_utf8_lossy(&bytes);

    let mut pairs = vec![pair(999, remark)];
    let mut before = pair(0, "");
    let mut clocked = None;
    let mut lines = text.lines();
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        let code = code.trim();
        let value = clocked.take().unwrap_or(value);
        if code == "9" {
            let found = CLOCKED.iter().find(|(name, _)| *name == value);
            clocked = found.map(|(_, constant)| *constant);
        }
        let names = |what: &str| code == "2" && before.0 == "0" && before.1 == what;
        let (names_table, names_section) = (names("TABLE"), names("SECTION"));
        if names_section && value == "ENTITIES" {
            // The pair that opens the section is already written: it opens this one instead.
            pairs.extend(blocks(&file, &mut handles));
            pairs.push(pair(0, "SECTION"));
        }
        before = (code.to_owned(), value.to_owned());
        pairs.push(before.clone());
        if names_table {
            pairs.push(pair(5, &handles.next()));
        }
        if names_section && value == "OBJECTS" {
            pairs.extend(dictionaries(&mut handles));
        }
    }
    let mut out = String::with_capacity(text.len() + 2048);
    for (code, value) in pairs {
        let _ = write!(out, "{code:>3}\r\n{value}\r\n");
    }
    Ok(out)
}

/// The blocks that stand for the drawing itself and for its sheets: empty, but asked for.
fn blocks(file: &Drawing, handles: &mut Handles) -> Vec<Pair> {
    let mut pairs = vec![pair(2, "BLOCKS")];
    for record in file.block_records() {
        let owner = record.handle.as_string();
        let on_sheet = record.name.eq_ignore_ascii_case("*PAPER_SPACE");
        let mut head = |kind: &str| {
            let mut head = vec![
                pair(0, kind),
                pair(5, &handles.next()),
                pair(330, &owner),
                pair(100, "AcDbEntity"),
            ];
            head.extend(on_sheet.then(|| pair(67, "1")));
            head.push(pair(8, "0"));
            head
        };
        pairs.extend(head("BLOCK"));
        pairs.extend([
            pair(100, "AcDbBlockBegin"),
            pair(2, &record.name),
            pair(70, "0"),
            pair(10, "0.0"),
            pair(20, "0.0"),
            pair(30, "0.0"),
            pair(3, &record.name),
            pair(1, ""),
        ]);
        pairs.extend(head("ENDBLK"));
        pairs.push(pair(100, "AcDbBlockEnd"));
    }
    pairs.push(pair(0, "ENDSEC"));
    pairs
}

/// The root dictionary with the one entry that every file has, an empty list of groups.
fn dictionaries(handles: &mut Handles) -> Vec<Pair> {
    let (root, groups) = (handles.next(), handles.next());
    vec![
        pair(0, "DICTIONARY"),
        pair(5, &root),
        pair(330, "0"),
        pair(100, "AcDbDictionary"),
        pair(281, "1"),
        pair(3, "ACAD_GROUP"),
        pair(350, &groups),
        pair(0, "DICTIONARY"),
        pair(5, &groups),
        pair(330, &root),
        pair(100, "AcDbDictionary"),
        pair(281, "1"),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use dxf::enums::AcadVersion;
    use std::collections::BTreeSet;

    fn empty() -> Vec<(String, String)> {
        let mut file = Drawing::new();
        file.header.version = AcadVersion::R2000;
        let text = framed(file, "a remark").unwrap();
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        assert_eq!(lines.len() % 2, 0);
        lines
            .chunks(2)
            .map(|pair| (pair[0].to_owned(), pair[1].to_owned()))
            .collect()
    }

    #[test]
    fn every_handle_is_given_once_and_lies_below_the_next_free_one() {
        let pairs = empty();
        let seed = pairs
            .iter()
            .position(|(_, value)| value == "$HANDSEED")
            .unwrap()
            + 1;
        let next = u64::from_str_radix(&pairs[seed].1, 16).unwrap();
        let mut seen = BTreeSet::new();
        for (_, handle) in pairs[seed + 1..].iter().filter(|(code, _)| code == "5") {
            let handle = u64::from_str_radix(handle, 16).unwrap();
            assert!(handle > 0 && handle < next);
            assert!(seen.insert(handle), "{handle:X} twice");
        }
        // Seven tables, two blocks with their ends, two dictionaries.
        assert!(seen.len() > 7 + 4 + 2);
    }

    #[test]
    fn sections_come_in_the_order_that_readers_expect() {
        let pairs = empty();
        let sections: Vec<&str> = pairs
            .windows(2)
            .filter(|pair| pair[0] == ("0".into(), "SECTION".into()))
            .map(|pair| pair[1].1.as_str())
            .collect();
        assert_eq!(
            sections,
            ["HEADER", "TABLES", "BLOCKS", "ENTITIES", "OBJECTS"]
        );
        let opened = pairs.iter().filter(|pair| pair.1 == "SECTION").count();
        let closed = pairs.iter().filter(|pair| pair.1 == "ENDSEC").count();
        assert_eq!(opened, closed);
        assert_eq!(pairs[0], ("999".into(), "a remark".into()));
    }

    #[test]
    fn blocks_belong_to_their_records() {
        let pairs = empty();
        for name in ["*MODEL_SPACE", "*PAPER_SPACE"] {
            let named = |section: &str| {
                let from = pairs.iter().position(|pair| pair.1 == section).unwrap();
                let name = ("2".to_owned(), name.to_owned());
                from + pairs[from..].iter().position(|pair| *pair == name).unwrap()
            };
            let before = |place: usize, code: &str| {
                let found = pairs[..place].iter().rev().find(|pair| pair.0 == code);
                found.unwrap().1.clone()
            };
            assert_eq!(
                before(named("BLOCKS"), "330"),
                before(named("BLOCK_RECORD"), "5")
            );
        }
    }
}
