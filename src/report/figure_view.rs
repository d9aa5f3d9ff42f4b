//! A chart as a part of the page, with its table of values folded below it.

use askama::Template;
use chart::{DayCurves, Figure};

/// A chart in the page.
#[derive(Debug, Template)]
#[template(path = "figure.html", config = "askama.toml")]
pub(super) struct FigureView {
    pub(super) name: &'static str,
    pub(super) title: String,
    pub(super) drawing: String,
    pub(super) caption: String,
    /// JSON of the values that can be read under a pointer, without any `<`; empty where there are none.
    pub(super) values: String,
    /// JSON of the curves of single days, without any `<`; empty where there are none.
    pub(super) days: String,
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
            values: values(figure),
            days: figure.days.as_ref().map(days).unwrap_or_default(),
            numbers: figure.table.html(),
        }
    }
}

fn days(curves: &DayCurves) -> String {
    let json = serde_json::json!({ "series": curves.series, "days": curves.days });
    json.to_string().replace('<', "\\u003c")
}

fn values(figure: &Figure) -> String {
    let values: Vec<&str> = figure.values().collect();
    if values.is_empty() {
        return String::new();
    }
    let json = serde_json::to_string(&values).unwrap_or_default();
    json.replace('<', "\\u003c")
}
