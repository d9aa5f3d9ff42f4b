//! Largest currents and voltage drops that were worked out already: places share the nodes above them.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use super::carried::{Added, Largest};
use site::Node;

/// All that a figure of a node depends on, while the network stays the same.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Key {
    pub(super) node: Node,
    /// Number and turn of each guest at the node or below.
    pub(super) guests: Vec<(usize, usize)>,
    pub(super) machine: usize,
    pub(super) turn: usize,
    pub(super) added: Added,
}

/// Figures of one network; a changed network needs another.
#[derive(Debug, Default)]
pub(super) struct Memo {
    pub(super) largest: Mutex<HashMap<Key, Largest>>,
    pub(super) drops: Mutex<HashMap<(Key, [u64; 4]), f64>>,
    worked_out: AtomicUsize,
}

impl Memo {
    /// How many figures had to be worked out.
    pub(super) fn worked_out(&self) -> usize {
        self.worked_out.load(Ordering::Relaxed)
    }

    pub(super) fn figure<K: Hash + Eq, V: Copy>(
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
