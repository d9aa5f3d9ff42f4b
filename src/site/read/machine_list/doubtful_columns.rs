//! Columns whose cells, all together, may be read in two ways.

use declaration::ValueKind;
use message::{Message, Messages};
use user_tables::{Line, TableText, TableWords, WrittenNumber, WrittenTable, read_number};

/// Marks for yes that leave open what an empty cell means.
const MARKS: [&str; 4] = ["x", "✓", "✔", "•"];

pub(super) fn check(
    source: TableText<'_>,
    table: &WrittenTable<'_>,
    words: &TableWords<'_>,
    messages: &mut Messages,
) {
    for cell in 0..table.columns.header.width() {
        let Some(meaning) = table.columns.meaning(cell) else {
            continue;
        };
        let Some(key) = words.key_of(meaning.column) else {
            continue;
        };
        let in_percent = key.unit == "%" || meaning.unit.is_some_and(|unit| unit.of == "%");
        if in_percent && source.sheet.is_some() {
            check_percent(table, cell, messages);
        }
        if matches!(key.kind, ValueKind::Word(&["yes", "no"])) {
            check_marks(table, cell, messages);
        }
    }
}

/// Per cent in a workbook without a per-cent format, and none above 1: 0.2 may be 0.2 % or 20 %.
fn check_percent(table: &WrittenTable<'_>, cell: usize, messages: &mut Messages) {
    let mut largest: Option<(f64, Line<'_>)> = None;
    for line in table.rows() {
        let Some(text) = line.cell(cell) else {
            continue;
        };
        if let WrittenNumber::Number(number, "") = read_number(text, false)
            && let Ok(value) = number.parse::<f64>()
            && value > 0.0
            && largest.as_ref().is_none_or(|(most, _)| value > *most)
        {
            largest = Some((value, line));
        }
    }
    if let Some((value, line)) = largest.filter(|(value, _)| *value <= 1.0) {
        let percent = (value * 1e11).round() / 1e9;
        messages.push(
            Message::error(
                "percent-or-share",
                format!(
                    "`{value}` may be {value} % or {percent} %: no number in its column is above 1"
                ),
            )
            .at(line.place(cell), "expected per cent")
            .help(format!(
                "write `{value} %` or `{percent} %`, or give the cells a per-cent format"
            )),
        );
    }
}

/// Marks and empty cells alone: an empty cell may be no, or what is usual.
fn check_marks(table: &WrittenTable<'_>, cell: usize, messages: &mut Messages) {
    let mut marked = None;
    let mut is_empty = false;
    for line in table.rows() {
        match line.cell(cell).map(str::to_lowercase) {
            None => is_empty = true,
            Some(text) if MARKS.contains(&text.as_str()) => marked = marked.or(Some(line)),
            Some(_) => return,
        }
    }
    if let Some(line) = marked.filter(|_| is_empty) {
        let name = table.columns.header.cell(cell).unwrap_or_default();
        messages.push(
            Message::error(
                "marks-and-blanks",
                format!("`{name}` has marks and empty cells, so that an empty cell may be no or not filled in"),
            )
            .at(line.place(cell), "expected yes or no in each cell")
            .help("write `no` where the mark is missing on purpose"),
        );
    }
}
