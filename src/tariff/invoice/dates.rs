//! Dates as invoices print them.

use chrono::NaiveDate;

/// Forms that say themselves which part is which.
const CLEAR: [&str; 8] = [
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%d.%m.%Y",
    "%d %b %Y",
    "%d-%b-%Y",
    "%d %B %Y",
    "%B %d, %Y",
    "%Y%m%d",
];
/// Day before month, and the other way round.
const UNCLEAR: [[&str; 2]; 2] = [["%d/%m/%Y", "%d-%m-%Y"], ["%m/%d/%Y", "%m-%d-%Y"]];

/// How the dates of an invoice are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum DateForm {
    /// Day before month.
    DayFirst,
    /// Month before day.
    MonthFirst,
    /// Both are possible.
    Unclear,
}

impl DateForm {
    /// What the dates of an invoice show: an order in which all of them are dates.
    pub(super) fn of(dates: &[&str]) -> DateForm {
        let all = |forms: &[&str]| {
            dates
                .iter()
                .all(|text| parse(text, &CLEAR).or_else(|| parse(text, forms)).is_some())
        };
        let plain = dates.iter().all(|text| parse(text, &CLEAR).is_some());
        match (all(&UNCLEAR[0]), all(&UNCLEAR[1])) {
            _ if plain => DateForm::DayFirst,
            (true, true) => DateForm::Unclear,
            (_, true) => DateForm::MonthFirst,
            _ => DateForm::DayFirst,
        }
    }

    /// A date; `None` where it is none.
    pub(super) fn read(self, text: &str) -> Option<NaiveDate> {
        let forms = match self {
            DateForm::DayFirst | DateForm::Unclear => &UNCLEAR[0],
            DateForm::MonthFirst => &UNCLEAR[1],
        };
        parse(text, &CLEAR).or_else(|| parse(text, forms))
    }
}

fn parse(text: &str, forms: &[&str]) -> Option<NaiveDate> {
    let text = text.trim();
    let mut forms = forms.iter();
    forms.find_map(|form| NaiveDate::parse_from_str(text, form).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_invoice_shows_its_order() {
        let of = |dates: &[&str]| DateForm::of(dates);
        assert_eq!(of(&["16/03/2026", "02/04/2026"]), DateForm::DayFirst);
        assert_eq!(of(&["03/16/2026", "04/02/2026"]), DateForm::MonthFirst);
        assert_eq!(of(&["01/03/2026", "01/04/2026"]), DateForm::Unclear);
        assert_eq!(of(&["2026-03-01", "1 Apr 2026"]), DateForm::DayFirst);
        let date = DateForm::DayFirst.read("02/04/2026");
        assert_eq!(date, NaiveDate::from_ymd_opt(2026, 4, 2));
    }
}
