//! Cuts that the present estimate violates.

use num_complex::Complex64;

use super::cut::CutTerm;
use super::eisenstein::{Eisenstein, LeastNorms};
use super::finds::{Find, Finds, WIDEST};
use super::relaxation::Relaxation;
use super::scalar::Scalar;
use crate::form::quadratic::turn_factors;

/// How far to look.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CutReach {
    /// Look at sets of four and wider.
    pub(crate) wide: bool,
    /// Most cuts to add.
    pub(crate) most: usize,
}

/// Adds the most violated cuts to a relaxation; returns how many are new.
pub(crate) fn separate<S: Scalar>(
    relaxation: &mut Relaxation<S>,
    mu: f64,
    reach: CutReach,
    norms: &LeastNorms,
) -> usize {
    // Sets of four and wider are tried with real weights only: there are too many others.
    let plain = Estimate::new(relaxation, mu, 1);
    let mut finds = Finds::new(reach.most);
    plain.pairs_and_triples(&mut finds);
    if reach.wide {
        plain.fours(&mut finds);
        plain.wider(&mut finds);
    }
    relaxation.work += plain.work(reach.wide) + plain.items.len().pow(2) as u64 * 50;
    let mut added = plain.add_cuts(finds, relaxation, norms);
    if S::ROTATIONS > 1 && reach.wide {
        let turned = Estimate::new(relaxation, mu, S::ROTATIONS);
        let mut finds = Finds::new(reach.most);
        turned.pairs_and_triples(&mut finds);
        relaxation.work += turned.work(false);
        added += turned.add_cuts(finds, relaxation, norms);
    }
    added
}

/// A member that a cut can have: an undecided unit, or all decided units as one at 1∠0°.
#[derive(Clone, Copy, Debug)]
struct CutMember {
    /// Position among the undecided; `None` for the decided units.
    unit: Option<usize>,
    rotation: usize,
    /// Members of one owner exclude each other.
    owner: usize,
}

/// The matrix of mean products X = U U^H + μ W, with all weights but the signs multiplied in.
struct Estimate {
    items: Vec<CutMember>,
    units: Vec<usize>,
    squares: Vec<f64>,
    products: Vec<f64>,
}

impl Estimate {
    fn new<S: Scalar>(relaxation: &Relaxation<S>, mu: f64, rotations: usize) -> Self {
        let r = relaxation.free.len();
        let factors = turn_factors();
        let mut items = Vec::new();
        for unit in 0..r {
            items.extend((0..rotations).map(|rotation| CutMember {
                unit: Some(unit),
                rotation,
                owner: unit,
            }));
        }
        items.extend((0..3).map(|rotation| CutMember {
            unit: None,
            rotation,
            owner: r,
        }));
        let u = &relaxation.tendency;
        let mean_product = |a: &CutMember, b: &CutMember| -> f64 {
            let turn = factors[a.rotation].conj() * factors[b.rotation];
            let product = match (a.unit, b.unit) {
                (Some(i), Some(j)) => {
                    u[i] * u[j].conj() + mu * relaxation.inverse_at(i, j).to_complex()
                }
                // What is decided enters as c itself, so its rotation counts the other way round.
                (Some(i), None) => {
                    return -(factors[a.rotation].conj() * factors[b.rotation].conj() * u[i]).re;
                }
                (None, Some(j)) => {
                    return -(factors[a.rotation].conj() * factors[b.rotation].conj() * u[j]).re;
                }
                (None, None) => Complex64::ONE,
            };
            (turn * product).re
        };
        let mut products = Vec::with_capacity(items.len() * items.len());
        for a in &items {
            for b in &items {
                products.push(mean_product(a, b));
            }
        }
        Self {
            squares: items.iter().map(|item| mean_product(item, item)).collect(),
            units: relaxation.free.clone(),
            products,
            items,
        }
    }

    /// Multiplications that looking takes.
    fn work(&self, wide: bool) -> u64 {
        let m = self.items.len() as u64;
        m.pow(3) / 6 + if wide { m.pow(4) / 8 } else { 0 }
    }

    fn add_cuts<S: Scalar>(
        &self,
        finds: Finds,
        relaxation: &mut Relaxation<S>,
        norms: &LeastNorms,
    ) -> usize {
        let cuts = finds.best().into_iter().map(|find| self.cut(&find));
        cuts.filter(|(terms, sum)| !terms.is_empty() && relaxation.add_cut(terms, *sum, norms))
            .count()
    }

    fn row(&self, i: usize) -> &[f64] {
        &self.products[i * self.items.len()..(i + 1) * self.items.len()]
    }

    /// Without decided units, turning all weights together changes nothing: the first stays at 0.
    fn may_begin(&self, i: usize) -> bool {
        self.items[i].rotation == 0
    }

