//! The machine list as a grid, and the site file as text: checked as one types, saved whole.

use std::collections::HashMap;
use std::sync::Arc;

use axum::Json;
use axum::extract::{Form, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use crate::candidate::messages_if;
use crate::list_grid::ListGrid;
use crate::lock::locked;
use crate::merge::{Disagreement, merged};
use crate::pages::{
    self, Fields, GridCell, MachinesPage, SiteFilePage, failed, shown_messages, to_start,
};
use crate::site_folder::{SiteFolder, site_of};
use crate::workbench_state::Workbench;
use message::{Level, Message};

const LIST: &str = "machines.csv";
const SITE_FILE: &str = "site.toml";

/// Rows below the list to type into.
const EMPTY_ROWS: usize = 5;

/// Rows and columns that a form may have.
const MOST_ROWS: usize = 20_000;

pub(crate) async fn machines(State(workbench): State<Arc<Workbench>>) -> Response {
    let Some(site) = workbench.site() else {
        return to_start();
    };
    let text = match site.read(LIST) {
        Ok(text) => text,
        Err(error) => return failed(&error),
    };
    let list = match &text {
        None => Some(ListGrid::new()),
        Some(text) => ListGrid::read(text),
    }
    .map(ListGrid::with_usual_columns);
    let Some(list) = list else {
        return pages::notice(
            "Not a plain list",
            "machines.csv has titles above its columns, or none called `machine`: it is read as it is, and edited in the \
             program that made it.",
        );
    };
    let rows: Vec<Vec<String>> = list.rows.iter().map(|row| row.cells.clone()).collect();
    grid(&workbench, &site, &list, &rows, Vec::new(), "")
}

/// The page with these rows; `list` is what they began from.
fn grid(
    workbench: &Workbench,
    site: &SiteFolder,
    list: &ListGrid,
    rows: &[Vec<String>],
    disagreements: Vec<Disagreement>,
    said: &str,
) -> Response {
    let (base, _) = list.write();
    let (text, lines) = list.with_rows(rows.to_vec()).write();
    let messages = match messages_if(workbench, site, LIST, &text) {
        Ok(messages) => messages,
        Err(error) => return failed(&error),
    };
    let faults = faults_by_cell(&messages, &lines);
    let (known, name) = site_of(site);
    let choices = |column: &str| -> Vec<String> {
        let Some(site) = &known else {
            return Vec::new();
        };
        match column.trim().to_lowercase().as_str() {
            "circuit" => site
                .nodes()
                .into_iter()
                .map(|node| site.node_name(node).to_owned())
                .collect(),
            "connection" => site::CONNECTIONS
                .iter()
                .map(|word| (*word).to_owned())
                .collect(),
            "schedule" => site
                .schedules
                .iter()
                .map(|schedule| schedule.name.clone())
                .collect(),
            "movable" => site::YES_NO.iter().map(|word| (*word).to_owned()).collect(),
            _ => Vec::new(),
        }
    };
    let width = list.header.len();
    let mut shown: Vec<Vec<GridCell>> = rows
        .iter()
        .enumerate()
        .map(|(row, cells)| {
            (0..width)
                .map(|column| GridCell {
                    text: cells.get(column).cloned().unwrap_or_default(),
                    fault: faults.get(&(row, column)).cloned().unwrap_or_default(),
                })
                .collect()
        })
        .collect();
    shown.extend(vec![vec![GridCell::default(); width]; EMPTY_ROWS]);
    pages::page(&MachinesPage {
        site: name,
        base: workbench.remember(&base),
        columns: list
            .header
            .iter()
            .map(|name| (name.clone(), choices(name)))
            .collect(),
        rows: shown,
        messages: shown_messages(&messages),
        disagreements,
        said: said.to_owned(),
    })
}

/// The message at each cell of the list; one without a cell is at the first.
fn faults_by_cell(messages: &[Message], lines: &[usize]) -> HashMap<(usize, usize), String> {
    let mut faults = HashMap::new();
    for message in messages {
        let Some(place) = message
            .place
            .as_ref()
            .filter(|place| place.file == LIST && place.line > 0)
        else {
            continue;
        };
        let row = lines.partition_point(|&line| line <= place.line);
        if let Some(row) = row.checked_sub(1) {
            let words = if place_says_more(message) {
                format!("{}: {}", message.text, message.expected)
            } else {
                message.text.clone()
            };
            faults
                .entry((row, place.field.unwrap_or(0)))
                .or_insert(words);
        }
    }
    faults
}

fn place_says_more(message: &Message) -> bool {
    !message.expected.is_empty() && !message.text.contains(&message.expected)
}

/// The rows of a form: its cells are `r0c0`, `r0c1` and so on; rows without any word are left out.
fn typed_rows(fields: &Fields, width: usize) -> Option<Vec<Vec<String>>> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (name, value) in fields {
        let Some((row, column)) = name
            .strip_prefix('r')
            .and_then(|place| place.split_once('c'))
        else {
            continue;
        };
        let (row, column): (usize, usize) = (row.parse().ok()?, column.parse().ok()?);
        if row >= MOST_ROWS || column >= width {
            return None;
        }
        if rows.len() <= row {
            rows.resize(row + 1, vec![String::new(); width]);
        }
        rows[row][column].clone_from(value);
    }
    rows.retain(|cells| cells.iter().any(|cell| !cell.trim().is_empty()));
    Some(rows)
}

fn field<'f>(fields: &'f Fields, name: &str) -> &'f str {
    let found = fields.iter().find(|(key, _)| key == name);
    found.map_or("", |(_, value)| value)
}

