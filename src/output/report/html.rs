//! A page as text: well-formed as XML too, everything from outside escaped, every value marked with its place in
//! `result.json`.

use crate::draw::svg::escaped;
use std::fmt::{Display, Write as _};

/// Letters of a page. Markup comes from the program alone; text and values are escaped.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Html(String);

/// One cell of a table, or any other short run of words and values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    html: Html,
    number: bool,
}

impl Html {
    /// Markup that the program knows. Whatever stands in a part file goes through [`Self::text`] or [`Self::value`].
    pub fn markup(&mut self, markup: &str) -> &mut Self {
        self.0.push_str(markup);
        self
    }

    /// Words.
    pub fn text(&mut self, text: &str) -> &mut Self {
        self.0.push_str(&escaped(text));
        self
    }

    /// A value or a sentence that stands in `result.json` at a pointer (RFC 6901).
    pub fn value(&mut self, pointer: &str, shown: &str) -> &mut Self {
        self.marked("span", pointer, shown)
    }

    /// An element with a value or a sentence of `result.json`.
    pub fn marked(&mut self, tag: &str, pointer: &str, shown: &str) -> &mut Self {
        let (pointer, shown) = (escaped(pointer), escaped(shown));
        let _ = write!(self.0, "<{tag} data-json=\"{pointer}\">{shown}</{tag}>");
        self
    }

    /// A paragraph that is one sentence of `result.json`; none where it is empty.
    pub fn sentence(&mut self, pointer: &str, words: &str) -> &mut Self {
        if words.is_empty() {
            return self;
        }
        self.marked("p", pointer, words).markup("\n")
    }

    /// A paragraph of fixed words.
    pub fn paragraph(&mut self, words: &str) -> &mut Self {
        self.markup("<p>").text(words).markup("</p>\n")
    }

    /// A paragraph of words and values.
    pub fn line(&mut self, runs: &[Run]) -> &mut Self {
        self.markup("<p>");
        for run in runs {
            self.run(run);
        }
        self.markup("</p>\n")
    }

    /// Words and values.
    pub fn run(&mut self, run: &Run) -> &mut Self {
        self.0.push_str(&run.html.0);
        self
    }

    /// A part of a page inside another.
    pub fn join(&mut self, other: &Self) -> &mut Self {
        self.0.push_str(&other.0);
        self
    }

    /// A heading below that of the section.
    pub fn heading(&mut self, words: &str) -> &mut Self {
        self.markup("<h3>").text(words).markup("</h3>\n")
    }

    /// A list of sentences of `result.json`: the list's pointer, then its entries.
    pub fn sentences<T: AsRef<str>>(&mut self, pointer: &str, list: &[T]) -> &mut Self {
        if list.is_empty() {
            return self;
        }
        self.markup("<ul>\n");
        for (number, words) in list.iter().enumerate() {
            self.marked("li", &format!("{pointer}/{number}"), words.as_ref())
                .markup("\n");
        }
        self.markup("</ul>\n")
    }

    /// A table whose first column names the rows. A wide one scrolls within itself, by keyboard too.
    pub fn table(&mut self, caption: &str, heads: &[&str], rows: &[Vec<Run>]) -> &mut Self {
        if rows.is_empty() {
            return self;
        }
        self.markup("<div class=\"scroll\" role=\"group\" tabindex=\"0\" aria-label=\"")
            .text(caption)
            .markup("\">\n<table>\n<caption>")
            .text(caption)
            .markup("</caption>\n<thead><tr>");
        for (column, head) in heads.iter().enumerate() {
            let number = rows
                .iter()
                .any(|row| row.get(column).is_some_and(|cell| cell.number));
            self.markup(if number {
                "<th scope=\"col\" class=\"n\">"
            } else {
                "<th scope=\"col\">"
            })
            .text(head)
            .markup("</th>");
        }
        self.markup("</tr></thead>\n<tbody>\n");
        for row in rows {
            self.markup("<tr>");
            for (column, cell) in row.iter().enumerate() {
                let (open, close) = match (column, cell.number) {
                    (0, _) => ("<th scope=\"row\">", "</th>"),
                    (_, true) => ("<td class=\"n\">", "</td>"),
                    (_, false) => ("<td>", "</td>"),
                };
                self.markup(open).run(cell).markup(close);
            }
            self.markup("</tr>\n");
        }
        self.markup("</tbody>\n</table>\n</div>\n")
    }

