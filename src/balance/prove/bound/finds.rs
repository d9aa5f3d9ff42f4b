//! The most violated inequalities of a look for cuts.

/// Most members of a cut found here.
pub(super) const WIDEST: usize = 7;
/// Violations below this are not worth a cut.
const LEAST_VIOLATION: f64 = 0.02;

/// A violated inequality.
#[derive(Clone, Copy, Debug)]
pub(super) struct Find {
    pub(super) violation: f64,
    pub(super) members: [u16; WIDEST],
    pub(super) negative: u8,
    pub(super) count: u8,
}

impl Find {
    pub(super) fn new(violation: f64, members: &[usize], negative: u8) -> Self {
        let mut list = [0; WIDEST];
        for (place, &member) in list.iter_mut().zip(members) {
            *place = member as u16;
        }
        Self {
            violation,
            members: list,
            negative,
            count: members.len() as u8,
        }
    }

    pub(super) fn members(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let signs = |k: usize| {
            if self.negative >> k & 1 == 1 {
                -1.0
            } else {
                1.0
            }
        };
        self.members[..usize::from(self.count)]
            .iter()
            .enumerate()
            .map(move |(k, &member)| (usize::from(member), signs(k)))
    }
}

/// The most violated inequalities so far.
pub(super) struct Finds {
    pub(super) list: Vec<Find>,
    pub(super) most: usize,
    pub(super) least: f64,
}

impl Finds {
    pub(super) fn new(most: usize) -> Self {
        Self {
            list: Vec::new(),
            most,
            least: LEAST_VIOLATION,
        }
    }

    #[inline]
    pub(super) fn push(&mut self, violation: f64, members: &[usize], negative: u8) {
        if violation > self.least {
            self.list.push(Find::new(violation, members, negative));
            if self.list.len() >= 4 * self.most + 64 {
                self.thin();
            }
        }
    }

    pub(super) fn thin(&mut self) {
        self.list.sort_by(|a, b| {
            b.violation
                .total_cmp(&a.violation)
                .then_with(|| (a.members, a.negative).cmp(&(b.members, b.negative)))
        });
        self.list.truncate(self.most);
        if let (true, Some(last)) = (self.list.len() == self.most, self.list.last()) {
            self.least = last.violation;
        }
    }

    pub(super) fn best(mut self) -> Vec<Find> {
        self.thin();
        self.list
    }
}
