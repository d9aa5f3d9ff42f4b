//! The plain lines of a log, taken apart in one go: cells without quotes, plain numbers.
//!
//! Whatever is not plain is left to the careful path, which gives the same result for plain lines
//! too, only later.

use crate::header::layout::TimeCells;

/// 10 to the power of the index; exact in double precision, as are whole numbers of 15 digits:
/// their quotient is the number nearest to what is written.
const POWERS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// What a cell of a line is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Use {
    Nothing,
    Time,
    /// The time of day, right after the date.
    TimeOfDay,
    Number,
}

/// Which cells of a line hold what.
#[derive(Clone, Debug)]
pub(crate) struct FastLine {
    separator: u8,
    decimal: u8,
    /// From the first cell to the last that is used.
    cells: Vec<Use>,
    numbers: usize,
    missing: Vec<Vec<u8>>,
}

/// A line taken apart.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FastRow<'b> {
    pub(crate) stamp: &'b [u8],
    /// Bytes of the line with its end.
    pub(crate) consumed: usize,
}

impl FastLine {
    /// `numbers` are the cells with readings, ascending. `None` where a line cannot be plain.
    pub(crate) fn new(
        separator: u8,
        decimal: u8,
        time: TimeCells,
        numbers: &[usize],
        missing: &[String],
    ) -> Option<FastLine> {
        let times = || [Some(time.first), time.second].into_iter().flatten();
        let last = numbers.iter().copied().chain(times()).max()?;
        let odd = separator == decimal
            || times().any(|cell| numbers.contains(&cell))
            // The stamp must be one stretch of the line.
            || time.second.is_some_and(|second| second != time.first + 1)
            || [separator, decimal]
                .iter()
                .any(|sign| sign.is_ascii_digit() || matches!(sign, b'\n' | b'\r' | b'"' | b'-'));
        if odd {
            return None;
        }
        let mut cells = vec![Use::Nothing; last + 1];
        cells[time.first] = Use::Time;
        if let Some(second) = time.second {
            cells[second] = Use::TimeOfDay;
        }
        for &cell in numbers {
            cells[cell] = Use::Number;
        }
        Some(FastLine {
            separator,
            decimal,
            cells,
            numbers: numbers.len(),
            missing: missing
                .iter()
                .map(|word| word.as_bytes().to_vec())
                .collect(),
        })
    }

