//! Steps of one size that come again and again.

use super::lone_steps::LoneStep;
use site::Connection;

/// Steps of each connection that are looked at, the latest: what is new in more of them is little.
const MOST_STEPS: usize = 5_000;
/// Fewer of a size say nothing, and fewer on, or off.
const FEWEST: usize = 12;
const FEWEST_OF_A_KIND: usize = 4;
/// Sizes of one connection that are looked at, the most frequent first.
const MOST_SIZES: usize = 32;
/// Width of a size, as a share of it and at least. (1, kVA)
const WIDTH_SHARE: f64 = 0.03;
const WIDTH_KVA: f64 = 0.05;
/// A step that recurs is at least so many times as frequent as sizes around it.
const ABOVE_NEIGHBOURS: f64 = 2.0;
/// A size next to one that is so many times as frequent is its fringe.
const FRINGE: usize = 8;
const FRINGE_SHARE: f64 = 0.25;

/// Steps of one connection, size and power factor.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct RecurringStep {
    pub(super) connection: Connection,
    /// Means. (kW, kvar)
    pub(super) size_kw: f64,
    pub(super) size_kvar: f64,
    /// How often on, and off.
    pub(super) on: usize,
    pub(super) off: usize,
    /// When. (s)
    pub(super) at_s: Vec<i64>,
}

/// What recurs, connection by connection, the most frequent first.
pub(super) fn recurring_steps(steps: &[LoneStep]) -> Vec<RecurringStep> {
    let mut connections: Vec<Connection> = Vec::new();
    for step in steps {
        if !connections.contains(&step.connection) {
            connections.push(step.connection);
        }
    }
    connections.sort_unstable_by_key(|connection| connection.name());
    connections
        .into_iter()
        .flat_map(|connection| of_connection(steps, connection))
        .collect()
}

fn of_connection(steps: &[LoneStep], connection: Connection) -> Vec<RecurringStep> {
    let mut own: Vec<LoneStep> = steps
        .iter()
        .rev()
        .filter(|step| step.connection == connection)
        .take(MOST_STEPS)
        .copied()
        .collect();
    own.sort_by(|a, b| a.power.re.total_cmp(&b.power.re).then(a.at_s.cmp(&b.at_s)));
    let width = |step: &LoneStep| WIDTH_KVA.max(WIDTH_SHARE * step.power.norm());
    let mut found: Vec<RecurringStep> = Vec::new();
    for _ in 0..MOST_SIZES {
        // The step with the most others of its size.
        let near = |centre: &LoneStep, widths: f64| -> Vec<usize> {
            let reach = widths * width(centre);
            let from = own.partition_point(|step| step.power.re < centre.power.re - reach);
            (from..own.len())
                .take_while(|&at| own[at].power.re <= centre.power.re + reach)
                .filter(|&at| (own[at].power.im - centre.power.im).abs() <= reach)
                .collect()
        };
        let Some(centre) = (0..own.len()).max_by_key(|&at| near(&own[at], 1.0).len()) else {
            break;
        };
        let members = near(&own[centre], 2.0);
        if members.len() < FEWEST {
            break;
        }
        let around = near(&own[centre], 4.0).len() - members.len();
        let mean = |of: &dyn Fn(&LoneStep) -> f64| {
            members.iter().map(|&at| of(&own[at])).sum::<f64>() / members.len() as f64
        };
        let on = members.iter().filter(|&&at| own[at].on).count();
        let one = RecurringStep {
            connection,
            size_kw: mean(&|step| step.power.re),
            size_kvar: mean(&|step| step.power.im),
            on,
            off: members.len() - on,
            at_s: members.iter().map(|&at| own[at].at_s).collect(),
        };
        let is_fringe = found.iter().any(|larger| {
            larger.at_s.len() > FRINGE * one.at_s.len()
                && (larger.size_kw - one.size_kw).abs() < FRINGE_SHARE * larger.size_kw
        });
        // Around it is three times as much of active and of reactive power.
        let stands_out = members.len() as f64 > ABOVE_NEIGHBOURS * around as f64 / 3.0;
        let switches = one.on.min(one.off) >= FEWEST_OF_A_KIND;
        let mut at = 0;
        own.retain(|_| {
            at += 1;
            members.binary_search(&(at - 1)).is_err()
        });
        if stands_out && switches && !is_fringe {
            found.push(one);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use electrical::Phase;
    use num_complex::Complex64;

    /// Forty steps of 2 kW among forty of all sizes between 0.5 and 8 kW.
    #[test]
    fn what_recurs_is_found_among_others() {
        let step = |at: usize, kw: f64| LoneStep {
            at_s: at as i64 * 600,
            connection: Connection::ToNeutral(Phase::L2),
            power: Complex64::new(kw, 0.1 * kw),
            on: at.is_multiple_of(2),
        };
        let steps: Vec<LoneStep> = (0..80)
            .map(|at| {
                let kw = if at % 4 < 2 {
                    2.0 + 0.01 * (at % 5) as f64
                } else {
                    0.5 + 7.5 * ((at * 37) % 80) as f64 / 80.0
                };
                step(at, kw)
            })
            .collect();
        let found = recurring_steps(&steps);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].size_kw - 2.02).abs() < 0.05, "{found:?}");
        assert!(found[0].at_s.len() >= 40);
    }
}
