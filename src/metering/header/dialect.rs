//! How a text log is written: separator, decimal sign, header.

use csv::{ByteRecord, ReaderBuilder};

use formats::{FormEvidence, FoundForm, NumberForm};

/// How a text log is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Dialect {
    pub(crate) separator: u8,
    pub(crate) decimal: u8,
    /// Sign between groups of three digits, where one is declared.
    pub(crate) thousands: Option<u8>,
}

impl Dialect {
    /// Determines what is not declared from the beginning of a log.
    ///
    /// The separator is the one of `;`, tab, `,` that splits most lines into most columns of equal
    /// number. The decimal sign can only be a comma where the separator is not, or where numbers
    /// are in quotes.
    pub(crate) fn detect(
        sample: &[u8],
        separator: Option<u8>,
        decimal: Option<u8>,
        thousands: Option<u8>,
    ) -> Dialect {
        let separator = separator.unwrap_or_else(|| detect_separator(sample));
        let points = Dialect {
            separator,
            decimal: b'.',
            thousands,
        };
        let commas = Dialect {
            decimal: b',',
            ..points.clone()
        };
        if decimal.is_none() && thousands.is_none() {
            let commas = decimal_commas_outnumber(sample, &commas, &points);
            return points.by_evidence(evidence(sample, separator), commas);
        }
        let decimal = decimal.unwrap_or_else(|| match thousands {
            Some(b'.') => b',',
            Some(b',') => b'.',
            _ if decimal_commas_outnumber(sample, &commas, &points) => b',',
            _ => b'.',
        });
        Dialect { decimal, ..points }
    }

    /// With the signs that the numbers show.
    fn by_evidence(self, seen: FormEvidence, commas: bool) -> Dialect {
        let form = seen.form(char::from(self.separator));
        let grouped =
            seen.both || !seen.point && !seen.comma && (seen.grouped_comma || seen.grouped_point);
        let (decimal, group) = match form {
            FoundForm::Clear(NumberForm::Comma) => (b',', b'.'),
            FoundForm::Clear(NumberForm::Point) => (b'.', b','),
            FoundForm::Unclear(_) => {
                return Dialect {
                    decimal: if commas { b',' } else { b'.' },
                    ..self
                };
            }
        };
        let sign_is_there = match group {
            b',' => seen.grouped_comma || seen.both,
            _ => seen.grouped_point || seen.both,
        };
        if grouped && sign_is_there {
            return Dialect {
                decimal,
                thousands: Some(group),
                ..self
            };
        }
        Dialect {
            decimal: if commas { b',' } else { b'.' },
            ..self
        }
    }

    /// A sign that may be a decimal sign or separate thousands, where nothing in a sample decides and nothing is declared.
    pub(crate) fn unclear_sign(&self, sample: &[u8]) -> Option<u8> {
        match evidence(sample, self.separator).form(char::from(self.separator)) {
            FoundForm::Unclear(sign) => Some(sign as u8),
            FoundForm::Clear(_) => None,
        }
    }

