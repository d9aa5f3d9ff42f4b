//! `tapoff place`: where a new machine can be connected.

use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::Args;

use super::arguments::{Format, Input, Output};
use super::loading::load_and_warn;
use super::output::{deliver, write_whole};
use super::{CommandError, Outcome};
use crate::app::Console;
use crate::export;
use crate::message::{InputErrors, Message, Messages};
use crate::placement::{Diversity, Place, Placement, PlacementSettings, place};
use crate::site::{NewMachine, Site, read_new_machine, read_new_machines};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff place sample-data/ferry-lane --name 'Edge bander' --power-kw 2.2 --power-factor 0.8
  tapoff place sample-data/ferry-lane --name 'Edge bander' --power-kw 2.2 --detail 'J7 benches:L2'
  tapoff place sample-data/ferry-lane --name Lathe --shaft-kw 4 --connection 3ph --start direct --cable-m 12
  tapoff place sample-data/ferry-lane --name Lathe --power-kw 2 --write machines-new.csv
  tapoff place sample-data/ferry-lane --machines sample-data/wanted-machines.csv

EXIT STATUS
  0  done, whether or not the machine fits
  2  could not be done";

/// Arguments of `tapoff place`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    #[command(flatten)]
    pub(super) input: Input,

    #[command(flatten)]
    plate: Plate,

    /// List of machines instead, with the columns of machines.csv and `efficiency_class`, `start`,
    /// `start_ratio`, `cable_m`, `cable_mm2`, `candidates`; each is placed for itself
    #[arg(
        long,
        value_name = "FILE",
        conflicts_with = "machine",
        help_heading = "New machine"
    )]
    machines: Option<PathBuf>,

    /// Factor on declared ratings where there is no log, or `assumed` for the assumed loading of
    /// IEC 61439-2 at boards
    #[arg(long, value_name = "FACTOR", default_value = "1", value_parser = read_diversity, help_heading = "Checks")]
    diversity: Diversity,

    /// Largest voltage drop while the machine starts
    #[arg(long, value_name = "PERCENT", default_value_t = 10.0, value_parser = read_percent, help_heading = "Checks")]
    start_drop_limit_pct: f64,

    /// One place in full, such as `'J7 benches:L2'`
    #[arg(long, value_name = "CIRCUIT:CONNECTION", help_heading = "Output")]
    detail: Option<String>,

    /// Write machines.csv with the machine at the best place that fits, or at the place of `--detail`, to a new file;
    /// the site's own list is left as it is
    #[arg(
        long,
        value_name = "FILE",
        conflicts_with = "machines",
        help_heading = "Output"
    )]
    write: Option<PathBuf>,

    #[command(flatten)]
    pub(super) output: Output,
}

/// What the plate of the machine says; read by the same rules as a row of the machine list.
#[derive(Debug, Args)]
#[group(skip)]
struct Plate {
    /// Name of the machine
    #[arg(
        long = "name",
        value_name = "NAME",
        id = "machine",
        help_heading = "New machine"
    )]
    machine: Option<String>,

    /// Electrical input at rated load, all phases together
    #[arg(
        long,
        value_name = "KILOWATTS",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    power_kw: Option<String>,

    /// Apparent power at rated load, all phases together
    #[arg(
        long,
        value_name = "KILOVOLTAMPERES",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    apparent_kva: Option<String>,

    /// Rated current of a phase, rms with its harmonics
    #[arg(
        long,
        value_name = "AMPERES",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    current_a: Option<String>,

    /// Mechanical output of a motor
    #[arg(
        long,
        value_name = "KILOWATTS",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    shaft_kw: Option<String>,

    /// Efficiency of the motor, 0 to 1
    #[arg(
        long,
        value_name = "NUMBER",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    efficiency: Option<String>,

    /// Efficiency class of the motor: IE1, IE2 or IE3 [default: IE3, said as typical]
    #[arg(long, value_name = "CLASS", help_heading = "New machine")]
    efficiency_class: Option<String>,

    /// Displacement power factor, 0 to 1, lagging unless it ends in ` lead`
    #[arg(
        long,
        value_name = "NUMBER",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    power_factor: Option<String>,

    /// Usual share of the rating while running, 0 to 1
    #[arg(
        long,
        value_name = "NUMBER",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    utilisation_factor: Option<String>,

    /// any, any-2, 3ph, L1, L2, L3, L1-L2, L2-L3 or L3-L1 [default: any]
    #[arg(long, value_name = "CONNECTION", help_heading = "New machine")]
    connection: Option<String>,

    /// Third harmonic as a share of the fundamental current
    #[arg(
        long,
        value_name = "PERCENT",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    third_harmonic_pct: Option<String>,

    /// When it runs, a schedule of the site [default: always]
    #[arg(long, value_name = "SCHEDULE", help_heading = "New machine")]
    schedule: Option<String>,

    /// Meter whose log is its profile
    #[arg(long, value_name = "METER", help_heading = "New machine")]
    meter: Option<String>,

    /// direct, star-delta, soft or none [default: direct with `--shaft-kw`, else none]
    #[arg(long, value_name = "HOW", help_heading = "New machine")]
    start: Option<String>,

    /// Starting current as a multiple of the rated one
    #[arg(
        long,
        value_name = "NUMBER",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    start_ratio: Option<String>,

    /// Its own protective device, such as `gG 16` [default: proposed]
    #[arg(long = "device", value_name = "DEVICE", help_heading = "New machine")]
    protective_device: Option<String>,

    /// Length of its own cable of copper, one way
    #[arg(
        long,
        value_name = "METRES",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    cable_m: Option<String>,

    /// Cross-section of its own cable [default: proposed from the site's `[[cable_size]]`]
    #[arg(
        long,
        value_name = "MM2",
        allow_hyphen_values = true,
        help_heading = "New machine"
    )]
    cable_mm2: Option<String>,

    /// Circuits and boards that may feed it, separated by commas [default: all]
    #[arg(long, value_name = "IDS", help_heading = "New machine")]
    candidates: Option<String>,
}

