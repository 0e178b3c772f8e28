//! Changes written into an existing part file: its comments and its order stay.

use super::Design;
use super::read::{nearest, read};
use super::value::{Key, Shape, Table, Value};
use super::written::toml;
pub use crate::change::Edit;
use crate::diagnostic::{Diagnostic, Refused, Severity};
use toml_edit::{DocumentMut, Item, TableLike};

/// Writes changes into a part file; everything else keeps its bytes.
///
/// A number given for a length that carries a tolerance keeps the tolerance: give a [`crate::quantity::Toleranced`] to
/// change both.
/// A table that is not there yet is added at the end, and so is a hole with the number after the last one.
///
/// ```
/// use coldstep::part::edit::{Edit, set};
///
/// let file = "[[flat]]\nname = \"a\"\nto_mm = 9.0\n\n[[flat]]\nname = \"b\"\nto_mm = 21.5   # to the screw\n";
/// let edited = set(file, &[Edit::new("flat", 1, "to_mm", 21.05)]).map_err(|found| format!("{found:?}"))?;
/// assert_eq!(edited, file.replace("21.5 ", "21.05 "));
/// # Ok::<(), String>(())
/// ```
///
/// # Errors
/// All findings, when the file is no TOML, when a table or key is unknown or not there, or when the result, read again, has an
/// error in it that was not there before: a value out of its range, a wrong word. What only makes sense together is not
/// looked at: that is for [`super::parse`].
pub fn set(source: &str, changes: &[Edit]) -> Result<String, Refused> {
    let before = errors(source);
    let plain = source.strip_prefix('\u{feff}').unwrap_or(source);
    let Ok(mut document) = plain.parse::<DocumentMut>() else {
        return Err(before.into());
    };
    let findings: Vec<Diagnostic> = changes
        .iter()
        .filter_map(|change| write(&mut document, change).err())
        .map(|finding| *finding)
        .collect();
    if !findings.is_empty() {
        return Err(findings.into());
    }
    let edited = ends_as(source, &document.to_string());
    let mut known: Vec<String> = before.into_iter().map(|found| found.message).collect();
    let mut new = errors(&edited);
    new.retain(|found| {
        let place = known.iter().position(|message| *message == found.message);
        place.map(|place| known.swap_remove(place)).is_none()
    });
    if new.is_empty() {
        Ok(edited)
    } else {
        // Their places are in a text that nobody has.
        Err(new.into_iter().map(Diagnostic::without_place).collect())
    }
}

/// So many lines of a change are told; a change of more is better written by [`set`].
const MOST_TOLD: usize = 6;

/// The lines of a changed part file as a person types them, with the table that each belongs to:
/// `[[flat]] "b": to_mm = 21.05`.
pub fn lines(edited: &str, changes: &[Edit]) -> String {
    let plain = edited.strip_prefix('\u{feff}').unwrap_or(edited);
    let Ok(document) = plain.parse::<DocumentMut>() else {
        return String::new();
    };
    let mut told: Vec<((&str, usize), Vec<String>)> = Vec::new();
    let mut left = MOST_TOLD;
    let mut more = 0;
    for change in changes {
        let place = (change.table.as_str(), change.number);
        let line = line(&document, change);
        match told.iter_mut().find(|(there, _)| *there == place) {
            Some((_, lines)) if lines.contains(&line) => continue,
            _ if left == 0 => more += 1,
            Some((_, lines)) => lines.push(line),
            None => told.push((place, vec![line])),
        }
        left = left.saturating_sub(1);
    }
    let mut text: Vec<String> = told
        .into_iter()
        .map(|((table, number), lines)| {
            format!("{}: {}", header(&document, table, number), lines.join(", "))
        })
        .collect();
    if more > 0 {
        text.push(format!("and {more} lines more"));
    }
    text.join("; ")
}

/// Keys of one of the tables of a name.
fn keys<'d>(document: &'d DocumentMut, table: &str, number: usize) -> Option<&'d dyn TableLike> {
    match document.get(table)? {
        Item::ArrayOfTables(list) => list.get(number).map(|table| table as &dyn TableLike),
        item => match item.as_array() {
            Some(list) => (list.get(number)?.as_inline_table()).map(|table| table as _),
            None => item.as_table_like(),
        },
    }
}

