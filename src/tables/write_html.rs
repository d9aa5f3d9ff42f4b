//! A table as part of a page: it scrolls in its own box, marks its headings and rows, and escapes all text.

use std::fmt::Write as _;

use super::column::{Column, Output};
use super::plain::{quoted, sentence};
use super::table::Table;

/// A cell longer than this is laid out as prose. (characters)
const LONG_CELL: usize = 60;

/// A column with cells up to this length, such as a date and time, is not wrapped. (characters)
const SHORT_CELL: usize = 22;

/// A table with more rows may be split over printed pages.
const LONG_TABLE: usize = 14;

/// Text escaped for an element or an attribute.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

impl Table {
    /// As [`html`](Self::html), folded behind its title: what it shows is said before it.
    #[must_use]
    pub fn folded_html(&self) -> String {
        if self.rows.is_empty() {
            return String::new();
        }
        format!(
            "<details class=\"fold\"><summary>{}</summary>{}</details>",
            escaped(&self.title),
            self.html()
        )
    }

    /// For a page, with its notes; the first column names the row. Empty without rows.
    #[must_use]
    pub fn html(&self) -> String {
        if self.rows.is_empty() {
            return String::new();
        }
        let shown = self.shown(Output::Html);
        let classes: Vec<&str> = (0..shown.columns.len())
            .map(|place| class(shown.columns[place], place, &shown.rows))
            .collect();
        let title = escaped(&quoted(&self.title));
        let long = if shown.rows.len() > LONG_TABLE {
            " long"
        } else {
            ""
        };
        let mut out = format!(
            "<div class=\"scroll{long}\" role=\"group\" aria-label=\"{title}\" tabindex=\"0\">\n<table>\n\
             <caption>{title}</caption>\n<thead><tr>\n"
        );
        for (column, class) in shown.columns.iter().zip(&classes) {
            let head = escaped(&column.heading());
            let _ = writeln!(out, "<th scope=\"col\" class=\"{class}\">{head}</th>");
        }
        out.push_str("</tr></thead>\n<tbody>\n");
        for row in &shown.rows {
            out.push_str("<tr>\n");
            for (place, (cell, class)) in row.iter().zip(&classes).enumerate() {
                let cell = if shown.columns[place].has_sentences {
                    escaped(&quoted(cell))
                } else {
                    escaped(cell)
                };
                let _ = match (place, *class) {
                    (0, _) => writeln!(out, "<th scope=\"row\"><bdi>{cell}</bdi></th>"),
                    (_, "n") => writeln!(out, "<td class=\"n\">{cell}</td>"),
                    _ => writeln!(out, "<td class=\"{class}\"><bdi>{cell}</bdi></td>"),
                };
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</tbody>\n</table>\n</div>\n");
        let method = Some(&self.method).filter(|method| !method.is_empty());
        for said in method.into_iter().chain(&self.notes) {
            let said = escaped(&quoted(&sentence(said)));
            let _ = writeln!(out, "<p class=\"aside\"><bdi>{said}</bdi></p>");
        }
        out
    }
}

/// How the cells of a column are laid out: numbers; short words or times, which are not wrapped; sentences and long
/// lists, which need a wide column.
fn class(column: &Column, place: usize, rows: &[Vec<String>]) -> &'static str {
    let cells = rows.iter().map(|row| row[place].chars().count());
    match cells.max().unwrap_or(0) {
        _ if column.is_number() => "n",
        longest if longest > LONG_CELL => "prose",
        longest if longest <= SHORT_CELL => "brief",
        _ => "words",
    }
}

#[cfg(test)]
mod tests {
    use super::super::{number, words};
    use super::*;
    use units::FigureKind;

    #[test]
    fn names_in_sentences_are_in_quotation_marks() {
        let columns = vec![words("Machine"), words("Basis").sentences()];
        let rows = vec![vec!["`a` or `b`".into(), "log of meter `main`".into()]];
        let html = Table::new("t", "T", columns, rows).html();
        assert!(html.contains("<bdi>`a` or `b`</bdi>"));
        assert!(html.contains("<bdi>log of meter ‘main’</bdi>"));
    }

    #[test]
    fn text_of_the_user_is_no_markup() {
        let columns = vec![words("Machine"), number("Current", FigureKind::Current)];
        let rows = vec![vec!["<b>\"'&".into(), (-1.0).into()]];
        let html = Table::new("t", "`<i>`", columns, rows).html();
        assert!(html.contains("<th scope=\"row\"><bdi>&lt;b&gt;&quot;&#39;&amp;</bdi></th>"));
        assert!(html.contains("<td class=\"n\">−1.0</td>"));
        assert!(html.contains("<caption>‘&lt;i&gt;’</caption>"));
        assert!(html.contains("<th scope=\"col\" class=\"n\">Current [A]</th>"));
    }
}
