//! The pages as templates: everything that a user has written is escaped by them.

use std::io;

use askama::Template;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{Html, IntoResponse, Redirect, Response};

use crate::merge::Disagreement;
use message::{Level, Message};

/// A template as an answer.
pub(crate) fn page(template: &impl Template) -> Response {
    match template.render() {
        Ok(text) => Html(text).into_response(),
        Err(error) => {
            let said = format!("the page could not be put together: {error}");
            (StatusCode::INTERNAL_SERVER_ERROR, said).into_response()
        }
    }
}

/// A page with one sentence.
pub(crate) fn notice(title: &str, said: &str) -> Response {
    page(&Notice { title, said })
}

/// As a file of this kind.
pub(crate) fn of_kind(kind: &'static str, text: &'static str) -> Response {
    ([(CONTENT_TYPE, kind)], text).into_response()
}

/// The fields of a form, in its order.
pub(crate) type Fields = Vec<(String, String)>;

/// No site is open.
pub(crate) fn to_start() -> Response {
    Redirect::to("/").into_response()
}

pub(crate) fn failed(error: &io::Error) -> Response {
    (
        StatusCode::INTERNAL_SERVER_ERROR,
        notice("Not done", &error.to_string()),
    )
        .into_response()
}

pub(crate) fn shown_messages<'m>(
    messages: impl IntoIterator<Item = &'m Message>,
) -> Vec<ShownMessage> {
    let at = |message: &Message| {
        message
            .place
            .as_ref()
            .map_or_else(String::new, |place| match place.line {
                0 => place.file.clone(),
                line => format!("{}, line {line}", place.file),
            })
    };
    messages
        .into_iter()
        .map(|message| ShownMessage {
            is_error: message.level == Level::Error,
            text: message.text.clone(),
            at: at(message),
            help: message.help.clone().unwrap_or_default(),
        })
        .collect()
}

#[derive(Debug, Template)]
#[template(path = "notice.html")]
struct Notice<'a> {
    title: &'a str,
    said: &'a str,
}

#[derive(Debug, Template)]
#[template(path = "start.html")]
pub(crate) struct StartPage {
    pub(crate) fault: String,
}

/// A message about a file, for a list of them.
#[derive(Clone, Debug)]
pub(crate) struct ShownMessage {
    pub(crate) is_error: bool,
    pub(crate) text: String,
    pub(crate) at: String,
    pub(crate) help: String,
}

#[derive(Debug, Template)]
#[template(path = "overview.html")]
pub(crate) struct OverviewPage {
    pub(crate) site: String,
    pub(crate) folder: String,
    pub(crate) messages: Vec<ShownMessage>,
    pub(crate) files: Vec<(String, u64)>,
    pub(crate) machines: usize,
    pub(crate) meters: usize,
}

/// A cell of the grid, and what is wrong with it.
#[derive(Clone, Debug, Default)]
pub(crate) struct GridCell {
    pub(crate) text: String,
    pub(crate) fault: String,
}

#[derive(Debug, Template)]
#[template(path = "machines.html")]
pub(crate) struct MachinesPage {
    pub(crate) site: String,
    pub(crate) base: String,
    /// Name of a column, and its choices.
    pub(crate) columns: Vec<(String, Vec<String>)>,
    pub(crate) rows: Vec<Vec<GridCell>>,
    pub(crate) messages: Vec<ShownMessage>,
    pub(crate) disagreements: Vec<Disagreement>,
    /// What was done.
    pub(crate) said: String,
}

#[derive(Debug, Template)]
#[template(path = "site_file.html")]
pub(crate) struct SiteFilePage {
    pub(crate) site: String,
    pub(crate) base: String,
    pub(crate) text: String,
    pub(crate) messages: Vec<ShownMessage>,
    pub(crate) said: String,
}

/// A place where a clamp meter reads.
#[derive(Clone, Debug)]
pub(crate) struct ReadingPlace {
    pub(crate) name: String,
    pub(crate) what: &'static str,
    pub(crate) limit_a: String,
}

#[derive(Debug, Template)]
#[template(path = "readings.html")]
pub(crate) struct RoundForm {
    pub(crate) site: String,
    pub(crate) places: Vec<ReadingPlace>,
    pub(crate) time: String,
    pub(crate) said: String,
    pub(crate) fault: String,
    pub(crate) rounds: usize,
}

#[derive(Debug, Template)]
#[template(path = "logs.html")]
pub(crate) struct LogsPage {
    pub(crate) site: String,
    /// Meters of the site: id, what it measures, its files.
    pub(crate) meters: Vec<(String, String, String)>,
    /// Files that no meter names.
    pub(crate) loose: Vec<String>,
    /// What a meter may measure.
    pub(crate) places: Vec<String>,
    pub(crate) said: String,
    pub(crate) fault: String,
}

#[derive(Debug, Template)]
#[template(path = "answers.html")]
pub(crate) struct AnswersPage {
    pub(crate) site: String,
    /// Name, title and what it answers.
    pub(crate) questions: Vec<(&'static str, &'static str, &'static str)>,
    pub(crate) fault: String,
}

#[derive(Debug, Template)]
#[template(path = "job.html")]
pub(crate) struct JobPage {
    pub(crate) site: String,
    pub(crate) id: u64,
    pub(crate) title: String,
    pub(crate) is_running: bool,
    pub(crate) state: String,
    pub(crate) out: String,
    pub(crate) err: String,
    pub(crate) leads_to: &'static str,
}
