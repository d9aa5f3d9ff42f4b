//! What may be written over: an earlier result of the same kind, told by how it begins.
//!
//! Nothing is kept on the side about what was written: a result is known by itself. So a result that was moved, or
//! written on another computer, is written over as well, and what somebody put under its name is not.

use std::fs::File;
use std::io::{Cursor, Read};
use std::path::Path;

use anyhow::bail;
use calamine::{Reader, open_workbook_auto_from_rs};

/// More of a file is not read to know it; a workbook is read whole. (bytes)
const READ_AT_MOST: u64 = 16 << 20;

/// How pages say who wrote them.
const GENERATOR: &str = "<meta name=\"generator\" content=\"tapoff\">";

/// Refuses to write over a file that holds something else.
///
/// What is no ordinary file (a pipe, a device) and what cannot be read is left to the writing.
pub(super) fn guard(path: &Path, new: &[u8], force: bool) -> anyhow::Result<()> {
    let is_ordinary = path.metadata().is_ok_and(|known| known.is_file());
    if force || !is_ordinary {
        return Ok(());
    }
    let mut there = Vec::new();
    let Ok(file) = File::open(path) else {
        return Ok(());
    };
    if file.take(READ_AT_MOST).read_to_end(&mut there).is_ok() && !is_such(&there, new) {
        bail!(
            "`{}` is there and holds something else than such a result: nothing is written; give another name, or \
             `--force` to write over it",
            path.display()
        );
    }
    Ok(())
}

/// Does a file hold a result of the kind of the new one? An empty file holds nothing to be lost.
fn is_such(there: &[u8], new: &[u8]) -> bool {
    if there.is_empty() || there == new {
        return true;
    }
    if new.starts_with(b"PK") {
        return sheets(new).is_some_and(|names| sheets(there) == Some(names));
    }
    let (there, new) = (String::from_utf8_lossy(there), String::from_utf8_lossy(new));
    mark(&there).is_some_and(|known| Some(known) == mark(&new))
}

/// Names of a workbook's sheets.
fn sheets(bytes: &[u8]) -> Option<Vec<String>> {
    let book = open_workbook_auto_from_rs(Cursor::new(bytes)).ok()?;
    Some(book.sheet_names())
}

/// What results of one kind have in common at their beginning; `None` where nothing tells them.
fn mark(text: &str) -> Option<String> {
    let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let first = lines.next()?;
    let mut second = || lines.next();
    let found = match first {
        "{" => before(second()?, ':'),
        _ if first.starts_with('{') => before(first, ':'),
        _ if first.starts_with("<!doctype") => {
            text.find(GENERATOR).map(|_| GENERATOR.to_owned())?
        }
        _ if first.starts_with('.') => {
            let title = ".TH tapoff";
            text.lines()
                .find(|line| line.starts_with(title))
                .map(|_| title.to_owned())?
        }
        _ if first.starts_with("<?xml") => without_digits(second()?),
        _ if first.contains(',') && !first.contains(' ') => first.to_owned(),
        _ => words(first),
    };
    (!found.is_empty()).then_some(found)
}

fn before(text: &str, end: char) -> String {
    text.split(end).next().unwrap_or_default().to_owned()
}

fn without_digits(text: &str) -> String {
    text.chars().filter(|c| !c.is_ascii_digit()).collect()
}

/// The words of a table for people: its first line without the names and figures of the site.
fn words(line: &str) -> String {
    let after_name = line.split_once(": ").map_or(line, |(_, rest)| rest);
    let plain = |word: &&str| word.bytes().all(|byte| byte.is_ascii_lowercase());
    let words: Vec<&str> = after_name.split_whitespace().filter(plain).collect();
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_result_of_another_site_or_day_is_one_of_its_kind() {
        for (there, new) in [
            (
                "Mill: 40 intervals of 60 s, 2026-03-09 00:00 to 2026-03-10 00:00 UTC\n\n…",
                "Yard: 96 intervals of 900 s, 2026-04-01 00:00 to 2026-04-02 00:00 BST\n",
            ),
            (
                "{\n  \"objective\": \"neutral-rms\",\n",
                "{\n  \"objective\": \"phase-peak\",\n",
            ),
            (
                "{\"kind\":\"branch-and-bound\"}",
                "{\"kind\":\"other\",\"units\":[]}",
            ),
            (
                "meter,date,energy_kwh\nmain,2026-03-09,3\n",
                "meter,date,energy_kwh\n",
            ),
            (
                "<?xml version=\"1.0\"?>\n<svg width=\"780\">",
                "<?xml version=\"1.0\"?>\n<svg width=\"90\">",
            ),
            (
                "<!doctype html>\n<meta name=\"generator\" content=\"tapoff\">\n<p>old",
                "<!doctype html>\n<meta name=\"generator\" content=\"tapoff\">\n<p>new",
            ),
            (
                ".ie \\n(.g\n.TH tapoff-energy 1\n",
                ".ie \\n(.g\n.TH tapoff-check 1\n",
            ),
            ("", "anything"),
        ] {
            assert!(is_such(there.as_bytes(), new.as_bytes()), "{there} / {new}");
        }
    }

    #[test]
    fn what_somebody_else_wrote_is_none() {
        for (there, new) in [
            (
                "remember the milk\n",
                "Yard: 96 intervals of 900 s, 2026-04-01 00:00 to 2026-04-02 00:00 BST\n",
            ),
            ("[site]\nname = \"Yard\"\n", "Yard: times are UTC\n"),
            (
                "{\n  \"meters\": []\n}",
                "{\n  \"objective\": \"phase-peak\",\n",
            ),
            (
                "meter,date,energy_kwh\n",
                "meter,key,energy_kwh,cost,complete\n",
            ),
            (
                "<!doctype html>\n<p>my page",
                "<!doctype html>\n<meta name=\"generator\" content=\"tapoff\">\n<p>new",
            ),
            ("\u{1}\u{2}\u{3}", "Yard: times are UTC\n"),
            ("machine,circuit\n", "PK\u{3}\u{4}"),
        ] {
            assert!(
                !is_such(there.as_bytes(), new.as_bytes()),
                "{there} / {new}"
            );
        }
    }
}
