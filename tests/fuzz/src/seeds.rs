//! Writes the first inputs of every target into `corpus/TARGET`: the demo's files cut short, and
//! small logs of every kind that is read.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use flate2::Compression;
use flate2::write::GzEncoder;
use parquet::basic::Compression as Packing;
use parquet::data_type::{
    BoolType, ByteArray, ByteArrayType, DataType, DoubleType, FloatType, Int32Type, Int64Type,
    Int96, Int96Type,
};
use parquet::file::properties::{WriterProperties, WriterVersion};
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::parser::parse_message_type;
use tapoff_fuzz::{MACHINES, SITE};

type Fallible<T = ()> = Result<T, Box<dyn std::error::Error>>;

/// Rows of each seed.
const ROWS: usize = 24;
/// 2026-03-09 09:00 UTC. (Unix s)
const START: i64 = 1_773_046_800;

fn main() -> Fallible {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let demo = here.join("../../sample-data/ferry-lane");
    let corpus = here.join("corpus");
    site_files(&demo, &corpus.join("site_file"))?;
    lists(&demo, &corpus.join("machine_list"))?;
    sheets(&corpus.join("workbook"))?;
    let logs = text_logs(&demo)?;
    for (number, (which, log)) in logs.iter().enumerate() {
        let name = format!("seed-{number}");
        put(
            &corpus.join("text_log"),
            &name,
            &[&[*which], log.as_slice()].concat(),
        )?;
        for level in [0, 6] {
            let mut packer = GzEncoder::new(Vec::new(), Compression::new(level));
            packer.write_all(log)?;
            put(
                &corpus.join("gzip_log"),
                &format!("{name}-{level}"),
                &packer.finish()?,
            )?;
        }
        let header = log.split(|byte| *byte == b'\n').next().unwrap_or_default();
        let separator = u8::from(header.contains(&b';'));
        put(
            &corpus.join("log_header"),
            &name,
            &[&[separator], header].concat(),
        )?;
    }
    headers(&corpus.join("log_header"))?;
    interval_files(&corpus)?;
    parquet_logs(&corpus.join("parquet_log"))
}

