//! Energy of a year, energy over what drives it, and how the demands of loads add up.

use serde::Deserialize;
use tapoff::electrical::{
    coincidence_factor, demand_factor, diversity_factor, energy_index, load_factor, loss_factor,
};
use tapoff::units::{KilowattHours, Watts};

use super::input::named;
use super::{Figures, Outcome, Worked};

const HOURS_OF_A_YEAR: f64 = 8760.0;

#[derive(Deserialize)]
#[serde(tag = "check", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Input {
    Year {
        connected_kw: Option<f64>,
        maximum_kw: f64,
        energy_kwh: Option<f64>,
    },
    Group {
        maximum_kw: Vec<f64>,
        together_kw: f64,
        energy_kwh: Option<f64>,
    },
    Diversified {
        maximum_kw: Vec<f64>,
        diversity: f64,
        beside_kw: Vec<f64>,
        feeder_diversity: f64,
    },
    Losses {
        maximum_kw: f64,
        energy_kwh: f64,
        peak_loss_kw: f64,
        rate_per_kwh: f64,
    },
    Index {
        energy_kwh: f64,
        variable: f64,
    },
}

fn kilowatts(values: &[f64]) -> Vec<Watts> {
    values.iter().copied().map(Watts::from_kilo).collect()
}

/// Load factor of a year's energy.
fn of_year(energy_kwh: f64, maximum_kw: f64) -> Outcome<f64> {
    let mean = Watts::from_kilo(energy_kwh / HOURS_OF_A_YEAR);
    Ok(load_factor(mean, Watts::from_kilo(maximum_kw))?.ok_or("nothing is drawn")?)
}

/// The demand at which a group of these maxima has this diversity: the factor is inverse to it.
fn demand_at_diversity(maxima: &[f64], diversity: f64) -> Outcome<f64> {
    let of_one_kw = diversity_factor(&kilowatts(maxima), Watts::from_kilo(1.0))?;
    Ok(of_one_kw.ok_or("nothing is drawn")? / diversity)
}

impl Worked for Input {
    fn figures(&self) -> Outcome<Figures> {
        let mut figures = Figures::new();
        match self {
            Input::Year {
                connected_kw,
                maximum_kw,
                energy_kwh,
            } => {
                let maximum = Watts::from_kilo(*maximum_kw);
                if let Some(connected) = connected_kw {
                    let factor = demand_factor(maximum, Watts::from_kilo(*connected))?;
                    figures.insert(
                        "demand_factor".to_owned(),
                        factor.ok_or("nothing connected")?,
                    );
                }
                if let Some(energy) = energy_kwh {
                    let factor = of_year(*energy, *maximum_kw)?;
                    figures.extend(named([
                        ("mean_kw", energy / HOURS_OF_A_YEAR),
                        ("load_factor", factor),
                        ("load_factor_pct", 100.0 * factor),
                    ]));
                }
            }
            Input::Group {
                maximum_kw,
                together_kw,
                energy_kwh,
            } => {
                let (each, together) = (kilowatts(maximum_kw), Watts::from_kilo(*together_kw));
                let diversity = diversity_factor(&each, together)?.ok_or("nothing is drawn")?;
                figures.extend(named([
                    ("diversity", diversity),
                    (
                        "coincidence",
                        coincidence_factor(&each, together)?.ok_or("nothing is drawn")?,
                    ),
                    ("load_diversity_kw", (diversity - 1.0) * together_kw),
                ]));
                if let Some(energy) = energy_kwh {
                    let factor = 100.0 * of_year(*energy, *together_kw)?;
                    figures.insert("load_factor_pct".to_owned(), factor);
                }
            }
            Input::Diversified {
                maximum_kw,
                diversity,
                beside_kw,
                feeder_diversity,
            } => {
                let group = demand_at_diversity(maximum_kw, *diversity)?;
                let all: Vec<f64> = beside_kw.iter().copied().chain([group]).collect();
                let feeder = demand_at_diversity(&all, *feeder_diversity)?;
                figures = named([("group_kw", group), ("feeder_kw", feeder)]);
            }
            Input::Losses {
                maximum_kw,
                energy_kwh,
                peak_loss_kw,
                rate_per_kwh,
            } => {
                let factor = loss_factor(of_year(*energy_kwh, *maximum_kw)?)?;
                let loss_kwh = factor * peak_loss_kw * HOURS_OF_A_YEAR;
                figures = named([
                    ("loss_factor", factor),
                    ("loss_kwh", loss_kwh),
                    ("cost", loss_kwh * rate_per_kwh),
                ]);
            }
            Input::Index {
                energy_kwh,
                variable,
            } => {
                let index = energy_index(KilowattHours(*energy_kwh), *variable)?;
                figures = named([("kwh_per_unit", index.ok_or("nothing drove it")?)]);
            }
        }
        Ok(figures)
    }
}
