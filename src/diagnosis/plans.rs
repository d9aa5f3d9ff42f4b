//! What the allocation of phases says for several checks, worked out once and only where a check asks.

use std::cell::OnceCell;

use balance::{FewMoves, HeldBack, Standing, few_moves};
use metering::Logs;
use site::Site;

/// Largest number of moves that are listed; the whole list is `tapoff balance`'s.
const MOVES: usize = 3;

/// The present currents of a site, and what a few moves would change.
pub(super) struct Plans<'s> {
    site: &'s Site,
    logs: &'s Logs,
    held_back: Vec<HeldBack>,
    standing: OnceCell<Option<Standing>>,
    few_moves: OnceCell<Option<FewMoves>>,
}

impl<'s> Plans<'s> {
    pub(super) fn new(site: &'s Site, logs: &'s Logs, held_back: Vec<HeldBack>) -> Plans<'s> {
        Plans {
            site,
            logs,
            held_back,
            standing: OnceCell::new(),
            few_moves: OnceCell::new(),
        }
    }

    /// The present currents; `None` where the parts of the site are inconsistent.
    pub(super) fn standing(&self) -> Option<&Standing> {
        let standing = || {
            let standing = Standing::new(self.site, self.logs).ok()?;
            Some(standing.holding(self.site, &self.held_back))
        };
        self.standing.get_or_init(standing).as_ref()
    }

    /// The few moves that reduce the neutral current of the supply most; `None` where nothing can be said.
    pub(super) fn few_moves(&self) -> Option<&FewMoves> {
        let found = || few_moves(self.site, self.standing()?, MOVES);
        self.few_moves.get_or_init(found).as_ref()
    }
}
