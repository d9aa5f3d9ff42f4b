//! A plain log of several meters, distinguished by a column: the rows of each, as they are.

use std::collections::HashMap;

use super::cells::split;
use super::log_format::{FormatSource, LogFormat};
use super::table_shape::TableShape;
use super::transcript::{PlainLog, Transcript};
use message::Messages;

/// The format.
pub(crate) struct SeveralMeters;

impl LogFormat for SeveralMeters {
    fn name(&self) -> &'static str {
        "a row per reading"
    }

    fn recognise(&self, beginning: &str) -> Option<String> {
        let shape = TableShape::find(beginning)?;
        let id = shape.id?;
        Some(format!(
            "several meters, one for each word in the column `{}`",
            shape.names[id]
        ))
    }

    fn read(&self, source: &FormatSource<'_>, _messages: &mut Messages) -> Option<Transcript> {
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
        for line in source.text.lines().skip(shape.header_line + 1) {
            let cells = split(line, shape.separator);
            let Some(point) = cells.get(id).filter(|point| !point.is_empty()) else {
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
        let logs = logs.into_iter().map(|(point, text)| PlainLog {
            point: Some(point),
            text: text.into_bytes(),
            stamp: None,
        });
        Some(Transcript::Logs(logs.collect()))
    }
}
