//! `tapoff report`: one HTML page with charts and figures.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use clap::Args;
use serde_json::Value;

use super::Outcome;
use super::arguments::{FailOn, IgnoreArguments, InputArguments, SearchArguments};
use super::baseline::BaselineArguments;
use super::chart::after_moves;
use super::exceeded::exceeded_limits;
use super::loading::load_and_warn;
use super::new_machines::read_new_machine_list;
use super::output::{make_folder, write_whole};
use super::since::{SinceArguments, report_json};
use super::source_files::{sources, today};
use crate::app::Console;
use crate::{demand, diagnosis, export, report};
use balance::{self, BalanceError, HeldBack};
use demand::{BreakdownBy, BreakdownInput, EnergyResult};
use message::Level;
use metering::Logs;
use placement::{PlacementSettings, place, place_together};
use report::{ChangedSite, NewMachines};
use site::Site;

const EXAMPLES: &str = "\
EXAMPLES
  tapoff report sample-data/ferry-lane
  tapoff report sample-data/ferry-lane --new-machines sample-data/new-machines.csv -o extension
  tapoff report sample-data/ferry-lane --since reports/ferry-lane/report.json -o next
  tapoff report sample-data/ferry-lane -o march --from 2026-03-09 --to 2026-03-23

EXIT STATUS
  0  done
  1  done, and a limit is exceeded (with `--fail-on limit`)
  2  could not be done; an earlier report is not changed";

/// The file by which a report's folder is known: it says which program wrote it.
const MARK: &str = "report.json";

/// Arguments of `tapoff report`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct ReportArguments {
    #[command(flatten)]
    input: InputArguments,

    #[command(flatten)]
    search: SearchArguments,

    #[command(flatten)]
    ignore: IgnoreArguments,

    /// Folder to write to [default: reports/<name of the site folder>]
    #[arg(short, long, value_name = "FOLDER", help_heading = "Output")]
    output: Option<PathBuf>,

    /// List of new machines, as for `place --new-machines`; the page then shows where they can be connected
    #[arg(long, value_name = "FILE", help_heading = "Input")]
    new_machines: Option<PathBuf>,

    /// Write into a folder that holds other files than an earlier report; none is removed
    #[arg(long, help_heading = "Output")]
    force: bool,

    #[command(flatten)]
    baseline: BaselineArguments,

    #[command(flatten)]
    since: SinceArguments,

    /// Open the page in the browser when it is written
    #[arg(long, help_heading = "Output")]
    open: bool,

    /// For scripts: exit status 1 in this case
    #[arg(long, value_enum, value_name = "CONDITION", help_heading = "Output")]
    fail_on: Option<FailOn>,
}

/// Energy and demand; also by board, where the site has boards and a meter upstream of them.
fn with_boards(site: &Site, logs: &Logs) -> EnergyResult {
    let mut energy = demand::analyse(site, logs, None);
    if !site.boards.is_empty() {
        let ground = BreakdownInput {
            site,
            logs,
            meters: &energy.meters,
            bill: energy.cost.as_ref(),
        };
        let boards = demand::breakdown(&ground, &BreakdownBy::Board, None);
        if !boards.parts.is_empty() {
            energy.add(boards);
        }
    }
    energy
}