/// A small file of each format of interval data, and archives of them.
fn interval_files(corpus: &Path) -> Fallible {
    let half_hours = |row: usize| -> String {
        (0..48).map(|at| format!("{}.25,", (at * 7 + row) % 9)).collect()
    };
    let labels: Vec<String> = (0..48)
        .map(|at| format!("{:02}:{:02}", at / 2, at % 2 * 30))
        .collect();
    let labels = labels.join(",");
    let days: String = (27..31)
        .map(|day| format!("1,{day}/03/2026,{}\n", half_hours(day)))
        .collect();
    let periods: String = (1..=48)
        .map(|at| format!("29-Mar-2026;{at};{},5\n", at * 5 % 7))
        .collect();
    let rows: String = (0..12)
        .map(|at| {
            let minutes = at % 2 * 30;
            let kwh = 1 + at * 3 % 5;
            format!("A,Mon 09/03/2026 {:02}:{minutes:02} a.m.,import,{kwh}.5E,kWh\nB,Mon 09/03/2026 {:02}:{minutes:02} a.m.,export,{kwh},kWh\n", 1 + at / 2, 1 + at / 2)
        })
        .collect();
    let files = [
        ("nem12", format!("100,NEM12,202601010000,A,B\n200,N1,E1B1,1,E1,N1,S,kWh,30,\n300,20260309,{0}V,,,20260401000000,\n400,1,20,A,,\n400,21,48,S14,,\n300,20260310,{0}A,,,,\n200,N1,E1B1,1,B1,N1,S,Wh,30,\n300,20260309,{0}E52,,,,\n900\n", half_hours(1))),
        ("nem13", "100,NEM13,200401101030,A,B\n250,N1,11,1,11,11,M,E,6342.8,20031005093055,A,,,7654.9,20040107100333,A,,,1312.1,kWh,20040407,,\n550,N,,R,\n900\n".to_owned()),
        ("espi", "<feed xmlns=\"http://www.w3.org/2005/Atom\"><entry><link rel=\"self\" href=\"/ReadingType/1\"/><content><ReadingType xmlns=\"http://naesb.org/espi\"><flowDirection>1</flowDirection><powerOfTenMultiplier>0</powerOfTenMultiplier><uom>72</uom></ReadingType></content></entry><entry><link rel=\"self\" href=\"/UsagePoint/1/MeterReading/1\"/><link rel=\"related\" href=\"/ReadingType/1\"/><content><MeterReading/></content></entry><entry><link rel=\"up\" href=\"/UsagePoint/1/MeterReading/1/IntervalBlock\"/><content><IntervalBlock xmlns=\"http://naesb.org/espi\"><IntervalReading><ReadingQuality><quality>8</quality></ReadingQuality><timePeriod><duration>900</duration><start>1330578000</start></timePeriod><value>282</value></IntervalReading></IntervalBlock></content></entry></feed>".to_owned()),
        ("day_rows", format!("MPAN,Date,{labels}\n{days}Total\n")),
        ("reading_rows", format!("Date;Settlement Period;kWh\n{periods}")),
        ("reading_rows", format!("meter,start,quantity,value,unit\n{rows}")),
        ("reading_rows", "meter,time,kWh\nA,2026-03-09T10:00[Europe/London],1\nB,2026-03-09T10:00[Europe/London],2\nA,2026-03-09T10:30[Europe/London],2\nB,2026-03-09T10:30[Europe/London],1\n".to_owned()),
        ("hand_registers", "date,meter,value,unit\n2026-01-05,oven,100,kWh\n2026-02-02,oven,0.22,MWh\n".to_owned()),
    ];
    for (number, (target, text)) in files.iter().enumerate() {
        put(
            &corpus.join(target),
            &format!("seed-{number}"),
            text.as_bytes(),
        )?;
        let mut packer = zip::write::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        packer.start_file("inner/a.csv", zip::write::SimpleFileOptions::default())?;
        packer.write_all(text.as_bytes())?;
        put(
            &corpus.join("log_archive"),
            &format!("seed-{number}"),
            &packer.finish()?.into_inner(),
        )?;
    }
    Ok(())
}

fn put(folder: &Path, name: &str, bytes: &[u8]) -> Fallible {
    fs::create_dir_all(folder)?;
    Ok(fs::write(folder.join(name), bytes)?)
}

/// The tables of the demo's site.toml one by one below the head, and all that else may be said.
fn site_files(demo: &Path, corpus: &Path) -> Fallible {
    let demo = fs::read_to_string(demo.join("site.toml"))?;
    put(corpus, "small", SITE.as_bytes())?;
    for (number, table) in demo.split("\n[").enumerate().skip(1) {
        put(
            corpus,
            &format!("demo-{number}"),
            format!("{SITE}[{table}").as_bytes(),
        )?;
    }
    let starter = include_str!("../../../src/site/starter/site.toml");
    put(corpus, "starter", starter.as_bytes())?;
    put(corpus, "all", include_bytes!("../words/everything.toml"))
}

fn lists(demo: &Path, corpus: &Path) -> Fallible {
    let demo = fs::read_to_string(demo.join("machines.csv"))?;
    let first: Vec<&str> = demo.lines().take(12).collect();
    let lists = [
        (0, MACHINES.to_owned()),
        (0, first.join("\n")),
        (0, MACHINES.replace(',', ";")),
        (1, "time,at,l1_a,l2_a,l3_a,n_a\n2026-03-09 10:00,supply,10,11,12,3\n2026-03-09 10:00,DB1,10,,12,\n".to_owned()),
        (2, "time,g\n2026-03-09 00:00,150\n2026-03-09 01:00,160.5\n".to_owned()),
        (2, "time;g\n2026-03-09T00:00Z;150,5\n2026-03-09T00:30Z;-1\n".to_owned()),
        (3, "date,doors\n2026-03-09,12\n2026-03-10,14.5\n".to_owned()),
    ];
    for (number, (which, text)) in lists.iter().enumerate() {
        put(
            corpus,
            &format!("seed-{number}"),
            &[&[*which], text.as_bytes()].concat(),
        )?;
    }
    Ok(())
}

