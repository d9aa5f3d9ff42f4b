//! A file of interval data, read as the format that a target is for.

use std::path::Path;

use tapoff::formats::{FormatSource, Transcript, by_point, contents, recognised};
use tapoff::message::Messages;
use tapoff::site::{Corrections, Stamp};

use crate::drawn;

/// Reads a file in the ways that a meter may declare. True where it has the format of that name.
///
/// # Panics
///
/// On a find: nothing is read and nothing is said, or what is read is no number.
#[must_use]
pub fn read_as(name: &str, bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let mut known = false;
    for declared in [false, true] {
        let Some((format, _)) = recognised("a.csv", &text, declared) else {
            continue;
        };
        if format.name() != name {
            continue;
        }
        known = true;
        for (corrections, stamp, unit) in [
            (Corrections::Ask, None, None),
            (Corrections::Last, Some(Stamp::End), Some("kW")),
        ] {
            let source = FormatSource {
                file: "a.csv",
                text: &text,
                zone: "Europe/London".parse().expect("a zone"),
                stamp,
                corrections,
                unit,
            };
            let mut messages = Messages::new();
            let read = format.read(&source, &mut messages);
            drawn(&messages);
            match read {
                None => assert!(messages.has_errors(), "nothing is read, and nothing said"),
                Some(Transcript::Channels(channels)) => {
                    let values = |all: &[f64]| all.iter().all(|value| !value.is_infinite());
                    let stretches = channels.iter().flat_map(|channel| &channel.stretches);
                    assert!(stretches.into_iter().all(|one| values(&one.values)));
                    let count = channels.len();
                    assert!(by_point("a.csv", channels, &mut messages).len() <= count);
                }
                Some(Transcript::Logs(logs)) => {
                    for log in logs {
                        assert!(std::str::from_utf8(&log.text).is_ok());
                    }
                }
            }
        }
    }
    known
}

/// Opens a file that holds others.
///
/// # Panics
///
/// On a find: it cannot be opened, and nothing is said.
pub fn open(path: &Path) {
    let mut messages = Messages::new();
    if let Err(message) = contents("a.zip", path, &mut messages) {
        messages.push(*message);
        drawn(&messages);
        assert!(messages.has_errors());
    }
}
