//! Sites compared with those of their group.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::site_row::SiteRow;
use statistics::{median, robust_score};

/// A group needs this many sites with a figure, or its median says nothing.
const FEWEST: usize = 5;

/// Robust score from which a site is an outlier: Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993).
const OUTLIER: f64 = 3.5;

/// Robust score from which a figure of an outlier is named as one in which it differs.
const DIFFERS: f64 = 2.0;

/// A group of sites.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PeerGroup {
    /// Its name.
    pub group: String,
    /// Number of sites with a normalised use.
    pub sites: usize,
    /// What the use is divided by: `m²`, or the unit of the output.
    pub per: String,
    /// Median of the sites' use: kWh a day per m², or kWh per unit of output.
    pub median_use: f64,
    /// Each site with its use.
    pub uses: Vec<PeerUse>,
}

/// The normalised use of a site.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PeerUse {
    /// The site.
    pub site: String,
    /// kWh a day per m², or kWh per unit of output.
    pub normalised: f64,
    /// 95 % range from the scatter of its weeks, where the use is a mean of days.
    pub low: Option<f64>,
    /// Its upper end.
    pub high: Option<f64>,
    /// Deviation from the median by the group's robust scale; unknown where most sites are alike.
    pub score: Option<f64>,
    /// Is it far from the others, and its range too?
    pub is_outlier: bool,
    /// In what an outlier differs from its group, a sentence each.
    pub differs: Vec<String>,
}

/// The groups that have enough sites, by name.
#[must_use]
pub fn peers(rows: &[SiteRow]) -> Vec<PeerGroup> {
    let mut groups: BTreeMap<(&str, String), Vec<(&SiteRow, PeerUse)>> = BTreeMap::new();
    for row in rows {
        if let Some((per, found)) = normalised(row) {
            groups
                .entry((&row.group, per))
                .or_default()
                .push((row, found));
        }
    }
    let enough = groups
        .into_iter()
        .filter(|(_, sites)| sites.len() >= FEWEST);
    enough
        .filter_map(|((group, per), sites)| of_group(group, per, sites))
        .collect()
}

/// Energy by floor area and day, where the area is known; else by output.
fn normalised(row: &SiteRow) -> Option<(String, PeerUse)> {
    let of = |normalised, low, high| PeerUse {
        site: row.site.clone(),
        normalised,
        low,
        high,
        score: None,
        is_outlier: false,
        differs: Vec::new(),
    };
    if let (Some(area), Some(mean)) = (row.floor_area_m2, row.day_mean_kwh) {
        let per_area = |kwh: f64| kwh / area;
        let range = (
            row.day_mean_low_kwh.map(per_area),
            row.day_mean_high_kwh.map(per_area),
        );
        return Some(("m²".to_owned(), of(mean / area, range.0, range.1)));
    }
    let per_unit = row.energy_import_kwh? / row.output?;
    Some((row.output_unit.clone()?, of(per_unit, None, None)))
}

fn of_group(group: &str, per: String, sites: Vec<(&SiteRow, PeerUse)>) -> Option<PeerGroup> {
    let uses: Vec<f64> = sites.iter().map(|(_, found)| found.normalised).collect();
    let middle = median(&uses)?;
    let rows: Vec<&SiteRow> = sites.iter().map(|(row, _)| *row).collect();
    let judged = sites.into_iter().map(|(row, found)| {
        let score = robust_score(found.normalised, &uses);
        // A range that reaches to the median leaves open whether the site differs.
        let reaches = found.low.unwrap_or(found.normalised) <= middle
            && found.high.unwrap_or(found.normalised) >= middle;
        let is_outlier = score.is_some_and(|score| score.abs() > OUTLIER) && !reaches;
        PeerUse {
            score,
            is_outlier,
            differs: if is_outlier {
                differs(row, &rows)
            } else {
                Vec::new()
            },
            ..found
        }
    });
    Some(PeerGroup {
        group: group.to_owned(),
        sites: uses.len(),
        per,
        median_use: middle,
        uses: judged.collect(),
    })
}

/// Figures in which a site is far from its group.
fn differs(row: &SiteRow, group: &[&SiteRow]) -> Vec<String> {
    type FigureOf = fn(&SiteRow) -> Option<f64>;
    let figures: [(&str, &str, FigureOf); 5] = [
        ("base load", " %", |row| row.base_load_share_pct),
        ("energy out of hours", " %", |row| row.out_of_hours_pct),
        ("load factor", "", |row| row.load_factor),
        ("power factor", "", |row| row.power_factor),
        ("most heavily loaded phase", " %", SiteRow::loading_pct),
    ];
    let sentence = |(name, unit, of): (&str, &str, FigureOf)| {
        let all: Vec<f64> = group.iter().filter_map(|row| of(row)).collect();
        let (own, middle) = (of(row)?, median(&all)?);
        let is_far = robust_score(own, &all)?.abs() > DIFFERS;
        let decimals = if unit.is_empty() { 2 } else { 0 };
        let shown = |value| units::format_number(value, decimals);
        is_far.then(|| {
            format!(
                "{name} {}{unit}, median {}{unit}",
                shown(own),
                shown(middle)
            )
        })
    };
    figures.into_iter().filter_map(sentence).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(site: &str, kwh: f64, base: f64) -> SiteRow {
        SiteRow {
            site: site.to_owned(),
            group: "mills".to_owned(),
            floor_area_m2: Some(100.0),
            day_mean_kwh: Some(kwh),
            day_mean_low_kwh: Some(0.9 * kwh),
            day_mean_high_kwh: Some(1.1 * kwh),
            base_load_share_pct: Some(base),
            ..SiteRow::default()
        }
    }

    /// Uses of 1.0, 1.1, 1.2, 1.3 and 4 kWh/m² a day: median 1.2, median deviation 0.1; 0.6745 · 2.8/0.1 = 18.9.
    #[test]
    fn a_site_far_from_its_group_is_named_with_what_differs() {
        let kwh = [100.0, 110.0, 120.0, 130.0, 400.0];
        let rows: Vec<SiteRow> = kwh
            .iter()
            .zip([20.0, 21.0, 22.0, 23.0, 60.0])
            .map(|(&kwh, base)| row(&format!("{kwh}"), kwh, base))
            .collect();
        let groups = peers(&rows);
        assert_eq!((groups.len(), groups[0].median_use), (1, 1.2));
        let outliers: Vec<&PeerUse> = groups[0].uses.iter().filter(|one| one.is_outlier).collect();
        assert_eq!(outliers.len(), 1);
        let score = outliers[0].score.expect("a scale");
        assert!((score - 18.886).abs() < 0.01, "{score}");
        assert_eq!(outliers[0].differs, ["base load 60 %, median 22 %"]);
    }

    #[test]
    fn few_sites_are_no_group_and_a_wide_range_is_no_outlier() {
        let mut rows: Vec<SiteRow> = [100.0, 110.0, 120.0, 130.0]
            .map(|kwh| row("a", kwh, 20.0))
            .to_vec();
        assert_eq!(peers(&rows), []);
        rows.push(SiteRow {
            day_mean_low_kwh: Some(50.0),
            ..row("wide", 400.0, 20.0)
        });
        assert!(peers(&rows)[0].uses.iter().all(|one| !one.is_outlier));
    }
}