/// The sheet of two machines, of both kinds: numbers as numbers, a formula, a gap, repeated cells.
fn sheets(corpus: &Path) -> Fallible {
    let rows: Vec<Vec<&str>> = MACHINES
        .lines()
        .map(|line| line.split(',').collect())
        .collect();
    let ods = rows
        .iter()
        .map(|row| {
            let cell = |text: &&str| match text.parse::<f64>() {
                Ok(_) => format!("<table:table-cell office:value-type=\"float\" office:value=\"{text}\"/>"),
                Err(_) => format!("<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>"),
            };
            let cells: String = row.iter().map(cell).collect();
            format!("<table:table-row>{cells}</table:table-row>")
        })
        .collect::<Vec<String>>()
        .concat();
    let repeated = "<table:table-row table:number-rows-repeated=\"2\"><table:table-cell \
                    table:number-columns-repeated=\"3\" table:formula=\"of:=1+1\" office:value=\"2\"/></table:table-row>";
    for (name, rows) in [
        ("ods", ods.clone()),
        ("ods-repeated", format!("{ods}{repeated}")),
    ] {
        let content = format!(
            "\0<office:document-content><office:body><office:spreadsheet><table:table \
             table:name=\"machines\">{rows}</table:table></office:spreadsheet></office:body></office:document-content>"
        );
        put(corpus, name, content.as_bytes())?;
    }
    let letters = "ABCDEFG";
    let xlsx = rows
        .iter()
        .zip(1..)
        .map(|(row, number)| {
            let cell = |(text, letter): (&&str, char)| match text.parse::<f64>() {
                Ok(_) => format!("<c r=\"{letter}{number}\"><v>{text}</v></c>"),
                Err(_) => {
                    format!("<c r=\"{letter}{number}\" t=\"inlineStr\"><is><t>{text}</t></is></c>")
                }
            };
            let cells: String = row.iter().zip(letters.chars()).map(cell).collect();
            format!("<row r=\"{number}\">{cells}</row>")
        })
        .collect::<Vec<String>>()
        .concat();
    let content = format!(
        "\x01<worksheet xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\">\
         <dimension ref=\"A1:G3\"/><sheetData>{xlsx}<row r=\"9\"><c r=\"B9\" t=\"b\"><f>1=1</f><v>1</v></c></row>\
         </sheetData></worksheet>"
    );
    put(corpus, "xlsx", content.as_bytes())
}

