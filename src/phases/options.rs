//! Where a load may be connected, before anything is measured.

use balance::PHASE_DOUBT;
use electrical::{Phase, PhasePair, share_of_pair};
use site::{Connection, Machine, Node, Site};

/// Probability that a load of which nothing is known is between two phases. Common practice: few loads are.
const BETWEEN: f64 = 0.1;

/// The connections that a load may have.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LoadOptions {
    pub(crate) connections: Vec<Connection>,
    /// Probability of each before anything is measured.
    pub(crate) priors: Vec<f64>,
    /// The circuit of one or two phases that it shares its phase with.
    pub(crate) circuit: Option<usize>,
    /// As the list has it.
    pub(crate) listed: Connection,
}

/// What a machine on one or two phases may be connected to; `None` for one on three.
pub(crate) fn options_of(site: &Site, machine: usize) -> Option<LoadOptions> {
    let own = &site.machines[machine];
    let circuit = match own.tapped_off {
        Node::Circuit(circuit) => match site.circuits[circuit].phases {
            Connection::ThreePhase { .. } => None,
            _ => Some(circuit),
        },
        _ => None,
    };
    let listed = match circuit {
        Some(circuit) if own.connection.is_open() => site.circuits[circuit].phases,
        _ => own.connection,
    };
    let phases = || Phase::ALL.map(Connection::ToNeutral).to_vec();
    let pairs = || PhasePair::ALL.map(Connection::Between).to_vec();
    let listed_at = |at: usize| {
        let mut priors = vec![PHASE_DOUBT / 2.0; 3];
        priors[at] = 1.0 - PHASE_DOUBT;
        priors
    };
    let (connections, priors) = match listed {
        Connection::ThreePhase { .. } => return None,
        Connection::ToNeutral(phase) => (phases(), listed_at(phase.index())),
        Connection::Between(pair) => (pairs(), listed_at(pair.index())),
        Connection::Any => (phases(), vec![1.0 / 3.0; 3]),
        Connection::AnyPair => (pairs(), vec![1.0 / 3.0; 3]),
        Connection::Unknown => (
            [phases(), pairs()].concat(),
            [[(1.0 - BETWEEN) / 3.0; 3], [BETWEEN / 3.0; 3]].concat(),
        ),
    };
    Some(LoadOptions {
        connections,
        priors,
        circuit,
        listed,
    })
}

/// Reactive over active power of a machine, as the list has it.
pub(crate) fn lag_of(machine: &Machine) -> f64 {
    let factor = machine.power_factor;
    let lag = (1.0 - factor * factor).max(0.0).sqrt() / factor.max(0.1);
    if machine.leading { -lag } else { lag }
}

/// For active and reactive power of a load its shares in the channels of a meter: active powers of L1, L2, L3, and the
/// reactive ones where there are six. With `lag`, reactive over active power, for a load that logs no reactive power:
/// the shares of its active power alone.
pub(crate) fn shares_of(
    connection: Connection,
    lag: Option<f64>,
    channels: usize,
) -> Vec<Vec<f64>> {
    let (mut active, mut reactive) = (vec![0.0; channels], vec![0.0; channels]);
    let mut on = |phase: Phase, real: f64, imaginary: f64| {
        let k = phase.index();
        active[k] = real;
        reactive[k] = -imaginary;
        if channels > 3 {
            active[3 + k] = imaginary;
            reactive[3 + k] = real;
        }
    };
    match connection {
        Connection::ToNeutral(phase) => on(phase, 1.0, 0.0),
        Connection::Between(pair) => {
            let (leaves, returns) = pair.phases();
            let [first, second] = share_of_pair();
            on(leaves, first.re, first.im);
            on(returns, second.re, second.im);
        }
        // Known phases are loads of their own; these connections are none.
        Connection::ThreePhase { .. }
        | Connection::Any
        | Connection::AnyPair
        | Connection::Unknown => {}
    }
    match lag {
        None => vec![active, reactive],
        Some(lag) => {
            // The unmeasured reactive power follows the list; it is left out of the reactive channels, of which nothing
            // would be known.
            let mut alone = active;
            for (k, share) in alone.iter_mut().enumerate() {
                *share = if k < 3 {
                    *share + lag * reactive[k]
                } else {
                    0.0
                };
            }
            vec![alone]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2 kW and 2/√3 kvar between L1 and L2: half of 2 kW and a sixth more on L1, by the wattmeters of a two-phase load.
    #[test]
    fn a_load_between_phases_loads_both() {
        let shares = shares_of(Connection::Between(PhasePair::L1L2), None, 6);
        let (kw, kvar) = (2.0, 2.0 / 3.0_f64.sqrt());
        let at = |channel: usize| shares[0][channel] * kw + shares[1][channel] * kvar;
        assert!((at(0) - (1.0 + 1.0 / 3.0)).abs() < 1e-12);
        assert!((at(1) - (1.0 - 1.0 / 3.0)).abs() < 1e-12);
        assert!((at(0) + at(1) - kw).abs() < 1e-12);
        assert!((at(3) + at(4) - kvar).abs() < 1e-12);
        assert!((at(2).abs() + at(5).abs()) < 1e-12);
    }
}
