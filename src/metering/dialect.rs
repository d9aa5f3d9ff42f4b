//! How a text log is written: separator, decimal sign, header.

use csv::{ByteRecord, ReaderBuilder};

/// How a text log is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Dialect {
    pub(super) separator: u8,
    pub(super) decimal: u8,
}

impl Dialect {
    /// Learns the separator and the decimal sign from the beginning of a log.
    ///
    /// The separator is the one of `;`, tab, `,` that splits the first lines into most columns of
    /// equal number. The decimal sign can only be a comma where the separator is not.
    pub(super) fn detect(sample: &[u8], separator: Option<u8>, decimal: Option<u8>) -> Dialect {
        let separator = separator.unwrap_or_else(|| {
            let candidates = [b';', b'\t', b','];
            let counts = candidates.map(|candidate| steady_columns(sample, candidate));
            let most = counts.into_iter().max().unwrap_or(0);
            // In the order of the candidates, so that `1,5;2,5` is not taken for comma-separated.
            candidates
                .into_iter()
                .zip(counts)
                .find(|&(_, count)| count == most && count > 1)
                .map_or(b',', |(candidate, _)| candidate)
        });
        let decimal = decimal.unwrap_or_else(|| {
            if separator != b',' && decimal_commas_outnumber(sample, separator) {
                b','
            } else {
                b'.'
            }
        });
        Dialect { separator, decimal }
    }

    /// Splits one line.
    pub(super) fn split(&self, line: &[u8]) -> ByteRecord {
        let mut record = ByteRecord::new();
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.separator)
            .from_reader(line);
        // A single line in memory cannot fail to be read; an empty one gives an empty record.
        let _ = reader.read_byte_record(&mut record);
        record
    }
}

/// The number of columns that most of the first lines agree on.
fn steady_columns(sample: &[u8], separator: u8) -> usize {
    let mut counts: Vec<usize> = sample
        .split(|&byte| byte == b'\n')
        .filter(|line| !line.trim_ascii().is_empty())
        .take(20)
        .map(|line| 1 + memchr::memchr_iter(separator, line).count())
        .collect();
    counts.sort_unstable();
    counts.get(counts.len() / 2).copied().unwrap_or(0)
}

/// Are more cells numbers with a comma than numbers with a point? Dates such as `24.11.2026` hold
/// points between digits too, but are no numbers.
fn decimal_commas_outnumber(sample: &[u8], separator: u8) -> bool {
    let (mut commas, mut points) = (0, 0);
    for cell in sample.split(|&byte| byte == b'\n' || byte == separator) {
        let number = |sign| matches!(read_cell(cell, sign, &[]), Cell::Number(_));
        if cell.contains(&b',') && number(b',') {
            commas += 1;
        } else if cell.contains(&b'.') && number(b'.') {
            points += 1;
        }
    }
    commas > points
}

/// A reading: a number, nothing, or something that is neither.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Cell {
    Number(f64),
    Missing,
    Unreadable,
}

/// Reads one cell.
pub(super) fn read_cell(cell: &[u8], decimal: u8, missing: &[String]) -> Cell {
    let cell = cell.trim_ascii();
    if cell.is_empty() {
        return Cell::Missing;
    }
    if !missing.is_empty() && missing.iter().any(|word| word.as_bytes() == cell) {
        return Cell::Missing;
    }
    let number = if decimal == b',' && cell.contains(&b',') {
        let point: Vec<u8> = cell
            .iter()
            .map(|&byte| if byte == b',' { b'.' } else { byte })
            .collect();
        fast_float2::parse::<f64, _>(&point)
    } else {
        fast_float2::parse::<f64, _>(cell)
    };
    match number {
        Ok(number) if number.is_finite() => Cell::Number(number),
        _ if stands_for_nothing(cell) => Cell::Missing,
        _ => Cell::Unreadable,
    }
}

/// The usual words for "no reading".
fn stands_for_nothing(cell: &[u8]) -> bool {
    let lower = cell.to_ascii_lowercase();
    lower.iter().all(|&byte| byte == b'-')
        || matches!(
            lower.as_slice(),
            b"nan" | b"n/a" | b"na" | b"null" | b"none" | b"inf" | b"-inf" | b"#n/a"
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn separators_are_learnt_from_the_first_lines() {
        let detect = |text: &str| Dialect::detect(text.as_bytes(), None, None);
        assert_eq!(detect("t,a,b\n1,2.5,3\n").separator, b',');
        let german = detect("Zeit;a;b\n24.11.2026 10:00;2,5;3,1\n24.11.2026 10:15;2,6;3,2\n");
        assert_eq!((german.separator, german.decimal), (b';', b','));
        // One column of readings beside dates with two points each.
        let dates = detect("Zeit;a\n24.11.2026 10:00;2,5\n24.11.2026 10:15;2,6\n");
        assert_eq!((dates.separator, dates.decimal), (b';', b','));
        let tabs = detect("t\ta\n1\t2.5\n");
        assert_eq!((tabs.separator, tabs.decimal), (b'\t', b'.'));
    }

    #[test]
    fn cells() {
        let read = |text: &str| read_cell(text.as_bytes(), b'.', &["-9999".to_owned()]);
        assert_eq!(read(" 2.5 "), Cell::Number(2.5));
        assert_eq!(read("-0.5e1"), Cell::Number(-5.0));
        for nothing in ["", "  ", "-", "---", "NaN", "n/a", "NULL", "-9999"] {
            assert_eq!(read(nothing), Cell::Missing, "{nothing}");
        }
        for word in ["off", "2.5 A", "1.2.3"] {
            assert_eq!(read(word), Cell::Unreadable, "{word}");
        }
        assert_eq!(read_cell(b"2,5", b',', &[]), Cell::Number(2.5));
    }
}