/// Text logs, each with the number of the site that declares it.
fn text_logs(demo: &Path) -> Fallible<Vec<(u8, Vec<u8>)>> {
    let mut logs = Vec::new();
    for entry in fs::read_dir(demo.join("meters"))? {
        let text = fs::read_to_string(entry?.path())?;
        let rows: Vec<&str> = text.lines().take(ROWS).collect();
        for which in [0, 2, 6] {
            logs.push((which, rows.join("\n").into_bytes()));
        }
    }
    let rows = |row: &dyn Fn(usize) -> String| (0..ROWS).map(row).collect::<String>();
    let minutes = |row: usize| format!("{:02}:{:02}", 8 + row * 5 / 60, row * 5 % 60);
    let mut text = |which: u8, header: &str, row: &dyn Fn(usize) -> String| {
        logs.push((which, format!("{header}{}", rows(row)).into_bytes()));
    };
    text(1, "Export\r\nDatum;I L1 [A];P L1 [kW];kWh\r\n", &|row| {
        format!("09.03.2026 {};1.0{row},5;-;{}\r\n", minutes(row), row * 7)
    });
    text(3, "", &|row| {
        format!("2026-03-09 {},{row},{}\n", minutes(row), row / 3)
    });
    text(4, "date,time,I1,P\n", &|row| {
        format!("2026-03-09,{},{row},3\n", minutes(row))
    });
    text(5, "time,U L1-N [V],I L1 [A]\n", &|row| {
        format!("{},230.{row},{row}\n", (START + row as i64 * 900) * 1000)
    });
    text(7, "time\tI1\tkWh\n", &|row| {
        format!("09.03.2026 {}:00\t{row}\t\"1,5\"\n", minutes(row))
    });
    text(0, "time,1-0:1.8.0,1-0:31.7.0\n", &|row| {
        format!("2026-03-09T{}:00+01:00,{row}.5,{row}\n", minutes(row))
    });
    text(0, "time,P,Q\n,kW,kvar\n", &|row| {
        format!("03/09/2026 {} AM,{row},{row}\n", minutes(row))
    });
    let wide: Vec<u8> = "\u{feff}time;P1\n2026-03-09 08:00;5\n2026-03-09 08:15;6\n"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    logs.push((0, wide));
    logs.push((
        0,
        b"time;P1 [\xb5W]\n2026-03-09 08:00;5\n2026-03-09 08:15;6\n".to_vec(),
    ));
    Ok(logs)
}

fn headers(corpus: &Path) -> Fallible {
    let headers = [
        "\0time,U L1-N [V],U L1-L2 [V],I L2 (A),IN [mA],P_L1 avg [kW],Q total (Mvar),PF L2,THD I L1 [%],f [Hz]",
        "\0date,time,Voltage L3,Active power [kW],Energy export [kWh],Power factor",
        "\x01Meter 7;;\nexported;2026\ntime;1-0:1.8.0*255;1-0:32.7.0;1-0:21.7.0;2.8.0\n;kWh;V;W;Wh",
        "\x02time\tcurrent_l1_a\tactive_power_kw\tenergy_import_kwh\tcos phi",
        "\x03time|\"I L1 [A]\"|\"a \"\"b\"\"\"|kWh|kWh",
    ];
    for (number, header) in headers.iter().enumerate() {
        put(corpus, &format!("known-{number}"), header.as_bytes())?;
    }
    Ok(())
}

/// Cells of one column.
enum Cells {
    Whole(Vec<i64>),
    Short(Vec<i32>),
    Old(Vec<Int96>),
    Real(Vec<f64>),
    Single(Vec<f32>),
    Flag(Vec<bool>),
    Text(Vec<ByteArray>),
}

fn all<T>(value: impl Fn(usize) -> T) -> Vec<T> {
    (0..ROWS).map(value).collect()
}