    /// Splits one line.
    pub(crate) fn split(&self, line: &[u8]) -> ByteRecord {
        let plain = line.strip_suffix(b"\n").unwrap_or(line);
        let plain = plain.strip_suffix(b"\r").unwrap_or(plain);
        if !plain.is_empty() && memchr::memchr3(b'"', b'\r', b'\n', plain).is_none() {
            return plain.split(|&byte| byte == self.separator).collect();
        }
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

/// How many lines show how a log is written.
const LINES_SEEN: usize = 200;

fn detect_separator(sample: &[u8]) -> u8 {
    let lines: Vec<&[u8]> = sample
        .split(|&byte| byte == b'\n')
        .filter(|line| !line.trim_ascii().is_empty())
        .take(LINES_SEEN)
        .collect();
    let [semicolon, tab, comma] = [b';', b'\t', b','].map(|sign| (weight(&lines, sign), sign));
    let best = if tab.0 > semicolon.0 { tab } else { semicolon };
    // Decimal commas may be as many as columns, or one more with a fraction of a second.
    if best.0 > 0 && 2 * best.0 >= comma.0 {
        best.1
    } else {
        b','
    }
}

/// Lines with the same number of columns, multiplied by the separators in each.
fn weight(lines: &[&[u8]], separator: u8) -> usize {
    let mut counts: Vec<usize> = lines
        .iter()
        .map(|line| {
            let mut quoted = false;
            let outside = line.iter().filter(|&&byte| {
                quoted ^= byte == b'"';
                !quoted && byte == separator
            });
            outside.count()
        })
        .filter(|&count| count > 0)
        .collect();
    counts.sort_unstable();
    let runs = counts.chunk_by(|a, b| a == b);
    runs.map(|run| run.len() * run[0]).max().unwrap_or(0)
}

/// What the signs in the numbers of a sample show.
fn evidence(sample: &[u8], separator: u8) -> FormEvidence {
    let whole = memchr::memrchr(b'\n', sample).map_or(sample, |end| &sample[..end]);
    let mut seen = FormEvidence::default();
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(whole);
    let mut record = ByteRecord::new();
    while reader.read_byte_record(&mut record).unwrap_or(false) {
        for cell in &record {
            seen.see(&String::from_utf8_lossy(cell));
        }
    }
    seen
}

/// Are more cells numbers with a comma than numbers with a point? Dates such as `24.11.2026` also
/// have points between digits, but are not numbers.
fn decimal_commas_outnumber(sample: &[u8], with_commas: &Dialect, with_points: &Dialect) -> bool {
    let (mut commas, mut points) = (0, 0);
    let whole = memchr::memrchr(b'\n', sample).map_or(sample, |end| &sample[..end]);
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(with_points.separator)
        .from_reader(whole);
    let mut record = ByteRecord::new();
    // Reading from memory does not fail; if it did, the rest of the sample would not be counted.
    while reader.read_byte_record(&mut record).unwrap_or(false) {
        for cell in &record {
            let number = |dialect| read_cell(cell, dialect, &[]).number().is_some();
            if cell.contains(&b',') && number(with_commas) {
                commas += 1;
            } else if cell.contains(&b'.') && number(with_points) {
                points += 1;
            }
        }
    }
    commas > points
}

/// A reading: a number, nothing, or something that is neither.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum LogCell {
    Number(f64),
    /// A number below zero that is written with another sign than the hyphen.
    TypesetMinus(f64),
    Missing,
    Unreadable,
}

impl LogCell {
    pub(crate) fn number(self) -> Option<f64> {
        match self {
            LogCell::Number(number) | LogCell::TypesetMinus(number) => Some(number),
            LogCell::Missing | LogCell::Unreadable => None,
        }
    }
}

/// The minus sign, the hyphens and dashes that spreadsheets and locales write before a number.
const TYPESET_MINUS: [&[u8]; 4] = [
    "\u{2212}".as_bytes(),
    "\u{2010}".as_bytes(),
    "\u{2011}".as_bytes(),
    "\u{2013}".as_bytes(),
];

/// Longest number that is rewritten before it is read.
const LONGEST_NUMBER: usize = 40;

/// Reads one cell.
pub(crate) fn read_cell(cell: &[u8], dialect: &Dialect, missing: &[String]) -> LogCell {
    let cell = cell.trim_ascii();
    if cell.is_empty() {
        return LogCell::Missing;
    }
    if !missing.is_empty() && missing.iter().any(|word| word.as_bytes() == cell) {
        return LogCell::Missing;
    }
    if let Some(rest) = TYPESET_MINUS
        .iter()
        .find_map(|sign| cell.strip_prefix(*sign))
    {
        return match read_cell(&[&b"-"[..], rest].concat(), dialect, missing) {
            LogCell::Number(number) => LogCell::TypesetMinus(number),
            other => other,
        };
    }
    match read_number(cell, dialect) {
        // Zero has no sign, though some loggers write one.
        Some(number) if number.is_finite() => LogCell::Number(number + 0.0),
        _ if stands_for_nothing(cell) => LogCell::Missing,
        _ => LogCell::Unreadable,
    }
}

fn read_number(cell: &[u8], dialect: &Dialect) -> Option<f64> {
    if dialect.decimal == b'.' && dialect.thousands.is_none() {
        return fast_float2::parse(cell).ok();
    }
    let grouped;
    let cell = match dialect.thousands {
        Some(sign) => {
            grouped = without_groups(cell, sign, dialect.decimal)?;
            &grouped
        }
        None => cell,
    };
    // A point with decimal commas may group thousands: it is not taken for a decimal sign.
    if cell.len() > LONGEST_NUMBER || dialect.decimal != b'.' && cell.contains(&b'.') {
        return None;
    }
    let pointed: Vec<u8> = cell
        .iter()
        .map(|&byte| if byte == dialect.decimal { b'.' } else { byte })
        .collect();
    fast_float2::parse(&pointed).ok()
}

/// A number without the signs between its groups; `None` where a group has not three digits.
fn without_groups(cell: &[u8], sign: u8, decimal: u8) -> Option<Vec<u8>> {
    // The narrow and the usual no-break space are typeset blanks.
    let text = std::str::from_utf8(cell).ok()?;
    let text = if sign == b' ' {
        text.replace(['\u{a0}', '\u{202f}'], " ")
    } else {
        text.to_owned()
    };
    let (whole, rest) = match text.split_once(decimal as char) {
        Some((whole, rest)) => (whole, Some(rest)),
        None => (text.as_str(), None),
    };
    if rest.is_some_and(|rest| rest.contains(sign as char)) {
        return None;
    }
    let mut groups = whole.split(sign as char);
    let first = groups.next()?;
    let mut number = first.to_owned();
    let mut grouped = false;
    for group in groups {
        grouped = true;
        let three = group.len() == 3 && group.bytes().all(|byte| byte.is_ascii_digit());
        number.push_str(three.then_some(group)?);
    }
    let digits = first.trim_start_matches(['-', '+']);
    let short = (1..=3).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
    if grouped && !short {
        return None;
    }
    if let Some(rest) = rest {
        number.push(decimal as char);
        number.push_str(rest);
    }
    Some(number.into_bytes())
}

/// The usual words for "no reading".
fn stands_for_nothing(cell: &[u8]) -> bool {
    let lower = cell.to_ascii_lowercase();
    lower.iter().all(|&byte| byte == b'-')
        || lower.as_slice() == "\u{2014}".as_bytes()
        || matches!(
            lower.as_slice(),
            b"nan"
                | b"-nan"
                | b"n/a"
                | b"na"
                | b"n.a."
                | b"null"
                | b"(null)"
                | b"nil"
                | b"none"
                | b"inf"
                | b"-inf"
                | b"infinity"
                | b"#n/a"
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn separators_are_learnt_from_the_first_lines() {
        let detect = |text: &str| Dialect::detect(text.as_bytes(), None, None, None);
        assert_eq!(detect("t,a,b\n1,2.5,3\n").separator, b',');
        let german = detect("Zeit;a;b\n24.11.2026 10:00;2,5;3,1\n24.11.2026 10:15;2,6;3,2\n");
        assert_eq!((german.separator, german.decimal), (b';', b','));
        // One column of readings with dates with two points each.
        let dates = detect("Zeit;a\n24.11.2026 10:00;2,5\n24.11.2026 10:15;2,6\n");
        assert_eq!((dates.separator, dates.decimal), (b';', b','));
        let tabs = detect("t\ta\n1\t2.5\n");
        assert_eq!((tabs.separator, tabs.decimal), (b'\t', b'.'));
    }

    #[test]
    fn plain_lines_are_split_as_the_csv_crate_splits_them() {
        let dialect = Dialect {
            separator: b';',
            decimal: b'.',
            thousands: None,
        };
        for line in [
            "a;b;c",
            "a;;",
            ";",
            "a",
            "",
            "\n",
            "\r\n",
            "a;b\r\n",
            " a ; b",
            "a,b;c",
            "\"a;b\";c",
            "a\rb;c",
        ] {
            let mut expected = ByteRecord::new();
            let mut reader = ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .delimiter(b';')
                .from_reader(line.as_bytes());
            reader
                .read_byte_record(&mut expected)
                .expect("bytes in memory");
            assert_eq!(dialect.split(line.as_bytes()), expected, "{line:?}");
        }
    }

    #[test]
    fn preambles_and_quotes_do_not_hide_the_separator() {
        let detect = |text: &str| {
            let found = Dialect::detect(text.as_bytes(), None, None, None);
            (found.separator, found.decimal)
        };
        let quoted = "t,a,b\n10:00,\"1,5\",\"2,5\"\n10:15,\"1,6\",\"2,6\"\n";
        assert_eq!(detect(quoted), (b',', b','));
        let preamble = "Device, number 5\nSerial, 12\n\nt;a;b\n10:00;1,5;2,5\n10:15;1,6;2,6\n";
        assert_eq!(detect(preamble), (b';', b','));
        let fractions = "10:00:00,5;1,5\n10:00:01,5;1,6\n";
        assert_eq!(detect(fractions), (b';', b','));
        let notes = "t,a,b,c,note\n10:00,1,2,3,a;b\n10:15,1,2,3,c;d\n";
        assert_eq!(detect(notes), (b',', b'.'));
    }

    const POINTS: Dialect = Dialect {
        separator: b';',
        decimal: b'.',
        thousands: None,
    };
    const COMMAS: Dialect = Dialect {
        decimal: b',',
        ..POINTS
    };

    #[test]
    fn cells() {
        let read = |text: &str| read_cell(text.as_bytes(), &POINTS, &["-9999".to_owned()]);
        assert_eq!(read(" 2.5 "), LogCell::Number(2.5));
        assert_eq!(read("-0.5e1"), LogCell::Number(-5.0));
        assert!(matches!(read("-0.0"), LogCell::Number(zero) if zero.is_sign_positive()));
        for nothing in ["", "  ", "-", "---", "NaN", "n/a", "NULL", "-9999", "–"] {
            assert_eq!(read(nothing), LogCell::Missing, "{nothing}");
        }
        for sign in ["\u{2212}", "\u{2010}", "\u{2011}", "\u{2013}"] {
            let of = |rest: &str| read(&format!("{sign}{rest}"));
            assert_eq!(of("2.5"), LogCell::TypesetMinus(-2.5), "{sign}");
            assert_eq!((of(""), of("9999")), (LogCell::Missing, LogCell::Missing));
            assert_eq!(
                (of("-2"), of("off")),
                (LogCell::Unreadable, LogCell::Unreadable)
            );
        }
        for word in ["off", "2.5 A", "1.2.3", "1,234"] {
            assert_eq!(read(word), LogCell::Unreadable, "{word}");
        }
        assert_eq!(read_cell(b"2,5", &COMMAS, &[]), LogCell::Number(2.5));
        assert_eq!(read_cell(b"1.234", &COMMAS, &[]), LogCell::Unreadable);
    }

    #[test]
    fn thousands_are_groups_of_three() {
        let read = |text: &str, decimal, thousands| {
            let dialect = Dialect {
                separator: b';',
                decimal,
                thousands: Some(thousands),
            };
            read_cell(text.as_bytes(), &dialect, &[])
        };
        assert_eq!(
            read("1.234.567,5", b',', b'.'),
            LogCell::Number(1_234_567.5)
        );
        assert_eq!(read("-1.234", b',', b'.'), LogCell::Number(-1234.0));
        assert_eq!(read("1234,5", b',', b'.'), LogCell::Number(1234.5));
        assert_eq!(read("12,345.25", b'.', b','), LogCell::Number(12_345.25));
        assert_eq!(read("12'345.25", b'.', b'\''), LogCell::Number(12_345.25));
        assert_eq!(
            read("12\u{a0}345,25", b',', b' '),
            LogCell::Number(12_345.25)
        );
        assert_eq!(read("12\u{202f}345", b',', b' '), LogCell::Number(12_345.0));
        for wrong in [
            "1.23,4",
            "1.2345",
            ".123",
            "1234.567",
            "1.234,5.6",
            "1..234",
        ] {
            assert_eq!(read(wrong, b',', b'.'), LogCell::Unreadable, "{wrong}");
        }
    }
}
