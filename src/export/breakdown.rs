//! Energy by parts as text and CSV.

use super::balance_text::line;
use super::csv_table::{csv_text, number, text};
use super::sheet::{Sheet, column};
use super::text_table::{Side, plain, table};
use crate::demand::{EnergyPart, MeterEnergy};
use crate::units::format_kwh;

/// A table for each meter, with its sum.
#[must_use]
pub fn breakdown_text(parts: &[EnergyPart], meters: &[MeterEnergy]) -> String {
    let mut out = String::new();
    for meter in meters {
        let own: Vec<&EnergyPart> = parts.iter().filter(|part| part.meter == meter.id).collect();
        if own.is_empty() {
            continue;
        }
        let all: f64 = own.iter().map(|part| part.energy_kwh).sum();
        let mut rows: Vec<Vec<String>> = own.iter().map(|part| row(part, all)).collect();
        rows.push(vec![
            "together".to_owned(),
            format_kwh(all),
            String::new(),
            String::new(),
        ]);
        let (id, measures) = (plain(&meter.id), plain(&meter.measures));
        line(&mut out, &format!("\n{id} measures {measures}"));
        out.push_str(&table(
            &[
                ("", Side::Left),
                ("energy", Side::Right),
                ("share (%)", Side::Right),
                ("", Side::Left),
            ],
            &rows,
        ));
    }
    out
}

fn row(part: &EnergyPart, all: f64) -> Vec<String> {
    let share = if all == 0.0 {
        String::new()
    } else {
        format!("{:.1}", 100.0 * part.energy_kwh / all)
    };
    vec![
        plain(&part.key),
        format_kwh(part.energy_kwh),
        share,
        if part.complete {
            ""
        } else {
            "readings missing"
        }
        .to_owned(),
    ]
}

/// The parts as a table.
pub(super) fn breakdown_sheet(parts: &[EnergyPart]) -> Sheet {
    let rows = parts.iter().map(|part| {
        vec![
            part.meter.as_str().into(),
            part.key.as_str().into(),
            part.energy_kwh.into(),
            part.cost.into(),
            part.complete.into(),
        ]
    });
    Sheet {
        name: "breakdown",
        title: "Energy by parts; parts without all their readings are marked".to_owned(),
        columns: vec![
            column("meter", "meter", 0),
            column("key", "part", 0),
            column("energy_kwh", "energy (kWh)", 2),
            column("cost", "cost", 2),
            column("complete", "complete", 0),
        ],
        rows: rows.collect(),
    }
}

/// One row for each part.
///
/// # Errors
///
/// Those of the CSV writer, which memory does not provoke.
pub fn breakdown_csv(parts: &[EnergyPart]) -> Result<String, csv::Error> {
    let header = ["meter", "key", "energy_kwh", "cost", "complete"];
    let rows: Vec<Vec<String>> = parts
        .iter()
        .map(|part| {
            vec![
                text(&part.meter),
                text(&part.key),
                number(Some(part.energy_kwh)),
                number(part.cost),
                if part.complete { "yes" } else { "no" }.to_owned(),
            ]
        })
        .collect();
    csv_text(&header, &rows)
}
