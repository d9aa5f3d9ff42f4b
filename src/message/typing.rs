//! What people type that files do not understand: decimal commas, typographic quotation marks, horsepower; and files
//! that are no text at all.

use super::{Message, Place};

/// Mechanical horsepower. (kW)
const HORSEPOWER_KW: f64 = 0.745_7;

/// Marks that word processors write instead of straight ones.
const CURLY: [char; 7] = ['“', '”', '„', '«', '»', '‘', '’'];

/// Help for a number with a decimal comma.
#[must_use]
pub fn decimal_point(text: &str) -> Option<String> {
    let text = text.trim();
    let (whole, part) = text.split_once(',')?;
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let is_number = digits(whole.trim_start_matches(['-', '+'])) && digits(part);
    if !is_number {
        return None;
    }
    Some(if part.len() == 3 {
        format!(
            "write a point: `{whole}.{part}`; or, where the comma separates thousands, `{whole}{part}`"
        )
    } else {
        format!("write a point: `{whole}.{part}`")
    })
}

/// Help for a row with too many cells: a number was cut at its decimal comma, or a text has typographic quotation marks.
#[must_use]
pub fn why_more_cells(row: &str) -> Option<String> {
    if let Some(help) = straight_quotes(row) {
        return Some(help);
    }
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let cells: Vec<&str> = row.split(',').map(str::trim).collect();
    let cut = cells
        .windows(2)
        .find(|pair| digits(pair[0]) && digits(pair[1]))?;
    Some(format!(
        "if `{0},{1}` is one number, write a point: `{0}.{1}`",
        cut[0], cut[1]
    ))
}

/// Help for a text with typographic quotation marks around it, or one of them.
#[must_use]
pub fn straight_quotes(text: &str) -> Option<String> {
    let start = text.find(['“', '„', '«'])?;
    let quoted: String = text[start..]
        .chars()
        .skip(1)
        .take_while(|c| !CURLY.contains(c))
        .collect();
    Some(format!("write straight quotation marks: `\"{quoted}\"`"))
}

/// `7.46 kW` of `10 hp`, as help for a power in another unit than kilowatts.
#[must_use]
pub fn horsepower(text: &str) -> Option<String> {
    let text = text.trim().to_lowercase();
    let split = text.find(|c: char| !c.is_ascii_digit() && c != '.')?;
    let unit = text[split..].trim();
    let is_hp = ["hp", "bhp", "horsepower"].contains(&unit);
    let number: f64 = text[..split].parse().ok().filter(|_| is_hp)?;
    Some(format!(
        "{number} hp is {} kW: write `{}`",
        kilowatts(number),
        kilowatts(number)
    ))
}

/// Mechanical horsepower in kilowatts, to three digits as plates have them.
#[must_use]
pub fn kilowatts(horsepower: f64) -> String {
    let kilowatts = horsepower * HORSEPOWER_KW;
    let digits = if kilowatts < 10.0 { 2 } else { 1 };
    let text = format!("{kilowatts:.digits$}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// What a file is that is no text, by how it begins; `None` of a text.
#[must_use]
pub fn kind_of_file(bytes: &[u8]) -> Option<&'static str> {
    const BEGINNINGS: [(&[u8], &str); 10] = [
        (
            b"\xd0\xcf\x11\xe0",
            "a workbook or document of an old kind (.xls, .doc)",
        ),
        (b"%PDF", "a PDF document"),
        (b"\x89PNG", "an image (PNG)"),
        (b"\xff\xd8\xff", "an image (JPEG)"),
        (b"GIF8", "an image (GIF)"),
        (b"PAR1", "a Parquet file"),
        (b"\x1f\x8b", "an archive (gzip)"),
        (b"Rar!", "an archive (RAR)"),
        (b"7z\xbc\xaf", "an archive (7z)"),
        (b"SQLite format 3", "a database"),
    ];
    if bytes.starts_with(b"PK\x03\x04") {
        let head = &bytes[..bytes.len().min(4096)];
        let has = |name: &[u8]| head.windows(name.len()).any(|part| part == name);
        return Some(if has(b"opendocument.spreadsheet") {
            "a workbook (.ods)"
        } else if has(b"xl/") || has(b"[Content_Types].xml") {
            "a workbook (.xlsx)"
        } else {
            "a ZIP archive"
        });
    }
    BEGINNINGS
        .iter()
        .find(|(beginning, _)| bytes.starts_with(beginning))
        .map(|(_, kind)| *kind)
}

/// The message about a file that should be a text and is something else; `None` of a text.
#[must_use]
pub fn not_text(file: &str, bytes: &[u8]) -> Option<Message> {
    let kind = kind_of_file(bytes)?;
    let help = if kind.starts_with("a workbook") {
        "open it and save the sheet as CSV (UTF-8)"
    } else if kind.contains("archive") || kind.contains("ZIP") {
        "unpack it, and put the text file in its place"
    } else {
        "export the data as CSV"
    };
    Some(
        Message::error("not-text", format!("`{file}` is {kind}, not a text file"))
            .at(Place::file(file), "")
            .help(help),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_quotes_and_horsepower_are_written_as_files_need_them() {
        assert_eq!(
            decimal_point("1,1").as_deref(),
            Some("write a point: `1.1`")
        );
        assert!(decimal_point("1,100").is_some_and(|help| help.contains("`1100`")));
        for other in ["1.1", "a,b", "1,", "1,2,3"] {
            assert_eq!(decimal_point(other), None, "{other}");
        }
        assert!(why_more_cells("Kiln,DB1,L2,3,5").is_some_and(|help| help.contains("`3.5`")));
        assert!(why_more_cells("“a, b”,DB1").is_some_and(|help| help.contains("`\"a, b\"`")));
        assert_eq!(why_more_cells("a,b,3"), None);
        assert_eq!(
            horsepower("10 hp").as_deref(),
            Some("10 hp is 7.46 kW: write `7.46`")
        );
        assert_eq!(kilowatts(20.0), "14.9");
    }

    #[test]
    fn files_that_are_no_text_are_named() {
        assert_eq!(
            kind_of_file(b"PK\x03\x04....xl/workbook.xml"),
            Some("a workbook (.xlsx)")
        );
        assert_eq!(
            kind_of_file(b"PK\x03\x04....meters.csv"),
            Some("a ZIP archive")
        );
        assert_eq!(kind_of_file(b"%PDF-1.7"), Some("a PDF document"));
        assert_eq!(kind_of_file(b"time,I1"), None);
    }
}
