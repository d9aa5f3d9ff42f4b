//! Where no site is open: open one, or begin one. Else what there is of the site, and what is wrong with it.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use axum::extract::{Form, State};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

use crate::pages::{self, OverviewPage, StartPage, shown_messages};
use crate::site_folder::{SiteFolder, name_of};
use crate::workbench_state::Workbench;
use site::read_site;

pub(crate) async fn start(State(workbench): State<Arc<Workbench>>) -> Response {
    match workbench.site() {
        None => pages::page(&StartPage {
            fault: String::new(),
        }),
        Some(folder) => overview(&folder),
    }
}

fn overview(folder: &SiteFolder) -> Response {
    let (site, messages) = match read_site(folder.path()) {
        Ok((site, warnings)) => (Some(site), shown_messages(warnings.all())),
        Err(errors) => (None, shown_messages(errors.0.all())),
    };
    pages::page(&OverviewPage {
        site: site
            .as_ref()
            .map_or_else(|| name_of(folder.path()), |site| site.name.clone()),
        folder: folder.path().display().to_string(),
        messages,
        files: folder.files().unwrap_or_default(),
        machines: site.as_ref().map_or(0, |site| site.machines.len()),
        meters: site.as_ref().map_or(0, |site| site.meters.len()),
    })
}

#[derive(Debug, Deserialize)]
pub(crate) struct FolderForm {
    folder: String,
}

pub(crate) async fn open(
    State(workbench): State<Arc<Workbench>>,
    Form(form): Form<FolderForm>,
) -> Response {
    opened(&workbench, &PathBuf::from(form.folder.trim()))
}

fn opened(workbench: &Workbench, path: &Path) -> Response {
    match workbench.open(path) {
        Ok(()) => Redirect::to("/").into_response(),
        Err(error) => pages::page(&StartPage {
            fault: error.to_string(),
        }),
    }
}

pub(crate) async fn new_site(
    State(workbench): State<Arc<Workbench>>,
    Form(form): Form<FolderForm>,
) -> Response {
    let folder = PathBuf::from(form.folder.trim());
    if !folder.is_absolute() {
        return pages::page(&StartPage {
            fault: "Write the whole path of the new folder, from the root or the drive on."
                .to_owned(),
        });
    }
    let made = tokio::process::Command::new(&workbench.program)
        .arg("new")
        .arg(&folder)
        .output()
        .await;
    match made {
        Ok(done) if done.status.success() => opened(&workbench, &folder),
        Ok(done) => pages::page(&StartPage {
            fault: String::from_utf8_lossy(&done.stderr).into_owned(),
        }),
        Err(error) => pages::page(&StartPage {
            fault: error.to_string(),
        }),
    }
}
