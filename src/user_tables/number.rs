//! Numbers as people write them: with a point or a comma, thousands in groups, a unit behind.

/// Horsepower (550 ft·lbf/s) in kilowatts.
const HORSEPOWER_KW: f64 = 0.745_699_872;

/// A unit that people write, in the unit that a column has: `W` in `kW`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WrittenUnit {
    /// Unit of the column; `hp` stands for the output of a motor in kW.
    pub of: &'static str,
    /// One of the written in units of the column.
    pub factor: f64,
}

/// Each unit with its words in small letters.
const UNITS: [(&[&str], &str, f64); 14] = [
    (&["kw", "kilowatt", "kilowatts"], "kW", 1.0),
    (&["w", "watt", "watts"], "kW", 0.001),
    (&["hp", "bhp", "horsepower"], "hp", HORSEPOWER_KW),
    (&["kva"], "kVA", 1.0),
    (&["va"], "kVA", 0.001),
    (&["a", "amp", "amps", "ampere", "amperes"], "A", 1.0),
    (&["ma"], "A", 0.001),
    (&["%", "pct", "percent", "pc"], "%", 1.0),
    (&["m", "metre", "metres"], "m", 1.0),
    (&["mm2", "mm²", "sqmm"], "mm²", 1.0),
    (&["v", "volt", "volts"], "V", 1.0),
    (&["kv"], "V", 1000.0),
    (&["hz"], "Hz", 1.0),
    (&["min", "minutes"], "min", 1.0),
];

impl WrittenUnit {
    /// Of a word in any letter case, brackets around it allowed.
    #[must_use]
    pub fn of_word(word: &str) -> Option<WrittenUnit> {
        let bare = word.trim_matches(|c: char| c.is_whitespace() || "()[].".contains(c));
        let lower = bare.to_lowercase();
        let found = UNITS
            .iter()
            .find(|(words, ..)| words.contains(&lower.as_str()));
        found.map(|&(_, of, factor)| WrittenUnit { of, factor })
    }
}

impl WrittenUnit {
    /// As it is usually written.
    #[must_use]
    pub fn shown(self) -> &'static str {
        match (self.of, self.factor) {
            ("kW", factor) if factor < 1.0 => "W",
            ("kVA", factor) if factor < 1.0 => "VA",
            ("A", factor) if factor < 1.0 => "mA",
            ("V", factor) if factor > 1.0 => "kV",
            (of, _) => of,
        }
    }
}

/// What a cell says where a number is expected.
#[derive(Clone, Debug, PartialEq)]
pub enum WrittenNumber<'t> {
    /// The number with a decimal point and no groups, and what is written behind it.
    Number(String, &'t str),
    /// The same digits may be either of two numbers.
    TwoReadings([String; 2]),
    /// No number.
    Other,
}

/// Reads a number. With `decimal_comma` a single comma is a decimal sign, as in a file separated by semicolons.
#[must_use]
pub fn read_number(text: &str, decimal_comma: bool) -> WrittenNumber<'_> {
    let text = text.trim();
    let in_number = |c: char| c.is_ascii_digit() || ".,'’-−+".contains(c) || c.is_whitespace();
    let end = text.find(|c| !in_number(c)).unwrap_or(text.len());
    let (number, rest) = (text[..end].trim(), text[end..].trim());
    let (sign, digits) = match number.strip_prefix(['-', '−']) {
        Some(digits) => ("-", digits),
        None => ("", number.strip_prefix('+').unwrap_or(number)),
    };
    let is_group = |c: char| c.is_whitespace() || c == '\'' || c == '’';
    let Some(digits) = without_groups(digits.trim(), is_group) else {
        return WrittenNumber::Other;
    };
    let plain = |digits: String| WrittenNumber::Number(format!("{sign}{digits}"), rest);
    let commas = digits.matches(',').count();
    let points = digits.matches('.').count();
    // Three digits behind the only sign: a fraction, or thousands.
    let is_open = |sign: char| {
        digits.split_once(sign).is_some_and(|(whole, part)| {
            part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0')
        })
    };
    let read = match (commas, points) {
        (0, 0) => Some(digits.clone()),
        (1, 0) | (0, 1) => {
            let sign_used = if commas == 1 { ',' } else { '.' };
            let usual = (sign_used == ',') == decimal_comma;
            // A point among commas that are decimal signs, a comma elsewhere.
            if !usual && is_open(sign_used) {
                let readings = [
                    digits.replace(sign_used, "."),
                    digits.replace(sign_used, ""),
                ];
                return WrittenNumber::TwoReadings(readings.map(|one| format!("{sign}{one}")));
            }
            Some(digits.replace(',', "."))
        }
        (_, 0) => without_groups(&digits, |c| c == ','),
        (0, _) => without_groups(&digits, |c| c == '.'),
        (_, 1) if digits.rfind(',') < digits.find('.') => grouped_whole(&digits, '.', ','),
        (1, _) if digits.rfind('.') < digits.find(',') => grouped_whole(&digits, ',', '.'),
        _ => None,
    };
    match read {
        Some(digits)
            if digits.starts_with(|c: char| c.is_ascii_digit() || c == '.')
                && digits.parse::<f64>().is_ok() =>
        {
            plain(digits)
        }
        _ => WrittenNumber::Other,
    }
}

