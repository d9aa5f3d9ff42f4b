//! Largest currents and voltage drops that were worked out already: places share the nodes above them.

use std::borrow::Cow;
use std::collections::HashMap;
use std::hash::Hash;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use num_complex::Complex64;

use super::carried::{Added, Carried, Largest};
use super::load::Load;
use super::path_checks::Spot;
use balance::turn;
use site::{Connection, Node};

/// Another new machine that has a place already.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guest<'p> {
    /// Its number in the list of new machines.
    pub(super) machine: usize,
    pub(super) load: &'p Load,
    pub(super) node: Node,
    pub(super) connection: Connection,
}

impl Guest<'_> {
    pub(super) fn turn(&self) -> usize {
        turn(self.connection).unwrap_or(0)
    }
}

/// All that a figure of a node depends on, while the network stays the same.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Key {
    node: Node,
    /// Number and turn of each guest at the node or below.
    guests: Vec<(usize, usize)>,
    machine: usize,
    turn: usize,
    added: Added,
}

/// Figures of one network; a changed network needs another.
#[derive(Debug, Default)]
pub(super) struct Memo {
    largest: Mutex<HashMap<Key, Largest>>,
    drops: Mutex<HashMap<(Key, [u64; 4]), f64>>,
    worked_out: AtomicUsize,
}

impl Memo {
    /// How many figures had to be worked out.
    pub(super) fn worked_out(&self) -> usize {
        self.worked_out.load(Ordering::Relaxed)
    }

    fn figure<K: Hash + Eq, V: Copy>(
        &self,
        known: &Mutex<HashMap<K, V>>,
        key: K,
        work_out: impl FnOnce() -> V,
    ) -> V {
        let open = || known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(&value) = open().get(&key) {
            return value;
        }
        let value = work_out();
        self.worked_out.fetch_add(1, Ordering::Relaxed);
        open().insert(key, value);
        value
    }
}

impl Spot<'_> {
    /// Largest currents of a node with the guests, and with the machine as far as it is added.
    pub(super) fn largest(&self, node: Node, added: Added) -> Largest {
        self.memo
            .figure(&self.memo.largest, self.key(node, added), || {
                self.with_guests(node)
                    .largest(self.load, added, self.turn())
            })
    }

    /// Largest voltage drop along the cable that feeds a node. (V)
    pub(super) fn drop_v(&self, node: Node, added: Added, z: (Complex64, Complex64)) -> f64 {
        let bits = [z.0.re, z.0.im, z.1.re, z.1.im].map(f64::to_bits);
        let key = (self.key(node, added), bits);
        self.memo.figure(&self.memo.drops, key, || {
            self.with_guests(node)
                .largest_drop(self.load, added, self.turn(), z)
        })
    }

    fn key(&self, node: Node, added: Added) -> Key {
        let guests = self
            .guests_below(node)
            .map(|guest| (guest.machine, guest.turn()))
            .collect();
        // Without the machine it matters neither which it is nor where it would be.
        let (machine, turn) = match added {
            Added::Nothing => (usize::MAX, 0),
            Added::Running | Added::Starting => (self.machine, self.turn()),
        };
        Key {
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
