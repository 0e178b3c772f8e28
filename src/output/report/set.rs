//! A document set on the page.

use super::pictures::figure;
use super::{Attributes, Html};
use crate::document::{Block, Document, Item, Line, Medium, Table};
use crate::result::catalogue::OutputFile;

/// The blocks that a page shows, with the pictures of the folder.
pub fn set(document: &Document, files: &[OutputFile], html: &mut Html) {
    for one in document.shown(Medium::Page) {
        block(one, files, html);
    }
}

/// One block.
pub fn block(block: &Block, files: &[OutputFile], html: &mut Html) {
    match block {
        Block::Headline(line) => {
            html.line("p", &[("class", "verdict")], line);
        }
        Block::Heading(line) => {
            html.line("h3", &[], line);
        }
        Block::Text(line) => {
            html.line("p", &[], line);
        }
        Block::List(items) => {
            let has_heads = items.iter().any(|item| !item.head.is_empty());
            let class: Attributes<'_> = if has_heads {
                &[("class", "reasons")]
            } else {
                &[]
            };
            html.element("ul", class, |list| {
                for one in items {
                    item(one, list);
                }
            });
        }
        Block::Terms(terms) => {
            html.element("dl", &[], |list| {
                for (word, line) in terms.iter().filter(|(_, line)| !line.is_empty()) {
                    list.words("dt", &[], word).line("dd", &[], line);
                }
            });
        }
        Block::Table(one) => table(one, html),
        Block::Care(cautions) => {
            html.element("div", &[("class", "care")], |care| {
                care.words("strong", &[], "Take care:");
                match cautions.as_slice() {
                    [one] => {
                        care.line("p", &[], one);
                    }
                    more => lines(more, care),
                }
            });
        }
        Block::Picture { name, caption } => figure(files, name, caption, html),
    }
}

fn item(item: &Item, list: &mut Html) {
    if item.head.is_empty() && item.ways_out.is_empty() {
        list.line("li", &[], &item.line);
        return;
    }
    list.element("li", &[], |point| {
        if !item.head.is_empty() {
            point.words("strong", &[], item.head).text(" ");
        }
        point.runs(&item.line);
        if !item.ways_out.is_empty() {
            lines(&item.ways_out, point);
        }
    });
}

fn lines(points: &[Line], html: &mut Html) {
    html.element("ul", &[], |list| {
        for point in points {
            list.line("li", &[], point);
        }
    });
}

/// A table whose first column names the rows. A wide one scrolls within itself, by keyboard too.
pub fn table(table: &Table, html: &mut Html) {
    let set = table.set(Medium::Page);
    if set.rows.is_empty() {
        return;
    }
    let caption = table.caption.text();
    let scrolls = [
        ("class", "scroll"),
        ("role", "group"),
        ("tabindex", "0"),
        ("aria-label", caption.as_str()),
    ];
    let number = |is_number: bool| -> &[(&'static str, &str)] {
        if is_number { &[("class", "n")] } else { &[] }
    };
    html.element("div", &scrolls, |div| {
        div.element("table", &[], |page_table| {
            page_table.line("caption", &[], &table.caption);
            page_table.element("thead", &[], |thead| {
                thead.element("tr", &[], |tr| {
                    for head in &set.heads {
                        if head.words.is_empty() {
                            // A head without a word is none to somebody who listens.
                            tr.words("td", &[], "");
                            continue;
                        }
                        let attributes = [&[("scope", "col")], number(head.is_number)].concat();
                        tr.words("th", &attributes, &head.words);
                    }
                });
            });
            page_table.element("tbody", &[], |tbody| {
                for row in &set.rows {
                    tbody.element("tr", &[], |tr| {
                        for (column, (cell, head)) in row.iter().zip(&set.heads).enumerate() {
                            if column == 0 {
                                tr.element("th", &[("scope", "row")], |th| {
                                    th.runs(cell);
                                });
                            } else {
                                tr.element("td", number(head.is_number), |td| {
                                    td.runs(cell);
                                });
                            }
                        }
                    });
                }
            });
        });
    });
}
