//! Which way of a board holds which circuit, and which ways are spare.
//!
//! BoardWays are counted in rows of one way on each phase: way 3 is 3 L1, 3 L2 and 3 L3.

use std::collections::BTreeSet;

/// BoardWays of a board that are in use.
#[derive(Clone, Debug)]
pub(super) struct BoardWays {
    /// How many on L1, L2, L3, where it is declared.
    declared: Option<[u32; 3]>,
    used: BTreeSet<(u32, usize)>,
}

impl BoardWays {
    pub(super) fn new(declared: Option<[u32; 3]>) -> BoardWays {
        BoardWays {
            declared,
            used: BTreeSet::new(),
        }
    }

    /// Takes a way on each of these phases.
    pub(super) fn take(&mut self, way: u32, phases: [bool; 3]) {
        let taken = (0..3).filter(|&k| phases[k]).map(|k| (way, k));
        self.used.extend(taken);
    }

    /// Finds a way for a circuit that is moved to these phases, its own number rather than another.
    pub(super) fn take_near(&mut self, way: u32, phases: [bool; 3]) -> Option<u32> {
        let last = self
            .declared
            .map_or(way, |ways| ways.into_iter().max().unwrap_or(0));
        let found = std::iter::once(way)
            .chain(1..=last)
            .find(|&way| (0..3).all(|k| !phases[k] || self.is_spare(way, k)))?;
        self.take(found, phases);
        Some(found)
    }

    /// Spare ways, each with the phases on which it is spare; none where the board's ways are not declared.
    pub(super) fn spare(&self) -> Vec<(u32, [bool; 3])> {
        let last = self
            .declared
            .map_or(0, |ways| ways.into_iter().max().unwrap_or(0));
        (1..=last)
            .map(|way| (way, [0, 1, 2].map(|k| self.is_spare(way, k))))
            .filter(|(_, phases)| phases.contains(&true))
            .collect()
    }

    fn is_spare(&self, way: u32, phase: usize) -> bool {
        let exists = self.declared.is_none_or(|ways| way <= ways[phase]);
        exists && !self.used.contains(&(way, phase))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three ways on L1 and L2, two on L3; a three-phase circuit on way 1 and one of L1 on way 2.
    #[test]
    fn spare_ways_and_the_nearest_one_for_a_move() {
        let mut ways = BoardWays::new(Some([3, 3, 2]));
        ways.take(1, [true; 3]);
        ways.take(2, [true, false, false]);
        assert_eq!(
            ways.spare(),
            [(2, [false, true, true]), (3, [true, true, false])]
        );
        // From 2 L1 to 2 L3; a second one finds no way of L3.
        let to_l3 = [false, false, true];
        assert_eq!(ways.take_near(2, to_l3), Some(2));
        assert_eq!(ways.take_near(2, to_l3), None);
        assert_eq!(ways.take_near(1, [true, false, false]), Some(3));
    }
}
