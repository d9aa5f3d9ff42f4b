//! Days of the week as a set, and minutes of the day.

use chrono::{NaiveTime, Timelike, Weekday};

/// Days of the week as a set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Days(u8);

const NAMES: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

impl Days {
    /// Reads `Mon-Fri`, `Sat,Sun`, `Fri-Mon`, `daily`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Days> {
        if text.trim().eq_ignore_ascii_case("daily") {
            return Some(Days(0x7f));
        }
        let day = |word: &str| {
            let word = word.trim().to_ascii_lowercase();
            NAMES.iter().position(|name| *name == word)
        };
        let mut set = 0u8;
        for part in text.split(',') {
            let (first, last) = match part.split_once('-') {
                Some((first, last)) => (day(first)?, day(last)?),
                None => (day(part)?, day(part)?),
            };
            let length = (last + 7 - first) % 7;
            for step in 0..=length {
                set |= 1 << ((first + step) % 7);
            }
        }
        Some(Days(set))
    }

    /// Is the day in the set?
    #[must_use]
    pub fn contains(self, day: Weekday) -> bool {
        self.0 & (1 << day.num_days_from_monday()) != 0
    }
}

/// Reads `07:30`; `24:00` closes the day and gives 1440.
#[must_use]
pub fn parse_minute_of_day(text: &str) -> Option<u32> {
    let text = text.trim();
    if text == "24:00" {
        return Some(1440);
    }
    let time = NaiveTime::parse_from_str(text, "%H:%M").ok()?;
    Some(time.hour() * 60 + time.minute())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn day_words() {
        assert_eq!(Days::parse("Sat, Sun"), Days::parse("Sat-Sun"));
        assert!(Days::parse("Fri-Mon").is_some_and(|d| d.contains(Weekday::Sun)));
        assert_eq!(Days::parse("Mo-Fr"), None);
        assert_eq!(parse_minute_of_day("24:00"), Some(1440));
        assert_eq!(parse_minute_of_day("25:00"), None);
    }
}
