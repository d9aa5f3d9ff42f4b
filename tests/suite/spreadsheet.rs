//! A machine list kept as a spreadsheet is read like the text, its faults pointing at sheet and cell.

use std::fs;
use std::io::Write;

use rust_xlsxwriter::Workbook;

use crate::program::{MACHINES, Workshop, project};

/// The five machines of the text list on a sheet, numbers as numbers, from the given row on.
fn workbook(first_row: u32, change: impl Fn(&mut Vec<Vec<String>>)) -> Vec<u8> {
    let mut rows: Vec<Vec<String>> = MACHINES
        .lines()
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect();
    change(&mut rows);
    let mut workbook = Workbook::new();
    let notes = workbook.add_worksheet().set_name("notes").expect("a name");
    notes.write(0, 0, "anything").expect("a cell");
    let sheet = workbook
        .add_worksheet()
        .set_name("Machines")
        .expect("a name");
    for (row, cells) in (first_row..).zip(&rows) {
        for (column, cell) in (0..).zip(cells) {
            match cell.parse::<f64>() {
                Ok(number) => sheet.write(row, column, number).expect("a cell"),
                Err(_) => sheet.write(row, column, cell).expect("a cell"),
            };
        }
    }
    workbook.save_to_buffer().expect("a workbook")
}

#[test]
fn a_workbook_gives_the_same_plan_as_the_text() {
    let text = Workshop::new();
    let sheet = Workshop::new()
        .without("machines.csv")
        .with("machines.xlsx", workbook(0, |_| {}));
    let plan = ["balance", "SITE", "--format", "json"];
    assert_eq!(sheet.json(&plan), text.json(&plan));
}

/// Written by hand after OpenDocument 1.2, part 1: a repeated empty row, a number, a word.
#[test]
fn an_opendocument_sheet_is_read() {
    let ods =
        fs::read(project().join("tests/fixtures/machines.ods")).expect("the fixture is there");
    let workshop = Workshop::new()
        .without("machines.csv")
        .with("machines.ods", ods);
    let plan = workshop.json(&["balance", "SITE", "--format", "json"]);
    let names: Vec<&String> = plan["allocation"]
        .as_object()
        .expect("an object")
        .keys()
        .collect();
    assert_eq!(names, ["Pillar drill", "Heater; east"]);
}

#[test]
fn faults_point_at_sheet_and_cell() {
    let sheet = Workshop::new().without("machines.csv").with(
        "machines.xlsx",
        workbook(2, |rows| {
            let column = rows[0]
                .iter()
                .position(|name| name == "connection")
                .expect("a column");
            rows[2][column] = "L4".to_owned();
        }),
    );
    let run = sheet.run(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    let column = MACHINES
        .lines()
        .next()
        .expect("a header")
        .split(',')
        .position(|name| name == "connection");
    let letter = char::from(b'A' + column.expect("a column") as u8);
    // Two empty rows, the header, one sound row: the fault stands in row 5.
    let place = format!("machines.xlsx, sheet `Machines`, cell {letter}5, `L4`");
    assert!(run.err.contains(&place), "{}", run.err);
    assert!(run.err.contains("L4"), "{}", run.err);
}

#[test]
fn two_lists_and_no_list_are_refused() {
    let both = Workshop::new().with("machines.xlsx", workbook(0, |_| {}));
    let run = both.run(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    assert!(run.err.contains("(two-machine-lists)"), "{}", run.err);
    for bytes in [&b"PK\x03\x04 not a workbook"[..], b"", b"machine,circuit"] {
        let broken = Workshop::new()
            .without("machines.csv")
            .with("machines.xlsx", bytes);
        let run = broken.run(&["check", "SITE"]);
        assert_eq!(run.status, 2);
        assert!(run.err.contains("(not-a-spreadsheet)"), "{}", run.err);
    }
}

/// A workbook of two kilobytes, with a word in its very last cell.
#[test]
fn a_sheet_that_spans_a_whole_grid_is_refused() {
    let workshop = Workshop::new().without("machines.csv");
    let mut workbook = Workbook::new();
    let sheet = workbook
        .add_worksheet()
        .set_name("Machines")
        .expect("a name");
    sheet.write(0, 0, "machine").expect("a cell");
    sheet.write(1_048_575, 16_383, "x").expect("a cell");
    let bytes = workbook.save_to_buffer().expect("a workbook");
    let run = workshop
        .with("machines.xlsx", bytes)
        .run(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    assert!(
        run.err.contains(
            "the sheet `Machines` of `machines.xlsx` cannot be read: it spans 17179869184 cells"
        ),
        "{}",
        run.err
    );
}

/// A thousand rows of sixteen thousand cells each, said in a line, and a part of blanks that packs to
/// nothing.
#[test]
fn a_workbook_that_unpacks_to_far_too_much_or_breaks_off_is_refused() {
    let row = "<table:table-row table:number-rows-repeated=\"1000\"><table:table-cell \
               table:number-columns-repeated=\"16000\"><text:p>x</text:p></table:table-cell></table:table-row>";
    let blanks = " ".repeat(1 << 20);
    let contents = [
        (
            vec![row],
            "it spans 16000000 cells from its first to its last",
        ),
        (vec![blanks.as_str(); 65], "it unpacks to more than 64 MB"),
        // The reader library waited for the end of the table for ever.
        (vec!["<table:table>"], "it ends within an element"),
    ];
    for (parts, because) in contents {
        let mut packer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default();
        packer.start_file("content.xml", options).expect("a part");
        for part in parts {
            packer.write_all(part.as_bytes()).expect("memory");
        }
        let bytes = packer.finish().expect("an archive").into_inner();
        let workshop = Workshop::new().without("machines.csv");
        let run = workshop.with("machines.ods", bytes).run(&["check", "SITE"]);
        assert_eq!(run.status, 2);
        assert!(run.err.contains(because), "{}", run.err);
    }
}

/// A cell in a row beyond all numbers: the reader library stops hard at it where overflow is told.
#[test]
fn a_cell_beyond_all_rows_is_an_error_in_words() {
    let relation = |kind: &str, target: &str| {
        let base = "http://schemas.openxmlformats.org";
        format!(
            "<Relationships xmlns=\"{base}/package/2006/relationships\"><Relationship Id=\"rId1\" \
             Type=\"{base}/officeDocument/2006/relationships/{kind}\" Target=\"{target}\"/></Relationships>"
        )
    };
    let book = "<workbook xmlns:r=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships\">\
                <sheets><sheet name=\"machines\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>";
    let sheet = "<worksheet><sheetData><row r=\"1\"><c r=\"A99999999999\"><v>1</v></c></row></sheetData></worksheet>";
    let parts = [
        ("_rels/.rels", relation("officeDocument", "xl/workbook.xml")),
        ("xl/workbook.xml", book.to_owned()),
        (
            "xl/_rels/workbook.xml.rels",
            relation("worksheet", "worksheets/sheet1.xml"),
        ),
        ("xl/worksheets/sheet1.xml", sheet.to_owned()),
    ];
    let mut packer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in &parts {
        let options = zip::write::SimpleFileOptions::default();
        packer.start_file(*name, options).expect("a part");
        packer.write_all(content.as_bytes()).expect("memory");
    }
    let bytes = packer.finish().expect("an archive").into_inner();
    let workshop = Workshop::new().without("machines.csv");
    let run = workshop
        .with("machines.xlsx", bytes)
        .run_command(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    assert!(run.err.starts_with("Error: "), "{}", run.err);
    assert!(!run.err.contains("panicked"), "{}", run.err);
}
