//! The user's machine list with new machines added.

use placement::{PlacedMachine, RankedPoint};
use site::{Connection, NewMachine, ProtectiveDevice, Rating, Site};
use user_tables::list_separator;

/// A new machine and where it goes.
#[derive(Clone, Copy, Debug)]
pub struct Addition<'a> {
    /// What it is.
    pub new: &'a NewMachine,
    /// The circuit or board.
    pub circuit: &'a str,
    /// The connection there.
    pub connection: Connection,
    /// Its protective device.
    pub device: Option<ProtectiveDevice>,
    /// Cross-sectional area of its own cable. (mm²)
    pub cable_mm2: Option<f64>,
}

impl<'a> Addition<'a> {
    /// At a connection point of its own ranking.
    #[must_use]
    pub fn at(new: &'a NewMachine, place: &'a RankedPoint) -> Addition<'a> {
        Addition {
            new,
            circuit: &place.circuit,
            connection: place.connection,
            device: place.device,
            cable_mm2: place.cable_mm2,
        }
    }

    /// Where it was placed together with others.
    #[must_use]
    pub fn placed(new: &'a NewMachine, placed: &'a PlacedMachine) -> Addition<'a> {
        Addition {
            new,
            circuit: &placed.circuit,
            connection: placed.connection,
            device: placed.device,
            cable_mm2: placed.cable_mm2,
        }
    }
}

/// The list with a row for each new machine. Columns that the list lacks are added at the end; all other cells are
/// unchanged.
///
/// # Errors
///
/// Those of reading and writing CSV.
pub fn machine_list_with(
    site: &Site,
    list: &str,
    additions: &[Addition<'_>],
) -> Result<String, csv::Error> {
    let separator = list_separator(list);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(list.as_bytes());
    let mut records: Vec<Vec<String>> = Vec::new();
    for record in reader.records() {
        records.push(record?.iter().map(str::to_owned).collect());
    }
    let mut header = records.first().cloned().unwrap_or_default();
    let rows: Vec<Vec<(&str, String)>> = additions
        .iter()
        .map(|addition| cells(site, addition))
        .collect();
    for (column, _) in rows.iter().flatten() {
        if !header.iter().any(|name| name.trim() == *column) {
            header.push((*column).to_owned());
        }
    }
    if let Some(first) = records.first_mut() {
        first.clone_from(&header);
    }
    for cells in &rows {
        let cell = |name: &String| {
            let cell = cells.iter().find(|(column, _)| name.trim() == *column);
            let text = cell.map_or("", |(_, text)| text.as_str());
            // A list separated by semicolons has decimal commas.
            if separator == b';' && text.parse::<f64>().is_ok() {
                text.replace('.', ",")
            } else {
                text.to_owned()
            }
        };
        records.push(header.iter().map(cell).collect());
    }
    let mut writer = csv::WriterBuilder::new()
        .delimiter(separator)
        .from_writer(Vec::new());
    for mut record in records {
        record.resize(header.len().max(record.len()), String::new());
        writer.write_record(&record)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Column and value of each known property of the machine.
fn cells(site: &Site, addition: &Addition<'_>) -> Vec<(&'static str, String)> {
    let machine = &addition.new.machine;
    let mut cells = vec![
        ("machine", machine.name.clone()),
        ("circuit", addition.circuit.to_owned()),
        ("connection", addition.connection.to_string()),
    ];
    match machine.rating {
        Rating::Power(kw) => cells.push(("power_kw", kw.to_string())),
        Rating::Apparent(kva) => cells.push(("apparent_kva", kva.to_string())),
        Rating::Current(amps) => cells.push(("current_a", amps.to_string())),
        Rating::Shaft {
            kilowatts,
            efficiency,
        } => {
            cells.push(("shaft_kw", kilowatts.to_string()));
            cells.push(("efficiency", efficiency.to_string()));
        }
    }
    let mut put = |column, is_given: bool, text: String| {
        if is_given {
            cells.push((column, text));
        }
    };
    let side = if machine.leading { " lead" } else { "" };
    put(
        "power_factor",
        machine.power_factor < 1.0,
        format!("{}{side}", machine.power_factor),
    );
    put(
        "utilisation_factor",
        machine.utilisation_factor < machine.load_share,
        machine.utilisation_factor.to_string(),
    );
    put(
        "load_share",
        machine.load_share < 1.0,
        machine.load_share.to_string(),
    );
    put(
        "neutral",
        machine.connection.has_neutral() && !machine.has_neutral,
        "no".to_owned(),
    );
    put(
        "third_harmonic_pct",
        machine.third_harmonic > 0.0,
        (100.0 * machine.third_harmonic).to_string(),
    );
    let schedule = machine
        .schedule
        .map(|index| site.schedules[index].name.clone());
    put("schedule", schedule.is_some(), schedule.unwrap_or_default());
    put(
        "quantity",
        machine.quantity > 1,
        machine.quantity.to_string(),
    );
    let meter = machine.meter.map(|index| site.meters[index].id.clone());
    put("meter", meter.is_some(), meter.unwrap_or_default());
    put(
        "protective_device",
        addition.device.is_some(),
        addition
            .device
            .map(|device| device.to_string())
            .unwrap_or_default(),
    );
    cells
}
