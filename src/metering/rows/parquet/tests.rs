//! Parquet logs give what text logs of the same readings give; damaged ones are refused.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use parquet::basic::Compression;
use parquet::data_type::{
    ByteArray, ByteArrayType, DataType, DoubleType, FloatType, Int32Type, Int64Type,
};
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::parser::parse_message_type;
use tempfile::TempDir;

use crate::logs::{Logs, Period, read_logs};
use message::{Level, Messages};
use site::read_site;

/// Cells of one column; `None` is null.
enum Cells {
    Whole(Vec<Option<i64>>),
    Short(Vec<Option<i32>>),
    Real(Vec<Option<f64>>),
    Single(Vec<Option<f32>>),
    Text(Vec<Option<String>>),
}

fn all<T>(rows: usize, value: impl Fn(usize) -> T) -> Vec<Option<T>> {
    (0..rows).map(|row| Some(value(row))).collect()
}

fn site_of(toml: &str) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let site = format!(
        "[site]\nname = 'x'\ntimezone = 'Europe/Berlin'\n[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n\
         [[meter]]\nid = 'main'\nmeasures = 'supply'\n{toml}"
    );
    fs::write(folder.path().join("site.toml"), site).expect("written");
    let machines = "machine,circuit,connection,current_a\n";
    fs::write(folder.path().join("machines.csv"), machines).expect("written");
    folder
}

/// Writes the columns in row groups of at most so many rows.
fn write(path: &Path, schema: &str, columns: &[Cells], group: usize, compression: Compression) {
    let schema = format!("message log {{ {schema} }}");
    let schema = Arc::new(parse_message_type(&schema).expect("a schema"));
    let properties = WriterProperties::builder()
        .set_compression(compression)
        .build();
    let file = fs::File::create(path).expect("a file");
    let mut writer =
        SerializedFileWriter::new(file, schema, Arc::new(properties)).expect("a writer");
    let rows = match &columns[0] {
        Cells::Whole(cells) => cells.len(),
        Cells::Short(cells) => cells.len(),
        Cells::Text(cells) => cells.len(),
        _ => unreachable!("times come first"),
    };
    for from in (0..rows).step_by(group) {
        let to = rows.min(from + group);
        let mut out = writer.next_row_group().expect("a row group");
        for cells in columns {
            let mut column = out.next_column().expect("a column").expect("one more");
            match cells {
                Cells::Whole(cells) => put::<Int64Type>(&mut column, &cells[from..to]),
                Cells::Short(cells) => put::<Int32Type>(&mut column, &cells[from..to]),
                Cells::Real(cells) => put::<DoubleType>(&mut column, &cells[from..to]),
                Cells::Single(cells) => put::<FloatType>(&mut column, &cells[from..to]),
                Cells::Text(cells) => {
                    let texts: Vec<Option<ByteArray>> = cells[from..to]
                        .iter()
                        .map(|text| text.as_deref().map(ByteArray::from))
                        .collect();
                    put::<ByteArrayType>(&mut column, &texts);
                }
            }
            column.close().expect("a whole column");
        }
        out.close().expect("a whole row group");
    }
    writer.close().expect("a whole file");
}

fn put<T: DataType>(
    column: &mut parquet::file::writer::SerializedColumnWriter<'_>,
    cells: &[Option<T::T>],
) {
    let values: Vec<T::T> = cells.iter().flatten().cloned().collect();
    let levels: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
    column
        .typed::<T>()
        .write_batch(&values, Some(&levels), None)
        .expect("cells that fit");
}

fn read(folder: &TempDir) -> Result<Logs, String> {
    let (site, mut messages) = read_site(folder.path()).expect("a sound site");
    assert!(!messages.has_errors());
    messages = Messages::new();
    let logs = read_logs(&site, Period::default(), &mut messages);
    if messages.has_errors() {
        return Err(messages.draw(Level::Error, false));
    }
    Ok(logs)
}

fn values(logs: &Logs, name: &str) -> Vec<Option<f64>> {
    logs.meters[0].table.named(name).expect("a column").to_vec()
}

