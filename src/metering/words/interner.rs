//! Words by number.

use std::collections::HashMap;

use super::MOST_WORDS;

/// Gives each word a number, in the order in which they first stand.
#[derive(Debug, Default)]
pub(super) struct Interner {
    pub(super) words: Vec<String>,
    numbers: HashMap<String, usize>,
}

impl Interner {
    /// The number of what stands in a cell; `None` for a cell with nothing in it.
    pub(super) fn number(&mut self, cell: &[u8]) -> Option<usize> {
        let text = String::from_utf8_lossy(cell.trim_ascii());
        let word = text.trim();
        if word.is_empty() {
            return None;
        }
        if let Some(&number) = self.numbers.get(word) {
            return Some(number);
        }
        // One more than the limit shows that there are too many.
        let number = self.words.len().min(MOST_WORDS);
        if self.words.len() <= MOST_WORDS {
            self.words.push(word.to_owned());
            self.numbers.insert(word.to_owned(), number);
        }
        Some(number)
    }
}
