//! The tables of what sets the demand and of what runs when nobody is there.

use super::board_energy::board_energy;
use super::conductor::supply_meter;
use super::table::{Head, Table};
use demand::EnergyResult;
use export::{Cell, Sheet, energy_sheets};

/// A table with how its figures came about.
#[derive(Debug)]
pub(super) struct StudyTable {
    pub(super) table: Table,
    pub(super) method: String,
}

/// Highest blocks of the supply, diversity, standing load, power factor, baseline, days that stand out.
pub(super) fn study_tables(energy: &EnergyResult) -> Vec<StudyTable> {
    let main = supply_meter(energy)
        .or_else(|| energy.meters.first())
        .map_or("", |meter| meter.id.as_str());
    let is_main = |row: &[Cell]| matches!(&row[0], Cell::Text(meter) if meter == main);
    energy_sheets(energy)
        .into_iter()
        .filter_map(|sheet| match sheet.name {
            "highest-blocks" => Some(sheet.only(is_main)),
            "diversity"
            | "standing-load"
            | "power-factor"
            | "carbon"
            | "baseline"
            | "baseline-fit"
            | "energy-index"
            | "days-that-stand-out" => Some(sheet),
            _ => None,
        })
        .filter(|sheet| !sheet.rows.is_empty())
        .map(|sheet| view(&sheet))
        .chain(board_energy(energy))
        .collect()
}

fn view(sheet: &Sheet) -> StudyTable {
    let (title, method) = sheet.title_and_method();
    let heads = sheet.columns.iter().enumerate().map(|(index, column)| {
        let mut text = column.head.replace('(', "[").replace(')', "]");
        if let Some(first) = text.get(..1).map(str::to_uppercase) {
            text.replace_range(..1, &first);
        }
        Head {
            text,
            number: sheet.is_number(index),
        }
    });
    StudyTable {
        table: Table {
            caption: title.to_owned(),
            head: heads.collect(),
            rows: sheet.shown(),
        },
        method: sentence(method),
    }
}

/// With a capital and a full stop.
fn sentence(words: &str) -> String {
    let mut text = words.to_owned();
    if let Some(first) = text.get(..1).map(str::to_uppercase) {
        text.replace_range(..1, &first);
    }
    if !text.is_empty() && !text.ends_with('.') {
        text.push('.');
    }
    text
}