fn read_diversity(text: &str) -> Result<Diversity, String> {
    if text == "assumed" {
        return Ok(Diversity::Assumed);
    }
    let factor: Option<f64> = text
        .parse()
        .ok()
        .filter(|factor| (0.05..=1.0).contains(factor));
    factor
        .map(Diversity::Factor)
        .ok_or_else(|| "expected a factor from 0.05 to 1, or `assumed`".to_owned())
}

fn read_percent(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|percent| (0.1..=50.0).contains(percent))
        .ok_or_else(|| "expected a share from 0.1 to 50 %".to_owned())
}

pub(super) fn execute(arguments: &Arguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let loaded = load_and_warn(&arguments.input, console)?;
    let site = &loaded.site;
    let machines = arguments.machines(site)?;
    let settings = PlacementSettings {
        diversity: arguments.diversity,
        starting_drop_limit_pct: arguments.start_drop_limit_pct,
        ..PlacementSettings::default()
    };
    let results: Vec<Placement> = machines
        .iter()
        .map(|new| place(site, &loaded.logs, new, &settings))
        .collect::<Result<_, _>>()?;
    let text = match arguments.output.format {
        Format::Text => arguments.text(site, &results)?,
        Format::Json => match &results[..] {
            [only] => export::json(only)?,
            several => export::json(&several)?,
        },
        Format::Csv => export::placement_csv(&results)?,
    };
    if let (Some(path), [new], [result]) = (&arguments.write, &machines[..], &results[..]) {
        arguments.write_list(site, path, new, result)?;
    }
    deliver(&text, &arguments.output, console)?;
    Ok(Outcome::default())
}

impl Arguments {
    fn machines(&self, site: &Site) -> anyhow::Result<Vec<NewMachine>> {
        if let Some(path) = &self.machines {
            let text = std::fs::read_to_string(path)
                .with_context(|| format!("cannot read `{}`", path.display()))?;
            let text = text.trim_start_matches('\u{feff}');
            let file = path.display().to_string();
            return Ok(read_new_machines(site, &file, text).map_err(CommandError::Input)?);
        }
        let one = read_new_machine(site, &self.plate.cells()).map_err(CommandError::Input)?;
        one.map(|one| vec![one])
            .ok_or_else(|| anyhow::anyhow!("no machine to place"))
    }

    /// The machine list with the machine, in a file that is not there yet.
    fn write_list(
        &self,
        site: &Site,
        path: &Path,
        new: &NewMachine,
        result: &Placement,
    ) -> anyhow::Result<()> {
        if path.exists() {
            anyhow::bail!(
                "`{}` is there already: `--write` makes a new file and writes over none",
                path.display()
            );
        }
        let chosen = match &self.detail {
            Some(wanted) => Some(find_place(result, wanted)?),
            None => result.places.iter().find(|place| place.fits),
        };
        let Some(chosen) = chosen else {
            anyhow::bail!(
                "no place fits `{}` as things are: name one with `--detail` to write it all the same",
                result.machine
            );
        };
        let list = site.folder.join("machines.csv");
        let text = std::fs::read_to_string(&list)
            .with_context(|| format!("cannot read `{}`", list.display()))?;
        let text = text.trim_start_matches('\u{feff}');
        let with = export::machine_list_with(site, text, new, chosen)?;
        write_whole(path, with.as_bytes())
    }

    fn text(&self, site: &Site, results: &[Placement]) -> Result<String, CommandError> {
        let mut parts = Vec::new();
        for result in results {
            parts.push(match &self.detail {
                Some(wanted) => {
                    export::placement_detail_text(site, result, find_place(result, wanted)?)
                }
                None => export::placement_text(site, result),
            });
        }
        Ok(parts.join("\n"))
    }
}

impl Plate {
    /// Column and value of each argument given.
    fn cells(&self) -> Vec<(&'static str, String)> {
        let name = self
            .machine
            .clone()
            .or_else(|| Some("new machine".to_owned()));
        [
            ("machine", &name),
            ("power_kw", &self.power_kw),
            ("apparent_kva", &self.apparent_kva),
            ("current_a", &self.current_a),
            ("shaft_kw", &self.shaft_kw),
            ("efficiency", &self.efficiency),
            ("efficiency_class", &self.efficiency_class),
            ("power_factor", &self.power_factor),
            ("utilisation_factor", &self.utilisation_factor),
            ("connection", &self.connection),
            ("third_harmonic_pct", &self.third_harmonic_pct),
            ("schedule", &self.schedule),
            ("meter", &self.meter),
            ("start", &self.start),
            ("start_ratio", &self.start_ratio),
            ("protective_device", &self.protective_device),
            ("cable_m", &self.cable_m),
            ("cable_mm2", &self.cable_mm2),
            ("candidates", &self.candidates),
        ]
        .into_iter()
        .filter_map(|(column, value)| Some((column, value.clone()?)))
        .collect()
    }
}

/// The place that `CIRCUIT:CONNECTION` names.
fn find_place<'r>(result: &'r Placement, wanted: &str) -> Result<&'r Place, CommandError> {
    let named = |place: &&Place| format!("{}:{}", place.circuit, place.connection) == wanted;
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
                format!("`{}` has no place `{wanted}`", result.machine),
            )
            .note("a place is a circuit or board and a connection: `C3:L2`")
            .maybe_help(crate::message::did_you_mean(
                wanted,
                names.iter().map(String::as_str),
            )),
        );
        CommandError::Input(InputErrors(messages))
    })
}
