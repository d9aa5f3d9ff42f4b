//! Files that hold logs: zip archives, and workbooks, whose sheets are taken as they would be written in a CSV file.

use std::fs::File;
use std::io::{Cursor, Read};
use std::path::Path;

use message::{Message, Messages, Place};
use user_tables::{NamedSheet, is_workbook, read_workbook};

/// All that an archive may hold unpacked. (bytes)
const LARGEST: u64 = 1 << 30;
/// Files that an archive may hold.
const MOST_FILES: usize = 1000;

/// A log inside a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Content {
    /// Name of the sheet or the file inside.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Does a file hold others, by its name or its first bytes?
#[must_use]
pub fn is_container(path: &Path) -> bool {
    let begins = || {
        let mut first = [0; 4];
        let read = File::open(path).and_then(|mut file| file.read_exact(&mut first));
        read.is_ok() && first == *b"PK\x03\x04"
    };
    is_workbook(path) || begins()
}

/// The logs inside a file, in its order. A sheet that cannot be read is reported.
///
/// # Errors
///
/// A message that says why it cannot be opened.
pub fn contents(
    name: &str,
    path: &Path,
    messages: &mut Messages,
) -> Result<Vec<Content>, Box<Message>> {
    let bytes = std::fs::read(path).map_err(|error| {
        Message::error(
            "cannot-read",
            format!("cannot read the log `{name}`: {error}"),
        )
        .at(Place::file(name), "")
    })?;
    if is_workbook(path) {
        return sheets(name, bytes, messages);
    }
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes))
        .map_err(|error| damaged(name, &error.to_string()))?;
    let inside: Vec<String> = archive
        .file_names()
        .filter_map(Result::ok)
        .map(std::borrow::Cow::into_owned)
        .collect();
    if inside
        .iter()
        .any(|inner| inner == "[Content_Types].xml" || inner == "content.xml")
    {
        return sheets(name, archive.into_inner().into_inner(), messages);
    }
    let mut contents = Vec::new();
    let mut room = LARGEST;
    if archive.len() > MOST_FILES {
        return Err(Message::error(
            "too-large",
            format!(
                "`{name}` holds {} files; an archive may hold {MOST_FILES}",
                archive.len()
            ),
        )
        .at(Place::file(name), "")
        .help("unpack it, and name the files inside")
        .into());
    }
    for index in 0..archive.len() {
        let entry = archive
            .by_index(index)
            .map_err(|error| damaged(name, &error.to_string()))?;
        let inner = match entry.name() {
            Ok(inner) => inner.into_owned(),
            Err(_) => String::from_utf8_lossy(entry.name_raw()).into_owned(),
        };
        let file_name = inner
            .rsplit(['/', '\\'])
            .next()
            .unwrap_or_default()
            .to_owned();
        if entry.is_dir() || inner.starts_with("__MACOSX") || file_name.starts_with('.') {
            continue;
        }
        let mut bytes = Vec::new();
        entry
            .take(room + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| damaged(name, &error.to_string()))?;
        room = room
            .checked_sub(bytes.len() as u64)
            .ok_or_else(|| too_large(name))?;
        contents.push(Content {
            name: file_name,
            bytes,
        });
    }
    Ok(contents)
}

/// The sheets that have cells.
fn sheets(
    name: &str,
    bytes: Vec<u8>,
    messages: &mut Messages,
) -> Result<Vec<Content>, Box<Message>> {
    let mut with_cells = Vec::new();
    for NamedSheet { name: own, sheet } in read_workbook(name, bytes)? {
        match sheet {
            Ok(sheet) if sheet.text.trim().is_empty() => {}
            Ok(sheet) => with_cells.push(Content {
                name: own,
                bytes: sheet.text.into_bytes(),
            }),
            Err(why) => messages.push(
                Message::warning(
                    "unread-sheet",
                    format!("sheet `{own}` of `{name}` cannot be read and is excluded: {why}"),
                )
                .at(Place::file(name), "")
                .help("save the workbook again, or save that sheet as CSV"),
            ),
        }
    }
    Ok(with_cells)
}

fn damaged(name: &str, why: &str) -> Box<Message> {
    Message::error(
        "damaged-log",
        format!("the log `{name}` is not a whole zip file: {why}"),
    )
    .at(Place::file(name), "")
    .help("export or copy the log again")
    .into()
}

fn too_large(name: &str) -> Box<Message> {
    Message::error(
        "too-large",
        format!("`{name}` holds more than {} MB unpacked", LARGEST >> 20),
    )
    .at(Place::file(name), "")
    .help("unpack it, and name the files inside")
    .into()
}
