//! A chart with its title, description, caption and table of values.

use std::fmt::Write as _;

use super::day_curves::DayCurves;
use super::pen::{ChartError, Drawn, Pen, draw};
use super::style::{DETAIL, Ink, Width, hatching, hex};
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
    /// Curves of single days, to be looked at one by one.
    pub days: Option<DayCurves>,
    heights: [i32; 2],
    drawn: [Drawn; 2],
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
            days: None,
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

    /// With the curves of single days.
    #[must_use]
    pub fn with_days(mut self, days: DayCurves) -> Figure {
        self.days = (days.days.len() > 1).then_some(days);
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
        let shapes = shapes(&self.drawn[0].svg, Target::File);
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
             width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-labelledby=\"title desc\" font-family=\"system-ui, 'Segoe UI', 'Liberation Sans', \
             sans-serif\">\n<title id=\"title\">{}</title>\n<desc id=\"desc\">{}</desc>\n\
             <rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\n{}{}</svg>\n",
            width * DETAIL,
            height * DETAIL,
            escape(&self.title),
            escape(&self.description),
            hex(Ink::Paper.light()),
            if shapes.contains("url(#over)") {
                hatching(&hex(Ink::Limit.light()))
            } else {
                String::new()
            },
            shapes,
        )
    }

    /// The values that can be read under a pointer, in words, in the order of their places in both drawings.
    pub fn values(&self) -> impl Iterator<Item = &str> {
        self.drawn[0].values.iter().map(|(_, words)| words.as_str())
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
                 aria-labelledby=\"{id}-t {id}-d\"{}>\n<title id=\"{id}-t\">{}</title>\n\
                 <desc id=\"{id}-d\">{}</desc>\n{}</svg>\n",
                width.name(),
                width.px() * DETAIL,
                self.heights[one] * DETAIL,
                spots(&self.drawn[one]),
                escape(&self.title),
                escape(&self.description),
                shapes(&self.drawn[one].svg, Target::Page),
            )
            .expect("a String takes any text");
        }
        out
    }
}

/// Where the values of [`Figure::values`] are in a drawing, as an attribute.
fn spots(drawn: &Drawn) -> String {
    if drawn.values.is_empty() {
        return String::new();
    }
    let places = drawn.values.iter().map(|((x, y), _)| {
        let scale = f64::from(DETAIL);
        format!("{:.0},{:.0}", x * scale, y * scale)
    });
    format!(" data-at=\"{}\"", places.collect::<Vec<_>>().join(" "))
}

/// The cells of a figure's table as a page shows them.
#[cfg(test)]
pub(super) fn shown(figure: &Figure) -> Vec<Vec<String>> {
    figure.table.shown(tables::Output::Html).rows
}
