//! Which page is where.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, State};
use axum::middleware::from_fn_with_state;
use axum::response::Response;
use axum::routing::{get, post};

use crate::workbench_state::Workbench;
use crate::{answers, edit_page, guard, log_page, pages, readings_page, report_files, start_page};

/// A list of some thousand machines, typed or pasted.
const LARGEST_FORM: usize = 8 << 20;

/// Largest log that is taken.
const LARGEST_LOG: usize = 4 << 30;

pub(crate) fn routes(workbench: Arc<Workbench>) -> Router {
    Router::new()
        .route("/", get(start_page::start))
        .route("/open", post(start_page::open))
        .route("/new", post(start_page::new_site))
        .route("/stop", post(stop))
        .route(
            "/machines",
            get(edit_page::machines).post(edit_page::save_machines),
        )
        .route("/machines/check", post(edit_page::check_machines))
        .route(
            "/site",
            get(edit_page::site_file).post(edit_page::save_site_file),
        )
        .route(
            "/readings",
            get(readings_page::form).post(readings_page::save),
        )
        .route("/logs", get(log_page::logs))
        .route(
            "/logs/add",
            post(log_page::add).layer(DefaultBodyLimit::max(LARGEST_LOG)),
        )
        .route("/logs/look", post(log_page::look))
        .route("/logs/accept", post(log_page::accept))
        .route("/answers", get(answers::questions))
        .route("/answers/place", post(answers::place))
        .route("/answers/{name}", post(answers::ask))
        .route("/jobs/{id}", get(answers::job))
        .route("/jobs/{id}/stop", post(answers::stop))
        .route(
            "/favicon.ico",
            get(|| async { axum::http::StatusCode::NO_CONTENT }),
        )
        .route("/report/{*name}", get(report_files::file))
        .route(
            "/workbench.css",
            get(|| async {
                pages::of_kind("text/css; charset=utf-8", include_str!("workbench.css"))
            }),
        )
        .route(
            "/grid.js",
            get(|| async {
                pages::of_kind("text/javascript; charset=utf-8", include_str!("grid.js"))
            }),
        )
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .layer(from_fn_with_state(Arc::clone(&workbench), guard::guard))
        .with_state(workbench)
}

async fn stop(State(workbench): State<Arc<Workbench>>) -> Response {
    workbench.stop.notify_one();
    pages::notice(
        "Stopped",
        "The program has ended; this window can be closed. Files are as they were saved.",
    )
}
