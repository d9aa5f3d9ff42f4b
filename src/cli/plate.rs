//! The rating plate of a new machine as arguments: one for each column of the machine list.

use clap::{Arg, ArgMatches, Args, Command, FromArgMatches};

/// Columns and values that were given; read by the same rules as a row of the machine list.
#[derive(Clone, Debug, Default)]
pub(super) struct Plate {
    cells: Vec<(&'static str, String)>,
}

/// One column as an argument.
struct PlateColumn {
    argument: &'static str,
    name: &'static str,
    value: &'static str,
    help: &'static str,
}

const fn column(
    argument: &'static str,
    name: &'static str,
    value: &'static str,
    help: &'static str,
) -> PlateColumn {
    PlateColumn {
        argument,
        name,
        value,
        help,
    }
}

const COLUMNS: [PlateColumn; 23] = [
    column("name", "machine", "NAME", "Name of the machine"),
    column(
        "power-kw",
        "power_kw",
        "KILOWATTS",
        "Electrical input at rated load, all phases together",
    ),
    column(
        "apparent-kva",
        "apparent_kva",
        "KILOVOLTAMPERES",
        "Apparent power at rated load, all phases together",
    ),
    column(
        "current-a",
        "current_a",
        "AMPERES",
        "Rated current per phase, rms with its harmonics",
    ),
    column(
        "shaft-kw",
        "shaft_kw",
        "KILOWATTS",
        "Mechanical output of a motor",
    ),
    column(
        "efficiency",
        "efficiency",
        "NUMBER",
        "Efficiency of the motor, 0 to 1",
    ),
    column(
        "efficiency-class",
        "efficiency_class",
        "CLASS",
        "Efficiency class of the motor: IE1, IE2 or IE3 [default: IE3, listed under the assumptions]",
    ),
    column(
        "power-factor",
        "power_factor",
        "NUMBER",
        "Displacement power factor, 0 to 1, lagging unless it ends in ` lead`",
    ),
    column(
        "utilisation-factor",
        "utilisation_factor",
        "NUMBER",
        "Mean load over its schedule as a share of its rating, 0 to 1",
    ),
    column(
        "load-share",
        "load_share",
        "NUMBER",
        "Share of its rating that it draws while it is on, 0 to 1 [default: 1]",
    ),
    column(
        "neutral",
        "neutral",
        "YES-NO",
        "no: a three-wire load, never any neutral current [default: yes]",
    ),
    column(
        "connection",
        "connection",
        "CONNECTION",
        "any, any-2, 3ph, L1, L2, L3, L1-L2, L2-L3 or L3-L1 [default: any]",
    ),
    column(
        "role",
        "role",
        "ROLE",
        "load, or generation for what gives power, such as a photovoltaic inverter [default: load]",
    ),
    column(
        "third-harmonic-pct",
        "third_harmonic_pct",
        "PERCENT",
        "Third harmonic as a share of the fundamental current",
    ),
    column(
        "schedule",
        "schedule",
        "SCHEDULE",
        "Name of the schedule in site.toml that it runs to [default: always]",
    ),
    column(
        "quantity",
        "quantity",
        "NUMBER",
        "Number of identical machines, placed together [default: 1]",
    ),
    column(
        "meter",
        "meter",
        "METER",
        "Meter whose log is its load profile",
    ),
    column(
        "start",
        "start",
        "METHOD",
        "Starting method: direct, star-delta, soft or none [default: direct with `--shaft-kw`, else none]",
    ),
    column(
        "start-ratio",
        "start_ratio",
        "NUMBER",
        "Starting current as a multiple of the rated current",
    ),
    column(
        "device",
        "protective_device",
        "DEVICE",
        "Its own protective device, such as `gG 16` [default: proposed]",
    ),
    column(
        "cable-m",
        "cable_m",
        "METRES",
        "Length of its own copper cable, one way",
    ),
    column(
        "cable-mm2",
        "cable_mm2",
        "MM2",
        "Cross-sectional area of its own cable [default: proposed from the site's `[[cable_size]]`]",
    ),
    column(
        "candidates",
        "candidates",
        "IDS",
        "Circuits and boards that may feed it, separated by commas [default: all]",
    ),
];

impl Plate {
    /// Column and value of each argument given; a machine without a name is called `new machine`.
    pub(super) fn cells(&self) -> Vec<(&'static str, String)> {
        let mut cells = self.cells.clone();
        if !cells.iter().any(|(column, _)| *column == "machine") {
            cells.insert(0, ("machine", "new machine".to_owned()));
        }
        cells
    }
}

impl Args for Plate {
    fn augment_args(command: Command) -> Command {
        command.args(COLUMNS.iter().map(|column| {
            Arg::new(column.name)
                .long(column.argument)
                .value_name(column.value)
                .help(column.help)
                .help_heading("New machine")
                .allow_hyphen_values(true)
        }))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for Plate {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let cell = |column: &PlateColumn| {
            let value = matches.get_one::<String>(column.name)?;
            Some((column.name, value.clone()))
        };
        Ok(Plate {
            cells: COLUMNS.iter().filter_map(cell).collect(),
        })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}
