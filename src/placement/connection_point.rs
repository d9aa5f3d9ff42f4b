//! A connection point to be checked, and the currents of its nodes with the machine there.

use std::borrow::Cow;

use num_complex::Complex64;

use super::carried::{Added, Carried, LargestCurrents};
use super::guest::Guest;
use super::load::NewLoad;
use super::memo::{FigureCache, FigureKey};
use super::network::Network;
use super::own_checks::OwnParts;
use balance::{HeldBack, turn};
use site::{Connection, Node, Site};

/// A connection point to be checked.
#[derive(Clone, Copy, Debug)]
pub(super) struct ConnectionPoint<'p> {
    pub(super) network: &'p Network,
    /// Figures already calculated for this network.
    pub(super) memo: &'p FigureCache,
    /// Other new machines that are already placed.
    pub(super) guests: &'p [Guest<'p>],
    /// Number of the machine in the list of new ones.
    pub(super) machine: usize,
    pub(super) load: &'p NewLoad,
    pub(super) node: Node,
    pub(super) connection: Connection,
    pub(super) own: OwnParts,
    pub(super) starting_drop_limit_pct: f64,
    pub(super) rise_limit_pct: f64,
    /// Conductors that carry no more until they are repaired.
    pub(super) held_back: &'p [HeldBack],
    /// Neutral currents to compare with, where the network is a changed one. (A)
    pub(super) neutral_before: &'p [(Node, f64)],
}

impl ConnectionPoint<'_> {
    pub(super) fn site(&self) -> &Site {
        &self.network.site
    }

    pub(super) fn turn(&self) -> usize {
        turn(self.connection).unwrap_or(0)
    }

    /// Largest currents of a node with the other new machines, and with this machine where it is added.
    pub(super) fn largest(&self, node: Node, added: Added) -> LargestCurrents {
        self.memo
            .figure(&self.memo.largest, self.key(node, added), || {
                let largest =
                    |carried: &Carried, added| carried.largest(self.load, added, self.turn());
                let with = largest(&self.with_guests(node), added);
                if added == Added::Nothing || !self.load.generates() {
                    return with;
                }
                // Output meets any load, none included. What flows without it is not its doing.
                with.or(largest(self.network.generated_at(node), added))
            })
    }

    /// Largest voltage drop along the cable that feeds a node, or rise where the machine generates. (V)
    pub(super) fn drop_v(&self, node: Node, added: Added, z: (Complex64, Complex64)) -> f64 {
        let bits = [z.0.re, z.0.im, z.1.re, z.1.im].map(f64::to_bits);
        let key = (self.key(node, added), bits);
        self.memo.figure(&self.memo.drops, key, || {
            let along = |carried: &Carried| carried.largest_drop(self.load, added, self.turn(), z);
            let with = along(&self.with_guests(node));
            if self.load.generates() {
                with.max(along(self.network.generated_at(node)))
            } else {
                with
            }
        })
    }

    fn key(&self, node: Node, added: Added) -> FigureKey {
        let guests = self
            .guests_below(node)
            .map(|guest| (guest.machine, guest.turn()))
            .collect();
        // Without the machine its number and its turn do not matter.
        let (machine, turn) = match added {
            Added::Nothing => (usize::MAX, 0),
            Added::Running | Added::Starting => (self.machine, self.turn()),
        };
        FigureKey {
            node,
            guests,
            machine,
            turn,
            added,
        }
    }

    pub(super) fn guests_below(&self, node: Node) -> impl Iterator<Item = &Guest<'_>> {
        let site = &self.network.site;
        let below = move |guest: &&Guest<'_>| site.is_within(guest.node, node);
        self.guests.iter().filter(below)
    }

    fn with_guests(&self, node: Node) -> Cow<'_, Carried> {
        let mut carried = Cow::Borrowed(self.network.at(node));
        for guest in self.guests_below(node) {
            carried.to_mut().put(guest.load, guest.turn());
        }
        carried
    }
}
