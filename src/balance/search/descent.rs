//! Changes of two units at a time, as long as they help.

use crate::form::state::{PhaseChange, State};

impl State<'_, '_> {
    /// Changes two of these units at a time as long as that lowers the penalty, or the value at no
    /// higher penalty; returns the number of evaluated changes.
    pub(crate) fn descend(&mut self, units: &[usize]) -> u64 {
        let mut work = 0;
        let mut improved = true;
        while improved {
            improved = false;
            for (a, &i) in units.iter().enumerate() {
                for &j in &units[a + 1..] {
                    if let Some((first, second)) = self.better_pair(i, j, &mut work) {
                        self.apply(first);
                        self.apply(second);
                        improved = true;
                    }
                }
            }
            self.refresh();
        }
        work
    }

    /// A change of both units (or of one) that lowers the penalty, or the value.
    fn better_pair(
        &self,
        i: usize,
        j: usize,
        work: &mut u64,
    ) -> Option<(PhaseChange, PhaseChange)> {
        let model = self.model();
        let margin = 1e-10 * self.value.abs() + 1e-14 * model.scale;
        let is_free = model.is_unrestricted();
        let mut penalty_now = None;
        for &turn_i in &model.choices[i] {
            let gain_i = self.gain((i, turn_i));
            for &turn_j in &model.choices[j] {
                let pair = ((i, turn_i), (j, turn_j));
                if pair == ((i, self.turns[i]), (j, self.turns[j])) {
                    continue;
                }
                *work += 1;
                let gain = gain_i + self.gain(pair.1) + self.joint(pair.0, pair.1);
                if is_free {
                    if gain < -margin {
                        return Some(pair);
                    }
                    continue;
                }
                let now = *penalty_now.get_or_insert_with(|| self.penalty());
                if now == 0.0 && gain >= -margin {
                    continue;
                }
                *work += self.watched() as u64 / 4;
                let then = self.penalty_after(&[pair.0, pair.1]);
                let is_less = then < now * (1.0 - 1e-9);
                if is_less || (then <= now && gain < -margin) {
                    return Some(pair);
                }
            }
        }
        None
    }
}
