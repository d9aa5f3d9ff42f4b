//! `tapoff place`: where a new machine can be connected.

use std::path::{Path, PathBuf};

use clap::Args;

use super::arguments::{IgnoreArguments, InputArguments, OutputArguments, OutputFormat};
use super::chart::write_chart;
use super::loading::load_and_warn;
use super::new_machines::read_new_machine_list;
use super::output::{deliver, refuse_own_list, write_guarded};
use super::plate::Plate;
use super::{CommandError, Outcome};
use crate::app::Console;
use export::{self, Addition};
use message::{InputErrors, Message, Messages};
use placement::{
    DiversityRule, Placement, PlacementSettings, RankedPoint, Together, place, place_together,
};
use report::ChangedSite;
use site::{NewMachine, Site, read_new_machine};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff place sample-data/ferry-lane --name 'Edge bander' --power-kw 2.2 --power-factor 0.8
  tapoff place sample-data/ferry-lane --name 'Edge bander' --power-kw 2.2 --detail 'J7 benches:L2'
  tapoff place sample-data/ferry-lane --name Lathe --shaft-kw 4 --connection 3ph --start direct --cable-m 12
  tapoff place sample-data/ferry-lane --name Lathe --power-kw 2 --write machines-new.csv
  tapoff place sample-data/ferry-lane --name Lathe --power-kw 2 --circuit-chart chart.html
  tapoff place sample-data/ferry-lane --name Roof --power-kw 10 --connection 3ph --role generation
  tapoff place sample-data/ferry-lane --new-machines sample-data/new-machines.csv

EXIT STATUS
  0  done, with or without a connection point that passes all checks
  2  could not be done";

/// Arguments of `tapoff place`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct PlaceArguments {
    #[command(flatten)]
    pub(super) input: InputArguments,

    #[command(flatten)]
    plate: Plate,

    /// List of new machines to place together, instead of one machine: a CSV file with the columns of machines.csv
    /// and `efficiency_class`, `start`, `start_ratio`, `cable_m`, `cable_mm2`, `candidates`
    #[arg(
        long,
        value_name = "FILE",
        conflicts_with = "machine",
        help_heading = "New machine"
    )]
    new_machines: Option<PathBuf>,

    /// Rank the connection points of each machine of `--new-machines` separately, without the other new machines
    #[arg(long, requires = "new_machines", help_heading = "New machine")]
    apart: bool,

    /// Diversity factor for ratings where there is no log, or `assumed` for the assumed loading factors of
    /// IEC 61439-2 at boards
    #[arg(long, value_name = "FACTOR", default_value = "1", value_parser = read_diversity, help_heading = "Checks")]
    diversity: DiversityRule,

    /// Largest voltage drop allowed while the machine starts
    #[arg(long, value_name = "PERCENT", default_value_t = 10.0, value_parser = read_percent, help_heading = "Checks")]
    start_drop_limit_pct: f64,

    /// Largest voltage rise allowed from the supply to a machine that generates, at full output while nothing draws
    #[arg(long, value_name = "PERCENT", default_value_t = 1.0, value_parser = read_percent, help_heading = "Checks")]
    rise_limit_pct: f64,

    #[command(flatten)]
    ignore: IgnoreArguments,

    /// Show one connection point in full, such as `'J7 benches:L2'`
    #[arg(long, value_name = "CIRCUIT:CONNECTION", help_heading = "Output")]
    detail: Option<String>,

    /// Write a new machines.csv with the machine at the best connection point that passes, or at that of `--detail`,
    /// or with the machines of `--new-machines` that pass together. The site's own list is not changed
    #[arg(
        long,
        value_name = "FILE",
        conflicts_with = "apart",
        help_heading = "Output"
    )]
    write: Option<PathBuf>,

    /// Write the circuit chart of each board that changes, as it is with the new machine: a page to print
    #[arg(
        long,
        value_name = "FILE",
        conflicts_with = "apart",
        help_heading = "Output"
    )]
    circuit_chart: Option<PathBuf>,

    #[command(flatten)]
    pub(super) output: OutputArguments,
}

fn read_diversity(text: &str) -> Result<DiversityRule, String> {
    if text == "assumed" {
        return Ok(DiversityRule::Assumed);
    }
    let factor: Option<f64> = text
        .parse()
        .ok()
        .filter(|factor| (0.05..=1.0).contains(factor));
    factor
        .map(DiversityRule::Factor)
        .ok_or_else(|| "expected a factor from 0.05 to 1, or `assumed`".to_owned())
}

fn read_percent(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|percent| (0.1..=50.0).contains(percent))
        .ok_or_else(|| "expected from 0.1 to 50 %".to_owned())
}

