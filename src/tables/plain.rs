//! User text made safe to show, and sentences for a page.

/// Shown in place of a character that would not be seen, and might change what is.
const MARK: char = '\u{fffd}';

/// Control characters, which a terminal would obey, and characters that change the direction of writing.
#[must_use]
pub fn is_hidden(c: char) -> bool {
    let turns = matches!(
        c,
        '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
    );
    c.is_control() || turns
}

/// With a mark for each control character, and for each that changes the direction of writing.
#[must_use]
pub fn plain(text: &str) -> String {
    let shown = |c| if is_hidden(c) { MARK } else { c };
    text.chars().map(shown).collect()
}

/// A page with a mark for each such character; line breaks and tabs are its own.
///
/// ```
/// assert_eq!(tables::marked("<p>a\u{202e}b\u{7}\n</p>"), "<p>a\u{fffd}b\u{fffd}\n</p>");
/// ```
#[must_use]
pub fn marked(page: &str) -> String {
    let shown = |c| match c {
        '\n' | '\t' => c,
        c if is_hidden(c) => MARK,
        c => c,
    };
    page.chars().map(shown).collect()
}

/// Backticks around names, as a terminal shows them, become quotation marks.
#[must_use]
pub fn quoted(text: &str) -> String {
    let parts: Vec<&str> = text.split('`').collect();
    let is_paired = parts.len() % 2 == 1;
    if !is_paired {
        return text.to_owned();
    }
    let mut out = String::new();
    for (index, part) in parts.into_iter().enumerate() {
        if index > 0 {
            out.push(if index % 2 == 1 { '‘' } else { '’' });
        }
        out.push_str(part);
    }
    out
}

/// With a capital and a full stop.
#[must_use]
pub fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let Some(first) = letters.next() else {
        return String::new();
    };
    let end = if words.ends_with('.') { "" } else { "." };
    format!("{}{}{end}", first.to_uppercase(), letters.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn backticks_become_quotation_marks() {
        assert_eq!(
            quoted("meter `kiln` shows `Timber kiln`"),
            "meter ‘kiln’ shows ‘Timber kiln’"
        );
        // A single one is part of a name.
        assert_eq!(quoted("meter `a`b` has gaps"), "meter `a`b` has gaps");
        assert_eq!(quoted("nothing"), "nothing");
    }

    #[test]
    fn a_sentence_has_its_capital_and_its_full_stop() {
        assert_eq!(sentence("über 5 A"), "Über 5 A.");
        assert_eq!(sentence("Done."), "Done.");
        assert_eq!(sentence(""), "");
    }
}
