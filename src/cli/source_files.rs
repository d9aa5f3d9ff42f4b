//! The files that a report was made from, and the day.

use std::path::Path;

use chrono::{DateTime, Local, NaiveDate};
use metering::Logs;
use report::{SourceFile, Sources};
use site::{Site, table_files};

/// Tables of a site folder that are found by their names.
const TABLES: [&str; 5] = ["site", "machines", "readings", "switching", "registers"];

/// What was read for a site, each file once, with its checksum; what cannot be read again is left out.
pub(super) fn sources(input: &Path, site: &Site, logs: &Logs) -> Sources {
    let mut names: Vec<String> = Vec::new();
    if input.is_file() {
        names.extend(
            input
                .file_name()
                .map(|name| name.to_string_lossy().into_owned()),
        );
    }
    names.push("site.toml".to_owned());
    names.extend(
        TABLES
            .iter()
            .flat_map(|table| table_files(&site.folder, table)),
    );
    names.extend(site.variables.iter().map(|variable| variable.file.clone()));
    names.extend(site.carbon.iter().map(|carbon| carbon.file.clone()));
    let forms = logs.meters.iter().flat_map(|log| &log.files);
    names.extend(forms.map(|form| form.name.clone()));
    let mut files: Vec<SourceFile> = Vec::new();
    for name in names {
        if files.iter().any(|file| file.name == name) {
            continue;
        }
        if let Ok(bytes) = std::fs::read(site.folder.join(&name)) {
            files.push(SourceFile::new(&name, &bytes));
        }
    }
    Sources {
        made_on: Some(today()),
        files,
    }
}

/// Today, or the day that `SOURCE_DATE_EPOCH` names, as builds do that shall give the same bytes again.
pub(super) fn today() -> NaiveDate {
    let fixed = std::env::var("SOURCE_DATE_EPOCH").ok();
    let fixed = fixed.and_then(|seconds| DateTime::from_timestamp(seconds.parse().ok()?, 0));
    fixed.map_or_else(|| Local::now().date_naive(), |at| at.date_naive())
}
