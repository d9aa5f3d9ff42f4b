//! "Did you mean": the closest of the words that would have been right.

/// A longer word is no misspelt one. (characters)
const LONGEST: usize = 100;
/// Letters that may be wrong in a long word.
const MOST_WRONG: usize = 3;

/// The candidate closest to what was written, if it is close enough to be meant.
pub fn closest<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let length = written.chars().take(LONGEST + 1).count();
    if length > LONGEST {
        return None;
    }
    let lower = written.to_lowercase();
    candidates
        .into_iter()
        // A header may name a million columns: most are distinguished by their length.
        .filter(|candidate| {
            let other = candidate.chars().take(LONGEST + MOST_WRONG + 1).count();
            other.abs_diff(length) <= MOST_WRONG
        })
        .map(|candidate| {
            let distance = strsim::damerau_levenshtein(&lower, &candidate.to_lowercase());
            (distance, candidate)
        })
        .filter(|&(distance, candidate)| {
            distance <= (candidate.chars().count() / 3).clamp(1, MOST_WRONG)
        })
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, candidate)| candidate)
}

/// The candidates that share most words with what was written, the best first; words are joined by `_`.
pub fn similar<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str>,
    most: usize,
) -> Vec<&'a str> {
    let lower = written.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .take(LONGEST)
        .collect();
    let mut scored: Vec<(usize, &str)> = candidates
        .into_iter()
        .map(|candidate| {
            let of_candidate: Vec<&str> = candidate.split('_').collect();
            let is_shared = |word: &&&str| {
                of_candidate.contains(*word)
                    || word.len() > 3 && of_candidate.iter().any(|own| own.starts_with(**word))
            };
            (words.iter().filter(is_shared).count(), candidate)
        })
        .filter(|(shared, _)| *shared > 0)
        .collect();
    scored.sort_by_key(|(shared, _)| std::cmp::Reverse(*shared));
    scored
        .into_iter()
        .take(most)
        .map(|(_, candidate)| candidate)
        .collect()
}

/// The help line for a misspelt word.
pub fn did_you_mean<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    closest(written, candidates).map(|word| format!("did you mean `{word}`?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn suggests_the_near_and_not_the_far() {
        let keys = ["frequency_hz", "line_voltage_v", "id"];
        assert_eq!(closest("frequncy_hz", keys), Some("frequency_hz"));
        assert_eq!(closest("colour", keys), None);
        assert_eq!(closest("xy", keys), None);
    }
}
