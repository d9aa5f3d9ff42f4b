//! The files of a site folder as bytes and text.

use std::path::{Path, PathBuf};

use super::bounds::LARGEST_FILE;
use message::{Message, Messages};
use user_tables::{is_workbook, text_of};

/// Text of a file of the site, with a message where it cannot be had.
pub fn read_text(folder: &Path, name: &str, messages: &mut Messages) -> Option<String> {
    let bytes = match read_file(&folder.join(name)) {
        Ok(bytes) => bytes,
        Err(error) => {
            messages.push(cannot_read(folder, name, &error));
            return None;
        }
    };
    text_of(name, bytes)
        .map_err(|message| messages.push(*message))
        .ok()
}

/// The bytes of an ordinary file: a pipe would keep the program waiting.
///
/// # Errors
///
/// Those of the operating system.
pub fn read_file(path: &Path) -> std::io::Result<Vec<u8>> {
    let kind = std::fs::metadata(path)?;
    if !kind.is_file() && !kind.is_dir() {
        return Err(std::io::Error::other("it is not an ordinary file"));
    }
    if kind.len() > LARGEST_FILE {
        let most = LARGEST_FILE >> 20;
        return Err(std::io::Error::other(format!(
            "it has more than {most} MB, far more than a workshop's takes"
        )));
    }
    std::fs::read(path)
}

/// Says which of folder and file is not there, or what the system says.
pub(crate) fn cannot_read(folder: &Path, name: &str, error: &std::io::Error) -> Message {
    const PARTS: &str = "a site is a folder with `site.toml`, `machines.csv` and its meter logs";
    let shown = folder.display();
    if !folder.exists() {
        Message::error("no-such-folder", format!("there is no folder `{shown}`"))
            .note(PARTS)
            .help("check its name, and the folder that the command is run in")
    } else if !folder.is_dir() {
        Message::error("not-a-folder", format!("`{shown}` is not a folder"))
            .note(PARTS)
            .help("name the folder, not a file in it")
    } else if error.kind() == std::io::ErrorKind::NotFound {
        Message::error(
            "missing-file",
            format!("the folder `{shown}` has no `{name}`"),
        )
        .note(PARTS)
        .help(workbook_there(folder).map_or_else(
            || format!("put `{name}` there, or name another folder"),
            |book| {
                format!(
                    "name the workbook where it holds the site: `{book}`; else put `{name}` there"
                )
            },
        ))
    } else {
        Message::error(
            "cannot-read",
            format!("cannot read `{}`: {error}", folder.join(name).display()),
        )
    }
}

/// The only workbook of a folder: it may hold the whole site.
fn workbook_there(folder: &Path) -> Option<String> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let is_list = |path: &PathBuf| {
        let stem = path.file_stem().unwrap_or_default().to_string_lossy();
        ["machines", "readings"].contains(&stem.to_lowercase().as_str())
    };
    let mut books = entries
        .map(|entry| entry.path())
        .filter(|path| is_workbook(path) && !is_list(path));
    let book = books.next()?;
    books.next().is_none().then(|| book.display().to_string())
}
