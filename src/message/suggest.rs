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
        // A header may name a million columns: most are told apart by their length.
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