/// A table as a person finds it: `[[flat]] "chokes"`.
fn header(document: &DocumentMut, table: &str, number: usize) -> String {
    let known = Design::TABLES.iter().find(|known| known.name == table);
    let title = known.map_or_else(|| format!("[{}]", shown(table)), Table::title);
    if known.is_none_or(|known| known.most.is_none()) {
        return title;
    }
    let name = keys(document, table, number)
        .and_then(|keys| keys.get("name"))
        .and_then(Item::as_str);
    match name {
        Some(name) => format!("{title} \"{}\"", shown(name)),
        None => format!("{title} number {}", number + 1),
    }
}

/// `to_mm = 21.05`, or that the key goes.
fn line(document: &DocumentMut, change: &Edit) -> String {
    let key = change.key.split('.').next().unwrap_or_default();
    let item = keys(document, &change.table, change.number).and_then(|keys| keys.get(key));
    let value = item.and_then(|item| item.clone().into_value().ok());
    match value {
        None => format!("no {}", shown(key)),
        Some(value) => {
            let text = value.decorated("", "").to_string();
            // What a file says goes to a terminal.
            let text: String = (text.chars())
                .map(|c| if c.is_control() { ' ' } else { c })
                .collect();
            format!("{} = {text}", shown(key))
        }
    }
}

/// The text with the byte order mark and the line ends of another: toml_edit ends every line in one way.
fn ends_as(source: &str, text: &str) -> String {
    let mut text = text.replace("\r\n", "\n");
    if !source.ends_with('\n') && text.ends_with('\n') {
        text.pop();
    }
    if source.contains("\r\n") {
        text = text.replace('\n', "\r\n");
    }
    if source.starts_with('\u{feff}') {
        text.insert(0, '\u{feff}');
    }
    text
}

fn errors(source: &str) -> Vec<Diagnostic> {
    let mut findings = read(source).findings();
    findings.retain(|found| found.severity == Severity::Error);
    findings
}

fn write(document: &mut DocumentMut, change: &Edit) -> Result<(), Box<Diagnostic>> {
    let table = known_table(change)?;
    let key = known_key(table, change)?;
    if matches!(key.shape, Shape::Table(_)) && change.value.is_some() {
        return Err(refused(
            format!("{} is a table with keys of its own", title(change)),
            format!("change one of them: `{}.…`", key.name),
        )
        .into());
    }
    if change.value.is_none() && document.get(table.name).is_none() {
        return Ok(());
    }
    let place = place(document, table, change)?;
    let Some((outer, inner)) = change.key.split_once('.') else {
        return put(place, key, change);
    };
    if change.value.is_none() && !place.contains_key(outer) {
        return Ok(());
    }
    let inside = place
        .entry(outer)
        .or_insert_with(|| toml_edit::value(toml_edit::InlineTable::new()));
    match inside.as_table_like_mut() {
        Some(table) => {
            let is_new = !table.contains_key(key.name);
            put(table, key, change)?;
            // Its spaces stood where the last key was.
            if let Some(table) = inside.as_inline_table_mut().filter(|_| is_new) {
                table.fmt();
            }
            Ok(())
        }
        None => Err(refused(
            format!("`{outer}` is no table"),
            format!("write {outer} = {{ {inner} = … }}"),
        )
        .into()),
    }
}

fn put(place: &mut dyn TableLike, key: &Key, change: &Edit) -> Result<(), Box<Diagnostic>> {
    let Some(value) = &change.value else {
        remove(place, key.name);
        return Ok(());
    };
    let Some(item) = place.get_mut(key.name) else {
        place.insert(key.name, Item::Value(toml(value)));
        return Ok(());
    };
    // The number alone: its tolerance stays.
    let number = match value {
        Value::Number(_) => item
            .as_table_like_mut()
            .and_then(|table| table.get_mut("value")),
        _ => None,
    };
    let target = match number {
        Some(number) => number,
        None => item,
    };
    let Some(old) = target.as_value_mut() else {
        return Err(refused(
            format!("{} stands under a header of its own", title(change)),
            format!("write {} = {}", key.name, toml(value)),
        )
        .into());
    };
    let decor = old.decor().clone();
    *old = toml(value);
    *old.decor_mut() = decor;
    Ok(())
}