/// 2026-03-09 09:00 UTC, 10:00 in Berlin.
const START: i64 = 1_773_046_800;
const ROWS: usize = 1000;
const NAMES: &str = "optional double current_l1_a; optional float voltage_l1_v; \
     optional int32 active_power_l1_kw (DECIMAL(9,2)); optional int64 energy_import_kwh;";

fn current(row: usize) -> f64 {
    (row % 97) as f64 / 8.0
}

fn readings() -> Vec<Cells> {
    let mut currents = all(ROWS, current);
    currents[7] = None;
    vec![
        Cells::Real(currents),
        Cells::Single(all(ROWS, |row| 230.1 + (row % 7) as f32)),
        Cells::Short(all(ROWS, |row| row as i32 - 500)),
        Cells::Whole(all(ROWS, |row| row as i64 / 100)),
    ]
}

fn text_log() -> String {
    let mut text =
        String::from("time,current_l1_a,voltage_l1_v,active_power_l1_kw,energy_import_kwh\n");
    for row in 0..ROWS {
        let amps = if row == 7 {
            String::new()
        } else {
            current(row).to_string()
        };
        let volts = 230.1 + (row % 7) as f32;
        let kw = (row as f64 - 500.0) / 100.0;
        let time = START + row as i64 * 20;
        let cells = [time.to_string(), amps, volts.to_string(), kw.to_string()];
        // Writing to a string cannot fail.
        let _ = std::fmt::Write::write_fmt(
            &mut text,
            format_args!("{},{}\n", cells.join(","), row / 100),
        );
    }
    text
}

#[test]
fn parquet_and_text_give_one_table() {
    let text = site_of("files = 'log.csv'\ntime = { format = 'unix-s' }\n");
    fs::write(text.path().join("log.csv"), text_log()).expect("written");
    let expected = read(&text).expect("a sound log");
    // 20 s a sample, 1000 of them: 333 full minutes and a third of one.
    assert_eq!(expected.meters[0].table.len(), 334);
    let seconds = |row: usize| START + row as i64 * 20;
    let berlin = |row: usize| seconds(row) + 3600;
    let text_times = |row: usize| {
        let time = chrono::DateTime::from_timestamp(berlin(row), 0).expect("in range");
        time.format("%d.%m.%Y %H:%M:%S").to_string()
    };
    let times = [
        (
            "optional int64 time (TIMESTAMP(MILLIS,true));",
            Cells::Whole(all(ROWS, |row| seconds(row) * 1000 + 999)),
            "zone = 'local'",
        ),
        (
            "optional int64 time (TIMESTAMP(MICROS,false));",
            Cells::Whole(all(ROWS, |row| berlin(row) * 1_000_000)),
            "zone = 'local'",
        ),
        (
            "optional int64 time (TIMESTAMP(NANOS,false));",
            Cells::Whole(all(ROWS, |row| berlin(row) * 1_000_000_000)),
            "zone = '+01:00'",
        ),
        (
            "optional int64 time;",
            Cells::Whole(all(ROWS, seconds)),
            "format = 'unix-s'",
        ),
        (
            "optional byte_array time (STRING);",
            Cells::Text(all(ROWS, text_times)),
            "format = '%d.%m.%Y %H:%M:%S', zone = 'local'",
        ),
    ];
    let compressions = [
        Compression::SNAPPY,
        Compression::UNCOMPRESSED,
        Compression::LZ4_RAW,
        Compression::GZIP(parquet::basic::GzipLevel::default()),
    ];
    for (at, (column, time, declared)) in times.into_iter().enumerate() {
        let folder = site_of(&format!("files = 'log.parquet'\ntime = {{ {declared} }}\n"));
        let mut columns = vec![time];
        columns.extend(readings());
        let path = folder.path().join("log.parquet");
        let schema = format!("{column} {NAMES}");
        write(&path, &schema, &columns, 170, compressions[at % 4]);
        let logs = read(&folder).unwrap_or_else(|error| panic!("{column}: {error}"));
        let (own, known) = (&logs.meters[0], &expected.meters[0]);
        assert_eq!(own.table.starts(), known.table.starts(), "{column}");
        assert_eq!(own.rows, 1000);
        for name in [
            "current_l1_a",
            "current_l1_a_max",
            "voltage_l1_v",
            "voltage_l1_v_min",
            "active_power_l1_kw",
            "energy_import_kwh",
        ] {
            let pairs = values(&logs, name).into_iter().zip(values(&expected, name));
            for (row, (own, known)) in pairs.enumerate() {
                let (own, known) = (own.expect("known"), known.expect("known"));
                assert!(
                    (own - known).abs() <= 1e-6 * known.abs(),
                    "{column} {name} {row}"
                );
            }
        }
    }
}

