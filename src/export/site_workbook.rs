//! A site in one workbook to begin with: sheets with headers, units, notes, choices and an example row that is not read.

use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, DocProperties, ExcelDateTime, Format, FormatBorder,
    Formula, Note, Workbook, Worksheet, XlsxError,
};

use site::{CONNECTIONS, SITE_SHEETS, SUPPLY_ROWS, YES_NO};

/// Rows in which choices are offered.
const LAST_ROW: u32 = 500;
/// A row that begins so is not read.
const EXAMPLE: &str = "Example: ";

/// A column with the header, width, example, note, and the choices or the range that they are in.
struct GridColumn {
    header: &'static str,
    example: &'static str,
    note: &'static str,
    choices: &'static [&'static str],
    range: &'static str,
}

const fn grid(header: &'static str, example: &'static str, note: &'static str) -> GridColumn {
    GridColumn {
        header,
        example,
        note,
        choices: &[],
        range: "",
    }
}

impl GridColumn {
    const fn of(self, choices: &'static [&'static str]) -> GridColumn {
        GridColumn { choices, ..self }
    }

    const fn from(self, range: &'static str) -> GridColumn {
        GridColumn { range, ..self }
    }
}

const BOARDS: &str = "=Boards!$A$3:$A$200";
const CIRCUITS: &str = "=Circuits!$A$3:$A$500";
const SCHEDULES: &str = "=Schedules!$A$3:$A$100";

const MACHINES: [GridColumn; 16] = [
    grid("Machine", "Heater", "Its own name. Needed."),
    grid("Circuit", "supply", "Where it is connected: a circuit, a board, or supply. Needed.").from(CIRCUITS),
    grid("Phase", "L2", "L1, L2 or L3 to neutral; L1-L2 between two phases; 3ph; any where the plan may choose. Needed.").of(CONNECTIONS),
    grid("Current (A)", "8.7", "Current per phase at rated load. This, or a power in kW. Needed."),
    grid("Power (kW)", "", "Electrical input at rated load, instead of the current."),
    grid("Power factor", "1", "0 to 1; empty: 1."),
    grid("Utilisation factor", "0.6", "Mean load over its schedule as a share of its rating, 0 to 1; empty: 1."),
    grid("Load share", "", "Share of its rating while it is on, 0 to 1; empty: 1."),
    grid("Third harmonic (%)", "", "Share of the fundamental current, such as 30 for 30 %; empty: 0."),
    grid("Schedule", "", "When it runs; empty: always.").from(SCHEDULES),
    grid("Quantity", "1", "Equal machines in this row; empty: 1."),
    grid("Movable", "yes", "May its phase be changed? Empty: yes for one and two phases, no for 3ph.").of(YES_NO),
    grid("Neutral", "", "no for a three-wire load; empty: yes.").of(YES_NO),
    grid("Role", "", "generation for a photovoltaic inverter or generator; empty: load.").of(&["load", "generation"]),
    grid("Protective device", "C 16", "Its own, such as gG 16, C 16, BS 3036 15; may stay empty."),
    grid("Notes", "", "Your own."),
];

const READINGS: [GridColumn; 9] = [
    grid(
        "Place",
        "supply",
        "supply, or the name of a board, circuit or machine.",
    )
    .from(CIRCUITS),
    grid(
        "Round",
        "1",
        "A number for each round; empty: readings less than 30 minutes apart are one round.",
    ),
    grid("Date", "2026-03-09", "Empty: as in the row above."),
    grid("Time", "10:30", "Local time; empty: as in the row above."),
    grid(
        "L1 (A)",
        "31.2",
        "rms; negative where it flows back to the source.",
    ),
    grid("L2 (A)", "28.5", ""),
    grid("L3 (A)", "15.1", ""),
    grid("N (A)", "14.4", "Neutral."),
    grid("x_note", "", "Your own."),
];

/// A site in one workbook with the given name.
///
/// # Errors
///
/// Those of the workbook's writer.
pub fn starter_workbook(name: &str) -> Result<Vec<u8>, XlsxError> {
    let mut book = dated(Workbook::new())?;
    supply(book.add_worksheet().set_name("Supply")?, name)?;
    let columns = |sheet: &str| -> Vec<GridColumn> {
        let found = SITE_SHEETS.iter().find(|known| known.name == sheet);
        let columns = found.map_or(&[][..], |known| known.columns);
        let range = |key: &str| match key {
            "fed_from" | "board" => BOARDS,
            _ => "",
        };
        let grid = columns.iter().map(|column| GridColumn {
            header: column.header,
            example: column.example,
            note: column.note,
            choices: column.choices,
            range: range(column.key),
        });
        grid.collect()
    };
    fill(book.add_worksheet().set_name("Boards")?, &columns("Boards"))?;
    fill(
        book.add_worksheet().set_name("Circuits")?,
        &columns("Circuits"),
    )?;
    fill(book.add_worksheet().set_name("Machines")?, &MACHINES)?;
    fill(book.add_worksheet().set_name("Readings")?, &READINGS)?;
    fill(
        book.add_worksheet().set_name("Schedules")?,
        &columns("Schedules"),
    )?;
    fill(book.add_worksheet().set_name("Tariff")?, &columns("Tariff"))?;
    book.save_to_buffer()
}

