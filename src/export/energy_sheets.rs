//! The tables behind energy and demand.

use super::baseline_sheets::baseline_sheets;
use super::carbon::carbon_sheet;
use super::sheet::{Cell, Sheet, column};
use super::since_text::since_sheet;
use demand::{CorrectionNeed, EnergyResult, HighestBlock, WEEKDAYS};

/// Every table, also those without rows, in the order of the workbook.
#[must_use]
pub fn energy_sheets(result: &EnergyResult) -> Vec<Sheet> {
    let mut sheets = vec![
        highest_blocks(result),
        load_duration(result),
        diversity(result),
        standing_load(result),
        standing_by_weekday(result),
        power_factor(result),
        remainder_by_day(result),
        week(result),
        days(result),
        carbon_sheet(result),
    ];
    sheets.extend(baseline_sheets(&result.change));
    sheets.push(since_sheet(result.since.as_ref()));
    sheets
}

fn highest_blocks(result: &EnergyResult) -> Sheet {
    let studies = result.study.demand.iter();
    let rows = studies.flat_map(|study| {
        let blocks = study.highest_blocks.iter().enumerate();
        blocks.map(|(rank, block)| {
            vec![
                study.meter.as_str().into(),
                (rank + 1).into(),
                block.at.into(),
                block.kw.into(),
                block.kva.into(),
                Cell::Text(running(block)),
                block.remainder_kw.into(),
                Cell::Text(block.scheduled.join(", ")),
            ]
        })
    });
    Sheet {
        name: "highest-blocks",
        title: format!(
            "Highest demand blocks and what ran in them{}",
            window(result)
        ),
        columns: vec![
            column("meter", "meter", 0),
            column("rank", "rank", 0),
            column("at", "at", 0),
            column("kw", "demand (kW)", 2),
            column("kva", "demand (kVA)", 2),
            column("parts_kw", "meters below (kW)", 0),
            column("remainder_kw", "not seen by them (kW)", 2),
            column("scheduled", "no meter, scheduled then", 0),
        ],
        rows: rows.collect(),
    }
}

fn window(result: &EnergyResult) -> String {
    let first = result.study.demand.first();
    first.map_or(String::new(), |study| {
        format!(
            " (blocks of {} min on the local clock; a question mark: not all its readings)",
            study.demand_window_min
        )
    })
}

/// `boat shed 12.31, kiln 3.20, saw ?`; what draws next to nothing is left out.
fn running(block: &HighestBlock) -> String {
    let parts: Vec<String> = block
        .parts
        .iter()
        .filter_map(|part| match part.kw {
            Some(kw) if kw.abs() < 0.005 => None,
            Some(kw) => Some(format!("{} {kw:.2}", part.meter)),
            None => Some(format!("{} ?", part.meter)),
        })
        .collect();
    parts.join(", ")
}

fn load_duration(result: &EnergyResult) -> Sheet {
    let studies = result.study.demand.iter();
    let rows = studies.flat_map(|study| {
        let points = study.load_duration.iter();
        points.map(|point| {
            vec![
                study.meter.as_str().into(),
                point.share_pct.into(),
                point.kw.into(),
            ]
        })
    });
    Sheet {
        name: "load-duration",
        title: "Demand reached or exceeded during a share of the demand blocks".to_owned(),
        columns: vec![
            column("meter", "meter", 0),
            column("share_pct", "share of the blocks (%)", 0),
            column("kw", "demand (kW)", 2),
        ],
        rows: rows.collect(),
    }
}

