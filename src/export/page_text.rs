//! The page about a kind of finding as text.

use std::fmt::Write;

use diagnosis::Page;
use finding::Kind;

/// Widest line.
const WIDTH: usize = 100;

/// The page with its headings.
pub fn page_text(kind: Kind, page: &Page) -> String {
    let mut text = format!("{kind}\n");
    for (heading, body) in [
        ("What it means", page.meaning),
        ("How it is calculated", page.formula),
        ("Source", page.source),
        ("Possible other causes", page.imitators),
        ("What to do", page.action),
        ("Caution", page.caution),
    ] {
        let _ = writeln!(text, "\n{heading}");
        for line in body.lines() {
            wrap(&mut text, line);
        }
    }
    text
}

fn wrap(text: &mut String, line: &str) {
    let indent = line.len() - line.trim_start().len() + 2;
    let mut column = 0;
    for word in line.split_whitespace() {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > WIDTH {
            text.push('\n');
            column = 0;
        }
        if column == 0 {
            let _ = write!(text, "{:indent$}", "");
            column = indent;
        } else {
            text.push(' ');
            column += 1;
        }
        text.push_str(word);
        column += length;
    }
    text.push('\n');
}
