//! Cells of a table as text: separator, cells of a line, numbers.

use std::borrow::Cow;

/// So many lines show how a table is written.
const LINES_SEEN: usize = 60;

/// The cells of a column that are not empty.
pub(crate) fn known_cells<'r>(rows: &'r [Vec<Cow<'_, str>>], column: usize) -> Vec<&'r str> {
    let cells = rows.iter().filter_map(|row| row.get(column));
    cells
        .map(Cow::as_ref)
        .filter(|cell| !cell.is_empty())
        .collect()
}

/// The sign that splits most lines into most cells.
pub(crate) fn separator(text: &str) -> char {
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !line.trim().is_empty())
        .take(LINES_SEEN)
        .collect();
    let weight = |sign: char| -> usize {
        let mut counts: Vec<usize> = lines
            .iter()
            .map(|line| split(line, sign).len())
            .filter(|&count| count > 1)
            .collect();
        counts.sort_unstable();
        counts
            .chunk_by(|a, b| a == b)
            .map(|run| run.len() * run[0])
            .max()
            .unwrap_or(0)
    };
    let (semicolon, tab, comma) = (weight(';'), weight('\t'), weight(','));
    // Decimal commas may be as many as columns.
    if semicolon > 0 && 2 * semicolon >= comma && semicolon >= tab {
        ';'
    } else if tab > 0 && 2 * tab >= comma {
        '\t'
    } else {
        ','
    }
}

/// The cells of a line without their quotes.
pub(crate) fn split(line: &str, separator: char) -> Vec<Cow<'_, str>> {
    let line = line.trim_end_matches('\r');
    if !line.contains('"') {
        return line
            .split(separator)
            .map(|cell| Cow::Borrowed(cell.trim()))
            .collect();
    }
    let mut cells = Vec::new();
    let mut cell = String::new();
    let mut quoted = false;
    let mut signs = line.chars().peekable();
    while let Some(sign) = signs.next() {
        match sign {
            '"' if quoted && signs.peek() == Some(&'"') => {
                cell.push('"');
                signs.next();
            }
            '"' => quoted = !quoted,
            // Spreadsheets keep leading zeros so: ="0012".
            '=' if !quoted && cell.trim().is_empty() && signs.peek() == Some(&'"') => {}
            _ if sign == separator && !quoted => {
                cells.push(Cow::Owned(std::mem::take(&mut cell).trim().to_owned()));
            }
            _ => cell.push(sign),
        }
    }
    cells.push(Cow::Owned(cell.trim().to_owned()));
    cells
}

/// How numbers are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberForm {
    /// `1234.5`, or `1,234.5`.
    Point,
    /// `1234,5`, or `1.234,5`.
    Comma,
}

/// The form that all numbers of a table fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FoundForm {
    /// This one.
    Clear(NumberForm),
    /// Every number with this sign is a group of one to three digits, the sign and three digits.
    Unclear(char),
}

/// What the numbers of a table show of their signs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each says whether one thing was seen"
)]
pub struct FormEvidence {
    /// A point that can only be a decimal sign.
    pub point: bool,
    /// A comma that can only be a decimal sign.
    pub comma: bool,
    /// A point before three digits, that may separate thousands.
    pub grouped_point: bool,
    /// A comma before three digits, that may separate thousands.
    pub grouped_comma: bool,
    /// A number has both signs: one of them separates thousands.
    pub both: bool,
    /// A whole number below a thousand without a sign.
    small: bool,
    /// A whole number from a thousand on without a sign.
    large: bool,
}

impl FormEvidence {
    /// Looks at a cell; what is no number is passed over.
    pub fn see(&mut self, text: &str) {
        let text = text.trim().trim_start_matches(['-', '+', '\u{2212}']);
        let is_plain = |byte: u8| byte.is_ascii_digit() || matches!(byte, b'.' | b',');
        if text.is_empty()
            || !text.bytes().all(is_plain)
            || !text.bytes().any(|byte| byte.is_ascii_digit())
        {
            return;
        }
        let grouped = |sign: char| {
            let mut groups = text.split(sign);
            let first = groups.next().unwrap_or_default();
            (1..=3).contains(&first.len()) && groups.all(|group| group.len() == 3)
        };
        match (text.rfind('.'), text.rfind(',')) {
            (Some(point), Some(comma)) => {
                self.both = true;
                self.point |= point > comma;
                self.comma |= comma > point;
            }
            // A date has two points, but no groups of three digits.
            (Some(_), None) if text.matches('.').count() > 1 => self.comma |= grouped('.'),
            (None, Some(_)) if text.matches(',').count() > 1 => self.point |= grouped(','),
            (Some(at), None) if is_group(text, at) => self.grouped_point = true,
            (None, Some(at)) if is_group(text, at) => self.grouped_comma = true,
            (Some(_), None) => self.point = true,
            (None, Some(_)) => self.comma = true,
            (None, None) => {
                self.small |= text.len() <= 3;
                self.large |= text.len() > 3;
            }
        }
    }