/// Takes a key away; comments above it stay with what follows.
fn remove(place: &mut dyn TableLike, name: &str) {
    let above = place
        .key(name)
        .and_then(|key| key.leaf_decor().prefix())
        .and_then(|prefix| prefix.as_str())
        .map(str::to_owned);
    let next = {
        let mut keys = place.iter().map(|(key, _)| key.to_owned());
        keys.find(|key| key == name);
        keys.next()
    };
    place.remove(name);
    if let (Some(above), Some(next)) = (above.filter(|above| !above.is_empty()), next)
        && let Some(mut key) = place.key_mut(&next)
    {
        let own = key.leaf_decor().prefix().and_then(|own| own.as_str());
        let both = format!("{above}{}", own.unwrap_or(""));
        key.leaf_decor_mut().set_prefix(both);
    }
}

/// The table that a change is about; made if it may be.
fn place<'d>(
    document: &'d mut DocumentMut,
    table: &Table,
    change: &Edit,
) -> Result<&'d mut dyn TableLike, Box<Diagnostic>> {
    let wrong = || {
        Box::new(refused(
            format!("`{}` is not what it should be", table.name),
            format!("write {} on a line of its own", table.title()),
        ))
    };
    let count = match document.get(table.name) {
        None => 0,
        Some(Item::ArrayOfTables(list)) => list.len(),
        Some(item) => item.as_array().map_or(1, toml_edit::Array::len),
    };
    let one_only = table.most.is_none();
    // Holes may be added: their order says nothing.
    if table.name == "hole" && change.number == count && change.value.is_some() {
        let list = document
            .entry(table.name)
            .or_insert_with(|| Item::ArrayOfTables(toml_edit::ArrayOfTables::new()));
        if let Some(list) = list.as_array_of_tables_mut() {
            list.push(toml_edit::Table::new());
        }
    } else if count == 0 && one_only && change.number == 0 {
        document.insert(table.name, Item::Table(toml_edit::Table::new()));
    } else if change.number >= count {
        let title = table.title();
        let message = match count {
            0 => format!("the part file has no {title}"),
            count => format!(
                "the part file has {count} {title}, and none of number {} counted from 0",
                change.number
            ),
        };
        let help = format!("add {title} with its keys first");
        return Err(refused(message, help).into());
    }
    match document.get_mut(table.name) {
        Some(Item::ArrayOfTables(list)) => list
            .get_mut(change.number)
            .map(|table| table as &mut dyn TableLike)
            .ok_or_else(wrong),
        Some(item) if one_only => item.as_table_like_mut().ok_or_else(wrong),
        Some(item) => item
            .as_array_mut()
            .and_then(|list| list.get_mut(change.number))
            .and_then(toml_edit::Value::as_inline_table_mut)
            .map(|table| table as &mut dyn TableLike)
            .ok_or_else(wrong),
        None => Err(wrong()),
    }
}

/// The key as a finding names it.
fn title(change: &Edit) -> String {
    format!("`{}` of `{}`", shown(&change.key), shown(&change.table))
}

fn known_table(change: &Edit) -> Result<&'static Table, Box<Diagnostic>> {
    let tables = Design::TABLES.iter();
    let names: Vec<&str> = tables.clone().map(|table| table.name).collect();
    tables
        .clone()
        .find(|table| table.name == change.table)
        .ok_or_else(|| {
            let table = shown(&change.table);
            let message = format!("a part file has no table `{table}`");
            unknown(message, &change.table, &names).into()
        })
}

fn known_key(table: &'static Table, change: &Edit) -> Result<&'static Key, Box<Diagnostic>> {
    table.key(&change.key).ok_or_else(|| {
        let names: Vec<String> = table.paths().collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let message = format!("{} has no key `{}`", table.title(), shown(&change.key));
        unknown(message, &change.key, &names).into()
    })
}

fn refused(message: String, help: String) -> Diagnostic {
    Diagnostic::error(message).id("part-change").help(help)
}

fn unknown(message: String, written: &str, known: &[&str]) -> Diagnostic {
    let finding = Diagnostic::error(message).id("part-unknown-key");
    let finding = match nearest(written, known) {
        Some(near) => finding.help(format!("did you mean `{near}`?")),
        None => finding,
    };
    finding.help(format!("known here: {}", known.join(", ")))
}

fn shown(text: &str) -> String {
    super::read::printable(text)
}