pub(super) fn execute(
    arguments: &PlaceArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let also = [&arguments.write, &arguments.circuit_chart].map(Option::as_deref);
    arguments.output.refuse_existing(&also)?;
    let loaded = load_and_warn(&arguments.input, console)?;
    let (site, logs) = (&loaded.site, &loaded.logs);
    let machines = arguments.new_machines(site)?;
    let settings = PlacementSettings {
        held_back: diagnosis::held_back(site, logs, &arguments.ignore.findings(site)?),
        ..arguments.settings()
    };
    let text = if machines.len() > 1 && !arguments.apart {
        if arguments.detail.is_some() {
            anyhow::bail!("`--detail` is for one machine: use it with `--name`, or with `--apart`");
        }
        let result = place_together(site, logs, &machines, &settings)?;
        let fitting = fitting(&machines, &result);
        if (arguments.write.is_some() || arguments.circuit_chart.is_some()) && fitting.is_empty() {
            anyhow::bail!(
                "nothing to write: no connection point passes now for any of the machines"
            );
        }
        if let Some(path) = &arguments.write {
            write_list(site, path, &fitting, arguments.output.force)?;
        }
        if let Some(path) = &arguments.circuit_chart {
            write_chart(path, site, &with(site, &fitting), arguments.output.force)?;
        }
        match arguments.output.format {
            OutputFormat::Text => export::together_text(site, &result),
            OutputFormat::Json => export::json(&result)?,
            OutputFormat::Csv => export::together_csv(&site.name, &result)?,
        }
    } else {
        let results: Vec<Placement> = machines
            .iter()
            .map(|new| place(site, logs, new, &settings))
            .collect::<Result<_, _>>()?;
        if let ([new], [result]) = (&machines[..], &results[..]) {
            arguments.write_one(site, new, result)?;
        }
        match arguments.output.format {
            OutputFormat::Text => arguments.text(site, &results)?,
            OutputFormat::Json => match &results[..] {
                [only] => export::json(only)?,
                several => export::json(&several)?,
            },
            OutputFormat::Csv => export::placement_csv(&site.name, &results)?,
        }
    };
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome::default())
}

impl PlaceArguments {
    fn settings(&self) -> PlacementSettings {
        PlacementSettings {
            diversity: self.diversity,
            starting_drop_limit_pct: self.start_drop_limit_pct,
            rise_limit_pct: self.rise_limit_pct,
            ..PlacementSettings::default()
        }
    }

    fn new_machines(&self, site: &Site) -> anyhow::Result<Vec<NewMachine>> {
        if let Some(path) = &self.new_machines {
            return read_new_machine_list(site, path);
        }
        let one = read_new_machine(site, &self.plate.cells()).map_err(CommandError::Input)?;
        one.map(|one| vec![one]).ok_or_else(|| {
            anyhow::anyhow!(
                "no machine to place: give `--name` and its rating, or `--new-machines FILE`"
            )
        })
    }

    /// Writes the machine list and the circuit chart with the machine, where they are asked for.
    fn write_one(&self, site: &Site, new: &NewMachine, result: &Placement) -> anyhow::Result<()> {
        if self.write.is_none() && self.circuit_chart.is_none() {
            return Ok(());
        }
        let chosen = self.chosen(result)?;
        let addition = [Addition::at(new, chosen)];
        if let Some(path) = &self.write {
            write_list(site, path, &addition, self.output.force)?;
        }
        if let Some(path) = &self.circuit_chart {
            let mut changed = with(site, &addition);
            for needed in &chosen.moves_needed {
                changed.turn(&needed.machine, (needed.from, needed.to));
            }
            write_chart(path, site, &changed, self.output.force)?;
        }
        Ok(())
    }

    /// The connection point of `--detail`, or the best that passes.
    fn chosen<'r>(&self, result: &'r Placement) -> anyhow::Result<&'r RankedPoint> {
        if let Some(name) = &self.detail {
            return Ok(find_place(result, name)?);
        }
        let fitting = result.places.iter().find(|place| place.fits);
        fitting.ok_or_else(|| {
            anyhow::anyhow!(
                "no connection point passes now for `{}`: choose one with `--detail` to write it anyway",
                result.machine
            )
        })
    }

    fn text(&self, site: &Site, results: &[Placement]) -> Result<String, CommandError> {
        let mut parts = Vec::new();
        for result in results {
            parts.push(match &self.detail {
                Some(name) => {
                    export::placement_detail_text(site, result, find_place(result, name)?)
                }
                None => export::placement_text(site, result),
            });
        }
        Ok(parts.join("\n"))
    }
}

/// The machines that pass together, at their connection points.
fn fitting<'r>(machines: &'r [NewMachine], result: &'r Together) -> Vec<Addition<'r>> {
    machines
        .iter()
        .zip(&result.machines)
        .filter(|(_, placed)| placed.fits)
        .map(|(new, placed)| Addition::placed(new, placed))
        .collect()
}

/// The installation with new machines.
fn with(site: &Site, additions: &[Addition<'_>]) -> ChangedSite {
    let mut changed = ChangedSite::new(site);
    for addition in additions {
        changed.add(
            addition.new,
            addition.circuit,
            addition.connection,
            addition.device,
            addition.cable_mm2,
        );
    }
    changed
}

/// The machine list with new machines, in another file than the site's own.
fn write_list(
    site: &Site,
    path: &Path,
    additions: &[Addition<'_>],
    force: bool,
) -> anyhow::Result<()> {
    refuse_own_list(site, path)?;
    let text = site.machine_list.trim_start_matches('\u{feff}');
    let with = export::machine_list_with(site, text, additions)?;
    write_guarded(path, with.as_bytes(), force)
}

/// The connection point that `CIRCUIT:CONNECTION` names.
fn find_place<'r>(result: &'r Placement, name: &str) -> Result<&'r RankedPoint, CommandError> {
    let named = |place: &&RankedPoint| format!("{}:{}", place.circuit, place.connection) == name;
    result.places.iter().find(named).ok_or_else(|| {
        let names: Vec<String> = result
            .places
            .iter()
            .map(|place| format!("{}:{}", place.circuit, place.connection))
            .collect();
        let mut messages = Messages::new();
        messages.push(
            Message::error(
                "unknown-place",
                format!("`{}` has no connection point `{name}`", result.machine),
            )
            .note("a connection point is a circuit or board and a connection: `C3:L2`")
            .maybe_help(message::did_you_mean(
                name,
                names.iter().map(String::as_str),
            )),
        );
        CommandError::Input(InputErrors(messages))
    })
}
