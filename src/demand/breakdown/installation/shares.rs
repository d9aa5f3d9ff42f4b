//! Each quarter-hour of the supply shared out among the loads and the rests of the metered nodes.

use super::super::split::Slice;
use super::tree::{InstallationTree, UnitOfList};

/// What the leaves have of the quarter-hours.
pub(super) struct Leaves {
    /// Parts: the loads, then the rests of the metered nodes.
    pub(super) slices: Vec<Slice>,
    /// For each slice of a load without a reading, the metered node whose rest it is taken from.
    pub(super) from: Vec<Option<usize>>,
}

impl Leaves {
    fn give(&mut self, part: usize, start_s: i64, kwh: f64, from: Option<usize>) {
        if kwh != 0.0 {
            self.slices.push(Slice { part, start_s, kwh });
            self.from.push(from);
        }
    }
}

/// Shares out every quarter-hour.
pub(super) fn share(tree: &InstallationTree<'_>) -> Leaves {
    let mut leaves = Leaves {
        slices: Vec::new(),
        from: Vec::new(),
    };
    for (quarter, own) in tree.supply.trace.quarters.iter().enumerate() {
        one_quarter(tree, quarter, own.start_s, &mut leaves);
    }
    leaves
}

fn one_quarter(tree: &InstallationTree<'_>, quarter: usize, start_s: i64, leaves: &mut Leaves) {
    let seen: Vec<Option<f64>> = tree
        .nodes
        .iter()
        .map(|node| tree.seen(node.meter, quarter))
        .collect();
    // The nearest meter above that has a reading now.
    let nearest = |above: &[usize]| above.iter().copied().find(|&node| seen[node].is_some());
    let mut left: Vec<f64> = seen.iter().map(|kwh| kwh.unwrap_or(0.0)).collect();
    for (node, kwh) in tree.nodes.iter().zip(&seen) {
        if let (Some(kwh), Some(above)) = (kwh, nearest(&node.above)) {
            left[above] -= kwh;
        }
    }
    let mut wanted = vec![0.0; left.len()];
    let mut wants: Vec<(usize, usize, f64)> = Vec::new();
    for (part, load) in tree.loads.iter().enumerate() {
        let Some(above) = nearest(&load.above) else {
            continue;
        };
        match measured(tree, load, quarter) {
            Measure::Known(kwh) => {
                left[above] -= kwh;
                leaves.give(part, start_s, kwh, None);
            }
            Measure::Missing => {}
            Measure::Unmetered => {
                let kwh = tree.estimated_kwh(load, quarter);
                wanted[above] += kwh;
                wants.push((part, above, kwh));
            }
        }
    }
    let scale: Vec<f64> = left
        .iter()
        .zip(&wanted)
        .map(|(left, wanted)| {
            if *wanted > 0.0 {
                (left / wanted).clamp(0.0, 1.0)
            } else {
                0.0
            }
        })
        .collect();
    for (part, above, kwh) in wants {
        let kwh = kwh * scale[above];
        left[above] -= kwh;
        leaves.give(part, start_s, kwh, Some(above));
    }
    for (node, kwh) in left.into_iter().enumerate() {
        if seen[node].is_some() {
            leaves.give(tree.loads.len() + node, start_s, kwh, None);
        }
    }
}

/// What the meter of a load says.
enum Measure {
    Known(f64),
    /// It has a meter, which has no reading: what it drew is in the rest above.
    Missing,
    Unmetered,
}

fn measured(tree: &InstallationTree<'_>, load: &UnitOfList, quarter: usize) -> Measure {
    let Some(meter) = load.meter else {
        return Measure::Unmetered;
    };
    tree.seen(meter, quarter)
        .map_or(Measure::Missing, Measure::Known)
}
