//! Demand of several loads that do not all draw at once.

use units::Amperes;

/// Assumed loading of the outgoing circuits of an assembly (1).
///
/// A property of the assembly, for its busbars and its heating; it says nothing about cables. One
/// circuit is taken in full.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `n` | outgoing circuits | 1 | |
///
/// # Formula
///
/// ```text
/// n = 2, 3: 0.9;  4, 5: 0.8;  6 to 9: 0.7;  10 and more: 0.6
/// ```
///
/// # Source
///
/// IEC 61439-2, table 101 (restated in secondary texts).
///
/// # Examples
///
/// ```
/// use electrical::assumed_loading;
/// assert_eq!(assumed_loading(6), 0.7);
/// ```
#[must_use]
pub const fn assumed_loading(circuits: usize) -> f64 {
    match circuits {
        0 | 1 => 1.0,
        2 | 3 => 0.9,
        4 | 5 => 0.8,
        6..=9 => 0.7,
        _ => 0.6,
    }
}

/// What a group of loads does in a shop or office.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadGroup {
    /// Lighting: 90 % of all.
    Lighting,
    /// Heating and power, socket outlets: the largest in full, 75 % of the others.
    HeatingAndPower,
    /// Motors: the largest in full, 80 % of the second, 60 % of the others.
    Motors,
}

/// Demand of a group of loads with diversity (A).
///
/// Guidance from superseded editions; the designer decides.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `X`, `Y`, `Z` | largest, second, sum of the remaining currents | A | 0 or above |
///
/// # Formula
///
/// ```text
/// lighting: 0.9 · (X + Y + Z);  heating and power: X + 0.75 · (Y + Z);  motors: X + 0.8 · Y + 0.6 · Z
/// ```
///
/// # Source
///
/// J. F. Whitfield, *The Electricians Guide*, 5th ed., table 6.2, small shops and offices,
/// after the IEE On-Site Guide.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{LoadGroup, demand_with_diversity};
/// # use units::Amperes;
/// let motors = [30.0, 20.0, 10.0, 10.0].map(Amperes);
/// assert_relative_eq!(demand_with_diversity(LoadGroup::Motors, &motors).0, 58.0);
/// ```
#[must_use]
pub fn demand_with_diversity(group: LoadGroup, currents: &[Amperes]) -> Amperes {
    let mut sorted: Vec<f64> = currents.iter().map(|current| current.0).collect();
    sorted.sort_by(|a, b| b.total_cmp(a));
    let share = |position: usize| match (group, position) {
        (LoadGroup::Lighting, _) => 0.9,
        (_, 0) => 1.0,
        (LoadGroup::HeatingAndPower, _) => 0.75,
        (LoadGroup::Motors, 1) => 0.8,
        (LoadGroup::Motors, _) => 0.6,
    };
    Amperes(
        sorted
            .iter()
            .enumerate()
            .map(|(position, amps)| share(position) * amps)
            .sum(),
    )
}
