//! Changes since the last report, for the commands that show them.

use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::Args;
use serde_json::Value;

use super::CommandError;
use demand::EnergyResult;
use diagnosis::Diagnosis;
use since::{MachineThen, Since, compare, read_snapshot, report_value, snapshot_of};
use site::{Rating, Site};

/// The last report.
#[derive(Debug, Args)]
pub(super) struct SinceArguments {
    /// The last report: its `report.json`, or its folder. Lists what has changed since
    #[arg(long, value_name = "REPORT", help_heading = "Input")]
    pub(super) since: Option<PathBuf>,
}

/// The results in the form that the next report will be compared with.
pub(super) fn report_json(
    site: &Site,
    energy: &EnergyResult,
    diagnosis: &Diagnosis,
) -> anyhow::Result<Value> {
    let machines: Vec<MachineThen> = site
        .machines
        .iter()
        .map(|machine| MachineThen {
            machine: machine.name.clone(),
            circuit: site.node_name(machine.tapped_off).to_owned(),
            connection: machine.connection.to_string(),
            rating: rating(machine.rating),
            quantity: u64::from(machine.quantity),
        })
        .collect();
    Ok(report_value(
        &site.name,
        &energy.meters,
        &diagnosis.findings,
        &machines,
    )?)
}

fn rating(rating: Rating) -> String {
    match rating {
        Rating::Power(kw) => format!("{kw} kW"),
        Rating::Apparent(kva) => format!("{kva} kVA"),
        Rating::Current(amps) => format!("{amps} A"),
        Rating::Shaft {
            kilowatts,
            efficiency,
        } => format!("{kilowatts} kW shaft power, efficiency {efficiency}"),
    }
}

impl SinceArguments {
    /// The changes, where a last report is named.
    pub(super) fn compare(&self, now: &Value) -> anyhow::Result<Option<Since>> {
        let Some(path) = &self.since else {
            return Ok(None);
        };
        let path = report_of(path);
        let file = path.display().to_string();
        let bytes = std::fs::read(&path).with_context(|| format!("cannot read `{file}`"))?;
        let text = String::from_utf8_lossy(&bytes);
        let last = read_snapshot(&file, &text).map_err(CommandError::Input)?;
        let now = snapshot_of(now).map_err(|(at, expected)| {
            anyhow::anyhow!("the results cannot be compared: {at} is not {expected}")
        })?;
        let name = path
            .file_name()
            .map_or(file, |name| name.to_string_lossy().into_owned());
        Ok(Some(compare(&name, &last, &now)))
    }
}

/// The `report.json` of a report's folder.
fn report_of(path: &Path) -> PathBuf {
    if path.is_dir() {
        path.join("report.json")
    } else {
        path.to_owned()
    }
}
