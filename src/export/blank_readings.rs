//! A blank sheet for a round of clamp-meter readings, as a file to fill in: CSV or workbook. `check` reads both back.

use rust_xlsxwriter::{Color, Format, FormatBorder, Workbook, XlsxError};

use super::site_workbook::dated;
use site::Site;
use tables::plain;

const HEADER: [&str; 8] = ["at", "round", "date", "time", "l1_a", "l2_a", "l3_a", "n_a"];
const TITLES: [&str; 9] = [
    "Place", "Round", "Date", "Time", "L1 (A)", "L2 (A)", "L3 (A)", "N (A)", "x_note",
];

/// readings.csv with a row for each place.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn blank_readings_csv(site: &Site, with_machines: bool) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for place in site.walk(with_machines) {
        let mut row = [""; HEADER.len()];
        row[0] = site.measured_name(place);
        writer.write_record(row)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// readings.xlsx: boxes for the conductors that each place has, the others grey.
///
/// # Errors
///
/// Those of the workbook's writer: more rows than a sheet holds.
pub fn blank_readings_workbook(site: &Site, with_machines: bool) -> Result<Vec<u8>, XlsxError> {
    let mut book = dated(Workbook::new())?;
    let sheet = book.add_worksheet().set_name("Readings")?;
    let head = Format::new()
        .set_bold()
        .set_border_bottom(FormatBorder::Medium);
    let open = Format::new().set_border(FormatBorder::Thin);
    let closed = Format::new().set_background_color(Color::RGB(0x00D9_D9D9));
    let day = open.clone().set_num_format("yyyy-mm-dd");
    let clock = open.clone().set_num_format("hh:mm");
    for (column, title) in (0..).zip(TITLES) {
        sheet.write_string_with_format(0, column, title, &head)?;
    }
    sheet.set_column_width(0, 30)?.set_column_width(2, 12)?;
    for (row, place) in (1..).zip(site.walk(with_machines)) {
        sheet.write_string(row, 0, plain(site.measured_name(place)))?;
        sheet.write_blank(row, 1, &open)?;
        sheet.write_blank(row, 2, &day)?;
        sheet.write_blank(row, 3, &clock)?;
        for (column, is_there) in (4..).zip(site.conductors_at(place)) {
            sheet.write_blank(row, column, if is_there { &open } else { &closed })?;
        }
        sheet.write_blank(row, 8, &open)?;
    }
    sheet.set_freeze_panes(1, 1)?;
    sheet.set_landscape().set_print_fit_to_pages(1, 0);
    sheet.set_repeat_rows(0, 0)?;
    book.save_to_buffer()
}
