//! The sheet `Tariff` of a workbook: a row for each price, as `[[tariff]]` of site.toml.

use super::sheet_rows::{CellLines, each_row, toml_line};
use crate::declared::{SheetColumn, SiteSheet};
use message::{Message, Messages, Place, did_you_mean};
use user_tables::TableFile;

/// A row of the sheet.
struct PriceRow {
    place: Place,
    cells: Vec<(&'static SheetColumn, String, Place)>,
}

impl PriceRow {
    fn text(&self, key: &str) -> Option<&str> {
        let cell = self.cells.iter().find(|(column, ..)| column.key == key);
        cell.map(|(_, text, _)| text.as_str())
    }

    /// Where a cell is; of one that is not there, the row.
    fn place(&self, key: &str) -> Place {
        let cell = self.cells.iter().find(|(column, ..)| column.key == key);
        cell.map_or_else(|| self.place.clone(), |(.., place)| place.clone())
    }

    fn is(&self, charge: &str) -> bool {
        let own = self.text("charge").unwrap_or_default();
        own.trim().eq_ignore_ascii_case(charge)
    }

    fn has_times(&self) -> bool {
        ["days", "from", "to", "months"]
            .iter()
            .any(|key| self.text(key).is_some())
    }

    /// What a price is for, such as `kVA month`.
    fn per(&self) -> String {
        let words = self.text("per").unwrap_or_default().to_lowercase();
        let words = words.split(|c: char| !c.is_alphabetic() && c != '%');
        words
            .filter(|word| !word.is_empty() && *word != "and")
            .collect::<Vec<_>>()
            .join(" ")
    }
}

/// Charges, what each can be priced by, and the key for its price.
const CHARGES: [(&str, &[(&str, &str)]); 9] = [
    (
        "standing",
        &[("day", "standing_per_day"), ("month", "standing_per_month")],
    ),
    ("energy", &[("kwh", "rate_per_kwh")]),
    (
        "demand",
        &[
            ("kw month", "rate_per_month"),
            ("kva month", "rate_per_month"),
            ("kw day", "rate_per_day"),
            ("kva day", "rate_per_day"),
        ],
    ),
    (
        "capacity",
        &[
            ("kva day", "rate_per_kva_day"),
            ("kva month", "rate_per_kva_month"),
        ],
    ),
    (
        "excess capacity",
        &[
            ("kva day", "excess_rate_per_kva_day"),
            ("kva month", "excess_rate_per_kva_month"),
        ],
    ),
    ("reactive", &[("kvarh", "rate_per_kvarh")]),
    (
        "levy",
        &[
            ("kwh", "rate"),
            ("day", "rate"),
            ("month", "rate"),
            ("%", "rate"),
        ],
    ),
    ("tax", &[("%", "pct")]),
    ("export", &[("kwh", "rate_per_kwh")]),
];

/// The rows as `[[tariff]]`, one for each date from which prices hold.
pub(crate) fn write(
    sheet: &SiteSheet,
    file: &TableFile,
    lines: &mut CellLines,
    messages: &mut Messages,
) {
    let mut rows: Vec<PriceRow> = Vec::new();
    each_row(sheet, file, messages, |line, columns| {
        let cells = columns.iter().filter_map(|(index, column)| {
            Some((*column, line.cell(*index)?.to_owned(), line.place(*index)))
        });
        rows.push(PriceRow {
            place: line.whole(),
            cells: cells.collect(),
        });
    });
    rows.retain(|row| is_understood(row, messages));
    // A row without a date has that of the row above.
    let mut groups: Vec<(Option<String>, Vec<PriceRow>)> = Vec::new();
    for row in rows {
        let begins = row.text("begins").map(ToOwned::to_owned);
        let begins = begins.or_else(|| groups.last().and_then(|(begins, _)| begins.clone()));
        match groups.iter_mut().find(|(own, _)| *own == begins) {
            Some((_, known)) => known.push(row),
            None => groups.push((begins, vec![row])),
        }
    }
    for (_, rows) in &groups {
        write_tariff(rows, lines);
    }
}

/// Is the charge known, and can it be priced so? What a tariff has once is written once.
fn is_understood(row: &PriceRow, messages: &mut Messages) -> bool {
    let known = || CHARGES.iter().map(|(charge, _)| *charge);
    let Some((charge, ways)) = CHARGES.iter().find(|(charge, _)| row.is(charge)) else {
        let text = row.text("charge").unwrap_or_default();
        messages.push(
            Message::error(
                "tariff-row",
                format!("`{text}` is not a charge of a tariff"),
            )
            .at(
                row.place("charge"),
                format!("expected {}", known().collect::<Vec<_>>().join(", ")),
            )
            .maybe_help(did_you_mean(text, known())),
        );
        return false;
    };
    if !ways.iter().any(|(per, _)| *per == row.per()) {
        let ways: Vec<&str> = ways.iter().map(|(per, _)| *per).collect();
        messages.push(
            Message::error(
                "tariff-row",
                format!("a price of {charge} is by something else"),
            )
            .at(
                row.place("per"),
                format!("expected in the column `Per` {}", ways.join(", ")),
            ),
        );
        return false;
    }
    true
}

fn write_tariff(rows: &[PriceRow], lines: &mut CellLines) {
    lines.push("[[tariff]]", rows[0].place.clone());
    let of = |charge: &'static str| rows.iter().filter(move |row| row.is(charge));
    if let Some(first) = rows.iter().find(|row| row.text("begins").is_some()) {
        copy(first, &[("begins", "from")], lines);
    }
    for row in of("standing") {
        price(row, lines);
    }
    let several = of("energy").count() > 1;
    for row in of("energy") {
        band(row, "[[tariff.energy]]", several, lines);
    }
    for row in of("demand") {
        lines.push("[[tariff.demand]]", row.place.clone());
        let unit = if row.per().starts_with("kva") {
            "kVA"
        } else {
            "kW"
        };
        lines.push(&format!("per = \"{unit}\""), row.place("per"));
        copy(row, &[("name", "charge")], lines);
        copy(row, &TIMES, lines);
        price(row, lines);
    }
    if let Some(first) = of("capacity").chain(of("excess capacity")).next() {
        lines.push("[tariff.capacity]", first.place.clone());
        for row in of("capacity") {
            copy(row, &[("quantity", "kva")], lines);
            price(row, lines);
        }
        for row in of("excess capacity") {
            price(row, lines);
        }
    }
    for row in of("reactive") {
        lines.push("[[tariff.reactive]]", row.place.clone());
        copy(
            row,
            &[("name", "charge"), ("quantity", "free_share_of_kwh")],
            lines,
        );
        if row.text("quantity").is_none() {
            lines.push("free_share_of_kwh = 0", row.place.clone());
        }
        copy(row, &TIMES, lines);
        price(row, lines);
    }
    for row in of("levy") {
        lines.push("[[tariff.levies]]", row.place.clone());
        copy(row, &[("name", "levy")], lines);
        let per = row.per().replace("kwh", "kWh");
        lines.push(&format!("per = \"{per}\""), row.place("per"));
        price(row, lines);
    }
    for row in of("tax") {
        lines.push("[[tariff.taxes]]", row.place.clone());
        copy(row, &[("name", "tax")], lines);
        price(row, lines);
    }
    let several = of("export").count() > 1;
    for row in of("export") {
        band(row, "[[tariff.export.bands]]", several, lines);
    }
}

const TIMES: [(&str, &str); 4] = [
    ("days", "days"),
    ("months", "months"),
    ("from", "from"),
    ("to", "to"),
];

/// A price of energy; of several, one without times is for all other times.
fn band(row: &PriceRow, table: &str, several: bool, lines: &mut CellLines) {
    lines.push(table, row.place.clone());
    if row.text("name").is_none() {
        lines.push("band = \"all\"", row.place.clone());
    }
    copy(row, &[("name", "band")], lines);
    copy(row, &TIMES, lines);
    if several && !row.has_times() {
        lines.push("otherwise = true", row.place.clone());
    }
    price(row, lines);
}

/// The rate, under the key for what it is by.
fn price(row: &PriceRow, lines: &mut CellLines) {
    let charge = CHARGES.iter().find(|(charge, _)| row.is(charge));
    let per = row.per();
    let way = charge.and_then(|(_, ways)| ways.iter().find(|(own, _)| *own == per));
    if let Some((_, key)) = way {
        copy(row, &[("rate", key)], lines);
    }
}

/// Cells of a row as lines of site.toml.
fn copy(row: &PriceRow, keys: &[(&str, &str)], lines: &mut CellLines) {
    for (own, key) in keys {
        let cell = row.cells.iter().find(|(column, ..)| column.key == *own);
        if let Some((column, text, place)) = cell {
            lines.push(&toml_line(key, column, text), place.clone());
        }
    }
}
