//! One inequality |c + Σ b* a|² ≥ r between cube roots of unity.

use super::eisenstein::{Eisenstein, LeastNorms, MOST_FREE};

/// One undecided unit in a cut.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct CutTerm {
    /// The unit.
    pub(crate) unit: u16,
    /// Position of its weight b among [`Eisenstein::UNITS`].
    pub(crate) weight: u8,
}

/// An inequality with its multiplier.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut {
    terms: [CutTerm; MOST_FREE],
    count: u8,
    plus: u8,
    /// What the decided units add up to.
    pub(crate) sum: Eisenstein,
    /// Least value that is left.
    pub(crate) least: f64,
    /// λ ≥ 0.
    pub(crate) multiplier: f64,
}

impl Cut {
    /// A cut with multiplier 0.
    pub(crate) fn new(terms: &[CutTerm], sum: Eisenstein, norms: &LeastNorms) -> Self {
        let mut sorted = [CutTerm::default(); MOST_FREE];
        sorted[..terms.len()].copy_from_slice(terms);
        sorted[..terms.len()].sort_unstable();
        let plus = terms.iter().filter(|term| term.weight < 3).count();
        Self {
            terms: sorted,
            count: terms.len() as u8,
            plus: plus as u8,
            sum,
            least: norms.least(sum, plus, terms.len() - plus),
            multiplier: 0.0,
        }
    }

    /// The undecided units in it, ascending.
    pub(crate) fn terms(&self) -> &[CutTerm] {
        &self.terms[..usize::from(self.count)]
    }

    /// True when both say the same.
    pub(crate) fn key(&self) -> (&[CutTerm], Eisenstein) {
        (self.terms(), self.sum)
    }

    /// How much r grows when one of its units is decided.
    pub(crate) fn growth(&self, term: CutTerm, turn: usize, norms: &LeastNorms) -> f64 {
        let is_plus = usize::from(term.weight < 3);
        let plus = usize::from(self.plus) - is_plus;
        let minus = usize::from(self.count) - 1 - plus;
        norms.least(self.sum.plus(contribution(term, turn)), plus, minus) - self.least
    }

    /// Decides one unit, if the cut holds it.
    pub(crate) fn decide(&mut self, unit: usize, turn: usize, norms: &LeastNorms) {
        let count = usize::from(self.count);
        let Some(place) = self
            .terms()
            .iter()
            .position(|term| usize::from(term.unit) == unit)
        else {
            return;
        };
        let term = self.terms[place];
        self.least += self.growth(term, turn, norms);
        self.sum = self.sum.plus(contribution(term, turn));
        self.terms.copy_within(place + 1..count, place);
        self.count -= 1;
        self.plus -= u8::from(term.weight < 3);
    }
}

/// b* a for a unit at a turn.
fn contribution(term: CutTerm, turn: usize) -> Eisenstein {
    let (sign, rotation) = (term.weight / 3, usize::from(term.weight % 3));
    Eisenstein::UNITS[usize::from(sign) * 3 + (turn + 3 - rotation) % 3]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn deciding_two_of_three_alike_leaves_what_the_third_cannot_cancel() {
        let norms = LeastNorms::new();
        let term = |unit, weight| CutTerm { unit, weight };
        let mut cut = Cut::new(
            &[term(4, 0), term(1, 0), term(2, 3)],
            Eisenstein::default(),
            &norms,
        );
        assert!((cut.least - 1.0).abs() < 1e-12);
        cut.decide(4, 1, &norms);
        cut.decide(1, 1, &norms);
        // 2ζ − a with a a cube root of unity: a = ζ leaves 1.
        assert!((cut.least - 1.0).abs() < 1e-12);
        cut.decide(2, 0, &norms);
        // |2ζ − 1|² = 7.
        assert!((cut.least - 7.0).abs() < 1e-12);
        assert!(cut.terms().is_empty());
    }
}
