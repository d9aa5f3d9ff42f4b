//! The order in which sites need attention.

use std::cmp::Ordering;

use crate::site_row::{SiteRow, SiteStatus};

/// Sites with dangers first, then those that could not be analysed, overloaded phases, warnings, what moves would take off the neutral.
pub fn rank(rows: &mut [SiteRow]) {
    rows.sort_by(by_need);
}

fn by_need(a: &SiteRow, b: &SiteRow) -> Ordering {
    let most = |figure: fn(&SiteRow) -> Option<f64>| {
        let of = |row: &SiteRow| figure(row).unwrap_or(0.0);
        of(b).total_cmp(&of(a))
    };
    most(|row| row.dangers)
        .then_with(|| failed(b).cmp(&failed(a)))
        .then_with(|| most(|row| row.overloaded_phases))
        .then_with(|| most(|row| row.warnings))
        .then_with(|| most(SiteRow::neutral_gain_a))
        .then_with(|| a.site.cmp(&b.site))
}

fn failed(row: &SiteRow) -> bool {
    row.status == SiteStatus::Failed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dangers_come_first_then_what_is_not_known() {
        let row = |site: &str, dangers: f64, status, gain: f64| SiteRow {
            site: site.to_owned(),
            status,
            dangers: Some(dangers),
            neutral_rms_a: Some(gain),
            neutral_after_recommended_a: Some(0.0),
            ..SiteRow::default()
        };
        let mut rows = [
            row("small gain", 0.0, SiteStatus::Ok, 1.0),
            row("gain", 0.0, SiteStatus::Ok, 9.0),
            row("broken", 0.0, SiteStatus::Failed, 0.0),
            row("danger", 1.0, SiteStatus::Ok, 0.0),
        ];
        rank(&mut rows);
        let order = rows.map(|row| row.site);
        assert_eq!(order, ["danger", "broken", "gain", "small gain"]);
    }
}