/// What the form began from, and its rows.
fn typed(workbench: &Workbench, fields: &Fields) -> Option<(ListGrid, Vec<Vec<String>>)> {
    let base = ListGrid::read(&workbench.shown(field(fields, "base"))?)?.with_usual_columns();
    let rows = typed_rows(fields, base.header.len())?;
    Some((base, rows))
}

#[derive(Debug, Serialize)]
struct CellFault {
    row: usize,
    column: usize,
    text: String,
}

pub(crate) async fn check_machines(
    State(workbench): State<Arc<Workbench>>,
    Form(fields): Form<Fields>,
) -> Response {
    let (Some(site), Some((base, rows))) = (workbench.site(), typed(&workbench, &fields)) else {
        return StatusCode::CONFLICT.into_response();
    };
    let (text, lines) = base.with_rows(rows).write();
    match messages_if(&workbench, &site, LIST, &text) {
        Ok(messages) => {
            let mut faults: Vec<CellFault> = faults_by_cell(&messages, &lines)
                .into_iter()
                .map(|((row, column), text)| CellFault { row, column, text })
                .collect();
            faults.sort_by_key(|fault| (fault.row, fault.column));
            Json(faults).into_response()
        }
        Err(error) => failed(&error),
    }
}

pub(crate) async fn save_machines(
    State(workbench): State<Arc<Workbench>>,
    Form(fields): Form<Fields>,
) -> Response {
    let Some(site) = workbench.site() else {
        return to_start();
    };
    let Some((base, rows)) = typed(&workbench, &fields) else {
        return out_of_date();
    };
    let _alone = locked(&workbench.editing);
    let in_file = match site.read(LIST) {
        Ok(text) => text.map_or_else(|| Some(ListGrid::new()), |text| ListGrid::read(&text)),
        Err(error) => return failed(&error),
    };
    let Some(in_file) = in_file.map(ListGrid::with_usual_columns) else {
        return out_of_date();
    };
    let all = match merged(&base, &in_file, &rows) {
        Ok(all) => all,
        Err(apart) => {
            let page = grid(&workbench, &site, &in_file, &rows, apart, "");
            return (StatusCode::CONFLICT, page).into_response();
        }
    };
    let list = in_file.with_rows(all.clone());
    let (text, _) = list.write();
    let messages = match messages_if(&workbench, &site, LIST, &text) {
        Ok(messages) => messages,
        Err(error) => return failed(&error),
    };
    let is_fault = |message: &Message| {
        message.level == Level::Error
            && message
                .place
                .as_ref()
                .is_some_and(|place| place.file == LIST)
    };
    if messages.iter().any(is_fault) {
        let said = "Not saved: see the cells that are marked.";
        let page = grid(&workbench, &site, &in_file, &all, Vec::new(), said);
        return (StatusCode::UNPROCESSABLE_ENTITY, page).into_response();
    }
    if let Err(error) = site.write(LIST, &text) {
        return failed(&error);
    }
    grid(
        &workbench,
        &site,
        &list,
        &all,
        Vec::new(),
        "Saved in machines.csv.",
    )
}

fn out_of_date() -> Response {
    let said = "This page was opened before the program was started, or its form is not whole. Open it again; what was typed is \
                still in this window.";
    (StatusCode::CONFLICT, pages::notice("Not saved", said)).into_response()
}

pub(crate) async fn site_file(State(workbench): State<Arc<Workbench>>) -> Response {
    let Some(site) = workbench.site() else {
        return to_start();
    };
    match site.read(SITE_FILE) {
        Ok(text) => site_text(&workbench, &site, text.unwrap_or_default(), ""),
        Err(error) => failed(&error),
    }
}

fn site_text(workbench: &Workbench, site: &SiteFolder, text: String, said: &str) -> Response {
    match messages_if(workbench, site, SITE_FILE, &text) {
        Ok(messages) => pages::page(&SiteFilePage {
            site: site_of(site).1,
            base: workbench.remember(&site.read(SITE_FILE).ok().flatten().unwrap_or_default()),
            text,
            messages: shown_messages(&messages),
            said: said.to_owned(),
        }),
        Err(error) => failed(&error),
    }
}

pub(crate) async fn save_site_file(
    State(workbench): State<Arc<Workbench>>,
    Form(fields): Form<Fields>,
) -> Response {
    let Some(site) = workbench.site() else {
        return to_start();
    };
    // A browser writes line ends of its own into a form.
    let text = field(&fields, "text").replace("\r\n", "\n");
    let _alone = locked(&workbench.editing);
    let in_file = match site.read(SITE_FILE) {
        Ok(text) => text.unwrap_or_default(),
        Err(error) => return failed(&error),
    };
    let began_from = workbench.shown(field(&fields, "base"));
    if began_from.as_deref() != Some(in_file.as_str()) && in_file != text {
        let said = "Not saved: the file was changed elsewhere meanwhile. What you typed is below; copy it, open this page again \
                    and put in what you changed.";
        return (
            StatusCode::CONFLICT,
            site_text(&workbench, &site, text, said),
        )
            .into_response();
    }
    let text = if in_file.contains("\r\n") {
        text.replace('\n', "\r\n")
    } else {
        text
    };
    let messages = match messages_if(&workbench, &site, SITE_FILE, &text) {
        Ok(messages) => messages,
        Err(error) => return failed(&error),
    };
    if messages.iter().any(|message| message.level == Level::Error) {
        let said = "Not saved: the program could not read the site. See the messages.";
        return (
            StatusCode::UNPROCESSABLE_ENTITY,
            site_text(&workbench, &site, text, said),
        )
            .into_response();
    }
    match site.write(SITE_FILE, &text) {
        Ok(()) => site_text(&workbench, &site, text, "Saved in site.toml."),
        Err(error) => failed(&error),
    }
}
