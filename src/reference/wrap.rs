//! Lines for a terminal.

use std::fmt::Write;

/// Widest line.
const WIDTH: usize = 100;

/// A line cut at blanks, further in by so much than it is.
pub(crate) fn wrapped(line: &str, further: usize) -> String {
    let mut text = String::new();
    let indent = line.len() - line.trim_start().len() + further;
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
    text
}
