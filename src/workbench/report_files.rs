//! The report that was made last, and its companion files.

use std::path::PathBuf;
use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};

use crate::pages;
use crate::site_folder::{SiteFolder, checksum};
use crate::workbench_state::Workbench;

/// Its address.
pub(crate) const REPORT: &str = "/report/index.html";

/// Where that of a site is written.
pub(crate) fn report_folder(workbench: &Workbench, site: &SiteFolder) -> PathBuf {
    let path = site.path().to_string_lossy();
    let own = format!("report-{}", checksum(path.as_bytes()));
    workbench.scratch.path().join(own)
}

pub(crate) async fn file(
    State(workbench): State<Arc<Workbench>>,
    Path(name): Path<String>,
) -> Response {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    let none = || {
        (
            StatusCode::NOT_FOUND,
            pages::notice("Not here", "No report has been made yet."),
        )
            .into_response()
    };
    if !name.chars().all(is_plain) || name.starts_with('.') {
        return none();
    }
    let kind = match name.rsplit_once('.').map(|(_, kind)| kind) {
        Some("html") => "text/html; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("json") => "application/json",
        Some("csv") => "text/csv; charset=utf-8",
        _ => "application/octet-stream",
    };
    let Some(site) = workbench.site() else {
        return none();
    };
    match tokio::fs::read(report_folder(&workbench, &site).join(name)).await {
        Ok(bytes) => ([(CONTENT_TYPE, kind)], bytes).into_response(),
        Err(_) => none(),
    }
}