    fn pairs_and_triples(&self, finds: &mut Finds) {
        let m = self.items.len();
        for i in (0..m).filter(|&i| self.may_begin(i)) {
            let row_i = self.row(i);
            for j in i + 1..m {
                if self.items[j].owner == self.items[i].owner {
                    continue;
                }
                let squares = self.squares[i] + self.squares[j];
                finds.push(1.0 - squares - 2.0 * row_i[j], &[i, j], 0);
                let row_j = self.row(j);
                for k in j + 1..m {
                    if self.items[k].owner == self.items[j].owner {
                        continue;
                    }
                    let (ij, ik, jk) = (row_i[j], row_i[k], row_j[k]);
                    let rest = 1.0 - squares - self.squares[k];
                    finds.push(rest - 2.0 * (ij - ik - jk), &[i, j, k], 0b100);
                    finds.push(rest - 2.0 * (ik - ij - jk), &[i, j, k], 0b010);
                    finds.push(rest - 2.0 * (jk - ij - ik), &[i, j, k], 0b001);
                }
            }
        }
    }

    fn fours(&self, finds: &mut Finds) {
        let m = self.items.len();
        for i in 0..m {
            let row_i = self.row(i);
            for j in i + 1..m {
                let row_j = self.row(j);
                for k in j + 1..m {
                    // Only the last three exclude each other here, and k before them is enough.
                    if self.items[k].owner == self.items[j].owner {
                        continue;
                    }
                    let row_k = self.row(k);
                    let rest = 1.0 - self.squares[i] - self.squares[j] - self.squares[k];
                    let (ij, ik, jk) = (row_i[j], row_i[k], row_j[k]);
                    let (none, at_i) = (ij + ik + jk, jk - ij - ik);
                    let (at_j, at_k) = (ik - ij - jk, ij - ik - jk);
                    for l in k + 1..m {
                        let (a, b, c) = (row_i[l], row_j[l], row_k[l]);
                        let sum = a + b + c;
                        let least = (none - sum.abs())
                            .min(at_i + sum - 2.0 * a)
                            .min(at_j + sum - 2.0 * b)
                            .min(at_k + sum - 2.0 * c);
                        let violation = rest - self.squares[l] - 2.0 * least;
                        if violation > finds.least && self.items[l].owner != self.items[k].owner {
                            let members = [i, j, k, l];
                            let rest = rest - self.squares[l];
                            finds.push(rest - 2.0 * (none + sum), &members, 0);
                            finds.push(rest - 2.0 * (none - sum), &members, 0b1000);
                            finds.push(rest - 2.0 * (at_i + sum - 2.0 * a), &members, 0b0001);
                            finds.push(rest - 2.0 * (at_j + sum - 2.0 * b), &members, 0b0010);
                            finds.push(rest - 2.0 * (at_k + sum - 2.0 * c), &members, 0b0100);
                        }
                    }
                }
            }
        }
    }

    /// Widens the sets found, one member at a time, each time by the one that violates most.
    fn wider(&self, finds: &mut Finds) {
        finds.thin();
        for mut find in finds.list.clone() {
            let mut pull = vec![0.0; self.items.len()];
            for (member, sign) in find.members() {
                for (sum, product) in pull.iter_mut().zip(self.row(member)) {
                    *sum += sign * product;
                }
            }
            while usize::from(find.count) < WIDEST {
                let Some((violation, member, sign)) = self.best_addition(&find, &pull) else {
                    break;
                };
                let count = usize::from(find.count);
                find.members[count] = member as u16;
                find.negative |= u8::from(sign < 0.0) << count;
                find.count += 1;
                find.violation = violation;
                for (sum, product) in pull.iter_mut().zip(self.row(member)) {
                    *sum += sign * product;
                }
                if violation > finds.least {
                    finds.list.push(find);
                }
            }
        }
        finds.thin();
    }

    fn best_addition(&self, find: &Find, pull: &[f64]) -> Option<(f64, usize, f64)> {
        let sum: f64 = find.members().map(|(_, sign)| sign).sum();
        // The sign that keeps the sum of the weights from being divisible by 3.
        let allowed = |sign: f64| (sum + sign) as i64 % 3 != 0;
        let mut best: Option<(f64, usize, f64)> = None;
        for (k, item) in self.items.iter().enumerate() {
            if find
                .members()
                .any(|(member, _)| self.items[member].owner == item.owner)
            {
                continue;
            }
            for sign in [1.0, -1.0] {
                let violation = find.violation - self.squares[k] - 2.0 * sign * pull[k];
                if allowed(sign) && best.is_none_or(|(most, ..)| violation > most) {
                    best = Some((violation, k, sign));
                }
            }
        }
        best
    }

    /// Terms and decided part of a cut.
    fn cut(&self, find: &Find) -> (Vec<CutTerm>, Eisenstein) {
        let mut terms = Vec::new();
        let mut sum = Eisenstein::default();
        for (member, sign) in find.members() {
            let item = self.items[member];
            let weight = item.rotation + if sign < 0.0 { 3 } else { 0 };
            match item.unit {
                Some(place) => terms.push(CutTerm {
                    unit: self.units[place] as u16,
                    weight: weight as u8,
                }),
                None => sum = Eisenstein::UNITS[weight],
            }
        }
        // A set and its mirror image are one cut.
        let is_mirrored = terms.iter().min().is_some_and(|first| first.weight >= 3);
        if is_mirrored {
            for term in &mut terms {
                term.weight = (term.weight + 3) % 6;
            }
            sum = Eisenstein::default().minus(sum);
        }
        (terms, sum)
    }
}