    /// The letters.
    pub fn into_text(self) -> String {
        self.0
    }

    /// Whether nothing stands in it.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl Run {
    /// Words.
    pub fn words(text: &str) -> Self {
        let mut html = Html::default();
        html.text(text);
        Self {
            html,
            number: false,
        }
    }

    /// A word, a name or a sentence of `result.json`.
    pub fn said(pointer: impl Display, text: &str) -> Self {
        let mut html = Html::default();
        html.value(&pointer.to_string(), text);
        Self {
            html,
            number: false,
        }
    }

    /// A number of `result.json` as it is shown; what is not a finite number has no place there and is told as a word.
    pub fn number(pointer: impl Display, number: f64, shown: &str) -> Self {
        let mut html = Html::default();
        if number.is_finite() {
            html.value(&pointer.to_string(), shown);
        } else {
            html.text("not known");
        }
        Self { html, number: true }
    }

    /// A number with so many decimals.
    pub fn rounded(pointer: impl Display, number: f64, decimals: usize) -> Self {
        let text = format!("{number:.decimals$}");
        // A nought that came from below has no sign.
        let shown = match text.strip_prefix('-') {
            Some(rest) if !rest.bytes().any(|byte| (b'1'..=b'9').contains(&byte)) => rest,
            _ => &text,
        };
        Self::number(pointer, number, shown)
    }

    /// The same, or a dash where there is none.
    pub fn rounded_or_dash(pointer: impl Display, number: Option<f64>, decimals: usize) -> Self {
        number.map_or_else(
            || Self::words("-").as_number(),
            |number| Self::rounded(pointer, number, decimals),
        )
    }

    /// Several one after the other.
    pub fn of(runs: &[Self]) -> Self {
        let mut html = Html::default();
        for run in runs {
            html.run(run);
        }
        Self {
            html,
            number: runs.iter().any(|run| run.number),
        }
    }

    /// Set to the right, as numbers are.
    #[must_use]
    pub fn as_number(mut self) -> Self {
        self.number = true;
        self
    }

    /// Set to the left, as words are.
    #[must_use]
    pub fn as_words(mut self) -> Self {
        self.number = false;
        self
    }
}

impl From<Html> for Run {
    fn from(html: Html) -> Self {
        Self {
            html,
            number: false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_from_outside_never_becomes_markup() {
        let mut html = Html::default();
        html.text("<b>&\"'").value("/a\"b", "</span><script>");
        html.table("\"><i>", &["<u>"], &[vec![Run::said("/x", "<s>")]]);
        let text = html.into_text();
        for tag in ["<b>", "<script>", "<i>", "<u>", "<s>"] {
            assert!(!text.contains(tag), "{tag} in {text}");
        }
        let page = format!("<main>{text}</main>");
        let document = roxmltree::Document::parse(&page).unwrap();
        let marked = document
            .descendants()
            .find(|node| node.attribute("data-json") == Some("/a\"b"));
        assert_eq!(marked.unwrap().text(), Some("</span><script>"));
    }

    #[test]
    fn numbers_lose_the_sign_of_nought_and_what_is_no_number_is_told() {
        let shown = |number: f64| Run::rounded("/n", number, 2).html.into_text();
        assert_eq!(shown(-0.001), "<span data-json=\"/n\">0.00</span>");
        assert_eq!(shown(-0.5), "<span data-json=\"/n\">-0.50</span>");
        assert_eq!(shown(f64::NAN), "not known");
    }
}
