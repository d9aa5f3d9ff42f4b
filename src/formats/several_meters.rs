//! A plain log of several meters, distinguished by a column: the rows of each, as they are.

use std::borrow::Cow;
use std::collections::HashMap;

use super::cells::split;
use super::kinds::is_summary;
use super::line_place::place;
use super::log_format::{FormatSource, LogFormat};
use super::table_shape::{TableShape, figure};
use super::transcript::{PlainLog, Transcript};
use message::{Message, Messages};

/// The format.
pub(crate) struct SeveralMeters;

/// Rows with values of a table of several meters that name none of them.
#[derive(Debug, Default)]
pub(crate) struct RowsWithoutMeter {
    first: Option<Message>,
    count: usize,
}

impl RowsWithoutMeter {
    /// Looks at a row without a meter; one without values is a remark, and sums of rows belong to none.
    pub(crate) fn see(
        &mut self,
        file: &str,
        line: usize,
        text: &str,
        cells: &[Cow<'_, str>],
        values: &[usize],
    ) {
        let known = |column: &usize| {
            cells
                .get(*column)
                .is_some_and(|cell| figure(cell).is_some())
        };
        if !values.iter().any(known) || cells.iter().any(|cell| is_summary(cell)) {
            return;
        }
        self.count += 1;
        self.first.get_or_insert_with(|| {
            Message::error(
                "interval-format",
                format!("a row of `{file}` with values names no meter"),
            )
            .at(place(file, line, text), "expected the meter, as in the other rows")
            .help("write the meter into the row, or take it out; a row of totals is passed over where it says `total`")
        });
    }

    /// `None` where there are such rows.
    pub(crate) fn report(self, messages: &mut Messages) -> Option<()> {
        let Some(message) = self.first else {
            return Some(());
        };
        messages.push(match self.count {
            1 => message,
            count => message.note(format!("{count} rows are so")),
        });
        None
    }
}

impl LogFormat for SeveralMeters {
    fn name(&self) -> &'static str {
        "a row per reading"
    }

    fn recognise(&self, _file: &str, beginning: &str) -> Option<String> {
        let shape = TableShape::find(beginning)?;
        let id = shape.id?;
        Some(format!(
            "several meters, one for each word in the column `{}`",
            shape.names[id]
        ))
    }

    fn read(&self, source: &FormatSource<'_>, messages: &mut Messages) -> Option<Transcript> {
        let shape = TableShape::find(source.text)?;
        let id = shape.id?;
        let head: String = source
            .text
            .lines()
            .take(shape.header_line + 1)
            .flat_map(|line| [line, "\n"])
            .collect();
        let mut logs: Vec<(String, String)> = Vec::new();
        let mut places: HashMap<String, usize> = HashMap::new();
        let mut without = RowsWithoutMeter::default();
        let lines = source.text.lines().enumerate();
        for (number, line) in lines.skip(shape.header_line + 1) {
            let cells = split(line, shape.separator);
            let Some(point) = cells.get(id).filter(|point| !point.is_empty()) else {
                without.see(source.file, number, line, &cells, &shape.values);
                continue;
            };
            let at = *places
                .entry(point.clone().into_owned())
                .or_insert_with_key(|point| {
                    logs.push((point.clone(), head.clone()));
                    logs.len() - 1
                });
            logs[at].1.push_str(line);
            logs[at].1.push('\n');
        }
        without.report(messages)?;
        let logs = logs.into_iter().map(|(point, text)| PlainLog {
            point: Some(point),
            text: text.into_bytes(),
            stamp: None,
        });
        Some(Transcript::Logs(logs.collect()))
    }
}
