//! A chart with its title, description, caption and table of values.

use std::fmt::Write as _;

use super::pen::{ChartError, Pen, draw};
use super::style::{DETAIL, Width};
use super::svg_style::{Target, escape, shapes};
use tables::{Cell, Column, Table};

/// A chart, drawn wide and narrow, with its title, description, caption and numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Kebab-case name; also the file's.
    pub name: &'static str,
    /// The quantity shown, with its unit.
    pub title: String,
    /// Description for a reader who cannot see the chart.
    pub description: String,
    /// How to read the chart.
    pub caption: String,
    /// The values, in a table of readable length; the first column names the row.
    pub table: Table,
    heights: [i32; 2],
    drawn: [String; 2],
}

impl Figure {
    /// Draws the figure in both widths; `height` and `paint` know the width.
    pub(super) fn new(
        name: &'static str,
        title: String,
        description: String,
        height: impl Fn(Width) -> i32,
        paint: impl Fn(&Pen) -> Result<(), ChartError>,
    ) -> Result<Figure, ChartError> {
        let heights = Width::BOTH.map(height);
        let [wide, narrow] = [0, 1].map(|one| draw(Width::BOTH[one], heights[one], &paint));
        Ok(Figure {
            name,
            title,
            description,
            caption: String::new(),
            table: Table::default(),
            heights,
            drawn: [wide?, narrow?],
        })
    }

    /// With the caption below the chart.
    #[must_use]
    pub fn with_caption(mut self, caption: String) -> Figure {
        self.caption = caption;
        self
    }

    /// With a table of values.
    #[must_use]
    pub fn with_table(mut self, columns: Vec<Column>, rows: Vec<Vec<Cell>>) -> Figure {
        self.table = Table::new(self.name, self.title.clone(), columns, rows);
        self
    }

    /// With the table of a result as its table of values.
    #[must_use]
    pub fn with_numbers(mut self, table: Table) -> Figure {
        self.table = Table {
            title: self.title.clone(),
            ..table
        };
        self
    }

    /// Name of the file for the standalone drawing.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.svg", self.name)
    }

    /// The wide drawing as a file of its own, in the colours of light paper.
    #[must_use]
    pub fn file(&self) -> String {
        let (width, height) = (Width::Wide.px(), self.heights[0]);
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
             width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-labelledby=\"title desc\" font-family=\"system-ui, 'Segoe UI', 'Liberation Sans', \
             sans-serif\">\n<title id=\"title\">{}</title>\n<desc id=\"desc\">{}</desc>\n\
             <rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\n{}</svg>\n",
            width * DETAIL,
            height * DETAIL,
            escape(&self.title),
            escape(&self.description),
            super::style::hex(super::style::Ink::Paper.light()),
            shapes(&self.drawn[0], Target::File),
        )
    }

    /// Both drawings for the page; its style sheet shows the one that fits.
    #[must_use]
    pub fn inline(&self) -> String {
        let mut out = String::new();
        for (one, width) in Width::BOTH.into_iter().enumerate() {
            let id = format!("{}-{}", self.name, width.name());
            write!(
                out,
                "<svg class=\"drawing {}\" viewBox=\"0 0 {} {}\" role=\"img\" \
                 aria-labelledby=\"{id}-t {id}-d\">\n<title id=\"{id}-t\">{}</title>\n\
                 <desc id=\"{id}-d\">{}</desc>\n{}</svg>\n",
                width.name(),
                width.px() * DETAIL,
                self.heights[one] * DETAIL,
                escape(&self.title),
                escape(&self.description),
                shapes(&self.drawn[one], Target::Page),
            )
            .expect("a String takes any text");
        }
        out
    }
}

/// The cells of a figure's table as a page shows them.
#[cfg(test)]
pub(super) fn shown(figure: &Figure) -> Vec<Vec<String>> {
    figure.table.shown(tables::Output::Html).rows
}
