//! What is not TOML in site.toml, each line once.

use toml::de::Error;

use super::table::Source;
use message::{Message, Place, decimal_point, straight_quotes};

/// Turns the faults that the parser found into messages.
pub(crate) fn complain(faults: &[Error], source: &Source<'_>) {
    let mut lines = Vec::new();
    for fault in faults {
        let place = source.place(&fault.span().unwrap_or(0..0));
        // One slip may make several faults of a line.
        if lines.contains(&place.line) {
            continue;
        }
        let line = source.text.lines().nth(place.line.saturating_sub(1));
        let line = line.unwrap_or_default();
        let known = typed(line, &place, source);
        if known.is_some() {
            lines.push(place.line);
        }
        source.push(known.unwrap_or_else(|| {
            Message::error(
                "not-toml",
                format!("`site.toml` is not valid TOML: {}", fault.message()),
            )
            .at(place, "cannot be understood from here")
            .help("write texts in quotation marks, numbers without: `name = \"Ferry Lane\"`, `phase_limit_a = 100`")
        }));
    }
}

/// A decimal comma or a typographic quotation mark in a line.
fn typed(line: &str, place: &Place, source: &Source<'_>) -> Option<Message> {
    let at =
        |from: usize, to: usize| Place::in_line(source.file.clone(), place.line, line, from..to);
    if let Some((from, number)) = decimal_comma(line) {
        return Some(
            Message::error("decimal-comma", format!("`{number}` has a decimal comma"))
                .at(at(from, from + number.len()), "expected a decimal point")
                .maybe_help(decimal_point(number)),
        );
    }
    let from = line.find(['“', '”', '„', '«', '»'])?;
    let mark = line[from..].chars().next()?;
    Some(
        Message::error(
            "curly-quotes",
            format!("`{mark}` is not a straight quotation mark"),
        )
        .at(at(from, from + mark.len_utf8()), "expected `\"`")
        .maybe_help(straight_quotes(line)),
    )
}

/// The first value that is digits, a comma and digits, with its place in the line.
fn decimal_comma(line: &str) -> Option<(usize, &str)> {
    let values = line.match_indices('=').map(|(at, _)| at + 1);
    values.into_iter().find_map(|at| {
        let from = at + line[at..].len() - line[at..].trim_start().len();
        let rest = &line[from..];
        let end = rest
            .find(|c: char| !c.is_ascii_digit() && !",+-".contains(c))
            .unwrap_or(rest.len());
        let number = rest[..end].trim_end_matches(',');
        decimal_point(number).map(|_| (from, number))
    })
}
