//! The sites on an Apache Spark cluster: the job that ships in the program is handed to a Python with pyspark.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, bail};
use serde_json::json;

use super::pool::{fresh_folder, replace};
use super::{EstateArguments, PARTS};
use crate::cli::output::write_whole;
use crate::estate::{QUERIES, SPARK_JOB, TABLES, part_file};
use site::EstateSite;

/// Runs the job; the folder of the tables that it wrote.
pub(super) fn analyse(
    arguments: &EstateArguments,
    master: &str,
    sites: &[EstateSite],
    out: &Path,
) -> anyhow::Result<PathBuf> {
    let whole = |path: &Path| {
        let whole = path.canonicalize();
        whole.with_context(|| format!("cannot find `{}`", path.display()))
    };
    let out = whole(out)?;
    let parts = out.join(PARTS);
    let fresh = fresh_folder(&out)?;
    let tables = out.join("tables");
    let scratch = tempfile::tempdir()?;
    let mut settings = arguments.settings.words();
    settings.push(format!("--site-minutes={}", arguments.site_minutes));
    settings.extend(arguments.memory_mb.map(|mb| format!("--memory-mb={mb}")));
    let listed: Vec<_> = sites
        .iter()
        .map(|site| json!({ "listed": site, "part": part_file(&parts, &site.path) }))
        .collect();
    let coincident = QUERIES
        .iter()
        .find(|query| query.name == "coincident-demand");
    let order = json!({
        "master": master,
        "program": std::env::current_exe().context("this program cannot start itself")?,
        "folder": whole(&arguments.folder)?,
        "settings": settings,
        "sites": listed,
        "tables": TABLES,
        "out": fresh,
        "coincident": coincident.map(|query| query.sql),
    });
    let (job, ordered) = (
        scratch.path().join("estate_job.py"),
        scratch.path().join("order.json"),
    );
    write_whole(&job, SPARK_JOB.as_bytes())?;
    write_whole(&ordered, order.to_string().as_bytes())?;
    let python = std::env::var_os("PYSPARK_DRIVER_PYTHON")
        .or_else(|| std::env::var_os("PYSPARK_PYTHON"))
        .unwrap_or_else(|| "python3".into());
    let status = Command::new(&python)
        .arg(&job)
        .arg(&ordered)
        .env("PYSPARK_PYTHON", std::env::var_os("PYSPARK_PYTHON").unwrap_or_else(|| python.clone()))
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .status()
        .with_context(|| {
            format!(
                "cannot start `{}`: name a Python that has pyspark and pyarrow with `PYSPARK_PYTHON`",
                python.to_string_lossy()
            )
        })?;
    if !status.success() {
        bail!(
            "the job on `{master}` ended with {status}: what Spark says is above; earlier results are whole"
        );
    }
    replace(&fresh, &tables)?;
    Ok(tables)
}
