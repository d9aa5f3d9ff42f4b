//! User text made safe to show, and sentences for a page.

/// Without control characters, which a terminal would obey, and without marks that change the direction of
/// writing.
#[must_use]
pub fn plain(text: &str) -> String {
    text.chars()
        .map(|c| {
            let turns = matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            if c.is_control() || turns {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
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