fn diversity(result: &EnergyResult) -> Sheet {
    let groups = result.study.diversity.iter();
    let rows = groups.flat_map(|group| {
        let whole = vec![
            group.main.as_str().into(),
            "all below it together".into(),
            group.group_max_kw.into(),
            group.group_max_at.into(),
            group.group_max_kw.into(),
            group.connected_kw.into(),
            group.demand_factor.into(),
            group.diversity_factor.into(),
            group.coincidence_factor.into(),
        ];
        let parts = group.parts.iter().map(|part| {
            vec![
                group.main.as_str().into(),
                part.meter.as_str().into(),
                part.max_kw.into(),
                part.max_at.into(),
                part.at_group_max_kw.into(),
                part.connected_kw.into(),
                part.demand_factor.into(),
                None::<f64>.into(),
                None::<f64>.into(),
            ]
        });
        parts.chain([whole]).collect::<Vec<_>>()
    });
    Sheet {
        name: "diversity",
        title: "How the meters below one meter peak together; the last line's demand factor is of the meter above"
            .to_owned(),
        columns: vec![
            column("main", "above", 0),
            column("meter", "meter", 0),
            column("max_kw", "own maximum (kW)", 2),
            column("max_at", "at", 0),
            column("at_group_max_kw", "in the group's highest block (kW)", 2),
            column("connected_kw", "connected (kW)", 2),
            column("demand_factor", "demand factor", 2),
            column("diversity_factor", "diversity factor", 2),
            column("coincidence_factor", "coincidence factor", 2),
        ],
        rows: rows.collect(),
    }
}

fn standing_load(result: &EnergyResult) -> Sheet {
    let mut loads: Vec<_> = result.study.standing_load.iter().collect();
    let outside = |kwh: Option<f64>| kwh.unwrap_or(f64::NEG_INFINITY);
    loads.sort_by(|a, b| outside(b.outside_hours_kwh).total_cmp(&outside(a.outside_hours_kwh)));
    let rows = loads.iter().map(|load| {
        vec![
            load.meter.as_str().into(),
            load.standing_kw.into(),
            load.standing_share_pct.into(),
            load.night_kw.into(),
            load.outside_hours_kwh.into(),
            load.outside_hours_pct.into(),
            load.outside_hours_mean_kw.into(),
            load.holidays_kwh.into(),
        ]
    });
    let how = result.study.standing_load.first().map_or(String::new(), |load| {
        format!(
            " (standing load: {} % quantile of the quarter-hours; night: median of {}; outside: no schedule of \
             working hours runs; most outside first)",
            load.quantile_pct, load.night
        )
    });
    Sheet {
        name: "standing-load",
        title: format!("Standing load and use outside the working hours{how}"),
        columns: vec![
            column("meter", "meter", 0),
            column("standing_kw", "standing (kW)", 2),
            column("standing_share_pct", "of its energy (%)", 1),
            column("night_kw", "night (kW)", 2),
            column("outside_hours_kwh", "outside (kWh)", 1),
            column("outside_hours_pct", "outside (%)", 1),
            column("outside_hours_mean_kw", "outside, mean (kW)", 2),
            column("holidays_kwh", "holidays (kWh)", 1),
        ],
        rows: rows.collect(),
    }
}

fn standing_by_weekday(result: &EnergyResult) -> Sheet {
    let loads = result.study.standing_load.iter();
    let rows = loads.flat_map(|load| {
        load.by_weekday.iter().map(|day| {
            vec![
                load.meter.as_str().into(),
                day.weekday.into(),
                day.standing_kw.into(),
                day.night_kw.into(),
            ]
        })
    });
    Sheet {
        name: "standing-by-weekday",
        title: "Standing load and night by weekday".to_owned(),
        columns: vec![
            column("meter", "meter", 0),
            column("weekday", "weekday", 0),
            column("standing_kw", "standing (kW)", 2),
            column("night_kw", "night (kW)", 2),
        ],
        rows: rows.collect(),
    }
}