/// With a fixed date: the same content gives the same bytes.
pub(super) fn dated(mut book: Workbook) -> Result<Workbook, XlsxError> {
    let epoch = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&epoch));
    Ok(book)
}

fn supply(sheet: &mut Worksheet, name: &str) -> Result<(), XlsxError> {
    let head = header_format();
    for (column, title) in (0..).zip(["What", "Value", "Note"]) {
        sheet.write_string_with_format(0, column, title, &head)?;
    }
    sheet
        .set_column_width(0, 26)?
        .set_column_width(1, 22)?
        .set_column_width(2, 84)?;
    let entry = Format::new().set_border(FormatBorder::Thin);
    let mut row = 1;
    for line in SUPPLY_ROWS {
        sheet.write_string(row, 0, line.header)?;
        let value = if line.key == "site.name" {
            name
        } else {
            line.example
        };
        write(sheet, row, 1, value, &entry)?;
        sheet.write_string(row, 2, line.note)?;
        if !line.choices.is_empty() {
            sheet.add_data_validation(row, 1, row, 1, &choices(line.choices)?)?;
        }
        row += 1;
    }
    let quiet = Format::new().set_italic();
    for (line, text) in (row + 1..).zip([
        "Needed: the voltage and limit above, and for each load on the sheet Machines its name, circuit, phase and current.",
        "Boards, Circuits, Readings, Schedules and Tariff may stay empty. A row that begins with `Example:` is not read.",
        "The notes at the headers say what each column means, and what is taken where a cell is empty.",
    ]) {
        sheet.write_string_with_format(line, 0, text, &quiet)?;
    }
    Ok(())
}

fn header_format() -> Format {
    Format::new()
        .set_bold()
        .set_text_wrap()
        .set_border_bottom(FormatBorder::Medium)
}

fn fill(sheet: &mut Worksheet, columns: &[GridColumn]) -> Result<(), XlsxError> {
    let (head, example) = (header_format(), Format::new().set_italic());
    for (index, column) in (0_u16..).zip(columns) {
        sheet.write_string_with_format(0, index, column.header, &head)?;
        sheet.set_column_width(index, if index == 0 { 28 } else { 14 })?;
        if !column.note.is_empty() {
            let note = Note::new(column.note)
                .set_author("tapoff")
                .add_author_prefix(false);
            sheet.insert_note(0, index, &note)?;
        }
        if index == 0 {
            let text = format!("{EXAMPLE}{}", column.example);
            sheet.write_string_with_format(1, index, text, &example)?;
        } else {
            write(sheet, 1, index, column.example, &example)?;
        }
        if !column.choices.is_empty() {
            sheet.add_data_validation(1, index, LAST_ROW, index, &choices(column.choices)?)?;
        } else if !column.range.is_empty() {
            sheet.add_data_validation(1, index, LAST_ROW, index, &from_range(column.range))?;
        }
    }
    sheet.set_row_height(0, 32)?;
    sheet.set_freeze_panes(1, 1)?;
    Ok(())
}

/// A number as a number, any other text as it is.
fn write(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    text: &str,
    format: &Format,
) -> Result<(), XlsxError> {
    match text.parse::<f64>() {
        Ok(number) => sheet.write_number_with_format(row, column, number, format)?,
        Err(_) if text.is_empty() => sheet.write_blank(row, column, format)?,
        Err(_) => sheet.write_string_with_format(row, column, text, format)?,
    };
    Ok(())
}

/// Words of the user's own stay possible: they are read, or asked about.
fn choices(words: &[&str]) -> Result<DataValidation, XlsxError> {
    Ok(DataValidation::new()
        .allow_list_strings(words)?
        .set_error_style(DataValidationErrorStyle::Information))
}

fn from_range(range: &str) -> DataValidation {
    DataValidation::new()
        .allow_list_formula(Formula::new(range))
        .set_error_style(DataValidationErrorStyle::Information)
}