fn parquet_logs(corpus: &Path) -> Fallible {
    let at = |row: usize| START + row as i64 * 900;
    let texts = |text: &dyn Fn(usize) -> String| {
        Cells::Text(all(|row| ByteArray::from(text(row).as_str())))
    };
    let old = |row: usize| {
        // Julian day 2461109 is 2026-03-09; nanoseconds of the day as two words.
        let nanos = (at(row) % 86_400) as u64 * 1_000_000_000;
        let mut stamp = Int96::new();
        stamp.set_data(nanos as u32, (nanos >> 32) as u32, 2_461_109);
        stamp
    };
    let times = [
        (
            "int64 time (TIMESTAMP(MILLIS,true))",
            Cells::Whole(all(|row| at(row) * 1000)),
        ),
        (
            "int64 time (TIMESTAMP(MICROS,false))",
            Cells::Whole(all(|row| at(row) * 1_000_000)),
        ),
        (
            "int64 time (TIMESTAMP(NANOS,true))",
            Cells::Whole(all(|row| at(row) * 1_000_000_000)),
        ),
        ("int96 time", Cells::Old(all(old))),
        (
            "byte_array time (STRING)",
            texts(&|row| format!("2026-03-09 {:02}:{:02}", 8 + row / 4, row % 4 * 15)),
        ),
        ("int32 time", Cells::Short(all(|row| at(row) as i32))),
    ];
    let packings = [
        Packing::UNCOMPRESSED,
        Packing::SNAPPY,
        Packing::LZ4_RAW,
        Packing::GZIP(parquet::basic::GzipLevel::default()),
    ];
    let names = "optional double I1; optional float U1; optional int32 P1 (DECIMAL(9,2)); \
         optional int64 kWh; optional boolean on; optional byte_array P2 (STRING);";
    for (number, (time, column)) in times.into_iter().enumerate() {
        let columns = [
            column,
            Cells::Real(all(|row| row as f64 / 8.0)),
            Cells::Single(all(|row| 230.0 + row as f32)),
            Cells::Short(all(|row| row as i32 * 100)),
            Cells::Whole(all(|row| row as i64 / 3)),
            Cells::Flag(all(|row| row % 3 == 0)),
            texts(&|row| format!("{}.5", row % 4)),
        ];
        for (packing_number, packing) in packings.into_iter().enumerate() {
            for version in [WriterVersion::PARQUET_1_0, WriterVersion::PARQUET_2_0] {
                let plain = packing_number == 0;
                let properties = WriterProperties::builder()
                    .set_compression(packing)
                    .set_writer_version(version)
                    .set_dictionary_enabled(!plain)
                    .build();
                let schema = format!("message log {{ optional {time}; {names} }}");
                let bytes = parquet_file(&schema, &columns, properties)?;
                let name = format!("seed-{number}-{packing_number}-{}", version.as_num());
                for which in [0, 2, 6] {
                    put(
                        corpus,
                        &format!("{name}-{which}"),
                        &[&[which], bytes.as_slice()].concat(),
                    )?;
                }
            }
        }
    }
    Ok(())
}

fn parquet_file(
    schema: &str,
    columns: &[Cells],
    properties: WriterProperties,
) -> Fallible<Vec<u8>> {
    let schema = Arc::new(parse_message_type(schema)?);
    let mut bytes = Vec::new();
    let mut writer = SerializedFileWriter::new(&mut bytes, schema, Arc::new(properties))?;
    for half in 0..2 {
        let rows = half * ROWS / 2..(half + 1) * ROWS / 2;
        let mut group = writer.next_row_group()?;
        for cells in columns {
            let mut column = group
                .next_column()?
                .ok_or("a column less than the schema has")?;
            let rows = rows.clone();
            match cells {
                Cells::Whole(cells) => write::<Int64Type>(&mut column, &cells[rows]),
                Cells::Short(cells) => write::<Int32Type>(&mut column, &cells[rows]),
                Cells::Old(cells) => write::<Int96Type>(&mut column, &cells[rows]),
                Cells::Real(cells) => write::<DoubleType>(&mut column, &cells[rows]),
                Cells::Single(cells) => write::<FloatType>(&mut column, &cells[rows]),
                Cells::Flag(cells) => write::<BoolType>(&mut column, &cells[rows]),
                Cells::Text(cells) => write::<ByteArrayType>(&mut column, &cells[rows]),
            }?;
            column.close()?;
        }
        group.close()?;
    }
    writer.close()?;
    Ok(bytes)
}

/// One null at the beginning of each group.
fn write<T: DataType>(
    column: &mut SerializedColumnWriter<'_>,
    cells: &[T::T],
) -> parquet::errors::Result<usize> {
    let levels: Vec<i16> = (0..cells.len()).map(|row| i16::from(row > 0)).collect();
    column
        .typed::<T>()
        .write_batch(&cells[1..], Some(&levels), None)
}