/// With a decimal sign, the whole part in groups.
fn grouped_whole(digits: &str, decimal: char, group: char) -> Option<String> {
    let (whole, part) = digits.split_once(decimal)?;
    Some(format!("{}.{part}", without_groups(whole, |c| c == group)?))
}

/// Digits in groups of three as one number; the last group may go on with a decimal sign.
fn without_groups(digits: &str, is_group: impl Fn(char) -> bool) -> Option<String> {
    let mut parts = digits.split(&is_group);
    let first = parts.next()?;
    let rest: Vec<&str> = parts.collect();
    if rest.is_empty() {
        return Some(digits.to_owned());
    }
    let (last, middle) = rest.split_last()?;
    let is_three = |part: &str| part.len() == 3 && part.bytes().all(|b| b.is_ascii_digit());
    let ends_well = last.get(..3).is_some_and(is_three)
        && last[3..]
            .chars()
            .next()
            .is_none_or(|c| c == '.' || c == ',');
    let begins_well = (1..=3).contains(&first.len()) && first.bytes().all(|b| b.is_ascii_digit());
    (begins_well && ends_well && middle.iter().all(|part| is_three(part)))
        .then(|| digits.chars().filter(|c| !is_group(*c)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Option<(String, String)> {
        match read_number(text, false) {
            WrittenNumber::Number(number, rest) => Some((number, rest.to_owned())),
            _ => None,
        }
    }

    #[test]
    fn points_commas_groups_and_units_are_understood() {
        for (text, expected, rest) in [
            ("3", "3", ""),
            ("3.5 kW", "3.5", "kW"),
            ("3,5kW", "3.5", "kW"),
            ("0,125", "0.125", ""),
            ("1.500", "1.500", ""),
            ("1,234.5", "1234.5", ""),
            ("1.234,5", "1234.5", ""),
            ("1,234,567", "1234567", ""),
            ("1 500 W", "1500", "W"),
            ("1\u{a0}500,5", "1500.5", ""),
            ("12'500", "12500", ""),
            ("−4", "-4", ""),
            ("30%", "30", "%"),
        ] {
            let expected = Some((expected.to_owned(), rest.to_owned()));
            assert_eq!(number(text), expected, "{text}");
        }
        for text in ["", "kW", "1,2,3", "1 2", "1.2.3", "1,23.4,5", "-", "--1"] {
            assert_eq!(number(text), None, "{text}");
        }
    }

    #[test]
    fn a_group_of_three_is_asked_about() {
        let both = |a: &str, b: &str| WrittenNumber::TwoReadings([a.to_owned(), b.to_owned()]);
        assert_eq!(read_number("1,500", false), both("1.500", "1500"));
        assert_eq!(read_number("1.500", true), both("1.500", "1500"));
        let plain = WrittenNumber::Number("1.500".to_owned(), "");
        assert_eq!(read_number("1,500", true), plain);
    }

    #[test]
    fn units_are_known_by_their_words() {
        let of = |word| WrittenUnit::of_word(word).map(|unit| (unit.of, unit.factor));
        assert_eq!(of("(W)"), Some(("kW", 0.001)));
        assert_eq!(of("[Amps]"), Some(("A", 1.0)));
        assert_eq!(of("phase"), None);
    }
}
