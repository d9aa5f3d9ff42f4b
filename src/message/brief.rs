//! Words of the user within a message, cut where they would bury it.

/// A message up to here stays as it is. (bytes)
const SHORT: usize = 600;
/// What is left of a quoted word in a longer one. (characters)
const LONGEST_WORD: usize = 60;
/// No text of a message is longer. (characters)
const LONGEST: usize = 2000;

/// The same text with long quoted words cut, so that a column's name of a million characters
/// leaves the sentence around it readable.
pub(super) fn brief(text: String) -> String {
    if text.len() <= SHORT {
        return text;
    }
    let words: Vec<String> = text
        .split('`')
        .enumerate()
        // Every other piece stands between two marks.
        .map(|(index, piece)| match index % 2 {
            1 => cut(piece, LONGEST_WORD),
            _ => piece.to_owned(),
        })
        .collect();
    cut(&words.join("`"), LONGEST)
}

fn cut(text: &str, longest: usize) -> String {
    match text.char_indices().nth(longest) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_name_is_cut_and_the_sentence_stays() {
        let name = "ü".repeat(1_000_000);
        let text = brief(format!(
            "column `{name}` of `log.csv` and `{name}` are alike"
        ));
        let name = "ü".repeat(60);
        assert_eq!(
            text,
            format!("column `{name}…` of `log.csv` and `{name}…` are alike")
        );
    }

    #[test]
    fn long_lists_end_and_short_texts_are_left_alone() {
        let text = brief("x, ".repeat(1000));
        assert_eq!(text.chars().count(), LONGEST + 1);
        assert!(text.ends_with('…'));
        let short = format!("`{}`", "x".repeat(500));
        assert_eq!(brief(short.clone()), short);
    }
}