    /// Takes the first line apart; `readings` get the numbers in the order of their cells, NaN
    /// where a cell is empty. `None` where the line is not plain.
    #[inline]
    pub(crate) fn read<'b>(&self, bytes: &'b [u8], readings: &mut Vec<f64>) -> Option<FastRow<'b>> {
        readings.clear();
        // A byte order mark is not part of the first cell.
        if bytes.first() == Some(&0xef) {
            return None;
        }
        let mut stamp: &[u8] = &[];
        let (mut stamp_start, mut at) = (0, 0);
        let last = self.cells.len() - 1;
        for (cell, what) in self.cells.iter().enumerate() {
            let start = at;
            match what {
                Use::Number => {
                    let (number, end) = self.number(bytes, at)?;
                    at = end;
                    let known = self.missing.is_empty() || !self.is_missing(&bytes[start..end]);
                    readings.push(if known { number } else { f64::NAN });
                }
                Use::Time | Use::TimeOfDay | Use::Nothing => {
                    while let Some(&byte) = bytes.get(at) {
                        if byte == self.separator || matches!(byte, b'\n' | b'\r') {
                            break;
                        }
                        if byte == b'"' {
                            return None;
                        }
                        at += 1;
                    }
                    match what {
                        Use::Time => {
                            stamp_start = start;
                            stamp = &bytes[start..at];
                        }
                        Use::TimeOfDay => {
                            if stamp.trim_ascii().is_empty()
                                || bytes[start..at].trim_ascii().is_empty()
                            {
                                return None;
                            }
                            stamp = &bytes[stamp_start..at];
                        }
                        _ => {}
                    }
                }
            }
            if cell < last {
                if bytes.get(at) != Some(&self.separator) {
                    return None;
                }
                at += 1;
            }
        }
        if stamp.trim_ascii().is_empty() || readings.len() != self.numbers {
            return None;
        }
        let consumed = self.end_of_line(bytes, at)?;
        Some(FastRow { stamp, consumed })
    }

    /// Where the next line begins.
    #[inline]
    fn end_of_line(&self, bytes: &[u8], mut at: usize) -> Option<usize> {
        if bytes.get(at) == Some(&self.separator) {
            let found = memchr::memchr3(b'\n', b'\r', b'"', &bytes[at..]);
            at = found.map_or(bytes.len(), |further| at + further);
        }
        match bytes.get(at) {
            None => Some(at),
            Some(b'\n') => Some(at + 1),
            Some(b'\r') if bytes.get(at + 1) == Some(&b'\n') => Some(at + 2),
            _ => None,
        }
    }

    /// An optional minus sign, digits, perhaps a decimal sign and more digits: 15 in all at most.
    /// NaN for an empty cell. What follows must end the cell.
    #[inline]
    fn number(&self, bytes: &[u8], start: usize) -> Option<(f64, usize)> {
        let mut at = start;
        let negative = bytes.get(at) == Some(&b'-');
        at += usize::from(negative);
        let first = at;
        let mut digits: u64 = 0;
        while let Some(digit) = digit(bytes, at) {
            digits = digits.wrapping_mul(10).wrapping_add(digit);
            at += 1;
        }
        let mut count = at - first;
        if count == 0 {
            let empty = !negative && self.ends_cell(bytes, at);
            return empty.then_some((f64::NAN, at));
        }
        let mut decimals = 0;
        if bytes.get(at) == Some(&self.decimal) {
            at += 1;
            let point = at;
            while let Some(digit) = digit(bytes, at) {
                digits = digits.wrapping_mul(10).wrapping_add(digit);
                at += 1;
            }
            decimals = at - point;
            if decimals == 0 {
                return None;
            }
            count += decimals;
        }
        if count > 15 || !self.ends_cell(bytes, at) {
            return None;
        }
        let number = digits as f64 / POWERS[decimals];
        Some((if negative { 0.0 - number } else { number }, at))
    }

    #[inline]
    fn ends_cell(&self, bytes: &[u8], at: usize) -> bool {
        match bytes.get(at) {
            None | Some(b'\n' | b'\r') => true,
            Some(&byte) => byte == self.separator,
        }
    }

    fn is_missing(&self, cell: &[u8]) -> bool {
        self.missing.iter().any(|word| word == cell)
    }
}

#[inline]
fn digit(bytes: &[u8], at: usize) -> Option<u64> {
    let digit = bytes.get(at)?.wrapping_sub(b'0');
    (digit < 10).then_some(u64::from(digit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> Option<(String, Vec<f64>, usize)> {
        let plain = FastLine::new(
            b';',
            b',',
            TimeCells::one(1),
            &[2, 4],
            &["-9999".to_owned()],
        )?;
        let mut readings = Vec::new();
        let row = plain.read(line.as_bytes(), &mut readings)?;
        let stamp = String::from_utf8_lossy(row.stamp).into_owned();
        Some((stamp, readings, row.consumed))
    }

    #[test]
    fn plain_lines_are_taken_apart() {
        assert_eq!(
            read("x;10:00;-2,50;word;7;rest\nnext"),
            Some(("10:00".to_owned(), vec![-2.5, 7.0], 26))
        );
        assert_eq!(
            read(";10:00;0,1;;12345,6789012345\r\n").map(|row| row.1),
            Some(vec![0.1, 12_345.678_901_234_5])
        );
        let (_, readings, _) = read("x;t;;;-9999\n").expect("plain");
        assert!(readings.iter().all(|reading| reading.is_nan()));
    }

    #[test]
    fn odd_lines_are_left_to_the_careful_path() {
        for line in [
            "",
            "\n",
            "x;10:00;1,5\n",
            "x;10:00; 1,5;;2\n",
            "x;10:00;1.5;;2\n",
            "x;10:00;1,;;2\n",
            "x;10:00;,5;;2\n",
            "x;10:00;1e3;;2\n",
            "x;10:00;+1;;2\n",
            "x;10:00;-;;2\n",
            "x;10:00;1234567890123456;;2\n",
            "x;;1;;2\n",
            "\"x\";10:00;1;;2\n",
            "x;10:00;1;;2;\"rest\n",
            "x;10:00;1;;2\rx",
        ] {
            assert_eq!(read(line), None, "{line:?}");
        }
        assert!(FastLine::new(b',', b',', TimeCells::one(0), &[1], &[]).is_none());
        assert!(FastLine::new(b';', b',', TimeCells::one(1), &[1], &[]).is_none());
    }
}
