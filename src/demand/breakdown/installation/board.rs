//! The parts by board: what is used on each, without the boards that it feeds.

use super::super::part_basis::PartBasis;
use super::super::split::{Label, Slice, Split};
use super::super::{PartDetails, TINY_KWH};
use super::shares::Leaves;
use super::tree::InstallationTree;
use site::{Measured, Node};

/// Where a leaf belongs.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum BoardGroup {
    Board(usize),
    /// Tapped off the supply itself.
    Direct,
    /// What no part explains.
    Rest,
}

/// One part for each board with energy, one for what is fed from the supply, one for the rest.
pub(super) fn split(tree: &InstallationTree<'_>, leaves: &Leaves) -> (Split, Vec<PartDetails>) {
    let group_of = |part: usize| -> BoardGroup {
        let node = match tree.loads.get(part) {
            Some(load) => load.node,
            None => tree.nodes[part - tree.loads.len()].node,
        };
        match (tree.board_of(node), part < tree.loads.len(), node) {
            (Some(board), ..) => BoardGroup::Board(board),
            (None, false, Node::Supply) => BoardGroup::Rest,
            _ => BoardGroup::Direct,
        }
    };
    let groups: Vec<BoardGroup> = (0..tree.loads.len() + tree.nodes.len())
        .map(group_of)
        .collect();
    let mut found = BoardParts::default();
    let mut slices = Vec::with_capacity(leaves.slices.len());
    for (slice, from) in leaves.slices.iter().zip(&leaves.from) {
        let group = groups[slice.part];
        let part = found.place(group);
        found.size[part] += slice.kwh.abs();
        slices.push(Slice { part, ..*slice });
        let Some(from) = from else { continue };
        // Taken from a meter of the same board, it leaves the board's own sum as measured.
        let above = groups[tree.loads.len() + from];
        if above != group {
            found.declared[part] += slice.kwh;
            let above = found.place(above);
            found.affected[above] = true;
        }
    }
    with_details(tree, &found, slices)
}

#[derive(Default)]
struct BoardParts {
    groups: Vec<BoardGroup>,
    size: Vec<f64>,
    /// What is declared, not measured. (kWh)
    declared: Vec<f64>,
    /// A declared share was taken from it.
    affected: Vec<bool>,
}

impl BoardParts {
    fn place(&mut self, group: BoardGroup) -> usize {
        let known = self.groups.iter().position(|known| *known == group);
        known.unwrap_or_else(|| {
            self.groups.push(group);
            self.size.push(0.0);
            self.declared.push(0.0);
            self.affected.push(false);
            self.groups.len() - 1
        })
    }
}

fn with_details(
    tree: &InstallationTree<'_>,
    found: &BoardParts,
    mut slices: Vec<Slice>,
) -> (Split, Vec<PartDetails>) {
    let mut order: Vec<usize> = (0..found.groups.len())
        .filter(|&at| found.size[at] > TINY_KWH || found.groups[at] != BoardGroup::Rest)
        .collect();
    order.sort_by_key(|&at| found.groups[at]);
    let mut rank = vec![None; found.groups.len()];
    for (place, &at) in order.iter().enumerate() {
        rank[at] = Some(place);
    }
    slices.retain_mut(|slice| match rank[slice.part] {
        Some(place) => {
            slice.part = place;
            true
        }
        None => false,
    });
    let boards: Vec<usize> = found
        .groups
        .iter()
        .filter_map(|group| match group {
            BoardGroup::Board(board) => Some(*board),
            _ => None,
        })
        .collect();
    let labels = order.iter().map(|&at| label(tree, found.groups[at]));
    let split = Split {
        labels: labels.collect(),
        slices,
    };
    let sums = split.sums();
    let details = order
        .iter()
        .zip(sums)
        .map(|(&at, kwh)| match found.groups[at] {
            BoardGroup::Rest => PartDetails::of(PartBasis::Unmetered),
            group => {
                let declared = found.declared[at];
                let basis = if declared > 0.0 && (kwh - declared).abs() < TINY_KWH {
                    PartBasis::Estimated
                } else if declared > 0.0 || found.affected[at] {
                    PartBasis::PartEstimated
                } else {
                    PartBasis::Measured
                };
                let without = feeds(tree, group, &boards);
                let figures = meter_of(tree, group)
                    .filter(|_| basis == PartBasis::Measured && without.is_empty());
                PartDetails {
                    basis: Some(basis),
                    estimated_kwh: (declared > 0.0).then_some(declared),
                    without,
                    ..PartDetails::measured(figures.and_then(|meter| tree.figures(meter)))
                }
            }
        });
    let details = details.collect();
    (split, details)
}

fn label(tree: &InstallationTree<'_>, group: BoardGroup) -> Label {
    let whole = tree.supply.coverage_pct > 100.0 - 1e-9;
    let (key, order) = match group {
        BoardGroup::Board(board) => (tree.site.boards[board].id.clone(), board as i64),
        BoardGroup::Direct => ("fed from the supply".to_owned(), i64::MAX - 1),
        BoardGroup::Rest => ("unmetered, supply".to_owned(), i64::MAX),
    };
    let own = meter_of(tree, group).is_none_or(|meter| tree.is_whole(meter));
    Label {
        key,
        order,
        complete: whole && own,
    }
}

fn meter_of(tree: &InstallationTree<'_>, group: BoardGroup) -> Option<usize> {
    let BoardGroup::Board(board) = group else {
        return None;
    };
    let node = Node::Board(board);
    let metered = tree.nodes.iter().any(|metered| metered.node == node);
    tree.site.meter_of(Measured::Node(node)).filter(|_| metered)
}

/// The boards fed from a board that are parts of their own.
fn feeds(tree: &InstallationTree<'_>, group: BoardGroup, boards: &[usize]) -> Vec<String> {
    let BoardGroup::Board(board) = group else {
        return Vec::new();
    };
    let fed = (0..tree.site.boards.len()).filter(|other| {
        boards.contains(other) && tree.site.boards[*other].fed_from == Node::Board(board)
    });
    fed.map(|other| tree.site.boards[other].id.clone())
        .collect()
}