fn power_factor(result: &EnergyResult) -> Sheet {
    let studies = result.study.power_factor.iter();
    let rows = studies.map(|study| {
        let need = |need: &CorrectionNeed| -> Cell { need.in_steps_kvar.into() };
        vec![
            study.meter.as_str().into(),
            study.mean.into(),
            study.by_phase[0].into(),
            study.by_phase[1].into(),
            study.by_phase[2].into(),
            study.lowest.into(),
            study.lowest_at.into(),
            study.median.into(),
            need(&study.worst),
            need(&study.typical),
            study.typical_bank_leads_pct.into(),
            study.at_max_kva.kva.into(),
            study.at_max_kva.kva_corrected.into(),
        ]
    });
    let how = result.study.power_factor.first().map_or(String::new(), |study| {
        format!(
            " (blocks from {} % of the largest kVA; capacitors for {} lagging in steps of {} kvar{}. {})",
            study.loaded_from_pct,
            study.target_power_factor,
            study.kvar_step,
            study.step_uf.map_or_else(String::new, |uf| format!(": three of {uf:.1} µF in delta")),
            study.caution
        )
    });
    Sheet {
        name: "power-factor",
        title: format!("Power factor and capacitors{how}"),
        columns: vec![
            column("meter", "meter", 0),
            column("mean", "mean", 3),
            column("mean_l1", "L1", 3),
            column("mean_l2", "L2", 3),
            column("mean_l3", "L3", 3),
            column("lowest", "lowest block", 3),
            column("lowest_at", "at", 0),
            column("median", "median", 3),
            column("worst_in_steps_kvar", "worst block (kvar)", 1),
            column("typical_in_steps_kvar", "typical block (kvar)", 1),
            column("typical_bank_leads_pct", "unswitched, leads (%)", 0),
            column("max_kva", "highest (kVA)", 2),
            column("max_kva_corrected", "with its capacitors (kVA)", 2),
        ],
        rows: rows.collect(),
    }
}

fn remainder_by_day(result: &EnergyResult) -> Sheet {
    let remainders = result.study.remainder.iter();
    let rows = remainders.flat_map(|remainder| {
        remainder.days.iter().filter_map(|day| {
            Some(vec![
                remainder.main.as_str().into(),
                Cell::Date(day.date.parse().ok()?),
                day.main_kwh.into(),
                day.remainder_kwh.into(),
                day.tolerance_kwh.into(),
                day.lowest_kw.into(),
                day.highest_kw.into(),
                day.complete.into(),
            ])
        })
    });
    Sheet {
        name: "remainder-by-day",
        title: "What a meter sees beyond those below it, by day, over the blocks that all have"
            .to_owned(),
        columns: vec![
            column("main", "above", 0),
            column("date", "date", 0),
            column("main_kwh", "seen above (kWh)", 1),
            column("remainder_kwh", "not seen below (kWh)", 1),
            column("tolerance_kwh", "explained by the classes (kWh)", 1),
            column("lowest_kw", "lowest block (kW)", 2),
            column("highest_kw", "highest block (kW)", 2),
            column("complete", "complete", 0),
        ],
        rows: rows.collect(),
    }
}

fn week(result: &EnergyResult) -> Sheet {
    let rows = result.study.week.iter().flat_map(|week| {
        let days = week.mean_kw.iter().zip(WEEKDAYS);
        days.flat_map(move |(hours, weekday)| {
            hours.iter().enumerate().map(move |(hour, kw)| {
                vec![
                    week.meter.as_str().into(),
                    weekday.into(),
                    hour.into(),
                    (*kw).into(),
                ]
            })
        })
    });
    Sheet {
        name: "week",
        title: "Mean power by weekday and hour of the local clock".to_owned(),
        columns: vec![
            column("meter", "meter", 0),
            column("weekday", "weekday", 0),
            column("hour", "hour", 0),
            column("mean_kw", "mean (kW)", 3),
        ],
        rows: rows.collect(),
    }
}

fn days(result: &EnergyResult) -> Sheet {
    let rows = result.meters.iter().flat_map(|meter| {
        meter.trace.days.iter().filter_map(|day| {
            Some(vec![
                meter.id.as_str().into(),
                Cell::Date(day.date.parse().ok()?),
                day.energy_kwh.into(),
                day.complete.into(),
            ])
        })
    });
    Sheet {
        name: "days",
        title: "Energy by local day; days without all their readings are marked".to_owned(),
        columns: vec![
            column("meter", "meter", 0),
            column("date", "date", 0),
            column("energy_kwh", "energy (kWh)", 2),
            column("complete", "complete", 0),
        ],
        rows: rows.collect(),
    }
}
