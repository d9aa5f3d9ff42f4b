//! How a table was understood, for the user to check.

/// What of a table is not written as declared, and how it was read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Understood {
    /// Name of the file, with its sheet.
    pub file: String,
    /// Header and column, with its unit.
    pub columns: Vec<(String, String)>,
    /// Words in cells and what they were read as.
    pub words: Vec<(String, String)>,
    /// What is not read as a row.
    pub left_out: Vec<String>,
}

impl Understood {
    /// Is everything written as declared?
    #[must_use]
    pub fn is_plain(&self) -> bool {
        self.columns.is_empty() && self.words.is_empty() && self.left_out.is_empty()
    }

    /// Adds a word, once.
    pub fn note(&mut self, word: &str, read: &str) {
        let pair = (word.to_owned(), read.to_owned());
        if word != read && !self.words.contains(&pair) {
            self.words.push(pair);
        }
    }
}
