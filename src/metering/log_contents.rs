//! What a file holds: a plain table, or the logs of one or several meters in a known format, packed or not.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono_tz::Tz;

use super::progress::{Progress, Unwatched};
use crate::rows::parquet::log::is_parquet;
use crate::source::text_source::{TextInput, TextSource};
use crate::table::quality::{Action, QualityEntry};
use formats::{
    Content, FormatSource, PointChannels, Transcript, by_point, contents, is_container, recognised,
};
use message::{Message, Messages, Place};
use site::{Meter, Stamp};

/// The readings of one meter in a file.
#[derive(Clone, Debug)]
pub(crate) struct LogPart {
    /// Name of the file, with that of the file inside, for messages.
    pub(crate) name: String,
    /// The meter's identifier in the file.
    pub(crate) point: Option<String>,
    /// The format that it was recognised as, and why.
    pub(crate) format: Option<String>,
    pub(crate) body: LogBody,
    /// What its file holds besides and was not read.
    pub(crate) not_read: Arc<Vec<QualityEntry>>,
}

/// Where the readings are.
#[derive(Clone, Debug)]
pub(crate) enum LogBody {
    /// A plain table, or a Parquet file.
    File(PathBuf),
    /// A plain table out of a file.
    Text(Arc<[u8]>, Option<Stamp>),
    /// Channels of intervals.
    Channels(Arc<PointChannels>),
}

/// Messages about what a file holds and was not read.
const NOT_READ: [&str; 3] = ["unread-sheet", "unread-channel", "unread-column"];

/// The parts of a file, read as one of its meters is declared; `None` after an error.
pub(crate) fn parts_of(
    path: &Path,
    name: &str,
    meter: &Meter,
    zone: Tz,
    messages: &mut Messages,
) -> Option<Vec<LogPart>> {
    let mut own = Messages::new();
    let parts = opened(path, name, meter, zone, &mut own);
    let not_read = own
        .all()
        .iter()
        .filter(|message| NOT_READ.contains(&message.name));
    let entry = |message: &Message| QualityEntry {
        kind: message.name.to_owned(),
        count: 1,
        first_file: Some(name.to_owned()),
        note: message.text.clone(),
        action: Some(Action::LeftOut),
        ..QualityEntry::default()
    };
    let not_read = Arc::new(not_read.map(entry).collect::<Vec<_>>());
    messages.append(own);
    let mut parts = parts?;
    for part in &mut parts {
        part.not_read = Arc::clone(&not_read);
    }
    Some(parts)
}

fn opened(
    path: &Path,
    name: &str,
    meter: &Meter,
    zone: Tz,
    messages: &mut Messages,
) -> Option<Vec<LogPart>> {
    let plain = || {
        vec![LogPart {
            name: name.to_owned(),
            point: None,
            format: None,
            body: LogBody::File(path.to_owned()),
            not_read: Arc::default(),
        }]
    };
    let opener = Opener { meter, zone };
    if is_parquet(path) {
        return Some(plain());
    }
    if !is_container(path) {
        // Faults of opening are reported where it is read as a plain table.
        return match opener.text_of(name, TextInput::File(path)) {
            Some(text) => opener.parts(name, &text, messages),
            None => Some(plain()),
        };
    }
    let inside = match contents(name, path, messages) {
        Ok(inside) => inside,
        // What only begins like an archive is reported as no text.
        Err(_) if !is_named_container(path) => return Some(plain()),
        Err(message) => {
            messages.push(*message);
            return None;
        }
    };
    if inside.is_empty() {
        messages.push(
            Message::error("empty-log", format!("`{name}` holds no log"))
                .at(Place::file(name), "")
                .help("export the log again, or exclude the file from the meter's `files`"),
        );
        return None;
    }
    let several = inside.len() > 1;
    let mut parts = Vec::new();
    for Content { name: inner, bytes } in inside {
        let shown = format!("{name}: {inner}");
        let text = opener.text_of(&shown, TextInput::Memory(&bytes));
        if let Some(text) = text {
            parts.extend(opener.parts(&shown, &text, messages)?);
        } else {
            let stem = inner
                .rsplit_once('.')
                .map_or(inner.as_str(), |(stem, _)| stem);
            parts.push(LogPart {
                name: shown,
                point: several.then(|| stem.to_owned()),
                format: Some(format!("inside `{name}`")),
                body: LogBody::Text(bytes.into(), None),
                not_read: Arc::default(),
            });
        }
    }
    Some(parts)
}

fn is_named_container(path: &Path) -> bool {
    let kind = path.extension().and_then(|kind| kind.to_str());
    kind.is_some_and(|kind| {
        ["zip", "xlsx", "ods"]
            .iter()
            .any(|known| kind.eq_ignore_ascii_case(known))
    })
}

struct Opener<'m> {
    meter: &'m Meter,
    zone: Tz,
}

impl Opener<'_> {
    /// All of a text in a known format.
    fn text_of(&self, name: &str, input: TextInput<'_>) -> Option<String> {
        let source = TextSource::open(input, &Unwatched as &dyn Progress).ok()?;
        let beginning = String::from_utf8_lossy(&source.sample);
        self.format_of(name, &beginning)?;
        let mut bytes = source.sample;
        let mut rest = source.rest;
        rest.read_to_end(&mut bytes).ok()?;
        Some(match String::from_utf8(bytes) {
            Ok(text) => text,
            Err(error) => String::from_utf8_lossy(error.as_bytes()).into_owned(),
        })
    }

    /// Declared columns are those of a plain table.
    fn format_of(
        &self,
        name: &str,
        beginning: &str,
    ) -> Option<(&'static dyn formats::LogFormat, String)> {
        recognised(name, beginning, !self.meter.columns.is_empty())
    }

    fn parts(&self, name: &str, text: &str, messages: &mut Messages) -> Option<Vec<LogPart>> {
        let (format, why) = self.format_of(name, text)?;
        let source = FormatSource {
            file: name,
            text,
            zone: self.zone,
            stamp: self.meter.stamp,
            corrections: self.meter.corrections,
            unit: self.meter.unit.as_deref(),
        };
        let transcript = format.read(&source, messages)?;
        let said = format!("{}: {why}", format.name());
        let part = |point: Option<String>, body: LogBody| LogPart {
            name: name.to_owned(),
            point,
            format: Some(said.clone()),
            body,
            not_read: Arc::default(),
        };
        let parts: Vec<LogPart> = match transcript {
            Transcript::Channels(channels) => by_point(name, channels, messages)
                .into_iter()
                .map(|meter| part(meter.id.clone(), LogBody::Channels(Arc::new(meter))))
                .collect(),
            Transcript::Logs(logs) => logs
                .into_iter()
                .map(|log| part(log.point, LogBody::Text(log.text.into(), log.stamp)))
                .collect(),
        };
        if parts.is_empty() {
            messages.push(
                Message::error(
                    "no-energy",
                    format!("`{name}` has no channel of energy or power"),
                )
                .at(Place::file(name), "")
                .help("ask for interval data of electricity"),
            );
            return None;
        }
        Some(parts)
    }
}
