//! Logs: put into the folder as they arrive, looked at, and only then declared as a meter's.

use std::io;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::{Form, Multipart, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use glob::Pattern;
use serde::Deserialize;
use tokio::io::AsyncWriteExt;

use crate::candidate::messages_if;
use crate::folder_state::folder_state;
use crate::jobs::Question;
use crate::lock::locked;
use crate::pages::{self, LogsPage, failed, to_start};
use crate::site_folder::{SiteFolder, site_of};
use crate::workbench_state::Workbench;
use message::Level;

/// Folder of the logs in the site's folder.
const METERS: &str = "meters";

/// A file that stands still for so long is given up.
const SLOWEST: Duration = Duration::from_mins(1);

pub(crate) async fn logs(State(workbench): State<Arc<Workbench>>) -> Response {
    match workbench.site() {
        Some(folder) => shown(&folder, "", ""),
        None => to_start(),
    }
}

fn shown(folder: &SiteFolder, said: &str, fault: &str) -> Response {
    let (site, name) = site_of(folder);
    let files = match folder.files() {
        Ok(files) => files,
        Err(error) => return failed(&error),
    };
    let meters: Vec<(String, String, String)> = site.as_ref().map_or_else(Vec::new, |site| {
        let meters = site.meters.iter();
        meters
            .map(|meter| {
                (
                    meter.id.clone(),
                    site.measured_name(meter.measures).to_owned(),
                    meter.files.clone(),
                )
            })
            .collect()
    });
    // `files` of a meter may be a pattern.
    let is_of = |files: &str, name: &str| {
        Pattern::new(files).map_or(files == name, |pattern| pattern.matches(name))
    };
    let is_loose = |name: &String| {
        name.starts_with("meters/") && !meters.iter().any(|(_, _, files)| is_of(files, name))
    };
    let loose = files
        .into_iter()
        .map(|(name, _)| name)
        .filter(is_loose)
        .collect();
    let places = site.as_ref().map_or_else(Vec::new, |site| {
        let nodes = site
            .nodes()
            .into_iter()
            .map(|node| site.node_name(node).to_owned());
        nodes
            .chain(site.machines.iter().map(|machine| machine.name.clone()))
            .collect()
    });
    pages::page(&LogsPage {
        site: name,
        meters,
        loose,
        places,
        said: said.to_owned(),
        fault: fault.to_owned(),
    })
}

/// Takes the files of a form, each written whole under its own name or not at all.
pub(crate) async fn add(State(workbench): State<Arc<Workbench>>, mut form: Multipart) -> Response {
    let Some(folder) = workbench.site() else {
        return to_start();
    };
    let mut taken = Vec::new();
    let refused =
        |why: &str| (StatusCode::UNPROCESSABLE_ENTITY, shown(&folder, "", why)).into_response();
    loop {
        let mut part = match form.next_field().await {
            Ok(Some(part)) => part,
            Ok(None) => break,
            Err(error) => return refused(&error.body_text()),
        };
        let Some(name) = part
            .file_name()
            .map(str::to_owned)
            .filter(|name| !name.is_empty())
        else {
            continue;
        };
        let inside = format!("{METERS}/{name}");
        let Some(path) = folder.file(&inside).filter(|_| !name.contains('/')) else {
            return refused(&format!(
                "`{name}` cannot be the name of a file here: letters, digits, points, - and _ are enough"
            ));
        };
        if path.exists() {
            return refused(&format!(
                "{inside} is there already: give the new file another name, such as one with its month"
            ));
        }
        let written = async {
            let folder = folder.path().join(METERS);
            tokio::fs::create_dir_all(&folder).await?;
            let whole = tempfile::Builder::new()
                .prefix(".tapoff-")
                .tempfile_in(&folder)?;
            let mut file = tokio::fs::File::from_std(whole.reopen()?);
            loop {
                let more = tokio::time::timeout(SLOWEST, part.chunk()).await;
                let more = more.map_err(|_| io::Error::other("nothing came for a minute"))?;
                match more.map_err(|error| io::Error::other(error.body_text()))? {
                    Some(bytes) => file.write_all(&bytes).await?,
                    None => break,
                }
            }
            file.sync_all().await?;
            whole
                .persist_noclobber(&path)
                .map_err(|error| error.error)?;
            Ok::<_, io::Error>(())
        };
        if let Err(error) = written.await {
            return refused(&format!("`{name}` was not taken: {error}"));
        }
        taken.push(name);
    }
    if taken.is_empty() {
        return refused("Choose a file first.");
    }
    shown(
        &folder,
        &format!(
            "Now in the folder `{METERS}`: {}. Look at each before it counts.",
            taken.join(", ")
        ),
        "",
    )
}

#[derive(Debug, Deserialize)]
pub(crate) struct LogForm {
    file: String,
    /// `energy` for its kWh; else how it is read.
    what: String,
}

/// What the program makes of a log alone.
pub(crate) async fn look(
    State(workbench): State<Arc<Workbench>>,
    Form(form): Form<LogForm>,
) -> Response {
    let Some(folder) = workbench.site() else {
        return to_start();
    };
    let (site, _) = site_of(&folder);
    let (Some(path), Some(site), Ok(files)) =
        (folder.file(&form.file), site, folder_state(&folder))
    else {
        return shown(&folder, "", "The site file or the log cannot be read.");
    };
    let (command, title) = match form.what.as_str() {
        "energy" => ("energy", format!("The kWh of {}", form.file)),
        _ => ("check", format!("How {} is read", form.file)),
    };
    let arguments = [
        command.to_owned(),
        path.display().to_string(),
        "--timezone".to_owned(),
        site.timezone.name().to_owned(),
    ];
    let question = Question {
        title,
        arguments: arguments.to_vec(),
        leads_to: None,
        files,
    };
    let id = workbench.jobs.ask(&workbench.program, question);
    Redirect::to(&format!("/jobs/{id}")).into_response()
}

#[derive(Debug, Deserialize)]
pub(crate) struct MeterForm {
    file: String,
    id: String,
    measures: String,
}

/// Declares a meter: adds its table to the end of the site file.
pub(crate) async fn accept(
    State(workbench): State<Arc<Workbench>>,
    Form(form): Form<MeterForm>,
) -> Response {
    let Some(folder) = workbench.site() else {
        return to_start();
    };
    let refused =
        |why: &str| (StatusCode::UNPROCESSABLE_ENTITY, shown(&folder, "", why)).into_response();
    if form.id.trim().is_empty() || folder.file(&form.file).is_none() {
        return refused("Give the meter a name.");
    }
    let _alone = locked(&workbench.editing);
    let before = match folder.read("site.toml") {
        Ok(text) => text.unwrap_or_default(),
        Err(error) => return failed(&error),
    };
    let (id, measures, file) = (
        quoted(form.id.trim()),
        quoted(&form.measures),
        quoted(&form.file),
    );
    let line_end = if before.ends_with('\n') { "" } else { "\n" };
    let table =
        format!("{line_end}\n[[meter]]\nid = {id}\nmeasures = {measures}\nfiles = {file}\n");
    let after = format!("{before}{table}");
    let messages = match messages_if(&workbench, &folder, "site.toml", &after) {
        Ok(messages) => messages,
        Err(error) => return failed(&error),
    };
    let errors = messages
        .iter()
        .filter(|message| message.level == Level::Error);
    let errors: Vec<&str> = errors.map(|message| message.text.as_str()).collect();
    if !errors.is_empty() {
        return refused(&errors.join("; "));
    }
    if let Err(error) = folder.write("site.toml", &after) {
        return failed(&error);
    }
    shown(
        &folder,
        &format!("{} is now the log of meter {}.", form.file, form.id.trim()),
        "",
    )
}

/// A text as TOML writes it; JSON's strings are TOML's.
fn quoted(text: &str) -> String {
    serde_json::to_string(text).unwrap_or_default()
}
