//! A small table of the estate, read back from its Parquet files: whichever engine wrote them.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveDate, Utc};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use tables::{csv_text, disarmed};

/// The rows of a table, in the order of its files; none where it has no rows.
///
/// # Errors
///
/// Where a file cannot be read, or is of another program.
pub fn read_table<T: DeserializeOwned>(tables: &Path, name: &str) -> io::Result<Vec<T>> {
    let mut files = Vec::new();
    parquet_files(&tables.join(name), &mut files)?;
    files.sort();
    let mut rows = Vec::new();
    for path in files {
        let reader = SerializedFileReader::new(File::open(&path)?)?;
        for row in reader.get_row_iter(None)? {
            let row = row?;
            let fields = row.get_column_iter();
            let fields: Map<String, Value> = fields
                .map(|(name, field)| (name.clone(), value(field)))
                .collect();
            let read = serde_json::from_value(Value::Object(fields));
            rows.push(read.map_err(|error| {
                io::Error::other(format!(
                    "`{}` is no table of an estate: {error}",
                    path.display()
                ))
            })?);
        }
    }
    Ok(rows)
}

/// Writes a table as CSV, a row at a time; removes the file where the table has no rows.
///
/// # Errors
///
/// Where a file cannot be read or written.
pub fn csv_of(tables: &Path, name: &str, file: &Path) -> io::Result<()> {
    let mut files = Vec::new();
    parquet_files(&tables.join(name), &mut files)?;
    files.sort();
    if files.is_empty() {
        return if file.exists() {
            fs::remove_file(file)
        } else {
            Ok(())
        };
    }
    let partial = file.with_extension("csv.tmp");
    let mut out = BufWriter::new(File::create(&partial)?);
    let mut is_headed = false;
    for path in files {
        let reader = SerializedFileReader::new(File::open(&path)?)?;
        let schema = reader.metadata().file_metadata().schema_descr_ptr();
        if !is_headed {
            let heads = schema
                .columns()
                .iter()
                .map(|column| column.name().to_owned());
            put_record(&mut out, heads.collect())?;
            is_headed = true;
        }
        for row in reader.get_row_iter(None)? {
            let row = row?;
            let cells = row.get_column_iter().map(|(_, field)| cell(field));
            put_record(&mut out, cells.collect())?;
        }
    }
    out.flush()?;
    drop(out);
    fs::rename(partial, file)
}

fn put_record(out: &mut impl Write, cells: Vec<String>) -> io::Result<()> {
    let text = csv_text([cells]).map_err(io::Error::other)?;
    out.write_all(text.as_bytes())
}

fn cell(field: &Field) -> String {
    match value(field) {
        Value::Null => String::new(),
        Value::Bool(flag) => if flag { "yes" } else { "no" }.to_owned(),
        Value::String(text) if matches!(field, Field::Str(_)) => disarmed(&text),
        Value::String(text) => text,
        Value::Number(number) => number
            .as_f64()
            .map_or_else(String::new, |number| (number + 0.0).to_string()),
        other => other.to_string(),
    }
}

fn parquet_files(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    if !folder.is_dir() {
        return Ok(());
    }
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            parquet_files(&path, files)?;
        } else if path.extension().is_some_and(|kind| kind == "parquet") {
            files.push(path);
        }
    }
    Ok(())
}

fn value(field: &Field) -> Value {
    let moment = |at: Option<DateTime<Utc>>| {
        at.map_or(Value::Null, |at| {
            at.format("%Y-%m-%dT%H:%M:%SZ").to_string().into()
        })
    };
    match field {
        Field::Bool(flag) => (*flag).into(),
        Field::Int(number) => (*number).into(),
        Field::Long(number) => (*number).into(),
        Field::Double(number) => (*number).into(),
        Field::Str(text) => text.clone().into(),
        Field::TimestampMillis(at) => moment(DateTime::from_timestamp_millis(*at)),
        Field::TimestampMicros(at) => moment(DateTime::from_timestamp_micros(*at)),
        Field::Date(days) => {
            let date =
                NaiveDate::default().checked_add_signed(chrono::Duration::days(i64::from(*days)));
            date.map_or(Value::Null, |date| date.to_string().into())
        }
        _ => Value::Null,
    }
}