fn one_column(column: &str, cells: Cells) -> (TempDir, std::path::PathBuf) {
    let folder = site_of(
        "files = 'log.parquet'\ntime = { column = 'time' }\n[meter.columns]\ncurrent_l1_a = 'I1'\n",
    );
    let path = folder.path().join("log.parquet");
    let schema = format!("optional int64 time (TIMESTAMP(MILLIS,true)); {column}");
    let times = Cells::Whole(all(100, |row| (START + row as i64 * 900) * 1000));
    write(&path, &schema, &[times, cells], 50, Compression::SNAPPY);
    (folder, path)
}

#[test]
fn numbers_written_as_text_are_read_and_words_are_told() {
    let cells = all(100, |row| {
        if row == 3 {
            "off".to_owned()
        } else {
            format!("{row}.5")
        }
    });
    let (folder, _) = one_column("optional byte_array I1 (STRING);", Cells::Text(cells));
    let logs = read(&folder).expect("a sound log");
    // Without any reading, a row is no interval.
    let known = [Some(2.5), Some(4.5), Some(5.5)];
    assert_eq!(values(&logs, "current_l1_a")[2..5], known);
    let quality = &logs.meters[0].quality;
    let bad = quality.iter().find(|entry| entry.kind == "unreadable-cell");
    assert_eq!(
        bad.map(|entry| (entry.count, entry.first_line)),
        Some((1, Some(4)))
    );
}

#[test]
fn a_missing_column_and_a_wrong_type_are_told() {
    let (folder, _) = one_column("optional double I2;", Cells::Real(all(100, |_| 1.0)));
    let error = read(&folder).expect_err("no I1");
    assert!(error.contains("has no column `I1`"), "{error}");
    assert!(error.contains("Did you mean `I2`"), "{error}");

    let dates = Cells::Short(all(100, |row| row as i32));
    let (folder, _) = one_column("optional int32 I1 (DATE);", dates);
    let error = read(&folder).expect_err("dates are no readings");
    assert!(
        error.contains("column `I1` of `log.parquet` holds times"),
        "{error}"
    );
}

/// Every damage is an error or a sound log, never a panic that gets out, never endless memory.
#[test]
fn damaged_files_are_refused() {
    let (folder, path) = one_column("optional double I1;", Cells::Real(all(100, current)));
    let whole = fs::read(&path).expect("the file");
    assert!(read(&folder).is_ok());
    for length in [0, 3, 4, 8, whole.len() / 2, whole.len() - 1] {
        fs::write(&path, &whole[..length]).expect("written");
        let error = read(&folder).expect_err("half a file");
        assert!(error.contains("damaged-log"), "{error}");
    }
    // The length of the footer comes before the last four bytes.
    let mut lying = whole.clone();
    let at = lying.len() - 8;
    lying[at..at + 4].copy_from_slice(&i32::MAX.to_le_bytes());
    fs::write(&path, &lying).expect("written");
    assert!(
        read(&folder)
            .expect_err("a footer too long")
            .contains("damaged-log")
    );
    let mut refused = 0;
    for at in (0..whole.len()).step_by(7) {
        for value in [0x00, 0xff, 0x80] {
            let mut damaged = whole.clone();
            damaged[at] = value;
            fs::write(&path, &damaged).expect("written");
            refused += usize::from(read(&folder).is_err());
        }
    }
    assert!(refused > 0);
}