pub(super) fn execute(
    arguments: &ReportArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let folder = arguments
        .output
        .clone()
        .unwrap_or_else(|| default_folder(&arguments.input.site));
    if !arguments.force {
        refuse_other(&folder)?;
    }
    let loaded = load_and_warn(&arguments.input, console)?;
    let site = &loaded.site;
    let mut energy = with_boards(site, &loaded.logs);
    energy.change = arguments
        .baseline
        .change(site, &loaded.logs, &energy, console)?;
    let fixes = arguments.search.fixes(site)?;
    let ignored = arguments.ignore.findings(site)?;
    let mut findings = diagnosis::diagnose_ignoring(site, &loaded.logs, &ignored);
    let held_back = findings.held_back(site, &ignored);
    let settings = balance::Settings {
        trial_board: true,
        held_back: held_back.clone(),
        ..arguments.search.settings()
    };
    let mut plan = match balance::balance_with(site, &loaded.logs, &settings, &fixes) {
        Ok(plan) => Some(plan),
        Err(BalanceError::NothingToBalance) => None,
        Err(error) => return Err(error.into()),
    };
    let warnings: Vec<&message::Message> = loaded.warnings.of(Level::Warning).collect();
    if let Some(phases) = &loaded.phases {
        // As the list is written, before what it calls unknown was found.
        findings.phases = phases.clone();
    }
    if let Some(plan) = &mut plan {
        plan.phase_doubt = phases::plan_doubt(site, &loaded.logs, &findings.phases, plan);
    }
    let now = report_json(site, &energy, &findings)?;
    energy.since = arguments.since.compare(&now)?;
    let new_machines = arguments.new_machines(site, &loaded.logs, held_back)?;
    let files = report::files(
        site,
        sources(&arguments.input.site, site, &loaded.logs),
        plan.as_ref(),
        &energy,
        &warnings,
        Some(&findings),
        new_machines.as_ref(),
    )?;
    let present = ChangedSite::new(site);
    let planned = plan.as_ref().filter(|plan| !plan.moves.is_empty());
    let planned = planned.map(|plan| after_moves(site, plan));
    let states: Vec<&ChangedSite> = std::iter::once(&present).chain(&planned).collect();
    let circuit_chart = report::circuit_chart(site, &states, today())?;
    let mut whole: Vec<(String, Vec<u8>)> = Vec::new();
    let mut put = |name: &str, text: String| whole.push((name.to_owned(), text.into_bytes()));
    // By it the folder is known as a report's, even where writing the rest is cut short.
    put(MARK, export::json(&now)?);
    if let Some(plan) = &plan {
        put("balance.json", export::json(plan)?);
        put("balance.csv", export::balance_csv(&site.name, plan)?);
        put("work-order.csv", export::work_order_csv(&site.name, plan)?);
    }
    put("energy.json", export::json(&energy)?);
    put("energy.csv", export::energy_csv(&site.name, &energy)?);
    put("diagnosis.json", export::json(&findings)?);
    if let Some(new_machines) = &new_machines {
        put(
            "places.csv",
            export::placement_csv(&site.name, &new_machines.apart)?,
        );
    }
    put("circuit-chart.html", circuit_chart);
    for chart in files.charts {
        put(&chart.name, chart.svg);
    }
    // The page holds its own data and is written last: an old page stays complete until the new one is.
    put("index.html", files.page);
    make_folder(&folder)?;
    for (name, bytes) in &whole {
        write_whole(&folder.join(name), bytes)?;
    }
    let page = folder.join("index.html");
    writeln!(console.out, "{}", page.display())?;
    if arguments.open {
        open::that_detached(&page).with_context(|| {
            format!(
                "the page is written, but no browser opens `{}`",
                page.display()
            )
        })?;
    }
    Ok(Outcome {
        limit_exceeded: arguments.fail_on == Some(FailOn::Limit)
            && !exceeded_limits(site, &loaded.logs, &energy).is_empty(),
    })
}

impl ReportArguments {
    /// Where the new machines can be connected, each separately and all together.
    fn new_machines(
        &self,
        site: &Site,
        logs: &Logs,
        held_back: Vec<HeldBack>,
    ) -> anyhow::Result<Option<NewMachines>> {
        let Some(path) = &self.new_machines else {
            return Ok(None);
        };
        let machines = read_new_machine_list(site, path)?;
        let settings = PlacementSettings {
            held_back,
            ..PlacementSettings::default()
        };
        let apart = machines
            .iter()
            .map(|new| place(site, logs, new, &settings))
            .collect::<Result<_, _>>()?;
        let together = if machines.len() > 1 {
            Some(place_together(site, logs, &machines, &settings)?)
        } else {
            None
        };
        Ok(Some(NewMachines { apart, together }))
    }
}

/// Refuses a folder with files in it that no report was written to.
fn refuse_other(folder: &Path) -> anyhow::Result<()> {
    let is_empty = fs::read_dir(folder).map_or(true, |mut entries| entries.next().is_none());
    let program = || -> Option<String> {
        let report: Value = serde_json::from_slice(&fs::read(folder.join(MARK)).ok()?).ok()?;
        Some(report["program"].as_str()?.to_owned())
    };
    if !is_empty && !program().is_some_and(|program| program.starts_with("tapoff ")) {
        bail!(
            "the folder `{}` holds files and no report: give another name, or `--force` to write into it",
            folder.display()
        );
    }
    Ok(())
}

fn default_folder(site: &Path) -> PathBuf {
    let name = site
        .canonicalize()
        .ok()
        .and_then(|path| {
            let name = if path.is_dir() {
                path.file_name()
            } else {
                path.file_stem()
            };
            name.map(ToOwned::to_owned)
        })
        .unwrap_or_else(|| "site".into());
    Path::new("reports").join(name)
}