    /// In a file with commas between the cells a point is a decimal sign. Whole numbers that are written without a sign
    /// as long as they are below a thousand show that the sign separates thousands.
    #[must_use]
    pub fn form(self, separator: char) -> FoundForm {
        if self.comma && !self.point {
            return FoundForm::Clear(NumberForm::Comma);
        }
        if self.point || separator != ';' && !self.grouped_comma {
            return FoundForm::Clear(NumberForm::Point);
        }
        let thousands = self.small && !self.large;
        match (self.grouped_comma, self.grouped_point) {
            (true, false) if thousands => FoundForm::Clear(NumberForm::Point),
            (false, true) if thousands => FoundForm::Clear(NumberForm::Comma),
            (true, _) => FoundForm::Unclear(','),
            (false, true) => FoundForm::Unclear('.'),
            (false, false) => FoundForm::Clear(NumberForm::Point),
        }
    }
}

/// One to three digits, not a zero in front, a sign, three digits.
fn is_group(text: &str, at: usize) -> bool {
    let (whole, rest) = (&text[..at], &text[at + 1..]);
    (1..=3).contains(&whole.len())
        && !whole.starts_with('0')
        && rest.len() == 3
        && rest.bytes().all(|byte| byte.is_ascii_digit())
        && whole.bytes().all(|byte| byte.is_ascii_digit())
}

/// Does a cell say that there is no value?
pub(crate) fn is_nothing(cell: &str) -> bool {
    matches!(
        cell.to_lowercase().as_str(),
        "" | "-" | "--" | "n/a" | "na" | "nan" | "null" | "none" | "#n/a"
    )
}

/// A number; `None` where the text is none.
pub(crate) fn number(text: &str, form: NumberForm) -> Option<f64> {
    // No sign of another form is read as part of a number.
    if form == NumberForm::Point
        && let Ok(value) = fast_float2::parse::<f64, _>(text)
    {
        return Some(value).filter(|value| value.is_finite());
    }
    let (decimal, group) = match form {
        NumberForm::Point => ('.', ','),
        NumberForm::Comma => (',', '.'),
    };
    let plain: String = text
        .chars()
        .filter(|&sign| sign != group && !matches!(sign, ' ' | '\u{a0}' | '\u{202f}' | '\''))
        .map(|sign| match sign {
            '\u{2212}' => '-',
            sign if sign == decimal => '.',
            sign => sign,
        })
        .collect();
    fast_float2::parse::<f64, _>(&plain)
        .ok()
        .filter(|value| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::FoundForm::{Clear, Unclear};
    use super::*;

    #[test]
    fn lines_are_split_and_quotes_taken_off() {
        assert_eq!(split("a,\"1,5\",b\r", ','), ["a", "1,5", "b"]);
        assert_eq!(split("=\"0012\";x;", ';'), ["0012", "x", ""]);
        assert_eq!(separator("a;b\n1,5;2,5\n"), ';');
        assert_eq!(separator("a,b\n1,2\n"), ',');
    }

    #[test]
    fn the_decimal_sign_is_shown_or_not() {
        let form = |numbers: &[&str], separator| {
            let mut evidence = FormEvidence::default();
            for number in numbers {
                evidence.see(number);
            }
            evidence.form(separator)
        };
        assert_eq!(form(&["1.5", "2"], ','), Clear(NumberForm::Point));
        assert_eq!(form(&["1,234.5"], ','), Clear(NumberForm::Point));
        assert_eq!(form(&["999", "1,234"], ','), Clear(NumberForm::Point));
        assert_eq!(form(&["123,456"], ','), Unclear(','));
        assert_eq!(form(&["1234", "1,234"], ','), Unclear(','));
        assert_eq!(
            form(&["09.03.2026", "10:30", "2"], ';'),
            Clear(NumberForm::Point)
        );
        assert_eq!(form(&["1,5", "1,234"], ';'), Clear(NumberForm::Comma));
        assert_eq!(form(&["5.250", "7.125"], ';'), Unclear('.'));
        assert_eq!(form(&["5.250", "0.125"], ';'), Clear(NumberForm::Point));
        assert_eq!(form(&["5.250"], ','), Clear(NumberForm::Point));
        assert_eq!(number("1.234,5", NumberForm::Comma), Some(1234.5));
        assert_eq!(number("1,234.5", NumberForm::Point), Some(1234.5));
    }
}
