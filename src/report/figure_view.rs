//! A chart as a part of the page, with its table of values folded below it.

use askama::Template;
use chart::Figure;

/// A chart in the page.
#[derive(Debug, Template)]
#[template(path = "figure.html", config = "askama.toml")]
pub(super) struct FigureView {
    pub(super) name: &'static str,
    pub(super) title: String,
    pub(super) drawing: String,
    pub(super) caption: String,
    /// The table of values; empty where there is none.
    pub(super) numbers: String,
}

impl FigureView {
    pub(super) fn new(figure: &Figure) -> FigureView {
        FigureView {
            name: figure.name,
            title: figure.title.clone(),
            drawing: figure.inline(),
            caption: figure.caption.clone(),
            numbers: figure.table.html(),
        }
    }
}
