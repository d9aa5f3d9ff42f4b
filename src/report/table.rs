//! A table and a figure as pieces of the page.

use askama::Template;

use super::format::quoted;
use chart::Figure;

/// A table with its caption. The first column names the row.
#[derive(Debug, Template)]
#[template(path = "table.html", config = "askama.toml")]
pub(super) struct Table {
    pub(super) caption: String,
    pub(super) head: Vec<Head>,
    pub(super) rows: Vec<Vec<String>>,
}

/// The head of a column.
#[derive(Debug)]
pub(super) struct Head {
    pub(super) text: String,
    /// Numbers stand to the right.
    pub(super) number: bool,
}

/// A cell of more characters than this is prose.
const LONG_CELL: usize = 60;

/// A column whose cells have no more characters than this, such as a day and a time, is not broken.
const SHORT_CELL: usize = 22;

impl Table {
    /// Heads that start with `#` are of columns of numbers.
    pub(super) fn new(caption: &str, head: &[&str], rows: Vec<Vec<String>>) -> Table {
        let head = head
            .iter()
            .map(|text| match text.strip_prefix('#') {
                Some(text) => Head {
                    text: text.to_owned(),
                    number: true,
                },
                None => Head {
                    text: (*text).to_owned(),
                    number: false,
                },
            })
            .collect();
        Table {
            caption: quoted(caption),
            head,
            rows,
        }
    }

    fn classes(&self) -> Vec<&'static str> {
        (0..self.head.len())
            .map(|column| self.class(column))
            .collect()
    }

    /// How the cells of a column stand: numbers, words or times that are not broken, whole sentences or long
    /// lists, which would stand tall in a narrow column.
    fn class(&self, column: usize) -> &'static str {
        let cells = self.rows.iter().filter_map(|row| row.get(column));
        let longest = cells.map(|cell| cell.chars().count()).max().unwrap_or(0);
        match longest {
            _ if self.is_number(column) => "n",
            longest if longest > LONG_CELL => "prose",
            longest if longest <= SHORT_CELL => "brief",
            _ => "words",
        }
    }

    fn is_number(&self, column: usize) -> bool {
        self.head.get(column).is_some_and(|head| head.number)
    }
}

/// A chart in the page, with its numbers folded away below it.
#[derive(Debug, Template)]
#[template(path = "figure.html", config = "askama.toml")]
pub(super) struct FigureView {
    pub(super) name: &'static str,
    pub(super) title: String,
    pub(super) drawing: String,
    pub(super) caption: String,
    pub(super) table: Table,
}

impl FigureView {
    pub(super) fn new(figure: &Figure) -> FigureView {
        let head = figure.table.head.iter().enumerate().map(|(column, text)| {
            let number = column > 0 && figure.table.rows.iter().all(|row| is_numeric(&row[column]));
            Head {
                text: text.clone(),
                number,
            }
        });
        FigureView {
            name: figure.name,
            title: figure.title.clone(),
            drawing: figure.inline(),
            caption: figure.caption.clone(),
            table: Table {
                caption: figure.title.clone(),
                head: head.collect(),
                rows: figure.table.rows.clone(),
            },
        }
    }
}

fn is_numeric(cell: &str) -> bool {
    let starts = |c: char| c.is_ascii_digit() || matches!(c, '−' | '—');
    cell == "not known" || cell.starts_with(starts)
}
