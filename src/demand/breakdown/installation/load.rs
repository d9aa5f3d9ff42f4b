//! The parts by machine: loads, then what is left of each metered node.

use super::super::part_basis::PartBasis;
use super::super::split::{Label, Split};
use super::super::{PartDetails, TINY_KWH};
use super::shares::Leaves;
use super::tree::InstallationTree;

/// One part for each load, one for each rest that is not nothing.
pub(super) fn split(tree: &InstallationTree<'_>, leaves: &Leaves) -> (Split, Vec<PartDetails>) {
    let whole = tree.supply.coverage_pct > 100.0 - 1e-9;
    let (mut labels, mut details) = (Vec::new(), Vec::new());
    for load in &tree.loads {
        let complete = load.meter.is_none_or(|meter| tree.is_whole(meter));
        labels.push(Label {
            key: load.name.clone(),
            order: labels.len() as i64,
            complete: whole && complete,
        });
        details.push(match load.meter {
            Some(meter) => PartDetails::measured(tree.figures(meter)),
            None => PartDetails::of(PartBasis::Estimated),
        });
    }
    let moved = leaves.slices.iter().map(|slice| slice.kwh.abs());
    let mut sizes = vec![0.0; tree.loads.len() + tree.nodes.len()];
    for (slice, size) in leaves.slices.iter().zip(moved) {
        sizes[slice.part] += size;
    }
    let mut places: Vec<Option<usize>> = (0..tree.loads.len()).map(Some).collect();
    for (at, node) in tree.nodes.iter().enumerate() {
        let is_something = sizes[tree.loads.len() + at] > TINY_KWH;
        places.push(is_something.then_some(labels.len()));
        if is_something {
            labels.push(Label {
                key: format!("unmetered, {}", tree.site.node_name(node.node)),
                order: labels.len() as i64,
                complete: whole,
            });
            details.push(PartDetails::of(PartBasis::Unmetered));
        }
    }
    let mut split = Split {
        labels,
        slices: Vec::with_capacity(leaves.slices.len()),
    };
    for slice in &leaves.slices {
        if let Some(part) = places[slice.part] {
            split
                .slices
                .push(super::super::split::Slice { part, ..*slice });
        }
    }
    let sums = split.sums();
    for ((details, kwh), load) in details.iter_mut().zip(sums).zip(&tree.loads) {
        match load.meter {
            Some(meter) => *details = details.clone().within(kwh, tree.figures(meter)),
            None => details.estimated_kwh = Some(kwh),
        }
    }
    (split, details)
}
